package review

import (
	"fmt"

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
	return s.violations("overlap", func(part song.Part, n int) (Level, string) {
		level := Warn
		if part.Kit {
			level = Note
		}
		return level, fmt.Sprintf("%s while the key still sounds, and instruments differ in what they make of it: make the notes shorter.", plural(n, "1 note of "+part.Name+" starts", fmt.Sprintf("%d notes of %s start", n, part.Name)))
	}, "90%", "50%", "1/8", "1/16", "1/32")
}
