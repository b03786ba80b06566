package review

import "fmt"

// Identical finds parts that are the same in every pass.
type Identical struct {
	Phrase  int `yaml:"phrase" range:"1..64" unit:"bars" doc:"length of a pass"`
	Phrases int `yaml:"phrases" range:"1..999" unit:"phrases" doc:"in a row that may be the same, note for note"`
}

func identicalRule() Rule {
	return Rule{
		Name: "identical", Group: Parts, Level: Note,
		Brief:  "no part is the same for long, note for note",
		Doc:    "A part that was copied and never touched again sounds like it: a gap, a fill or other velocities at some of the lines are enough.",
		Source: "common practice, no source",
		New:    func() Check { return &Identical{Phrase: 8, Phrases: 8} },
	}
}

func (r *Identical) find(s *subject) []Finding {
	var out []Finding
	for _, i := range s.heard() {
		exact := s.exactly(i)
		run := 0 // bars that are as they were a phrase before
		stop := func(bar int) {
			n := run/r.Phrase + 1
			if run > 0 && n > r.Phrases {
				out = append(out, r.finding(s, i, bar-run-r.Phrase, bar-1, n))
			}
			run = 0
		}
		for b := range exact {
			if b >= r.Phrase && exact[b] == exact[b-r.Phrase] && s.playing(i, b+2-r.Phrase, b+1) > 0 {
				run++
				continue
			}
			stop(b + 1)
		}
		stop(s.bars + 1)
	}
	return out
}

// exactly returns for each bar of a part, from 0, a number that is the same for bars with the same notes.
func (s *subject) exactly(part int) []uint64 {
	out := make([]uint64, s.bars)
	for _, n := range s.song.Parts[part].Notes {
		b := s.barAt(n.Start)
		at := uint64(n.Start - s.time.BarStart(b))
		out[b-1] += mix(mix(at) ^ uint64(n.End-n.Start)<<16 ^ uint64(n.Key)<<8 ^ uint64(n.Vel))
	}
	return out
}

func (r *Identical) finding(s *subject, part, first, last, phrases int) Finding {
	name := s.song.Parts[part].Name
	f := Finding{Level: Note, First: first, Last: last, Parts: []string{name}, Found: float64(phrases), Limit: float64(r.Phrases), Unit: "phrases"}
	f.Text = fmt.Sprintf("%s is the same note for note in %s, %d times over: leave something out or play it a little differently at some of the lines.", upper(name), barsText(first, last), phrases)
	span := barsText(first, last)
	every := count(2*r.Phrase, "bar")
	f.tries = func() []Steps {
		return []Steps{
			one("mute", "part", s.part(part), "over", "last 1 beat of every "+every+" of "+span),
			one("humanise", "part", s.part(part), "over", span, "timing", "0", "anchors", "true", "seed", "1"),
			one("mute", "part", s.part(part), "over", "last 1 bar of every "+every+" of "+span),
		}
	}
	return f
}
