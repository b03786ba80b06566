package moves_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// freshen changes lines every 2 bars, by one kind of change or any.
func freshen(with ...string) *moves.Freshen {
	return &moves.Freshen{Every: 2, With: with}
}

// TestFreshenTakesNoStepThatDoesNothing holds that an effect, which has no octave, is not the second change of a line.
func TestFreshenTakesNoStepThatDoesNothing(t *testing.T) {
	s, err := song.ParseGrid("kick " + strings.Repeat("x...x...x...x...", 10) + "\nhat " + strings.Repeat("X...X...X...X...", 10) + "\nfx " + strings.Repeat("x---------------", 10))
	if err != nil {
		t.Fatal(err)
	}
	s = s.WithSections([]song.Section{{Name: "drop", Kind: song.KindDrop, Bar: 1, Bars: 10}})
	s.Parts[2].Job = song.JobExtra
	f := freshen("ghosts", "octave")
	f.Over = where.SpansOf("bars 9-10")
	for seed := range uint64(8) {
		x, err := moves.Expand(&moves.Env{Strict: true, Seed: seed + 1}, f, s)
		if err != nil {
			t.Fatal(err)
		}
		for _, step := range x.Steps {
			if step.Name() != "ghost" {
				t.Errorf("seed %d: got the step %s", seed+1, step.Name())
			}
		}
		if len(x.Steps) == 0 {
			t.Errorf("seed %d: got no step", seed+1)
		}
	}
}

func TestFreshen(t *testing.T) {
	over := func(f *moves.Freshen, span string) *moves.Freshen {
		f.Over = where.SpansOf(span)
		return f
	}
	only := func(f *moves.Freshen, part string) *moves.Freshen {
		f.Part = where.PartsOf(part)
		return f
	}
	changedOnly := func(name string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
		return func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
			for i, p := range after.Parts {
				if changed := !slices.Equal(p.Notes, before.Parts[i].Notes); changed != (p.Name == name) {
					t.Errorf("%s changed: %v", p.Name, changed)
				}
			}
		}
	}
	every := func(f *moves.Freshen, bars where.Bars) *moves.Freshen {
		f.Every = bars
		return f
	}
	const hats4 = "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x."
	const kicks4 = "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x..."
	const bass4 = "bass x---------------|x---------------|x---------------|x---------------"
	movetest.Run(t,
		movetest.Row{Name: "a top at half, then whole: that changes two lines", Step: freshen("half"), May: movetest.Parts("hat"),
			Before: kicks4 + "\n" + hats4,
			After:  kicks4 + "\nhat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x...x...x...x...|x...x...x...x..."},
		movetest.Row{Name: "without tops the bass", Step: freshen("half"), May: movetest.Parts("bass"),
			Before: kicks4 + "\nbass x-x-x-x-x-x-x-x-|x-x-x-x-x-x-x-x-|x-x-x-x-x-x-x-x-|x-x-x-x-x-x-x-x-",
			After:  kicks4 + "\nbass x-x-x-x-x-x-x-x-|x-x-x-x-x-x-x-x-|x-..x-..x-..x-..|x-..x-..x-..x-.."},
		movetest.Row{Name: "of several only the part that is named", Step: only(freshen(), "hat"), May: movetest.Parts("hat"),
			Before: kicks4 + "\n" + bass4 + "\n" + hats4,
			Look:   changedOnly("hat")},
		movetest.Row{Name: "which would not be the first otherwise", Step: only(freshen("half"), "kick"), May: movetest.Parts("kick"),
			Before: kicks4 + "\n" + hats4,
			After:  "kick x...x...x...x...|x...x...x...x...|x.......x.......|x.......x.......\n" + hats4},
		movetest.Row{Name: "a part that is not there changes nothing, if any", Step: only(freshen(), "shaker if any"), Before: hats4, After: hats4,
			Told: []string{"freshen: nothing the loop has changes bar 3"}},
		movetest.Row{Name: "else it is a mistake", Step: only(freshen(), "shaker"), Before: hats4, Err: "part: found \"shaker\""},
		movetest.Row{Name: "the kick alone", Step: freshen("half"), May: movetest.Parts("kick"),
			Before: kicks4, After: "kick x...x...x...x...|x...x...x...x...|x.......x.......|x.......x......."},
		movetest.Row{Name: "ghosts in a top", Step: freshen("ghosts"), May: movetest.Parts("hat"),
			Before: bass4 + "\n" + hats4,
			After:  bass4 + "\nhat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|xoxoxoxoxoxoxoxo|xoxoxoxoxoxoxoxo"},
		movetest.Row{Name: "the hook an octave up", Step: freshen("octave"), May: movetest.Parts("lead"),
			Before: "lead x..x..x.|x..x..x.|x..x..x.|x..x..x.",
			After:  "lead:72 ........|........|o..o..o.|o..o..o.\nlead:60 x..x..x.|x..x..x.|x..x..x.|x..x..x."},
		movetest.Row{Name: "percussion or a top out", Step: freshen("out"), May: movetest.Parts("perc"),
			Before: kicks4 + "\nperc ..x..x....x..x..|..x..x....x..x..|..x..x....x..x..|..x..x....x..x..",
			After:  kicks4 + "\nperc ..x..x....x..x..|..x..x....x..x..|................|................"},
		movetest.Row{Name: "but not the last part that sounds", Step: freshen("out"), Before: hats4, After: hats4,
			Told: []string{"freshen: nothing the loop has changes bar 3"}},
		movetest.Row{Name: "a part that does not play comes in at half", Step: freshen("guest"), May: movetest.Parts("perc"), Loop: "kick x...x...x...x...\nperc x.x.x.x.x.x.x.x.", Sections: "groove 4",
			Before: kicks4, After: kicks4 + "\nperc ................|................|x...x...x...x...|x...x...x...x..."},
		movetest.Row{Name: "of music too", Step: freshen("guest"), May: movetest.Parts("lead"), Loop: "kick x...x...x...x...\nlead x-x-x-x-x-x-x-x-", Sections: "groove 4",
			Before: kicks4, Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				if lead := after.Parts[1]; len(after.In(lead, after.BarRange(3, 4))) == 0 {
					t.Errorf("no %s plays in bars 3 and 4", lead.Name)
				}
			}},
		movetest.Row{Name: "but not where another track is laid over an intro", Step: freshen("guest"), Loop: "kick x...x...x...x...\nlead x-x-x-x-x-x-x-x-", Sections: "intro 4",
			Before: kicks4, After: kicks4 + "\nlead ................|................|................|................",
			Told: []string{"nothing the loop has changes bar 3"}},
		movetest.Row{Name: "no kick and no bass come into a break", Step: freshen("guest"), Loop: `
			kick x...x...x...x...
			bass x-x-x-x-x-x-x-x-
			pad  x---------------`, Sections: "break 4",
			Before: "pad x---------------|x---------------|x---------------|x---------------", After: `
				kick ................|................|................|................
				bass ................|................|................|................
				pad  x---------------|x---------------|x---------------|x---------------`,
			Told: []string{"nothing the loop has changes bar 3"}},
		movetest.Row{Name: "hits doubled", Step: freshen("double"), May: movetest.Parts("kick"),
			Before: kicks4, After: "kick x...x...x...x...|x...x...x...x...|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "a part softer", Step: freshen("soft"), May: movetest.Parts("pad"),
			Before: "pad x---------------|x---------------|x---------------|x---------------", Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				var got []uint8
				for _, n := range after.Parts[0].Notes {
					got = append(got, n.Vel)
				}
				if len(got) != 4 || got[0] != got[1] || int(got[2]) != (int(got[0])*82+50)/100 || got[3] != got[2] {
					t.Errorf("got velocities %d, want 82%% in bars 3 and 4", got)
				}
			}},
		movetest.Row{Name: "a change that does nothing is none", Step: freshen("octave"), May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...", After: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...",
			Told: []string{"freshen: nothing the loop has changes bar 3"}},
		movetest.Row{Name: "one of two that came in is held back", Step: freshen("hold-back"), May: movetest.Anything, Seed: 1, Sections: "groove 6",
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
				hat  ................|................|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
				clap ................|................|....x.......x...|....x.......x...|....x.......x...|....x.......x...`,
			After: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
				hat  ................|................|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
				clap ................|................|................|................|....x.......x...|....x.......x...`},
		movetest.Row{Name: "lines that change are left alone", Step: freshen(),
			Before: "kick x...x...x...x...|x...x...x...x...|................|................", After: "kick x...x...x...x...|x...x...x...x...|................|................"},
		movetest.Row{Name: "a drop begins as it is", Step: freshen("half"), May: movetest.Parts("hat"), Sections: "groove 4, drop 4",
			Before: "hat " + strings.Repeat("x.x.x.x.x.x.x.x.", 8), After: "hat " + strings.Repeat("x.x.x.x.x.x.x.x.", 2) + strings.Repeat("x...x...x...x...", 2) + strings.Repeat("x.x.x.x.x.x.x.x.", 2) + strings.Repeat("x...x...x...x...", 2)},
		movetest.Row{Name: "only lines in the span", Step: over(freshen("half"), "bars 5-6"), May: movetest.Parts("hat"),
			Before: "hat " + strings.Repeat("x.x.x.x.", 16), After: "hat " + strings.Repeat("x.x.x.x.", 8) + strings.Repeat("x...x...", 4) + strings.Repeat("x.x.x.x.", 4)},
		movetest.Row{Name: "a phrase of a bar", Step: every(freshen("half"), 1), May: movetest.Parts("hat"),
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.", After: "hat x.x.x.x.x.x.x.x.|x...x...x...x...|x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "a song of one phrase has no line", Step: every(freshen(), 8), Before: hats4, After: hats4},
		movetest.Row{Name: "a span that is none", Step: over(freshen(), "break"), Before: hats4, Err: "over: found"},
	)
}

// TestFreshenOnManyLoops holds on kinds of loop and seeds that every line is changed or told, that what
// was changed and prepared before still is, that no invariant breaks, and that seeds choose otherwise.
func TestFreshenOnManyLoops(t *testing.T) {
	kinds := map[string][]string{
		"kick":          {"kick x...x...x...x..."},
		"hat":           {"hat x.x.x.x.x.x.x.x."},
		"pad":           {"pad x---------------"},
		"kick and bass": {"kick x...x...x...x...", "bass ..x-..x-..x-..x-"},
		"break":         {"kick x.........x.....", "snare ....x..x.x..x..x", "hat x.x.x.x.x.x.x.x.", "bass x---..x-....x---"},
		"full":          {"kick x...x...x...x...", "clap ....x.......x...", "hat ..x...x...x...x.", "shaker xxxxxxxxxxxxxxxx", "bass ..x-..x-..x-..x-", "stab x..x..x.x..x..x.", "pad x---------------"},
	}
	list, err := moves.ParseSections("intro 24, groove 16, break 8, build 8, drop 32, outro 24")
	if err != nil {
		t.Fatal(err)
	}
	seeds := oracle.Size(2, 8, 8)
	for name, kind := range kinds {
		drafts := map[string]bool{}
		for seed := range uint64(seeds) {
			in, err := song.ParseGrid(rows(112, kind...))
			if err != nil {
				t.Fatal(err)
			}
			in = in.WithSections(list)
			env := moves.Env{Strict: true, Seed: seed, Bars: 1, Full: in, Loop: in}
			came, err := moves.Run(&env, leadIn("every section"), in)
			if err != nil {
				t.Fatal(err)
			}
			led := came.Song
			env = env.After(came)
			came, err = moves.Run(&env, &moves.Freshen{}, led)
			if err != nil {
				t.Fatal(err)
			}
			out := came.Song
			drafts[song.Grid(out)] = true
			if bad := out.Check(); len(bad) > 0 {
				t.Errorf("%s, seed %d: %s", name, seed, bad[0])
			}
			told := strings.Join(movetest.Told(came), "\n") + "\n"
			for bar := 9; bar <= 105; bar += 8 {
				isTold := strings.Contains(told, fmt.Sprintf("changes bar %d\n", bar))
				if changed := form.DefaultLineRule(8).Changed(out, in, energyOf(t, out), bar); changed == isTold {
					t.Errorf("%s, seed %d: bar %d is changed: %v, told: %v", name, seed, bar, changed, isTold)
				}
				if isTold && len(kind) > 1 {
					t.Errorf("%s, seed %d: found nothing for bar %d", name, seed, bar)
				}
			}
			for _, sec := range list[1:] {
				prepared := func(s song.Song) bool { return form.DefaultPrepareRule().Prepared(s, in, 1, sec.Bar) }
				if prepared(led) && !prepared(out) {
					t.Errorf("%s, seed %d: %s is prepared no more", name, seed, sec.Name)
				}
			}
		}
		if len(kind) > 2 && len(drafts) < seeds/2 {
			t.Errorf("%s: %d seeds make %d drafts, want half as many or more", name, seeds, len(drafts))
		}
	}
}

func energyOf(t *testing.T, s song.Song) form.Energy {
	t.Helper()
	e, err := form.EnergyOf(s)
	if err != nil {
		t.Fatal(err)
	}
	return e
}
