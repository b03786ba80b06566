package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func layer(part, over string, semitones int, as string) *moves.Layer {
	return &moves.Layer{Target: target(part, over), Interval: moves.Interval{Semitones: semitones, Set: true}, As: as, Velocity: option.Whole}
}

// onChannel is a layer as a new part on a channel with a program.
func onChannel(l *moves.Layer, channel, program int) *moves.Layer {
	l.Channel, l.Program = channel, program
	return l
}

// softer is a layer with a share of the velocities.
func softer(l *moves.Layer, share option.Share) *moves.Layer {
	l.Velocity = share
	return l
}

func TestLayer(t *testing.T) {
	added := movetest.Anything // the new part and its track
	movetest.Run(t,
		movetest.Row{Name: "each span gets its copy", Step: &moves.Layer{Target: moves.Target{Part: where.PartsOf("lead"), Over: where.SpansOf("bar 1", "bar 3")}, Interval: moves.Interval{Semitones: -12, Set: true}, Velocity: option.Whole},
			Before: "lead x-..x-..x-..x-..|x-..x-..x-..x-..|x-..x-..x-..x-..",
			After: `
				lead:60 x-..x-..x-..x-..|x-..x-..x-..x-..|x-..x-..x-..x-..
				lead:48 x-..x-..x-..x-..|................|x-..x-..x-..x-..`},
		movetest.Row{Name: "it has what the loop plays, muted or not", Step: layer("lead", "bar 2", 7, ""),
			Loop:   "lead x-..x-..x-..x-..",
			Before: "lead x-..x-..x-..x-..|................",
			After: `
				lead:67 ................|x-..x-..x-..x-..
				lead:60 x-..x-..x-..x-..|................`},
		movetest.Row{Name: "a copy ends with its note, at most with the span", Step: layer("pad", "bar 2", 12, ""),
			Before: "pad ............x---|--..x-..x-------|----............",
			After: `
				pad:72 ................|....x-..x-------|................
				pad:60 ............x---|--..x-..x-------|----............`},
		movetest.Row{Name: "a share of the velocity, at most the loudest", Step: softer(layer("lead", "", 12, ""), 50*percent),
			Before: "lead x-..X-..o-......",
			After:  "lead:72 o-..o-..o-......\nlead:60 x-..X-..o-......", Look: velocities("lead", "100 50 120 60 60 30")},
		movetest.Row{Name: "over all of it no louder than the loudest", Step: softer(layer("lead", "", 12, ""), 150*percent),
			Before: "lead x-..X-..o-......",
			Look:   velocities("lead", "100 120 120 120 60 90")},
		movetest.Row{Name: "where the part strikes the key itself its own note stands", Step: layer("lead", "", 12, ""),
			Before: "lead:72 o-..............\nlead:60 x-..x-..........",
			After: `
				lead:84 o-..............
				lead:72 o-..x-..........
				lead:60 x-..x-..........`},
		movetest.Row{Name: "as a new part on a free channel, told", Step: layer("bass", "bar 2", 12, "bass-up"),
			Before: "bass x-..x-..x-..x-..|x-..x-..x-..x-..",
			After: `
				bass       x-..x-..x-..x-..|x-..x-..x-..x-..
				bass-up:48 ................|x-..x-..x-..x-..`,
			May: added, Told: []string{"bass-up is a new track on channel 2; put a sound on it"},
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				p := after.Parts[1]
				if p.Role != song.RoleBass || p.Job != song.JobBass || after.Tracks[p.Track].Name != "bass-up" {
					t.Errorf("got %s, %s on track %q, want the role and job of the bass on a track of its name", p.Role, p.Job, after.Tracks[p.Track].Name)
				}
			}},
		movetest.Row{Name: "with a program of its own at the start", Step: onChannel(layer("bass", "bar 1", 0, "bass-too"), 16, 128),
			Before: "bass x-..x-..x-..x-..",
			After:  "bass x-..x-..x-..x-..\nbass-too:36 x-..x-..x-..x-..",
			May:    added, Told: []string{"channel 16 with program 128"},
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				for _, ev := range after.Tracks[after.Parts[1].Track].Events {
					if ev.Kind() == 0xC0 && ev.Chan() == 15 && ev.Data1() == 127 && ev.Tick == 0 {
						return
					}
				}
				t.Errorf("no program 128 on channel 16")
			}},
		movetest.Row{Name: "several parts share the new one", Step: layer("music", "", 12, "high"),
			Before: "bass x...........x...\nlead ....x...........",
			After: `
				bass    x...........x...
				lead    ....x...........
				high:72 ....x...........
				high:48 x...........x...`,
			May: added},
		movetest.Row{Name: "drums are not copied at an interval, told", Step: layer("all", "", 12, ""),
			Before: "kick x...x...x...x...\nlead x---............",
			After: `
				kick    x...x...x...x...
				lead:72 x---............
				lead:60 x---............`,
			Told: []string{"kick not copied at an interval"}},
		movetest.Row{Name: "but as they are", Step: layer("kick", "", 0, "kick-too"),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...x...\nkick-too:36 x...x...x...x...",
			May:    added},
		movetest.Row{Name: "key switches are left out", Step: layer("lead", "", 12, ""),
			Before: "lead:60 x---....x---....\nlead:12 x---------------",
			After: `
				lead:72 x---....x---....
				lead:60 x---....x---....
				lead:12 x---------------`},
		movetest.Row{Name: "up to 127", Step: layer("lead", "", 127, ""),
			Before: "lead:0 x---............", After: "lead:127 x---............\nlead:0 x---............"},
		movetest.Row{Name: "down to 0", Step: layer("lead", "", -127, ""),
			Before: "lead:127 x---............", After: "lead:127 x---............\nlead:0 x---............"},
		movetest.Row{Name: "a key over 127 is an error that names the note", Step: layer("lead", "", 68, ""),
			Before: "lead:60 ....x---........", Err: "interval: found 68, which takes key 60 of lead at bar 1, beat 2 to 128"},
		movetest.Row{Name: "and so is one under 0", Step: layer("lead", "", -61, ""),
			Before: "lead:60 x---............", Err: "to -1, want keys that stay within 0 to 127"},
		movetest.Row{Name: "by no interval a part comes in where it is silent", Step: layer("lead", "bar 2", 0, ""), Loop: "lead x---..x-", Sections: "groove 3",
			Before: "lead x---..x-|........|x---..x-", After: "lead x---..x-|x---..x-|x---..x-"},
		movetest.Row{Name: "where it plays there is nothing to copy by no interval", Step: layer("lead", "", 0, ""), Before: "lead x---..x-", After: "lead x---..x-",
			Warned: []string{"nothing to layer: lead has no note there to copy"}},
		movetest.Row{Name: "a program is a new part's", Step: onChannel(layer("lead", "", 12, ""), 0, 5),
			Before: "lead x---............", Err: "program: found 5, want as to name the new part"},
		movetest.Row{Name: "a channel too", Step: onChannel(layer("lead", "", 12, ""), 5, 0),
			Before: "lead x---............", Err: "channel: found 5, want as to name the new part"},
		movetest.Row{Name: "a name that is none", Step: layer("lead", "", 12, "Lead Up"),
			Before: "lead x---............", Err: `as: found "Lead Up", want lower-case letters`},
		movetest.Row{Name: "a name that a part of the loop has", Step: layer("lead", "", 12, "bass"),
			Before: "lead x---............\nbass x...............", Err: "as: found bass, want a name that no part of the loop has"},
		movetest.Row{Name: "no free channel names channel", Step: layer("lead-a", "", 12, "high"),
			Before: channels(), Err: "channel: found no channel that is free for high, want the channel to use, 1 to 16"},
		movetest.Row{Name: "which then shares one", Step: onChannel(layer("lead-a", "", 12, "high"), 1, 0),
			Before: channels(), May: added,
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				if p := after.Parts[after.Index("high")]; p.Channel != 0 || len(p.Notes) != 1 {
					t.Errorf("got %d notes on channel %d, want 1 on channel 1", len(p.Notes), p.Channel+1)
				}
			}},
		movetest.Row{Name: "a span in which the part never plays is warned", Step: layer("lead", "bar 2", 12, "high"),
			Before: "lead x---............|................",
			After:  "lead x---............|................", Warned: []string{"nothing to layer"}},
		movetest.Row{Name: "a part that ends inside the span", Step: layer("lead", "bars 1-2", 12, ""),
			Before: "lead x---....x---....|................",
			After: `
				lead:72 x---....x---....|................
				lead:60 x---....x---....|................`},
	)
}

// channels is a loop of 17 parts that use every channel.
func channels() string {
	grid := ""
	for i := range 17 {
		grid += "lead-" + string(rune('a'+i)) + " x---............\n"
	}
	return grid
}

func TestALaterLayerPlaysOnTheTrackOfItsName(t *testing.T) {
	in := mustGrid(t, "lead x---............|x---............")
	env := &moves.Env{Strict: true, Full: in}
	out, err := moves.RunAll(env, in, onChannel(layer("lead", "bar 1", 12, "high"), 3, 10), onChannel(layer("lead", "bar 2", 7, "high"), 3, 10))
	if err != nil {
		t.Fatal(err)
	}
	want := `lead    x---............|x---............
high:72 x---............|................
high:67 ................|x---............
`
	if got := song.Grid(out.Song); got != want {
		t.Errorf("\ngot\n%s\nwant\n%s", got, want)
	}
	for _, row := range []struct {
		step *moves.Layer
		want string
	}{
		{onChannel(layer("lead", "bar 1", 5, "high"), 4, 0), "channel: found 4, want 3, the channel that high has already"},
		{onChannel(layer("lead", "bar 1", 5, "high"), 0, 11), "program: found 11, want the program that high has already, or none"},
	} {
		if _, err := moves.Run(env, row.step, out.Song); err == nil || err.Error() != row.want {
			t.Errorf("got %v, want %s", err, row.want)
		}
	}
}

func TestIntervalTexts(t *testing.T) {
	for _, row := range []struct {
		text string
		ok   bool
	}{{"0", true}, {"12", true}, {"-12", true}, {"127", true}, {"-127", true}, {"128", false}, {"-128", false}, {"octave", false}, {"7.5", false}} {
		var i moves.Interval
		err := i.UnmarshalTexts([]string{row.text})
		if (err == nil) != row.ok || row.ok && (i.IsZero() || i.Texts()[0] != row.text) {
			t.Errorf("%q: got %v, %v", row.text, i, err)
		}
	}
}
