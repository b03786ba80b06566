package where_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/recipes/wording"
	"loopdraft/smf/song"
)

// playsText draws a line-up of a section in 4/4 that starts with the song: a row per part, a letter per
// bar, x where it plays all of it and / where it plays some beats.
func playsText(s song.Song, plays [][]where.Play, bars int) string {
	var b strings.Builder
	for i, ranges := range plays {
		row := []byte(strings.Repeat(".", bars))
		for _, r := range ranges {
			for bar := range row {
				switch in := s.BarRange(bar+1, bar+1); {
				case r.Start <= in.Start && r.End >= in.End:
					row[bar] = 'x'
				case r.Start < in.End && r.End > in.Start:
					row[bar] = '/'
				}
			}
		}
		fmt.Fprintf(&b, "%s %s\n", s.Parts[i].Name, row)
	}
	return b.String()
}

// ofBars is a section at the start of a song.
func ofBars(s song.Song, bars int) where.SectionContext {
	return where.SectionContext{Song: s, Bars: bars, Strict: true}
}

func TestLineUps(t *testing.T) {
	s := bandOf("kick:kick/beat, hat 1:hat/tops, hat 2:hat/tops, ride:ride/tops, bass:bass/bass, sub:sub/bass, pump:trigger/")
	draw := func(rows ...string) string {
		var b strings.Builder
		for i, row := range rows {
			fmt.Fprintf(&b, "%s %s\n", s.Parts[i].Name, row)
		}
		return b.String()
	}
	const silent, full = "........", "xxxxxxxx"
	for _, row := range []struct {
		rule  string
		texts []string
		want  string
	}{
		{"no items is silence", []string{}, draw(silent, silent, silent, silent, silent, silent, silent)},
		{"all plays, the trigger with it", []string{"all"}, draw(full, full, full, full, full, full, full)},
		{"from and to are both included", []string{"kick from 3 to 6"}, draw("..xxxx..", silent, silent, silent, silent, silent, "..xxxx..")},
		{"from without to lasts to the end", []string{"kick from 5"}, draw("....xxxx", silent, silent, silent, silent, silent, "....xxxx")},
		{"to without from starts at 1", []string{"kick to 2"}, draw("xx......", silent, silent, silent, silent, silent, "xx......")},
		{"items add up", []string{"kick to 2", "kick from 7", "kick from 2 to 3"}, draw("xxx...xx", silent, silent, silent, silent, silent, "xxx...xx")},
		{"a job overrules a group", []string{"all", "bass from 5"}, draw(full, full, full, full, "....xxxx", "....xxxx", full)},
		{"the order of items does not matter", []string{"bass from 5", "all"}, draw(full, full, full, full, "....xxxx", "....xxxx", full)},
		{"a role overrules a job", []string{"tops from 5", "hat"}, draw(silent, full, full, "....xxxx", silent, silent, full)},
		{"a part overrules a role", []string{"hat", "hat 2 from 5"}, draw(silent, full, "....xxxx", silent, silent, silent, full)},
		{"a numbered job is a part", []string{"tops", "tops 1 to 4"}, draw(silent, "xxxx....", full, full, silent, silent, full)},
		{"a role that is no job", []string{"bass from 5", "sub"}, draw(silent, silent, silent, silent, "....xxxx", full, full)},
		{"a smaller group overrules all", []string{"all", "low from 5"}, draw("....xxxx", full, full, full, "....xxxx", "....xxxx", full)},
		{"all but", []string{"all but tops and sub from 5"}, draw("....xxxx", silent, silent, silent, "....xxxx", silent, "....xxxx")},
		{"a part that is not there", []string{"kick", "snare if any from 3"}, draw(full, silent, silent, silent, silent, silent, full)},
		{"an empty job", []string{"kick", "hook from 3"}, draw(full, silent, silent, silent, silent, silent, full)},
		{"a named trigger plays as it is told", []string{"kick", "trigger from 5"}, draw(full, silent, silent, silent, silent, silent, "....xxxx")},
		{"a trigger plays wherever anything plays", []string{"beat to 2", "bass from 7"}, draw("xx......", silent, silent, silent, "......xx", "......xx", "xx....xx")},
	} {
		l, err := where.ParseLineUp(row.texts...)
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		plays, told, err := l.Resolve(ofBars(s, 8))
		if got := playsText(s, plays, 8); got != row.want || err != nil || told != nil {
			t.Errorf("%s: %q (%v, %v)\ngot\n%swant\n%s", row.rule, row.texts, err, told, got, row.want)
		}
		if again, err := where.ParseLineUp(l.Texts()...); err != nil || !again.Equal(l) || strings.Join(l.Texts(), "|") != strings.Join(row.texts, "|") {
			t.Errorf("%s: %q is written %q", row.rule, row.texts, l)
		}
	}
	plays, _, err := where.LineUp{}.Resolve(ofBars(s, 8))
	if got := playsText(s, plays, 8); got != draw(full, full, full, full, full, full, full) || err != nil {
		t.Errorf("left out is all:\n%s%v", got, err)
	}
	plays, _, _ = where.LineUpOf("kick to 4", "kick from 5").Resolve(ofBars(s, 8))
	if len(plays[0]) != 1 || plays[0][0].Range != s.BarRange(1, 8) {
		t.Errorf("touching bars are one stretch: %v", plays[0])
	}
}

func TestLineUpBarsMustFit(t *testing.T) {
	s := bandOf("kick:kick/beat, hat:hat/tops")
	for _, row := range []struct {
		rule, text string
		col        int
		found      string
		clipped    string
		told       string
	}{
		{"from past the section", "hat from 9", 10, "9", "........", "hat from 9: the section has 8 bars; left out"},
		{"to past the section", "hat from 3 to 12", 15, "12", "..xxxxxx", "hat from 3 to 12: the section has 8 bars; clipped"},
		{"both past the section", "hat from 9 to 12", 10, "9", "........", "hat from 9 to 12: the section has 8 bars; left out"},
	} {
		_, _, err := where.LineUpOf("kick", row.text).Resolve(ofBars(s, 8))
		var e *option.Mistake
		if !errors.As(err, &e) || e.Col != row.col || e.Found != row.found || e.Want != "bars within 1-8 (the section)" || e.Item != 1 || e.Text != row.text {
			t.Errorf("%s: strict: got %+v (%v)", row.rule, e, err)
		}
		plays, told, err := where.LineUpOf("kick", row.text).Resolve(where.SectionContext{Song: s, Bars: 8})
		if err != nil || playsText(s, plays, 8) != "kick xxxxxxxx\nhat "+row.clipped+"\n" || strings.Join(wording.All(told, false), "\n") != row.told {
			t.Errorf("%s: clipped: got %v, %v, %v", row.rule, plays, told, err)
		}
	}
	_, _, err := where.LineUpOf("snare", "kick", "tom from 3").Resolve(ofBars(s, 8))
	if got := mistakes(err); len(got) != 2 || got[0].Item != 0 || got[1].Item != 2 || got[0].Hint != "snare if any" || got[1].Hint != "tom if any from 3" {
		t.Errorf("parts that are not there: got %v", err)
	}
}

func TestLineUpTexts(t *testing.T) {
	for _, row := range []struct{ rule, text, hint string }{
		{"from bar", "hat from bar 9", "hat from 9"},
		{"bars with a hyphen", "hat bars 9-24", "hat from 9 to 24"},
		{"numbers with a hyphen", "perc 9-24", "perc from 9 to 24"},
		{"from with a hyphen", "perc from 9-24", "perc from 9 to 24"},
		{"dots", "perc from 9..24", "perc from 9 to 24"},
		{"until", "hat until 24", "hat to 24"},
		{"if any comes first", "perc from 9 if any", "perc if any from 9"},
		{"from comes first", "hat to 24 from 9", "hat from 9 to 24"},
		{"or", "snare or clap from 9", "[snare if any from 9, clap if any from 9]"},
		{"and", "kick and hat from 9", "[kick, hat from 9]"},
		{"a misspelt word", "hat form 9", "from"},
		{"to before from", "hat from 9 to 8", ""},
		{"bar 0", "hat from 0", ""},
	} {
		_, err := where.ParseLineUp(row.text)
		var e *option.Mistake
		if !errors.As(err, &e) {
			t.Errorf("%s: %q: got %v, want a mistake", row.rule, row.text, err)
		} else if e.Hint != row.hint {
			t.Errorf("%s: %q: suggested %q, want %q (%v)", row.rule, row.text, e.Hint, row.hint, err)
		}
	}
	if _, _, err := where.LineUpOf("hat from 0").Resolve(where.SectionContext{Bars: 8}); err == nil {
		t.Error("a literal that cannot be read was resolved")
	}
	var none where.LineUp
	if !none.IsZero() || none.String() != "" || where.LineUpOf().IsZero() || where.LineUpOf().String() != "[]" || none.Equal(where.LineUpOf()) {
		t.Error("silence and a line-up left out are not told apart")
	}
	if err := none.UnmarshalTexts([]string{"kick"}); err != nil || none.String() != "[kick]" {
		t.Errorf("a list of one: %q, %v", none, err)
	}
}

func ExampleLineUp_Resolve() {
	s := bandOf("kick:kick/beat, hat:hat/tops, bass:bass/bass")
	drop := where.SectionContext{Song: s, Bars: 16, Strict: true}
	plays, _, err := where.LineUpOf("all", "hat in turn", "bass from 8.3").Resolve(drop)
	for i, p := range s.Parts {
		for _, play := range plays[i] {
			fmt.Println(drop.Item(p.Name, play.Range), err)
		}
	}
	// Output:
	// kick <nil>
	// hat <nil>
	// bass from 8.3 <nil>
}
