package recipes_test

import (
	"bytes"
	"cmp"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// idea is what is heard of a take before anything else.
type idea struct {
	form    string // the sections with their bars
	carrier string // who plays in the first break
	entry   string // who plays in the intro from which bar
	way     string // what is done in the last bars before the first drop
}

// ideaOf reads a take from its written recipe. What its steps come to is known by carrying it out.
func ideaOf(t *testing.T, in recipes.Input, got *recipes.Result) (idea, *recipes.Result) {
	t.Helper()
	written, err := recipes.Parse("written.yaml", got.WriteRecipe())
	if err != nil {
		t.Fatal(err)
	}
	again, err := recipes.Draft([]recipes.Input{in}, written, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out idea
	for i, sec := range written.Sections {
		out.form += fmt.Sprintf("%s %d, ", sec.Name, sec.Bars)
		switch again.Song.Sections[i].Kind {
		case song.KindIntro:
			out.entry = entering(sec.Play.Texts())
		case song.KindBreak:
			out.carrier = cmp.Or(out.carrier, sec.Play.String())
		}
	}
	drop := slices.IndexFunc(again.Song.Sections, func(s song.Section) bool { return s.Kind == song.KindDrop })
	bar := again.Song.Sections[drop].Bar
	before := again.Song.BarRange(bar-8, bar-1)
	for _, c := range again.Changes {
		into := slices.ContainsFunc(c.Ranges, func(r song.Range) bool { return r.Start >= before.Start && r.End == before.End })
		if into && c.Move != "line-up" && c.Move != "shape" {
			out.way += c.Move + " " + strings.Join(c.Parts, " ") + ", "
		}
	}
	return out, again
}

// entering lists the parts of a line-up, those first that come first, without the bars.
func entering(items []string) string {
	type item struct {
		from int
		part string
	}
	var in []item
	for _, text := range items {
		at := item{1, text}
		words := strings.Fields(text)
		for k, w := range words {
			if w != "from" && w != "to" {
				continue
			}
			at.part = min(at.part, strings.Join(words[:k], " "))
			if w == "from" {
				fmt.Sscan(words[k+1], &at.from)
			}
		}
		in = append(in, at)
	}
	slices.SortStableFunc(in, func(a, b item) int { return cmp.Compare(a.from, b.from) })
	var out []string
	for _, at := range in {
		if !slices.Contains(out, at.part) {
			out = append(out, at.part)
		}
	}
	return strings.Join(out, ", ")
}

// Over five takes of a loop of six parts or more the recipes have three forms, two carriers of the first break, two
// orders of entry in the intro and two ways into the first drop; and of any two takes a quarter of the bars has other
// parts sounding: in nine of ten loops, since some have too few drums or too little music for it. How different takes are to be is common practice, no source.
func TestTakesAreOtherIdeas(t *testing.T) {
	loops := oracle.CutLoops(t)
	slices.SortStableFunc(loops, func(a, b oracle.CutLoop) int { return cmp.Compare(fnvOf(a.Name), fnvOf(b.Name)) })
	for _, name := range []string{"club", "short"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, _ := recipes.Builtin(name)
			most, heard, misses := oracle.Size(2, 10, len(loops)), 0, 0
			for _, l := range loops {
				if most == 0 {
					break
				}
				in := input(t, l.Name, l.Bytes)
				forms, carriers, entries, ways := map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}
				var sounding [][]string
				for take := 1; take <= 5; take++ {
					got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{Take: take})
					if err != nil || heardParts(got) < 6 {
						break
					}
					i, again := ideaOf(t, in, got)
					forms[i.form], carriers[i.carrier], entries[i.entry], ways[i.way] = true, true, true, true
					sounding = append(sounding, soundingOf(again.Song))
				}
				if len(sounding) == 0 {
					continue
				}
				most--
				heard++
				ok := true
				if len(forms) < 3 || len(carriers) < 2 || len(entries) < 2 || len(ways) < 2 {
					ok = false
					t.Logf("%s: %d forms, %d carriers of the first break, %d orders of entry, %d ways into drop 1, want 3, 2, 2 and 2",
						l.Name, len(forms), len(carriers), len(entries), len(ways))
				}
				for a := range sounding {
					for b := range a {
						if apart := apart(sounding[a], sounding[b]); apart < 25 {
							ok = false
							t.Logf("%s: in takes %d and %d other parts sound in %d %% of the bars, want 25", l.Name, b+1, a+1, apart)
						}
					}
				}
				if !ok {
					misses++
				}
			}
			t.Logf("%s: %d of %d loops", name, heard-misses, heard)
			if misses > heard/10+1 {
				t.Errorf("takes are too much alike in %d of %d loops, want one of ten at most", misses, heard)
			}
		})
	}
}

// heardParts returns how many parts a loop has besides triggers.
func heardParts(r *recipes.Result) int {
	n := 0
	for _, p := range r.Loop.Parts {
		if p.Role != song.RoleTrigger {
			n++
		}
	}
	return n
}

// soundingOf tells of each bar who sounds in it.
func soundingOf(s song.Song) []string {
	m := measured{song: s}
	m.notes()
	var out []string
	for _, sounds := range m.sounds[1:] {
		out = append(out, fmt.Sprint(sounds))
	}
	return out
}

// apart returns in how many percent of the bars, of the longer one, two takes differ.
func apart(a, b []string) int {
	longer := max(len(a), len(b))
	n := 0
	for i := range longer {
		if i >= len(a) || i >= len(b) || a[i] != b[i] {
			n++
		}
	}
	return 100 * n / max(longer, 1)
}

// TestTakesOfOneHearingAreThoseOfDraft makes takes of one hearing at a time, and holds each to the draft that is made by
// itself: bytes, and what is told. The second recipe leaves no choice, so that its takes share their steps too.
func TestTakesOfOneHearingAreThoseOfDraft(t *testing.T) {
	t.Parallel()
	var inputs []recipes.Input
	for _, name := range []string{"harbour-lights.mid", "breaks/small-hours.mid"} {
		data, err := os.ReadFile("../testdata/loops/" + name)
		if err != nil {
			t.Fatal(err)
		}
		inputs = append(inputs, input(t, name, data))
	}
	club, _ := recipes.Builtin("club")
	chance, err := recipes.Parse("chance.yaml", []byte("sections:\n  - {name: intro, bars: 16, play: [drums], energy: rising}\n  - {name: drop, bars: 32}\n"+
		"moves:\n  - thin: {part: drums, over: intro, keep: 50%, by: chance}\n  - vary: {part: tops, over: drop}\n  - freshen: {every: 8 bars}\n  - mend: {}\n"))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		loops int
		r     *recipes.Recipe
	}{{1, club}, {2, club}, {1, chance}} {
		takes, err := recipes.NewTakes(inputs[:row.loops], row.r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := make([]*recipes.Result, oracle.Size(2, 4, 4))
		var made sync.WaitGroup
		for i := range got {
			made.Go(func() {
				var err error
				if got[i], err = takes.Draft(i + 1); err != nil {
					t.Error(err)
				}
			})
		}
		made.Wait()
		for i, got := range got {
			if got == nil {
				continue
			}
			want, err := recipes.Draft(inputs[:row.loops], row.r, recipes.Options{Take: i + 1})
			if err != nil {
				t.Fatal(err)
			}
			a, _ := got.File.Encode()
			b, _ := want.File.Encode()
			if !bytes.Equal(a, b) || !slices.Equal(got.Told, want.Told) || !slices.Equal(got.Todo, want.Todo) {
				t.Errorf("%s, %d loops, take %d: another draft than by itself", row.r.File, row.loops, i+1)
			}
		}
	}
}
