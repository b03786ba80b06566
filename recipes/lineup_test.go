package recipes_test

import (
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/song"
)

const saidLineUps = `phrase: 2 bars
sections:
  - {name: intro, bars: 8, play: [kick, hat from 4.3, clap in second half]}
  - {name: break, bars: 8, play: [music in turn]}
  - {name: drop, bars: 6, play: [all, clap to 2.2, hat out in turn in second half]}
moves:
  - mute: {part: bass, over: loop bar 2 of drop}
`

// onsetsByBar draws a row per part with the onsets of each bar, a space between sections.
func onsetsByBar(s song.Song) string {
	var rows []string
	for _, p := range s.Parts {
		row := p.Name
		for _, sec := range s.Sections {
			row += " "
			for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar++ {
				row += string(".123456789"[len(s.In(p, s.BarRange(bar, bar)))])
			}
		}
		rows = append(rows, row)
	}
	return strings.Join(rows, "\n")
}

// TestLineUpsAreHeard counts the onsets of each bar: in the small loop the kick, hat, bass and clap have 4, 4,
// 4 and 2 in a bar, the stab 2; from beat 3 on the hat has 2, and up to beat 2 the clap has 1.
func TestLineUpsAreHeard(t *testing.T) {
	in := []recipes.Input{gridLoop(t, smallLoop)}
	r, err := recipes.Parse("x.yaml", []byte(saidLineUps))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		rule string
		bars int
		want string
	}{
		{"as written", 0, `
kick 44444444 ........ 444444
clap ....2222 ........ 21....
hat ...24444 ........ 444...
bass ........ 44444444 4.4.4.
stab ........ ....2222 222222`},
		{"twice as long: the bars move, the beat stays, halves stay halves", 44, `
kick 4444444444444444 ................ 444444444444
clap ........22222222 ................ 221.........
hat ......2444444444 ................ 444444......
bass ................ 4444444444444444 4.4.4.4.4.4.
stab ................ ........22222222 222222222222`},
	} {
		got, err := recipes.Draft(in, r, recipes.Options{Bars: row.bars})
		if err != nil {
			t.Fatal(err)
		}
		if drawn := "\n" + onsetsByBar(got.Song); drawn != row.want {
			t.Errorf("%s: got%s\nwant%s", row.rule, drawn, row.want)
		}
		checkLaws(t, in, r, recipes.Options{Bars: row.bars})
	}
	got, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		"play: [kick, clap from 5, hat from 4.3]}",
		"play: [kick, clap to 2.2, hat to 3, bass, stab]}",
		"over: loop bar 2 of drop}",
	} {
		if text := string(got.WriteRecipe()); !strings.Contains(text, line) {
			t.Errorf("%q is not written:\n%s", line, text)
		}
	}
	written, err := recipes.Parse("written.yaml", got.WriteRecipe()) // it says how long the loop is
	if err != nil {
		t.Fatal(err)
	}
	s, found := got.Song, false
	for _, c := range recipes.MovesIn(written, s) {
		found = found || c.Move == "mute" && len(c.Ranges) == 3 && c.Ranges[0] == s.BarRange(18, 18)
	}
	if !found {
		t.Errorf("where the mute works is not found again: %v", recipes.MovesIn(written, s))
	}
}
