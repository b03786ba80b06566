package where_test

import (
	"errors"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// A duration is the nearest whole number of phrases of a loop that runs on, at its own tempi. At 120 bpm a bar of 4/4
// lasts 2 s (RP-001 p. 5: 120 bpm is the default); the rest is counted by hand.
func TestDurationsInBars(t *testing.T) {
	const quarter, bar = 480, 4 * 480
	steady := smf.NewTimeline(quarter, nil, nil)
	// Bars of 2, 4 and 1 s: 120, 60 and 240 bpm. A pass of three lasts 7 s.
	changing := smf.NewTimeline(quarter, []smf.TempoAt{{Tick: 0, Micros: 500_000}, {Tick: bar, Micros: 1_000_000}, {Tick: 2 * bar, Micros: 250_000}}, nil)
	for _, row := range []struct {
		rule, text   string
		tl           *smf.Timeline
		loop, phrase int
		want         int
	}{
		{"bars are bars", "13 bars", steady, 4, 8, 13},
		{"a whole number of phrases", "32s", steady, 4, 8, 16},
		{"the nearer one below", "23s", steady, 4, 8, 8},
		{"the nearer one above", "25s", steady, 4, 8, 16},
		{"of two as near the longer", "24s", steady, 4, 8, 16},
		{"one phrase at least", "1s", steady, 4, 8, 8},
		{"as many as there may be bars", "1000m60000s", steady, 4, 8, song.MaxBars / 8 * 8},
		{"the last phrase is a whole one", "20000s", steady, 4, 1000, 9000},
		{"a pass is as long as its own tempi say", "7s", changing, 3, 1, 3},
		{"bars past it have the tempi of its first", "9s", changing, 3, 1, 4},
		{"and of its second", "13s", changing, 3, 1, 5},
		{"a quarter of the way to the next bar", "10s", changing, 3, 1, 4},
		{"three quarters of it", "12s", changing, 3, 1, 5},
		{"phrases that end inside a pass", "20s", changing, 3, 2, 8},
		{"a loop of one bar", "7s", changing, 1, 1, 4},
	} {
		x, err := where.ParseExtent(row.text)
		if err != nil {
			t.Fatalf("%s: %v", row.rule, err)
		}
		if got := x.InBars(row.tl, row.loop, row.phrase); got != row.want {
			t.Errorf("%s: %s of a loop of %d bars in phrases of %d is %d bars, want %d", row.rule, row.text, row.loop, row.phrase, got, row.want)
		}
	}
}

// A length of a song in beats is told in bars of 4/4, where it comes to whole bars.
func TestBeatsHintAtBars(t *testing.T) {
	for _, row := range []struct{ text, hint string }{
		{"64 beats", "16 bars"}, {"4 beats", "1 bar"}, {"4 beat", "1 bar"},
		{"63 beats", ""}, {"0 beats", ""}, {"4 beets", ""}, {"9996 beats", "2499 bars"}, {"40000 beats", ""},
	} {
		_, asExtent := where.ParseExtent(row.text)
		_, asBars := where.ParseBars(row.text)
		for _, err := range []error{asExtent, asBars} {
			var m *option.Mistake
			if !errors.As(err, &m) || m.Hint != row.hint {
				t.Errorf("%s: got %v, want a mistake with the hint %q", row.text, err, row.hint)
			}
		}
	}
}
