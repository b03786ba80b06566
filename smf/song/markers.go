package song

import (
	"cmp"
	"slices"
	"strings"

	"loopdraft/smf"
)

// MarkedSections reads sections from the markers (FF 06) of all tracks: each begins a section on
// its bar line; markers elsewhere are none, and of several on one line the first counts. Bars before
// the first are a section without a name. The first section begins where the music does: bars of set-up are in none,
// except for a section that has a name and no note. Kinds are not guessed. There are none without markers on
// bar lines or without common bars.
func (s Song) MarkedSections() []Section {
	if s.time == nil {
		return nil
	}
	var out []Section
	for _, t := range s.Tracks {
		for _, ev := range t.Events {
			if kind, meta := ev.MetaType(); !meta || kind != smf.MetaMarker || ev.Tick >= s.End || !s.time.IsBarLine(ev.Tick) {
				continue
			}
			if name := strings.Trim(string(t.Long(ev)), " \x00\t\r\n"); name != "" {
				out = append(out, Section{Name: name, Bar: s.time.BarOf(ev.Tick)})
			}
		}
	}
	if len(out) == 0 {
		return nil
	}
	slices.SortStableFunc(out, func(a, b Section) int { return cmp.Compare(a.Bar, b.Bar) })
	out = slices.CompactFunc(out, func(a, b Section) bool { return a.Bar == b.Bar })
	if out[0].Bar > 1 {
		out = slices.Insert(out, 0, Section{Bar: 1})
	}
	for i := range out {
		next := s.Bars() + 1
		if i+1 < len(out) {
			next = out[i+1].Bar
		}
		out[i].Bars = next - out[i].Bar
	}
	first := s.FirstBar()
	if out[0].Name == "" && out[1].Bar <= first {
		out = out[1:]
	}
	if lead := first - out[0].Bar; lead > 0 && lead < out[0].Bars {
		out[0].Bar, out[0].Bars = first, out[0].Bars-lead
	}
	return clip(out)
}
