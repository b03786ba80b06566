package recipes_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/song"

	"github.com/google/go-cmp/cmp"
)

// energyRecipe has every form of an energy.
const energyRecipe = `phrase: 8 bars
sections:
  - {name: intro, bars: 16, play: [kick], energy: rising, add: [tops, perc]}
  - {name: groove, bars: 16, play: [kick, bass, lead from 9], energy: 2 dB..4 dB under drop 1}
  - {name: break, bars: 8, energy: 52%..58%}
  - {name: build, bars: 8, energy: 60%..70% to 75%..85%}
  - {name: drop, bars: 32, play: [all but clap], energy: [95%..100%, 86%..97%], add: [clap]}
  - {name: break, bars: 16, energy: -9 dB..-7 dB}
  - {name: drop, bars: 16, energy: 100%}
  - {name: outro, bars: 16, play: [kick], energy: falling, add: [hat, bass]}
`

func energyDraft(t testing.TB, text string) *recipes.Result {
	t.Helper()
	r, err := recipes.Parse("energy.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	got, err := recipes.Draft([]recipes.Input{loopOf(t, clubRows())}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// What is asked for is what is measured of the draft, and whoever is not asked does not play.
func TestSectionsHaveTheirEnergy(t *testing.T) {
	got := energyDraft(t, energyRecipe)
	e, full, err := got.Energy()
	if err != nil {
		t.Fatal(err)
	}
	level := func(i int) int {
		sec := got.Song.Sections[i]
		return e.Mean(sec.Bar, sec.Bar+sec.Bars-1).Sum().Level(full)
	}
	for _, tt := range []struct {
		section   int
		low, high int // tenths of a dB
	}{
		{1, level(4) - 40, level(4) - 20}, {2, -95, -78}, {3, -58, -35}, {4, -15, 1}, {5, -90, -70}, {6, -15, 15},
	} {
		if l := level(tt.section); l < tt.low-5 || l > tt.high+5 { // half a dB for what rings into a section
			t.Errorf("%s at bar %d: got %d tenths of a dB, want %d to %d", got.Song.Sections[tt.section].Name, got.Song.Sections[tt.section].Bar, l, tt.low, tt.high)
		}
	}
	plays := func(part string, i int) bool {
		sec := got.Song.Sections[i]
		p := got.Song.Parts[got.Song.Index(part)]
		return len(got.Song.In(p, got.Song.SectionRange(sec))) > 0
	}
	for part, sections := range map[string][]int{"bass": {0, 2, 3, 5}, "kick": {2, 3, 5}, "lead": {0, 7}, "clap": {0, 7}} {
		for _, i := range sections {
			if plays(part, i) {
				t.Errorf("%s plays in %s at bar %d, where it is not asked", part, got.Song.Sections[i].Name, got.Song.Sections[i].Bar)
			}
		}
	}
	sec := got.Song.Sections[1]
	if early := got.Song.In(got.Song.Parts[got.Song.Index("lead")], got.Song.BarRange(sec.Bar, sec.Bar+7)); len(early) > 0 {
		t.Error("lead plays in the groove before bar 9, where play has it from")
	}
}

// An intro that rises is louder from phrase to phrase, an outro that falls softer.
func TestCoursesOfSections(t *testing.T) {
	got := energyDraft(t, energyRecipe)
	e, err := form.EnergyOf(got.Song)
	if err != nil {
		t.Fatal(err)
	}
	n := got.Song.Bars()
	first, last := e.Mean(1, 4).Sum(), e.Mean(13, 16).Sum()
	if last <= first {
		t.Errorf("the intro starts at %d and ends at %d, want it to rise", first, last)
	}
	if from, to := e.Mean(n-15, n-12).Sum(), e.Mean(n-3, n).Sum(); to >= from {
		t.Errorf("the outro starts at %d and ends at %d, want it to fall", from, to)
	}
}

// A draft is written with the players that were found and the steps, and makes the same bytes again.
func TestEnergyIsWrittenAsItsPlayers(t *testing.T) {
	got := energyDraft(t, energyRecipe)
	text := string(got.WriteRecipe())
	if strings.Contains(text, "energy:") || strings.Contains(text, "add:") {
		t.Errorf("found energy or add in\n%s", text)
	}
	if !strings.Contains(text, "- shape:") {
		t.Errorf("found no step by which a section steps back in\n%s", text)
	}
	again := energyDraft(t, text)
	a, _ := got.File.Encode()
	b, _ := again.File.Encode()
	if !bytes.Equal(a, b) {
		t.Error("the written recipe makes other bytes")
	}
	if diff := cmp.Diff(text, string(again.WriteRecipe())); diff != "" {
		t.Errorf("written again it reads (-first +second):\n%s", diff)
	}
}

func TestWhatWasFoundIsTold(t *testing.T) {
	got := energyDraft(t, `sections:
  - {name: break, bars: 8, energy: 52%..58%, add: [pad, hat]}
  - {name: drop, bars: 16}
  - {name: break, bars: 8, energy: 90%..95%, add: [pad]}
`)
	for _, want := range []string{"break 1: pad and hat play, ", "break 2: pad plays, ", "break 2, bars 25-32: it comes to ", " of full, 90 % to 95 % is asked for"} {
		if !strings.Contains(strings.Join(got.Told, "\n"), want) {
			t.Errorf("found no %q in\n%s", want, strings.Join(got.Told, "\n"))
		}
	}
	got = energyDraft(t, `sections:
  - {name: drop, bars: 16, energy: 100%}
moves:
  - mute: {part: all but hat, over: drop}
`)
	if told := strings.Join(got.Told, "\n"); !strings.Contains(told, "drop, bars 1-12: with its moves it comes to ") {
		t.Errorf("found nothing told of a drop that was muted in\n%s", told)
	}
}

// A recipe that is no file has the same mistakes.
func TestEnergiesOfLiterals(t *testing.T) {
	for _, tt := range []struct {
		sections []recipes.SectionSpec
		want     string
	}{
		{[]recipes.SectionSpec{{Name: "drop", Bars: 8, Energy: recipes.EnergyOf("0%")}}, `sections[1].energy: found "0%"`},
		{[]recipes.SectionSpec{{Name: "drop", Bars: 8, Energy: recipes.EnergyOf("3 dB under drop")}}, `want another section than this one`},
		{[]recipes.SectionSpec{{Name: "drop", Bars: 8, Energy: recipes.EnergyOf("3 dB under intro")}}, `unknown section "intro"`},
		{[]recipes.SectionSpec{{Name: "drop", Bars: 8, Add: where.PartsOf("hat")}}, `"add" without "energy"`},
	} {
		_, err := recipes.Draft([]recipes.Input{loopOf(t, clubRows())}, &recipes.Recipe{Sections: tt.sections}, recipes.Options{})
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("got %v, want %s", err, tt.want)
		}
	}
}

// Whatever the loop, sections with an energy are drafted, the same each time, and somebody plays.
func TestEnergyOfSmallLoops(t *testing.T) {
	rows := clubRows()
	for n := 1; n <= len(rows); n++ {
		in := loopOf(t, rows[n-1:])
		r := club(t)
		got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if pairs := form.SilentPairs(got.Song, 1, got.Song.Bars()); pairs > 0 {
			t.Errorf("%d parts: found %d bars that are silent as the bar before is", len(rows)-n+1, pairs)
		}
	}
}

// Built-in recipes leave how loud a section is to its energy: they shape or thin no section from end to end.
func TestBuiltinsShapeNoSectionWithAnEnergy(t *testing.T) {
	for _, info := range recipes.Builtins() {
		r, _ := recipes.Builtin(info.Name)
		for _, s := range r.Sections {
			if s.Energy.IsZero() {
				t.Errorf("%s: %s has no energy", info.Name, s.Name)
			}
		}
		got, err := recipes.Draft([]recipes.Input{loopOf(t, clubRows())}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range got.Changes {
			if c.Step < 0 || c.Move != "shape" && c.Move != "thin" {
				continue
			}
			for _, sec := range got.Song.Sections {
				whole := got.Song.SectionRange(sec)
				if slices.ContainsFunc(c.Ranges, func(r song.Range) bool { return r.Start <= whole.Start && whole.End <= r.End }) {
					t.Errorf("%s: %s works on all of %s", info.Name, c.Move, sec.Name)
				}
			}
		}
	}
}
