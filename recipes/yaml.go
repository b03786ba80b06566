package recipes

import (
	"bytes"
	"errors"
	"io"
	"strconv"
	"strings"

	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// load reads the one document of a recipe; nil for an empty one and after a mistake.
func (s *source) load(data []byte) *yaml.Node {
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc, second yaml.Node
	err := dec.Decode(&doc)
	if errors.Is(err, io.EOF) {
		return nil
	}
	if err != nil {
		s.syntax(data, err)
		return nil
	}
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		if err != nil {
			s.syntax(data, err)
		} else {
			s.fail(spotOf(&second), Error{Found: "a second document", Want: "one recipe a file"})
		}
		return nil
	}
	if doc.Kind != yaml.DocumentNode || len(doc.Content) == 0 {
		return nil
	}
	if root := doc.Content[0]; root.Tag != "!!null" || root.Value != "" { // a document mark alone is empty
		return root
	}
	return nil
}

// syntax notes a mistake of YAML itself.
func (s *source) syntax(data []byte, err error) {
	line, problem := syntaxError(err)
	if atToken(problem) {
		line = s.firstLineWith(problem)
	}
	e := Error{Found: problem}
	if _, comment, found := strings.Cut(s.lineText(max(line, 1)), " #"); found && strings.HasPrefix(problem, "did not find expected ',' or") && strings.ContainsAny(comment, "}]") {
		e.Unknown, e.Want = true, "quotes around a text that has \" #\" in it, which starts a comment: 'Lead #2'"
	}
	s.fail(spot{line: max(line, 1)}, e)
}

// syntaxError returns the line and the problem of an error of the library, which names a line only
// where it is not the first.
func syntaxError(err error) (int, string) {
	problem := strings.TrimPrefix(err.Error(), "yaml: ")
	if rest, ok := strings.CutPrefix(problem, "line "); ok {
		number, text, found := strings.Cut(rest, ": ")
		if n, err := strconv.Atoi(number); found && err == nil {
			return n, text
		}
	}
	return 1, problem
}

// atToken tells whether a problem is one of the library's parser rather than of its scanner. For
// those it gives the line before the one where the surrounding list or map began.
func atToken(problem string) bool {
	switch problem {
	case "did not find expected <document start>", "did not find expected node content",
		"did not find expected '-' indicator", "did not find expected key",
		"did not find expected ',' or ']'", "did not find expected ',' or '}'",
		"found undefined tag handle", "found duplicate %YAML directive",
		"found incompatible YAML document", "found duplicate %TAG directive":
		return true
	}
	return strings.HasPrefix(problem, "unknown anchor") || strings.HasPrefix(problem, "anchor ")
}

// firstLineWith returns the last line of the shortest beginning of the file that has the problem:
// YAML is read from front to back, so that is where it stands.
func (s *source) firstLineWith(problem string) int {
	lo, hi := 1, len(s.lines)
	for lo < hi {
		mid := (lo + hi) / 2
		if s.hasProblem(mid, problem) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

func (s *source) hasProblem(lines int, problem string) bool {
	dec := yaml.NewDecoder(strings.NewReader(strings.Join(s.lines[:lines], "\n") + "\n"))
	for {
		var n yaml.Node
		err := dec.Decode(&n)
		if errors.Is(err, io.EOF) {
			return false
		}
		if err != nil {
			_, got := syntaxError(err)
			return got == problem
		}
	}
}

// plain refuses what a recipe does not use of YAML: aliases, anchors, tags and null.
func (s *source) plain(n *yaml.Node, path, want string) bool {
	found := ""
	switch mark := s.rest(n.Line, n.Column); {
	case n.Kind == yaml.AliasNode:
		found = "an alias"
	case n.Anchor != "":
		found = "an anchor"
	case n.Style&yaml.TaggedStyle != 0 || strings.HasPrefix(mark, "!"):
		found = "a tag"
	case n.Tag == "!!merge":
		found = "a merge key"
	case n.Tag == "!!null" && n.Value != "":
		found = "null"
	case n.Tag == "!!null":
		found = "nothing"
	default:
		return true
	}
	s.fail(spotOf(n), Error{Path: path, Found: found, Want: want})
	return false
}

// aChoice names a choice in a place that has none.
const aChoice = "a choice (one of)"

// kindText names what a node is, for messages.
func kindText(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i < len(n.Content); i += 2 {
			if n.Content[i].Value == OneOf {
				return aChoice
			}
		}
		return "a map"
	case yaml.SequenceNode:
		return "a list"
	}
	return strconv.Quote(n.Value)
}

// pair is an entry of a map.
type pair struct {
	key   string
	at    spot // of the key
	value *yaml.Node
}

// pairs returns the entries of a map. Its mistakes, such as a key that stands twice, are noted and
// left out. noun says what a key is: "key", "option", "part".
func (s *source) pairs(n *yaml.Node, path, noun, want string) ([]pair, bool) {
	if text := kindText(n); text == aChoice {
		s.fail(spotOf(n), Error{Path: path, Found: text, Want: want})
		return nil, false
	}
	return s.entries(n, path, noun, want)
}

// entries returns the entries of a map as [source.pairs] does, also those of a choice.
func (s *source) entries(n *yaml.Node, path, noun, want string) ([]pair, bool) {
	if !s.plain(n, path, want) {
		return nil, false
	}
	if n.Kind != yaml.MappingNode {
		s.fail(spotOf(n), Error{Path: path, Found: kindText(n), Want: want})
		return nil, false
	}
	out, first := make([]pair, 0, len(n.Content)/2), make(map[string]int, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		if !s.plain(k, path, "a word before the colon") {
			continue
		}
		if k.Kind != yaml.ScalarNode {
			s.fail(spotOf(k), Error{Path: path, Found: kindText(k), Want: "a word before the colon"})
			continue
		}
		if line := first[k.Value]; line > 0 {
			s.fail(spotOf(k), Error{Path: path, Found: noun + " " + strconv.Quote(k.Value) + " again", First: line})
			continue
		}
		first[k.Value] = k.Line
		out = append(out, pair{k.Value, spotOf(k), n.Content[i+1]})
	}
	return out, true
}

// items returns the nodes of a list.
func (s *source) items(n *yaml.Node, path, want string) ([]*yaml.Node, bool) {
	if !s.plain(n, path, want) {
		return nil, false
	}
	if n.Kind != yaml.SequenceNode {
		s.fail(spotOf(n), Error{Path: path, Found: kindText(n), Want: want})
		return nil, false
	}
	return n.Content, true
}

// text returns a scalar by its text.
func (s *source) text(n *yaml.Node, path, want string) (string, bool) {
	if !s.plain(n, path, want) {
		return "", false
	}
	if n.Kind != yaml.ScalarNode {
		s.fail(spotOf(n), Error{Path: path, Found: kindText(n), Want: want})
		return "", false
	}
	return n.Value, true
}

// texts returns the texts of a scalar or of a list of scalars, with their places.
func (s *source) texts(n *yaml.Node, path, want string) (texts []string, at []spot, isList, ok bool) {
	if n.Kind != yaml.SequenceNode {
		text, ok := s.text(n, path, want)
		return []string{text}, []spot{spotOf(n)}, false, ok
	}
	if !s.plain(n, path, want) {
		return nil, nil, true, false
	}
	ok = true
	texts, at = make([]string, 0, len(n.Content)), make([]spot, 0, len(n.Content))
	for _, c := range n.Content {
		text, fine := s.text(c, path, want)
		texts, at, ok = append(texts, text), append(at, spotOf(c)), ok && fine
	}
	return texts, at, true, ok
}

// number returns a scalar of decimal digits from low to high, both included.
func (s *source) number(n *yaml.Node, path string, low, high int, unit string) (int, bool) {
	want := rangeText(low, high, unit)
	text, ok := s.text(n, path, want)
	if !ok {
		return 0, false
	}
	within := func(text string) (int, bool) {
		v, ok := digits(text)
		return v, ok && v >= low && v <= high
	}
	if v, ok := within(text); ok {
		return v, true
	}
	e := Error{Path: path, Found: shown(text), Want: want}
	if head, tail, two := strings.Cut(text, " "); two && tail == unit {
		if _, ok := within(head); ok {
			e.Hint = head
		}
	}
	if bars := where.BarsOfBeats(text); unit == "bars" && bars >= low && bars <= high {
		e.Hint = strconv.Itoa(bars)
	}
	s.fail(spotOf(n), e)
	return 0, false
}

func rangeText(low, high int, unit string) string {
	text := strconv.Itoa(low) + " to " + strconv.Itoa(high)
	if unit != "" {
		text += " " + unit
	}
	return text
}

// shown leaves numbers bare and puts other texts in quotes.
func shown(text string) string {
	if digits := strings.TrimPrefix(text, "-"); digits != "" && strings.Trim(digits, "0123456789") == "" {
		return text
	}
	return strconv.Quote(text)
}

// digits reads decimal digits, a number under a thousand million.
func digits(text string) (int, bool) {
	n, ok := smf.ParseDigits(text)
	return int(n), ok && n < 1_000_000_000
}

func word(n *yaml.Node, s *source, path string, words []string) (string, bool) {
	want := "one of " + strings.Join(words, ", ")
	text, ok := s.text(n, path, want)
	if !ok {
		return "", false
	}
	for _, w := range words {
		if w == text {
			return w, true
		}
	}
	s.fail(spotOf(n), Error{Path: path, Found: strconv.Quote(text), Want: want, Hint: song.Nearest(text, words)})
	return "", false
}
