package recipes

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf"
)

// sectionsOf reads sections such as "intro 32, break 8 least 4".
func sectionsOf(t *testing.T, text string) []SectionSpec {
	t.Helper()
	var out []SectionSpec
	for _, part := range strings.Split(text, ", ") {
		var s SectionSpec
		n, _ := fmt.Sscanf(part, "%s %d least %d", &s.Name, &s.Bars, &s.Least)
		if n < 2 {
			t.Fatalf("found %q, want a name and bars", part)
		}
		out = append(out, s)
	}
	return out
}

func TestScaling(t *testing.T) {
	for _, row := range []struct {
		rule, sections string
		bars, phrase   int
		want           string // lengths, or the error
	}{
		{"in proportion", "intro 16, drop 32", 96, 8, "[32 64]"},
		{"whole phrases by largest remainder", "intro 16, drop 24, outro 8", 64, 8, "[24 32 8]"},
		{"of equal rests the earlier", "a 8, b 8, c 8", 32, 8, "[16 8 8]"},
		{"raised to 8 bars, from the longest end section", "intro 64, break 8, drop 64, outro 32", 80, 8, "[24 8 32 16]"},
		{"then from the longest break", "intro 8, break 64, x 8, drop 64, outro 8", 64, 8, "[8 16 8 24 8]"},
		{"then from any", "intro 8, drop 96, x 8, outro 8", 40, 8, "[8 16 8 8]"},
		{"never under its own least", "intro 64 least 24, drop 64, x 8, outro 8", 64, 8, "[24 24 8 8]"},
		{"a least of its own", "intro 32, drop 32 least 32, outro 32", 64, 8, "[16 32 16]"},
		{"a least rounded up to phrases", "intro 8 least 5, drop 8 least 4", 12, 4, "[8 4]"},
		{"a section that was no whole number of phrases", "intro 12, drop 20", 64, 8, "[24 40]"},
		{"too small names the nearest", "intro 32, drop 32, outro 32", 16, 8, "found a length of 16 bars, too short for 3 sections: the nearest is 24 bars"},
		{"no whole phrases names the nearest", "intro 32, drop 32", 44, 8, "found a length of 44 bars, want whole phrases of 8 bars: the nearest is 48 bars"},
		{"the nearest is not too small", "intro 32, drop 32, outro 32", 3, 8, "found a length of 3 bars, want whole phrases of 8 bars: the nearest is 24 bars"},
	} {
		lengths, err := scaled(sectionsOf(t, row.sections), row.bars, row.phrase)
		got := fmt.Sprint(lengths)
		if err != nil {
			got = err.Error()
		}
		if got != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, got, row.want)
		}
	}
}

func TestScalingAddsUp(t *testing.T) {
	for seed := range uint64(500) {
		c := newChooser(seed)
		var sections []SectionSpec
		floor, phrase := 0, []int{1, 2, 4, 8}[c.IntN(4)]
		for range 1 + c.IntN(9) {
			s := SectionSpec{Name: c.one("intro", "break", "drop", "x"), Bars: 1 + c.IntN(64), Least: c.IntN(20)}
			sections = append(sections, s)
			floor += (s.least() + phrase - 1) / phrase * phrase
		}
		bars := floor + phrase*c.IntN(60)
		lengths, err := scaled(sections, bars, phrase)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		sum := 0
		for i, n := range lengths {
			sum += n
			if n%phrase != 0 || n < sections[i].least() {
				t.Errorf("seed %d: section %d has %d bars, want whole phrases of %d and at least %d", seed, i, n, phrase, sections[i].least())
			}
		}
		if sum != bars {
			t.Errorf("seed %d: found %d bars, want %d", seed, sum, bars)
		}
	}
}

func TestDurations(t *testing.T) {
	fast := smf.NewTimeline(96, []smf.TempoAt{{Micros: 500_000}}, nil)                                                // 120 bpm: a bar lasts 2 seconds
	two := smf.NewTimeline(96, []smf.TempoAt{{Micros: 500_000}, {Tick: 2 * 384, Micros: 1_000_000}}, nil)             // then 4
	third := smf.NewTimeline(96, []smf.TempoAt{{Micros: 333_333}}, []smf.MetreAt{{Metre: smf.Metre{Num: 3, Den: 4}}}) // 180 bpm
	for _, row := range []struct {
		rule     string
		time     *smf.Timeline
		loop     int
		sections string
		run      bool
		micros   int64
		want     int
	}{
		{"whole phrases", fast, 4, "", false, 64_000_000, 32},
		{"the nearest number of them", fast, 4, "", false, 55_000_000, 24},
		{"of two equally near the longer", fast, 4, "", false, 56_000_000, 32},
		{"at least one phrase", fast, 4, "", false, 1_000_000, 8},
		{"at most 9,999 bars", fast, 4, "", false, 1 << 50, 9992},
		{"each pass has the loop's tempi", two, 4, "", false, 24_000_000, 8},
		{"three quarters a bar", third, 4, "", false, 64_000_000, 64},
		{"sections start the loop anew, from its end back", two, 4, "a 10, b 10, c 10", false, 100_000_000, 32},
		{"a length too short for the sections is not taken", fast, 4, "a 10, b 10, c 10", false, 1_000_000, 24},
	} {
		r := &Recipe{}
		if row.sections != "" {
			r.Sections = sectionsOf(t, row.sections)
		}
		p := planner{r: r, o: Options{Micros: row.micros}, time: row.time, loopBars: row.loop, bad: &mistakes{}}
		got, err := p.plan()
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		if got.bars != row.want || len(got.told) != 1 {
			t.Errorf("%s: got %d bars and told %v, want %d", row.rule, got.bars, got.told, row.want)
		}
	}
	p := planner{r: &Recipe{}, time: two, loopBars: 4}
	for _, row := range []struct {
		rule   string
		blocks []lay.Block
		want   int64
	}{
		{"two bars to the end are the slow ones", []lay.Block{{Bars: 2}}, 8_000_000},
		{"two bars from the start are the fast ones", []lay.Block{{Bars: 2, RunOn: true}}, 4_000_000},
		{"running on goes on where it was", []lay.Block{{Bars: 2, RunOn: true}, {Bars: 2, RunOn: true}}, 12_000_000},
		{"six bars to the end", []lay.Block{{Bars: 6}}, 20_000_000},
		{"running on after a section to the end starts at the loop's first bar", []lay.Block{{Bars: 6}, {Bars: 2, RunOn: true}}, 24_000_000},
	} {
		if got := p.micros(row.blocks); got != row.want {
			t.Errorf("%s: got %d microseconds, want %d", row.rule, got, row.want)
		}
	}
}

func TestParseLength(t *testing.T) {
	for _, row := range []struct {
		text   string
		bars   int
		micros int64
		ok     bool
	}{
		{"192 bars", 192, 0, true},
		{"1 bar", 1, 0, true},
		{"9999 bars", 9999, 0, true},
		{"6m30s", 0, 390_000_000, true},
		{"90s", 0, 90_000_000, true},
		{"10000 bars", 0, 0, false},
		{"0 bars", 0, 0, false},
		{"-8 bars", 0, 0, false},
		{"192", 0, 0, false},
		{"6:30", 0, 0, false},
		{"", 0, 0, false},
	} {
		bars, micros, err := ParseLength(row.text)
		if bars != row.bars || micros != row.micros || (err == nil) != row.ok {
			t.Errorf("%q: got %d bars, %d microseconds, %v", row.text, bars, micros, err)
		}
	}
}

func TestKindsAreWords(t *testing.T) {
	if slices.Contains(kindWords(), "") {
		t.Error("the empty word is offered as a kind")
	}
}
