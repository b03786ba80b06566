package review_test

import (
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/review"
	"loopdraft/smf/form"
)

// TestEnergy asks for energies at a distance from what plays. The levels follow from gain (v/127)^2 (DLS Level 1, RP-016).
func TestEnergy(t *testing.T) {
	in := row{sections: "groove 8, drop 8", music: `
		kick x...x...x...x...  1-8
		kick:35 o...o...o...o...  9-16
		bass x---x---x---x---  1-8
		bass:35 o---o---o---o---  9-16`}.song(t, 0)
	e, err := form.EnergyOf(in)
	if err != nil {
		t.Fatal(err)
	}
	now := e.Mean(9, 12).Sum()
	for _, tt := range []struct {
		name         string
		low, high    int // what is asked for, in tenths of a dB over what plays
		planned      int
		want, answer string
	}{
		{"within what is asked for", -10, 10, 0, "", ""},
		{"so little under it passes", 19, 29, 19, "", ""},
		{"over what is asked for", -60, -30, -40, "warn 9-12 3/2 dB", "shape: {part: all, over: bars 9-16, from: 90%, to: 90%}"},
		{"under what is asked for", 40, 60, 50, "warn 9-12 4/2 dB", "shape: {part: all, over: bars 9-16, from: 115%, to: 115%}"},
		{"what its players could not meet is no fault of its moves", 40, 60, 0, "", ""},
		{"nor is what they play over it", -60, -40, 0, "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			input := review.Input{Song: in, Energies: moves.Energies{{First: 9, Last: 12, Low: now.Times(tt.low), High: now.Times(tt.high), Planned: now.Times(tt.planned)}}}
			rule, _ := review.Lookup("energy")
			got, err := review.Review(input, review.Options{Checks: []review.Check{rule.New()}})
			if err != nil {
				t.Fatal(err)
			}
			var lines, answers []string
			for _, f := range got.Findings {
				lines, answers = append(lines, tell(f)), append(answers, f.Answer.Texts()...)
			}
			if text := strings.Join(lines, "\n"); text != tt.want || strings.Join(answers, "; ") != tt.answer {
				t.Errorf("got %q, %q, want %q, %q", text, answers, tt.want, tt.answer)
			}
			if n := len(got.Verdict.Holds) + len(got.Verdict.Fails); n != 1 {
				t.Errorf("the verdict speaks of %d rules", n)
			}
		})
	}
	alone, err := review.Review(review.Input{Song: in}, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range alone.Verdict.Holds {
		if strings.Contains(text, "asks for") {
			t.Errorf("of a file alone it says %q", text)
		}
	}
}
