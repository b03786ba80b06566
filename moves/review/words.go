package review

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"loopdraft/moves/where"
)

// part returns how a recipe names a part.
func (s *subject) part(index int) string { return where.PartText(s.song, index) }

// names returns the names of parts.
func (s *subject) names(parts []int) []string {
	var out []string
	for _, p := range parts {
		out = append(out, s.song.Parts[p].Name)
	}
	return out
}

// partList writes parts as a list for [step].
func (s *subject) partList(parts []int) string {
	var out []string
	for _, p := range parts {
		out = append(out, s.part(p))
	}
	return strings.Join(out, "; ")
}

// inWords writes names in a sentence.
func inWords(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

// upper begins a sentence with a word.
func upper(text string) string {
	r, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[size:]
}
