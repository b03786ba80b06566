package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func stutter(part, over, slice string) *moves.Stutter {
	return &moves.Stutter{Target: target(part, over), Slice: value(slice)}
}

func TestStutter(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "the first slice is repeated", Step: stutter("stab", "last 2 beats", "1/8"),
			Before: "stab x..x..x.x..x..x.",
			After:  "stab x..x..x.x.x.x.x."},
		movetest.Row{Name: "with all its notes and their velocities", Step: stutter("snare", "bar 2", "1/4"),
			Before: "snare ....x.......x...|Xoo.x.......x...|....x.......x...",
			After:  "snare ....x.......x...|Xoo.Xoo.Xoo.Xoo.|....x.......x..."},
		movetest.Row{Name: "the last repetition is cut where the span ends", Step: stutter("snare", "last 2 beats", "3/16"),
			Before: "snare ....x...x.xx....",
			After:  "snare ....x...x.xx.xx."},
		movetest.Row{Name: "a pitched note ends with its slice", Step: stutter("bass", "last 2 beats", "1/8"),
			Before: "bass ........x-------",
			After:  "bass ........x-x-x-x-"},
		movetest.Row{Name: "a drum rings on until it is struck again", Step: stutter("ride", "beat 3 of bar 1", "1/8"),
			Before: "ride ........x-------",
			After:  "ride ........x-x-----"},
		movetest.Row{Name: "a pitched note that rings into the span ends where it begins", Step: stutter("bass", "last 1 beat", "1/8"),
			Before: "bass:36 ..........x-----\nbass:43 .............x..",
			After:  "bass:43 .............x.x\nbass:36 ..........x-...."},
		movetest.Row{Name: "a pad held into it is struck with each slice", Step: stutter("pad", "last 1 beat", "1/8"),
			Before: "pad x---------------",
			After:  "pad x-----------x-x-", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "a pad held over its end is struck again there", Step: stutter("pad", "beat 2 of bar 1", "1/8"),
			Before: "pad ....x-----------",
			After:  "pad ....x-x-x-------", May: movetest.Parts("pad")},
		movetest.Row{Name: "several spans", Step: stutter("hat", "last 1 beat of every 1 bar", "1/16"), Sections: "groove 2",
			Before: "hat x...x...x...x...|x...x...x...o...",
			After:  "hat x...x...x...xxxx|x...x...x...oooo"},
		movetest.Row{Name: "a part that plays nothing in the first slice is left as it is, told", Step: stutter("all", "last 1 beat", "1/8"),
			Before: "kick x...x...x...x...\nhat  ..x...x...x...x.",
			After:  "kick x...x...x...x.x.\nhat  ..x...x...x...x.",
			Told:   []string{"hat plays nothing in the first 1/8 of 1 of the spans, the first at bar 1, beat 4"}},
		movetest.Row{Name: "a span without notes is left as it is, with a warning", Step: stutter("hat", "bar 2", "1/8"),
			Before: "hat x...|....", After: "hat x...|....", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "a slice as long as the span changes nothing", Step: stutter("hat", "bar 1", "4/4"),
			Before: "hat x..xx.x.x...oo..", After: "hat x..xx.x.x...oo.."},
		movetest.Row{Name: "a longer one neither", Step: stutter("hat", "bar 1", "64/1"),
			Before: "hat x..xx.x.x...oo..|x...............", After: "hat x..xx.x.x...oo..|x..............."},
		movetest.Row{Name: "the shortest slice", Step: stutter("hat", "beat 1 of bar 1", "1/64"), Steps: 16,
			Before: "hat x...............................................................",
			After:  "hat xxxxxxxxxxxxxxxx................................................"},
		movetest.Row{Name: "triplets are rounded once, from the start of the span", Step: stutter("hat", "beat 1 of bar 1", "1/28"),
			Before: "hat x...............",
			Look:   onsets("hat", "0 14 27 41 55 69 82")},
		movetest.Row{Name: "an early note comes early in each", Step: stutter("hat", "bar 2", "1/4"), Setup: earlyIn(384, 4),
			Before: "hat x...............|x...x...x...x...",
			Look:   onsets("hat", "0 380 476 572 668")},
		movetest.Row{Name: "sounds on one channel keep apart", Step: stutter("kick", "last 1 beat", "1/8"), Setup: sharedChannel,
			Before: "kick x...x...x...x...\nhat ..x...x...x...x.",
			After:  "kick x...x...x...x.x.\nhat ..x...x...x...x."},
		movetest.Row{Name: "controllers stay, polyphonic pressure goes", Step: stutter("pad", "last 2 beats", "1/8"),
			Before: "pad x-......x-......",
			After:  "pad x-......x-x-x-x-",
			Setup: func(s song.Song) song.Song {
				e := set("cutoff", song.Point{Tick: 200, Value: 40})(s).Edit()
				e.Insert(0, smf.Channel(10, 0xA0, 60, 40))
				e.Insert(0, smf.Channel(220, 0xA0, 60, 80))
				return e.Song()
			},
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				keyPressure("10:40")(t, before, after, came)
				has("cutoff", "1.3+8=40")(t, before, after, came)
			}},
		movetest.Row{Name: "no slice is a mistake", Step: &moves.Stutter{Target: target("hat", "")},
			Before: "hat x...", Err: "slice: found nothing, want a note value"},
	)
}

// earlyIn makes what starts at a tick start so much earlier.
func earlyIn(at, by song.Tick) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		for i := range s.Parts {
			var notes []song.Note
			e.Map(i, func(n song.Note) (song.Note, bool) { notes = append(notes, n); return n, n.Start != at })
			for _, n := range notes {
				if n.Start == at {
					n.Start -= by
					e.Place(i, n)
				}
			}
		}
		return e.Song()
	}
}

func TestASliceOfNoTickIsAMistake(t *testing.T) {
	in := song.Blank(4, nil, nil, 64)
	e := in.Edit()
	e.NewPart(song.Part{Name: "hat", Role: song.RoleHat, Kit: true})
	_, err := moves.Run(&moves.Env{Strict: true}, stutter("hat", "", "1/64"), e.Song())
	if err == nil || err.Error() != "slice: found 1/64, want at least a tick" {
		t.Errorf("got %v", err)
	}
}

func BenchmarkStutter(b *testing.B) {
	benchmarkMove(b, stutter("hat", "last 1 beat of every 1 bar", "1/16"))
}
