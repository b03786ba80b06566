package review

import (
	"fmt"

	"loopdraft/smf/song"
)

// Everything finds songs in which everything plays all the time.
type Everything struct {
	Phrase int `yaml:"phrase" range:"1..64" unit:"bars" doc:"length of a stretch"`
	Share  int `yaml:"share" range:"1..100" unit:"percent of the parts" doc:"that sound in a stretch, on average, from which on it is too many"`
	Parts  int `yaml:"parts" range:"2..99" unit:"parts" doc:"songs of fewer are not looked at"`
}

func everythingRule() Rule {
	return Rule{
		Name: "everything", Group: Parts, Level: Warn,
		Brief:  "not everything plays all the time",
		Doc:    "Form is built by layers that come and go; where all of them always play there is no form. Songs of fewer than four phrases are not looked at.",
		Source: "repetition with layers going in and out as the process that builds form: Garcia, Music Theory Online 11(4), 2005; the numbers: common practice, no source",
		New:    func() Check { return &Everything{Phrase: 8, Share: 90, Parts: 4} },
	}
}

func (r *Everything) find(s *subject) []Finding {
	parts, n := s.heard(), s.bars/r.Phrase
	if len(parts) < r.Parts || n < 4 {
		return nil
	}
	sum := 0
	for i := range n {
		for _, p := range parts {
			if s.playing(p, 1+i*r.Phrase, (i+1)*r.Phrase) > 0 {
				sum++
			}
		}
	}
	share := 100 * sum / (n * len(parts))
	if share < r.Share {
		return nil
	}
	f := Finding{Level: Warn, First: 1, Last: s.bars, Found: float64(share), Limit: float64(r.Share), Unit: "percent"}
	f.Text = fmt.Sprintf("On average %d %% of the parts play at once: begin and end with few, and take most of them out in the middle.", share)
	var music, drums []int
	for _, p := range parts {
		if s.song.Parts[p].InGroup("music") {
			music = append(music, p)
		} else {
			drums = append(drums, p)
		}
	}
	if len(music) > 0 && len(drums) > 0 {
		ends := (n + 3) / 4 * r.Phrase / 2
		rest := barsText(n/2*r.Phrase+1, (n/2+1)*r.Phrase)
		if breaks := s.ofKind(song.KindBreak); len(breaks) > 0 {
			sec := s.song.Sections[breaks[0]]
			rest = barsText(sec.Bar, sec.Bar+max(sec.Bars/2, 1)-1)
		}
		f.tries = func() []Steps {
			return []Steps{{
				step("mute", "part", s.partList(music), "over", barsText(1, ends)+"; "+barsText(s.bars-ends+1, s.bars)),
				step("mute", "part", s.partList(drums), "over", rest),
			}}
		}
	}
	return []Finding{f}
}
