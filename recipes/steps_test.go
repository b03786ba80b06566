package recipes

import (
	"bytes"
	"slices"
	"strings"
	"testing"
)

// TestABuiltInRecipeLeavesOutWhatALoopCannotDo drafts a loop whose hook is so high that no octave lies above it.
func TestABuiltInRecipeLeavesOutWhatALoopCannotDo(t *testing.T) {
	in := gridLoop(t, strings.Join([]string{
		"kick     x...x...x...x...|x...x...x...x...", "hat      ..x...x...x...x.|..x...x...x...x.",
		"bass     ..x-..x-..x-..x-|..x-..x-..x-..x-", "stab:120 x--.....x--.....|....x--.....x--.",
	}, "\n"))
	r, _ := Builtin("club")
	got, err := Draft([]Input{in}, r, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(got.Told, func(s string) bool { return strings.HasPrefix(s, "layer is left out: ") && strings.Contains(s, "132") }) {
		t.Errorf("told %q, want that layer is left out because of key 132", got.Told)
	}
	written := got.WriteRecipe()
	again, err := Parse("written.yaml", written)
	if err != nil {
		t.Fatal(err)
	}
	second, err := Draft([]Input{in}, again, Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, _ := got.File.Encode()
	b, _ := second.File.Encode()
	if !bytes.Equal(a, b) || !bytes.Equal(written, second.WriteRecipe()) {
		t.Error("the written recipe makes another draft")
	}
}
