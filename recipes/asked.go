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

// limits returns the range of a unit of a section as powers.
func (f *found) limits(s players.Section, k int) (low, high form.Power) {
	at := f.scale.Power
	if s.Against > 0 {
		of := f.mean(s.Against - 1)
		at = func(v int) int64 { return f.scale.Times(of, v) }
	}
	return max(form.Power(at(s.Units[k].Low)), 1), max(form.Power(at(s.Units[k].High)), 1)
}
