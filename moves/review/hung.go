package review

import (
	"fmt"

	"loopdraft/smf/song"
)

// Hung finds notes without a note-off.
type Hung struct{}

func hungRule() Rule {
	return Rule{
		Name: "hung", Group: Broken, Level: Fault,
		Brief:  "every note ends",
		Doc:    "A note-on without its note-off sounds on until somebody stops it.",
		Source: "a sender owes a note-off for each note-on: Complete MIDI 1.0 Detailed Specification, p. A-4",
		New:    func() Check { return &Hung{} },
	}
}

func (r *Hung) find(s *subject) []Finding {
	return s.violations("hung", func(part song.Part, n int) (Level, string) {
		return Fault, fmt.Sprintf("%s no note-off and would sound on for ever: give %s an end.", plural(n, "1 note of "+part.Name+" has", fmt.Sprintf("%d notes of %s have", n, part.Name)), plural(n, "it", "them"))
	}, "1/4", "99%")
}

// violations returns a finding for each part and run of neighbouring bars in which an invariant is
// broken; lengths are what the gate move may answer it with. What the loop of a draft has itself is one finding a part.
func (s *subject) violations(rule string, say func(part song.Part, n int) (Level, string), lengths ...string) []Finding {
	var out []Finding
	open := map[string]int{} // finding of each part that may go on
	index := map[string]int{}
	for i := range s.song.Parts {
		index[s.song.Parts[i].Name] = i
	}
	loops := map[string]int{} // finding of each part whose loop has it
	for _, v := range s.broken {
		if v.Rule != rule {
			continue
		}
		part, bar := index[v.Part], s.barAt(v.Note.Start)
		if !s.inLoop(v) {
			out = s.addTo(out, open, part, bar)
			continue
		}
		i, known := loops[v.Part]
		if !known {
			i = len(out)
			loops[v.Part], out = i, append(out, Finding{First: bar, Parts: []string{v.Part}, Unit: "notes"})
		}
		out[i].Last = max(out[i].Last, bar)
		out[i].Found++
	}
	for i := range out {
		f := &out[i]
		name := f.Parts[0]
		part := index[name]
		f.Level, f.Text = say(s.song.Parts[part], int(f.Found))
		f.tries = s.gates(part, f.First, f.Last, lengths)
		if at, known := loops[name]; known && at == i {
			f.ofLoop()
		}
	}
	return out
}

// brokenAt is a note of a part that breaks a rule.
type brokenAt struct {
	rule, part string
	at         song.Tick
	key        uint8
}

// inLoop tells whether the loop of a draft is broken in the same way where it plays that note.
func (s *subject) inLoop(v song.Violation) bool {
	if s.in.Full.Time() == nil {
		return false
	}
	if s.loopBroken == nil {
		s.loopBroken = map[brokenAt]bool{}
		for _, v := range s.in.Full.Check() {
			s.loopBroken[brokenAt{v.Rule, v.Part, v.Note.Start, v.Note.Key}] = true
		}
	}
	return s.loopBroken[brokenAt{v.Rule, v.Part, v.Note.Start, v.Note.Key}]
}

// gates returns what gives the notes of a part other lengths.
func (s *subject) gates(part, first, last int, lengths []string) func() []Steps {
	return func() (out []Steps) {
		for _, length := range lengths {
			out = append(out, one("gate", "part", s.part(part), "over", barsText(first, last), "length", length))
		}
		return out
	}
}

// nearBars is how far apart two notes of a part may lie to be told in one finding.
const nearBars = 8

// addTo counts a note of a part in a bar, with the finding before it if that is near.
func (s *subject) addTo(out []Finding, open map[string]int, part, bar int) []Finding {
	name := s.song.Parts[part].Name
	if i, ok := open[name]; ok && bar-out[i].Last <= nearBars {
		out[i].Last = max(out[i].Last, bar)
		out[i].Found++
		return out
	}
	open[name] = len(out)
	return append(out, Finding{First: bar, Last: bar, Parts: []string{name}, Found: 1, Unit: "notes"})
}
