package where_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func TestSpanTexts(t *testing.T) {
	for _, row := range []struct{ rule, text, want string }{
		{"all of the song", "all", "all"},
		{"a bar", "bar 9", "bar 9"},
		{"a bar of a span", "bar 9 of drop 2", "bar 9 of drop 2"},
		{"bars, spaces around the hyphen do not matter", "bars 9 - 16", "bars 9-16"},
		{"bars of a span", "bars 9-16 of every drop", "bars 9-16 of every drop"},
		{"a beat of a span", "beat 2 of every bar", "beat 2 of every 1 bar"},
		{"beats of a span", "beat 2-3 of bar 4", "beat 2-3 of bar 4"},
		{"two places", "17.3-18.1", "17.3-18.1"},
		{"a section", "build-up", "build-up"},
		{"a numbered section", "drop 2", "drop 2"},
		{"every section of a name", "every drop", "every drop"},
		{"every section", "every section", "every section"},
		{"all but some", "every section but intro and drop 2", "every section but intro and drop 2"},
		{"a section but one", "drop but drop 1", "drop but drop 1"},
		{"from a place to a place", "from break 1 to drop 1", "from break 1 to drop 1"},
		{"from inside from", "from from intro to break to end", "from from intro to break to end"},
		{"from an instant to the end", "from 17.3 to end", "from 17.3 to end"},
		{"edges", "from start of drop to end of outro", "from start of drop to end of outro"},
		{"first", "first 8 bars of outro", "first 8 bars of outro"},
		{"first without of", "first 8 bars", "first 8 bars"},
		{"last, the number 1 may be left out", "last bar of groove", "last 1 bar of groove"},
		{"one or several, bar or bars", "last 2 beat of groove", "last 2 beats of groove"},
		{"before", "2 bars before every drop", "2 bars before every drop"},
		{"before the end", "8 bars before end", "8 bars before end"},
		{"before an instant", "1/16 before 17.3", "1/16 before 17.3"},
		{"after a span", "4 bars after drop", "4 bars after drop"},
		{"after an edge", "4 bars after start of drop", "4 bars after start of drop"},
		{"every length", "every 16 bars", "every 16 bars"},
		{"every other length of a span", "every other 8 bars of drop", "every other 8 bars of drop"},
		{"every note value", "every 3/16 of drop", "every 3/16 of drop"},
		{"of inside of", "last 1 beat of first 8 bars of every 16 bars of every drop", "last 1 beat of first 8 bars of every 16 bars of every drop"},
		{"half of a span", "first half of drop", "first half of drop"},
		{"the second half", "second half of drop 2", "second half of drop 2"},
		{"a share of a share", "last quarter of first third of all", "last quarter of first third of all"},
		{"1/2 is a note value", "first 1/2 of drop", "first 1/2 of drop"},
		{"a bar of the loop", "loop bar 8 of every drop", "loop bar 8 of every drop"},
		{"bars of the loop", "loop bars 5 - 8", "loop bars 5-8"},
		{"sections may be called as the words are", "from loop 2 to second", "from loop 2 to second"},
		{"of sections called so", "last half of half but half 2 and third", "last half of half but half 2 and third"},
		{"loop bars of a section called loop", "loop bar 1 of loop", "loop bar 1 of loop"},
		{"letters of every script", "förspel", "förspel"},
		{"any white space", "\tlast  2\nbars of drop ", "last 2 bars of drop"},
		{"leading zeros are decimal", "bar 010", "bar 10"},
	} {
		got, err := parseSpans(row.text)
		if err != nil {
			t.Errorf("%s: %q: %v", row.rule, row.text, err)
			continue
		}
		if got.String() != row.want {
			t.Errorf("%s: %q reads %q, want %q", row.rule, row.text, got, row.want)
		}
		if again, err := parseSpans(got.Texts()...); err != nil || !again.Equal(got) {
			t.Errorf("%s: %q read again: %q, %v", row.rule, got, again, err)
		}
	}
}

func TestSpansAreAList(t *testing.T) {
	var s where.Spans
	if !s.IsZero() || s.String() != "" || s.Texts() != nil {
		t.Errorf("the zero value: %v %q", s.IsZero(), s)
	}
	if err := s.UnmarshalTexts([]string{"intro", "last  2 bars"}); err != nil {
		t.Fatal(err)
	}
	if got, want := s.String(), "[intro, last 2 bars]"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if s.Equal(where.SpansOf("intro")) || !s.Equal(where.SpansOf(s.Texts()...)) {
		t.Error("Equal does not compare what the spans say")
	}
	var p where.Places
	if err := p.UnmarshalTexts([]string{"every drop", "33.1"}); err != nil || p.String() != "[every drop, 33.1]" || p.IsZero() {
		t.Errorf("places: %q, %v", p, err)
	}
}

// mistakes returns the grammar errors of an error, in order.
func mistakes(err error) []*option.Mistake {
	if e, ok := err.(*option.Mistake); ok {
		return []*option.Mistake{e}
	}
	var out []*option.Mistake
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		for _, err := range many.Unwrap() {
			out = append(out, mistakes(err)...)
		}
	}
	return out
}

func TestSpanMistakes(t *testing.T) {
	spans := func(texts ...string) error { _, err := parseSpans(texts...); return err }
	places := func(texts ...string) error { _, err := parsePlaces(texts...); return err }
	for _, row := range []struct {
		rule  string
		parse func(...string) error
		text  string
		col   int
		found string
		want  string // part of it
	}{
		{"nothing", spans, "", 1, "", "a span such as"},
		{"a number counts from 1", spans, "bar 0", 5, "0", "numbers from 1 to 999999"},
		{"a number has an end", spans, "bar 1000000", 5, "1000000", "numbers from 1 to 999999"},
		{"the hyphen wants a number", spans, "bars 9-", 8, "", "a number from 1"},
		{"the last bar is not before the first", spans, "bars 16-9", 9, "9", "a number from 16"},
		{"a place is not before the place it follows", spans, "18.1-17.3", 6, "17.3", "a place after 18.1"},
		{"a range is not empty", spans, "17.3-17.3", 6, "17.3", "a place after 17.3"},
		{"an instant is no span", spans, "17.3", 5, "", "an instant"},
		{"a beat wants a span", spans, "beat 3", 7, "", `"of"`},
		{"what may follow is listed", spans, "drop 2 3", 8, "3", `"but" or the end`},
		{"what may follow a name", spans, "drop outro", 6, "outro", `a number, "but" or the end`},
		{"an exclusion wants names", spans, "drop but 2", 10, "2", "a section's name"},
		{"columns count characters", spans, "förspel förspel", 9, "förspel", "the end"},
		{"every wants a length or name", spans, "every of", 7, "of", "a section's name"},
		{"zero bars are no length", spans, "first 0 bars", 7, "0", "numbers from 1"},
		{"zeros are no note value", spans, "first 1/0", 7, "1/0", "numbers from 1"},
		{"a portion wants its span", spans, "second half", 12, "", `"of"`},
		{"a portion of nothing", spans, "second half of", 15, "", "a span such as"},
		{"there is no second third", spans, "second third of drop", 8, "third", `a number, "but" or the end`},
		{"first what", spans, "first of drop", 7, "of", `"half", "third", "quarter" or a length`},
		{"loop bar what", spans, "loop bar drop", 10, "drop", "a number from 1"},
		{"loop bars what", spans, "loop bars 5", 12, "", "- and the last bar"},
		{"a loop has no beats", spans, "loop beat 3", 6, "beat", `a number, "but" or the end`},
		{"a place", places, "to", 1, "to", "a place such as"},
		{"the start of what", places, "start", 6, "", `"of"`},
		{"bytes that are no text", spans, "drop \xff", 6, "\xff", "the end"},
		{"a sentence has an end", spans, strings.Repeat("first bar of ", 90) + "all", 1112, "bar", "at most 256 words"},
	} {
		var e *option.Mistake
		if err := row.parse(row.text); !errors.As(err, &e) {
			t.Errorf("%s: %q: got %v", row.rule, row.text, err)
			continue
		}
		if e.Col != row.col || e.Found != row.found || !strings.Contains(e.Want, row.want) || e.Text != row.text {
			t.Errorf("%s: %q: got column %d, found %q, want %q", row.rule, row.text, e.Col, e.Found, e.Want)
		}
	}
	if err := spans(); err == nil {
		t.Error("an empty list of spans was taken")
	}
	if err := places(); err == nil {
		t.Error("an empty list of places was taken")
	}
	got := mistakes(spans("evry drop", "drop", "bars 9"))
	if len(got) != 2 || got[0].Item != 0 || got[1].Item != 2 {
		t.Errorf("all mistakes of a list, in order: got %v", got)
	}
	if _, _, err := where.SpansOf("evry drop").Resolve(where.SpanContext{}); err == nil {
		t.Error("a literal that cannot be read was resolved")
	}
}

const wantSpan = "a span such as all, bars 9-16, drop 2, last 2 bars of drop, 2 bars before drop, " +
	"every 16 bars of drop, from intro to drop or 17.3-18.1"

func TestMistakeText(t *testing.T) {
	for _, row := range []struct{ text, want string }{
		{"evry drop", `found "evry", want ` + wantSpan + `; did you mean "every"?`},
		{"bars 9 to 16", `found "to", want - and the last bar; did you mean "bars 9-16"?`},
		{"drop 1 and drop 2", `found "and", want "but" or the end; did you mean "[drop 1, drop 2]"?`},
		{"all except drop", `found "except", want the end, and what is cut out in an option beside it, such as except: drop; did you mean "every section but drop"?`},
		{"every 8 bars except drop", `found "except", want "of" or the end, and what is cut out in an option beside it, such as except: drop`},
		{"bars 16-9", `found 9, want a number from 16`},
		{"last 2 bars of", `found nothing, want ` + wantSpan},
	} {
		_, err := parseSpans(row.text)
		if err == nil || err.Error() != row.want {
			t.Errorf("%q: got %v\nwant %s", row.text, err, row.want)
		}
	}
}

// The near misses of the language, and what is suggested for each; "" where nothing is close.
func TestNearMisses(t *testing.T) {
	spans := func(text string) error { _, err := parseSpans(text); return err }
	places := func(text string) error { _, err := parsePlaces(text); return err }
	lengths := func(text string) error { _, err := parseLength(text); return err }
	for _, row := range []struct {
		parse      func(string) error
		text, hint string
	}{
		{spans, "bars 9 to 16", "bars 9-16"},
		{spans, "bars 9..16", "bars 9-16"},
		{spans, "bars 9...16 of drop", "bars 9-16 of drop"},
		{spans, "bars 9–16", "bars 9-16"},
		{spans, "bars 9 through 16", "bars 9-16"},
		{spans, "bars 9 and 16", "[bar 9, bar 16]"},
		{spans, "bar 9-16", "bars 9-16"},
		{spans, "bar 9 to bar 16", "bars 9-16"},
		{spans, "from bar 9 to 16", "bars 9-16"},
		{spans, "from 9 to 24 of drop", "bars 9-24 of drop"},
		{spans, "9-16", "bars 9-16"},
		{spans, "9 to 16", "bars 9-16"},
		{spans, "bars 9", "bar 9"},
		{spans, "33", "bar 33"},
		{places, "33", "bar 33"},
		{places, "33 of drop", "bar 33 of drop"},
		{spans, "from 9 to drop", "from bar 9 to drop"},
		{spans, "4 bars before 33", "4 bars before bar 33"},
		{spans, "every other drop", "drop 2"},
		{spans, "every second drop", "drop 2"},
		{spans, "half bar", "first 2 beats"},
		{spans, "last half bar of drop", "last 2 beats of drop"},
		{spans, "last half a bar of drop", "last 2 beats of drop"},
		{spans, "last 1/2 bar of drop", "last 2 beats of drop"},
		{spans, "last 1.5 bars of drop", "last 6 beats of drop"},
		{spans, "last half beat of drop", "last 1/8 of drop"},
		{spans, "drop 1 and drop 2", "[drop 1, drop 2]"},
		{spans, "drop 1 and 2", "[drop 1, drop 2]"},
		{spans, "drop 1, drop 2", "[drop 1, drop 2]"},
		{spans, "intro, groove, and outro", "[intro, groove, outro]"},
		{spans, "intro or outro", "[intro, outro]"},
		{places, "drop 1 & drop 2", "[drop 1, drop 2]"},
		{places, "33 and 65", "[bar 33, bar 65]"},
		{spans, "Drop", "drop"},
		{spans, "LAST 4 BARS OF DROP", "last 4 bars of drop"},
		{spans, "Every Drop", "every drop"},
		{spans, "the drop", "drop"},
		{spans, "second drop", "drop 2"},
		{spans, "2nd drop", "drop 2"},
		{spans, "first drop", "drop 1"},
		{spans, "last drop", "drop 2"},
		{spans, "drop #2", "drop 2"},
		{spans, "every drop 2", "drop 2"},
		{spans, "all drops", "every drop"},
		{spans, "all but drop", "every section but drop"},
		{spans, "each drop", "every drop"},
		{spans, "every section except intro", "every section but intro"},
		{spans, "evry drop", "every"},
		{spans, "frist 4 bars of drop", "first"},
		{spans, "last 4 barz of drop", "bar"},
		{spans, "first bar on drop", "of"},
		{spans, "last 4 bars drop", "last 4 bars of drop"},
		{spans, "last 4 bars in the drop", "last 4 bars of drop"},
		{spans, "2 bars of drop", "first 2 bars of drop"},
		{spans, "8 bars", "first 8 bars"},
		{spans, "1/16", "first 1/16"},
		{spans, "16bars before drop", "16 bars before drop"},
		{spans, "16-bar before drop", "16 bars before drop"},
		{spans, "four bars before drop", "4 bars before drop"},
		{spans, "before drop", "1 bar before drop"},
		{spans, "between intro and drop", "from intro to drop"},
		{spans, "from start to drop", "from bar 1 to drop"},
		{spans, "start of drop", "first 1 bar of drop"},
		{spans, "end of drop", "last 1 bar of drop"},
		{spans, "end", "last 1 bar"},
		{places, "start", "bar 1"},
		{places, "beginning of drop", "start of drop"},
		{spans, "beat 3", "beat 3 of every 1 bar"},
		{spans, "17.3", "17.3-18.1"},
		{spans, "drop bars 9-16", "bars 9-16 of drop"},
		{spans, "drop 2 bar 9", "bar 9 of drop 2"},
		{spans, "every 4th bar of drop", "bar 4 of every 4 bars of drop"},
		{spans, "every second bar of drop", "every other 1 bar of drop"},
		{spans, "every 16th of drop", "every 1/16 of drop"},
		{spans, "last 2 beats before every drop", "2 beats before every drop"},
		{spans, "first 1/8 after drop", "1/8 after drop"},
		{spans, "the last half bar before the drop", "2 beats before drop"},
		{spans, "first half", "first half of all"},
		{spans, "the second half", "second half of all"},
		{spans, "first half drop", "first half of drop"},
		{spans, "second half of the drop", "second half of drop"},
		{spans, "2nd half of drop", "second half of drop"},
		{spans, "1st third of drop", "first third of drop"},
		{spans, "final quarter in drop 2", "last quarter of drop 2"},
		{spans, "second hlaf of drop", "half"},
		{spans, "4th quarter of drop", "last quarter of drop"},
		{spans, "third quarter of drop", "first half of second half of drop"},
		{spans, "half of drop", "first half of drop"},
		{spans, "quarter of drop", "first quarter of drop"},
		{spans, "drop 2 second half", "second half of drop 2"},
		{spans, "last quarter note of drop", "last 1/4 of drop"},
		{spans, "last half note of drop", "last 1/2 of drop"},
		{spans, "first half of drop 1 and drop 2", "[first half of drop 1, drop 2]"},
		{spans, "in the drop", "drop"},
		{spans, "looop bar 8 of drop", "loop"},
		{spans, "bar 8 of the loop", "loop bar 8"},
		{spans, "loop bars 5 to 8 of drop", "loop bars 5-8 of drop"},
		{spans, "loop bars 8", "loop bar 8"},
		{places, "second half of the break", "second half of break"},
		{lengths, "quarter", "1/4"},
		{lengths, "half note", "1/2"},
		{lengths, "8", "8 bars"},
		{lengths, "half bar", "2 beats"},
		{lengths, "a bar", "1 bar"},
		{lengths, "16th", "1/16"},
		{lengths, "1/16th note", "1/16"},
		{lengths, "quarter note", "1/4"},
		{lengths, "every 8 bars", "8 bars"},
		{lengths, "8-bar", "8 bars"},
		{lengths, "8 bars and 4 bars", ""},
		{lengths, "8 measures", "8 bars"},
		{spans, "saxophone ? trombone", ""},
		{spans, "bars 16-9", ""},
		{spans, "bar of of", ""},
		{lengths, "long", ""},
	} {
		err := row.parse(row.text)
		var e *option.Mistake
		if !errors.As(err, &e) {
			t.Errorf("%q: got %v, want a mistake", row.text, err)
			continue
		}
		if e.Hint != row.hint {
			t.Errorf("%q: suggested %q, want %q (%v)", row.text, e.Hint, row.hint, err)
		}
	}
}

func TestSectionNames(t *testing.T) {
	for _, name := range []string{"drop", "build-up", "drop2", "förspel", "サビ", "song", "a", "loop", "second", "half", "third", "quarter", "in", "out", "turn", "same"} {
		if err := where.CheckSectionName(name); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
	for _, name := range strings.Fields("all every other section bar bars beat beats first last of before after from to start end but and or if any") {
		if where.CheckSectionName(name) == nil {
			t.Errorf("%q is a word of the language and was taken", name)
		}
	}
	for _, row := range []struct{ name, hint string }{
		{"Drop", "drop"}, {"build up", "build-up"}, {"2step", "step"}, {"-drop", "drop"}, {"drop 2", "drop-2"},
		{"", ""}, {"16", ""}, {"End", ""}, {"drop\x00", "drop"},
	} {
		var e *option.Mistake
		if !errors.As(where.CheckSectionName(row.name), &e) || e.Hint != row.hint {
			t.Errorf("%q: got %v, want hint %q", row.name, e, row.hint)
		}
	}
}

// FuzzItem: an item of a line-up that can be read is written in words that read the same, and so is what is
// suggested; whatever it says, parts play inside the section, in order and apart, at any length.
func FuzzItem(f *testing.F) {
	for _, text := range []string{"kick", "hat 1 from 9 to 24", "all but hat and bass 1 if any to 8.3", "lead of b if any in turn from 8.3",
		"tops out in turn in last quarter", "same", "same from 2.2 to 3", "same 1 of same", "clap in second half", "out out in turn",
		"lead from bar 8 beat 3", "clap in the 2nd half of the break", "extra one by one", "perc 9-24", "snare or clap from 9", "hat from 8.9"} {
		f.Add(text, uint8(8), uint8(16))
	}
	s := band()
	base, _, err := where.LineUpOf("all from 2").Resolve(where.SectionContext{Song: s, Bars: 300})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string, written, bars uint8) {
		line, err := where.ParseLineUp(text)
		checkHints(t, err, func(text string) error { _, err := where.ParseLineUp(text); return err })
		if err != nil {
			return
		}
		again, err := where.ParseLineUp(line.Texts()...)
		if err != nil || !again.Equal(line) {
			t.Fatalf("%q reads %q, which reads %q, %v", text, line, again, err)
		}
		for _, strict := range []bool{true, false} {
			c := where.SectionContext{Song: s, Bars: int(bars)%64 + 1, Written: int(written)%64 + 1, Phrase: int(written)%9 + 1, Strict: strict,
				Base: base, Loops: append(loopsOf(line), "b")}
			plays, _, err := line.Resolve(c)
			if err != nil {
				continue
			}
			for _, stretches := range plays {
				end := song.Tick(0)
				for _, p := range stretches {
					if p.Start < end || p.Len() <= 0 || p.End > song.Tick(c.Bars)*1920 {
						t.Fatalf("%q of %d bars in %d: %v", line, c.Written, c.Bars, stretches)
					}
					end = p.End
					item := where.LineUpOf(c.Item("kick", p.Range))
					same, _, err := item.Resolve(where.SectionContext{Song: s, Bars: c.Bars, Strict: true})
					if err != nil || len(same[0]) != 1 || same[0][0].Range != p.Range {
						t.Fatalf("%q: %v is written %q, which is %v, %v", line, p.Range, item, same[0], err)
					}
				}
			}
		}
	})
}

// FuzzSpan: a sentence that can be read is written in words that read the same; what is suggested
// for one that cannot is itself valid; what it stands for lies inside the song, in order.
func FuzzSpan(f *testing.F) {
	for _, text := range []string{"all", "bars 9-16 of every drop", "beat 2 of every bar", "17.3-18.1",
		"from break 1 to drop 1", "last 1 beat of first 8 bars of every 16 bars of every drop", "2 bars before drop",
		"4 bars after end of drop", "every other 3/16 of outro", "every section but intro and drop 2", "evry drop",
		"bars 9 to 16", "half bar", "drop 1 and drop 2", "33", "snare or clap if any", "second half of drop 2",
		"last third of first quarter of every break", "loop bars 5-8 of drop", "loop bar 9", "2nd half of half", "first half", "last 2 beats before every drop"} {
		f.Add(text)
	}
	s := clubSong()
	f.Fuzz(func(t *testing.T, text string) {
		spans, err := parseSpans(text)
		checkHints(t, err, func(text string) error { _, err := parseSpans(text); return err })
		if err == nil {
			again, err := parseSpans(spans.Texts()...)
			if err != nil || !again.Equal(spans) {
				t.Fatalf("%q reads %q, which reads %q, %v", text, spans, again, err)
			}
			checkRanges(t, s, spans)
		}
		places, err := parsePlaces(text)
		checkHints(t, err, func(text string) error { _, err := parsePlaces(text); return err })
		if err == nil {
			again, err := parsePlaces(places.Texts()...)
			if err != nil || !again.Equal(places) {
				t.Fatalf("%q reads %q, which reads %q, %v", text, places, again, err)
			}
		}
		length, err := parseLength(text)
		checkHints(t, err, func(text string) error { _, err := parseLength(text); return err })
		if again := where.LengthOf(length.String()); err == nil && !again.Equal(length) {
			t.Fatalf("%q reads %q, which reads %q", text, length, again)
		}
		parts, err := where.ParseParts(text)
		checkHints(t, err, func(text string) error { _, err := where.ParseParts(text); return err })
		if err == nil {
			again, err := where.ParseParts(parts.Texts()...)
			if err != nil || !again.Equal(parts) {
				t.Fatalf("%q reads %q, which reads %q, %v", text, parts, again, err)
			}
		}
	})
}

func checkHints(t *testing.T, err error, parse func(string) error) {
	t.Helper()
	reserved := strings.Fields("all every other section bar bars beat beats first last of before after from to start end but and or if any")
	for _, e := range mistakes(err) {
		if e.Hint == "" || slices.Contains(reserved, e.Hint) {
			continue
		}
		for _, item := range strings.Split(strings.Trim(e.Hint, "[]"), ", ") {
			if err := parse(item); err != nil {
				t.Fatalf("%q: suggested %q, which is no valid text: %v", e.Text, e.Hint, err)
			}
		}
	}
}

func checkRanges(t *testing.T, s song.Song, spans where.Spans) {
	t.Helper()
	for _, strict := range []bool{true, false} {
		got, _, err := spans.Resolve(where.SpanContext{Song: s, Strict: strict, Loop: backFromEnds(s)})
		if err != nil {
			continue
		}
		var last song.Tick
		for _, r := range got {
			if r.Start < last || r.End <= r.Start || r.End > s.End {
				t.Fatalf("%q: ranges %v of a song that ends at %d", spans, got, s.End)
			}
			last = r.End
		}
	}
}

func ExampleSpans() {
	fmt.Println(where.SpansOf("last bar of drop", "17.3 - 18.1"))
	var s where.Spans
	fmt.Println(s.UnmarshalTexts([]string{"bars 9 to 16"}))
	// Output:
	// [last 1 bar of drop, 17.3-18.1]
	// found "to", want - and the last bar; did you mean "bars 9-16"?
}

func parseSpans(texts ...string) (where.Spans, error) {
	var s where.Spans
	err := s.UnmarshalTexts(texts)
	return s, err
}

func parsePlaces(texts ...string) (where.Places, error) {
	var p where.Places
	err := p.UnmarshalTexts(texts)
	return p, err
}

// loopsOf returns the names of the loops that items of a line-up are "of".
func loopsOf(l where.LineUp) (names []string) {
	for _, text := range l.Texts() {
		words := strings.Fields(text)
		for i, word := range words[:len(words)-1] {
			if word == "of" {
				names = append(names, words[i+1])
			}
		}
	}
	return names
}
