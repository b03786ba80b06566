package where_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func TestCheckSections(t *testing.T) {
	sections := []song.Section{{Name: "intro"}, {Name: "drop", Kind: song.KindDrop}, {Name: "drop", Kind: song.KindDrop}, {Name: "fall", Kind: song.KindBreak}}
	for _, row := range []struct {
		rule, over, want string
	}{
		{"names and kinds that are there", "from drop 2 to every break but fall", ""},
		{"places and numbers wait for the song", "bars 900-999 of last 4 bars of intro", ""},
		{"every section needs no name", "every section", ""},
		{"inside an of", "last 1 bar of dorp", `over: found "dorp", want one of intro, drop, fall; did you mean "drop"?`},
		{"inside a share", "second half of dorp", `over: found "dorp", want one of intro, drop, fall; did you mean "drop"?`},
		{"bars of the loop", "loop bar 8 of dorp", `over: found "dorp", want one of intro, drop, fall; did you mean "drop"?`},
		{"inside a place", "2 bars before end of brake", `over: found "brake", want one of intro, drop, fall; did you mean "break"?`},
		{"every one of them", "from intor to fal", "over: found \"intor\", want one of intro, drop, fall; did you mean \"intro\"?\nover: found \"fal\", want one of intro, drop, fall; did you mean \"fall\"?"},
		{"one that is left out", "every section but dropp", `over: found "dropp", want one of intro, drop, fall; did you mean "drop"?`},
		{"a number too high", "every 1 bar of drop 3", `over: found "drop 3", want drop 1 to drop 2`},
	} {
		got := ""
		if err := where.CheckSections(&struct {
			Over where.Spans `yaml:"over"`
		}{where.SpansOf(row.over)}, sections); err != nil {
			got = err.Error()
		}
		if got != row.want {
			t.Errorf("%s: %s: got\n%s\nwant\n%s", row.rule, row.over, got, row.want)
		}
	}
	err := where.CheckSections(&struct {
		At where.Places `yaml:"at"`
	}{where.PlacesOf("17.3", "end of intro", "end of coda")}, sections)
	if want := `at: found "coda", want one of intro, drop, fall`; err == nil || err.Error() != want || err.(interface{ Unwrap() []error }).Unwrap()[0].(*option.Mistake).Item != 2 {
		t.Errorf("a place: got %v, want %s in the third item", err, want)
	}
}

func TestUnknownSectionsHintAtNamesThatCanBeSaid(t *testing.T) {
	sections := []song.Section{{Name: "Drop A"}, {Name: "end"}}
	for _, name := range []string{"drop-a", "ende"} {
		err := where.CheckSections(&struct {
			Over where.Spans `yaml:"over"`
		}{where.SpansOf(name)}, sections)
		if got := mistakes(err); len(got) != 1 || got[0].Hint != "" || !strings.Contains(got[0].Want, "Drop A, end") {
			t.Errorf("%s: got %v, want the names, none as a hint", name, err)
		}
	}
}

func TestALongListOfSpansIsRefusedAtOnce(t *testing.T) {
	s := songOf("- 192")
	texts := make([]string, 2000)
	for i := range texts {
		texts[i] = "every 1/16 of all" // 3072 ranges of 192 bars: the 86th is past 262144
	}
	texts[1] = "bar 500"
	start := time.Now()
	_, _, err := where.SpansOf(texts...).Resolve(where.SpanContext{Song: s, Strict: true})
	got := mistakes(err)
	if len(got) != 2 || got[0].Item != 1 || got[1].Item != 86 || got[1].Want != "a list of at most 262144 ranges in all" {
		t.Errorf("spans: got %v, want a mistake in item 2 and one where the list grows too long", err)
	}
	_, _, err = where.PlacesOf(texts...).Resolve(where.SpanContext{Song: s, Strict: true})
	if got := mistakes(err); len(got) != 2 || got[1].Item != 86 {
		t.Errorf("places: got %v, want a mistake in item 2 and one where the list grows too long", err)
	}
	t.Logf("%v", time.Since(start))
}

func TestHintsOfItemsAreItems(t *testing.T) {
	_, err := parseSpans("intro", "drop 1 and drop 2")
	if got := mistakes(err); len(got) != 1 || got[0].Hint != "drop 1, drop 2" {
		t.Errorf("got %v, want drop 1, drop 2 without brackets", err)
	}
}

func TestSectionWords(t *testing.T) {
	spans := where.SpansOf("last 2 bars of drop 2", "bars 1-2", "every section but intro and  outro 1", "from break to end of drop")
	places := where.PlacesOf("17.3", "end of every drop")
	for _, row := range []struct {
		value any
		want  []where.SectionWord
	}{
		{&spans, []where.SectionWord{{0, 16, "drop", 2}, {2, 19, "intro", 0}, {2, 30, "outro", 1}, {3, 6, "break", 0}, {3, 22, "drop", 0}}},
		{&places, []where.SectionWord{{1, 14, "drop", 0}}},
		{new(string), nil},
	} {
		if got := where.SectionWords(row.value); !slices.Equal(got, row.want) {
			t.Errorf("got %v, want %v", got, row.want)
		}
	}
}
