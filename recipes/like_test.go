package recipes_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/recipes"
)

// written returns the lines of the sections that a draft is written out with.
func written(t *testing.T, text string, o recipes.Options) string {
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
		lines := strings.Split(written(t, drop+"  - "+row.section+"\n", recipes.Options{}), "\n")
		if got := strings.TrimPrefix(strings.TrimSpace(lines[len(lines)-1]), "- "); got != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, got, row.want)
		}
	}
}

// A choice in a section holds for those that are like it too.
func TestLikeFollowsTheChoice(t *testing.T) {
	text := "sections:\n  - {name: break, bars: 8, play: {one of: [[stab], [bass]], as: carrier}}\n  - {name: break, like: break, play: [same, hat]}\n"
	for n, part := range []string{"stab", "bass"} {
		got := written(t, text, recipes.Options{Choose: []recipes.Choice{{"carrier", n + 1}}})
		if !strings.Contains(got, "play: [hat, "+part+"]") {
			t.Errorf("got %s, want %s in both", got, part)
		}
	}
}

// Who was found for the energy of a section plays in those that play the same, whatever stands around them.
func TestLikeFollowsThePlayersFound(t *testing.T) {
	const drop = "phrase: 4 bars\nsections:\n  - {name: drop, bars: 16, play: [kick], energy: 60%..70%, add: [hat, clap, stab, bass]}\n  - {name: break, bars: 8, play: [stab]}\n"
	// play returns the line-ups of a draft as they are written out, one a section.
	play := func(text string) []string {
		var out []string
		for _, line := range strings.Split(written(t, text, recipes.Options{}), "\n") {
			_, line, _ = strings.Cut(line, "play: [")
			out = append(out, strings.TrimSuffix(line, "]}"))
		}
		return out
	}
	there := play(drop)[0]
	if !strings.HasPrefix(there, "kick, ") {
		t.Fatalf("found %s: nobody was found, which tests nothing", there)
	}
	for _, row := range []struct {
		rule, sections string
		want           []string
	}{
		{"all left out", "{name: drop, like: drop}", []string{there}},
		{"same alone", "{name: drop, like: drop, play: [same]}", []string{there}},
		{"of one that is like another", "{name: b, like: drop}\n  - {name: c, like: b, play: [same]}", []string{there, there}},
		{"then others", "{name: drop, like: drop, play: [same, tom if any, stab to 4]}", []string{there + ", stab to 4"}},
		{"and those of both", "{name: b, like: drop, play: [same, stab to 4]}\n  - {name: c, bars: 32, like: b}\n  - {name: d, bars: 16, like: c}",
			[]string{"kick, clap to 4, clap from 9 to 12, hat, stab to 4", "kick, clap to 8, clap from 17 to 24, hat, stab to 8", "kick, clap to 4, clap from 9 to 12, hat, stab to 4"}},
		{"a line-up of its own", "{name: drop, like: drop, play: [hat], add: [stab]}", []string{"hat, stab"}},
	} {
		got := play(drop + "  - " + row.sections + "\n")[2:]
		if strings.Join(got, "; ") != strings.Join(row.want, "; ") {
			t.Errorf("%s: got %q, want %q", row.rule, got, row.want)
		}
	}
}

// In a section that plays the same, more may be found for an energy of its own; those that play there play as there.
func TestMoreThanTheSameIsFound(t *testing.T) {
	const text = `phrase: 4 bars
sections:
  - {name: drop, bars: 16, play: [kick], energy: 55%, add: [hat, clap, stab, bass]}
  - {name: drop, like: drop, play: [same], energy: 95%..100%}
`
	got := chosen(t, text, recipes.Options{})
	first, second := got.Song.SectionRange(got.Song.Sections[0]), got.Song.SectionRange(got.Song.Sections[1])
	more := false
	for _, p := range got.Song.Parts {
		was, is := len(got.Song.In(p, first)), len(got.Song.In(p, second))
		if was > 0 && was != is {
			t.Errorf("%s plays %d notes in drop 1 and %d in drop 2", p.Name, was, is)
		}
		more = more || was == 0 && is > 0
	}
	if !more {
		t.Errorf("nobody joins:\n%s", strings.Join(got.Told, "\n"))
	}
}

// Each section of a chain is worked out from the one before it, so that four times the chain takes about four times as
// much; with energy and without, and where each second one has other bars.
func TestLongChainsOfSectionsLikeOthers(t *testing.T) {
	for _, row := range []struct{ name, first, other string }{
		{"line-ups", "{name: s0, bars: 2, play: [kick, hat from 2]}", ", bars: 2"},
		{"energy", "{name: s0, bars: 2, play: [kick], energy: 60%}", ", bars: 2"},
		{"other bars", "{name: s0, bars: 2, play: [kick], energy: 60%}", ", bars: 4"},
	} {
		allocated := func(n int) float64 {
			var b strings.Builder
			b.WriteString("phrase: 1 bar\nsections:\n  - " + row.first + "\n")
			for i := 1; i < n; i++ {
				bars := ", bars: 2"
				if i%2 == 1 {
					bars = row.other
				}
				fmt.Fprintf(&b, "  - {name: s%d, like: s%d%s, play: [same]}\n", i, i-1, bars)
			}
			r, err := recipes.Parse("chain.yaml", []byte(b.String()))
			if err != nil {
				t.Fatal(err)
			}
			in := []recipes.Input{gridLoop(t, smallLoop)}
			return testing.AllocsPerRun(1, func() {
				if _, err := recipes.Draft(in, r, recipes.Options{}); err != nil {
					t.Fatal(err)
				}
			})
		}
		short, long := allocated(100), allocated(400)
		if long > 6*short {
			t.Errorf("%s: 100 sections allocate %.0f times, 400 sections %.0f times", row.name, short, long)
		}
	}
}
