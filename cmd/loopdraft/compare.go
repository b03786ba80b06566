package main

import (
	"fmt"
	"strconv"
	"strings"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf/song"
)

// compare tells how a second arrangement differs from a first one.
func (c *console) compare(inputs []recipes.Input, sources []source, asJSON bool) error {
	c.progress.step("comparing "+sources[0].name+" and "+sources[1].name, nil)
	var songs [2]song.Song
	for i := range songs {
		in, err := asItIs(inputs[i])
		if err != nil {
			return fmt.Errorf("%s: %w", sources[i].name, err)
		}
		songs[i] = in.Song
	}
	got, err := review.Compare(songs[0], songs[1])
	if err != nil {
		return fmt.Errorf("%s, %s: %w", sources[0].name, sources[1].name, err)
	}
	if asJSON {
		return c.writeJSON(c.out, got)
	}
	return c.write(c.out, comparisonText(got, c.width(c.out)))
}

func comparisonText(c review.Comparison, width int) string {
	var b strings.Builder
	put := func(indent, text string) { wrapInto(&b, indent, indent+"  ", line(text), width) }
	put("", fmt.Sprintf("%s, %s against %s, %s", counted(c.Bars[1], "bar"), study.Clock(c.Seconds[1]), counted(c.Bars[0], "bar"), study.Clock(c.Seconds[0])))
	if len(c.Added) > 0 {
		put("", "new: "+listed(c.Added))
	}
	if len(c.Gone) > 0 {
		put("", "gone: "+listed(c.Gone))
	}
	if c.Same {
		put("", "They are the same.")
	}
	rows := [][]string{{"SECTION", "BARS", "WERE", "ENERGY", "WAS"}}
	for _, s := range c.Sections {
		rows = append(rows, []string{line(s.Name), placeOf(s.Second), placeOf(s.First), energyOf(s.Second), energyOf(s.First)})
	}
	b.WriteByte('\n')
	table(&b, "", rows)
	for _, s := range c.Sections {
		var lines []string
		if s.First != nil && s.Second != nil && s.First.Bars != s.Second.Bars {
			lines = append(lines, fmt.Sprintf("%s, was %d", counted(s.Second.Bars, "bar"), s.First.Bars))
		}
		if len(s.In) > 0 {
			lines = append(lines, "in: "+listed(s.In))
		}
		if len(s.Out) > 0 {
			lines = append(lines, "out: "+listed(s.Out))
		}
		for _, p := range s.Changed {
			lines = append(lines, fmt.Sprintf("%s is other in %s", p.Part, barList(p.Bars)))
		}
		if len(lines) > 0 {
			b.WriteByte('\n')
			put("", s.Name)
			for _, l := range lines {
				put("  ", l)
			}
		}
	}
	return b.String()
}

func placeOf(s *review.SectionOfOne) string {
	switch {
	case s == nil:
		return "-"
	case s.Bars < 2:
		return strconv.Itoa(s.Bar)
	}
	return fmt.Sprintf("%d-%d", s.Bar, s.Bar+s.Bars-1)
}

func energyOf(s *review.SectionOfOne) string {
	if s == nil {
		return "-"
	}
	return strconv.FormatFloat(s.Energy, 'f', 2, 64)
}

// barList writes rising bars as bars and spans of them.
func barList(bars []int) string {
	var out []string
	for i := 0; i < len(bars); {
		k := i
		for k+1 < len(bars) && bars[k+1] == bars[k]+1 {
			k++
		}
		if k == i {
			out = append(out, strconv.Itoa(bars[i]))
		} else {
			out = append(out, fmt.Sprintf("%d-%d", bars[i], bars[k]))
		}
		i = k + 1
	}
	noun := "bars "
	if len(bars) == 1 {
		noun = "bar "
	}
	return noun + strings.Join(out, ", ")
}
