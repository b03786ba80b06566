package picture

import (
	"bytes"
	"encoding/xml"
	"strconv"
	"strings"
)

// writeSVG writes a figure as SVG 1.1. Its colours follow the reader's choice of a light or dark
// background (prefers-color-scheme).
func writeSVG(b *bytes.Buffer, f figure) {
	w, h := f.width.String(), f.height.String()
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ` + w + ` ` + h + `" width="` + w + `" height="` + h + `" role="img"`)
	writeAttrs(b, f.attrs)
	b.WriteString(">\n")
	writeTitle(b, f.title)
	b.WriteString("<style>" + styleSheet() + "</style>\n")
	b.WriteString(`<rect class="paper" width="` + w + `" height="` + h + "\"/>\n")
	for _, g := range f.groups {
		b.WriteString("<g")
		writeAttrs(b, g.attrs)
		b.WriteString(">\n")
		writeTitle(b, g.title)
		for _, m := range g.marks {
			writeMark(b, m)
		}
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
}

// styleSheet is the style of every picture.
func styleSheet() string {
	var b strings.Builder
	b.WriteString("\ntext{font-family:\"Helvetica Neue\",Helvetica,Arial,sans-serif;stroke:none}\n.line{fill:none;stroke-linejoin:round}\n")
	for s := plain; s <= headline; s++ {
		b.WriteString(".f" + strconv.Itoa(int(s)) + "{font-size:" + s.size().String() + "px")
		if s.heavy() {
			b.WriteString(";font-weight:bold")
		}
		b.WriteString("}\n")
	}
	writeInks(&b, paper, inks, false)
	b.WriteString("@media(prefers-color-scheme:dark){\n")
	writeInks(&b, paper, inks, true)
	b.WriteString("}\n")
	return b.String()
}

func writeInks(b *strings.Builder, from, to ink, dark bool) {
	for i := from; i < to; i++ {
		hex := i.colour(dark).hex()
		b.WriteString("." + i.class() + "{fill:" + hex + "}.line." + i.class() + "{fill:none;stroke:" + hex + "}\n")
	}
}

func (c colour) hex() string {
	return "#" + strconv.FormatUint(1<<24|uint64(c.R)<<16|uint64(c.G)<<8|uint64(c.B), 16)[1:]
}

func writeAttrs(b *bytes.Buffer, attrs []attr) {
	for _, a := range attrs {
		b.WriteString(" data-" + a.name + `="`)
		xml.EscapeText(b, []byte(a.value)) // a buffer takes everything
		b.WriteByte('"')
	}
}

func writeTitle(b *bytes.Buffer, title string) {
	if title != "" {
		b.WriteString("<title>")
		xml.EscapeText(b, []byte(title))
		b.WriteString("</title>\n")
	}
}

func writeMark(b *bytes.Buffer, m mark) {
	if m.text != "" {
		b.WriteString(`<text class="` + m.ink.class() + ` f` + strconv.Itoa(int(m.font)) + `" x="` + m.at.x.String() + `" y="` + m.at.y.String() + `"`)
		if m.end {
			b.WriteString(` text-anchor="end"`)
		}
		b.WriteByte('>')
		xml.EscapeText(b, []byte(m.text))
		b.WriteString("</text>\n")
		return
	}
	b.WriteString(`<path class="`)
	if m.width > 0 {
		b.WriteString("line ")
	}
	b.WriteString(m.ink.class() + `"`)
	if m.width > 0 {
		b.WriteString(` stroke-width="` + m.width.String() + `"`)
	}
	if m.dash > 0 {
		b.WriteString(` stroke-dasharray="` + m.dash.String() + `"`)
	}
	b.WriteString(` d="`)
	writePath(b, m.path)
	b.WriteString("\"/>\n")
}

// writePath writes path data in relative coordinates, the shortest form.
func writePath(b *bytes.Buffer, path []step) {
	var at point
	command := byte(0)
	for i, s := range path {
		dx, dy := s.x-at.x, s.y-at.y
		at = s.point
		switch {
		case i == 0:
			putCommand(b, &command, 'M', dx, dy)
		case !s.draw:
			putCommand(b, &command, 'm', dx, dy)
		case dy == 0:
			putCommand(b, &command, 'h', dx)
		case dx == 0:
			putCommand(b, &command, 'v', dy)
		default:
			putCommand(b, &command, 'l', dx, dy)
		}
	}
}

// putCommand writes a command and its numbers; a command need not be repeated, but what follows a
// move without one is a line.
func putCommand(b *bytes.Buffer, last *byte, command byte, numbers ...px) {
	repeated := command == *last && command != 'm'
	*last = command
	if !repeated {
		b.WriteByte(command)
	}
	for i, n := range numbers {
		if (i > 0 || repeated) && n >= 0 {
			b.WriteByte(' ')
		}
		b.WriteString(n.String())
	}
}

// String writes a length in pixels.
func (p px) String() string {
	return strings.TrimSuffix(strconv.FormatFloat(float64(p)/float64(pixel), 'f', 1, 64), ".0")
}
