//go:build oracles

package where

import (
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"loopdraft/moves/option"
)

// forms are those of the sentences, by the rule of the grammar.
func forms() map[string]*regexp.Regexp {
	out := map[string]*regexp.Regexp{}
	for name, f := range map[string]option.Form{"span": Spans{}.Form(), "place": Places{}.Form(), "length": Length{}.Form(), "parts": Parts{}.Form(), "item": LineUp{}.Form()} {
		out[name] = regexp.MustCompile(f.Regexp())
	}
	return out
}

func TestFormsTakeEverySentence(t *testing.T) {
	g, rng, taken, refused, wrong := language(), rand.New(rand.NewPCG(2, 9)), 0, 0, 0
	has := forms()
	check := func(rule, text string) {
		_, _, err := readByParser(rule, text)
		matches := has[rule].MatchString(text)
		switch {
		case err == nil && !matches:
			t.Errorf("%s %q is valid and has not its form", rule, text)
		case err == nil:
			taken++
		default:
			if wrong++; !matches {
				refused++
			}
		}
	}
	for i := range 3000 {
		rule := []string{"span", "place", "length", "parts", "item"}[i%5]
		words := g.make(g[rule], 4, rng)
		check(rule, strings.Join(words, " "))
		at := rng.IntN(len(words))
		words[at] = []string{"evry", "drop", "9", "Drop", "-", "of", "x,"}[rng.IntN(7)]
		check(rule, strings.Join(words, " "))
	}
	t.Logf("%d taken, %d of %d others refused", taken, refused, wrong)
	if taken < 2000 || refused*10 < wrong*8 {
		t.Errorf("%d sentences taken and %d of %d others refused, want 2000 and eight of ten", taken, refused, wrong)
	}
}
