package form

import "loopdraft/smf/song"

// Stretches that come again are looked for from 4 bars, half a usual phrase, and up to 64 bars on.
// Common practice, no source.
const (
	leastRepeat  = 4
	farthestLag  = 64
	mostOfRepeat = 3 // what comes more often in a row is a loop, whose passes are no stretches of their own
)

// repeats tells of each bar, from 0, and of the song's end, whether a stretch of the pitched parts that
// comes again, note for note, begins or ends there. At least half of its bars must not come again within half
// of the distance: then the shorter stretch is the one.
func repeats(s song.Song) []bool {
	prints := pitchedPrints(s)
	n := len(prints)
	next := make([]int, n) // after so many bars a bar comes again
	seen := map[uint64]int{}
	for b := n - 1; b >= 0; b-- {
		if at, ok := seen[prints[b]]; ok {
			next[b] = at - b
		}
		seen[prints[b]] = b
	}
	out := make([]bool, n+1)
	for lag := leastRepeat; lag <= farthestLag; lag++ {
		for b := 0; b+lag < n; {
			bars, fresh := 0, 0
			for ; b+bars+lag < n && prints[b+bars] != 0 && prints[b+bars] == prints[b+bars+lag]; bars++ {
				if 2*next[b+bars] > lag {
					fresh++
				}
			}
			if bars >= leastRepeat && 2*fresh >= bars && bars <= (mostOfRepeat-1)*lag {
				out[b], out[b+bars], out[b+lag], out[b+lag+bars] = true, true, true, true
			}
			b += bars + 1
		}
	}
	return out
}

// pitchedPrints sums up what the pitched parts strike in each bar in a number; 0: nothing.
func pitchedPrints(s song.Song) []uint64 {
	out := make([]uint64, s.Bars())
	for i, p := range s.Parts {
		if !p.Pitched() {
			continue
		}
		for b, v := range printsOf(s, notesByBar(s, p)) {
			if v != 0 {
				out[b] = mixed(mixed(out[b], uint64(i)), v)
			}
		}
	}
	return out
}

// printsOf sums up each bar in a number: its length, and the sixteenths and keys that are struck in it.
// 0: nothing is. Bars that differ have the same number once in 2^64 times.
func printsOf(s song.Song, notes [][]song.Note) []uint64 {
	tl := s.Time()
	sixteenth := max(tl.PPQ(), 4) / 4
	out := make([]uint64, len(notes))
	for b, list := range notes {
		if len(list) == 0 {
			continue
		}
		// The numbers of the notes are added, since early and late notes may change places.
		var sum uint64
		for _, n := range list {
			at := (s.Counted(n.Start) - tl.BarStart(b+1) + sixteenth/2) / sixteenth
			sum += mixed(mixed(0, uint64(at)), uint64(n.Key))
		}
		out[b] = max(mixed(sum, uint64(tl.BarTicks(b+1))), 1)
	}
	return out
}

// mixed takes a number into a hash, by the finaliser of SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
func mixed(h, v uint64) uint64 {
	h += v + 0x9e3779b97f4a7c15
	h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
	h = (h ^ h>>27) * 0x94d049bb133111eb
	return h ^ h>>31
}

// notesByBar returns the notes of a part that count to each bar.
func notesByBar(s song.Song, p song.Part) [][]song.Note {
	out := make([][]song.Note, s.Bars())
	tl := s.Time()
	bar := func(i int) int { return tl.BarOf(s.Counted(p.Notes[i].Start)) }
	for i := 0; i < len(p.Notes); {
		b, k := bar(i), i+1
		for k < len(p.Notes) && bar(k) == b {
			k++
		}
		if b <= len(out) {
			out[b-1] = p.Notes[i:k:k]
		}
		i = k
	}
	return out
}
