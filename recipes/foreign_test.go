package recipes_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// louder is a composite move of another package: it shapes its parts up where they play.
type louder struct {
	moves.Target
	moves.Chance
}

func (*louder) Name() string { return "louder" }

func (l *louder) Apply(env *moves.Env, in song.Song) (moves.Outcome, error) {
	return moves.InTurn(env, l, in)
}

func (l *louder) Expand(env *moves.Env, in song.Song) (moves.Expansion, error) {
	var x moves.Expansion
	for _, p := range env.Parts {
		if len(in.Parts[p].Notes) == 0 {
			x.Nothing = remark.Remark{Kind: remark.Own, Text: "louder: " + in.Parts[p].Name + " is not there to be heard"}
			x.Remarks = append(x.Remarks, x.Nothing)
			continue
		}
		on := moves.Target{Part: where.PartsOf(in.Parts[p].Name), Over: l.Over}
		x.Steps = append(x.Steps, &moves.Shape{Target: on, From: 60 * option.Whole / 100, To: 60 * option.Whole / 100, Curve: moves.Linear},
			&accent{Target: on, Velocity: 127})
	}
	return x, nil
}

// catalogue joins the moves of this package to the module's.
func catalogue() moves.Catalogue {
	return slices.Concat(recipes.Catalogue(), moves.Catalogue{
		{Group: moves.Dynamics, Brief: "Strike what the parts play there hard", New: func() moves.Step { return &accent{Velocity: 120} }},
		{Group: moves.Composite, Brief: "Let parts stand out", New: func() moves.Step { return &louder{} }},
	})
}

func loop(t *testing.T) []recipes.Input {
	t.Helper()
	s, err := song.ParseGrid("kick x...x...x...x...\nhat  ..x...x...x...x.")
	if err != nil {
		t.Fatal(err)
	}
	return []recipes.Input{{Name: "loop.mid", File: s.File()}}
}

func mustDraft(t *testing.T, r *recipes.Recipe) *recipes.Result {
	t.Helper()
	got, err := recipes.Draft(loop(t), r, recipes.Options{Bars: 2})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// TestALiteralIsARecipe holds that a recipe made in Go and the same one read from text make one draft.
func TestALiteralIsARecipe(t *testing.T) {
	literal := &recipes.Recipe{File: "two.yaml", Moves: []recipes.StepSpec{
		{Step: &moves.Mute{Target: moves.Target{Part: where.PartsOf("kick"), Over: where.SpansOf("last 2 beats")}}},
		{Step: &moves.Thin{Target: moves.Target{Part: where.PartsOf("all")}, Keep: moves.KeepShare(50 * option.Whole / 100), By: "chance"}},
	}}
	read, err := recipes.Parse("two.yaml", []byte("moves:\n- mute: {part: kick, over: last 2 beats}\n- thin: {part: all, keep: 50%, by: chance}\n"))
	if err != nil {
		t.Fatal(err)
	}
	a, b := mustDraft(t, literal), mustDraft(t, read)
	if got, want := song.Grid(a.Song), song.Grid(b.Song); got != want || !strings.Contains(got, "....x...........") {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if got, want := string(a.WriteRecipe()), string(b.WriteRecipe()); got != want {
		t.Errorf("written it is\n%swant\n%s", got, want)
	}
	if !literal.Moves[1].Step.(*moves.Thin).Seed.IsZero() {
		t.Error("the recipe was written to")
	}
}

// TestAMoveOfAnotherPackage reads, drafts, writes and reads again a recipe with moves of this test.
func TestAMoveOfAnotherPackage(t *testing.T) {
	const text = "moves:\n- accent: {part: kick, over: bar 1, velocity: 1}\n- louder: {part: kick, over: bar 2}\n"
	if _, err := recipes.Parse("own.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), `unknown move "accent"`) {
		t.Errorf("without the catalogue: got %v, want an unknown move", err)
	}
	r, err := recipes.ParseWith(catalogue(), "own.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	first := mustDraft(t, r)
	if got, want := strings.Fields(song.Grid(first.Song))[1], "o...o...o...o...|X...X...X...X..."; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	written := first.WriteRecipe()
	for _, want := range []string{
		"  - accent: {part: [kick], over: bar 1, velocity: 1}\n", "  - shape: {part: [kick], over: bar 2, from: 60%, to: 60%, curve: linear}\n", "  - accent: {part: [kick], over: bar 2, velocity: 127}\n",
	} {
		if !strings.Contains(string(written), want) {
			t.Errorf("the written recipe has no %s\n%s", want, written)
		}
	}
	again, err := recipes.ParseWith(catalogue(), "written.yaml", written)
	if err != nil {
		t.Fatal(err)
	}
	second, err := recipes.Draft(loop(t), again, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, _ := first.File.Encode()
	b, _ := second.File.Encode()
	if !bytes.Equal(a, b) || !bytes.Equal(written, second.WriteRecipe()) {
		t.Errorf("the written recipe makes another draft, or another recipe:\n%s", second.WriteRecipe())
	}
	if last := first.Changes[len(first.Changes)-1]; last.Step != 1 || last.Move != "accent" || last.Within != "louder" {
		t.Errorf("got the trace %+v, want accent within louder, step 1", last)
	}
}

// TestAStrangersReasonIsTold holds that a step in no catalogue can be skipped, told and written.
func TestAStrangersReasonIsTold(t *testing.T) {
	r := &recipes.Recipe{Moves: []recipes.StepSpec{
		{Step: &moves.Mute{Target: moves.Target{Part: where.PartsOf("kick")}}},
		{Step: &louder{Target: moves.Target{Part: where.PartsOf("kick")}}},
		{Step: &accent{Target: moves.Target{Part: where.PartsOf("tom if any")}, Velocity: 1}},
	}}
	got := mustDraft(t, r)
	const why = "louder: kick is not there to be heard"
	if !slices.Contains(got.Told, why) || !slices.Contains(got.Told, "moves[3].accent: skipped, no such part") {
		t.Errorf("told %q", got.Told)
	}
	if strings.Contains(strings.Join(got.Told, "\n"), "moves[2]") {
		t.Errorf("told %q, want the reason once", got.Told)
	}
	for _, want := range []string{"# skipped: louder: {part: kick} (" + why + ")", "# skipped: accent: {part: tom if any, velocity: 1} (no such part)"} {
		if written := string(got.WriteRecipe()); !strings.Contains(written, want) {
			t.Errorf("the written recipe has no %s\n%s", want, written)
		}
	}
}

// bare is a step that no options can be read into.
type bare struct{}

func (bare) Name() string { return "bare" }

func (bare) Apply(_ *moves.Env, in song.Song) (moves.Outcome, error) {
	return moves.Outcome{Song: in}, nil
}

func TestStepsThatAreNoneAreRefused(t *testing.T) {
	for _, step := range []moves.Step{nil, (*moves.Mute)(nil), bare{}} {
		_, err := recipes.Draft(loop(t), &recipes.Recipe{Moves: []recipes.StepSpec{{Step: step}}}, recipes.Options{})
		if err == nil || !strings.Contains(err.Error(), "moves[1]: found the step") {
			t.Errorf("%T: got %v", step, err)
		}
	}
}
