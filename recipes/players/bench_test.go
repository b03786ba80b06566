package players_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes/players"
	"loopdraft/smf/song"
)

// BenchmarkFind measures a track of 24 phrases and 16 parts, every one of which may play anywhere. No recipe asks more.
func BenchmarkFind(b *testing.B) {
	lines := band
	for i := range 7 {
		lines += fmt.Sprintf("more%d extra 0 %d %d\n", i, 1+i%3, i%2)
	}
	l := newLoop(b, strings.TrimSpace(lines))
	may := "hook bed extra perc tops backbeat bass beat"
	for _, kind := range []song.Kind{song.KindGroove, song.KindBreak, song.KindDrop, song.KindBreak, song.KindBuild, song.KindDrop} {
		l.section(players.Section{Kind: kind}, "", may, slices.Repeat([][2]int{{550, 900}}, 4)...)
	}
	for b.Loop() {
		players.Find(l.Track)
	}
}
