package form

import "loopdraft/smf/song"

// Table is how strong each part of a loop is in each bar of its cycle. What some of the parts give together in some
// of the bars is a sum of its entries.
type Table [][]Powers // by part, by bar of the part's cycle

// TableOf measures a loop that is laid twice over at least: what rings over the end of a cycle sounds in the next one,
// so that the second one of each part is taken. cycles are the bars after which the parts come again, from 1; two
// cycles of each must be laid. Its errors are those of [EnergyOf].
func TableOf(laid song.Song, cycles []int) (Table, error) {
	e, err := EnergyOf(laid)
	if err != nil {
		return nil, err
	}
	out := make(Table, len(e.Parts))
	for i, bars := range e.Parts {
		out[i] = bars[cycles[i] : 2*cycles[i]]
	}
	return out, nil
}

// At returns the powers of a part in a bar, counted from 0 at the start of the loop.
func (t Table) At(part, bar int) Powers { return t[part][bar%len(t[part])] }

// mean returns the mean powers of some parts together over bars first to last, counted from 0.
func (t Table) mean(parts []int, first, last int) Powers {
	of := make([]Powers, 0, max(last-first+1, 0))
	for bar := first; bar <= last; bar++ {
		var sum Powers
		for _, part := range parts {
			sum = sum.Plus(t.At(part, bar))
		}
		of = append(of, sum)
	}
	return Mean(of)
}

// Full returns the mean power of all parts in the loudest phrase of a loop of some bars; see [Energy.Full].
func (t Table) Full(bars, phrase int) Power {
	all := make([]int, len(t))
	for i := range all {
		all[i] = i
	}
	e := Energy{Bars: make([]Powers, bars)}
	for bar := range e.Bars {
		e.Bars[bar] = t.mean(all, bar, bar)
	}
	return e.Full(phrase)
}
