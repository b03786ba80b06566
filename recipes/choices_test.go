package recipes_test

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// chosen drafts a recipe on the small loop.
func chosen(t *testing.T, text string, o recipes.Options) *recipes.Result {
	t.Helper()
	r, err := recipes.Parse("choices.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	got, err := recipes.Draft([]recipes.Input{gridLoop(t, smallLoop)}, r, o)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// sectionNames returns the sections of a draft.
func sectionNames(r *recipes.Result) string {
	var out []string
	for _, s := range r.Song.Sections {
		out = append(out, fmt.Sprintf("%s %d", s.Name, s.Bars))
	}
	return strings.Join(out, ", ")
}

const threeForms = `sections:
  one of:
    - [{name: intro, bars: 8, play: [kick]}, {name: drop, bars: 8}]
    - [{name: groove, bars: 16}]
    - [{name: break, bars: 8, play: [stab]}, {name: drop, bars: 4}, {name: drop, bars: 4}]
  as: form
`

func TestTakesGoRoundTheAlternatives(t *testing.T) {
	forms := []string{"intro 8, drop 8", "groove 16", "break 8, drop 4, drop 4"}
	var last int
	for take := 1; take <= 7; take++ {
		got := chosen(t, threeForms, recipes.Options{Take: take})
		at := slices.Index(forms, sectionNames(got))
		if at < 0 || take > 1 && at != (last+1)%3 {
			t.Errorf("take %d: got %s after form %d", take, sectionNames(got), last+1)
		}
		if want := []recipes.Choice{{"form", at + 1}}; !slices.Equal(got.Choices, want) {
			t.Errorf("take %d: got choices %v, want %v", take, got.Choices, want)
		}
		seed := uint64(take - 1)
		if by := sectionNames(chosen(t, threeForms, recipes.Options{Seed: &seed})); by != sectionNames(got) {
			t.Errorf("seed %d: got %s, want what take %d is: %s", seed, by, take, sectionNames(got))
		}
		last = at
	}
}

func TestHeldChoices(t *testing.T) {
	text := threeForms + `moves:
  - {one of: [{mute: {part: hat, over: bar 1}}, {mute: {part: clap, over: bar 1}}], as: way}
`
	ways := map[int]bool{}
	for take := 1; take <= 4; take++ {
		got := chosen(t, text, recipes.Options{Take: take, Choose: []recipes.Choice{{"form", 3}}})
		if sectionNames(got) != "break 8, drop 4, drop 4" {
			t.Errorf("take %d: got %s", take, sectionNames(got))
		}
		ways[got.Choices[1].N] = true
	}
	if len(ways) != 2 {
		t.Errorf("got ways %v, want both: only the form is held", ways)
	}
	r, _ := recipes.Parse("choices.yaml", []byte(text))
	for _, row := range []struct {
		held []recipes.Choice
		want string
	}{
		{[]recipes.Choice{{"from", 1}}, `found unknown choice "from", want one of form, way; did you mean "form"?`},
		{[]recipes.Choice{{"form", 4}}, "found form=4, want form=1 to form=3"},
		{[]recipes.Choice{{"form", 0}}, "found form=0, want form=1 to form=3"},
		{[]recipes.Choice{{"way", 1}, {"way", 2}}, `found choice "way" again, want it once`},
	} {
		if _, err := recipes.Draft([]recipes.Input{gridLoop(t, smallLoop)}, r, recipes.Options{Choose: row.held}); err == nil || err.Error() != row.want {
			t.Errorf("%v: got %v, want %s", row.held, err, row.want)
		}
	}
	if _, err := recipes.Draft([]recipes.Input{gridLoop(t, smallLoop)}, &recipes.Recipe{}, recipes.Options{Choose: []recipes.Choice{{"form", 1}}}); err == nil {
		t.Error("a choice held in a recipe without choices: got no error")
	}
}

// A choice may stand for each of these, and the recipe with the alternative in its place gives the same song.
func TestWhereChoicesMayStand(t *testing.T) {
	for _, row := range []struct {
		place, text string // FIRST and SECOND stand for the alternatives
		of          [2]string
	}{
		{"sections", "sections: X", [2]string{"[{name: a, bars: 8}]", "[{name: b, bars: 4}, {name: c, bars: 4, play: [kick]}]"}},
		{"a section", "sections: [X, {name: drop, bars: 8}]", [2]string{"{name: a, bars: 8}", "{name: b, bars: 8, play: [kick]}"}},
		{"bars", "sections: [{name: a, bars: X}]", [2]string{"8", "16"}},
		{"play", "sections: [{name: a, bars: 8, play: X}]", [2]string{"[kick, hat from 5]", "bass"}},
		{"an item of play", "sections: [{name: a, bars: 8, play: [kick, X]}]", [2]string{"hat from 5", "bass"}},
		{"a step", "length: 8 bars\nmoves: [X]", [2]string{"mute: {part: bass, over: bar 2}", "thin: {part: hat, keep: 50%}"}},
		{"an option", "length: 8 bars\nmoves: [mute: {part: bass, over: X}]", [2]string{"bar 2", "[bar 1, bar 3]"}},
		{"a required option", "length: 8 bars\nmoves: [mute: {part: X, over: bar 3}]", [2]string{"bass", "[hat, kick]"}},
		{"an item of an option", "length: 8 bars\nmoves: [mute: {part: [hat, X], over: bar 3}]", [2]string{"bass", "clap"}},
	} {
		seen := map[int]bool{}
		for n, alternative := range row.of {
			choice := fmt.Sprintf("{one of: [%s, %s], as: it}", braced(row.of[0]), braced(row.of[1]))
			got := chosen(t, strings.ReplaceAll(row.text, "X", choice), recipes.Options{Choose: []recipes.Choice{{"it", n + 1}}})
			want := chosen(t, strings.ReplaceAll(row.text, "X", braced(alternative)), recipes.Options{})
			if song.Grid(got.Song) != song.Grid(want.Song) {
				t.Errorf("%s, alternative %d: got\n%s\nwant\n%s", row.place, n+1, song.Grid(got.Song), song.Grid(want.Song))
			}
			seen[len(song.Grid(got.Song))+strings.Count(song.Grid(got.Song), "x")*1000] = true
		}
		if len(seen) != 2 {
			t.Errorf("%s: both alternatives sound alike", row.place)
		}
	}
}

// braced puts a step into braces.
func braced(text string) string {
	if regexp.MustCompile(`^[a-z]+: `).MatchString(text) {
		return "{" + text + "}"
	}
	return text
}

func TestAListOfStepsStandsInPlaceOfAChoice(t *testing.T) {
	got := chosen(t, `length: 8 bars
moves:
  - one of: [[{mute: {part: bass, over: bar 1}}, {mute: {part: hat, over: bar 2}}], []]
    as: way
  - mute: {part: kick, over: bar 3}
`, recipes.Options{Choose: []recipes.Choice{{"way", 1}}})
	written := string(got.WriteRecipe())
	if strings.Count(written, "- mute: ") != 3 || strings.Contains(written, "one of") {
		t.Errorf("got\n%s", written)
	}
}

// Choices of one name choose together, and hang on the name alone.
func TestChoicesOfANameChooseTogether(t *testing.T) {
	text := `length: 8 bars
moves:
  - {one of: [{mute: {part: hat, over: bar 1}}, {mute: {part: clap, over: bar 1}}, {mute: {part: bass, over: bar 1}}], as: way}
  - {mute: {part: {one of: [hat, clap, bass], as: way}, over: bar 3}}
`
	for take := 1; take <= 3; take++ {
		for _, text := range []string{text, strings.ReplaceAll(text, "bar 3", "bar 4")} {
			got := chosen(t, text, recipes.Options{Take: take})
			parts := map[string]bool{}
			for _, c := range got.Changes {
				parts[strings.Join(c.Parts, " ")] = true
			}
			if len(parts) != 1 || len(got.Choices) != 1 {
				t.Errorf("take %d: got %v, choices %v", take, parts, got.Choices)
			}
		}
		other := chosen(t, strings.ReplaceAll(text, "bar 3", "bar 4"), recipes.Options{Take: take})
		if same := chosen(t, text, recipes.Options{Take: take}); !slices.Equal(same.Choices, other.Choices) {
			t.Errorf("take %d: another text of one choice changed the group: %v, %v", take, same.Choices, other.Choices)
		}
	}
}

func TestAlternativesWithoutPartsArePassedOver(t *testing.T) {
	for _, text := range []string{
		"length: 8 bars\nmoves: [{one of: [{mute: {part: vocal if any, over: bar 1}}, {mute: {part: bass, over: bar 1}}], as: it}]",
		"length: 8 bars\nmoves: [{mute: {part: {one of: [arp if any, bass]}, over: bar 1}}]",
		"sections: [{name: a, bars: 8, play: {one of: [[pad if any, vocal if any from 5], [bass]]}}]",
		"sections: [{name: a, bars: 8, play: [{one of: [pad if any, bass]}]}]",
		"sections: [{one of: [{name: a, bars: 8, play: [pad if any]}, {name: a, bars: 8, play: [bass]}]}]",
	} {
		for take := 1; take <= 2; take++ {
			got := chosen(t, text, recipes.Options{Take: take})
			if !strings.Contains(strings.Join(got.Told, "\n"), "2 of 2") {
				t.Errorf("take %d of\n%s\ngot %q, want the second alternative", take, text, got.Told)
			}
		}
	}
}

// A section that only another alternative has is no mistake: the step that names it is left out and told.
func TestStepsOfSectionsThatWereNotChosen(t *testing.T) {
	text := threeForms + "moves:\n  - mute: {part: kick, over: last 1 bar of drop 2}\n  - humanise: {part: hat}\n"
	for n, want := range []int{1, 1, 0} {
		got := chosen(t, text, recipes.Options{Choose: []recipes.Choice{{"form", n + 1}}})
		line := "moves[1].mute: left out, the section it names was not chosen"
		if count := strings.Count(strings.Join(got.Told, "\n"), line); count != want {
			t.Errorf("form %d: told %d times, want %d: %q", n+1, count, want, got.Told)
		}
		if count := strings.Count(string(got.WriteRecipe()), "# skipped: mute: {part: kick, over: last 1 bar of drop 2} (the section"); count != want {
			t.Errorf("form %d: got\n%s", n+1, got.WriteRecipe())
		}
	}
}

// The seed of a step hangs on its text as it is written: neither a choice added elsewhere nor the alternative that
// is taken changes what other steps draw.
func TestChoicesLeaveOtherSeedsAlone(t *testing.T) {
	seeds := func(text string, o recipes.Options) string {
		var out []string
		for _, m := range regexp.MustCompile(`humanise: .*seed: (\d+)`).FindAllStringSubmatch(string(chosen(t, text, o).WriteRecipe()), -1) {
			out = append(out, m[1])
		}
		return strings.Join(out, " ")
	}
	plain := "length: 8 bars\nmoves:\n  - humanise: {part: hat}\n  - humanise: {part: hat}\n"
	want := seeds(plain, recipes.Options{})
	if strings.Count(want, " ") != 1 {
		t.Fatalf("got seeds %q, want two", want)
	}
	added := plain + "  - {one of: [{mute: {part: bass}}, [{humanise: {part: clap}}, {humanise: {part: hat}}]], as: way}\n" +
		"  - {one of: [{mute: {part: bass}}, [{humanise: {part: clap}}, {humanise: {part: hat}}]], as: other}\n"
	var last [2]string
	for n := range 2 {
		for m := range 2 {
			got := seeds(added, recipes.Options{Choose: []recipes.Choice{{"way", n + 1}, {"other", m + 1}}})
			if !strings.HasPrefix(got, want) {
				t.Errorf("way %d: got seeds %s, want them to begin with %s", n+1, got, want)
			}
			if m == 1 {
				fields := strings.Fields(got)
				last[n] = strings.Join(fields[len(fields)-2:], " ")
			}
		}
	}
	if last[0] != last[1] {
		t.Errorf("what the first choice takes changed the seeds of the second: %s, %s", last[0], last[1])
	}
	inside := "length: 8 bars\nmoves:\n  - {one of: [{mute: {part: bass}}, {mute: {part: hat}}], as: way}\n" +
		"  - {humanise: {part: hat, over: {one of: [bar 1, bar 2], as: bar}}}\n"
	if a, b := seeds(inside, recipes.Options{Choose: []recipes.Choice{{"bar", 1}}}), seeds(inside, recipes.Options{Choose: []recipes.Choice{{"bar", 2}}}); a != b || a == "" {
		t.Errorf("a choice inside a step changed its seed: %s, %s", a, b)
	}
}

func TestAWrittenRecipeHoldsWhatWasChosen(t *testing.T) {
	text := threeForms + "moves:\n  - {one of: [{humanise: {part: hat}}, {mute: {part: kick, over: drop 1}}]}\n"
	r, err := recipes.Parse("choices.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for take := 1; take <= 6; take++ {
		checkLaws(t, []recipes.Input{gridLoop(t, smallLoop)}, r, recipes.Options{Take: take})
		if got := chosen(t, text, recipes.Options{Take: take}).WriteRecipe(); bytes.Contains(got, []byte(recipes.OneOf)) {
			t.Errorf("take %d: got\n%s", take, got)
		}
	}
}

// What a draft says it took is taken again by another that is told so, whatever its seed and although a text has changed.
func TestWhatWasTakenIsTakenAgain(t *testing.T) {
	const text = `sections:
  - one of: [{name: intro, bars: 8}, {name: groove, bars: 8}, {name: break, bars: 8}]
  - {name: drop, bars: {one of: [8, 16]}}
moves:
  - one of: [{mute: {part: kick}}, {mute: {part: stab}}]
`
	changed := strings.Replace(text, "{name: intro, bars: 8}", "{name: intro, bars: 12}", 1)
	seen := map[string]bool{}
	for take := 1; take <= 6; take++ {
		got := chosen(t, text, recipes.Options{Take: take})
		want := []int{slices.Index([]string{"intro", "groove", "break"}, got.Song.Sections[0].Name), got.Song.Sections[1].Bars/8 - 1, slices.Index([]string{"kick", "stab"}, got.Changes[len(got.Changes)-1].Parts[0])}
		if !slices.Equal(got.Taken, want) {
			t.Errorf("take %d: got %v taken, want %v", take, got.Taken, want)
		}
		seed := uint64(99)
		for _, text := range []string{text, changed} {
			if again := chosen(t, text, recipes.Options{Seed: &seed, Taken: got.Taken}); !slices.Equal(again.Taken, want) {
				t.Errorf("take %d: got %v again, want %v", take, again.Taken, want)
			}
		}
		seen[fmt.Sprint(want)] = true
	}
	if len(seen) < 3 {
		t.Errorf("got %d takes of six", len(seen))
	}
	if got := chosen(t, threeForms, recipes.Options{Choose: []recipes.Choice{{"form", 1}}, Taken: []int{2}}); got.Taken[0] != 0 {
		t.Errorf("got %v, want what is chosen by name", got.Taken)
	}
}

// A line-up as a draft tells it is the one that is written, and resolves to where its parts play.
func TestLineUpsAreTold(t *testing.T) {
	got := chosen(t, "sections:\n  - {name: intro, bars: 32, play: [kick, stab from 17]}\n  - {name: drop, bars: 16, like: intro}\n", recipes.Options{})
	for section, want := range []string{"kick, stab from 17", "kick, stab from 9"} {
		in, texts, ok := got.LineUp(section)
		if !ok || strings.Join(texts, ", ") != want {
			t.Errorf("section %d: got %v, want %s", section, texts, want)
		}
		in.Written = in.Bars
		plays, _, err := where.LineUpOf(texts...).Resolve(in)
		if err != nil {
			t.Fatal(err)
		}
		for p, ranges := range got.Plays(section) {
			if !slices.Equal(where.Ranges(plays[p]), ranges) {
				t.Errorf("section %d, part %d: got %v, want %v", section, p, where.Ranges(plays[p]), ranges)
			}
		}
	}
	if _, _, ok := got.LineUp(2); ok || got.Plays(-1) != nil {
		t.Error("got a section that is not there")
	}
}

// TestNamesOfChoices holds the reader against the form that the schema tells.
func TestNamesOfChoices(t *testing.T) {
	form := regexp.MustCompile(recipes.ChoiceNameForm().Regexp())
	for _, text := range []string{"form", "way-2", "a", "a-", "", "-a", "2a", "Form", "fOrm", "größe", "ǆ", "two words", "a_b", "a\n"} {
		recipe := strings.Replace(threeForms, "as: form", "as: "+strconv.Quote(text), 1)
		_, err := recipes.Parse("choices.yaml", []byte(recipe))
		refused := err != nil && strings.Contains(err.Error(), "want a name of lower-case letters, digits and hyphens")
		if !refused && err != nil {
			t.Errorf("%q: %v", text, err)
		}
		if got, want := !refused, form.MatchString(text); got != want {
			t.Errorf("%q is a name: %v, want %v", text, got, want)
		}
	}
}
