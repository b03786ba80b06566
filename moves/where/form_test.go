package where

import (
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"unicode"

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

func TestForms(t *testing.T) {
	for _, row := range []struct {
		rule       string
		form       option.Form
		takes, not []string
	}{
		{"spans", Spans{}.Form(), []string{"bars 9-16", "bars 9 - 16", "17.3-18.1", "\tlast  2\nbars of drop ", "förspel", "bar 010", "from from intro to break to end", "second half of drop 2", "last third of every break", "loop bar 8 of drop", "loop bars 5 - 8", "loop 2", "from second to half", "first 1/2 of drop", "2 bars after end of drop"},
			[]string{"", " ", "Drop", "17.3", "bars 9 to 16", "last 1 bar of evry drop", "drop outro", "bar 0", "bar 1000000", "first 1/0", "drop, intro", "end of drop", "9", "second half", "first half drop", "second third of drop", "loop bar", "2nd half of drop", "last 2 beats before every drop of"}},
		{"places", Places{}.Form(), []string{"17.3", "end", "end of drop", "every drop", "1.10"}, []string{"", "33", "17.0", "0.1", "End"}},
		{"parts", Parts{}.Form(), []string{"kick", "hat 2", "snare or clap if any", "all but bass and hook 1"}, []string{"", "Kick", "snare, clap", "all drums", "hat from 9", "9", "snare orr clap"}},
		{"items of line-ups", LineUp{}.Form(), []string{"hat from 9 to 24", "tops 1 if any from 9", "clap in second half", "lead from 8.3", "lead from 8.3 to 9", "extra in turn from 9", "out out in turn to 8", "same", "same in last third", "lead 2 of b if any in turn in first half"}, []string{"", "hat form 9", "hat from bar 9", "perc 9-24", "perc from 9 if any", "snare or clap", "clap in half", "clap second half", "extra from 9 in turn", "hat in first half from 9", "lead from 8.", "clap in"}},
		{"lengths", Length{}.Form(), []string{"8 bars", "beat", "3/16"}, []string{"", "8", "bars 8", "0 bars", "1/0"}},
		{"names of sections", SectionNameForm(), []string{"drop-b", "förspel", "x2"}, []string{"", "Drop", "drop 2", "2x", "-x", "x_y"}},
		{"lengths of songs", Extent{}.Form(), []string{"192 bars", "1 bar", "9999 bars", "6m30s", "90s", "5m", "0m1s", "1000m60000s"}, []string{"", "192", "0 bars", "10000 bars", "0s", "0m0s", "0m", "m", "1001m", "6m30", "60001s"}},
		{"gaps", Gap{}.Form(), []string{"1 beat", "1/8"}, []string{"now", "1 beat of bar 1"}},
	} {
		re := regexp.MustCompile(row.form.Regexp())
		for _, text := range row.takes {
			if !re.MatchString(text) {
				t.Errorf("%s: %q is refused", row.rule, text)
			}
		}
		for _, text := range row.not {
			if re.MatchString(text) {
				t.Errorf("%s: %q is taken", row.rule, text)
			}
		}
	}
}

func TestEverySpaceParts(t *testing.T) {
	for r := range unicode.MaxRune {
		if unicode.IsSpace(r) && !forms()["span"].MatchString("last bar"+string(r)+"of drop") {
			t.Errorf("%U parts no words", r)
		}
	}
}
