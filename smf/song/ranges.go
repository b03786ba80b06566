package song

import (
	"cmp"
	"slices"
	"sort"
)

// Range is a half-open stretch of ticks, [Start, End).
type Range struct{ Start, End Tick }

// Has tells whether t lies in the range.
func (r Range) Has(t Tick) bool { return t >= r.Start && t < r.End }

// Len returns the length in ticks.
func (r Range) Len() Tick { return r.End - r.Start }

// Union returns the ranges sorted, with those that overlap or touch as one and without empty ones.
func Union(ranges []Range) []Range { return joined(ranges, true) }

// Apart returns the ranges sorted, with those that overlap as one and without empty ones. Ranges that
// only touch stay apart.
func Apart(ranges []Range) []Range { return joined(ranges, false) }

func joined(ranges []Range, touching bool) []Range {
	sorted := slices.Clone(ranges)
	slices.SortFunc(sorted, func(a, b Range) int { return cmp.Compare(a.Start, b.Start) })
	var out []Range
	for _, r := range sorted {
		n := len(out) - 1
		switch {
		case r.Len() <= 0:
		case n >= 0 && (r.Start < out[n].End || touching && r.Start == out[n].End):
			out[n].End = max(out[n].End, r.End)
		default:
			out = append(out, r)
		}
	}
	return out
}

// Intersect returns the stretches that two lists of ranges share; each list is sorted and apart, as
// [Union] and [Apart] return it.
func Intersect(a, b []Range) []Range {
	var out []Range
	for len(a) > 0 && len(b) > 0 {
		r := Range{max(a[0].Start, b[0].Start), min(a[0].End, b[0].End)}
		if r.Len() > 0 {
			out = append(out, r)
		}
		if a[0].End < b[0].End {
			a = a[1:]
		} else {
			b = b[1:]
		}
	}
	return out
}

// Piece is what is left of a range out of which something was cut.
type Piece struct {
	Range
	Of int // index of the range that it is a piece of
}

// Without cuts ranges out of others. Each stretch that is left is a piece of its own, in the order of
// the ranges and rising within each; a range of which nothing is left has none. The cuts may stand in
// any order and overlap. What draws random numbers for each range draws them by the range that a
// piece is of, so that a cut changes nothing elsewhere.
func Without(ranges, cut []Range) []Piece {
	cut = Union(cut)
	var out []Piece
	for i, r := range ranges {
		from := r.Start
		at := sort.Search(len(cut), func(n int) bool { return cut[n].End > r.Start })
		for ; at < len(cut) && cut[at].Start < r.End; at++ {
			if from < cut[at].Start {
				out = append(out, Piece{Range{from, cut[at].Start}, i})
			}
			from = cut[at].End
		}
		if from < r.End {
			out = append(out, Piece{Range{from, r.End}, i})
		}
	}
	return out
}
