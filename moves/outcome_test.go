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

// TestAStepWithNothingToDoSaysWhy holds the reason of each way to have nothing to do.
func TestAStepWithNothingToDoSaysWhy(t *testing.T) {
	const grid = `
		kick x...x...x...x...|................
		lead x-..x-..x-..x-..|................
		pad  ................|................`
	missed := func(r movetest.Row, warned string) movetest.Row {
		r.Before, r.Sections, r.May = grid, "intro 1, drop 1", movetest.Anything
		if warned != "" {
			r.Warned = []string{warned}
		}
		return r
	}
	movetest.Run(t,
		missed(movetest.Row{Name: "it did something", Step: mute("kick", "bar 1")}, ""),
		missed(movetest.Row{Name: "none of its parts is there", Step: mute("tom if any", "bar 1"), Nothing: remark.NoPart}, ""),
		missed(movetest.Row{Name: "none of its spans is there", Step: mute("kick", "bar 1 of 20 bars before bar 1"), Nothing: remark.NoPlace}, ""),
		missed(movetest.Row{Name: "no note is in the span", Step: mute("kick", "bar 2"), Nothing: remark.NothingPlays}, "no note of kick"),
		missed(movetest.Row{Name: "no place lies in the song", Step: hit("crash", option.Whole, "end"), Nothing: remark.NothingStruck}, "no place within the song"),
		missed(movetest.Row{Name: "the part never plays", Step: roll("pad", "bar 2", "1/4", "1/8", ""), Nothing: remark.NothingRolls}, "pad plays no note"),
		missed(movetest.Row{Name: "nothing swells", Step: swell("pad", "bar 2", ""), Nothing: remark.NothingSwells}, "no note of pad"),
		missed(movetest.Row{Name: "no drum fills", Step: fill("lead", "bar 2"), Nothing: remark.NothingFills}, "no drum"),
		missed(movetest.Row{Name: "nothing is there to copy", Step: layer("pad", "bar 1", 12, ""), Nothing: remark.NothingLayered}, "no note there to copy"),
		missed(movetest.Row{Name: "all parts are without a pitch", Step: layer("kick", "bar 1", 12, ""), Nothing: remark.NotLayered, Told: []string{"not copied at an interval"}}, ""),
		missed(movetest.Row{Name: "all parts hold the beat", Step: vary("kick", "bar 1", option.Whole), Nothing: remark.NotVaried, Told: []string{"left alone"}}, ""),
		missed(movetest.Row{Name: "a composite has nothing to answer", Step: leadIn("intro"), Nothing: remark.NothingLeft}, ""),
		missed(movetest.Row{Name: "a composite has nothing to answer it with", Step: &moves.LeadIn{At: where.PlacesOf("drop"), With: option.Words{"roll"}, Length: where.LengthOf("1/32")}, Nothing: remark.NothingPrepares, Told: []string{"nothing the loop has prepares drop at bar 2"}}, ""),
	)
}

// TestAPartOfItIsNotNothing holds that a step that leaves some of its parts alone has done something.
func TestAPartOfItIsNotNothing(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...\nlead x-..x-..x-..x-..")
	came, err := moves.Run(&moves.Env{Strict: true}, transpose("all", "", 2), in)
	if err != nil || came.Idle() || came.Missed() {
		t.Errorf("got %v, nothing to do: %q", err, came.Nothing.Kind)
	}
}

// TestWhatAStepLeaves holds that an Env is only read, and that the next step finds what one left.
func TestWhatAStepLeaves(t *testing.T) {
	in := mustGrid(t, "lead  x...x...x...x...\nsnare ....x.......x...")
	env := moves.Env{Strict: true, Loop: in, Full: in, Lined: in}
	came, err := moves.RunAll(&env, in,
		&moves.Extend{To: where.Extent{Bars: 4}},
		roll("snare", "bar 2", "1/4", "1/8", ""),
		ride("lead", "bar 1", "cutoff", "10", "20", moves.Linear), ride("lead", "bar 3", "cutoff", "30", "40", moves.Linear))
	if err != nil {
		t.Fatal(err)
	}
	if len(env.Rolled) > 0 || len(env.Ridden) > 0 || env.Full.End != in.End || env.Parts != nil {
		t.Errorf("the Env was written to: %d rolls, %d rides, %d ticks, parts %v", len(env.Rolled), len(env.Ridden), env.Full.End, env.Parts)
	}
	next := env.After(came)
	if next.Full.End != 4*in.End || next.Lined.End != 4*in.End {
		t.Errorf("the loop goes on for %d and %d ticks, want %d", next.Full.End, next.Lined.End, 4*in.End)
	}
	if len(next.Rolled) != 1 || len(next.Ridden) != 1 {
		t.Errorf("%d rolls and %d ridden controllers are known, want one each", len(next.Rolled), len(next.Ridden))
	}
	if got, want := points(came.Song, "cutoff"), "1.1=10"; len(got) < len(want) || got[:len(want)] != want {
		t.Errorf("got %s, want the first ride to stand where the second was carried out", got)
	}
}

func TestStepsInARowAreIdleIfEachIs(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...|................")
	silent, tom, heard := mute("kick", "bar 2"), mute("tom if any", "all"), mute("kick", "bar 1")
	for _, row := range []struct {
		steps []moves.Step
		want  remark.Kind
	}{
		{[]moves.Step{silent, tom}, remark.NothingPlays},
		{[]moves.Step{tom, silent}, remark.NoPart},
		{[]moves.Step{silent, heard}, ""},
		{[]moves.Step{heard, silent}, ""},
	} {
		came, err := moves.RunAll(&moves.Env{Strict: true}, in, row.steps...)
		if err != nil || came.Nothing.Kind != row.want {
			t.Errorf("got %v, %q, want %q", err, came.Nothing.Kind, row.want)
		}
	}
}

// stranger is a step of a type that no catalogue has, with the name of one that this package's has.
type stranger struct {
	Count int `yaml:"count" range:"1..9" doc:"how many"`
}

func (*stranger) Name() string { return "mute" }

func (*stranger) Apply(_ *moves.Env, in song.Song) (moves.Outcome, error) {
	return moves.Outcome{Song: in}, nil
}

func TestACatalogueTellsStepsByTheirType(t *testing.T) {
	step := &stranger{Count: 3}
	if got, want := moves.All().Of(step).Text(step), "mute: {count: 3}"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if m := moves.All().Of(step); m.Brief != "" || m.Name() != "mute" {
		t.Errorf("got the description %q, want none", m.Brief)
	}
	if m := moves.All().Of(mute("kick", "")); m.Name() != "mute" || m.Brief == "" {
		t.Errorf("got %q, want the move of the catalogue", m.Name())
	}
}
