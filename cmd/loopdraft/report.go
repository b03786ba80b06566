package main

import (
	"io"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/smf/picture"
	"loopdraft/smf/song"
)

// reportDraft prints, for each draft, its file and its map, then what was planned, assumed and left
// to the producer.
func (c *console) reportDraft(w io.Writer, takes []take) error {
	var b strings.Builder
	for _, t := range takes {
		b.WriteString(t.files() + "\n\n")
		if err := c.drawMap(&b, w, t.result.Song, picture.Options{Changes: t.result.Changes}); err != nil {
			return err
		}
		b.WriteByte('\n')
		c.list(&b, w, "Loops", loopLines(t.result.Song, t.result.Changes))
		if len(t.energy.Bars) > 0 {
			c.list(&b, w, "Energy", askedLines(t.result.Song, t.energy, t.full, t.result.Asked()))
		}
	}
	c.list(&b, w, "Takes", takeLines(takes))
	c.list(&b, w, "Plan", together(takes, func(t take) []string { return t.result.Plan }))
	c.list(&b, w, "Assumed and skipped", together(takes, func(t take) []string { return slices.Concat(t.result.Told, t.told) }))
	c.list(&b, w, "Left to you", together(takes, func(t take) []string { return t.result.Todo }))
	c.list(&b, w, "Review", verdicts(takes))
	return c.write(w, strings.TrimRight(b.String(), "\n")+"\n")
}

// files says in a line where a draft went.
func (t take) files() string {
	s := shown(t.midi)
	if t.recipe != "" {
		s += ", recipe " + shown(t.recipe)
	}
	if t.picture != "" {
		s += ", map " + visible(t.picture)
	}
	if line := t.splitLine(); line != "" {
		s += ", " + line
	}
	return strings.Join(append([]string{s}, choices(t.result)...), ", ")
}

// asciiFlag is the flag of commands that draw a map.
func asciiFlag() cli.Flag {
	return &cli.BoolFlag{Name: "ascii", Usage: "draw the map with nothing but ASCII", DisableDefaultText: true}
}

// drawMap draws a song for the stream w into b, with what the options say of its rows.
func (c *console) drawMap(b *strings.Builder, w io.Writer, s song.Song, o picture.Options) error {
	o.Width, o.Color, o.ASCII = c.width(w), c.colour(w), c.ascii()
	return picture.Text(b, s, o)
}

// list prints a heading and its lines, wrapped to the width of the stream w; nothing without lines.
func (c *console) list(b *strings.Builder, w io.Writer, heading string, lines []string) {
	if len(lines) == 0 {
		return
	}
	b.WriteString(heading + ":\n")
	for _, line := range lines {
		wrapInto(b, "  ", "    ", printable(line), c.width(w))
	}
	b.WriteByte('\n')
}

// wrapInto writes text with line breaks between words; what is longer than a line stays whole.
func wrapInto(b *strings.Builder, first, rest, text string, width int) {
	line, started := first, false
	for _, word := range strings.Fields(text) {
		if started && len([]rune(line))+1+len([]rune(word)) > width {
			b.WriteString(line + "\n")
			line, started = rest, false
		}
		if started {
			line += " "
		}
		line, started = line+word, true
	}
	b.WriteString(line + "\n")
}
