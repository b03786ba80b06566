package recipes

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"loopdraft/moves"

	"gopkg.in/yaml.v3"
)

// MaxBytes is the size in bytes over which a recipe is refused: no more than one byte beyond it has to be
// read.
const MaxBytes = 1 << 20

// MaxFiles is how many files a draft is made of at most: its loops, of a file or several each.
const MaxFiles = 1000

// source is a recipe that is being read.
type source struct {
	mistakes
	moves          moves.Catalogue
	named          map[string]moves.Move // the moves by name, once one was asked for
	sectionsUnread bool                  // the names and kinds of some sections could not be read

	again   bool                  // of the moves only those that hang on a choice are read: the others were
	chosen  bool                  // the choices are made: sections and moves are read for a draft
	written map[*yaml.Node]string // what stands in the file for a step that hangs on a choice

	known map[*yaml.Node]any // what nodes were read as that are read with each alternative; nil: nothing is kept
	keeps bool               // what is read is added to it
}

// move returns the move of a name, and false if there is none.
func (s *source) move(name string) (moves.Move, bool) {
	if s.named == nil {
		s.named = byName(s.moves)
	}
	m, ok := s.named[name]
	return m, ok
}

// byName returns moves by their names.
func byName(all moves.Catalogue) map[string]moves.Move {
	out := make(map[string]moves.Move, len(all))
	for _, m := range slices.Backward(all) { // of several of a name the first counts
		out[m.Name()] = m
	}
	return out
}

// asBefore returns what a node was read as before, else reads it.
func asBefore[T any](s *source, n *yaml.Node, read func() T) T {
	if was, ok := s.known[n].(T); ok {
		return was
	}
	before := len(s.errs)
	is := read()
	if s.keeps && len(s.errs) == before {
		s.known[n] = is
	}
	return is
}

// splitLines splits a text at the line breaks that YAML knows.
func splitLines(text string) []string {
	var out []string
	start := 0
	for i, r := range text {
		switch r {
		case '\n', '\r', '\u0085', '\u2028', '\u2029':
			if r != '\n' || i == 0 || text[i-1] != '\r' { // else the line ended there
				out = append(out, text[start:i])
			}
			start = i + utf8.RuneLen(r)
		}
	}
	return append(out, text[start:])
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
