package edit

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"loopdraft/recipes"

	"gopkg.in/yaml.v3"
)

// Source is the text of a recipe, and what of it is in use.
type Source struct {
	File  string // the name that mistakes give it
	Text  []byte
	Taken []int // the alternative of each choice that is in use, in file order, from 0: [recipes.Result.Taken]; the first of each that is not listed
}

// Splice says that bytes of a text were replaced.
type Splice struct {
	From, To int    // the bytes From to To of the old text, To not included
	Text     []byte // what stands there now
}

// Edit is a change of a recipe.
type Edit interface {
	// edit notes the change in the document, in its tree and as splices.
	edit(d *document) error
}

// Apply returns the text after an edit, and what was replaced in it, in rising order and apart. The error is a
// [*recipes.Errors]: the text cannot be read, the edit asks for what is not there or cannot be made in place, or the
// recipe would have a mistake that it has not; such a mistake has its place in the text that was not written. Where
// sections get other lengths, move, double or go, only what is written is held against the parser: what does not fit
// any more is left to whoever reads the recipe, as are mistakes that it had before.
func Apply(s Source, e Edit) ([]byte, []Splice, error) {
	d, err := read(s)
	if err != nil {
		return nil, nil, err
	}
	if err := e.edit(d); err != nil {
		return nil, nil, err
	}
	text, splices, ok := d.spliced()
	if !ok {
		return nil, nil, d.inPlace()
	}
	after, err := load(bytes.TrimPrefix(text, []byte(bom)))
	if err != nil || !same(d.root, after) {
		return nil, nil, d.inPlace()
	}
	if err := d.mistakes(text, splices); err != nil {
		return nil, nil, err
	}
	return text, splices, nil
}

// inPlace refuses an edit for which the text would have to be written anew.
func (d *document) inPlace() error {
	line, col := 0, 0
	if len(d.splices) > 0 {
		line, col = d.place(d.splices[0].From)
	}
	return d.fail(line, col, recipes.Error{Found: "a text that cannot be changed in place", Want: "this change made by hand"})
}

// check says which mistakes of the text after an edit are the edit's.
type check int

const (
	all    check = iota // those that were not there before
	inText              // those in what is written
	none                // none, unless the text cannot be read at all
)

// mistakes returns the mistakes of the text after the edit that are the edit's; nil where there are none.
func (d *document) mistakes(text []byte, splices []Splice) error {
	after := d.told(text)
	if len(after) == 0 {
		return nil
	}
	is := func(e *recipes.Error) bool { return e.Line == 0 }
	switch d.check {
	case all:
		before := map[[2]string]int{}
		for _, e := range d.told(d.text) {
			before[[2]string{e.Found, e.Want}]++
		}
		is = func(e *recipes.Error) bool {
			before[[2]string{e.Found, e.Want}]--
			return before[[2]string{e.Found, e.Want}] < 0
		}
	case inText:
		lines := lineStarts(text)
		is = func(e *recipes.Error) bool {
			at, added := offsetOf(text, lines, e.Line, e.Col), 0
			for _, s := range splices {
				from := s.From + added
				added += len(s.Text) - (s.To - s.From)
				if e.Line > 0 && from <= at && at < from+len(s.Text) {
					return true
				}
			}
			return e.Line == 0
		}
	}
	out := &recipes.Errors{}
	for _, e := range after {
		if is(e) {
			out.List = append(out.List, e)
		}
	}
	if len(out.List) == 0 {
		return nil
	}
	return out
}

// told returns the mistakes of a text.
func (d *document) told(text []byte) []*recipes.Error {
	var bad *recipes.Errors
	if _, err := recipes.Parse(d.File, text); errors.As(err, &bad) {
		return bad.List
	}
	return nil
}

// document is a recipe that is being edited.
type document struct {
	Source
	text    []byte
	lines   []int         // where each line starts
	marks   map[int][]int // of a line that was asked for, the offset of every 64th column: a line may be long
	eol     string
	root    *yaml.Node // nil: there is nothing
	splices []Splice
	check   check
	picks   map[*yaml.Node]int // of choices, the alternative in use
	ends    map[*yaml.Node]int // of nodes that were replaced: where they ended
}

const bom = "\uFEFF"

// read reads a text as YAML. Its error is the one with which a recipe is refused.
func read(s Source) (*document, error) {
	d := &document{Source: s, text: s.Text, lines: lineStarts(s.Text), eol: "\n", marks: map[int][]int{}, ends: map[*yaml.Node]int{}}
	root, err := load(bytes.TrimPrefix(s.Text, []byte(bom)))
	if err != nil {
		if _, told := recipes.Parse(s.File, s.Text); told != nil {
			return nil, told
		}
		return nil, d.fail(0, 0, recipes.Error{Found: err.Error(), Want: "one recipe a file"})
	}
	if len(s.Text) > recipes.MaxBytes {
		_, told := recipes.Parse(s.File, s.Text)
		return nil, told
	}
	for i, b := range s.Text {
		if b == '\n' || b == '\r' {
			if d.eol = string(b); bytes.HasPrefix(s.Text[i:], []byte("\r\n")) {
				d.eol = "\r\n"
			}
			break
		}
	}
	d.root = root
	d.findPicks()
	return d, nil
}

var errDocuments = errors.New("a second document")

// load reads the one document of a text, without the mark of its byte order; nil for an empty one.
func load(text []byte) (*yaml.Node, error) {
	if !utf8.Valid(text) {
		return nil, errors.New("bytes that are no UTF-8")
	}
	dec := yaml.NewDecoder(bytes.NewReader(text))
	var doc, second yaml.Node
	switch err := dec.Decode(&doc); {
	case errors.Is(err, io.EOF):
		return nil, nil
	case err != nil:
		return nil, err
	}
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		return nil, cmp.Or(err, errDocuments)
	}
	if len(doc.Content) == 0 || isNull(doc.Content[0]) {
		return nil, nil
	}
	return doc.Content[0], nil
}

func isNull(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Tag == "!!null" && n.Value == ""
}

// same tells whether two trees say the same to a recipe, which reads scalars by their texts.
func same(a, b *yaml.Node) bool {
	if a == nil || b == nil {
		return a == b
	}
	null := func(n *yaml.Node) bool { return n.Kind == yaml.ScalarNode && n.Tag == "!!null" }
	if a.Kind != b.Kind || a.Value != b.Value || a.Anchor != b.Anchor || len(a.Content) != len(b.Content) || null(a) != null(b) {
		return false
	}
	for i := range a.Content {
		if !same(a.Content[i], b.Content[i]) {
			return false
		}
	}
	return true
}

// fail returns a mistake at a place of the text.
func (d *document) fail(line, col int, e recipes.Error) error {
	e.File, e.Line, e.Col = d.File, line, col
	if line > 0 && line <= len(d.lines) {
		end := len(d.text)
		if line < len(d.lines) {
			end = d.lines[line]
		}
		e.Source = strings.TrimRight(strings.TrimPrefix(string(d.text[d.lines[line-1]:end]), bom), "\n\r\u0085\u2028\u2029")
	}
	return &recipes.Errors{List: []*recipes.Error{&e}}
}

// failAt returns a mistake at a node.
func (d *document) failAt(n *yaml.Node, path, found, want string) error {
	if n == nil {
		return d.fail(0, 0, recipes.Error{Path: path, Found: found, Want: want})
	}
	return d.fail(n.Line, n.Column, recipes.Error{Path: path, Found: found, Want: want})
}

// plain refuses a node with an anchor, an alias or a tag in it.
func (d *document) plain(n *yaml.Node, path string) error {
	found := ""
	switch {
	case n.Kind == yaml.AliasNode:
		found = "an alias"
	case n.Anchor != "":
		found = "an anchor"
	case n.Style&yaml.TaggedStyle != 0:
		found = "a tag"
	}
	if found != "" {
		return d.failAt(n, path, found, "what is changed without one")
	}
	for _, c := range n.Content {
		if err := d.plain(c, path); err != nil {
			return err
		}
	}
	return nil
}

// splice notes that bytes are replaced.
func (d *document) splice(from, to int, text string) {
	d.splices = append(d.splices, Splice{from, to, []byte(text)})
}

// spliced carries out the splices; false where they overlap.
func (d *document) spliced() ([]byte, []Splice, bool) {
	slices.SortStableFunc(d.splices, func(a, b Splice) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	var out []byte
	at := 0
	for _, s := range d.splices {
		if s.From < at || s.To < s.From || s.To > len(d.text) {
			return nil, nil, false
		}
		out = append(append(out, d.text[at:s.From]...), s.Text...)
		at = s.To
	}
	return append(out, d.text[at:]...), d.splices, true
}

// Mistakes of what an edit asks for.
func (d *document) count(what string, n, all int) error {
	want := fmt.Sprintf("0 to %d", all-1)
	if all == 0 {
		want = "a recipe that has some"
	}
	return d.fail(0, 0, recipes.Error{Path: what, Found: fmt.Sprint(n), Want: want})
}
