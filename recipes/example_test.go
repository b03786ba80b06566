package recipes_test

import (
	"fmt"
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// A recipe of two sections on a loop of one bar.
func ExampleDraft() {
	loop, err := song.ParseGrid(`
		kick x...x...x...x...
		hat  ..x...x...x...x.`)
	if err != nil {
		fmt.Println(err)
		return
	}
	recipe, err := recipes.Parse("two.yaml", []byte(`
parts: {hat: {track: 2, role: hat}}
sections:
  - {name: intro, bars: 2, play: [kick]}
  - {name: drop, bars: 2}
moves:
  - mute: {part: kick, over: last 2 beats of intro}
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	draft, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: loop.File()}}, recipe, recipes.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(song.Grid(draft.Song))
	// Output:
	// kick x...x...x...x...|x...x...........|x...x...x...x...|x...x...x...x...
	// hat  ................|................|..x...x...x...x.|..x...x...x...x.
}

// Every mistake says where it stands.
func ExampleParse() {
	_, err := recipes.Parse("club.yaml", []byte("moves:\n  - mute: {part: bass, ovr: last 1 bar}\n"))
	fmt.Println(err)
	// Output:
	// club.yaml:2:24: moves[1].mute: unknown option "ovr", want one of part, over, except, tails; did you mean "over"?
	//       - mute: {part: bass, ovr: last 1 bar}
	//                            ^
}

// How loud a section is to be can be said in a recipe that is written in Go. Bass and lead are found to
// play in the break, and step back.
func ExampleEnergyOf() {
	loop, err := song.ParseGrid("kick x...x...x...x...\nbass:36 ..x-..x-..x-..x-\nlead:72 x-----x-----x---")
	if err != nil {
		fmt.Println(err)
		return
	}
	recipe := &recipes.Recipe{Sections: []recipes.SectionSpec{
		{Name: "break", Bars: 1, Energy: recipes.EnergyOf("8 dB under drop"), Add: where.PartsOf("lead", "bass")},
		{Name: "drop", Bars: 1},
	}}
	draft, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: loop.File()}}, recipe, recipes.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(song.Grid(draft.Song))
	// Output:
	// kick    ................|x...x...x...x...
	// bass    ..o-..o-..o-..o-|..x-..x-..x-..x-
	// lead:72 o-----o-----o---|x-----x-----x---
}

// A recipe may be read with a catalogue to which moves of one's own are joined.
func ExampleParseWith() {
	catalogue := slices.Concat(recipes.Catalogue(), moves.Catalogue{{
		Group: moves.Dynamics,
		Brief: "Play notes at one velocity",
		New:   func() moves.Step { return &accent{Velocity: 120} },
	}})
	recipe, err := recipes.ParseWith(catalogue, "own.yaml", []byte("moves:\n  - accent: {part: kick, over: last 1 bar}\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(recipe.Moves[0].Step.(*accent).Velocity)
	// Output: 120
}

// accent is a move of one's own: it strikes what its parts play in its spans at one velocity. Its exported
// fields are its options; those of a Target are resolved by the time it is applied.
type accent struct {
	moves.Target
	Velocity int `yaml:"velocity" range:"1..127" doc:"the velocity of all notes"`
}

func (*accent) Name() string { return "accent" }

func (a *accent) Apply(env *moves.Env, in song.Song) (moves.Outcome, error) {
	e := in.Edit()
	for _, part := range env.Parts {
		e.Map(part, func(n song.Note) (song.Note, bool) {
			if slices.ContainsFunc(env.Ranges, func(r song.Range) bool { return r.Has(in.Counted(n.Start)) }) {
				n.Vel = uint8(a.Velocity)
			}
			return n, true
		})
	}
	return moves.Outcome{Song: e.Song(), Changes: []song.Change{{Ranges: env.Ranges}}}, nil
}

// A recipe can be written in Go, with moves that stand in no catalogue. For a recipe that is read, ParseWith
// takes a catalogue to which one's own moves are joined.
func ExampleStepSpec() {
	loop, err := song.ParseGrid("kick x...x...x...x...")
	if err != nil {
		fmt.Println(err)
		return
	}
	recipe := &recipes.Recipe{
		Length: where.Extent{Bars: 2},
		Moves: []recipes.StepSpec{
			{Step: &moves.Mute{Target: moves.Target{Part: where.PartsOf("kick"), Over: where.SpansOf("last 1 beat")}}},
			{Step: &accent{Target: moves.Target{Part: where.PartsOf("kick"), Over: where.SpansOf("beat 1 of every bar")}, Velocity: 127}},
		},
	}
	draft, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: loop.File()}}, recipe, recipes.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(song.Grid(draft.Song))
	// Output:
	// kick X...x...x...x...|X...x...x.......
}
