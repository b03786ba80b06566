package moves_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/where"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// sharedChannel puts every part on the track and channel of the first.
func sharedChannel(s song.Song) song.Song {
	parts := append([]song.Part(nil), s.Parts...)
	for i := range parts {
		parts[i].Track, parts[i].Channel = 0, parts[0].Channel
		for _, n := range parts[i].Notes {
			parts[i].Keys[n.Key>>6] |= 1 << (n.Key & 63)
		}
	}
	s.Parts = parts
	return s
}

// keyPressure holds the polyphonic pressure of the first part's track, as tick:value.
func keyPressure(want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		var got []string
		for _, ev := range after.Tracks[0].Events {
			if ev.Kind() == 0xA0 {
				got = append(got, fmt.Sprintf("%d:%d", ev.Tick, ev.Data2()))
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("got pressure %q, want %q", got, want)
		}
	}
}

// TestRewrittenSpansKeepThePromises runs the moves that rewrite spans on songs nobody would write.
func TestRewrittenSpansKeepThePromises(t *testing.T) {
	steps := []moves.Step{
		copyTo("all", "bars 2-3", "bar 1", "2.2", "bar 4"),
		&moves.Copy{Target: target("all", "1.2-1.4"), To: where.PlacesOf("1.3", "drop"), Length: where.LengthOf("7/16")},
		ghost("all", "bars 2-3"),
		&moves.Ghost{Target: target("all", "drop"), Velocity: 40 * percent, Density: 40 * percent},
		stutter("all", "last 2 beats of every 1 bar", "1/16"),
		stutter("all", "bars 2-3", "3/32"),
		stretch("all", "every 1 bar", "half"),
		stretch("all", "1.2-3.4", "double"),
		reverse("all", "every 1 bar"),
		reverse("all", "1.2-3.4"),
		shift("all", "every 1 bar", "5 ticks", "wrap"),
		shift("all", "", "-3/16", "wrap"),
		shift("all", "1.2-3.4", "-1/8", "clip"),
	}
	for seed := range uint64(oracle.Size(1, 12, 100)) {
		grid, setup := randomGrid(moves.NewRand(seed, 7)), shaken(moves.NewRand(seed, 8))
		for i, step := range steps {
			t.Run(fmt.Sprintf("song %d step %d", seed, i), func(t *testing.T) {
				movetest.Check(tolerant{t}, movetest.Row{Step: step, Before: grid, Sections: "intro 2, drop 2", May: movetest.Anything, Setup: setup})
			})
		}
	}
}
