package picture

import "loopdraft/smf/song"

// maxLevel is the highest level of a cell.
const maxLevel = 8

// onBeat is the weight of one hit of velocity 100 for each quarter note, in the unit in which
// weights are compared.
const onBeat = 1000

// levels returns how much a part does in each column, 0 (silent) to [maxLevel].
//
// A column's weight is the sum of its hits' velocities as shares of 100, for each quarter note; a
// chord is one hit, its loudest note. A held note counts as well: the part of the column in which
// something sounds, times its velocity, if that is more; in a drum kit, where a note's length is no
// sound, hits alone count. One hit of velocity 100 a quarter is level 5, and each level is twice the
// one below, so that half the hits or half the velocity is one level less. Anything at all is level 1.
//
// A hit less than a 1/64 note before a column's end counts to the next column. Notes past the
// song's last bar are not counted. It takes time linear in the part's notes.
func (l layout) levels(p song.Part) []uint8 {
	out := l.fineLevels(p)
	for i, fine := range out {
		out[i] = (fine + perLevel - 1) / perLevel
	}
	return out
}

// perLevel is how many steps a level has where it is drawn finely.
const perLevel = 8

// fineLevels returns for each column 0 (silent) to MaxLevel*perLevel; level k is the perLevel steps
// up to k*perLevel.
func (l layout) fineLevels(p song.Part) []uint8 {
	w := l.hits(p)
	if !p.Kit {
		for i, held := range l.sounding(p) {
			w[i] = max(w[i], held)
		}
	}
	out := make([]uint8, len(w))
	for i := range w {
		c := l.Columns[i]
		// A weight of 100 velocities a quarter: w * ppq / (100 * length).
		out[i] = fineLevel(w[i]*int64(l.ppq)*onBeat, 100*int64(c.End-c.Start))
	}
	return out
}

// fineLevel ranks the weight w/length. The lines between levels lie halfway between the doublings, at
// the square root of two, where ordinary patterns do not jump from one to the other; the steps of a
// level are equal.
func fineLevel(w, length int64) uint8 {
	if w <= 0 || length <= 0 {
		return 0
	}
	below := int64(0)
	// onBeat x 2^(k - 4.5) for k = 1..8.
	for k, line := range [maxLevel]int64{88, 177, 354, 707, 1414, 2828, 5657, 11314} {
		if w < line*length {
			return uint8(int64(k)*perLevel + 1 + (w/length-below)*perLevel/(line-below))
		}
		below = line
	}
	return maxLevel * perLevel
}

// hits sums, for each column, the velocities of its onsets.
func (l layout) hits(p song.Part) []int64 {
	out := make([]int64, len(l.Columns))
	col, at, loudest := 0, song.Tick(-1), uint8(0)
	for _, n := range p.Notes {
		if n.Start == at {
			// The chord's first note is counted already: make up for a louder one.
			if n.Vel > loudest {
				out[col] += int64(n.Vel - loudest)
				loudest = n.Vel
			}
			continue
		}
		col = l.columnOf(col, n.Start)
		if n.Start >= l.Columns[col].End {
			break
		}
		out[col] += int64(n.Vel)
		at, loudest = n.Start, n.Vel
	}
	return out
}

// columnOf returns the column an onset counts to, from the given one on.
func (l layout) columnOf(col int, t song.Tick) int {
	for col+1 < len(l.Columns) && (l.Columns[col].End-t)*16 < l.ppq {
		col++
	}
	return col
}

// sounding sums, for each column, velocity times the quarters in which something sounds. Where notes
// overlap, the one that started first counts until it ends.
func (l layout) sounding(p song.Part) []int64 {
	out := make([]int64, len(l.Columns))
	col, reached := 0, song.Tick(0)
	for _, n := range p.Notes {
		for from := max(n.Start, reached); from < n.End; {
			for col < len(l.Columns) && l.Columns[col].End <= from {
				col++
			}
			if col == len(l.Columns) {
				return scaled(out, l.ppq)
			}
			to := min(n.End, l.Columns[col].End)
			out[col] += int64(to-from) * int64(n.Vel)
			from = to
		}
		reached = max(reached, n.End)
	}
	return scaled(out, l.ppq)
}

// scaled turns velocity times ticks into velocity times quarters; something stays something.
func scaled(w []int64, ppq song.Tick) []int64 {
	for i := range w {
		w[i] = (w[i] + int64(ppq) - 1) / int64(ppq)
	}
	return w
}
