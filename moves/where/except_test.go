package where_test

import (
	"fmt"

	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// This shows what an except option leaves: the pieces know which of the ranges they are of.
func ExampleSpans_Resolve_without() {
	s := clubSong()
	c := where.SpanContext{Song: s, Strict: true}
	over, _, _ := where.SpansOf("last 1 beat of every 8 bars").Resolve(c)
	except, _, _ := where.SpansOf("every section but drop").Resolve(c)
	for _, p := range song.Without(over, except) {
		fmt.Println(rangesText(s, []song.Range{p.Range}), p.Of)
	}
	// Output:
	// 24.4-25.1 2
	// 32.4-33.1 3
	// 52.4-53.1 6
}
