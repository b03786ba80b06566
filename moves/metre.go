package moves

import (
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Positions in a bar are counted in 1/192 notes, which hold 1/16 and 1/24 notes and every beat down
// to 1/64.
const (
	unitsPerQuarter = 48
	sixteenthUnits  = 12
	tripletUnits    = 8 // a 1/24 note
)

// weights gives onsets their weight in the metre: 0 for the bar line, one less for each division
// below it (Longuet-Higgins and Lee, Music Perception, 1984, 424-441).
//
// Bars of 2, 4, 8 beats divide by 2; those with a factor of 3 divide by 2 as far as it goes, then by
// 3; other bars are groups of 2 beats with a last group of 3 where they are odd. Beats divide by 2
// down to 1/16 notes, or into triplets of a quarter note, whichever of 1/16 and 1/24 is nearest.
type weights struct {
	time  *smf.Timeline
	swing swing // off-beats that swing weigh what straight ones weigh
}

// at returns the weight of an onset, 0 or below. An onset just before a bar line counts to it.
func (w weights) at(t song.Tick) int {
	t = w.swing.straight(w.time, t)
	bar := w.time.BarOf(t)
	in := t - w.time.BarStart(bar)
	ppq := w.time.PPQ()
	m := w.time.MetreIn(bar)
	units := nearestUnits(in, ppq, m)
	if song.Tick(units)*ppq >= w.time.BarTicks(bar)*unitsPerQuarter {
		return 0
	}
	return weightInBar(units, m)
}

// offBeat tells whether an onset stands between the beats.
func (w weights) offBeat(t song.Tick) bool {
	return w.at(t) < beatWeight(w.time.MetreIn(w.time.BarOf(t)))
}

// beatWeight returns the weight of the weakest beat.
func beatWeight(m smf.Metre) int {
	if twos, threes, ok := barFactors(m.Num); ok {
		return -twos - threes
	}
	return -2
}

// nearestUnits returns the nearest 1/16, or beat where that is shorter, or 1/24 where that is nearer and
// divides the beat.
func nearestUnits(in, ppq song.Tick, m smf.Metre) int {
	nearest := func(grid int) int {
		return int(song.HalfUp(unitsPerQuarter*int64(in), int64(grid)*int64(ppq))) * grid
	}
	off := func(units int) song.Tick { return abs(in*unitsPerQuarter - song.Tick(units)*ppq) }
	straight, triplet := nearest(min(sixteenthUnits, 4*unitsPerQuarter/m.Den)), nearest(tripletUnits)
	if m.Den < 16 && off(triplet) < off(straight) {
		return triplet
	}
	return straight
}

// weightInBar returns the weight of a place on the grids of 1/16 and 1/24 notes.
func weightInBar(units int, m smf.Metre) int {
	if units == 0 {
		return 0
	}
	beat := 4 * unitsPerQuarter / m.Den
	span, weight := m.Num*beat, 0
	if twos, threes, ok := barFactors(m.Num); ok {
		for i := range twos + threes {
			if weight--; i < twos {
				span /= 2
			} else {
				span /= 3
			}
			if units%span == 0 {
				return weight
			}
		}
	} else {
		if units%beat == 0 {
			if n := units / beat; n%2 == 0 && n/2 < m.Num/2 {
				return -1
			}
			return -2
		}
		span, weight = beat, -2
	}
	for units%span != 0 {
		if span <= unitsPerQuarter && units%sixteenthUnits != 0 && span%3 == 0 {
			span /= 3 // a triplet
		} else {
			span /= 2
		}
		weight--
	}
	return weight
}

// barFactors returns how often a bar of n beats divides by 2, from the bar down, and then by 3; false where it has other
// factors.
func barFactors(n int) (twos, threes int, ok bool) {
	for ; n%2 == 0; n /= 2 {
		twos++
	}
	for ; n%3 == 0; n /= 3 {
		threes++
	}
	return twos, threes, n == 1
}
