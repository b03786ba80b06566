//go:build oracles

package recipes

import (
	"slices"
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf"
)

func TestDurations(t *testing.T) {
	fast := smf.NewTimeline(96, []smf.TempoAt{{Micros: 500_000}}, nil)                                                // 120 bpm: a bar lasts 2 seconds
	two := smf.NewTimeline(96, []smf.TempoAt{{Micros: 500_000}, {Tick: 2 * 384, Micros: 1_000_000}}, nil)             // then 4
	third := smf.NewTimeline(96, []smf.TempoAt{{Micros: 333_333}}, []smf.MetreAt{{Metre: smf.Metre{Num: 3, Den: 4}}}) // 180 bpm
	for _, row := range []struct {
		rule     string
		time     *smf.Timeline
		loop     int
		sections bool // three of ten bars
		micros   int64
		want     int
	}{
		{"whole phrases", fast, 4, false, 64_000_000, 32},
		{"the nearest number of them", fast, 4, false, 55_000_000, 24},
		{"of two equally near the longer", fast, 4, false, 56_000_000, 32},
		{"at least one phrase", fast, 4, false, 1_000_000, 8},
		{"at most 9,999 bars", fast, 4, false, 1 << 50, 9992},
		{"each pass has the loop's tempi", two, 4, false, 24_000_000, 8},
		{"three quarters a bar", third, 4, false, 64_000_000, 64},
		{"sections start the loop anew, from its end back", two, 4, true, 100_000_000, 32},
		{"a length too short for the sections is not taken", fast, 4, true, 1_000_000, 24},
	} {
		r := &Recipe{}
		if row.sections {
			r.Sections = []SectionSpec{{Name: "a", Bars: 10}, {Name: "b", Bars: 10}, {Name: "c", Bars: 10}}
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

func TestKindsAreWords(t *testing.T) {
	if slices.Contains(kindWords(), "") {
		t.Error("the empty word is offered as a kind")
	}
}
