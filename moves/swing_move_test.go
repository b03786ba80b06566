package moves_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

func swing(part, over string, amount option.Share, grid string) *moves.Swing {
	return &moves.Swing{Target: target(part, over), Amount: amount, Grid: grid}
}

// at makes a song at 480 ticks a quarter note, 4 bars of 4/4, with a lead note of 60 ticks at each tick.
func at(ticks ...song.Tick) song.Song {
	s := song.Blank(480, nil, nil, 4*1920)
	e := s.Edit()
	p := e.NewPart(song.Part{Name: "lead", Role: song.RoleLead, Job: song.JobHook})
	for _, t := range ticks {
		e.Place(p, song.Note{Start: t, End: t + 60, Key: 60, Vel: 100})
	}
	return e.Song()
}

func TestSwingPlaces(t *testing.T) {
	// The off sixteenth at s % in 480 ppq is tick 240 x s/100 of the eighth, rounded half up: 50: 120,
	// 54: 129.6, 55: 132, 58: 139.2, 60: 144, 62.5: 150, 66.67: 160, 75: 180 (computed).
	for _, tt := range []struct {
		amount  option.Share
		grid    string
		at, off song.Tick
	}{
		{5000, "1/16", 120, 120}, {5400, "1/16", 120, 130}, {5500, "1/16", 120, 132}, {5800, "1/16", 120, 139},
		{6000, "1/16", 120, 144}, {6250, "1/16", 120, 150}, {6667, "1/16", 120, 160}, {7500, "1/16", 120, 180},
		{6667, "1/8", 240, 320}, {6670, "1/8", 240, 320}, {7500, "1/8", 240, 360}, {7500, "1/8", 120, 180}, {7500, "1/16", 240, 240},
	} {
		in := at(0, tt.at, 480)
		out, _ := run(t, swing("lead", "", tt.amount, tt.grid), in)
		n := out.Parts[0].Notes
		if n[0].Start != 0 || n[1].Start != tt.off || n[2].Start != 480 {
			t.Errorf("%s of %s: %d is played at %d, want %d; beats at %d and %d, want 0 and 480", tt.amount, tt.grid, tt.at, n[1].Start, tt.off, n[0].Start, n[2].Start)
		}
	}
}

func TestSwing(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "every second sixteenth comes late", Step: swing("hat", "bar 2", 75*percent, "1/16"), Steps: 8,
			Before: "hat x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.|x-.xx-.xx-.xx-.xx-.xx-.xx-.xx-.x"},
		movetest.Row{Name: "note-offs move along: what was tied stays tied", Step: swing("lead", "bar 2", 75*percent, "1/16"), Steps: 8,
			Before: "lead ................................|x-x-x-x-........................",
			After:  "lead ................................|x--xx--x........................"},
		movetest.Row{Name: "other parts stay", Step: swing("hat", "", 75*percent, "1/16"), Steps: 8,
			Before: `
				hat  x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.
				clap ..x...............x.............`,
			After: `
				hat  x-.xx-.xx-.xx-.xx-.xx-.xx-.xx-.x
				clap ..x...............x.............`},
		movetest.Row{Name: "the loop's own swing is replaced: 50 % plays straight", Step: swing("hat", "", 50*percent, "1/16"), Setup: late(6),
			Before: "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx",
			Look:   onsets("hat", "0 24 48 72 96 120 144 168 192 216 240 264 288 312 336 360 384 408 432 456 480 504 528 552 576 600 624 648 672 696 720 744")},
		movetest.Row{Name: "a swing it has already changes nothing", Step: swing("hat", "", 6250, "1/16"), Setup: late(6),
			Before: "hat xxxxxxxxxxxxxxxx",
			Look:   onsets("hat", "0 30 48 78 96 126 144 174 192 222 240 270 288 318 336 366")},
		movetest.Row{Name: "several spans", Step: swing("hat", "last 1 beat of every 1 bar", 75*percent, "1/8"), Sections: "drop 2",
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.x-.x|x.x.x.x.x.x.x-.x"},
		movetest.Row{Name: "a note that starts in a span stays in it", Step: swing("lead", "1/64 after 1.1", 75*percent, "1/8"), Steps: 96,
			Before: "lead .....x" + strings.Repeat(".", 378), After: "lead .....x" + strings.Repeat(".", 378)},
		movetest.Row{Name: "a note that rings out of the span ends where it did", Step: swing("pad", "1.1-1.2", 75*percent, "1/8"),
			Before: "pad ..x---..........", After: "pad ...x--.........."},
		movetest.Row{Name: "a part that ends inside the span", Step: swing("hat", "bars 1-2", 75*percent, "1/8"),
			Before: `
				hat  x.x.............|................
				kick x...x...x...x...|x...x...x...x...`,
			After: `
				hat  x-.x............|................
				kick x...x...x...x...|x...x...x...x...`},
		movetest.Row{Name: "kits that share a channel: the others' hits stay", Step: swing("hat", "", 75*percent, "1/8"), Setup: sharing,
			Before: "hat  ..x...x...x...x.\nperc ..x...x...x...x.",
			After:  "hat  ...x...x...x...x\nperc ..x...x...x...x."},
		movetest.Row{Name: "6/8 does not swing", Step: swing("hat", "", 75*percent, "1/16"), Setup: sixEight,
			Before: "hat xxxxxxxxxxxx|xxxxxxxxxxxx",
			After:  "hat xxxxxxxxxxxx|xxxxxxxxxxxx"},
		movetest.Row{Name: "early is no swing", Step: swing("hat", "", 4999, "1/16"), Before: "hat x...", Err: "amount: found 49.99%, want 50% to 75%"},
		movetest.Row{Name: "dotted is the most", Step: swing("hat", "", 7501, "1/16"), Before: "hat x...", Err: "amount: found 75.01%, want 50% to 75%"},
		movetest.Row{Name: "no part, if any", Step: swing("hat if any", "", 60*percent, "1/16"), Before: "kick x...", After: "kick x..."},
	)
}

func TestSwingKeepsTheOrderOfNotes(t *testing.T) {
	for amount := option.Share(5000); amount <= 7500; amount += 125 {
		var ticks []song.Tick
		for i := range song.Tick(64) {
			ticks = append(ticks, i*67)
		}
		in := at(ticks...)
		out, _ := run(t, swing("lead", "", amount, "1/16"), in)
		last := song.Tick(-1)
		for _, n := range out.Parts[0].Notes {
			if n.Start < last {
				t.Fatal(fmt.Sprint(amount, ": ", n.Start, " after ", last))
			}
			last = n.Start
		}
		if len(out.Parts[0].Notes) != len(ticks) {
			t.Errorf("%s: %d notes are left of %d", amount, len(out.Parts[0].Notes), len(ticks))
		}
	}
}
