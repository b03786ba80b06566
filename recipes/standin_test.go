package recipes_test

import (
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
)

// TestNobodyIsLeftInSilence drafts loops of one to four parts by the built-in recipes, in five takes: never are two bars
// in a row silent, also where the loop itself rests.
func TestNobodyIsLeftInSilence(t *testing.T) {
	t.Parallel()
	for i, rows := range [][]string{
		{"kick    x...x...x...x..."},
		{"snare   ....x.......x..."},
		{"hat     ..x...x...x...x."},
		{"perc    x..x..x...x..x.."},
		{"bass    x-..x-..x-..x-.."},
		{"pad     x---------------"},
		{"stab    x..x..x...x..x.."},
		{"vocal   x---....x---...."},
		{"lead    x.x...x.........|................"},
		{"kick    x...x...x...x...", "bass    ..x-..x-..x-..x-"},
		{"kick    x...............|................", "pad     ................|x---------------"},
		{"vocal   x---....x---....|................", "hat     ..x...x...x...x.|..x...x...x...x."},
		{"kick    ................|x...x...x...x...", "noise   x---------------|----------------"},
		{"kick    x...x...x...x...", "clap    ....x.......x...", "hat     ..x...x...x...x."},
		{"lead    ..............x-|x---..x-..x-....", "bass    ..x-..x-..x-..x-|..x-..x-..x-..x-", "pad     x---------------|----------------"},
		{"kick    x...x...x...x...", "clap    ....x.......x...", "hat     ..x...x...x...x.", "bass    ..x-..x-..x-..x-"},
	} {
		t.Run(strings.Join(rows, ","), func(t *testing.T) {
			for k, info := range recipes.Builtins() {
				for take := 1; take <= 5; take++ {
					if (i+k+take)%oracle.Size(16, 4, 1) != 0 { // a first run takes one draft in sixteen
						continue
					}
					r, _ := recipes.Builtin(info.Name)
					got, err := recipes.Draft([]recipes.Input{loopOf(t, rows)}, r, recipes.Options{Take: take})
					if err != nil {
						t.Fatal(err)
					}
					for bar := 1; bar < got.Song.Bars(); bar++ {
						if form.SilentPairs(got.Song, bar, bar+1) > 0 {
							t.Errorf("%s, take %d: silent in bars %d-%d", info.Name, take, bar, bar+1)
							break
						}
					}
				}
			}
		})
	}
}
