package review_test

import (
	"fmt"

	"loopdraft/moves"
	"loopdraft/moves/review"
	"loopdraft/smf/song"
)

func Example() {
	s, _ := song.ParseGrid(`
kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
bass x---x---x---x---|x---x---x---x---|x---x---x---x---|x---x---x---x---|x---x---x---x---|x---x---x---x---|x---x---x---x---|x---x---x---x---
stab x--..x--..x-....|x--..x--..x-....|x--..x--..x-....|x--..x--..x-....|x--..x--..x-....|x--..x--..x-....|x--..x--..x-....|x--..x--..x-....`)
	sections, _ := moves.ParseSections("break 4, drop 4")
	found, err := review.Review(review.Input{Song: s.WithSections(sections)}, review.Options{
		Checks: []review.Check{&review.BreakLetsGo{By: 3, Most: 18, Bass: 25}, &review.DropIsFuller{By: 1, Bars: 4, Rest: 4}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range found.Findings {
		fmt.Printf("%s, bars %d-%d: %s\n  %v\n", f.Level, f.First, f.Last, f.Text, f.Answer.Texts())
	}
	fmt.Println(found.Verdict.Text)
	// Output:
	// warn, bars 1-4: Bass plays low in 4 of the 4 bars of break at bar 1: without the bass its return is an event.
	//   [transpose: {part: bass, over: bars 1-4, octaves: 1}]
	// warn, bars 1-4: Break at bar 1 is as full as what is around it, 0.0 dB under it: take drums and bass out.
	//   [shape: {part: all, over: bars 1-4, from: 83%, to: 83%}]
	// warn, bars 5-8: Drop at bar 5 is no drop: it is as full as what comes before it. Take more out before it, or let more come in with it.
	//   [shape: {part: all, over: bars 1-4, from: 93%, to: 93%}]
	// Not yet: 3 findings are left. Answer them, then stop.
}

func ExampleCompare() {
	before, _ := song.ParseGrid("kick x...x...x...x...|x...x...x...x...")
	after, _ := song.ParseGrid("kick x...x...x...x...|x...x...x.x.x.x.")
	sections := []song.Section{{Name: "intro", Bar: 1, Bars: 2}}
	got, err := review.Compare(before.WithSections(sections), after.WithSections(sections))
	fmt.Println(got.Sections[0].Name, got.Sections[0].Changed, err)
	// Output: intro [{kick [2]}] <nil>
}
