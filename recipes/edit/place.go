package edit

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// breakAt returns the bytes of the line break that a text begins with, of those that YAML knows; 0 for none.
func breakAt(text []byte) int {
	if len(text) > 0 && text[0] != '\n' && text[0] != '\r' && text[0] < utf8.RuneSelf {
		return 0
	}
	if bytes.HasPrefix(text, []byte("\r\n")) {
		return 2
	}
	switch r, size := utf8.DecodeRune(text); r {
	case '\n', '\r', '\u0085', '\u2028', '\u2029':
		return size
	}
	return 0
}

// lineStarts returns where the lines of a text start.
func lineStarts(text []byte) []int {
	out := []int{0}
	for i := 0; i < len(text); {
		if n := breakAt(text[i:]); n > 0 {
			i += n
			out = append(out, i)
			continue
		}
		i++
	}
	return out
}

// offsetOf returns the byte of a line and column, the column in characters.
func offsetOf(text []byte, lines []int, line, col int) int {
	if line < 1 || line > len(lines) {
		return len(text)
	}
	return forward(text, lines[line-1], col-1, line == 1)
}

// forward steps over characters from a byte on; at the start of a text the mark of its byte order is none.
func forward(text []byte, at, chars int, first bool) int {
	if first && at == 0 && bytes.HasPrefix(text, []byte(bom)) {
		at += len(bom)
	}
	for ; chars > 0 && at < len(text); chars-- {
		_, size := utf8.DecodeRune(text[at:])
		at += size
	}
	return at
}

// start returns the byte at which a node starts.
func (d *document) start(n *yaml.Node) int {
	const every = 64
	if n.Line < 1 || n.Line > len(d.lines) {
		return len(d.text)
	}
	marks, ok := d.marks[n.Line]
	if !ok {
		end := len(d.text)
		if n.Line < len(d.lines) {
			end = d.lines[n.Line]
		}
		for at := forward(d.text, d.lines[n.Line-1], 0, n.Line == 1); ; at = forward(d.text, at, every, false) {
			if marks = append(marks, at); at >= end {
				break
			}
		}
		d.marks[n.Line] = marks
	}
	i := min((n.Column-1)/every, len(marks)-1)
	return forward(d.text, marks[i], n.Column-1-i*every, false)
}

// place returns the line and column of a byte.
func (d *document) place(at int) (line, col int) {
	line = d.lineOf(at)
	return line, utf8.RuneCount(bytes.TrimPrefix(d.text[d.lines[line-1]:at], []byte(bom))) + 1
}

// lineOf returns the line that a byte is in, from 1.
func (d *document) lineOf(at int) int {
	lo, hi := 0, len(d.lines)
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; d.lines[mid] <= at {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + 1
}

// end returns the byte after a node; of a block its last item's, without the comment behind it.
func (d *document) end(n *yaml.Node) int {
	if end, ok := d.ends[n]; ok {
		return end
	}
	at := d.start(n)
	switch {
	case n.Kind == yaml.AliasNode:
		return at + 1 + len(n.Value)
	case n.Kind == yaml.ScalarNode:
		return d.scalarEnd(n, at)
	case n.Style&yaml.FlowStyle == 0 || at >= len(d.text) || d.text[at] != '{' && d.text[at] != '[':
		return d.end(n.Content[len(n.Content)-1]) // a map of one pair in a list may stand without braces
	}
	at++
	if len(n.Content) > 0 {
		at = d.end(n.Content[len(n.Content)-1])
	}
	for at < len(d.text) && d.text[at] != '}' && d.text[at] != ']' {
		at = d.overBlank(at)
		if at < len(d.text) && d.text[at] != '}' && d.text[at] != ']' { // a comma, or what a value left out leaves
			at++
		}
	}
	return min(at+1, len(d.text))
}

// overBlank steps over blanks, line breaks and comments.
func (d *document) overBlank(at int) int {
	for at < len(d.text) {
		switch n := breakAt(d.text[at:]); {
		case n > 0:
			at += n
		case d.text[at] == ' ' || d.text[at] == '\t':
			at++
		case d.text[at] == '#':
			at = d.lineEnd(at)
		default:
			return at
		}
	}
	return at
}

// lineEnd returns the byte of the break that ends a line, or the end of the text.
func (d *document) lineEnd(at int) int {
	for at < len(d.text) && breakAt(d.text[at:]) == 0 {
		at++
	}
	return at
}

// nextLine returns the byte after the break that ends a line.
func (d *document) nextLine(at int) int {
	at = d.lineEnd(at)
	return at + breakAt(d.text[at:])
}

// lineStart returns the byte that a line starts with.
func (d *document) lineStart(at int) int {
	start := d.lines[d.lineOf(at)-1]
	if start == 0 && bytes.HasPrefix(d.text, []byte(bom)) {
		start = len(bom)
	}
	return start
}

// indented tells whether only blanks stand before a byte in its line.
func (d *document) indented(at int) bool {
	return strings.Trim(string(d.text[d.lineStart(at):at]), " ") == ""
}

func (d *document) scalarEnd(n *yaml.Node, at int) int {
	switch {
	case n.Style&yaml.DoubleQuotedStyle != 0:
		for at++; at < len(d.text) && d.text[at] != '"'; at++ {
			if d.text[at] == '\\' {
				at++
			}
		}
		return min(at+1, len(d.text))
	case n.Style&yaml.SingleQuotedStyle != 0:
		for at++; at < len(d.text); at++ {
			if d.text[at] != '\'' {
				continue
			}
			if at+1 >= len(d.text) || d.text[at+1] != '\'' {
				return at + 1
			}
			at++
		}
		return at
	case n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		return d.blockEnd(at)
	}
	for _, r := range n.Value { // a text over several lines has a blank for the break between them
		if unicode.IsSpace(r) {
			continue
		}
		for at < len(d.text) && (d.text[at] == ' ' || d.text[at] == '\t' || breakAt(d.text[at:]) > 0) {
			at += max(breakAt(d.text[at:]), 1)
		}
		at = min(at+utf8.RuneLen(r), len(d.text))
	}
	return at
}

// blockEnd returns the end of a text of the styles | and >: that of its last line which is not empty. Its lines are
// indented as the first of them is.
func (d *document) blockEnd(at int) int {
	end, indent := d.lineEnd(at), -1
	for at = d.nextLine(at); at < len(d.text); at = d.nextLine(at) {
		line := d.text[at:d.lineEnd(at)]
		blanks := len(line) - len(bytes.TrimLeft(line, " "))
		if blanks == len(line) {
			continue
		}
		if indent < 0 {
			indent = blanks
		}
		if blanks < indent || indent == 0 {
			break
		}
		end = d.lineEnd(at)
	}
	return end
}
