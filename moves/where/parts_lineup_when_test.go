package where_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/recipes/wording"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// itemsText writes when each part plays, as items of a line-up.
func itemsText(c where.SectionContext, plays [][]where.Play) string {
	var out []string
	for p, stretches := range plays {
		for _, s := range stretches {
			name := where.PartText(c.Song, p)
			if s.Loop != "" {
				name += " of " + s.Loop
			}
			out = append(out, c.Item(name, s.Range))
		}
	}
	return strings.Join(out, ", ")
}

func TestLineUpsInPortionsAndBeats(t *testing.T) {
	s := bandOf("kick:kick/beat, hat:hat/tops")
	for _, row := range []struct {
		rule string
		bars int
		text string
		want string
	}{
		{"the first half", 16, "hat in first half", "hat to 8"},
		{"the second half", 16, "hat in second half", "hat from 9"},
		{"the last half is the second", 16, "hat in last half", "hat from 9"},
		{"the nearest bar, halves up", 5, "hat in first half", "hat to 3"},
		{"the halves of five bars add up", 5, "hat in second half", "hat from 4"},
		{"a third of eight bars", 8, "hat in first third", "hat to 3"},
		{"the last third of eight bars", 8, "hat in last third", "hat from 6"},
		{"a quarter", 16, "hat in last quarter", "hat from 13"},
		{"at least a bar", 2, "hat in first quarter", "hat to 1"},
		{"at least a bar at the end", 2, "hat in last quarter", "hat from 2"},
		{"all of one bar", 1, "hat in second half", "hat"},
		{"beat 3 of bar 8", 16, "hat from 8.3", "hat from 8.3"},
		{"beat 1 is the bar", 16, "hat from 8.1", "hat from 8"},
		{"to includes the bar", 16, "hat to 8", "hat to 8"},
		{"to includes the beat", 16, "hat to 8.3", "hat to 8.3"},
		{"the last beat of a bar ends it", 16, "hat to 8.4", "hat to 8"},
		{"a single beat", 16, "hat from 8.3 to 8.3", "hat from 8.3 to 8.3"},
		{"from a beat through a bar", 16, "hat from 8.3 to 8", "hat from 8.3 to 8"},
		{"all takes portions too", 16, "all but kick in first half", "hat to 8"},
	} {
		c := ofBars(s, row.bars)
		plays, told, err := where.LineUpOf(row.text).Resolve(c)
		if got := itemsText(c, plays); got != row.want || err != nil || told != nil {
			t.Errorf("%s: %s of %d bars: got %s (%v, %v), want %s", row.rule, row.text, row.bars, got, err, told, row.want)
		}
	}
}

// A line-up starts with its section, wherever that lies: here in bar 4, after three bars of 4/4, in 3/4.
func TestLineUpsCountInTheirSection(t *testing.T) {
	s := songOf("intro 3, drop 8", smf.MetreAt{Metre: smf.Metre{Num: 4, Den: 4}}, smf.MetreAt{Tick: 3 * 1920, Metre: smf.Metre{Num: 3, Den: 4}})
	s.Parts = bandOf("hat:hat/tops").Parts
	drop := where.SectionContext{Song: s, Bar: 4, Bars: 8, Strict: true}
	plays, _, err := where.LineUpOf("hat from 2.3").Resolve(drop)
	if err != nil || fmt.Sprint(plays) != "[[{{2400 11520} }]]" { // 1 bar and 2 beats of 480 ticks, 8 bars of 1440
		t.Errorf("got %v, %v", plays, err)
	}
	_, _, err = where.LineUpOf("hat from 2.4").Resolve(drop)
	var e *option.Mistake
	if !errors.As(err, &e) || e.Want != "beats within 1-3 in bar 2" {
		t.Errorf("a fourth beat in 3/4: got %v", err)
	}
}

func TestLineUpBeatsMustFit(t *testing.T) {
	s := bandOf("hat:hat/tops")
	for _, row := range []struct {
		rule, text, want string
		col              int
		clipped, told    string
	}{
		{"from a beat past its bar", "hat from 8.9", "beats within 1-4 in bar 8", 10, "hat from 9", "hat from 8.9: found 8.9, but bar 8 has only 4 beats; clipped"},
		{"to a beat past its bar", "hat to 8.5", "beats within 1-4 in bar 8", 8, "hat to 8", "hat to 8.5: found 8.5, but bar 8 has only 4 beats; clipped"},
		{"past the last bar's beats", "hat from 16.5", "beats within 1-4 in bar 16", 10, "", "hat from 16.5: found 16.5, but bar 16 has only 4 beats; clipped"},
		{"from a beat past the section", "hat from 17.2", "bars within 1-16 (the section)", 10, "", "hat from 17.2: the section has 16 bars; left out"},
		{"to a beat past the section", "hat from 2.2 to 17.2", "bars within 1-16 (the section)", 17, "hat from 2.2", "hat from 2.2 to 17.2: the section has 16 bars; clipped"},
	} {
		c := ofBars(s, 16)
		_, _, err := where.LineUpOf(row.text).Resolve(c)
		var e *option.Mistake
		if !errors.As(err, &e) || e.Want != row.want || e.Col != row.col {
			t.Errorf("%s: strict: got %+v (%v)", row.rule, e, err)
		}
		c.Strict = false
		plays, told, err := where.LineUpOf(row.text).Resolve(c)
		if got := itemsText(c, plays); got != row.clipped || strings.Join(wording.All(told, false), "\n") != row.told || err != nil {
			t.Errorf("%s: clipped: got %s, %v, %v", row.rule, got, told, err)
		}
	}
}

func TestScaledLineUps(t *testing.T) {
	s := bandOf("hat:hat/tops, pad:pad/bed")
	for _, row := range []struct {
		rule          string
		written, bars int
		items, want   string
	}{
		{"the same length", 32, 32, "hat from 9 to 24", "hat from 9 to 24"},
		{"half the length", 32, 16, "hat from 17 to 32", "hat from 9"},
		{"a phrase line stays on one", 32, 24, "hat from 9 to 24", "hat from 9 to 16"},
		{"and goes to the nearer", 32, 16, "hat from 9 to 24", "hat from 9"},
		{"what stands elsewhere goes to the nearest bar", 32, 16, "hat from 6 to 11", "hat from 4 to 6"},
		{"the ends of the section stay its ends", 12, 24, "hat from 1 to 12", "hat"},
		{"never empty: before the end", 16, 8, "hat from 9 to 16", "hat"},
		{"never empty: between", 64, 8, "hat from 17 to 24", "hat"},
		{"never empty: a single bar", 32, 8, "hat from 2 to 2", "hat to 1"},
		{"never empty: the last bar", 32, 8, "hat from 32 to 32", "hat from 8"},
		{"longer", 16, 32, "hat from 9 to 14", "hat from 17 to 28"},
		{"two ranges that come to touch are one", 32, 8, "hat from 1 to 8, hat from 17 to 24", "hat"},
		{"the bar moves, the beat stays", 16, 32, "hat from 8.3", "hat from 15.3"},
		{"and back", 32, 16, "hat from 15.3", "hat from 8.3"},
		{"from a phrase's first bar it stays there", 32, 16, "hat from 17.3", "hat from 9.3"},
		{"to a beat", 16, 32, "hat to 8.2", "hat to 15.2"},
		{"a bar that would come past the end is the last", 32, 8, "hat from 32.3", "hat from 8.3"},
		{"beats that come into one bar are not turned round", 32, 8, "hat from 5.3 to 6.1", "hat from 2.3 to 2"},
		{"a half stays the half", 16, 24, "hat in second half", "hat from 13"},
		{"of an odd length", 16, 9, "hat in first half, pad in second half", "hat to 5, pad from 6"},
		{"a third of another length", 24, 16, "hat in last third", "hat from 12"},
		{"in turn goes by the new lines", 16, 32, "all in turn", "hat, pad from 17"},
		{"in turn in a section of one phrase", 16, 8, "all in turn", "hat, pad"},
	} {
		c := where.SectionContext{Song: s, Bars: row.bars, Written: row.written, Strict: true}
		plays, told, err := where.LineUpOf(strings.Split(row.items, ", ")...).Resolve(c)
		if got := itemsText(c, plays); got != row.want || err != nil || told != nil {
			t.Errorf("%s: %s of %d in %d: got %s (%v, %v), want %s", row.rule, row.items, row.written, row.bars, got, err, told, row.want)
		}
	}
	// Whatever is written plays somewhere, and inside the section.
	for _, written := range []int{1, 2, 3, 5, 8, 12, 17, 24} {
		for bars := 8; bars <= 40; bars += 8 {
			c := where.SectionContext{Song: s, Bars: bars, Written: written, Strict: true}
			for first := 1; first <= written; first++ {
				for last := first; last <= written; last++ {
					for _, form := range []string{"hat from %d to %d", "hat from %d.3 to %d", "hat from %d to %d.2", "hat from %d.2 to %d.3"} {
						plays, _, err := where.LineUpOf(fmt.Sprintf(form, first, last)).Resolve(c)
						if err != nil || len(plays[0]) != 1 || plays[0][0].Start < 0 || plays[0][0].Len() <= 0 || plays[0][0].End > song.Tick(bars)*1920 {
							t.Fatalf(form+" of %d in %d: got %v, %v", first, last, written, bars, plays, err)
						}
					}
				}
			}
		}
	}
}

// An x stands where a part plays, with a letter per bar; phrases have 4 bars.
func TestInTurn(t *testing.T) {
	s := bandOf("oh:open-hat/tops, hat:hat/tops, ride:ride/tops, bell:perc/perc, sub:sub/bass")
	for _, row := range []struct {
		rule, text    string
		oh, hat, ride string
	}{
		{"in the order of tops 1, tops 2, tops 3", "tops in turn",
			"....xxxxxxxx",
			"xxxxxxxxxxxx",
			"........xxxx"},
		{"from a bar on, three parts over two lines", "tops in turn from 5",
			"....xxxxxxxx",
			"....xxxxxxxx",
			"........xxxx"},
		{"the first comes in where the item starts, the next on a line", "tops in turn from 7",
			"......xxxxxx",
			"......xxxxxx",
			"........xxxx"},
		{"from a beat on", "tops in turn from 4.3",
			"....xxxxxxxx",
			".../xxxxxxxx",
			"........xxxx"},
		{"up to a bar", "tops in turn from 1 to 8",
			"xxxxxxxx....",
			"xxxxxxxx....",
			"....xxxx...."},
		{"in a half", "tops in turn in first half",
			"xxxxxx......",
			"xxxxxx......",
			"....xx......"},
		{"out, the last first", "tops out in turn",
			"xxxx........",
			"xxxxxxxx....",
			"............"},
		{"out from a bar on, all play before it", "tops out in turn from 5",
			"xxxx........",
			"xxxxxxxx....",
			"xxxx........"},
		{"out in the second half", "tops out in turn in second half",
			"xxxxxx......",
			"xxxxxxxx....",
			"xxxxxx......"},
		{"a single part", "tops 3 in turn from 5",
			"............",
			"............",
			"....xxxxxxxx"},
		{"some of all", "all but oh and bell and sub in turn",
			"............",
			"xxxxxxxxxxxx",
			"....xxxxxxxx"},
	} {
		c := where.SectionContext{Song: s, Bars: 12, Phrase: 4, Strict: true}
		plays, told, err := where.LineUpOf(row.text).Resolve(c)
		want := "oh " + row.oh + "\nhat " + row.hat + "\nride " + row.ride + "\n"
		if got := playsText(s, plays, 12); !strings.HasPrefix(got, want) || err != nil || told != nil {
			t.Errorf("%s: %s (%v, %v)\ngot\n%swant\n%s", row.rule, row.text, err, told, got, want)
		}
	}
	// This is the same rule in figures: part i of n enters at line i*k/n, rounded down, and leaves n-1-i likewise.
	for n := 1; n <= 7; n++ {
		for k := 1; k <= 9; k++ {
			var hats []string
			for i := range n {
				hats = append(hats, fmt.Sprintf("hat %d:hat/tops", i+1))
			}
			c := where.SectionContext{Song: bandOf(strings.Join(hats, ", ")), Bars: 4 * k, Phrase: 4, Strict: true}
			in, _, err1 := where.LineUpOf("all in turn").Resolve(c)
			out, _, err2 := where.LineUpOf("all out in turn").Resolve(c)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			end := song.Tick(4 * k * 1920)
			for i := range n {
				start := song.Tick(4 * 1920 * (i * k / n))
				if got := where.Ranges(in[i]); len(got) != 1 || got[0] != (song.Range{Start: start, End: end}) {
					t.Errorf("part %d of %d over %d lines comes in at %v, want %d", i, n, k, got, start)
				}
				leaves := song.Tick(4 * 1920 * ((n - 1 - i) * k / n))
				if got := where.Ranges(out[i]); leaves == 0 && len(got) != 0 || leaves > 0 && (len(got) != 1 || got[0] != (song.Range{End: leaves})) {
					t.Errorf("part %d of %d over %d lines plays %v, want it to leave at %d", i, n, k, got, leaves)
				}
			}
		}
	}
}

func TestSameLineUp(t *testing.T) {
	s := bandOf("kick:kick/beat, hat:hat/tops, bass:bass/bass, pump:trigger/")
	drop := where.SectionContext{Song: s, Bars: 16, Written: 16, Strict: true}
	base, _, err := where.LineUpOf("kick", "hat from 9", "bass in first half").Resolve(drop)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		rule  string
		texts []string
		want  string
	}{
		{"what it came to there", []string{"same"}, "kick, hat from 9, bass to 8, pump"},
		{"and these", []string{"same", "hat to 4"}, "kick, hat to 4, bass to 8, pump"},
		{"every other word is narrower", []string{"all from 5", "same"}, "kick from 5, hat from 5, bass from 5, pump from 5"},
		{"some bars of it", []string{"same to 12"}, "kick to 12, hat from 9 to 12, bass to 8, pump to 12"},
		{"half of it", []string{"same in second half"}, "kick from 9, hat from 9, pump from 9"},
		{"triggers follow what plays here", []string{"same from 5 to 8", "hat from 13"}, "kick from 5 to 8, hat from 13, bass from 5 to 8, pump from 5 to 8, pump from 13"},
	} {
		c := drop
		c.Base = base
		plays, _, err := where.LineUpOf(row.texts...).Resolve(c)
		if got := itemsText(c, plays); got != row.want || err != nil {
			t.Errorf("%s: %q: got %s (%v), want %s", row.rule, row.texts, got, err, row.want)
		}
	}
	if !where.LineUpOf("kick", "same from 9").Same() || where.LineUpOf("same 1").Same() {
		t.Error("a line-up does not know whether it says same")
	}
	_, _, err = where.LineUpOf("kick", "same").Resolve(drop)
	var e *option.Mistake
	if !errors.As(err, &e) || e.Item != 1 || e.Col != 1 || e.Found != "same" || !strings.Contains(e.Want, "like: drop 1") || e.Hint != "" {
		t.Errorf("like no other: got %+v", e)
	}
	called := bandOf("same:pad/bed, kick:kick/beat")
	plays, _, err := where.LineUpOf("same 1 from 3").Resolve(ofBars(called, 4))
	if got := itemsText(ofBars(called, 4), plays); got != "same 1 from 3" || err != nil {
		t.Errorf("a part called same: got %s, %v", got, err)
	}
	if _, _, err = where.LineUpOf("same").Resolve(ofBars(called, 4)); !errors.As(err, &e) || e.Hint != "same 1" {
		t.Errorf("a part called same, without its number: got %v", err)
	}
}

func TestPartsOfLoops(t *testing.T) {
	s := bandOf("kick:kick/beat, lead:lead/hook, pump:trigger/")
	c := ofBars(s, 16)
	c.Loops = []string{"a", "break"}
	for _, row := range []struct {
		rule  string
		texts []string
		want  string
	}{
		{"narrower than all", []string{"all", "lead of break"}, "kick, lead of break, pump"},
		{"as narrow as the word before of", []string{"hook of break", "lead"}, "lead, pump"},
		{"at some bars", []string{"lead of break from 9"}, "lead of break from 9, pump from 9"},
		{"of two loops the later counts", []string{"lead", "lead of break from 9 to 12"}, "lead to 8, lead of break from 9 to 12, lead from 13, pump"},
		{"whichever is later", []string{"lead of break from 5", "lead from 9"}, "lead of break from 5 to 8, lead from 9, pump from 5"},
	} {
		plays, _, err := where.LineUpOf(row.texts...).Resolve(c)
		if got := itemsText(c, plays); got != row.want || err != nil {
			t.Errorf("%s: %q: got %s (%v), want %s", row.rule, row.texts, got, err, row.want)
		}
	}
	var e *option.Mistake
	_, _, err := where.LineUpOf("lead of braek from 9").Resolve(c)
	if !errors.As(err, &e) || e.Col != 6 || e.Found != "of braek" || e.Want != "one of the loops a, break" || e.Hint != "lead of break from 9" {
		t.Errorf("a loop that is not there: got %+v", e)
	}
	_, _, err = where.LineUpOf("lead of b from 9").Resolve(ofBars(s, 16))
	if !errors.As(err, &e) || e.Col != 6 || e.Want != `no "of": there is one loop only` || e.Hint != "lead from 9" {
		t.Errorf("one loop only: got %+v", e)
	}
}

// Each text is written as it is read.
func TestLineUpWords(t *testing.T) {
	for _, text := range []string{"lead of b if any in turn from 8.3 to 9", "lead 2 of b out in turn in last quarter", "all but out and in out in turn to 8",
		"same", "same in second half", "same 1 of same in turn", "same from 8.3", "out out in turn", "in in turn in first half", "turn of half in second half",
		"second in second half", "loop 2 from 9", "half 1 to 2.2", "third of third in last third"} {
		l, err := where.ParseLineUp(text)
		if err != nil || l.String() != "["+text+"]" {
			t.Errorf("%q reads %q, %v", text, l, err)
		}
	}
}

func TestLineUpMistakes(t *testing.T) {
	for _, row := range []struct {
		rule, text string
		col        int
		found      string
		want       string // part of it
		hint       string
	}{
		{"a portion of nothing", "clap in", 8, "", `"turn", "first" or "last" and "half"`, ""},
		{"in what", "clap in drop", 9, "drop", `"turn", "first" or "last" and "half"`, ""},
		{"the first what", "clap in first bar", 15, "bar", `"half", "third" or "quarter"`, ""},
		{"the second what", "clap in second third", 16, "third", `"half"`, ""},
		{"out how", "clap out", 9, "", `"in"`, ""},
		{"turn stands once", "extra in turn in turn", 18, "turn", "", ""},
		{"of which loop", "lead of", 8, "", "a loop's name", ""},
		{"all plays one loop", "all of b", 5, "of", `no "of"`, ""},
		{"same is there or is not", "same if any", 6, "if", `"in", "from", "to" or the end`, ""},
		{"same is of no loop", "same of b", 6, "of", `"in", "from", "to" or the end`, ""},
		{"a portion and bars", "hat in first half from 9", 19, "from", "the end", ""},
		{"to a beat before", "hat from 8.3 to 8.2", 17, "8.2", "a beat from 8.3", ""},
		{"to a bar before", "hat from 9.3 to 8.4", 17, "8.4", "a bar from 9", ""},
		{"beat 0", "hat from 8.0", 10, "8.0", "numbers from 1", ""},
		{"two names", "kick bass", 6, "bass", "the end", ""},
		{"half of a section", "clap in the second half of the break", 9, "the", "", "clap in second half"},
		{"without in", "clap second half", 6, "second", "", "clap in second half"},
		{"from the half on", "clap from second half", 11, "second", "", "clap in second half"},
		{"for the half", "clap for the last third", 6, "for", "", "clap in last third"},
		{"the 2nd half", "clap in 2nd half", 9, "2nd", "", "clap in second half"},
		{"in what half", "clap in half", 9, "half", "", "clap in first half"},
		{"half misspelt", "clap in second hlaf", 16, "hlaf", "", "half"},
		{"bar and beat", "lead from bar 8 beat 3", 11, "bar", "", "lead from 8.3"},
		{"beat and bar", "lead on beat 3 of bar 8", 6, "on", "", "lead from 8.3"},
		{"at a place", "lead at 8.3", 6, "at", "", "lead from 8.3"},
		{"from a beat with a hyphen", "lead 8.3-9.2", 6, "8.3", "", "lead from 8.3 to 9.2"},
		{"one after another", "extra one after another from 9", 7, "one", "", "extra in turn from 9"},
		{"one by one", "extra one by one", 7, "one", "", "extra in turn"},
		{"in turn comes before from", "extra from 9 in turn", 14, "in", "", "extra in turn from 9"},
		{"if any comes first", "extra in turn if any", 15, "if", "", "extra if any in turn"},
		{"of comes first", "lead if any of b", 13, "of", "", "lead of b if any"},
		{"turn misspelt", "extra in trun", 10, "trun", "", "turn"},
		{"leave in turn", "extra leave in turn", 7, "leave", "", "extra out in turn"},
		{"from a loop", "lead from b", 11, "b", "", "lead of b"},
		{"of a loop", "lead of loop b", 14, "b", "", "lead of b"},
	} {
		_, err := where.ParseLineUp(row.text)
		var e *option.Mistake
		if !errors.As(err, &e) {
			t.Errorf("%s: %q: got %v, want a mistake", row.rule, row.text, err)
			continue
		}
		if e.Col != row.col || e.Found != row.found || !strings.Contains(e.Want, row.want) || e.Hint != row.hint {
			t.Errorf("%s: %q: got column %d, found %q, want %q, hint %q", row.rule, row.text, e.Col, e.Found, e.Want, e.Hint)
		}
	}
}
