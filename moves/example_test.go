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

// sprinkle is a step of one's own that chooses by chance: it leaves out half of the hits that the loop itself plays in
// the step's spans.
type sprinkle struct{ moves.Target }

func (*sprinkle) Name() string { return "sprinkle" }

func (s *sprinkle) Apply(env *moves.Env, in song.Song) (moves.Outcome, error) {
	e := in.Edit()
	for _, part := range env.Parts {
		loop := env.Source(in.Parts[part].Name)
		chance := moves.NewRand(env.Seed, uint64(part)) // every part has choices of its own
		for _, r := range env.Ranges {
			gone := map[song.Tick]bool{}
			for _, n := range in.In(loop, r) {
				gone[n.Start] = chance.Intn(2) == 0
			}
			e.Map(part, func(n song.Note) (song.Note, bool) { return n, !gone[n.Start] })
		}
	}
	return moves.Outcome{Song: e.Song()}, nil
}

func ExampleNewRand() {
	in, err := song.ParseGrid("hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.")
	if err != nil {
		fmt.Println(err)
		return
	}
	out, err := moves.Run(&moves.Env{Seed: 1}, &sprinkle{moves.Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2")}}, in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(song.Grid(out.Song))
	fmt.Println("had nothing to do:", out.Idle())
	// Output:
	// hat x.x.x.x.x.x.x.x.|x.x...........x.
	// had nothing to do: false
}
