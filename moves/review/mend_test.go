package review_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/review"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// mended returns the steps that a mend comes to on a row, and what it remarks.
func mended(t *testing.T, m *review.Mend, env moves.Env, in song.Song) ([]string, []remark.Remark) {
	t.Helper()
	x, err := moves.Expand(&env, m, in)
	if err != nil {
		t.Fatal(err)
	}
	return review.Steps(x.Steps).Texts(), x.Remarks
}

func TestMendExampleIsTrue(t *testing.T) {
	for _, m := range review.Moves() {
		ex := m.Example()
		movetest.Run(t, movetest.Row{Name: m.Name(), Step: ex.Step, Before: ex.Before, Sections: ex.Sections, After: ex.After, May: movetest.Anything})
	}
}

// TestMendAllowsEveryRuleThatIsAnswered holds the words of its option against the catalogue: rules of warnings, in the
// catalogue's order, but those that no move answers.
func TestMendAllowsEveryRuleThatIsAnswered(t *testing.T) {
	unanswered := []string{"length", "section-length", "cable", "empty-track", "marker"}
	var want []string
	for _, r := range review.Catalogue() {
		if r.Level >= review.Warn && !slices.Contains(unanswered, r.Name) {
			want = append(want, r.Name)
		}
	}
	m, _ := review.Moves().Lookup("mend")
	for _, o := range m.Options() {
		if o.Name == "rules" {
			for _, rule := range want {
				if err := m.Set(m.New(), "rules", []string{rule}, false); err != nil {
					t.Errorf("%s: %v", rule, err)
				}
			}
			for _, rule := range unanswered {
				if err := m.Set(m.New(), "rules", []string{rule}, false); err == nil {
					t.Errorf("%s is allowed, and nothing answers it", rule)
				}
			}
		}
	}
}

func TestMend(t *testing.T) {
	bassInBreak := `
		kick x...x...x...x...  1-8,17-24
		hat  x.x.x.x.x.x.x.x.  1-8,17-24
		bass:40 x---x---x---x---  1-24
		pad  o---------------`
	flat := `
		kick x...x...x...x...  9-16
		bass x---x---x---x---  9-16
		lead x.x.x.x.x.x.x.x.  1-16`
	for _, tt := range []struct {
		name string
		row  row
		mend review.Mend
		want string // the first step
	}{
		{"the bass of a break goes up", row{music: bassInBreak, sections: "groove 8, break 8, drop 8"}, review.Mend{Rules: option.Words{"break"}},
			"transpose: {part: bass, over: bars 9-16, octaves: 1}"},
		{"a build that does not rise begins softer", row{music: flat, sections: "build 8, drop 8"}, review.Mend{Rules: option.Words{"build"}},
			"shape: {part: all, over: bars 1-8, from: 70%, to: 100%}"},
		{"rules that are not named are left", row{music: flat, sections: "build 8, drop 8"}, review.Mend{Rules: option.Words{"break"}}, ""},
		{"elsewhere nothing changes", row{music: flat, sections: "build 8, drop 8"}, review.Mend{Rules: option.Words{"build"}, Over: where.SpansOf("drop")}, ""},
		{"what is cut out does not change", row{music: flat, sections: "build 8, drop 8"}, review.Mend{Rules: option.Words{"build"}, Except: where.SpansOf("bars 3-4")}, ""},
		{"where there is room it does", row{music: flat, sections: "build 8, drop 8"}, review.Mend{Rules: option.Words{"build"}, Except: where.SpansOf("drop")},
			"shape: {part: all, over: bars 1-8, from: 70%, to: 100%}"},
		{"a part that would fall silent in its section stays", row{music: `
			kick x...x...x...x...
			pad  x---------------  1-8,33-64`, sections: "intro 8, groove 56", setup: slow}, review.Mend{Rules: option.Words{"mix-in"}}, ""},
		{"one that would not leaves its beginning", row{music: `
			kick x...x...x...x...
			pad  x---------------  1-16,33-64`, sections: "intro 16, groove 48", setup: slow}, review.Mend{Rules: option.Words{"mix-in"}},
			"mute: {part: pad, over: bars 1-8}"},
		{"a note of the review is no warning", row{music: `
			kick x...x...x...x...
			pad  x---------------  13-64`, sections: "intro 16, groove 48", setup: slow}, review.Mend{Rules: option.Words{"mix-in"}}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := mended(t, &tt.mend, moves.Env{Strict: true, Seed: 1}, tt.row.song(t, 0))
			if first := strings.Join(got[:min(len(got), 1)], ""); first != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// TestMendKeepsItsAnswers lets two builds begin softer: the second answer is tried on what the first left.
func TestMendKeepsItsAnswers(t *testing.T) {
	in := row{sections: "build 8, drop 8, build 8, drop 8", music: `
		kick x...x...x...x...  9-16,25-32
		bass x---x---x---x---  9-16,25-32
		lead x.x.x.x.x.x.x.x.  1-32`}.song(t, 0)
	got, _ := mended(t, &review.Mend{Rules: option.Words{"build"}}, moves.Env{Strict: true, Seed: 1}, in)
	want := "shape: {part: all, over: bars 1-8, from: 70%, to: 100%}; shape: {part: all, over: bars 17-24, from: 70%, to: 100%}"
	if text := strings.Join(got, "; "); text != want {
		t.Errorf("got %q, want %q", text, want)
	}
}

// TestMendLeavesFewerWarnings reviews what it leaves: none is new, no line that was changed or prepared is lost.
func TestMendLeavesFewerWarnings(t *testing.T) {
	in := slow(row{sections: "intro 16, break 16, drop 16, outro 16", music: `
		kick x...x...x...x...
		hat  ..x...x...x...x.
		bass ..x-..x-..x-..x-
		pad  x---------------`}.song(t, 0))
	warnings := func(s song.Song) []string {
		got, err := review.Review(review.Input{Song: s}, review.Options{Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, f := range got.Findings {
			if f.Level >= review.Warn {
				out = append(out, fmt.Sprint(f.Rule, f.First, f.Parts))
			}
		}
		return out
	}
	came, err := moves.Run(&moves.Env{Strict: true, Seed: 1}, &review.Mend{}, in)
	if err != nil {
		t.Fatal(err)
	}
	before, after := warnings(in), warnings(came.Song)
	if len(after) >= len(before) {
		t.Errorf("got %q after %q", after, before)
	}
	for _, w := range after {
		if !slices.Contains(before, w) {
			t.Errorf("new: %s", w)
		}
	}
}

// TestMendKeepsEnergies asks for the energy that a build has, so that it may not begin softer.
func TestMendKeepsEnergies(t *testing.T) {
	in := row{sections: "build 8, drop 8", music: `
		kick x...x...x...x...  9-16
		lead x.x.x.x.x.x.x.x.  1-8
		bass x---x---x---x---  9-16`}.song(t, 0)
	e, err := form.EnergyOf(in)
	if err != nil {
		t.Fatal(err)
	}
	now := e.Mean(1, 2).Sum()
	for _, tt := range []struct {
		off  int // of what is asked for, in tenths of a dB, over what plays
		want string
	}{{0, ""}, {-30, "shape: {part: all, over: bars 1-8, from: 70%, to: 100%}"}} {
		env := moves.Env{Strict: true, Seed: 1, Energies: moves.Energies{{First: 1, Last: 2, Low: now.Times(tt.off), High: now.Times(tt.off), Planned: now}}}
		got, _ := mended(t, &review.Mend{Rules: option.Words{"build"}}, env, in)
		if text := strings.Join(got, "; "); text != tt.want {
			t.Errorf("%d: got %q, want %q", tt.off, text, tt.want)
		}
	}
}

// TestMendTellsWhatTheLoopHas layers two basses in the loop itself.
func TestMendTellsWhatTheLoopHas(t *testing.T) {
	in := row{sections: "groove 24", music: `
		kick x...x...x...x...
		bass:36 x---x---x---x---
		pad:41 x---------------`}.song(t, 0)
	for _, loop := range []bool{true, false} {
		env := moves.Env{Strict: true, Seed: 1}
		if loop {
			env.Loop, env.Bars, env.Full, env.Lined = in, 24, in, in
		}
		steps, told := mended(t, &review.Mend{Rules: option.Words{"low-end"}}, env, in)
		is := slices.ContainsFunc(told, func(r remark.Remark) bool {
			return r.Kind == remark.LoopHas && strings.Contains(r.Text, "under key 48")
		})
		if is != loop || (len(steps) == 0) != loop {
			t.Errorf("of a loop %v: got %q, told %v", loop, steps, told)
		}
	}
}
