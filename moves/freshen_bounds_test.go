//go:build oracles

package moves

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Of many parts of which none is heard alone, some are asked at each line and not all.
func TestFreshenAsksOfSomePartsOnly(t *testing.T) {
	for _, row := range []struct{ parts, asked int }{{12, 12}, {60, mostAsked(60)}} {
		var grid strings.Builder
		for i := range row.parts {
			fmt.Fprintf(&grid, "hat-%d o.o.o.o.o.o.o.o.\n", i+1)
		}
		grid.WriteString("kick X...X...X...X...\nbass X---X---X---X---\n")
		loop, err := song.ParseGrid(grid.String())
		if err != nil {
			t.Fatal(err)
		}
		in, _, err := lay.Lay(lay.Layout{Loop: loop, Bars: 1, Blocks: []lay.Block{{Bars: 16, RunOn: true}}})
		if err != nil {
			t.Fatal(err)
		}
		heard, err := form.EnergyOf(in)
		if err != nil {
			t.Fatal(err)
		}
		env := Env{Loop: loop, Bars: 1, Full: in, Lined: in, Heard: heard, May: func() bool { return false }}
		w := newFreshening(&Freshen{Every: 4}, &env, in, 4)
		if w.only, err = w.move.parts(in); err != nil {
			t.Fatal(err)
		}
		if w.make("out", 1, NewRand(1)) {
			t.Fatal("found a change that was not to be tried")
		}
		asked := 0
		for _, text := range w.texts {
			if text != "" {
				asked++
			}
		}
		if asked != row.asked {
			t.Errorf("%d hats: asked %d, want %d", row.parts, asked, row.asked)
		}
	}
}
