package recipes_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/oracle"
)

// TestABuiltInRecipeLeavesOutWhatALoopCannotDo drafts a loop whose hook is so high that no octave lies above it.
func TestABuiltInRecipeLeavesOutWhatALoopCannotDo(t *testing.T) {
	in := gridLoop(t, strings.Join([]string{
		"kick     x...x...x...x...|x...x...x...x...", "hat      ..x...x...x...x.|..x...x...x...x.",
		"bass     ..x-..x-..x-..x-|..x-..x-..x-..x-", "stab:120 x--.....x--.....|....x--.....x--.",
	}, "\n"))
	r, _ := recipes.Builtin("club")
	got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(got.Told, func(s string) bool { return strings.HasPrefix(s, "layer is left out: ") && strings.Contains(s, "132") }) {
		t.Errorf("told %q, want that layer is left out because of key 132", got.Told)
	}
	written := got.WriteRecipe()
	again, err := recipes.Parse("written.yaml", written)
	if err != nil {
		t.Fatal(err)
	}
	second, err := recipes.Draft([]recipes.Input{in}, again, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, _ := got.File.Encode()
	b, _ := second.File.Encode()
	if !bytes.Equal(a, b) || !bytes.Equal(written, second.WriteRecipe()) {
		t.Error("the written recipe makes another draft")
	}
}

// TestACompositeMoveSaysWhatItLeft holds that where a composite move has told why it does nothing, the
// report does not say that nothing was left to do, and where nothing was, it does.
func TestACompositeMoveSaysWhatItLeft(t *testing.T) {
	in := gridLoop(t, "kick x...x...x...x...\npad  x---------------")
	for _, row := range []struct{ move, want, unwanted string }{
		{"lead-in: {at: drop, with: roll, length: 1/32}", "lead-in: nothing the loop has prepares drop at bar 5", "nothing is left to do"},
		{"lead-in: {at: intro}", "moves[1].lead-in: skipped, nothing is left to do", "nothing the loop has"},
	} {
		r, err := recipes.Parse("x.yaml", []byte("sections: [{name: intro, bars: 4}, {name: drop, bars: 4}]\nmoves:\n- "+row.move))
		if err != nil {
			t.Fatal(err)
		}
		got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if told := strings.Join(got.Told, "\n"); !strings.Contains(told, row.want) || strings.Contains(told, row.unwanted) {
			t.Errorf("%s: told\n%s\nwant %q, not %q", row.move, told, row.want, row.unwanted)
		}
		if written := string(got.WriteRecipe()); !strings.Contains(written, "# skipped: lead-in") {
			t.Errorf("%s: the written recipe does not say that it was skipped:\n%s", row.move, written)
		}
	}
}

// TestStepsOfACompositeMoveAreInTheTrace holds that they say which they are, and that a composite move
// looks at a song that was extended just before as the loop goes on in it.
func TestStepsOfACompositeMoveAreInTheTrace(t *testing.T) {
	r, err := recipes.Parse("x.yaml", []byte("moves:\n- extend: {to: 16 bars}\n- lead-in: {at: bar 9, with: kick-out}"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := recipes.Draft([]recipes.Input{gridLoop(t, "kick x...x...x...x...\nhat ..x...x...x...x.")}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	last := got.Changes[len(got.Changes)-1]
	if last.Step != 1 || last.Move != "mute" || last.Within != "lead-in" || !slices.Equal(last.Parts, []string{"kick"}) {
		t.Errorf("got %+v, want a mute of the kick within lead-in, step 1; told %q", last, got.Told)
	}
}

// A step that may make more than a song holds is refused by name before it is carried out; in a recipe for any loop it is
// left out, and that is told.
func TestAStepThatMakesTooMuchIsNamed(t *testing.T) {
	const recipe = `length: 9999 bars
moves:
  - stutter: {part: all, slice: 1/64}
  - echo: {part: all, spacing: 1/64, repeats: 16, velocity: 100%}
`
	in := []recipes.Input{gridLoop(t, `
		hat  xxxxxxxxxxxxxxxx
		lead xxxxxxxxxxxxxxxx
		bass xxxxxxxxxxxxxxxx`)}
	const want = "big.yaml:4:5: moves[2].echo: found a song of up to 65"
	parsed := func(text string) *recipes.Recipe {
		r, err := recipes.Parse("big.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if _, err := recipes.Draft(in, parsed(recipe), recipes.Options{}); err == nil || !strings.HasPrefix(err.Error(), want) {
		t.Errorf("got %v, want %s", err, want)
	}
	if oracle.Size(0, 1, 1) == 0 { // it makes as many notes again
		return
	}
	out, err := recipes.Draft(in, parsed("substitutes: nearest\n"+recipe), recipes.Options{})
	if err != nil || !strings.Contains(strings.Join(out.Told, "\n"), "echo is left out: found a song of up to 65") {
		t.Errorf("for any loop: %v, told %v", err, out.Told)
	}
}

// Steps over very many ranges are refused where they come to more than a draft has time and memory for, in one message.
// 82 times 800 bars of 32 ranges are the first that pass the bound of 2,097,152.
func TestStepsOverTooManyRangesAreRefused(t *testing.T) {
	if oracle.Size(0, 1, 1) == 0 {
		t.Skip("two million ranges are not for a first run")
	}
	for _, over := range []string{"every 1/32", "all, except: every 1/32"} {
		text := "sections: [{name: a, bars: 800}]\nmoves:\n" + strings.Repeat("  - mute: {part: kick, over: "+over+"}\n", 100)
		r, err := recipes.Parse("many.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		_, err = recipes.Draft([]recipes.Input{gridLoop(t, "kick x...x...x...x...")}, r, recipes.Options{})
		want := "many.yaml:84:5: moves[82].mute: found spans that come to more than 2097152 ranges with those of the steps before, want fewer steps, or wider spans"
		if err == nil || !strings.HasPrefix(err.Error(), want) || strings.Count(err.Error(), "many.yaml") != 1 {
			t.Errorf("over %s: got %v, want %s, once", over, err, want)
		}
	}
}
