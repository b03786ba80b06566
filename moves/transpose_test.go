package moves_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func transpose(part, over string, semitones int) *moves.Transpose {
	return &moves.Transpose{Target: target(part, over), Semitones: semitones}
}

// sharing returns a Setup that puts all parts on the track and channel of the first.
func sharing(s song.Song) song.Song {
	parts := make([]song.Part, len(s.Parts))
	for i, p := range s.Parts {
		p.Track, p.Channel = 0, 0
		for _, n := range p.Notes {
			p.Keys[n.Key>>6] |= 1 << (n.Key & 63)
		}
		parts[i] = p
	}
	s.Parts = parts
	return s
}

func TestTranspose(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "the notes that start in the span are raised", Step: transpose("lead", "bar 2", 7),
			Before: "lead x-..x-..x-..x-..|x-..x-..x-..x-..|x-..x-..x-..x-..",
			After: `
				lead:67 ................|x-..x-..x-..x-..|................
				lead:60 x-..x-..x-..x-..|................|x-..x-..x-..x-..`},
		movetest.Row{Name: "or lowered", Step: transpose("lead", "", -3),
			Before: "lead x-..x-..x-..x-..",
			After:  "lead:57 x-..x-..x-..x-.."},
		movetest.Row{Name: "octaves and semitones add up", Step: &moves.Transpose{Target: target("lead", ""), Semitones: -5, Octaves: 1},
			Before: "lead x-..x-..x-..x-..",
			After:  "lead:67 x-..x-..x-..x-.."},
		movetest.Row{Name: "a chord moves whole", Step: transpose("pad", "bar 1", 12),
			Before: "pad:60 x-------........\npad:48 x-------........",
			After:  "pad:72 x-------........\npad:60 x-------........"},
		movetest.Row{Name: "a note that rings into the span stays as it is", Step: transpose("lead", "bar 2", 7),
			Before: "lead ............x---|----....x-......",
			After: `
				lead:67 ................|........x-......
				lead:60 ............x---|----............`},
		movetest.Row{Name: "unless its key is struck there", Step: transpose("lead", "bar 2", 7),
			Before: `
				lead:67 ............x---|--------........
				lead:60 ................|x---............`,
			After: "lead:67 ............x---|x---............"},
		movetest.Row{Name: "several spans", Step: transpose("lead", "last 1 beat of every 1 bar", 7), Sections: "drop 2",
			Before: "lead x...x...x...x...|x...x...x...x...",
			After: `
				lead:67 ............x...|............x...
				lead:60 x...x...x.......|x...x...x.......`},
		movetest.Row{Name: "a part that ends inside the span", Step: transpose("lead", "bars 1-2", 7),
			Before: `
				lead x...x...........|................
				hat  x...x...x...x...|x...x...x...x...`,
			After: `
				lead:67 x...x...........|................
				hat     x...x...x...x...|x...x...x...x...`},
		movetest.Row{Name: "drums, fx and triggers are not transposed, which is told", Step: transpose("all", "", 12),
			Before: `
				kick x...x...x...x...
				fx   x---............
				lead ..x...x...x...x.`,
			After: `
				kick    x...x...x...x...
				fx      x---............
				lead:72 ..x...x...x...x.`,
			Told: []string{"transpose: kick and fx not transposed"}},
		movetest.Row{Name: "a pitched part that shares its channel with a kit", Step: transpose("lead", "bar 2", 12), Setup: sharing,
			Before: `
				kick x...x...x...x...|x...x...x...x...
				lead ..x...x...x...x.|..x...x...x...x.`,
			After: `
				kick    x...x...x...x...|x...x...x...x...
				lead:72 ................|..x...x...x...x.
				lead:60 ..x...x...x...x.|................`},
		movetest.Row{Name: "key switches are not transposed", Step: transpose("lead", "", 12),
			Before: `
				lead:60 x-..x-..x-..x-..|x-..x-..x-..x-..
				lead:12 x---------------|----------------`,
			After: `
				lead:72 x-..x-..x-..x-..|x-..x-..x-..x-..
				lead:12 x---------------|----------------`},
		movetest.Row{Name: "a low key is none that is short", Step: transpose("lead", "", 12),
			Before: "lead:60 x-..x-..x-..x-..\nlead:12 x--------------.",
			After:  "lead:72 x-..x-..x-..x-..\nlead:24 x--------------."},
		movetest.Row{Name: "nor one an octave under another key", Step: transpose("bass", "", 12),
			Before: "bass:35 x-..x-..x-..x-..\nbass:23 x---------------",
			After:  "bass:47 x-..x-..x-..x-..\nbass:35 x---------------"},
		movetest.Row{Name: "nor one at 24", Step: transpose("lead", "", 12),
			Before: "lead:60 x-..x-..x-..x-..\nlead:24 x---------------",
			After:  "lead:72 x-..x-..x-..x-..\nlead:36 x---------------"},
		movetest.Row{Name: "nor where the part has no other keys", Step: transpose("sub", "", 12),
			Before: "sub:20 x---------------",
			After:  "sub:32 x---------------"},
		movetest.Row{Name: "up to 127", Step: transpose("lead", "", 67),
			Before: "lead x...............",
			After:  "lead:127 x..............."},
		movetest.Row{Name: "and no further, with the note named", Step: transpose("lead", "", 68),
			Before: "lead ....x...........",
			Err:    "semitones: found 68, which takes key 60 of lead at bar 1, beat 2 to 128, want keys that stay within 0 to 127"},
		movetest.Row{Name: "down to 0", Step: &moves.Transpose{Target: target("lead", ""), Octaves: -5},
			Before: "lead x...............",
			After:  "lead:0 x..............."},
		movetest.Row{Name: "and no further", Step: &moves.Transpose{Target: target("lead", ""), Octaves: -6},
			Before: "lead x...............",
			Err:    "octaves: found -72, which takes key 60 of lead at bar 1, beat 1 to -12"},
		movetest.Row{Name: "an interval of nothing is a mistake", Step: &moves.Transpose{Target: target("lead", ""), Semitones: 12, Octaves: -1},
			Before: "lead x...............", Err: "semitones: found an interval of 0"},
		movetest.Row{Name: "nothing to transpose is warned", Step: transpose("lead", "bar 2", 12),
			Before: "lead x...x...x...x...|................",
			After:  "lead x...x...x...x...|................",
			Warned: []string{"no note of lead"}},
		movetest.Row{Name: "no part, if any", Step: transpose("lead if any", "", 12),
			Before: "hat x...x...x...x...", After: "hat x...x...x...x..."},
	)
}

func TestPressureGoesWithTransposedNotes(t *testing.T) {
	pressure := func(at song.Tick, key, v byte) smf.Event { return smf.Channel(at, 0xA0, key, v) }
	in := loop(t, 2*bar, []smf.Event{
		on(0, 60, 100), pressure(q, 60, 10), on(bar-q, 62, 100), off(2*q, 60),
		on(bar, 60, 100), pressure(bar, 60, 20), pressure(bar+q, 62, 30), off(bar+2*q, 60), off(bar+2*q, 62),
	})
	in.Parts[0].Name, in.Parts[0].Role, in.Parts[0].Job = "lead", song.RoleLead, song.JobHook
	out, _ := run(t, transpose("lead", "bar 2", 12), in)
	var got []string
	for _, ev := range out.Tracks[0].Events {
		if ev.Kind() == 0xA0 {
			got = append(got, fmt.Sprintf("%d=%d", ev.Data1(), ev.Data2()))
		}
	}
	if want := "60=10 72=20 62=30"; strings.Join(got, " ") != want {
		t.Errorf("got %s, want %s", strings.Join(got, " "), want)
	}
}
