package recipes

import (
	"fmt"
	"testing"

	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// TestNobodyIsLeftInSilence drafts a loop of each job alone by the built-in recipes: never are four
// bars in a row silent (the line-up leaves at most one, and moves may thin out what stands in).
func TestNobodyIsLeftInSilence(t *testing.T) {
	for i, row := range []string{
		"kick    x...x...x...x...", "snare   ....x.......x...", "hat     ..x...x...x...x.", "perc    x..x..x...x..x..",
		"bass    x-..x-..x-..x-..", "pad     x---------------", "stab    x..x..x...x..x..", "vocal   x---....x---....",
	} {
		t.Run(row, func(t *testing.T) {
			for k, info := range Builtins() {
				if (i+k)%oracle.Size(4, 1, 1) != 0 { // a first run takes a pair in four
					continue
				}
				r, _ := Builtin(info.Name)
				got, err := Draft([]Input{loopOf(t, []string{row})}, r, Options{})
				if err != nil {
					t.Fatal(err)
				}
				if bars := silentBars(got.Song); bars != "" {
					t.Errorf("%s: silent in %s", info.Name, bars)
				}
			}
		})
	}
}

// silentBars names the first four bars in a row in which nothing sounds.
func silentBars(s song.Song) string {
	sounds := make([]bool, s.Bars()+1)
	for _, p := range s.Parts {
		for _, n := range p.Notes {
			for bar := s.Time().BarOf(n.Start); bar <= s.Time().BarOf(n.End-1); bar++ {
				sounds[bar] = true
			}
		}
	}
	for bar := 1; bar+2 < s.Bars(); bar++ {
		if !sounds[bar] && !sounds[bar+1] && !sounds[bar+2] && !sounds[bar+3] {
			return fmt.Sprintf("bars %d-%d", bar, bar+3)
		}
	}
	return ""
}
