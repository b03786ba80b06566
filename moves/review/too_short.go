package review

import "fmt"

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

func (r *TooShort) find(s *subject) []Finding {
	var out []Finding
	for i, p := range s.song.Parts {
		open := map[string]int{}
		from := len(out)
		for _, n := range p.Notes {
			none := n.End <= n.Start
			if !none && (p.Kit || s.time.Micros(n.End)-s.time.Micros(n.Start) >= int64(r.Millis)*1000) {
				continue
			}
			out = s.addTo(out, open, i, s.barAt(n.Start))
			if none {
				out[len(out)-1].Level = Fault
			}
		}
		for k := range out[from:] {
			f := &out[from+k]
			f.Level, f.Limit = max(f.Level, Warn), float64(r.Millis)
			f.Text = fmt.Sprintf("%s shorter than %d ms: most instruments click or say nothing. Make them longer.", plural(int(f.Found), "1 note of "+p.Name+" is", fmt.Sprintf("%.0f notes of %s are", f.Found, p.Name)), r.Millis)
			f.tries = s.gates(i, f.First, f.Last, []string{"1/16", "1/32", "1/64"})
		}
	}
	return out
}
