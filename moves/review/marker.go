package review

import (
	"fmt"
	"strings"

	"loopdraft/smf"
)

// MarkerOnLine finds markers that are not on a bar line.
type MarkerOnLine struct{}

func markerRule() Rule {
	return Rule{
		Name: "marker", Group: Broken, Level: Warn,
		Brief:  "markers stand on bar lines",
		Doc:    "A marker beside its bar line is no section to a program that reads it, and jumps to it are off.",
		Source: "common practice, no source",
		New:    func() Check { return &MarkerOnLine{} },
	}
}

func (r *MarkerOnLine) find(s *subject) []Finding {
	var out []Finding
	for _, t := range s.song.Tracks {
		for _, ev := range t.Events {
			if kind, meta := ev.MetaType(); !meta || kind != smf.MetaMarker || s.time.IsBarLine(ev.Tick) {
				continue
			}
			bar := min(s.time.BarOf(ev.Tick), s.bars)
			beats := tenth(float64(ev.Tick-s.time.BarStart(bar)) / float64(s.time.BeatTicks(bar)))
			name := strings.ToValidUTF8(strings.Trim(string(t.Long(ev)), " \x00\t\r\n"), "?")
			out = append(out, Finding{Level: Warn, First: bar, Last: bar, About: name, Found: beats, Limit: 0, Unit: "beats",
				Text: fmt.Sprintf("The marker %q stands %.1f beats into bar %d: move it onto the bar line.", name, beats, bar)})
		}
	}
	return out
}
