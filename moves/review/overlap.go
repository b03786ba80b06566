package review

import (
	"fmt"
	"strings"

	"loopdraft/smf/song"
)

// Overlap finds notes that start while their key still sounds.
type Overlap struct{}

func overlapRule() Rule {
	return Rule{
		Name: "overlap", Group: Broken, Level: Warn,
		Brief:  "no key is struck while it sounds",
		Doc:    "Where a key is struck again on its track and channel before it was let go, receivers differ in what the first note-off ends: notes may be cut or hang. Of drums it is a note, whose note-offs are hardly ever listened to.",
		Source: "what a receiver does is not defined: Complete MIDI 1.0 Detailed Specification, p. A-4; note-offs of drums: General MIDI Level 1 Developer Guidelines, p. 15",
		New:    func() Check { return &Overlap{} },
	}
}

func (r *Overlap) find(s *subject) []Finding {
	kept := map[Level][]Finding{}
	for _, f := range s.violations("overlap", func(part song.Part, _ int) (Level, string) {
		if part.Kit {
			return Note, ""
		}
		return Warn, ""
	}) {
		kept[f.Level] = append(kept[f.Level], f)
	}
	var out []Finding
	for _, level := range []Level{Warn, Note} {
		if len(kept[level]) > 0 {
			out = append(out, r.together(s, kept[level]))
		}
	}
	return out
}

// together makes one finding of those of all parts and places: it is one habit of whoever played.
func (r *Overlap) together(s *subject, all []Finding) Finding {
	f := all[0]
	f.Found = 0
	f.Parts = nil
	over := map[string][]string{} // by part, where
	for _, o := range all {
		name := o.Parts[0]
		f.First, f.Last, f.Found = min(f.First, o.First), max(f.Last, o.Last), f.Found+o.Found
		if over[name] == nil {
			f.Parts = append(f.Parts, name)
		}
		over[name] = append(over[name], barsText(o.First, o.Last))
	}
	f.Text = fmt.Sprintf("%s while the key still sounds, and instruments differ in what they make of it: make the notes shorter.", plural(int(f.Found), "1 note of "+inWords(f.Parts)+" starts", fmt.Sprintf("%.0f notes of %s start", f.Found, inWords(f.Parts))))
	f.tries = func() (out []Steps) {
		for _, length := range []string{"90%", "50%", "1/8", "1/16", "1/32"} {
			var steps Steps
			for _, name := range f.Parts {
				steps = append(steps, step("gate", "part", s.part(s.song.Index(name)), "over", strings.Join(over[name], "; "), "length", length))
			}
			out = append(out, steps)
		}
		return out
	}
	return f
}
