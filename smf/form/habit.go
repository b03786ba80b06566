package form

import (
	"slices"

	"loopdraft/smf/song"
)

// Habit is what a part of a loop usually plays, and where it departs from that.
type Habit struct {
	Pattern int   // bars after which what it usually plays comes again; 0: it has no habit
	Usual   []int // for each bar of its cycle the bar, both counted from 1, that it usually plays there
	Departs []int // bars, from 1 and rising, in which it plays something else, or rests
}

// Turnaround returns the bars at the end of the cycle in which the part departs from what it usually plays.
func (h Habit) Turnaround() []int {
	from := len(h.Departs)
	for bar := len(h.Usual); from > 0 && h.Departs[from-1] == bar; bar-- {
		from--
	}
	return h.Departs[from:]
}

// HabitOf tells the habit of a part of a loop that comes again after cycle bars. It is the shortest pattern that goes
// into the cycle twice or more often and from which at most a quarter of the bars depart. At each of its places the
// part usually plays the bar that is there most often, of equals the first. A part that rests in half of its bars has
// no habit. Bars are the same that strike the same keys in the same sixteenths; a note a little before a bar line
// counts to the bar after it, and before the end of the cycle to the first one.
func HabitOf(s song.Song, p song.Part, cycle int) Habit { return HabitFrom(s, p, 1, cycle) }

// HabitFrom tells what [HabitOf] does of a loop that begins with another bar of the song than the first. The bars it
// returns are counted from there, from 1.
func HabitFrom(s song.Song, p song.Part, first, cycle int) Habit {
	prints := cyclePrints(s, p, first, cycle)
	rests := 0
	for _, print := range prints {
		if print == 0 {
			rests++
		}
	}
	if 2*rests >= cycle {
		return Habit{}
	}
	for n := 1; 2*n <= cycle; n++ {
		if cycle%n != 0 {
			continue
		}
		h := Habit{Pattern: n, Usual: make([]int, cycle)}
		for place := range n {
			usual := mostCommon(prints, place, n)
			for b := place; b < cycle; b += n {
				h.Usual[b] = usual + 1
				if prints[b] != prints[usual] {
					h.Departs = append(h.Departs, b+1)
				}
			}
		}
		if 4*len(h.Departs) <= cycle {
			slices.Sort(h.Departs)
			return h
		}
	}
	return Habit{}
}

// mostCommon returns the first of the bars that are most often at a place of a pattern of n bars, from 0.
func mostCommon(prints []uint64, place, n int) int {
	times := map[uint64]int{}
	for b := place; b < len(prints); b += n {
		times[prints[b]]++
	}
	best := place
	for b := place; b < len(prints); b += n {
		if times[prints[b]] > times[prints[best]] {
			best = b
		}
	}
	return best
}

// cyclePrints sums up the bars of a cycle in numbers, see printsOf.
func cyclePrints(s song.Song, p song.Part, first, cycle int) []uint64 {
	notes := make([][]song.Note, cycle)
	for _, n := range p.Notes {
		bar := s.Time().BarOf(s.Counted(n.Start)) - first
		if bar == cycle && n.Start < s.Time().BarStart(first+cycle) { // it leads into the first bar of the next pass
			bar, n.Start = 0, s.Time().BarStart(first)
		}
		if bar >= 0 && bar < cycle {
			notes[bar] = append(notes[bar], n)
		}
	}
	return printsOf(s, notes)
}
