package recipes

import (
	"loopdraft/recipes/players"
	"loopdraft/smf/form"
)

// Asked returns what the recipe asks of the energy of sections, those that have one, in order. What a draft reached is
// told by [Result.Energy].
func (r *Result) Asked() []form.Asked {
	f := r.made.found
	if f == nil {
		return nil
	}
	var out []form.Asked
	for i, spec := range r.made.order.r.Sections {
		if spec.Energy.IsZero() {
			continue
		}
		bar := r.made.laid.plan.sections[i].Bar
		asked := form.Asked{Bar: bar, Text: spec.Energy.String()}
		for k, u := range f.units[i] {
			unit := form.AskedUnit{First: bar + u.first, Last: bar + u.last}
			if s := f.track.Sections[i]; s.Course == players.InRange {
				unit.Low, unit.High = f.limits(s, k)
			}
			asked.Units = append(asked.Units, unit)
		}
		out = append(out, asked)
	}
	return out
}
