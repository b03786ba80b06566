package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func hit(sound string, velocity option.Share, at ...string) *moves.Hit {
	return &moves.Hit{Sound: moves.Sound(sound), At: where.PlacesOf(at...), Velocity: velocity}
}

func TestHit(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "the loop's own crash, with its key and length", Step: hit("crash", option.Whole, "drop"), Sections: "intro 1, drop 1",
			Loop:   "crash:57 x---............",
			Before: "crash:57 ................|................",
			After:  "crash:57 ................|x---............",
			May:    movetest.Parts("crash")},
		movetest.Row{Name: "else its ride", Step: hit("crash", option.Whole, "bar 2"),
			Before: `
				ride     ..x...x...x...x.|..x...x...x...x.
				open-hat ..x...x...x...x.|..x...x...x...x.`,
			After: `
				ride     ..x...x...x...x.|x.x...x...x...x.
				open-hat ..x...x...x...x.|..x...x...x...x.`,
			May: movetest.Parts("ride")},
		movetest.Row{Name: "else its open hat", Step: hit("crash", option.Whole, "bar 2"),
			Before: `
				open-hat ..x...x...x...x.|..x...x...x...x.
				hat      x...x...x...x...|x...x...x...x...`,
			After: `
				open-hat ..x...x...x...x.|x.x...x...x...x.
				hat      x...x...x...x...|x...x...x...x...`,
			May: movetest.Parts("open-hat")},
		movetest.Row{Name: "a ride that is asked for comes before the crash", Step: hit("ride", option.Whole, "bar 2"),
			Before: `
				crash x...............|................
				ride  ..x...x...x...x.|..x...x...x...x.`,
			After: `
				crash x...............|................
				ride  ..x...x...x...x.|x.x...x...x...x.`,
			May: movetest.Parts("ride")},
		movetest.Row{Name: "else a track of its own, for a quarter note, told", Step: hit("crash", option.Whole, "bar 1", "bar 2"),
			Before: "kick x...x...x...x...|x...x...x...x...",
			After: `
				kick           x...x...x...x...|x...x...x...x...
				crash-added:49 x---............|x---............`,
			May:  movetest.Parts("crash-added"),
			Told: []string{"new track crash-added, channel 10, key 49; put a sound on it"},
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				p := after.Parts[1]
				if p.Channel != 9 || !p.Kit || p.Role != song.RoleCrash || after.Tracks[p.Track].Name != "crash-added" {
					t.Errorf("got part %+v on track %q, want a kit part on channel 10 and a track of its name", p, after.Tracks[p.Track].Name)
				}
			}},
		movetest.Row{Name: "never in somebody's kit by a guessed key", Step: hit("crash", option.Whole, "bar 1"),
			Before: "snare:49 ....x.......x...",
			After: `
				snare:49       ....x.......x...
				crash-added:49 x---............`,
			May: movetest.Parts("crash-added")},
		movetest.Row{Name: "an added hit has its share of 100", Step: hit("crash", 85*percent, "bar 1"),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...x...\ncrash-added:49 x---............",
			May:    movetest.Parts("crash-added"), Look: velocities("crash-added", "85")},
		movetest.Row{Name: "and 127 at most", Step: hit("crash", 200*percent, "bar 1"),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...x...\ncrash-added:49 X---............",
			May:    movetest.Parts("crash-added"), Look: velocities("crash-added", "127")},
		movetest.Row{Name: "its own hit has its share of the median, at most its own loudest", Step: hit("crash", 150*percent, "bar 2", "bar 3"),
			Before: "crash x...x...o.......|................|................",
			After:  "crash x...x...o.......|x...............|x...............",
			May:    movetest.Parts("crash"), Look: velocities("crash", "100 100 60 100 100")},
		movetest.Row{Name: "a softer hit that is there is made as loud, a louder one stays", Step: hit("crash", option.Whole, "bar 1", "bar 2"),
			Before: "crash o...x...x.......|X...............",
			After:  "crash x...x...x.......|X...............",
			May:    movetest.Parts("crash"), Look: velocities("crash", "100 100 100 120")},
		movetest.Row{Name: "the end of the song is no place", Step: hit("crash", option.Whole, "end"),
			Before: "crash x...............",
			After:  "crash x...............",
			Told:   []string{"no hit at the end"}, Warned: []string{"nothing is struck"}},
		movetest.Row{Name: "a sound that is none", Step: hit("gong", option.Whole, "bar 1"),
			Before: "crash x...............", Err: `sound: found "gong", want one of crash, ride, open-hat, impact; or a part, crash, or a role, job or group of theirs`},
		movetest.Row{Name: "a word that is nearly one", Step: hit("impatc", option.Whole, "bar 1"),
			Before: "kick x...............", Err: `did you mean "impact"?`},
		movetest.Row{Name: "the first chord of a part's loudest bar, as long as it is there", Step: hit("stab", option.Whole, "bar 3", "3.3"),
			Before: `
				stab:67 x---............|..X-....X-......|................
				stab:60 x---............|..X-....x-......|................`,
			After: `
				stab:67 x---............|..X-....X-......|X-......X-......
				stab:60 x---............|..X-....x-......|X-......X-......`,
			May: movetest.Parts("stab")},
		movetest.Row{Name: "of bars that are as loud the first", Step: hit("stab", option.Whole, "bar 3"),
			Before: `
				stab:67 x---............|................|................
				stab:60 ................|x---............|................`,
			After: `
				stab:67 x---............|................|x---............
				stab:60 ................|x---............|................`,
			May: movetest.Parts("stab")},
		movetest.Row{Name: "each of its notes with its share, at most the part's loudest", Step: hit("stab", 50*percent, "bar 2"),
			Before: `
				stab:67 X---............|................
				stab:60 x---............|................`,
			May: movetest.Parts("stab"), Look: velocities("stab", "120 100 50 60")},
		movetest.Row{Name: "what it strikes there already is made as loud", Step: hit("stab", option.Whole, "bar 2"),
			Before: "stab:60 x---x---........|o---............",
			After:  "stab x---x---........|x---............", May: movetest.Parts("stab")},
		movetest.Row{Name: "a part that the line-up has out", Step: hit("stab", option.Whole, "bar 2"), Loop: "kick x...............\nstab x---............", Sections: "intro 2",
			Before: `
				kick x...............|x...............
				stab ................|................`,
			After: `
				kick x...............|x...............
				stab ................|x---............`, May: movetest.Parts("stab")},
		movetest.Row{Name: "one part and no more", Step: hit("drums", option.Whole, "bar 1"),
			Before: "kick x...............\nhat x...............", Err: `sound: found drums, which is kick and hat, want one part; did you mean "kick"?`},
		movetest.Row{Name: "a part that is not there, if any", Step: hit("stab if any", option.Whole, "bar 1"),
			Before: "kick x...............", After: "kick x...............", Nothing: remark.NoPart},
		movetest.Row{Name: "an impact is one beat of key 36 on a track of its own", Step: hit("impact", option.Whole, "every drop"), Sections: "intro 1, drop 1",
			Before: "kick x...x...x...x...|x...x...x...x...",
			After: `
				kick            x...x...x...x...|x...x...x...x...
				impact-added:36 ................|x---............`,
			May: movetest.Parts("impact-added"), Told: []string{"impact-added is a new track on channel 2; put a sound on it"}},
		movetest.Row{Name: "with a number where the loop has such a part", Step: hit("impact", option.Whole, "bar 1"),
			Before: "impact-added:36 ....x---........",
			After: `
				impact-added:36   ....x---........
				impact-added-2:36 x---............`, May: movetest.Parts("impact-added-2")},
		movetest.Row{Name: "the loop's own impact comes first", Step: hit("impact", option.Whole, "bar 2"),
			Before: "impact:40 x-------........|................",
			After:  "impact:40 x-------........|x-------........", May: movetest.Parts("impact")},
		movetest.Row{Name: "the start of every drop", Step: hit("crash", option.Whole, "every drop"), Sections: "intro 1, drop 1, break 1, drop 1",
			Before: "crash ....x...........|................|................|................",
			After:  "crash ....x...........|x...............|................|x...............",
			May:    movetest.Parts("crash")},
	)
}

func TestASecondHitUsesTheAddedTrack(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...|x...x...x...x...|x...x...x...x...")
	out, err := moves.RunAll(&moves.Env{Strict: true}, in, hit("crash", option.Whole, "bar 1"), hit("crash", 50*percent, "bar 3"))
	if err != nil {
		t.Fatal(err)
	}
	want := "kick           x...x...x...x...|x...x...x...x...|x...x...x...x...\ncrash-added:49 x---............|................|o---............\n"
	if got := song.Grid(out.Song); got != want {
		t.Errorf("\ngot\n%s\nwant\n%s", got, want)
	}
}

func TestAFileOfOneTrackGetsAnother(t *testing.T) {
	f := fromFile(t, mustGrid(t, "kick x...x...x...x...").File()).File()
	f.Format, f.Tracks = 0, f.Tracks[:1]
	in := fromFile(t, f)
	in.Parts[0].Name = "kick"
	out, _ := run(t, hit("crash", option.Whole, "bar 1"), in)
	if g := out.File(); g.Format != 1 || len(g.Tracks) != 2 {
		t.Errorf("got format %d with %d tracks, want format 1 with the old track and the new one", g.Format, len(g.Tracks))
	}
}
