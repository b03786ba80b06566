//go:build oracles

package recipes

import (
	"os"
	"slices"
	"testing"

	"loopdraft/smf"
)

// Takes whose sections are as long lay the loop out once, others lay out their own; and all measure its parts once.
func TestTakesOfOneFormShareTheLoopLaidOut(t *testing.T) {
	data, err := os.ReadFile("../testdata/loops/harbour-lights.mid")
	if err != nil {
		t.Fatal(err)
	}
	file, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	club, _ := Builtin("club")
	takes, err := NewTakes([]Input{{Name: "harbour-lights.mid", File: file}}, club, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var all []*Result
	alike, others := 0, 0
	for k := range 6 {
		got, err := takes.Draft(k + 1)
		if err != nil {
			t.Fatal(err)
		}
		for i, was := range all {
			is := got.made.laid
			if same := slices.Equal(is.plan.blocks, was.made.laid.plan.blocks); same != (is.layout == was.made.laid.layout) {
				t.Errorf("takes %d and %d: the lengths of their sections are the same: %t; the loop laid out is the same: %t", i+1, k+1, same, !same)
			} else if same {
				alike++
			} else {
				others++
			}
		}
		all = append(all, got)
	}
	if alike == 0 || others == 0 {
		t.Fatalf("found %d pairs of takes of one form and %d of two, want some of each", alike, others)
	}
	loop := all[0].made.loop
	a, _ := takes.order.shared.measured(loop)
	b, _ := takes.order.shared.measured(loop)
	if &a.powers[0] != &b.powers[0] {
		t.Error("the parts of the loop are measured twice")
	}
}
