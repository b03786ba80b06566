package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func reverse(part, over string) *moves.Reverse {
	return &moves.Reverse{Target: target(part, over)}
}

func TestReverse(t *testing.T) {
	lengths := func(ticks song.Tick) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			e := s.Edit()
			e.Map(0, func(n song.Note) (song.Note, bool) { n.End = n.Start + ticks; return n, true })
			return e.Song()
		}
	}
	movetest.Run(t,
		movetest.Row{Name: "ends become onsets", Step: reverse("bass", "bar 2"),
			Before: "bass x-..x---........|x-..x---........",
			After:  "bass x-..x---........|........x---..x-"},
		movetest.Row{Name: "keys and velocities stay with their notes", Step: reverse("lead", "bar 1"),
			Before: `
				lead:60 X-......
				lead:64 ..o-....
				lead:67 ....x---`,
			After: `
				lead:67 x---....
				lead:64 ....o-..
				lead:60 ......X-`},
		movetest.Row{Name: "a chord that ends together starts together", Step: reverse("stab", "bar 1"),
			Before: "stab:64 ..x-....\nstab:60 x---....",
			After:  "stab:64 ....x-..\nstab:60 ....x---"},
		movetest.Row{Name: "several spans, each by itself", Step: reverse("hat", "every 1 bar"), Sections: "groove 2",
			Before: "hat xX......|x.o.....",
			After:  "hat ......Xx|.....o.x"},
		movetest.Row{Name: "a part of a bar", Step: reverse("hat", "last 1 beat"),
			Before: "hat xX..xX..",
			After:  "hat xX....Xx"},
		movetest.Row{Name: "a note that rings past the span ends with it", Step: reverse("bass", "bar 1"),
			Before: "bass x.....x-|--x.....",
			After:  "bass x-.....x|..x....."},
		movetest.Row{Name: "so does a drum", Step: reverse("ride", "bar 1"),
			Before: "ride x.....x-|--x.....",
			After:  "ride x-.....x|..x....."},
		movetest.Row{Name: "a pitched note that rings into the span ends where it begins", Step: reverse("bass", "bar 2"),
			Before: "bass ......x-|--x.....",
			After:  "bass ......x-|.....x.."},
		movetest.Row{Name: "a drum rings on", Step: reverse("ride", "bar 2"),
			Before: "ride ......x-|--x.....",
			After:  "ride ......x-|--...x.."},
		movetest.Row{Name: "a pad held into the span is turned round from there on", Step: reverse("pad", "bar 2"),
			Before: "pad ....x---|--x.....",
			After:  "pad ....x---|.....xx-"},
		movetest.Row{Name: "a pad held over the end is struck again there", Step: reverse("pad", "bar 1"),
			Before: "pad ......x-|----....",
			After:  "pad x-......|x---....", May: movetest.Parts("pad")},
		movetest.Row{Name: "a note too short for the end of the span starts a 1/64 before it", Step: reverse("hat", "bar 1"), Setup: lengths(2),
			Before: "hat x..x....|x.......",
			Look:   onsets("hat", "118 186 192")},
		movetest.Row{Name: "inside a bar nothing is moved for that", Step: reverse("hat", "beat 1 of bar 1"), Setup: lengths(2),
			Before: "hat x..x....|x.......",
			Look:   onsets("hat", "22 94 192")},
		movetest.Row{Name: "an early note ends with the span", Step: reverse("hat", "bar 2"), Setup: earlyIn(192, 4),
			Before: "hat ........|x.x.....",
			Look:   onsets("hat", "312 360")},
		movetest.Row{Name: "twice is as before", Step: reverse("hat", "bar 2"),
			Before: "hat ....|x..x",
			After:  "hat ....|x..x"},
		movetest.Row{Name: "a part that ends inside the span comes in late", Step: reverse("lead", ""),
			Before: "lead x-x-|x-..|....",
			After:  "lead ....|..x-|x-x-"},
		movetest.Row{Name: "sounds on one channel keep apart", Step: reverse("kick", "bar 1"), Setup: sharedChannel,
			Before: "kick x...x.x.\nhat ..x...x.",
			After:  "kick .x.x...x\nhat ..x...x."},
		movetest.Row{Name: "without a note, as it is, with a warning", Step: reverse("hat", "bar 2"),
			Before: "hat x...|....", After: "hat x...|....", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "controllers stay, polyphonic pressure goes", Step: reverse("pad", "bar 1"),
			Before: "pad x-......",
			After:  "pad ......x-",
			Setup: func(s song.Song) song.Song {
				e := set("cutoff", song.Point{Tick: 8, Value: 40})(s).Edit()
				e.Insert(0, smf.Channel(10, 0xA0, 60, 40))
				return e.Song()
			},
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				keyPressure("")(t, before, after, came)
				has("cutoff", "1.1+8=40")(t, before, after, came)
			}},
	)
}

func BenchmarkReverse(b *testing.B) { benchmarkMove(b, reverse("hat", "every 1 bar")) }
