package moves_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// randomGrid makes a grid of four bars: each part has up to three keys, and notes of any length.
func randomGrid(chance *moves.Rand) string {
	var out strings.Builder
	for _, name := range []string{"kick", "snare", "hat", "bass", "lead", "pad", "crash"}[:2+chance.Intn(6)] {
		for key := range 1 + chance.Intn(3) {
			row, held := make([]byte, 64), false
			for i := range row {
				letters := "....xXo"
				if held {
					letters = "..--xXo"
				}
				row[i] = letters[chance.Intn(len(letters))]
				held = row[i] != '.'
			}
			fmt.Fprintf(&out, "%s:%d %s\n", name, 40+key, row)
		}
	}
	return out.String()
}

// shaken moves notes by a few ticks, so that some are early, some late, and some ring into others.
func shaken(chance *moves.Rand) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		for i := range s.Parts {
			var notes []song.Note
			e.Map(i, func(n song.Note) (song.Note, bool) { notes = append(notes, n); return n, false })
			for _, n := range notes {
				n.Start = max(n.Start+song.Tick(chance.Intn(13)-6), 0)
				n.End += song.Tick(chance.Intn(40))
				e.Place(i, n)
			}
		}
		return e.Song()
	}
}

// TestPromisesOnRandomSongs runs steps on songs nobody would write: whatever comes out keeps the
// promises of movetest.
func TestPromisesOnRandomSongs(t *testing.T) {
	steps := []struct {
		step moves.Step
		may  func(song.Part, song.Tick) bool
	}{
		{double("all", "bars 2-3"), nil},
		{&moves.Double{Target: target("hat or snare", "last 2 beats of every 1 bar of drop"), Spacing: "1/16", Velocity: 120 * percent}, nil},
		{thin("all", "drop", 30*percent, ""), nil},
		{thin("all", "bars 1-3", 60*percent, "even"), nil},
		{thin("all", "", 70*percent, "chance"), nil},
		{roll("snare", "bars 1-2", "1/4", "1/32", "auto"), movetest.Anything},
		{roll("kick", "bar 3", "1/8", "1/16", "2 beats"), movetest.Anything},
		{hit("crash", option.Whole, "drop", "2.2"), movetest.Anything},
		{&moves.Solo{Target: target("kick", "bar 2")}, movetest.Anything},
		{vary("all", "", option.Whole), nil},
		{vary("all", "every other 1 beat", 5*percent), nil},
		{varyAnchors(vary("all", "1.3-3.2", 40*percent)), nil},
		{fill("drums", "last 1 bar of drop"), movetest.Anything},
		{swell("hat or snare or kick", "bars 1-2", "auto"), movetest.Anything},
		{layer("all", "bars 2-3", 0, "copy"), movetest.Anything},
		{layer("music", "drop", 7, ""), nil},
		{&moves.Thin{Target: target("all", "bars 2-3"), Keep: moves.KeepBeats(1, 3)}, nil},
		{&moves.Shape{Target: target("all", "drop"), To: option.Whole, Curve: moves.Exp}, nil},
		{hit("impact", option.Whole, "drop"), movetest.Anything},
		{hit("kick", option.Whole, "drop", "2.2"), movetest.Anything},
		{plain("all", ""), nil},
		{duck("bass if any", "bars 2-3", 30), movetest.Anything},
		{ride("all", "drop", "cutoff", "10", "home", moves.Exp), movetest.Anything},
	}
	for seed := range uint64(oracle.Size(1, 10, 200)) {
		chance := moves.NewRand(seed)
		grid, setup := randomGrid(chance), shaken(moves.NewRand(seed, 1))
		for i, s := range steps {
			t.Run(fmt.Sprintf("song %d step %d", seed, i), func(t *testing.T) {
				movetest.Check(tolerant{t}, movetest.Row{Step: s.step, Before: grid, Sections: "intro 2, drop 2", May: s.may, Setup: setup})
			})
		}
	}
}

// tolerant passes over warnings, which random songs give for good reasons.
type tolerant struct{ *testing.T }

func (r tolerant) Errorf(format string, args ...any) {
	if !strings.HasPrefix(format, "warned") {
		r.T.Errorf(format, args...)
	}
}
