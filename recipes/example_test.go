package recipes_test

import (
	"fmt"

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
	// club.yaml:2:24: moves[1].mute: unknown option "ovr", want one of part, over, tails; did you mean "over"?
	//       - mute: {part: bass, ovr: last 1 bar}
	//                            ^
}
