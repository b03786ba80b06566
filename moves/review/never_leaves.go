package review

import (
	"fmt"

	"loopdraft/smf/song"
)

// NeverLeaves finds parts that play from beginning to end.
type NeverLeaves struct {
	Rest int `yaml:"rest" range:"1..64" unit:"bars" doc:"a part that rests for so long anywhere has left"`
}

func neverLeavesRule() Rule {
	return Rule{
		Name: "never-leaves", Group: Parts, Level: Note,
		Brief:  "every part leaves at some time",
		Doc:    "What never leaves is no longer heard, and cannot come back. Songs of fewer than 64 bars are not looked at.",
		Source: "the drummed beat withheld and returned as the main signal of form: Butler, Unlocking the Groove, 2006, from memory; the numbers: common practice, no source",
		New:    func() Check { return &NeverLeaves{Rest: 4} },
	}
}

func (r *NeverLeaves) find(s *subject) []Finding {
	if s.bars < 64 {
		return nil
	}
	var out []Finding
	for _, i := range s.heard() {
		longest, rest := 0, 0
		for _, sounds := range s.parts[i].sounds {
			rest++
			if sounds {
				rest = 0
			}
			longest = max(longest, rest)
		}
		if longest >= r.Rest {
			continue
		}
		name := s.song.Parts[i].Name
		f := Finding{Level: Note, First: 1, Last: s.bars, Parts: []string{name}, Found: float64(longest), Limit: float64(r.Rest), Unit: "bars"}
		f.Text = fmt.Sprintf("%s never leaves: its longest rest is %s. Take it out for a phrase, best in a break.", upper(name), count(longest, "bar"))
		f.tries = func() (out []Steps) {
			for _, over := range r.places(s) {
				out = append(out, one("mute", "part", s.part(i), "over", over))
			}
			return out
		}
		out = append(out, f)
	}
	return out
}

// places returns where a part may leave: in the first half of a break, in the middle, at the beginning.
func (r *NeverLeaves) places(s *subject) []string {
	var out []string
	for _, b := range s.ofKind(song.KindBreak) {
		sec := s.song.Sections[b]
		out = append(out, barsText(sec.Bar, sec.Bar+max(r.Rest, sec.Bars/2)-1))
	}
	length := (r.Rest + 7) / 8 * 8
	for _, first := range []int{s.bars/2/8*8 + 1, 1} {
		out = append(out, barsText(first, min(first+length-1, s.bars)))
	}
	return out
}
