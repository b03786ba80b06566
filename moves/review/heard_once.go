package review

import (
	"fmt"

	"loopdraft/smf/song"
)

// HeardOnce finds parts that are heard once only.
type HeardOnce struct {
	Phrase int `yaml:"phrase" range:"1..64" unit:"bars" doc:"what lies within so many bars is heard once"`
}

func heardOnceRule() Rule {
	return Rule{
		Name: "heard-once", Group: Parts, Level: Note,
		Brief:  "what is heard comes back",
		Doc:    "A part of which all lies within one phrase is forgotten, or was meant to come back. Crashes, effects and voices may come once. Songs of fewer than eight phrases are not looked at.",
		Source: "common practice, no source",
		New:    func() Check { return &HeardOnce{Phrase: 8} },
	}
}

func (r *HeardOnce) find(s *subject) []Finding {
	if s.bars < 8*r.Phrase {
		return nil
	}
	var out []Finding
	for _, i := range s.heard() {
		p := s.song.Parts[i]
		if p.Role == song.RoleCrash || p.Role == song.RoleFX || p.Role == song.RoleVocal {
			continue
		}
		first, end := s.extent(i)
		if end-first >= r.Phrase {
			continue
		}
		f := Finding{Level: Note, First: first, Last: end, Parts: []string{p.Name}, Found: float64(end - first + 1), Limit: float64(r.Phrase), Unit: "bars"}
		f.Text = fmt.Sprintf("%s is heard in %s only: let it come back later, or leave it out.", upper(p.Name), barsText(first, end))
		from := first - (first-1)%r.Phrase
		f.tries = func() (out []Steps) {
			for _, to := range []int{from + s.bars/3/r.Phrase*r.Phrase, from - s.bars/3/r.Phrase*r.Phrase} {
				if to >= 1 && to+r.Phrase-1 <= s.bars {
					out = append(out, one("copy", "part", s.part(i), "over", barsText(from, from+r.Phrase-1), "to", barsText(to, to)))
				}
			}
			return out
		}
		out = append(out, f)
	}
	return out
}

// extent returns the first and the last bar in which a part sounds; it has to sound.
func (s *subject) extent(part int) (first, last int) {
	for b, sounds := range s.parts[part].sounds {
		if sounds {
			if first == 0 {
				first = b + 1
			}
			last = b + 1
		}
	}
	return first, last
}
