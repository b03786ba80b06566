package where

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

const (
	maxNumber = 999_999 // largest number in a sentence; keeps every product of positions inside 64 bits
	maxWords  = 256     // longest sentence
)

type wordKind uint8

const (
	endOfText   wordKind = iota
	plainWord            // drop, build-up
	plainNumber          // 16
	posWord              // 17.3
	noteWord             // 3/16
	dashWord             // -
	oddWord              // anything else
)

// word is a word of a sentence: its text, its column in characters from 1, and its numbers.
type word struct {
	kind wordKind
	text string
	col  int
	a, b int
}

func (w word) is(text string) bool { return w.kind == plainWord && w.text == text }

// isName tells whether the word may be the name of a section or part.
func (w word) isName() bool { return w.kind == plainWord && !isReserved(w.text) && song.IsName(w.text) }

// isPartName tells whether the word may name a part, role, job or group: "beat" is a job, though no
// section may be called so.
func (w word) isPartName() bool { return w.isName() || w.kind == plainWord && isJob(w.text) }

// splitWords splits a sentence into words; the last one is endOfText.
func splitWords(text string) []word {
	out := make([]word, 0, 2+strings.Count(text, " "))
	col := 1
	for i := 0; i < len(text); {
		first, size := utf8.DecodeRuneInString(text[i:])
		if unicode.IsSpace(first) {
			i += size
			col++
			continue
		}
		n := wordLength(text[i:], first, size)
		out = append(out, classify(text[i:i+n], col))
		col += utf8.RuneCountInString(text[i : i+n])
		i += n
	}
	return append(out, word{kind: endOfText, col: col})
}

// wordLength returns how many bytes the first word of rest takes.
func wordLength(rest string, first rune, size int) int {
	var belongs func(r rune) bool
	switch {
	case unicode.IsLetter(first):
		belongs = func(r rune) bool { return unicode.IsLetter(r) || isDigit(r) || r == '-' }
	case isDigit(first):
		// Letters that follow digits at once are no word of their own, so that "16bars" is shown whole.
		belongs = func(r rune) bool { return unicode.IsLetter(r) || isDigit(r) || r == '.' || r == '/' }
	default:
		return size
	}
	if n := strings.IndexFunc(rest, func(r rune) bool { return !belongs(r) }); n >= 0 {
		return n
	}
	return len(rest)
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

func classify(text string, col int) word {
	w := word{kind: oddWord, text: text, col: col}
	first, _ := utf8.DecodeRuneInString(text)
	switch {
	case text == "-":
		w.kind = dashWord
	case unicode.IsLetter(first):
		w.kind = plainWord
	case isDigit(first):
		left, right, kind := text, "", plainNumber
		if i := strings.IndexAny(text, "./"); i >= 0 {
			left, right, kind = text[:i], text[i+1:], posWord
			if text[i] == '/' {
				kind = noteWord
			}
		}
		var fine bool
		if w.a, fine = number(left); !fine {
			break
		}
		if w.b, fine = number(right); fine || kind == plainNumber {
			w.kind = kind
		}
	}
	return w
}

// number reads decimal digits that make 1 to maxNumber.
func number(digits string) (int, bool) {
	n, ok := smf.ParseDigits(digits)
	return int(n), ok && n >= 1 && n <= maxNumber
}

// numeric tells whether a text is digits, with at most one dot or slash between them.
func numeric(text string) bool {
	left, right, _ := strings.Cut(strings.Replace(text, "/", ".", 1), ".")
	return left != "" && strings.Trim(left+right, "0123456789") == "" && !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "/")
}

// reservedWords returns the words of the language that no section may be called.
func reservedWords() []string {
	return []string{"all", "every", "other", "section", "bar", "bars", "beat", "beats", "first", "last",
		"of", "before", "after", "from", "to", "start", "end", "but", "and", "or", "if", "any"}
}

// awaitedWords returns the words of the language that are names wherever the grammar awaits none of
// them. The short ones, in and out, are left to the rewrites: too many words look like them.
func awaitedWords() []string {
	return []string{"loop", "second", "half", "third", "quarter", "turn", "same"}
}

func isReserved(text string) bool {
	for _, r := range reservedWords() {
		if r == text {
			return true
		}
	}
	return false
}

// CheckSectionName returns nil if a section may bear the name, else a [*option.Mistake]: names are
// letters in lower case, digits and hyphens, start with a letter and are no word of the language.
func CheckSectionName(name string) error {
	e := &option.Mistake{Text: name, Col: 1, Found: name}
	switch {
	case isReserved(name):
		e.Want = "a name that is no word of the language (" + strings.Join(reservedWords(), " ") + ")"
	case !song.IsName(name):
		e.Want = "lower-case letters, digits and hyphens, starting with a letter"
		e.Hint = asName(name)
	default:
		return nil
	}
	return e
}

// asName returns the name nearest to a text that is none, or "".
func asName(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case unicode.IsLetter(r), isDigit(r) && b.Len() > 0:
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	name := strings.TrimRight(b.String(), "-")
	if !song.IsName(name) || isReserved(name) {
		return ""
	}
	return name
}

func isJob(name string) bool { return slices.Contains(song.Jobs(), song.Job(name)) }
