package recipes

import (
	"cmp"
	"errors"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"loopdraft/moves/option"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// mistakes are those found in a recipe, by reading it or by running it, with the text they stand in.
type mistakes struct {
	file  string
	lines []string // nil for a recipe that was not read from a file
	errs  []*Error
	last  place // that was asked for: a file is read from front to back, and a line may be long
}

// spot is a place in a recipe: a key, or a text and how it is written there. The zero value is no
// place, as in a recipe that was not read from a file.
type spot struct {
	line, col int
	text      string
	style     yaml.Style
}

func spotOf(n *yaml.Node) spot { return spot{n.Line, n.Column, n.Value, n.Style} }

// fieldSpot says where a key and the items of its value stand.
type fieldSpot struct {
	name  string
	key   spot
	items []spot
}

// spotOfField returns the place of an item of a field, else of the field's key, else other.
func spotOfField(fields []fieldSpot, name string, item int, other spot) spot {
	for _, f := range fields {
		if f.name != name {
			continue
		}
		if item >= 0 && item < len(f.items) {
			return f.items[item]
		}
		return f.key
	}
	return other
}

// lineText returns a line of the file, counted from 1; "" for one that is none.
func (m *mistakes) lineText(line int) string {
	if line < 1 || line > len(m.lines) {
		return ""
	}
	return m.lines[line-1]
}

// rest returns the characters of a line from a column on.
func (m *mistakes) rest(line, col int) string {
	text, from, offset := m.lineText(line), 1, 0
	if l := m.last; l.line == line {
		from, offset = l.col, l.offset
	}
	for ; from > col && offset > 0; from-- {
		_, size := utf8.DecodeLastRuneInString(text[:offset])
		offset -= size
	}
	for ; from < col && offset < len(text); from++ {
		_, size := utf8.DecodeRuneInString(text[offset:])
		offset += size
	}
	m.last = place{line, from, offset}
	return text[offset:]
}

// place is a column of a line with the bytes before it.
type place struct{ line, col, offset int }

// fail notes a mistake at a spot.
func (m *mistakes) fail(at spot, e Error) {
	if n := len(m.lines); n > 0 && at.line > n { // what is missing at the end of the file
		at = spot{line: n, col: utf8.RuneCountInString(m.lines[n-1]) + 1}
	}
	e.File, e.Line, e.Col, e.Source = m.file, at.line, at.col, m.lineText(at.line)
	m.errs = append(m.errs, &e)
}

// inside returns the place of a character of a text, counted from 1, in the file. A text that is
// broken over lines or written with escapes has one place only, its beginning.
func (m *mistakes) inside(at spot, char int) spot {
	if char <= 1 || at.line == 0 {
		return m.opened(at)
	}
	prefix := at.text
	for i := range at.text {
		if char--; char == 0 {
			prefix = at.text[:i]
			break
		}
	}
	in := m.opened(at)
	if !strings.HasPrefix(m.rest(in.line, in.col), prefix) {
		return at
	}
	in.col += utf8.RuneCountInString(prefix)
	return in
}

// opened steps over the quote before a text.
func (m *mistakes) opened(at spot) spot {
	if at.style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		at.col++
	}
	return at
}

// err returns the mistakes in file order, each once; nil if there are none.
func (m *mistakes) err() error {
	if len(m.errs) == 0 {
		return nil
	}
	slices.SortStableFunc(m.errs, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	list := slices.CompactFunc(m.errs, func(a, b *Error) bool { return *a == *b })
	return &Errors{List: list}
}

// unknown notes a key that there is not.
func (m *mistakes) unknown(at spot, path, noun, key string, known []string) {
	m.unknownNear(at, path, noun, key, known, song.Nearest(key, known))
}

// unknownNear is unknown where more is known of what may be meant.
func (m *mistakes) unknownNear(at spot, path, noun, key string, known []string, hint string) {
	m.fail(at, Error{Path: path, Found: "unknown " + noun + " " + strconv.Quote(key), Unknown: true,
		Want: "one of " + strings.Join(known, ", "), Hint: hint})
}

// optionMistakes notes the mistakes of an option's value; place returns where an item stands.
func (m *mistakes) optionMistakes(err error, path string, place func(item int) spot) {
	for _, e := range flatten(err) {
		m.optionMistake(e, path, place)
	}
}

func (m *mistakes) optionMistake(err error, path string, place func(item int) spot) {
	var bad *option.Mistake
	if !errors.As(err, &bad) {
		m.fail(place(0), Error{Path: path, Found: err.Error()})
		return
	}
	at := place(bad.Item)
	if bad.Col > 0 {
		at = m.inside(at, bad.Col)
	}
	m.fail(at, Error{Path: path, Found: bad.Shown(), Unknown: bad.Unknown, Want: bad.Want, Hint: bad.Hint})
}

// flatten returns the errors that were joined to one.
func flatten(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range many.Unwrap() {
			out = append(out, flatten(e)...)
		}
		return out
	}
	return []error{err}
}
