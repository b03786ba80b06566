package edit_test

import (
	"fmt"
	"os"
	"path"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/recipes/edit"
	"loopdraft/smf"

	"github.com/google/go-cmp/cmp"
)

// demo is the loop of testdata with kick, clap, rim, hat, open-hat, shaker, ride, conga, bass, pad and stab.
func demo(t testing.TB) []recipes.Input {
	t.Helper()
	return []recipes.Input{loopFile(t, "harbour-lights.mid")}
}

// loopFile reads a loop of testdata.
func loopFile(t testing.TB, name string) recipes.Input {
	t.Helper()
	data, err := os.ReadFile("../../testdata/loops/" + name)
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	return recipes.Input{Name: path.Base(name), File: f}
}

func drafted(t testing.TB, text string) *recipes.Result {
	t.Helper()
	return draftedOf(t, text, demo(t))
}

func draftedOf(t testing.TB, text string, loops []recipes.Input) *recipes.Result {
	t.Helper()
	r, err := recipes.Parse("a.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	draft, err := recipes.Draft(loops, r, recipes.Options{})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return draft
}

// A part is to play in some bars, or out of them.
const in, out = false, true

// playRow is a section, a part that is to play or to rest in some of its bars, and the section once it does.
type playRow struct {
	section, part string
	first, last   int
	rest          bool
	want          string
}

// check makes the change in the section of that number, whose text stands between two others.
func (r playRow) check(t *testing.T, loops []recipes.Input, before, after string, section int) {
	t.Helper()
	t.Run(r.section+" "+r.part, func(t *testing.T) {
		text := before + r.section + after
		e := edit.Play{Section: section, Part: r.part, First: r.first, Last: r.last, Rest: r.rest, Draft: draftedOf(t, text, loops)}
		got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(text)}, e)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(before+r.want+after, string(got)); diff != "" {
			t.Error(diff)
		}
		checkPlays(t, e, draftedOf(t, string(got), loops))
	})
}

// Each row is a section of 32 bars, in which a part is to play or to rest in some of them.
func TestPartsComeAndGo(t *testing.T) {
	for _, tt := range []playRow{
		{"{name: a, bars: 32, play: [kick]}", "hat", 1, 32, in, "{name: a, bars: 32, play: [kick, hat]}"},
		{"{name: a, bars: 32, play: [kick]}", "hat", 17, 24, in, "{name: a, bars: 32, play: [kick, hat from 17 to 24]}"},
		{"{name: a, bars: 32, play: [kick, hat from 9, bass]}", "hat", 1, 8, in, "{name: a, bars: 32, play: [kick, hat, bass]}"},
		{"{name: a, bars: 32, play: [kick, hat from 9, bass]}", "hat", 17, 24, out, "{name: a, bars: 32, play: [kick, hat from 9 to 16, hat from 25, bass]}"},
		{"{name: a, bars: 32, play: [kick, hat in second half]}", "hat", 9, 16, in, "{name: a, bars: 32, play: [kick, hat from 9]}"},
		{"{name: a, bars: 32, play: [kick, hat in second half]}", "bass", 9, 16, in, "{name: a, bars: 32, play: [kick, hat in second half, bass from 9 to 16]}"},
		{"{name: a, bars: 32, play: [kick, hat]}", "hat", 1, 32, out, "{name: a, bars: 32, play: [kick]}"},
		{"{name: a, bars: 32, play: [kick]}", "kick", 1, 32, out, "{name: a, bars: 32, play: []}"},
		{"{name: a, bars: 32, play: []}", "kick", 25, 32, in, "{name: a, bars: 32, play: [kick from 25]}"},
		{"{name: a, bars: 32}", "pad", 1, 32, out, "{name: a, bars: 32, play: [all but pad]}"},
		{"{name: a, bars: 32}", "pad", 9, 32, out, "{name: a, bars: 32, play: [all, pad to 8]}"},
		{"{name: a, bars: 32, play: [all but pad]}", "stab", 1, 32, out, "{name: a, bars: 32, play: [all but pad and stab]}"},
		{"{name: a, bars: 32, play: [all but pad and stab]}", "stab", 1, 32, in, "{name: a, bars: 32, play: [all but pad]}"},
		{"{name: a, bars: 32, play: [all but pad]}", "pad", 1, 32, in, "{name: a, bars: 32, play: [all]}"},
		{"{name: a, bars: 32, play: [all but pad]}", "pad", 17, 32, in, "{name: a, bars: 32, play: [all, pad from 17]}"},
		{"{name: a, bars: 32, play: drums}", "kick", 1, 8, out, "{name: a, bars: 32, play: [drums, kick from 9]}"},
		{"{name: a, bars: 32, play: [backbeat from 9]}", "clap", 1, 32, out, "{name: a, bars: 32, play: [rim from 9]}"},
		{"{name: a, bars: 32, play: [kick, tops in turn]}", "shaker", 1, 32, in, "{name: a, bars: 32, play: [kick, tops in turn, shaker]}"},
		{"{name: a, bars: 32, play: [kick from 8.3]}", "kick", 17, 24, out, "{name: a, bars: 32, play: [kick from 8.3 to 16, kick from 25]}"},
	} {
		tt.check(t, demo(t), "sections:\n  - ", " # a\n", 0)
	}
}

// Rows as above, of a section that plays the loop b, which has no kick, over the loop a.
func TestPartsOfTwoLoopsComeAndGo(t *testing.T) {
	loops := []recipes.Input{loopFile(t, "harbour-lights.mid"), loopFile(t, "breaks/small-hours.mid")}
	loops[0].Loop, loops[1].Loop = "a", "b"
	for _, tt := range []playRow{
		{"loop: b, play: [kick of a, pad]", "kick", 9, 16, out, "loop: b, play: [kick of a to 8, kick of a from 17, pad]"},
		{"loop: b, play: [kick of a from 9, pad]", "kick", 1, 8, in, "loop: b, play: [kick of a, pad]"},
		{"loop: b, play: [kick of a, pad]", "pad", 1, 16, out, "loop: b, play: [kick of a, pad from 17]"},
		{"loop: b over a, play: [kick, pad, stab of a]", "stab", 17, 32, out, "loop: b over a, play: [kick, pad, stab of a to 16]"},
		{"loop: b over a, play: [kick, pad, stab of a to 16]", "bass", 9, 32, in, "loop: b over a, play: [kick, pad, stab of a to 16, bass from 9]"},
		{"loop: b over a, play: [stab to 8, stab of a from 17]", "stab", 9, 16, in, "loop: b over a, play: [stab to 16, stab of a from 17]"},
	} {
		tt.check(t, loops, "sections:\n  - {name: a, bars: 32}\n  - {name: b, bars: 32, ", "} # b\n", 1)
	}
}

// checkPlays compares the line-ups of all sections with those of the draft before: they are the same but where
// the part was let in or out.
func checkPlays(t *testing.T, e edit.Play, after *recipes.Result) {
	t.Helper()
	want, got := barsPlayed(e.Draft, e.Section), barsPlayed(after, e.Section)
	for bar := e.First; bar <= e.Last; bar++ {
		delete(want, fmt.Sprint(e.Part, " ", bar))
		if !e.Rest {
			want[fmt.Sprint(e.Part, " ", bar)] = true
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%+v: %s", e, diff)
	}
}

// barsPlayed returns the bars of a section in which each part plays, from their first beat to their last.
func barsPlayed(r *recipes.Result, section int) map[string]bool {
	in, _, ok := r.LineUp(section)
	out := map[string]bool{}
	if !ok {
		return out
	}
	plays := r.Plays(section)
	tl := in.Song.Time()
	for p, ranges := range plays {
		for bar := range in.Bars {
			start, end := tl.BarStart(in.Bar+bar)-tl.BarStart(in.Bar), tl.BarStart(in.Bar+bar+1)-tl.BarStart(in.Bar)
			for _, play := range ranges {
				if play.Start <= start && end <= play.End {
					out[fmt.Sprint(in.Song.Parts[p].Name, " ", bar+1)] = true
				}
			}
		}
	}
	return out
}

func TestWhoWasFoundIsWritten(t *testing.T) {
	text := `sections:
  - name: drop
    bars: 16
    play: [kick, bass from 9]
    kind: drop   # loud
  - name: break     # quiet
    like: drop
    energy: 52%..58%
    add: [bed, hook]
  - {name: rest, like: break, bars: 8}
`
	before := drafted(t, text)
	for section, want := range map[int]string{
		1: `  - name: break     # quiet
    kind: drop
    bars: 16
    play: PLAY
`,
		2: "  - {name: rest, bars: 8, kind: drop, play: PLAY}\n",
	} {
		e := edit.Play{Section: section, Part: "shaker", First: 1, Last: 8, Draft: before}
		got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(text)}, e)
		if err != nil {
			t.Fatal(err)
		}
		head, tail, _ := strings.Cut(want, "PLAY")
		if !strings.Contains(string(got), head+"[") || !strings.Contains(string(got), "]"+tail) {
			t.Errorf("got\n%s\nwant %s", got, want)
		}
		checkPlays(t, e, drafted(t, string(got)))
	}
}

// A draft of another length than the recipe's counts other bars: what is written counts those of the recipe.
func TestPartsComeAndGoInAScaledDraft(t *testing.T) {
	text := "sections:\n  - {name: a, bars: 16, play: [kick]}\n  - {name: b, bars: 16}\n"
	r, err := recipes.Parse("a.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	draft, err := recipes.Draft(demo(t), r, recipes.Options{Bars: 64})
	if err != nil {
		t.Fatal(err)
	}
	got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(text)}, edit.Play{Part: "hat", First: 17, Last: 32, Draft: draft})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Replace(text, "[kick]", "[kick, hat from 9]", 1), string(got)); diff != "" {
		t.Error(diff)
	}
}

// A part that plays from another loop goes on doing so around the bars in which it rests.
func TestPartsOfAnotherLoop(t *testing.T) {
	data, err := os.ReadFile("../../testdata/loops/breaks/small-hours.mid")
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	in := append(demo(t), recipes.Input{Name: "small-hours.mid", File: f, Loop: "b"})
	in[0].Loop = "a"
	text := "sections:\n  - {name: drop, bars: 32, play: [kick, pad of b]}\n"
	r, err := recipes.Parse("a.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	draft, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(text)}, edit.Play{Part: "pad", First: 9, Last: 16, Rest: true, Draft: draft})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Replace(text, "pad of b", "pad of b to 8, pad of b from 17", 1), string(got)); diff != "" {
		t.Error(diff)
	}
}

// What a section has from a longer one is written for its own bars.
func TestWhatItHadFromAnotherIsWrittenForItsBars(t *testing.T) {
	text := "sections:\n  - {name: a, bars: 32, play: [kick, bass from 17]}\n  - {name: b, like: a, bars: 16}\n"
	e := edit.Play{Section: 1, Part: "hat", First: 1, Last: 8, Draft: drafted(t, text)}
	got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(text)}, e)
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Replace(text, "like: a, bars: 16", "bars: 16, play: [kick, bass from 9, hat to 8]", 1)
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Error(diff)
	}
}
