//go:build oracles

package moves

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// metreSong is a song of one bar at 480 ticks a quarter note.
func metreSong(num, den int) *smf.Timeline {
	return smf.NewTimeline(480, nil, []smf.MetreAt{{Metre: smf.Metre{Num: num, Den: den}}})
}

func TestWeights(t *testing.T) {
	// Longuet-Higgins & Lee 1984, as transcribed with the paper's worked examples by H. Honing (2002)
	// and computed by SynPy (Song, Pearce, Harte 2015); the metres marked "rule" follow the rule that
	// is documented at weights.
	for _, tt := range []struct {
		rule     string
		num, den int
		step     song.Tick // in ticks
		want     string
	}{
		{"4/4 in sixteenths", 4, 4, 120, "0 -4 -3 -4 -2 -4 -3 -4 -1 -4 -3 -4 -2 -4 -3 -4"},
		{"4/4 in eighths", 4, 4, 240, "0 -3 -2 -3 -1 -3 -2 -3"},
		{"3/4 in eighths", 3, 4, 240, "0 -2 -1 -2 -1 -2"},
		{"6/8 in eighths", 6, 8, 240, "0 -2 -2 -1 -2 -2"},
		{"2/4 in eighths", 2, 4, 240, "0 -2 -1 -2"},
		{"rule: 12/8 is four groups of three", 12, 8, 240, "0 -3 -3 -2 -3 -3 -1 -3 -3 -2 -3 -3"},
		{"rule: 9/8 is three groups of three", 9, 8, 240, "0 -2 -2 -1 -2 -2 -1 -2 -2"},
		{"rule: 5/4 is two and three beats", 5, 4, 240, "0 -3 -2 -3 -1 -3 -2 -3 -2 -3"},
		{"rule: 7/8 is two, two and three beats", 7, 8, 240, "0 -2 -1 -2 -1 -2 -2"},
		{"rule: 10/8 is five groups of two", 10, 8, 240, "0 -2 -1 -2 -1 -2 -1 -2 -1 -2"},
		{"rule: triplets of a quarter are one less than it", 4, 4, 160, "0 -3 -3 -2 -3 -3 -1 -3 -3 -2 -3 -3"},
		{"rule: 1/24 notes off the triplets are one less again, the half is an eighth", 4, 4, 80,
			"0 -4 -3 -3 -3 -4 -2 -4 -3 -3 -3 -4 -1 -4 -3 -3 -3 -4 -2 -4 -3 -3 -3 -4"},
		{"rule: 2/2 divides like 4/4 a level up", 2, 2, 240, "0 -3 -2 -3 -1 -3 -2 -3"},
		{"rule: 1/4 is a bar of one beat", 1, 4, 120, "0 -2 -1 -2"},
		{"rule: beats of 1/32 are the finest", 4, 32, 60, "0 -2 -1 -2"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			tl := metreSong(tt.num, tt.den)
			var got []string
			for at := song.Tick(0); at < tl.BarTicks(1); at += tt.step {
				got = append(got, fmt.Sprint(weights{time: tl}.at(at)))
			}
			if strings.Join(got, " ") != tt.want {
				t.Errorf("\ngot  %s\nwant %s", strings.Join(got, " "), tt.want)
			}
		})
	}
}

func TestWeightsOfPlayedOnsets(t *testing.T) {
	tl := metreSong(4, 4)
	swung := swing{eighth: straightSwing, sixteenth: 6200}
	for _, tt := range []struct {
		rule  string
		swing swing
		at    song.Tick
		want  int
	}{
		{"late by a few ticks", swing{}, 250, -3},
		{"early by a few ticks", swing{}, 1430, -2},
		{"just before the bar line it counts to that", swing{}, 1910, 0},
		{"a late sixteenth of a loop that swings is an off-beat", swung, 480 + 149, -4},
		{"the same place in a straight loop is a triplet", swing{}, 480 + 149, -3},
		{"an eighth of a loop that swings stays", swung, 240, -3},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := (weights{tl, tt.swing}).at(tt.at); got != tt.want {
				t.Errorf("got %d, want %d", got, tt.want)
			}
		})
	}
}

// TestThinningOrder holds the order that follows from the weights: odd sixteenths,
// then 2, 6, 10, 14, then 4, 12, then 8; the first of the bar last.
func TestThinningOrder(t *testing.T) {
	w := weights{time: metreSong(4, 4)}
	var onsets []song.Tick
	for i := range song.Tick(16) {
		onsets = append(onsets, i*120)
	}
	for keep, want := range map[int]string{
		8: "x.x.x.x.x.x.x.x.",
		6: "x.x.x...x.x.x...",
		4: "x...x...x...x...",
		3: "x...x...x.......",
		2: "x.......x.......",
		1: "x...............",
	} {
		got := ""
		for _, hit := range heaviest(keep, onsets, w) {
			if got += "."; hit {
				got = got[:len(got)-1] + "x"
			}
		}
		if got != want {
			t.Errorf("keeping %d: got %s, want %s", keep, got, want)
		}
	}
}
