package recipes

import (
	"strings"
	"testing"
)

// written returns the lines of the sections that a draft is written out with.
func written(t *testing.T, text string, o Options) string {
	t.Helper()
	all := string(chosen(t, text, o).WriteRecipe())
	_, sections, _ := strings.Cut(all, "sections:\n")
	sections, _, _ = strings.Cut(sections, "\nmoves:")
	return strings.TrimSpace(strings.ReplaceAll(sections, "phase: to-end, ", ""))
}

func TestSectionsLikeOthers(t *testing.T) {
	const drop = "sections:\n  - {name: drop, kind: drop, bars: 16, play: [kick, hat from 9]}\n"
	for _, row := range []struct{ rule, section, want string }{
		{"all that is left out", "{name: drop, like: drop}", "{name: drop, kind: drop, bars: 16, play: [kick, hat from 9]}"},
		{"not the name, but the kind that is given", "{name: outro, like: drop}", "{name: outro, kind: drop, bars: 16, play: [kick, hat from 9]}"},
		{"what is given counts", "{name: outro, kind: outro, bars: 8, play: [bass], like: drop}", "{name: outro, kind: outro, bars: 8, play: [bass]}"},
		{"with other bars the numbers go the way of a scaled draft", "{name: drop, bars: 32, like: drop}", "{name: drop, kind: drop, bars: 32, play: [kick, hat from 17]}"},
		{"the line-up found there, then more", "{name: drop, play: [same, bass from 5, stab], like: drop 1}", "{name: drop, kind: drop, bars: 16, play: [kick, hat from 9, bass from 5, stab]}"},
		{"the same on other bars", "{name: drop, bars: 32, play: [same, bass from 5], like: drop}", "{name: drop, kind: drop, bars: 32, play: [kick, hat from 17, bass from 5]}"},
		{"phase and least", "{name: a, bars: 8, phase: run-on, least: 4}\n  - {name: b, like: a}", "{name: b, bars: 8, phase: run-on, least: 4, play: [kick, clap, hat, bass, stab]}"},
		{"like one that is like another", "{name: b, like: drop, play: [same, bass]}\n  - {name: c, like: b, bars: 32}", "{name: c, kind: drop, bars: 32, play: [kick, hat from 17, bass]}"},
		{"more than one that is like another", "{name: b, like: drop, bars: 32, play: [same, bass from 9]}\n  - {name: c, like: b, play: [same, stab from 25]}", "{name: c, kind: drop, bars: 32, play: [kick, hat from 17, bass from 9, stab from 25]}"},
	} {
		lines := strings.Split(written(t, drop+"  - "+row.section+"\n", Options{}), "\n")
		if got := strings.TrimPrefix(strings.TrimSpace(lines[len(lines)-1]), "- "); got != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, got, row.want)
		}
	}
}

// A choice in a section holds for those that are like it too.
func TestLikeFollowsTheChoice(t *testing.T) {
	text := "sections:\n  - {name: break, bars: 8, play: {one of: [[stab], [bass]], as: carrier}}\n  - {name: break, like: break, play: [same, hat]}\n"
	for n, part := range []string{"stab", "bass"} {
		got := written(t, text, Options{Choose: []Choice{{"carrier", n + 1}}})
		if !strings.Contains(got, "play: [hat, "+part+"]") {
			t.Errorf("got %s, want %s in both", got, part)
		}
	}
}
