package moves

import (
	"slices"

	"loopdraft/smf/song"
)

// firstAfter returns the index of the first note after a tick; looking from an index on, in doubling
// steps, it costs little wherever the last one was.
func firstAfter(notes []song.Note, from int, at song.Tick) int {
	step := 1
	for from+step <= len(notes) && notes[from+step-1].Start <= at {
		from += step
		step *= 2
	}
	for ; step > 0; step /= 2 {
		for from+step <= len(notes) && notes[from+step-1].Start <= at {
			from += step
		}
	}
	return from
}

// loudestAt returns the loudest velocity of the notes that start with the last one.
func loudestAt(notes []song.Note) uint8 {
	var out uint8 = 1
	for i := len(notes) - 1; i >= 0 && notes[i].Start == notes[len(notes)-1].Start; i-- {
		out = max(out, notes[i].Vel)
	}
	return out
}

// chordEnd returns the index after the notes that start with note i.
func chordEnd(notes []song.Note, i int) int {
	end := i + 1
	for end < len(notes) && notes[end].Start == notes[i].Start {
		end++
	}
	return end
}

// chordBefore returns the notes of the chord that ends before index next.
func chordBefore(notes []song.Note, next int, ppq song.Tick) []song.Note {
	first := next - 1
	for first > 0 && (notes[next-1].Start-notes[first-1].Start)*16 < ppq {
		first--
	}
	return notes[first:next]
}

// loudest returns the greatest velocity of the notes, at least 1.
func loudest(notes []song.Note) uint8 {
	var out uint8 = 1
	for _, n := range notes {
		out = max(out, n.Vel)
	}
	return out
}

// medianVelocity returns the median velocity of notes, of two in the middle the lower; 0 for none.
func medianVelocity(notes []song.Note) uint8 {
	var count [128]int
	for _, n := range notes {
		count[n.Vel&127]++
	}
	return median(&count, len(notes))
}

// onsetsOf returns the first places of the chords: notes that start within a 1/64 note of the first.
func onsetsOf(places []song.Tick, ppq song.Tick) []song.Tick {
	slices.Sort(places)
	var out []song.Tick
	for _, at := range places {
		if n := len(out); n == 0 || (at-out[n-1])*16 >= ppq {
			out = append(out, at)
		}
	}
	return out
}

// playedBars returns the bars of a range in which a part has an onset.
func playedBars(in song.Song, part int, r song.Range) []int {
	var out []int
	for _, n := range in.In(in.Parts[part], r) {
		if bar := in.Time().BarOf(in.Counted(n.Start)); len(out) == 0 || out[len(out)-1] != bar {
			out = append(out, bar)
		}
	}
	return out
}

// median returns the median of values counted by size.
func median(count *[128]int, total int) uint8 {
	seen := 0
	for v, n := range count {
		if seen += n; 2*seen >= total {
			return uint8(v)
		}
	}
	return 0
}
