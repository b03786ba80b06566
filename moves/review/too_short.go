package review

import (
	"fmt"

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

// shortNote is a note that is too short.
type shortNote struct {
	bar  int
	none bool // it has no length
	loop bool // the loop of a draft has it as it is
}

// short returns the notes of a part that are too short.
func (r *TooShort) short(s *subject, part int) []shortNote {
	if part >= len(s.parts) { // the song is not measured
		return r.findShort(s, part)
	}
	h := &s.parts[part]
	out, known := h.short[r.Millis]
	if !known {
		out = r.findShort(s, part)
		if h.short == nil {
			h.short = map[int][]shortNote{}
		}
		h.short[r.Millis] = out
	}
	return out
}

func (r *TooShort) findShort(s *subject, part int) []shortNote {
	p := &s.song.Parts[part]
	var loop []song.Note // of the part, from the note that is looked at on
	if i := s.in.Full.Index(p.Name); i >= 0 {
		loop = s.in.Full.Parts[i].Notes
	}
	var out []shortNote
	for _, n := range p.Notes {
		none := n.End <= n.Start
		if !none && (p.Kit || s.time.Micros(n.End)-s.time.Micros(n.Start) >= int64(r.Millis)*1000) {
			continue
		}
		for len(loop) > 0 && loop[0].Start < n.Start {
			loop = loop[1:]
		}
		plays := false
		for k := 0; k < len(loop) && loop[k].Start == n.Start && !plays; k++ {
			plays = loop[k].Key == n.Key && loop[k].End == n.End
		}
		out = append(out, shortNote{s.barAt(n.Start), none, plays})
	}
	return out
}

func (r *TooShort) find(s *subject) []Finding {
	var out []Finding
	for i, p := range s.song.Parts {
		open := map[string]int{}
		from, loop := len(out), -1 // loop: the finding of what the loop of a draft has itself
		for _, n := range r.short(s, i) {
			if n.loop {
				if loop < 0 {
					loop = len(out)
					out = append(out, Finding{First: n.bar, Parts: []string{p.Name}, Unit: "notes"})
				}
				out[loop].Last = n.bar
				out[loop].Found++
				continue
			}
			out = s.addTo(out, open, i, n.bar)
			if n.none {
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
