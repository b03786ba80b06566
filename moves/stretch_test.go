package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func stretch(part, over, by string) *moves.Stretch {
	return &moves.Stretch{Target: target(part, over), By: by}
}

func TestStretch(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "half-time: the first half fills the span", Step: stretch("lead", "bar 2", "half"),
			Before: "lead x-x-x.x.|x-x.o.xx",
			After:  "lead x-x-x.x.|x---x-.."},
		movetest.Row{Name: "the backbeat of half-time comes on 3", Step: stretch("snare", "", "half"),
			Before: "snare ....x.......x...",
			After:  "snare ........x-......"},
		movetest.Row{Name: "double-time: twice within the span, notes half as long", Step: stretch("lead", "bar 2", "double"),
			Before: "lead x-x-x.x.|x---x-..",
			After:  "lead x-x-x.x.|x-x.x-x."},
		movetest.Row{Name: "velocities and keys stay", Step: stretch("lead", "", "double"),
			Before: "lead:60 X-......\nlead:64 ....o---",
			After:  "lead:64 ..o-..o-\nlead:60 X...X..."},
		movetest.Row{Name: "several spans, each by itself", Step: stretch("hat", "every 1 bar", "half"), Sections: "groove 2",
			Before: "hat x.x.xxxx|xoxxxxxx", Steps: 4,
			After: "hat x-..x-..|x-o-x-x-"},
		movetest.Row{Name: "half-time of a pitched note ends with the span", Step: stretch("bass", "bar 1", "half"),
			Before: "bass x.x---..|x.......",
			After:  "bass x-..x---|x......."},
		movetest.Row{Name: "a drum rings on", Step: stretch("ride", "bar 1", "half"),
			Before: "ride x.x---..|........",
			After:  "ride x-..x---|----...."},
		movetest.Row{Name: "double-time of a pitched note ends with its pass", Step: stretch("bass", "bar 1", "double"),
			Before: "bass:36 x.......|........\nbass:43 ......x-|--......",
			After:  "bass:43 ...x...x|........\nbass:36 x...x...|........"},
		movetest.Row{Name: "a pitched note that rings into the span ends where it begins", Step: stretch("bass", "bar 2", "double"),
			Before: "bass ......x-|--x-....",
			After:  "bass ......x-|.x...x.."},
		movetest.Row{Name: "a pad held into the span is struck there", Step: stretch("pad", "bar 2", "double"),
			Before: "pad ......x-|----x-..",
			After:  "pad ......x-|x-x.x-x."},
		movetest.Row{Name: "a pad held over the end is struck again there", Step: stretch("pad", "bar 1", "double"),
			Before: "pad x-..x---|----....",
			After:  "pad x.x-x.x-|x---....", May: movetest.Parts("pad")},
		movetest.Row{Name: "a part that ends inside the span plays its notes twice in double-time", Step: stretch("lead", "", "double"),
			Before: "lead x-x-|....",
			After:  "lead xx..|xx.."},
		movetest.Row{Name: "places are rounded once, halves up", Step: stretch("hat", "bar 1", "double"), Setup: earlyIn(24, 1),
			Before: "hat xx..",
			Look:   onsets("hat", "0 12 48 60")},
		movetest.Row{Name: "an early note stays early", Step: stretch("hat", "bar 2", "half"), Setup: earlyIn(96, 4),
			Before: "hat ....|xx..",
			Look:   onsets("hat", "92 144")},
		movetest.Row{Name: "half-time drops what would count to the bar after the span", Step: stretch("hat", "bar 2", "half"), Setup: earlyIn(144, 2),
			Before: "hat ....|xxx.|....",
			Look:   onsets("hat", "96 144")},
		movetest.Row{Name: "double-time keeps it in the span", Step: stretch("hat", "bar 2", "double"), Setup: earlyIn(168, 3),
			Before: "hat ....|x..x|....",
			Look:   onsets("hat", "96 131 144 179")},
		movetest.Row{Name: "three beats in half-time", Step: stretch("hat", "", "half"),
			Before: "hat x...x.xxx...",
			After:  "hat x-......x-.."},
		movetest.Row{Name: "sounds on one channel keep apart", Step: stretch("kick", "bar 1", "half"), Setup: sharedChannel,
			Before: "kick x.x.x.x.\nhat ..x...x.",
			After:  "kick x-..x-..\nhat ..x...x."},
		movetest.Row{Name: "without a note, as it is, with a warning", Step: stretch("hat", "bar 2", "half"),
			Before: "hat x...|....", After: "hat x...|....", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "controllers stay, polyphonic pressure goes", Step: stretch("pad", "bar 1", "half"),
			Before: "pad x-......",
			After:  "pad x---....",
			Setup: func(s song.Song) song.Song {
				e := set("cutoff", song.Point{Tick: 8, Value: 40})(s).Edit()
				e.Insert(0, smf.Channel(10, 0xA0, 60, 40))
				return e.Song()
			},
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				keyPressure("")(t, before, after, came)
				has("cutoff", "1.1+8=40")(t, before, after, came)
			}},
		movetest.Row{Name: "the speed has to be given", Step: stretch("hat", "", ""),
			Before: "hat x...", Err: "by: found nothing, want one of half, double"},
	)
}

func BenchmarkStretch(b *testing.B) { benchmarkMove(b, stretch("hat", "every 1 bar", "double")) }
