package moves_test

import (
	"errors"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func TestExtend(t *testing.T) {
	to := func(bars int) *moves.Extend { return &moves.Extend{To: where.Extent{Bars: bars}} }
	// Every pass is laid out anew, so that all of the song may change.
	movetest.Run(t,
		movetest.Row{Name: "to a number of bars", Step: to(3), May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x.x.",
			After:  "kick x...x...x...x...|x...x...x...x.x.|x...x...x...x..."},
		movetest.Row{Name: "to fewer bars than it has", Step: to(1), May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x.x.",
			After:  "kick x...x...x...x..."},
		movetest.Row{Name: "to its own length", Step: to(2), May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x.x.",
			After:  "kick x...x...x...x...|x...x...x...x.x."},
		movetest.Row{Name: "a note held over the end is cut with the last pass", Step: to(3), May: movetest.Anything,
			Before: "pad x-------|--------",
			After:  "pad x-------|--------|x-------"},
		movetest.Row{Name: "a duration is told in bars", Step: &moves.Extend{To: where.Extent{Micros: 4_000_000}}, May: movetest.Anything,
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...",
			Told:   []string{"8 bars"}},
		movetest.Row{Name: "a song with sections has its length from them", Step: to(3), Sections: "drop 1",
			Before: "kick x...x...x...x...", Err: "sections"},
	)
}

// At 120 bpm a bar of 4/4 lasts 2 s (RP-001 p. 5: 120 bpm is the default).
func TestADurationIsTheNearestNumberOfPhrases(t *testing.T) {
	for _, tt := range []struct {
		to   string
		want int
	}{{"6m30s", 192}, {"16s", 8}, {"1s", 8}, {"23s", 8}, {"24s", 16}, {"25s", 16}, {"5m", 152}} {
		to, err := where.ParseExtent(tt.to)
		if err != nil {
			t.Fatal(err)
		}
		out, came := run(t, &moves.Extend{To: to}, mustGrid(t, "kick x...x...x...x..."))
		if out.Bars() != tt.want {
			t.Errorf("%s: got %d bars, want %d", tt.to, out.Bars(), tt.want)
		}
		if len(came.Remarks) == 0 {
			t.Errorf("%s: nothing is told", tt.to)
		}
	}
}

func TestLengthsThatAreNone(t *testing.T) {
	for _, tt := range []struct{ text, hint string }{
		{"0 bars", ""}, {"-8 bars", ""}, {"10000 bars", ""}, {"192", "192 bars"}, {"64 beats", "16 bars"}, {"4 beats", "1 bar"}, {"6 beats", ""}, {"8 phrases", ""},
		{"6m30", ""}, {"0s", ""}, {"", ""}, {"6 minutes", "6m"}, {"bars", ""}, {"1.5 bars", ""}, {"+8 bars", ""},
	} {
		_, err := where.ParseExtent(tt.text)
		var oe *option.Mistake
		if !errors.As(err, &oe) {
			t.Errorf("%q: got %v, want an error", tt.text, err)
			continue
		}
		if oe.Hint != tt.hint {
			t.Errorf("%q: got hint %q, want %q", tt.text, oe.Hint, tt.hint)
		}
	}
}

func TestExtendKeepsMarkersOnceAndRefusesSections(t *testing.T) {
	in := fromFile(t, metaFile(bar, func(tr *smf.Track) { tr.AppendMeta(0, 6, []byte("a")) }))
	out, _ := run(t, &moves.Extend{To: where.Extent{Bars: 3}}, in)
	if got, want := show(out, 0), "0:meta06=a"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	in = mustGrid(t, "kick x...x...x...x...").WithSections([]song.Section{{Name: "drop", Bar: 1, Bars: 1}})
	if _, err := moves.Run(&moves.Env{}, &moves.Extend{To: where.Extent{Bars: 3}}, in); err == nil {
		t.Error("a song with sections was extended")
	}
}

// The crash's track repeats every bar, the kick's with the loop of two bars.
func cyclic(t *testing.T) (song.Song, *moves.Env) {
	in := mustGrid(t, "kick  x...x...x...x...|x...x...x...x.x.\nstab  x...............|x...............")
	return in, &moves.Env{Loop: in, Full: in, Bars: 2, Cycles: []smf.Tick{0, bar}, Strict: true}
}

func steps(t *testing.T, env *moves.Env, s song.Song, list ...moves.Step) moves.Outcome {
	t.Helper()
	out, err := moves.RunAll(env, s, list...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestASecondExtendRepeatsWhatMovesMade(t *testing.T) {
	in, env := cyclic(t)
	out := steps(t, env, in, &moves.Extend{To: where.Extent{Bars: 4}}, mute("stab", "bars 3-4"), &moves.Extend{To: where.Extent{Bars: 8}})
	want := "x...............|x...............|................|................"
	if got := strings.Split(strings.TrimSpace(song.Grid(out.Song)), "\n")[1]; got != "stab "+want+"|"+want {
		t.Errorf("got  %s\nwant stab %s|%s", got, want, want)
	}
}

func TestExtendTellsWhatIsNotKeptPastACycle(t *testing.T) {
	in, env := cyclic(t)
	told := movetest.Told(steps(t, env, in, mute("stab", "bar 2"), &moves.Extend{To: where.Extent{Bars: 4}}))
	if len(told) != 1 || !strings.Contains(told[0], "stab repeats bars 1 to 1 only") {
		t.Errorf("told %q, want what is not kept", told)
	}
	if told := movetest.Told(steps(t, env, in, &moves.Extend{To: where.Extent{Bars: 4}})); len(told) != 0 {
		t.Errorf("told %q, want nothing", told)
	}
}
