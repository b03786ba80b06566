package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func offset(text string) moves.Offset {
	var o moves.Offset
	if err := o.UnmarshalTexts([]string{text}); err != nil {
		panic(err)
	}
	return o
}

func shift(part, over, by, edges string) *moves.Shift {
	return &moves.Shift{Target: target(part, over), By: offset(by), Edges: edges}
}

func TestShift(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "later: what would leave the span comes in at its start", Step: shift("clap", "bar 2", "1/16", "wrap"),
			Before: "clap x..x|.x.o|x..x",
			After:  "clap x..x|o.x.|x..x"},
		movetest.Row{Name: "earlier: at its end", Step: shift("clap", "bar 2", "-1/16", "wrap"),
			Before: "clap x..x|ox..|x..x",
			After:  "clap x..x|x..o|x..x"},
		movetest.Row{Name: "with clip it goes", Step: shift("clap", "bar 2", "1/16", "clip"),
			Before: "clap x..x|.x.o|x..x",
			After:  "clap x..x|..x.|x..x"},
		movetest.Row{Name: "earlier too", Step: shift("clap", "bar 2", "-1/16", "clip"),
			Before: "clap x..x|ox..|x..x",
			After:  "clap x..x|x...|x..x"},
		movetest.Row{Name: "lengths stay", Step: shift("bass", "", "1/8", "wrap"),
			Before: "bass x--..x..",
			After:  "bass ..x--..x"},
		movetest.Row{Name: "by the length of the span all is as before", Step: shift("clap", "bar 1", "1/4", "wrap"),
			Before: "clap x.ox|x...", After: "clap x.ox|x..."},
		movetest.Row{Name: "by more than that, by the rest", Step: shift("clap", "bar 1", "5/16", "wrap"),
			Before: "clap x.o.|x...", After: "clap .x.o|x..."},
		movetest.Row{Name: "clipped by more than the span, all goes", Step: shift("clap", "bar 1", "5/16", "clip"),
			Before: "clap x.o.|x...", After: "clap ....|x..."},
		movetest.Row{Name: "several spans, each by itself", Step: shift("hat", "every 1 bar", "1/16", "wrap"), Sections: "groove 2",
			Before: "hat x..o|.x..", After: "hat ox..|..x."},
		movetest.Row{Name: "by ticks", Step: shift("hat", "bar 2", "10 ticks", "wrap"),
			Before: "hat x.x.|x.x.", Look: onsets("hat", "0 48 106 154")},
		movetest.Row{Name: "a few ticks earlier a note before the line is still in the span", Step: shift("hat", "bar 2", "-5 ticks", "wrap"),
			Before: "hat x.x.|x.x.", Look: onsets("hat", "0 48 91 139")},
		movetest.Row{Name: "a 1/64 earlier it is not", Step: shift("hat", "bar 2", "-6 ticks", "wrap"),
			Before: "hat x.x.|x.x.", Look: onsets("hat", "0 48 138 186")},
		movetest.Row{Name: "with clip neither", Step: shift("hat", "bar 2", "-6 ticks", "clip"),
			Before: "hat x.x.|x.x.", Look: onsets("hat", "0 48 138")},
		movetest.Row{Name: "at the start of the song it sounds at once", Step: shift("hat", "bar 1", "-5 ticks", "clip"),
			Before: "hat x.x.|x...", Look: onsets("hat", "0 43 96")},
		movetest.Row{Name: "what would count to the bar after comes in just before the line", Step: shift("hat", "bar 2", "20 ticks", "wrap"),
			Before: "hat x...|x..x", Setup: earlyIn(168, -1),
			Look: onsets("hat", "0 93 116")},
		movetest.Row{Name: "in the last bar no note leaves the song", Step: shift("hat", "bar 2", "1/16", "wrap"),
			Before: "hat x...|x..x", After: "hat x...|xx.."},
		movetest.Row{Name: "nor with its tail", Step: shift("bass", "bar 2", "1/8", "clip"),
			Before: "bass ....|x---", After: "bass ....|..x-"},
		movetest.Row{Name: "a note that rings into the span stays as it is", Step: shift("bass", "bar 2", "1/16", "wrap"),
			Before: "bass:36 ..x-|--..\nbass:43 ....|x...",
			After:  "bass:43 ....|.x..\nbass:36 ..x-|--.."},
		movetest.Row{Name: "it ends where its key is struck again", Step: shift("bass", "bar 2", "-1/16", "wrap"),
			Before: "bass ..x-|--x.",
			After:  "bass ..x-|-x.."},
		movetest.Row{Name: "a note that rings past the end rings on until its key is struck", Step: shift("bass", "bar 1", "1/8", "clip"),
			Before: "bass x---|..x.",
			After:  "bass ..x-|--x."},
		movetest.Row{Name: "a part that ends inside the span", Step: shift("lead", "", "1/16", "wrap"),
			Before: "lead x-x.|....", After: "lead .x-x|...."},
		movetest.Row{Name: "sounds on one channel keep apart", Step: shift("kick", "bar 1", "1/16", "wrap"), Setup: sharedChannel,
			Before: "kick x.x.\nhat ..x.", After: "kick .x.x\nhat ..x."},
		movetest.Row{Name: "without a note, as it is, with a warning", Step: shift("hat", "bar 2", "1/16", "wrap"),
			Before: "hat x...|....", After: "hat x...|....", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "polyphonic pressure goes along, controllers stay", Step: shift("pad", "bar 1", "1/16", "wrap"),
			Before: "pad x-......",
			After:  "pad .x-.....",
			Setup: func(s song.Song) song.Song {
				e := set("cutoff", song.Point{Tick: 8, Value: 40})(s).Edit()
				e.Insert(0, smf.Channel(10, 0xA0, 60, 40))
				return e.Song()
			},
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				keyPressure("34:40")(t, before, after, came)
				has("cutoff", "1.1+8=40")(t, before, after, came)
			}},
		movetest.Row{Name: "nothing to shift by is a mistake", Step: &moves.Shift{Target: target("hat", "")},
			Before: "hat x...", Err: "by: found nothing, want at least a tick"},
	)
}

func TestOffsetsReadAndWrite(t *testing.T) {
	for _, text := range []string{"1/16", "-1/16", "64/1", "-1/64", "1 tick", "-1 tick", "10 ticks", "-100000 ticks", "100000 ticks"} {
		if got := offset(text).Texts()[0]; got != text {
			t.Errorf("%s is written %s", text, got)
		}
	}
	for _, tt := range []struct{ text, hint string }{
		{"", ""}, {"0", ""}, {"10", "10 ticks"}, {"-3", "-3 ticks"}, {"0 ticks", ""}, {"100001 ticks", ""}, {"--1/16", ""}, {"+1/16", ""},
		{"1/65", ""}, {"1 beat", ""}, {"-+1 ticks", ""}, {"- ticks", ""}, {"1/16 ticks", ""},
	} {
		var o moves.Offset
		err := o.UnmarshalTexts([]string{tt.text})
		oe, ok := err.(*option.Mistake)
		if !ok || oe.Hint != tt.hint {
			t.Errorf("%q: got %v, want a mistake with the hint %q", tt.text, err, tt.hint)
		}
	}
}

func TestAShiftOfNoTickIsAMistake(t *testing.T) {
	e := song.Blank(4, nil, nil, 64).Edit()
	e.NewPart(song.Part{Name: "hat", Role: song.RoleHat, Kit: true})
	_, err := moves.Run(&moves.Env{Strict: true}, shift("hat", "", "1/64", "wrap"), e.Song())
	if oe, ok := err.(*option.Mistake); !ok || oe.Option != "by" || oe.Found != "1/64" {
		t.Errorf("got %v, want a mistake in by", err)
	}
}

func BenchmarkShift(b *testing.B) { benchmarkMove(b, shift("hat", "every 1 bar", "1/16", "wrap")) }
