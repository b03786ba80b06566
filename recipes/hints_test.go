package recipes_test

import (
	"strings"
	"testing"

	"loopdraft/recipes"
)

// TestHintsForOtherWords gives recipes the words that people use where the language has another one: each mistake names it.
func TestHintsForOtherWords(t *testing.T) {
	const grid = `
		kick       x...x...x...x...
		closed-hat ..x...x...x...x.
		lead:72    x..x..x...x..x..
		stab:60    x..x..x...x..x..`
	for _, row := range []struct{ recipe, hint string }{
		{"moves: [{ride: {part: stab, controller: filter, to: 3}}]", `found "filter"` + want + `did you mean "cutoff"?`},
		{"moves: [{ride: {part: stab, controller: level, to: 3}}]", `did you mean "volume"?`},
		{"moves: [{ride: {part: stab, filter: cutoff, to: 3}}]", `unknown option "filter"` + want + `did you mean "controller"?`},
		{"moves: [{filter: {part: stab}}]", `unknown move "filter"` + want + `did you mean "ride"?`},
		{"moves: [{volume: {part: stab}}]", `unknown move "volume"` + want + `did you mean "shape"?`},
		{"moves: [{sidechain: {part: stab}}]", `did you mean "duck"?`},
		{"moves: [{hit: {at: bar 1, volume: 50%}}]", `unknown option "volume"` + want + `did you mean "velocity"?`},
		{"moves: [{mute: {part: closed}}]", `found "closed"` + want + `did you mean "closed-hat"?`},
		{"moves: [{mute: {part: all but lead, stab}}]", `did you mean "part: [all but lead, stab]"?`},
		{"sections: [{name: a, bars: 8, play: all but lead, stab}]", `did you mean "play: [all but lead, stab]"?`},
		{"parts: {x: {name: Lead, left}}", `did you mean "name: 'Lead, left'"?`},
		{"parts:\n  x: {name: Lead #2, role: lead}\nmoves: []", `2: did not find expected ',' or '}', want quotes around a text that has " #" in it, which starts a comment`},
		{"moves:\n  - mute: {part: [lead #2, stab]}\nseed: 1", `2: did not find expected ',' or ']', want quotes`},
	} {
		_, err := draft(t, grid, row.recipe, recipes.Options{Bars: 4})
		if err == nil {
			t.Errorf("%s: no mistake is found", row.recipe)
			continue
		}
		first, rest, both := strings.Cut(row.hint, want)
		if text := err.Error(); !strings.Contains(text, first) || both && !strings.Contains(text, rest) {
			t.Errorf("%s: got\n%s\nwant %s", row.recipe, text, row.hint)
		}
	}
}

// want stands for the list of what would be valid.
const want = ", want ...; "
