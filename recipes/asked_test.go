package recipes_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf/form"
)

// TestAsked drafts a loop by a recipe and compares what is asked of its sections, as it is told, with the recipe. 7 dB
// are 10^-0.7 of the power, and 2^-0.7, 61.6 %, of how loud it is.
func TestAsked(t *testing.T) {
	const recipe = `
phrase: 4 bars
sections:
  - {name: intro, bars: 8, play: [kick], energy: rising}
  - {name: groove, bars: 4}
  - {name: break, bars: 8, energy: 7 dB..9 dB under drop}
  - {name: build, bars: 8, energy: 40%..60% to 60%..80%}
  - {name: drop, bars: 12, play: [kick, bass], energy: ["90%..100%", "80%..95%"]}
`
	got := energyDraft(t, recipe)
	e, full, err := got.Energy()
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, a := range got.Asked() {
		var units []string
		for _, u := range a.Units {
			units = append(units, fmt.Sprintf("%d-%d", u.First, u.Last))
		}
		told = append(told, fmt.Sprintf("%s: %s: %s", a.Text, strings.Join(units, " "), strings.Join(a.Words(full), " ")))
	}
	drop := form.AskedUnit{First: 29, Last: 40}.Reached(e, full)
	want := []string{
		"rising: 1-2 3-4 5-6 7-8: rising rising rising rising",
		fmt.Sprintf("7 dB..9 dB under drop: 13-14 15-16 17-18 19-20: %[1]s %[1]s %[1]s %[1]s", percents(drop*0.536, drop*0.616)),
		"40%..60% to 60%..80%: 21-22 23-24 25-26 27-28: 40-60% 47-67% 53-73% 60-80%",
		"[90%..100%, 80%..95%]: 29-32 33-36 37-40: 90-100% 80-95% 90-100%",
	}
	if !slices.Equal(told, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(told, "\n"), strings.Join(want, "\n"))
	}
}

// percents writes a range of shares as it is told.
func percents(low, high float64) string { return fmt.Sprintf("%.0f-%.0f%%", 100*low, 100*high) }
