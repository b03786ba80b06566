package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
	"loopdraft/smf/song/songtest"
)

func drone(key int, over ...string) *moves.Drone {
	d := &moves.Drone{Key: key, Velocity: option.Whole}
	if len(over) > 0 {
		d.Over = where.SpansOf(over...)
	}
	return d
}

func TestDrone(t *testing.T) {
	sound := func(d *moves.Drone, channel, program int, velocity option.Share) *moves.Drone {
		d.Channel, d.Program, d.Velocity = channel, program, velocity
		return d
	}
	const aMinor = `
		bass:45 x---------------|................|................
		pad:60 x---------------|................|................
		pad:64 x-------........|................|................
`
	const same = `
		bass:45 x---------------|................|................
		pad:64 x-------........|................|................
		pad:60 x---------------|................|................
`
	movetest.Run(t,
		movetest.Row{Name: "the root of the loop, held from the start of each span to its end, told", Step: drone(0, "bar 1", "bar 3"),
			Before: aMinor, After: same + "drone-added:45 x---------------|................|x---------------",
			May: movetest.Anything, Told: []string{"the loop is heard in A minor, key 45 is held", "drone-added is a new track on channel 3; put a sound on it"}},
		movetest.Row{Name: "spans that touch have a note each", Step: drone(0, "bars 1-2", "bar 3"),
			Before: aMinor, After: same + "drone-added:45 x---------------|----------------|x---------------", May: movetest.Anything},
		movetest.Row{Name: "over all of the song, where no span is given", Step: drone(0),
			Before: aMinor, After: same + "drone-added:45 x---------------|----------------|----------------", May: movetest.Anything},
		movetest.Row{Name: "the root is the loop's, muted or not", Step: drone(0, "bar 2"),
			Loop:   "lead:67 x---............",
			Before: "lead:67 ................|................",
			After: `
				lead           ................|................
				drone-added:43 ................|x---------------`, May: movetest.Anything},
		movetest.Row{Name: "another key", Step: drone(127, "bar 1"),
			Before: aMinor, After: same + "drone-added:127 x---------------|................|................", May: movetest.Anything},
		movetest.Row{Name: "the lowest key", Step: drone(1, "bar 1"),
			Before: aMinor, After: same + "drone-added:1 x---------------|................|................", May: movetest.Anything},
		movetest.Row{Name: "drums alone have no key: a warning", Step: drone(0, "bar 1"),
			Before: "kick x...x...x...x...", After: "kick x...x...x...x...", Warned: []string{"no key is heard in the loop"}},
		movetest.Row{Name: "unless one is given", Step: drone(40, "bar 1"),
			Before: "kick x...x...x...x...", After: "kick x...x...x...x...\ndrone-added:40 x---------------", May: movetest.Anything},
		movetest.Row{Name: "a share of 100", Step: sound(drone(40, "bar 1"), 0, 0, 70*percent),
			Before: "kick x...x...x...x...", May: movetest.Anything, Look: velocities("drone-added", "70")},
		movetest.Row{Name: "at most 127", Step: sound(drone(40, "bar 1"), 0, 0, 200*percent),
			Before: "kick x...x...x...x...", May: movetest.Anything, Look: velocities("drone-added", "127")},
		movetest.Row{Name: "a channel and program of its own", Step: sound(drone(40, "bar 1"), 16, 1, option.Whole),
			Before: "kick x...x...x...x...", May: movetest.Anything, Told: []string{"drone-added is a new track on channel 16 with program 1"},
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				p := after.Parts[1]
				for _, ev := range after.Tracks[p.Track].Events {
					if ev.Kind() == 0xC0 && ev.Chan() == 15 && ev.Data1() == 0 && ev.Tick == 0 && p.Role == song.RoleDrone {
						return
					}
				}
				t.Errorf("no program 1 on channel 16, or no drone: %s", p.Role)
			}},
		movetest.Row{Name: "no free channel names channel", Step: drone(40, "bar 1"),
			Before: channels(), Err: "channel: found no channel that is free for drone-added"},
		movetest.Row{Name: "a loop that has such a part keeps it", Step: drone(40, "bar 1"),
			Before: "drone-added:50 x---............",
			After: `
				drone-added:50   x---............
				drone-added-2:40 x---------------`, May: movetest.Anything},
		movetest.Row{Name: "a span that is none", Step: drone(40, "bar 9"),
			Before: "kick x...x...x...x...", Err: "over: "},
	)
}

func TestALaterDronePlaysOnTheSameTrack(t *testing.T) {
	in := mustGrid(t, "kick x...............|x...............")
	out, err := moves.RunAll(&moves.Env{Strict: true}, in, drone(40, "bar 1"), drone(45, "bar 2"))
	if err != nil {
		t.Fatal(err)
	}
	want := `kick           x...............|x...............
drone-added:45 ................|x---------------
drone-added:40 x---------------|................
`
	if got := song.Grid(out.Song); got != want {
		t.Errorf("\ngot\n%s\nwant\n%s", got, want)
	}
}

// TestATrackWithoutNotesOccupiesNoChannel sets up all sixteen channels and plays on the first: the drone takes the second,
// and what was set on it is gone and told. A channel that nobody speaks of comes first.
func TestATrackWithoutNotesOccupiesNoChannel(t *testing.T) {
	for _, row := range []struct {
		rule   string
		setUp  byte // the channels that are set up, from the first
		want   uint8
		events int // of the track that sets up, afterwards
		told   int
	}{
		{"all are set up", 16, 1, 30, 2},
		{"three are free", 13, 13, 26, 1},
	} {
		var setUp []smf.Event
		for c := range row.setUp {
			setUp = append(setUp, smf.Channel(0, 0xC0|c, 5, 0), smf.Channel(0, 0xB0|c, 7, 0))
		}
		in := songtest.Song(t, songtest.Bar, setUp, []smf.Event{songtest.On(0, 60, 100), songtest.Off(96, 60)})
		out, err := moves.RunAll(&moves.Env{Strict: true}, in, drone(40, "bar 1"))
		if err != nil {
			t.Fatalf("%s: %v", row.rule, err)
		}
		p := out.Song.Parts[len(out.Song.Parts)-1]
		if got := len(out.Song.Tracks[0].Events); p.Name != "drone-added" || p.Channel != row.want || got != row.events || len(out.Remarks) != row.told {
			t.Errorf("%s: found %s on channel %d, %d events of set-up, %d remarks; want channel %d, %d, %d", row.rule,
				p.Name, p.Channel+1, got, len(out.Remarks), row.want+1, row.events, row.told)
		}
	}
}

func TestKeysOfADrone(t *testing.T) {
	m, _ := moves.All().Lookup("drone")
	for _, row := range []struct {
		text string
		ok   bool
	}{{"0", false}, {"1", true}, {"127", true}, {"128", false}} {
		if err := m.Set(m.New(), "key", []string{row.text}, false); (err == nil) != row.ok {
			t.Errorf("key %s: %v", row.text, err)
		}
	}
}
