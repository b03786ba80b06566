package where

import (
	"cmp"
	"slices"
	"sort"

	"loopdraft/smf/song"
)

// Piece is what is left of a range out of which something was cut.
type Piece struct {
	song.Range
	Of int // index of the range that it is a piece of
}

// Without cuts ranges out of others. Each stretch that is left is a piece of its own, in the order of
// the ranges and rising within each; a range of which nothing is left has none. The cuts may stand in
// any order and overlap. What draws random numbers for each range draws them by the range that a
// piece is of, so that a cut changes nothing elsewhere.
func Without(ranges, cut []song.Range) []Piece {
	cut = apart(cut)
	var out []Piece
	for i, r := range ranges {
		from := r.Start
		at := sort.Search(len(cut), func(n int) bool { return cut[n].End > r.Start })
		for ; at < len(cut) && cut[at].Start < r.End; at++ {
			if from < cut[at].Start {
				out = append(out, Piece{song.Range{Start: from, End: cut[at].Start}, i})
			}
			from = cut[at].End
		}
		if from < r.End {
			out = append(out, Piece{song.Range{Start: from, End: r.End}, i})
		}
	}
	return out
}

// apart sorts ranges, joins those that overlap or touch and leaves out empty ones.
func apart(ranges []song.Range) []song.Range {
	ranges = slices.Clone(ranges)
	slices.SortFunc(ranges, func(a, b song.Range) int { return cmp.Compare(a.Start, b.Start) })
	var out []song.Range
	for _, r := range ranges {
		n := len(out) - 1
		switch {
		case r.Len() <= 0:
		case n >= 0 && r.Start <= out[n].End:
			out[n].End = max(out[n].End, r.End)
		default:
			out = append(out, r)
		}
	}
	return out
}
