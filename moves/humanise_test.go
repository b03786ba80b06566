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

func humanise(part, over string, timing, velocity int) *moves.Humanise {
	return &moves.Humanise{Target: target(part, over), Timing: moves.Deviation{Most: timing, Set: true}, Velocity: moves.Deviation{Most: velocity, Set: true}}
}

func anchored(h *moves.Humanise) *moves.Humanise { h.Anchors = true; return h }

// deviates holds a part's notes within milliseconds and steps of velocity of what they were, in their
// order and bars; it wants some of them moved.
func deviates(part string, timing, velocity int) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
		t.Helper()
		was, is := before.Parts[before.Index(part)].Notes, after.Parts[after.Index(part)].Notes
		if len(was) != len(is) {
			t.Errorf("%d notes of %s, want %d", len(is), part, len(was))
			return
		}
		tl, times, levels := after.Time(), 0, 0
		for i, n := range is {
			m := was[i]
			micros := max(tl.Micros(n.Start)-tl.Micros(m.Start), tl.Micros(m.Start)-tl.Micros(n.Start))
			steps := max(int(n.Vel)-int(m.Vel), int(m.Vel)-int(n.Vel))
			if micros > int64(timing)*1000 || steps > velocity || n.Key != m.Key {
				t.Errorf("note %d of %s is %d us and %d steps away, want at most %d ms and %d", i, part, micros, steps, timing, velocity)
			}
			if i > 0 && was[i-1].Start < m.Start && is[i-1].Start >= n.Start || i > 0 && was[i-1].Start == m.Start && is[i-1].Start != n.Start {
				t.Errorf("notes %d and %d of %s changed places or a chord came apart", i-1, i, part)
			}
			if a, b := tl.BarOf(before.Counted(m.Start)), tl.BarOf(after.Counted(n.Start)); a != b {
				t.Errorf("note %d of %s went from bar %d to bar %d", i, part, a, b)
			}
			times += min(int(micros), 1)
			levels += min(steps, 1)
		}
		if (times > 0) != (timing > 0) || (levels > 0) != (velocity > 0) {
			t.Errorf("%d onsets and %d velocities of %s changed, with %d ms and %d steps", times, levels, part, timing, velocity)
		}
	}
}

// same wants the notes of a part as they were.
func same(part string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return deviates(part, 0, 0)
}

func TestHumanise(t *testing.T) {
	const hats = "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx"
	movetest.Run(t,
		movetest.Row{Name: "onsets and velocities deviate, within the bounds", Step: humanise("hat", "", 5, 6), Setup: movetest.Tempo(240), Before: hats, Look: deviates("hat", 5, 6)},
		movetest.Row{Name: "timing alone", Step: humanise("hat", "", 8, 0), Setup: movetest.Tempo(240), Before: hats, Look: deviates("hat", 8, 0)},
		movetest.Row{Name: "velocity alone", Step: humanise("hat", "", 0, 10), Before: hats, Look: deviates("hat", 0, 10)},
		movetest.Row{Name: "neither", Step: humanise("hat", "", 0, 0), Before: hats, Look: same("hat")},
		movetest.Row{Name: "less than half a tick is not written: at 120 bpm a tick of the grid lasts 5.2 ms", Step: humanise("hat", "", 2, 0), Before: hats, Look: same("hat")},
		movetest.Row{Name: "the most there is", Step: humanise("hat", "", 30, 30), Before: hats, Look: deviates("hat", 30, 30)},
		movetest.Row{Name: "bar 1 is left alone", Step: humanise("hat", "bar 1", 20, 20), Before: hats, Look: same("hat")},
		movetest.Row{Name: "with anchors it moves, all but the first downbeat", Step: anchored(humanise("hat", "bar 1", 20, 20)), Before: hats,
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				deviates("hat", 20, 20)(t, before, after, came)
				if n := after.Parts[0].Notes[0]; n.Start != 0 || n.Vel != 100 {
					t.Errorf("the first downbeat moved")
				}
			}},
		movetest.Row{Name: "kick, backbeat and bass are left alone, which is told", Step: humanise("all", "", 20, 20),
			Before: `
				kick x...x...|x...x...
				clap ....x...|....x...
				bass ..x...x.|..x...x.`,
			After: `
				kick x...x...|x...x...
				clap ....x...|....x...
				bass ..x...x.|..x...x.`,
			Told: []string{"humanise: kick, clap and bass left alone"}},
		movetest.Row{Name: "with anchors they move", Step: anchored(humanise("kick", "bars 2-4", 20, 20)),
			Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...", Look: deviates("kick", 20, 20)},
		movetest.Row{Name: "a chord moves together", Step: humanise("pad", "bar 2", 20, 0),
			Before: `
				pad:64 x---x---x---x---|x---x---x---x---
				pad:60 x---x---x---x---|x---x---x---x---`, Look: deviates("pad", 20, 0)},
		movetest.Row{Name: "what was tied stays tied", Step: humanise("lead", "bar 2", 20, 0),
			Before: `
				lead:62 ................|..x-..x-..x-..x-
				lead:60 ................|x-..x-..x-..x-..`,
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				deviates("lead", 20, 0)(t, before, after, came)
				notes := after.Parts[0].Notes
				for i := range notes[:len(notes)-1] {
					if notes[i].End != notes[i+1].Start {
						t.Errorf("note %d ends at %d, the next starts at %d", i, notes[i].End, notes[i+1].Start)
					}
				}
			}},
		movetest.Row{Name: "a glide keeps its overlap", Step: humanise("lead", "bar 2", 20, 0),
			Before: `
				lead:62 ................|..x-..x-..x-..x-
				lead:60 ................|x--.x--.x--.x--.`,
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				deviates("lead", 20, 0)(t, before, after, came)
				for i := 0; i < 8; i += 2 {
					if n := after.Parts[0].Notes; n[i].End <= n[i+1].Start {
						t.Errorf("note %d no longer overlaps the next", i)
					}
				}
			}},
		movetest.Row{Name: "onsets a tick apart do not change places", Step: humanise("hat", "bar 2", 30, 0), Steps: 96,
			Before: "hat " + dots(384) + "|xxx.x" + dots(379),
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				for i, n := range after.Parts[0].Notes[1:] {
					if n.Start <= after.Parts[0].Notes[i].Start {
						t.Errorf("note %d starts at %d", i+1, n.Start)
					}
				}
			}},
		movetest.Row{Name: "each stays in its span, several of them", Step: humanise("hat", "beat 2 of every 1 bar", 30, 30), Sections: "drop 4", Before: hats, Look: deviates("hat", 30, 30)},
		movetest.Row{Name: "a part that ends inside the span", Step: humanise("hat", "", 20, 20),
			Before: "hat xxxx....|xxxx....|........|........", Look: deviates("hat", 20, 20)},
		movetest.Row{Name: "kits that share a channel: the others stay", Step: humanise("hat", "", 20, 20), Setup: sharing,
			Before: "hat x.x.x.x.|x.x.x.x.\nkick x.......|x.......", Look: same("kick"), Told: nil},
		movetest.Row{Name: "more than the most is a mistake", Step: humanise("hat", "", 31, 0), Before: hats, Err: "timing: found 31, want 0 to 30"},
		movetest.Row{Name: "of velocity too", Step: humanise("hat", "", 0, 31), Before: hats, Err: "velocity: found 31, want 0 to 30"},
		movetest.Row{Name: "no part, if any", Step: humanise("hat if any", "", 5, 6), Before: "kick x...", After: "kick x..."},
	)
}

func dots(n int) string { return strings.Repeat(".", n) }

func TestTheSeedDecides(t *testing.T) {
	in := mustGrid(t, "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx")
	play := func(seed uint64, velocity int) string {
		h := humanise("hat", "", 10, velocity)
		h.Seed = option.SeedOf(seed)
		out, _ := run(t, h, in)
		var text string
		for _, n := range out.Parts[0].Notes {
			text += fmt.Sprint(n.Start, " ")
		}
		return text
	}
	first := play(1, 6)
	if again := play(1, 6); again != first {
		t.Error("one seed must play one way")
	}
	if play(2, 6) == first {
		t.Error("another seed must play another way")
	}
	if play(1, 0) != first {
		t.Error("the timing must not depend on the velocities")
	}
}
