package moves

import "loopdraft/smf/form"

// Energy is how strong a stretch of the song is to be, as mean powers of its bars.
type Energy struct {
	First, Last int        // its bars, both included, counted from 1
	Low, High   form.Power // what is asked for
	Planned     form.Power // what those who play there come to, before any move
}

// Off returns by how many tenths of a dB a power lies over what is asked for; negative: under it; 0: within it.
func (e Energy) Off(p form.Power) int {
	switch {
	case p > e.High:
		return max(p.Level(e.High), 0)
	case p < e.Low:
		return min(p.Level(e.Low), 0)
	}
	return 0
}

// mostFurther is by how many tenths of a dB a composite move may take a stretch further out of its energy than it was.
const mostFurther = 10

// Energies are stretches of a song that say how strong they are to be, in order and apart.
type Energies []Energy

// offs returns how far each stretch lies off its energy; mean tells the mean powers of bars.
func (list Energies) offs(mean func(first, last int) form.Powers) []int {
	out := make([]int, len(list))
	for i, want := range list {
		out[i] = want.Off(mean(want.First, want.Last).Sum())
	}
	return out
}

// Keeps tells whether no stretch lies more than 1 dB further off its energy than it was.
func (list Energies) Keeps(was, now form.Energy) bool {
	return list.keeps(list.offs(was.Mean), now.Mean)
}

func (list Energies) keeps(was []int, now func(first, last int) form.Powers) bool {
	for i, off := range list.offs(now) {
		if max(off, -off) > max(was[i], -was[i])+mostFurther {
			return false
		}
	}
	return true
}

// In returns the stretches that lie in bars first to last as one, with the means of what they ask for; false where
// there are none.
func (list Energies) In(first, last int) (Energy, bool) {
	out, bars := Energy{}, form.Power(0)
	for _, e := range list {
		if e.First < first || e.Last > last {
			continue
		}
		if n := form.Power(e.Last - e.First + 1); bars == 0 {
			out, bars = e, n
		} else {
			mean := func(a, b form.Power) form.Power { return a/(bars+n)*bars + b/(bars+n)*n }
			out = Energy{out.First, e.Last, mean(out.Low, e.Low), mean(out.High, e.High), mean(out.Planned, e.Planned)}
			bars += n
		}
	}
	return out, bars > 0
}

// WithPlan returns the energy with what is planned within what is asked for: what the parts could not meet is no
// fault of the moves.
func (e Energy) WithPlan() Energy {
	e.Low, e.High = min(e.Low, e.Planned), max(e.High, e.Planned)
	return e
}
