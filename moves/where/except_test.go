package where

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"loopdraft/smf/song"
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
		for i, p := range Without(row.of, row.cut) {
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
		pieces := Without(of, cut)
		for i, r := range of {
			for tick := r.Start; tick < r.End; tick++ {
				in := slices.ContainsFunc(pieces, func(p Piece) bool { return p.Of == i && p.Has(tick) })
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

func ExampleWithout() {
	s := clubSong()
	c := SpanContext{Song: s, Strict: true}
	over, _, _ := SpansOf("last 1 beat of every 8 bars").Resolve(c)
	except, _, _ := SpansOf("every section but drop").Resolve(c)
	for _, p := range Without(over, except) {
		fmt.Println(rangesText(s, []song.Range{p.Range}), p.Of)
	}
	// Output:
	// 24.4-25.1 2
	// 32.4-33.1 3
	// 52.4-53.1 6
}
