package moves_test

import (
	"fmt"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func ExampleRun() {
	in, err := song.ParseGrid("kick x...x...x...x...|x...x...x...x...")
	if err != nil {
		fmt.Println(err)
		return
	}
	step := &moves.Double{Target: moves.Target{Part: where.PartsOf("kick"), Over: where.SpansOf("last 2 beats")}, Velocity: 85 * option.Whole / 100}
	out, err := moves.Run(&moves.Env{}, step, in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(song.Grid(out.Song))
	// Output:
	// kick x...x...x...x...|x...x...x.x.x.x.
}

func ExampleBjorklund() {
	for _, hit := range moves.Bjorklund(3, 8) {
		if hit {
			fmt.Print("x")
		} else {
			fmt.Print(".")
		}
	}
	// Output: x..x..x.
}

func ExampleParseSections() {
	sections, err := moves.ParseSections("intro 16, drop 32")
	fmt.Println(sections, err)
	// Output: [{intro intro 1 16} {drop drop 17 32}] <nil>
}

func ExampleExample_Songs() {
	solo, _ := moves.All().Lookup("solo")
	before, after, err := solo.Example().Songs()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(song.Grid(before))
	fmt.Print(song.Grid(after))
	// Output:
	// kick x...x...x...x...|x...x...x...x...
	// hat  ..x...x...x...x.|..x...x...x...x.
	// bass ..x-..x-..x-..x-|--x-..x-..x-..x-
	//
	// kick x...x...x...x...|................
	// hat  ..x...x...x...x.|..x...x...x...x.
	// bass ..x-..x-..x-..x-|................
}
