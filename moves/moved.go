package moves

import (
	"sort"

	"loopdraft/smf/song"
)

// moveNotes gives the notes of a part that count to the ranges, which are sorted and apart, the place, key, length
// and velocity that f says; r is the range they count to. A note that only ends sooner or changes its velocity
// stays the one it is; any other is placed anew and yields to the notes that are there, see [song.Edit.Place].
func moveNotes(e *song.Edit, in song.Song, part int, ranges []song.Range, f func(n song.Note, r song.Range) song.Note) {
	i := 0
	e.Map(part, func(n song.Note) (song.Note, bool) {
		at := in.Counted(n.Start)
		for i < len(ranges) && ranges[i].End <= at {
			i++
		}
		if i == len(ranges) || !ranges[i].Has(at) {
			return n, true
		}
		m := f(n, ranges[i])
		if m.Start == n.Start && m.Key == n.Key && m.End <= n.End {
			return m, true
		}
		e.Place(part, m)
		return n, false
	})
}

// counts tells whether a note counts to one of the ranges, which are sorted and apart.
func counts(in song.Song, ranges []song.Range, n song.Note) bool {
	at := in.Counted(n.Start)
	i := sort.Search(len(ranges), func(i int) bool { return ranges[i].End > at })
	return i < len(ranges) && ranges[i].Has(at)
}
