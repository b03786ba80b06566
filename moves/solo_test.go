package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf/song"
)

func TestSolo(t *testing.T) {
	solo := func(part, over string) *moves.Solo { return &moves.Solo{Target: target(part, over)} }
	// The parts that are not named change: within the span, or where a note rings into it or a held one
	// is struck again.
	others := func(from, to song.Tick) func(song.Part, song.Tick) bool {
		return func(p song.Part, at song.Tick) bool { return p.Name != "hat" && at >= from && at <= to }
	}
	movetest.Run(t,
		movetest.Row{Name: "only the named part plays over the span", Step: solo("hat", "bar 2"),
			Before: `
				kick x...x...|x...x...|x...x...
				hat  ..x...x.|..x...x.|..x...x.
				clap ....x...|....x...|....x...`,
			After: `
				kick x...x...|........|x...x...
				hat  ..x...x.|..x...x.|..x...x.
				clap ....x...|........|....x...`,
			May: others(192, 384)},
		movetest.Row{Name: "several may be named", Step: solo("drums", "bar 2"),
			Before: `
				hat  ..x...x.|..x...x.
				kick x...x...|x...x...
				bass ..x...x.|..x...x.`,
			After: `
				hat  ..x...x.|..x...x.
				kick x...x...|x...x...
				bass ..x...x.|........`,
			May: others(192, 384)},
		movetest.Row{Name: "what rings in is cut if it is pitched, and rings on if it is a drum", Step: solo("hat", "bar 2"),
			Before: `
				hat  ..x...x.|..x...x.
				ride ......x-|---.....
				bass ......x-|---.....`,
			After: `
				hat  ..x...x.|..x...x.
				ride ......x-|---.....
				bass ......x-|........`,
			May: others(96, 384)},
		movetest.Row{Name: "a pad held over the end is struck again", Step: solo("hat", "bar 1"),
			Before: "hat  ..x...x.|..x...x.\npad  x-------|----....",
			After:  "hat  ..x...x.|..x...x.\npad  ........|x---....",
			May:    others(0, 192)},
		movetest.Row{Name: "a trigger without a sound of its own stays", Step: solo("hat", "bar 1"),
			Before: `
				hat     ..x...x.
				trigger x...x...
				kick    x...x...`,
			After: `
				hat     ..x...x.
				trigger x...x...
				kick    ........`,
			May: others(0, 192)},
		movetest.Row{Name: "where none of the named is there nothing happens", Step: solo("shaker if any", "bar 1"),
			Before: "hat  ..x...x.\nkick x...x...",
			After:  "hat  ..x...x.\nkick x...x..."},
		movetest.Row{Name: "where the named part is silent that is said", Step: solo("hat", "bar 2"),
			Before: "hat  ..x...x.|........\nkick x...x...|x...x...",
			After:  "hat  ..x...x.|........\nkick x...x...|........",
			May:    others(192, 384), Warned: []string{"nothing plays there"}},
	)
}
