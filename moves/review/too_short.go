package review

import (
	"fmt"
	"slices"

	"loopdraft/smf/song"
)

// TooShort finds notes that are too short to sound.
type TooShort struct {
	Millis int `yaml:"ms" range:"0..1000" unit:"ms" doc:"a note that is shorter is hardly heard; of drums only those without any length count"`
}

func tooShortRule() Rule {
	return Rule{
		Name: "too-short", Group: Broken, Level: Fault,
		Brief:  "notes are long enough to sound",
		Doc:    "A note that ends before its attack is over is a click or nothing. One without any length is a fault: many instruments drop it. How long a drum's note is does not matter to most kits.",
		Source: "5 ms: common practice, no source; lengths of drums: General MIDI Level 1 Developer Guidelines, p. 15",
		New:    func() Check { return &TooShort{Millis: 5} },
	}
}

// loopPlays tells whether the loop of a draft has that note as it is.
func (s *subject) loopPlays(part int, n song.Note) bool {
	i := s.in.Full.Index(s.song.Parts[part].Name)
	return i >= 0 && slices.ContainsFunc(s.in.Full.In(s.in.Full.Parts[i], song.Range{Start: n.Start, End: n.Start + 1}), func(m song.Note) bool {
		return m.Start == n.Start && m.Key == n.Key && m.End == n.End
	})
}

func (r *TooShort) find(s *subject) []Finding {
	var out []Finding
	for i, p := range s.song.Parts {
		open := map[string]int{}
		from, loop := len(out), -1 // loop: the finding of what the loop of a draft has itself
		for _, n := range p.Notes {
			none := n.End <= n.Start
			if !none && (p.Kit || s.time.Micros(n.End)-s.time.Micros(n.Start) >= int64(r.Millis)*1000) {
				continue
			}
			if s.loopPlays(i, n) {
				if loop < 0 {
					loop = len(out)
					out = append(out, Finding{First: s.barAt(n.Start), Parts: []string{p.Name}, Unit: "notes"})
				}
				out[loop].Last = s.barAt(n.Start)
				out[loop].Found++
				continue
			}
			out = s.addTo(out, open, i, s.barAt(n.Start))
			if none {
				out[open[p.Name]].Level = Fault
			}
		}
		for k := range out[from:] {
			f := &out[from+k]
			f.Level, f.Limit = max(f.Level, Warn), float64(r.Millis)
			f.Text = fmt.Sprintf("%s shorter than %d ms: most instruments click or say nothing. Make them longer.", plural(int(f.Found), "1 note of "+p.Name+" is", fmt.Sprintf("%.0f notes of %s are", f.Found, p.Name)), r.Millis)
			f.tries = s.gates(i, f.First, f.Last, []string{"1/16", "1/32", "1/64"})
			if from+k == loop {
				f.ofLoop()
			}
		}
	}
	return out
}
