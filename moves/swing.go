package moves

import (
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// straightSwing is the swing of even off-beats, which stand half-way.
const straightSwing = 5000

// swing says how late off-beats come: the share of the pair that stands before the off-beat, in
// hundredths of a percent, 5000 (even) and up; 6667 is a triplet feel. At most one of the two is over
// 5000. It holds in metres counted in quarter notes or longer.
type swing struct {
	eighth    int // of the off-beat 1/8 in its quarter
	sixteenth int // of the off-beat 1/16 in its eighth
}

// Between these limits an onset is taken for a late off-beat. Below them it belongs to the on-beat, above them
// it is an early next on-beat. Common practice, no source; 50 to 75 % is the range in use (dotted: 75 %).
const (
	offbeatFrom    = 4500
	eighthTo       = 7000 // the next 1/16 of the quarter stands at 7500
	sixteenthTo    = 7800
	fewestOffbeats = 4
	shuffledFrom   = 5800 // quarters that swing this much hold no pairs of 1/16
)

// measureSwing returns the swing of a stretch of a song, such as a loop: the median place of its off-beats, of its drums
// if they have enough of them. Off-beats that come early are even.
func measureSwing(s song.Song, within song.Range) swing {
	out := swing{straightSwing, straightSwing}
	if s.Time() == nil {
		return out
	}
	drums := func(p song.Part) bool { return p.InGroup("drums") }
	sounding := func(p song.Part) bool { return p.InGroup("all") }
	measure := func(cell song.Tick, to int) int {
		for _, of := range []func(song.Part) bool{drums, sounding} {
			if share, ok := offbeatShare(s, within, of, cell, to); ok {
				return max(share, straightSwing)
			}
		}
		return straightSwing
	}
	if out.eighth = measure(1, eighthTo); out.eighth < shuffledFrom {
		out.sixteenth = measure(2, sixteenthTo)
		if out.sixteenth > straightSwing {
			out.eighth = straightSwing
		}
	}
	return out
}

// offbeatShare returns the median place of the off-beats in their cells, of which a quarter note
// has as many as given.
func offbeatShare(s song.Song, within song.Range, of func(song.Part) bool, cells song.Tick, to int) (int, bool) {
	var shares []int
	for _, p := range s.Parts {
		if !of(p) {
			continue
		}
		last := song.Tick(-1)
		for _, n := range s.In(p, within) {
			if n.Start == last {
				continue
			}
			last = n.Start
			bar := s.Time().BarOf(n.Start)
			if !swings(s.Time().MetreIn(bar)) {
				continue
			}
			// The place in its cell is multiplied by cells, so that it is exact: cells are ppq/cells ticks long.
			in := (n.Start - s.Time().BarStart(bar)) * cells % s.Time().PPQ()
			share := int(song.HalfUp(int64(in)*10000, int64(s.Time().PPQ())))
			if share > offbeatFrom && share <= to {
				shares = append(shares, share)
			}
		}
	}
	if len(shares) < fewestOffbeats {
		return 0, false
	}
	slices.Sort(shares)
	return shares[(len(shares)-1)/2], true
}

// swings tells whether off-beats of a metre can be late: not where the beat is 1/8 or shorter.
func swings(m smf.Metre) bool { return m.Den <= 4 }

// late returns where a straight place is played. It is monotone; places on the beat stay.
func (w swing) late(tl *smf.Timeline, t song.Tick) song.Tick {
	return w.bend(tl, t, func(in, cell song.Tick, share int) song.Tick {
		return through(in, cell, cell*10000/2, cell*song.Tick(share))
	})
}

// straight returns the straight place that late has moved to a tick, but for rounding.
func (w swing) straight(tl *smf.Timeline, t song.Tick) song.Tick {
	return w.bend(tl, t, func(in, cell song.Tick, share int) song.Tick {
		return through(in, cell, cell*song.Tick(share), cell*10000/2)
	})
}

func (w swing) bend(tl *smf.Timeline, t song.Tick, move func(in, cell song.Tick, share int) song.Tick) song.Tick {
	if w.eighth <= straightSwing && w.sixteenth <= straightSwing {
		return t
	}
	bar := tl.BarOf(t)
	if !swings(tl.MetreIn(bar)) {
		return t
	}
	start := tl.BarStart(bar)
	// Half ticks are counted, so that the eighth of an odd resolution is a whole number.
	cell, share := 2*tl.PPQ(), w.eighth
	if w.sixteenth > straightSwing {
		cell, share = tl.PPQ(), w.sixteenth
	}
	in := 2 * (t - start)
	from := in - in%cell
	return start + song.HalfUp(int64(from+move(in-from, cell, share)), 2)
}

// through maps a place in a cell so that the point a comes to lie on b and each half stays even; a
// and b are in ten-thousandths.
func through(in, cell, a, b song.Tick) song.Tick {
	const one = 10000
	if in*one < a {
		return song.HalfUp(int64(in*b), int64(a))
	}
	return song.HalfUp(int64(b)+int64((in*one-a)*(cell*one-b)/(cell*one-a)), one)
}
