package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// example is a move's example after it has been run.
type example struct {
	step          string   // as a recipe has it
	sections      string   // with their bars; "" for none
	before, after string   // grids
	events        []string // what it wrote besides notes, under the grid after
}

// runExample carries out the example of a move and draws the song before and after in the same
// steps.
func runExample(m moves.Move) (example, error) {
	before, after, err := m.Example().Songs()
	if err != nil {
		return example{}, fmt.Errorf("example of %s: %w", m.Name(), err)
	}
	steps := m.Example().Steps
	if steps == 0 {
		steps = 4
	}
	var names []string
	for _, s := range before.Sections {
		names = append(names, s.Name+" "+barsOf(s.Bars))
	}
	x := example{step: m.Text(m.Example().Step), sections: listed(names), before: song.GridAt(before, steps), after: song.GridAt(after, steps)}
	indent := strings.IndexByte(x.after, ' ') + 1 // where the steps of a grid without padded labels start
	if line, _, _ := strings.Cut(x.after, "\n"); indent > 0 {
		indent = len(line) - len(strings.TrimLeft(line[indent:], " "))
	}
	x.events = written(after, steps, indent)
	return x, nil
}

// written lists the markers and controllers that a move wrote: for a controller its value at each
// beat, under the steps of the grid.
func written(s song.Song, stepsPerQuarter, indent int) []string {
	var out []string
	for i, t := range s.Tracks {
		var seen []string
		for _, ev := range t.Events {
			if kind, meta := ev.MetaType(); ev.New && meta && kind == smf.MetaMarker {
				out = append(out, fmt.Sprintf("marker %q at %s", t.Long(ev), position(s.Time(), ev.Tick)))
			}
			c, _, ok := ev.Of()
			if name := controllerName(c); ok && ev.New && !slices.Contains(seen, name) {
				seen = append(seen, name)
				out = append(out, strings.Repeat(" ", indent)+beatValues(s, i, ev.Chan(), c, stepsPerQuarter)+"  "+name)
			}
		}
	}
	return out
}

func controllerName(c song.Controller) string {
	switch c {
	case song.Bend:
		return "pitch bend"
	case song.Pressure:
		return "channel pressure"
	}
	return "controller " + strconv.Itoa(int(c))
}

// beatValues writes the value of a controller at each beat; a dot where nothing has set it.
func beatValues(s song.Song, track int, channel uint8, c song.Controller, stepsPerQuarter int) string {
	var b strings.Builder
	tl := s.Time()
	points := s.Points(track, channel, c)
	for bar := 1; bar <= s.Bars(); bar++ {
		if bar > 1 {
			b.WriteByte('|')
		}
		start, beat := tl.BarStart(bar), tl.BeatTicks(bar)
		for t := start; t < tl.BarStart(bar+1); t += beat {
			text := "."
			if v, ok := points.At(t); ok {
				text = strconv.Itoa(v)
			}
			fmt.Fprintf(&b, "%-*s", int(beat)*stepsPerQuarter/int(tl.PPQ()), text)
		}
	}
	return strings.TrimRight(b.String(), " ")
}
