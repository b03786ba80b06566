package edit

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"gopkg.in/yaml.v3"
)

// entry is an item of a list, or a key and its value.
type entry []*yaml.Node

// size returns how many nodes an entry of a list or map has.
func size(n *yaml.Node) int {
	if n.Kind == yaml.MappingNode {
		return 2
	}
	return 1
}

func count(n *yaml.Node) int { return len(n.Content) / size(n) }

// entryAt returns an entry of a list or map.
func entryAt(n *yaml.Node, i int) entry { return n.Content[i*size(n) : (i+1)*size(n)] }

// isFlow tells whether a list or map stands in brackets or braces.
func isFlow(n *yaml.Node) bool { return n.Style&yaml.FlowStyle != 0 }

// from returns the byte at which an entry starts, in a block list with its dash.
func (d *document) from(n *yaml.Node, i int) int {
	switch {
	case n.Kind == yaml.MappingNode || isFlow(n):
		return d.start(entryAt(n, i)[0])
	case i == 0:
		return d.start(n)
	}
	return d.overBlank(d.to(n, i-1))
}

// to returns the byte after an entry.
func (d *document) to(n *yaml.Node, i int) int {
	e := entryAt(n, i)
	return d.end(e[len(e)-1])
}

// rawEntry returns an entry as it stands there, in a block with the comment behind it and without the dash.
func (d *document) rawEntry(n *yaml.Node, i int) string {
	from, to := d.start(entryAt(n, i)[0]), d.to(n, i)
	if !isFlow(n) {
		from, to = d.from(n, i), d.lineEnd(to)
		if n.Kind == yaml.SequenceNode {
			return strings.TrimPrefix(strings.TrimPrefix(string(d.text[from:to]), "-"), d.gap(n))
		}
	}
	return string(d.text[from:to])
}

// gap returns the blanks between the dashes of a block list and its items.
func (d *document) gap(n *yaml.Node) string {
	dash, first := d.start(n), d.start(n.Content[0])
	if gap := string(d.text[min(dash+1, first):first]); gap != "" && strings.Trim(gap, " ") == "" {
		return gap
	}
	return " "
}

// insert puts entries before entry i of a list or map, behind the last where i is their count. raws is how each is
// written there.
func (d *document) insert(n *yaml.Node, i int, entries []entry, raws []string) {
	switch {
	case isFlow(n):
		d.insertFlow(n, i, raws)
	default:
		d.insertBlock(n, i, raws)
	}
	n.Content = slices.Insert(n.Content, i*size(n), slices.Concat(entries...)...)
}

func (d *document) insertFlow(n *yaml.Node, i int, raws []string) {
	separator, over := ", ", false // over: an item a line
	if k := count(n); k > 0 {
		first, before := d.from(n, 0), d.start(n)
		if k > 1 {
			first, before = d.from(n, 1), d.to(n, 0)
		}
		if d.lineOf(first) != d.lineOf(before) && d.indented(first) {
			separator, over = ","+d.eol+string(d.text[d.lineStart(first):first]), true
		}
	}
	text := strings.Join(raws, separator)
	switch {
	case i > 0 && over:
		at, end := d.to(n, i-1), ""
		if comma := d.overBlank(at); comma < len(d.text) && d.text[comma] == ',' {
			at, end = comma+1, ","
		} else {
			d.splice(at, at, ",")
		}
		if d.restIsBlank(at) { // the comment is that of the item before
			at = d.lineEnd(at)
		}
		d.splice(at, at, separator[1:]+text+end)
	case i > 0:
		at := d.to(n, i-1)
		d.splice(at, at, separator+text)
	case count(n) > 0:
		at := d.from(n, 0)
		d.splice(at, at, text+separator)
	default:
		at := d.start(n) + 1
		d.splice(at, at, text)
	}
}

func (d *document) insertBlock(n *yaml.Node, i int, raws []string) {
	indent, dash := strings.Repeat(" ", n.Column-1), ""
	if n.Kind == yaml.SequenceNode {
		dash = "-" + d.gap(n)
	}
	var text strings.Builder
	if i > 0 {
		at := d.lineEnd(d.to(n, i-1))
		for _, raw := range raws {
			text.WriteString(d.eol + indent + dash + raw)
		}
		d.splice(at, at, text.String())
		return
	}
	at := d.from(n, 0)
	if !d.indented(at) { // the list begins in the line of what it stands in
		for _, raw := range raws {
			text.WriteString(dash + raw + d.eol + indent)
		}
		d.splice(at, at, text.String())
		return
	}
	for _, raw := range raws {
		text.WriteString(indent + dash + raw + d.eol)
	}
	line := d.lineOf(at)
	for line > 1 { // comments right above are those of the first entry
		above := strings.TrimLeft(string(d.text[d.lines[line-2]:d.lines[line-1]]), " \t")
		if !strings.HasPrefix(above, "#") {
			break
		}
		line--
	}
	at = d.lineStart(d.lines[line-1])
	d.splice(at, at, text.String())
}

// remove takes the entries i to j, j not included, out of a list or map.
func (d *document) remove(n *yaml.Node, i, j int) {
	switch {
	case isFlow(n):
		d.removeFlow(n, i, j)
	case i == 0 && j == count(n):
		empty := "[]"
		if n.Kind == yaml.MappingNode {
			empty = "{}"
		}
		if n.Column == 1 {
			empty = " " + empty
		}
		d.splice(d.from(n, 0), d.to(n, j-1), empty)
		n.Style |= yaml.FlowStyle
	case j < count(n) && !d.indented(d.from(n, i)):
		d.splice(d.from(n, i), d.from(n, j), "")
	default:
		d.removeLines(d.lineStart(d.from(n, i)), d.to(n, j-1))
	}
	n.Content = slices.Delete(n.Content, i*size(n), j*size(n))
}

// removeLines removes whole lines: from the start of one to the end of the one that a byte is in. At the end of a text
// whose last line has no break, the break before them goes.
func (d *document) removeLines(from, to int) {
	to = d.lineEnd(to)
	if to < len(d.text) {
		to += breakAt(d.text[to:])
	} else if line := d.lineOf(from); line > 1 {
		from = d.lineEnd(d.lines[line-2])
	}
	d.splice(from, to, "")
}

// restIsBlank tells whether nothing but blanks and a comment is left of a line.
func (d *document) restIsBlank(at int) bool {
	rest := strings.TrimLeft(string(d.text[at:d.lineEnd(at)]), " \t")
	return rest == "" || rest[0] == '#'
}

func (d *document) removeFlow(n *yaml.Node, i, j int) {
	from, to := d.from(n, i), d.to(n, j-1)
	comma := d.overBlank(to)
	hasComma := comma < len(d.text) && d.text[comma] == ','
	last := j == count(n)
	after := to // behind the entry and its comma
	if hasComma {
		after = comma + 1
	}
	switch {
	case d.indented(from) && d.restIsBlank(after) && (hasComma || last):
		d.removeLines(d.lineStart(from), after)
	case last && i > 0 && !d.indented(from):
		d.splice(d.to(n, i-1), to, "")
	case last && i > 0:
		d.splice(from, to, "")
	default:
		for after < len(d.text) && d.text[after] == ' ' {
			after++
		}
		d.splice(from, after, "")
	}
}

// replace puts a node in the place of another.
func (d *document) replace(n, by *yaml.Node) {
	text := flowText(by)
	if n.Kind == yaml.ScalarNode && by.Kind == yaml.ScalarNode {
		text = scalarLike(by.Value, n.Style)
	}
	from, to := d.start(n), d.end(n)
	if isNull(n) && from > 0 && d.text[from-1] != ' ' {
		text = " " + text
	}
	d.splice(from, to, text)
	d.ends[n] = to
	n.Kind, n.Value, n.Content, n.Tag, n.Style = by.Kind, by.Value, by.Content, by.Tag, by.Style
}

// moveEntry moves an entry of a list before another of it, behind the last where that is their count.
func (d *document) moveEntry(n *yaml.Node, i, before int) {
	if before == i || before == i+1 {
		return
	}
	e, raw := slices.Clone(entryAt(n, i)), d.rawEntry(n, i)
	content := slices.Clone(n.Content)
	d.insert(n, before, []entry{e}, []string{raw})
	n.Content = content // whose places are those of the text
	d.remove(n, i, i+1)
	if before > i {
		before--
	}
	n.Content = slices.Insert(n.Content, before*size(n), e...)
}

// setTexts makes a list of texts of a list: what is alike at both ends stays, the rest is replaced one by one. use
// gives the node that stands for an item.
func (d *document) setTexts(n *yaml.Node, texts []string, use func(*yaml.Node) *yaml.Node) error {
	items := make([]*yaml.Node, len(n.Content))
	for i, c := range n.Content {
		items[i] = use(c)
	}
	head, tail := 0, 0
	for head < len(items) && head < len(texts) && items[head].Value == texts[head] {
		head++
	}
	for tail < len(items)-head && tail < len(texts)-head && items[len(items)-1-tail].Value == texts[len(texts)-1-tail] {
		tail++
	}
	old, now := len(items)-tail, len(texts)-tail
	for head < old && head < now {
		if items[head].Value != texts[head] {
			if err := d.plain(items[head], ""); err != nil {
				return err
			}
			d.replace(items[head], scalarNode(texts[head]))
		}
		head++
	}
	for i := head; i < old; i++ {
		if n.Content[i] != items[i] {
			return d.failAt(n.Content[i], "", "a choice (one of)", "this change made by hand: the item plays in other takes")
		}
	}
	switch {
	case head < old:
		d.remove(n, head, old)
	case head < now:
		var entries []entry
		var raws []string
		for _, text := range texts[head:now] {
			entries, raws = append(entries, entry{scalarNode(text)}), append(raws, quoted(text))
		}
		if len(n.Content) > 0 && head > 0 && n.Content[head-1].Kind == yaml.ScalarNode {
			for i, text := range texts[head:now] {
				raws[i] = scalarLike(text, n.Content[head-1].Style)
			}
		}
		d.insert(n, head, entries, raws)
	}
	return nil
}

// lookUp returns the value of a key; nil for none.
func lookUp(n *yaml.Node, key string) *yaml.Node {
	if i := keyIndex(n, key); i >= 0 {
		return n.Content[2*i+1]
	}
	return nil
}

// keyIndex returns which entry of a map has a key; -1 for none.
func keyIndex(n *yaml.Node, key string) int {
	if n == nil || n.Kind != yaml.MappingNode {
		return -1
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return i / 2
		}
	}
	return -1
}

// addKey writes a key and its value behind the others of a map.
func (d *document) addKey(n *yaml.Node, key string, value *yaml.Node) {
	e := entry{scalarNode(key), value}
	d.insert(n, count(n), []entry{e}, []string{quoted(key) + ": " + flowText(value)})
}

func scalarNode(text string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Value: text} }

func listNode(texts []string) *yaml.Node {
	n := &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle}
	for _, t := range texts {
		n.Content = append(n.Content, scalarNode(t))
	}
	return n
}

func mapNode(pairs ...*yaml.Node) *yaml.Node {
	return &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle, Content: pairs}
}

// flowText writes a node on one line.
func flowText(n *yaml.Node) string {
	var parts []string
	switch n.Kind {
	case yaml.MappingNode:
		for i := 0; i+1 < len(n.Content); i += 2 {
			parts = append(parts, flowText(n.Content[i])+": "+flowText(n.Content[i+1]))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case yaml.SequenceNode:
		for _, c := range n.Content {
			parts = append(parts, flowText(c))
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	return quoted(n.Value)
}

// quoted writes a text so that YAML reads the same text wherever it stands: as it is, if it can.
func quoted(text string) string { return scalarLike(text, 0) }

// scalarLike writes a text in a style of quotes, if it can stand in it, else in double quotes.
func scalarLike(text string, style yaml.Style) string {
	odd := strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) })
	switch {
	case odd || style&yaml.DoubleQuotedStyle != 0:
	case style&yaml.SingleQuotedStyle != 0:
		return "'" + strings.ReplaceAll(text, "'", "''") + "'"
	case isPlain(text):
		return text
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case unicode.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\U%08X`, r) // YAML 1.2.2, section 5.7
		}
	}
	b.WriteByte('"')
	return b.String()
}

// isPlain tells whether YAML reads a text without quotes as itself in a list in brackets, where least can stand.
func isPlain(text string) bool {
	root, err := load([]byte("[" + text + "]"))
	if err != nil || root == nil || root.Kind != yaml.SequenceNode || len(root.Content) != 1 {
		return false
	}
	n := root.Content[0]
	return n.Kind == yaml.ScalarNode && n.Style == 0 && n.Value == text && n.Anchor == "" && n.Tag != "!!null" && n.Tag != "!!merge"
}
