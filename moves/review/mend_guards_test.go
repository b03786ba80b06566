//go:build oracles

package review

import (
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/smf/song"
)

// TestMendTakesNoAnswerThatLosesSomething gives a build that does not rise answers of the test's own. Each begins with one
// that would do, and goes on with what must not happen.
func TestMendTakesNoAnswerThatLosesSomething(t *testing.T) {
	const on, off = "|x...x...x...x...", "|................"
	row := func(name string, bars ...string) string { return name + " " + strings.Join(bars, "") + "\n" }
	bars := func(n int, of string) string { return strings.Repeat(of, n) }
	in, err := song.ParseGrid(strings.ReplaceAll(
		row("kick", bars(16, on), bars(8, off), bars(8, on))+
			row("clap", bars(1, on), bars(7, off), bars(8, on), bars(8, off), bars(8, on))+ // it comes back at bar 9
			row("hat", bars(24, on), bars(8, off))+
			row("bass:40", bars(15, on), bars(9, off), bars(8, on))+ // its rest in bar 16 prepares the build
			row("lead:72", bars(32, on)), " |", " "))
	if err != nil {
		t.Fatal(err)
	}
	sections, err := moves.ParseSections("groove 16, build 8, drop 8")
	if err != nil {
		t.Fatal(err)
	}
	in = in.WithSections(sections)
	rises := step("shape", "part", "all", "over", "build", "from", "60%", "to", "100%")
	silences := Steps{rises, step("mute", "part", "hat", "over", "build")}
	for _, tt := range []struct {
		name  string
		tries []Steps
		tried int // answers before it
		taken int // which one is, from 1; 0: none
	}{
		{"one that does", []Steps{{rises}}, 0, 1},
		{"one that does nothing", []Steps{{step("shape", "part", "all", "over", "drop", "from", "90%", "to", "90%")}}, 0, 0},
		{"a part falls silent for a section", []Steps{silences}, 0, 0},
		{"a part rests for half of one", []Steps{{rises, step("mute", "part", "hat", "over", "first half of build")}}, 0, 1},
		{"a line loses what changes there", []Steps{{rises, step("mute", "part", "clap", "over", "bars 9-16")}}, 0, 0},
		{"a section loses what prepares it", []Steps{{rises, step("copy", "part", "bass", "over", "bar 15", "to", "bar 16")}}, 0, 0},
		{"the third is tried", []Steps{silences, silences, {rises}}, 0, 3},
		{"the fourth is not", []Steps{silences, silences, silences, {rises}}, 0, 0},
		{"the last of all is tried", []Steps{{rises}}, 23, 1},
		{"no more than that are", []Steps{silences, {rises}}, 23, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := newSubject(Input{Song: in}, Options{Checks: []Check{&BuildRises{By: 1}}, Level: Warn})
			if err != nil {
				t.Fatal(err)
			}
			w := mending{within: []song.Range{{End: in.End}}, env: moves.Env{Strict: true, Seed: 1}, now: s, found: s.findAll(), energy: s.energy, tried: tt.tried}
			if len(w.found) != 1 || w.found[0].Level < Warn {
				t.Fatalf("found %v, want a build that does not rise", w.found)
			}
			w.found[0].tries = func() []Steps { return tt.tries }
			w.answer(w.found[0])
			var steps Steps
			for _, d := range w.done {
				steps = append(steps, d.Step)
			}
			got, want := strings.Join(steps.Texts(), "; "), ""
			if tt.taken > 0 {
				want = strings.Join(tt.tries[tt.taken-1].Texts(), "; ")
			}
			if got != want {
				t.Errorf("got %q, want %q", got, want)
			}
			if left := len(warnings(w.found)); (left == 0) != (tt.taken > 0) || len(warnings(w.now.findAll())) != left {
				t.Errorf("%d warnings are left: it goes on with what it took", left)
			}
		})
	}
}
