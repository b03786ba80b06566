package where_test

import (
	"regexp"
	"testing"
	"unicode"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
)

func TestForms(t *testing.T) {
	for _, row := range []struct {
		rule       string
		form       option.Form
		takes, not []string
	}{
		{"spans", where.Spans{}.Form(), []string{"bars 9-16", "bars 9 - 16", "17.3-18.1", "\tlast  2\nbars of drop ", "förspel", "bar 010", "from from intro to break to end", "second half of drop 2", "last third of every break", "loop bar 8 of drop", "loop bars 5 - 8", "loop 2", "from second to half", "first 1/2 of drop", "2 bars after end of drop"},
			[]string{"", " ", "Drop", "17.3", "bars 9 to 16", "last 1 bar of evry drop", "drop outro", "bar 0", "bar 1000000", "first 1/0", "drop, intro", "end of drop", "9", "second half", "first half drop", "second third of drop", "loop bar", "2nd half of drop", "last 2 beats before every drop of"}},
		{"places", where.Places{}.Form(), []string{"17.3", "end", "end of drop", "every drop", "1.10"}, []string{"", "33", "17.0", "0.1", "End"}},
		{"parts", where.Parts{}.Form(), []string{"kick", "hat 2", "snare or clap if any", "all but bass and hook 1"}, []string{"", "Kick", "snare, clap", "all drums", "hat from 9", "9", "snare orr clap"}},
		{"items of line-ups", where.LineUp{}.Form(), []string{"hat from 9 to 24", "tops 1 if any from 9", "clap in second half", "lead from 8.3", "lead from 8.3 to 9", "extra in turn from 9", "out out in turn to 8", "same", "same in last third", "lead 2 of b if any in turn in first half"}, []string{"", "hat form 9", "hat from bar 9", "perc 9-24", "perc from 9 if any", "snare or clap", "clap in half", "clap second half", "extra from 9 in turn", "hat in first half from 9", "lead from 8.", "clap in"}},
		{"lengths", where.Length{}.Form(), []string{"8 bars", "beat", "3/16"}, []string{"", "8", "bars 8", "0 bars", "1/0"}},
		{"names of sections", where.SectionNameForm(), []string{"drop-b", "förspel", "x2"}, []string{"", "Drop", "drop 2", "2x", "-x", "x_y"}},
		{"lengths of songs", where.Extent{}.Form(), []string{"192 bars", "1 bar", "9999 bars", "6m30s", "90s", "5m", "0m1s", "1000m60000s"}, []string{"", "192", "0 bars", "10000 bars", "0s", "0m0s", "0m", "m", "1001m", "6m30", "60001s"}},
		{"gaps", where.Gap{}.Form(), []string{"1 beat", "1/8"}, []string{"now", "1 beat of bar 1"}},
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
	span := regexp.MustCompile(where.Spans{}.Form().Regexp())
	for r := range unicode.MaxRune {
		if unicode.IsSpace(r) && !span.MatchString("last bar"+string(r)+"of drop") {
			t.Errorf("%U parts no words", r)
		}
	}
}
