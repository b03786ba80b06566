package recipes_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"loopdraft/recipes"
)

// sectionsOf reads sections such as "intro 32, break 8 least 4".
func sectionsOf(t *testing.T, text string) []recipes.SectionSpec {
	t.Helper()
	var out []recipes.SectionSpec
	for _, part := range strings.Split(text, ", ") {
		var s recipes.SectionSpec
		n, _ := fmt.Sscanf(part, "%s %d least %d", &s.Name, &s.Bars, &s.Least)
		if n < 2 {
			t.Fatalf("found %q, want a name and bars", part)
		}
		out = append(out, s)
	}
	return out
}

// scaled drafts sections to a length and returns their lengths.
func scaled(t *testing.T, sections []recipes.SectionSpec, bars, phrase int) ([]int, error) {
	t.Helper()
	r := &recipes.Recipe{Phrase: phrase, Sections: sections}
	got, err := recipes.Draft([]recipes.Input{gridLoop(t, "kick x...x...x...x...")}, r, recipes.Options{Bars: bars})
	if err != nil {
		return nil, err
	}
	var lengths []int
	for _, s := range got.Song.Sections {
		lengths = append(lengths, s.Bars)
	}
	return lengths, nil
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
		got, err := scaled(t, sectionsOf(t, row.sections), row.bars, row.phrase)
		text := fmt.Sprint(got)
		if err != nil {
			text = err.Error()
		}
		if text != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, text, row.want)
		}
	}
}

// leastOf is the least length of a section: its own, or 8 bars.
func leastOf(s recipes.SectionSpec) int {
	if s.Least > 0 {
		return s.Least
	}
	return 8
}

func TestScalingAddsUp(t *testing.T) {
	for seed := range uint64(500) {
		c := rand.New(rand.NewPCG(seed, 0))
		var sections []recipes.SectionSpec
		floor, own, phrase := 0, 0, []int{1, 2, 4, 8}[c.IntN(4)]
		for range 1 + c.IntN(9) {
			s := recipes.SectionSpec{Name: []string{"intro", "break", "drop", "x"}[c.IntN(4)], Bars: 1 + c.IntN(64), Least: c.IntN(20)}
			sections = append(sections, s)
			own += s.Bars
			floor += (leastOf(s) + phrase - 1) / phrase * phrase
		}
		bars := floor + phrase*c.IntN(60)
		if bars == own { // sections of the length that is asked for stay as they are
			bars += phrase
		}
		lengths, err := scaled(t, sections, bars, phrase)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		sum := 0
		for i, n := range lengths {
			sum += n
			if n%phrase != 0 || n < leastOf(sections[i]) {
				t.Errorf("seed %d: section %d has %d bars, want whole phrases of %d and at least %d", seed, i, n, phrase, leastOf(sections[i]))
			}
		}
		if sum != bars {
			t.Errorf("seed %d: found %d bars, want %d", seed, sum, bars)
		}
	}
}
