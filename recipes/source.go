package recipes

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// MaxBytes is the size in bytes over which a recipe is refused: no more than one byte beyond it has to be
// read.
const MaxBytes = 1 << 20

// source is the text of a recipe and the mistakes found in it.
type source struct {
	file  string
	lines []string
	errs  []*Error

	sectionsUnread bool // the names and kinds of some sections could not be read
}

// spot is a place in a recipe: a key, or a text and how it is written there. The zero value is no
// place, as in a recipe that was not read from a file.
type spot struct {
	line, col int
	text      string
	style     yaml.Style
}

func spotOf(n *yaml.Node) spot { return spot{n.Line, n.Column, n.Value, n.Style} }

// lineText returns a line of the file, counted from 1; "" for one that is none.
func (s *source) lineText(line int) string {
	if line < 1 || line > len(s.lines) {
		return ""
	}
	return s.lines[line-1]
}

// rest returns the characters of a line from a column on.
func (s *source) rest(line, col int) string {
	text := s.lineText(line)
	for ; col > 1 && text != ""; col-- {
		_, size := utf8.DecodeRuneInString(text)
		text = text[size:]
	}
	return text
}

// fail notes a mistake at a spot.
func (s *source) fail(at spot, e Error) {
	e.File, e.Line, e.Col, e.Source = s.file, at.line, at.col, s.lineText(at.line)
	s.errs = append(s.errs, &e)
}

// inside returns the place of a character of a text, counted from 1, in the file. A text that is
// broken over lines or written with escapes has one place only, its beginning.
func (s *source) inside(at spot, char int) spot {
	if char <= 1 || at.line == 0 {
		return s.opened(at)
	}
	prefix := at.text
	for i := range at.text {
		if char--; char == 0 {
			prefix = at.text[:i]
			break
		}
	}
	in := s.opened(at)
	if !strings.HasPrefix(s.rest(in.line, in.col), prefix) {
		return at
	}
	in.col += utf8.RuneCountInString(prefix)
	return in
}

// opened steps over the quote before a text.
func (s *source) opened(at spot) spot {
	if at.style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		at.col++
	}
	return at
}

// err returns the mistakes in file order, each once; nil if there are none.
func (s *source) err() error {
	if len(s.errs) == 0 {
		return nil
	}
	slices.SortStableFunc(s.errs, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	list := slices.CompactFunc(s.errs, func(a, b *Error) bool { return *a == *b })
	return &Errors{List: list}
}

// splitLines splits a text at the line breaks that YAML knows.
func splitLines(text string) []string {
	var out []string
	for {
		i := strings.IndexAny(text, "\n\r\u0085\u2028\u2029")
		if i < 0 {
			return append(out, text)
		}
		out = append(out, text[:i])
		_, size := utf8.DecodeRuneInString(text[i:])
		if strings.HasPrefix(text[i:], "\r\n") {
			size = 2
		}
		text = text[i+size:]
	}
}

// readable checks what YAML takes for granted: size, UTF-8, no control characters other than
// white space.
func (s *source) readable(data []byte) bool {
	if len(data) > MaxBytes {
		s.fail(spot{}, Error{Found: "more bytes", Want: fmt.Sprintf("at most %d", MaxBytes)})
		return false
	}
	line, col := 1, 1
	for len(data) > 0 {
		r, size := utf8.DecodeRune(data)
		switch {
		case r == utf8.RuneError && size == 1:
			s.fail(spot{line: line, col: col}, Error{Found: fmt.Sprintf("byte 0x%02x", data[0]), Want: "a text in UTF-8"})
			return false
		case unicode.IsControl(r) && !strings.ContainsRune("\t\n\r\u0085", r):
			s.fail(spot{line: line, col: col}, Error{Found: fmt.Sprintf("control character 0x%02x", r), Want: "a text without them"})
			return false
		case r == '\n' || r == '\u0085' || r == '\u2028' || r == '\u2029' || r == '\r' && !(len(data) > 1 && data[1] == '\n'):
			line, col = line+1, 0
		}
		data = data[size:]
		col++
	}
	return true
}
