package review

import (
	"fmt"

	"loopdraft/moves"
	"loopdraft/smf/form"
)

// EnergyKept finds sections whose moves took them out of the energy that the recipe asks for.
type EnergyKept struct {
	By int `yaml:"by" range:"0..60" unit:"dB" doc:"a section lies at most so much over or under what is asked for"`
}

func energyRule() Rule {
	return Rule{
		Name: "energy", Group: Form, Level: Warn, Sections: true, Energies: true,
		Brief:  "each section is as strong as the recipe asks for",
		Doc:    "Only drafts by a recipe with energies are looked at. Players are found for an energy before any move; here each section is measured after the last one, without its last 4 bars, which are left to what leads out. Where its players could not meet the range, what they come to counts as asked for too.",
		Source: "common practice, no source",
		New:    func() Check { return &EnergyKept{By: 2} },
	}
}

// Off returns by how many tenths of a dB a power lies over what is asked for and what is planned; negative: under it; 0:
// within r.By of it.
func (r *EnergyKept) Off(want moves.Energy, p form.Power) int {
	if off := want.WithPlan().Off(p); max(off, -off) > 10*r.By {
		return off
	}
	return 0
}

func (r *EnergyKept) find(s *subject) []Finding {
	var out []Finding
	for _, sec := range s.song.Sections {
		want, ok := s.in.Energies.In(sec.Bar, last(sec))
		if !ok {
			continue
		}
		off := r.Off(want, s.energy.Mean(want.First, want.Last).Sum())
		if off == 0 {
			continue
		}
		f := Finding{Level: Warn, First: want.First, Last: want.Last, Found: float64(max(off, -off)) / 10, Limit: float64(r.By), Unit: "dB"}
		side, levels := "over", []string{"90%", "80%", "70%"}
		if off < 0 {
			side, levels = "under", []string{"115%", "130%", "150%"}
		}
		f.Text = fmt.Sprintf("%s is %.1f dB %s what is asked for: its moves change it too much.", upper(s.lineName(sec.Bar)), f.Found, side)
		f.tries = func() (out []Steps) {
			for _, to := range levels {
				out = append(out, one("shape", "part", "all", "over", barsText(sec.Bar, last(sec)), "from", to, "to", to))
			}
			return out
		}
		out = append(out, f)
	}
	return out
}
