package recipes_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/song"
)

func TestSubstitutes(t *testing.T) {
	const loop = `
		kick x...x...x...x...
		hat  ..x...x...x...x.
		sub  x-------x-------
		stab x--.....x--.....`
	for _, row := range []struct{ rule, recipe, want, told string }{
		{"the nearest role there is takes a place", `
substitutes: nearest
sections: [{name: a, bars: 1, play: [kick, shaker if any]}, {name: b, bars: 1, play: [chords, bass]}]`, `
			kick x...x...x...x...|................
			hat  ..x...x...x...x.|................
			sub  ................|x-------x-------
			stab ................|x--.....x--.....`,
			"the loop has no shaker: hat takes its place\nthe loop has no chords: stab takes its place"},
		{"in moves too, by number, and in a choice after what is there itself", `
substitutes: nearest
length: 2 bars
moves:
- mute: {part: ride or sub, over: bar 2}
- mute: {part: ride, over: bar 1}
- mute: {part: lead 1, over: bar 2}
- mute: {part: lead 2 if any, over: all}`, `
			kick x...x...x...x...|x...x...x...x...
			hat  ................|..x...x...x...x.
			sub  x-------x-------|................
			stab x--.....x--.....|................`,
			"the loop has no ride: hat takes its place\nthe loop has no lead: stab takes its place"},
		{"a recipe changes the table", `
substitutes: {shaker: [vocal, kick], chords: []}
sections: [{name: a, bars: 1, play: [shaker, ride from 1, chords if any]}]`, `
			kick x...x...x...x...
			hat  ..x...x...x...x.
			sub  ................
			stab ................`,
			"the loop has no shaker: kick takes its place\nthe loop has no ride: hat takes its place\nthe loop has no chords and nothing near it"},
		{"without the key nothing takes a place", `
sections: [{name: a, bars: 1, play: [kick, shaker if any]}]`, `
			kick x...x...x...x...
			hat  ................
			sub  ................
			stab ................`, ""},
		{"a part with a place of its own takes no other's", `
substitutes: nearest
sections: [{name: a, bars: 3, play: [kick, hat to 1, shaker if any from 3]}]
moves:
- mute: {part: shaker if any, over: bar 1}`, `
			kick x...x...x...x...|x...x...x...x...|x...x...x...x...
			hat  ..x...x...x...x.|................|................
			sub  ................|................|................
			stab ................|................|................`,
			"the loop has no shaker, and hat has a place of its own"},
		{"nor does one whose job is named", `
substitutes: nearest
sections: [{name: a, bars: 1, play: [tops, shaker if any]}]`, `
			kick ................
			hat  ..x...x...x...x.
			sub  ................
			stab ................`,
			"the loop has no shaker, and hat has a place of its own"},
		{"one part takes one place", `
substitutes: nearest
sections: [{name: a, bars: 2, play: [chords if any to 1, lead if any from 2]}]`, `
			kick ................|................
			hat  ................|................
			sub  ................|................
			stab ................|x--.....x--.....`,
			"the loop has no lead: stab takes its place\nthe loop has no chords, and stab has a place of its own"},
		{"what is not there is left out of nothing", `
substitutes: nearest
sections: [{name: a, bars: 1, play: [all but shaker]}]`, `
			kick x...x...x...x...
			hat  ..x...x...x...x.
			sub  x-------x-------
			stab x--.....x--.....`,
			"the loop has no shaker: hat takes its place"},
	} {
		got, err := draft(t, loop, row.recipe, recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		if g := rows(song.Grid(got.Song)); g != rows(row.want) {
			t.Errorf("%s: got\n%s\nwant\n%s", row.rule, g, rows(row.want))
		}
		var told []string
		for _, line := range got.Told {
			if strings.HasPrefix(line, "the loop has no ") {
				told = append(told, line)
			}
		}
		if g := strings.Join(told, "\n"); !sameLines(g, row.told) {
			t.Errorf("%s: told\n%s\nwant\n%s", row.rule, g, row.told)
		}
		again, err := recipes.Parse("written.yaml", got.WriteRecipe())
		if err != nil {
			t.Errorf("%s: written: %v", row.rule, err)
			continue
		}
		if second, err := recipes.Draft([]recipes.Input{gridLoop(t, loop)}, again, recipes.Options{}); err != nil || rows(song.Grid(second.Song)) != rows(row.want) {
			t.Errorf("%s: the recipe as written gives another draft (%v)", row.rule, err)
		}
	}
}

func sameLines(a, b string) bool {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// Every role of the table is another one that sounds, and no two are given in a row twice.
func TestTableOfSubstitutes(t *testing.T) {
	seen := map[song.Role]bool{}
	for _, row := range recipes.Substitutes() {
		if seen[row.Role] || len(row.By) == 0 {
			t.Errorf("%s stands there twice, or without substitutes", row.Role)
		}
		seen[row.Role] = true
		for i, by := range row.By {
			if by == row.Role || slices.Contains(row.By[:i], by) || !slices.Contains(recipes.SubstituteRoles(), string(by)) {
				t.Errorf("%s: got substitute %s", row.Role, by)
			}
		}
	}
}
