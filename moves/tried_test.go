package moves_test

import (
	"fmt"
	"slices"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/smf/song"
)

// What freshen has tried on a few bars at a time is what its steps make of the whole song, carried out one after the
// other. Pedals and bends rest where a part is muted.
func TestWhatFreshenTriedIsWhatItsStepsDo(t *testing.T) {
	loop := mustGrid(t, `
		kick  x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x.x.
		clap  ....x.......x...|....x.......x...|....x.......x...|....x.......x..x
		hat   ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x.x.x.
		perc  x..x..x....x..x.|x..x..x....x..x.|x..x..x....x..x.|x..x..x....x..x.
		bass  ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-
		pad   x---------------|----------------|x---------------|----------------
		lead  x--x--x-x--x--x-|x--x--x-x--x----|x--x--x-x--x--x-|----x--x--x-----`)
	done := 0
	for seed := range uint64(12) {
		chance := moves.NewRand(seed)
		in := shaken(chance)(loop)
		e := in.Edit()
		for part := range in.Parts {
			if chance.Intn(3) == 0 {
				for _, c := range []song.Controller{64, song.Bend} {
					e.Control(in.Parts[part].Track, in.Parts[part].Channel, c, []song.Sweep{{Range: in.BarRange(2, 3), Points: []song.Point{{Tick: in.Time().BarStart(2), Value: 100}}, Home: 0}})
				}
			}
		}
		in = e.Song()
		in = laid(t, lay.Layout{Loop: in, Bars: 4, Blocks: runOn(64)}).WithSections([]song.Section{
			{Name: "intro", Kind: song.KindIntro, Bar: 1, Bars: 16}, {Name: "drop", Kind: song.KindDrop, Bar: 17, Bars: 24}, {Name: "break", Kind: song.KindBreak, Bar: 41, Bars: 8}, {Name: "drop", Kind: song.KindDrop, Bar: 49, Bars: 16},
		})
		env := &moves.Env{Loop: loop, Bars: 4, Full: in, Seed: seed}
		x, err := moves.Expand(env, &moves.Freshen{Every: 4}, in)
		if err != nil {
			t.Fatal(err)
		}
		want, err := moves.RunAll(env, in, x.Steps...)
		if err != nil {
			t.Fatal(err)
		}
		done += len(x.Steps)
		if len(x.Done) != len(x.Steps) {
			t.Fatalf("seed %d: got what %d of %d steps do", seed, len(x.Done), len(x.Steps))
		}
		for i, p := range want.Song.Parts {
			got := x.Song.Parts[i]
			if !slices.Equal(got.Notes, p.Notes) || got.Keys != p.Keys {
				t.Errorf("seed %d: %s plays something else", seed, p.Name)
			}
			if a, b := x.Song.Tracks[p.Track], want.Song.Tracks[p.Track]; a.End != b.End || !slices.Equal(a.Events, b.Events) {
				t.Errorf("seed %d: the track of %s has other events", seed, p.Name)
			}
		}
		var changes []song.Change
		for _, d := range x.Done {
			changes = append(changes, d.Outcome.Changes...)
		}
		if got, want := fmt.Sprint(changes), fmt.Sprint(want.Changes); got != want {
			t.Errorf("seed %d: got the trace\n%s\nwant\n%s", seed, got, want)
		}
	}
	if done < 60 {
		t.Errorf("got %d steps, too few", done)
	}
}
