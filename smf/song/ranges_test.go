package song_test

import (
	"fmt"
	"loopdraft/smf/song"
	"math/rand/v2"
	"slices"
	"testing"
)

func ranges(ticks ...song.Tick) []song.Range {
	var out []song.Range
	for i := 0; i+1 < len(ticks); i += 2 {
		out = append(out, song.Range{Start: ticks[i], End: ticks[i+1]})
	}
	return out
}

func TestWithout(t *testing.T) {
	for _, row := range []struct {
		rule    string
		of, cut []song.Range
		want    string // pieces as start-end of the range they are of
	}{
		{"nothing is cut", ranges(0, 8, 8, 16), nil, "0-8 of 0, 8-16 of 1"},
		{"a cut beside", ranges(8, 16), ranges(0, 8, 16, 24), "8-16 of 0"},
		{"a cut inside leaves two", ranges(0, 16), ranges(4, 8), "0-4 of 0, 8-16 of 0"},
		{"a range that goes keeps the numbers of the others", ranges(0, 8, 8, 16, 16, 24), ranges(8, 16), "0-8 of 0, 16-24 of 2"},
		{"over the line of two", ranges(0, 8, 8, 16), ranges(6, 10), "0-6 of 0, 10-16 of 1"},
		{"cuts in any order, over each other", ranges(0, 20), ranges(12, 14, 2, 8, 4, 6), "0-2 of 0, 8-12 of 0, 14-20 of 0"},
		{"an empty cut", ranges(0, 8), ranges(4, 4), "0-8 of 0"},
		{"all", ranges(4, 8, 8, 12), ranges(0, 20), ""},
	} {
		var got string
		for i, p := range song.Without(row.of, row.cut) {
			if i > 0 {
				got += ", "
			}
			got += fmt.Sprintf("%d-%d of %d", p.Start, p.End, p.Of)
		}
		if got != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, got, row.want)
		}
	}
}

// Tick by tick: a tick is in a piece of a range exactly if it is in the range and in no cut.
func TestWithoutTickByTick(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	for range 2000 {
		var of, cut []song.Range
		for at := song.Tick(0); at < 30; {
			at += song.Tick(rng.IntN(6))
			end := at + 1 + song.Tick(rng.IntN(8))
			of = append(of, song.Range{Start: at, End: end})
			at = end
		}
		for range rng.IntN(6) {
			at := song.Tick(rng.IntN(40))
			cut = append(cut, song.Range{Start: at, End: at + song.Tick(rng.IntN(9))})
		}
		pieces := song.Without(of, cut)
		for i, r := range of {
			for tick := r.Start; tick < r.End; tick++ {
				in := slices.ContainsFunc(pieces, func(p song.Piece) bool { return p.Of == i && p.Has(tick) })
				if in == slices.ContainsFunc(cut, func(c song.Range) bool { return c.Has(tick) }) {
					t.Fatalf("tick %d of %v in %v without %v: %v", tick, r, of, cut, pieces)
				}
			}
		}
		for i, p := range pieces {
			if p.Len() <= 0 || p.Start < of[p.Of].Start || p.End > of[p.Of].End || i > 0 && p.Start < pieces[i-1].End {
				t.Fatalf("%v without %v: %v", of, cut, pieces)
			}
		}
	}
}

func TestUnionApartIntersect(t *testing.T) {
	text := func(list []song.Range) string { return fmt.Sprint(list) }
	for _, row := range []struct {
		rule               string
		of, with           []song.Range
		union, apart, both string // both: what the unions of the two share
	}{
		{"in any order", ranges(8, 12, 0, 4), ranges(2, 10), "[{0 4} {8 12}]", "[{0 4} {8 12}]", "[{2 4} {8 10}]"},
		{"overlapping", ranges(0, 6, 4, 8), ranges(5, 7), "[{0 8}]", "[{0 8}]", "[{5 7}]"},
		{"one in another", ranges(0, 9, 2, 4), ranges(9, 12), "[{0 9}]", "[{0 9}]", "[]"},
		{"touching", ranges(0, 4, 4, 8), ranges(0, 8), "[{0 8}]", "[{0 4} {4 8}]", "[{0 8}]"},
		{"empty ones", ranges(3, 3, 5, 4), ranges(0, 8), "[]", "[]", "[]"},
	} {
		if got := text(song.Union(row.of)); got != row.union {
			t.Errorf("%s: union %s, want %s", row.rule, got, row.union)
		}
		if got := text(song.Apart(row.of)); got != row.apart {
			t.Errorf("%s: apart %s, want %s", row.rule, got, row.apart)
		}
		if got := text(song.Intersect(song.Union(row.of), song.Union(row.with))); got != row.both {
			t.Errorf("%s: shared %s, want %s", row.rule, got, row.both)
		}
	}
}
