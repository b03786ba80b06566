package recipes_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// TestKindsOfDrafts hears the kinds of the sections of drafts: first of the sections they were made of,
// their names hidden, then of sections found by ear, by bar. A groove that is full is taken for a drop,
// so both are counted as one, the core.
func TestKindsOfDrafts(t *testing.T) {
	t.Parallel()
	core := func(k song.Kind) song.Kind {
		if k == song.KindDrop {
			return song.KindGroove
		}
		return k
	}
	for i, set := range []struct {
		what        string
		inputs      map[string][]recipes.Input
		told, byEar float64 // the least share of bars that are right
	}{{"demo loops", demoInputs(t), .86, .80}, {"other loops", otherInputs(t), .84, .78}} {
		if i >= oracle.Size(1, 2, 2) {
			break
		}
		var bars, told, byEar int
		wrong := map[string]int{}
		for n, name := range slices.Sorted(maps.Keys(set.inputs)) {
			for k, info := range recipes.Builtins() {
				if (n+k)%oracle.Size(6, 1, 1) != 0 { // a first run hears one draft in six
					continue
				}
				d := draftedBuiltin(t, name, set.inputs[name], info.Name)
				got := d.got
				s, st := d.heardAgain(t)
				truth := make([]song.Kind, s.Bars())
				nameless := st
				nameless.Sections = nil
				for _, sec := range got.Song.Sections {
					for b := range sec.Bars {
						truth[sec.Bar-1+b] = sec.Kind
					}
					sec.Name, sec.Kind = "", song.NoKind
					nameless.Sections = append(nameless.Sections, sec)
				}
				heard := kindsByBar(form.Sections(s, nameless), s.Bars())
				nameless.Sections = nil
				ear := kindsByBar(form.Sections(s, nameless), s.Bars())
				for b, want := range truth {
					bars++
					if core(heard[b]) == core(want) {
						told++
					} else {
						wrong[fmt.Sprintf("%s for %s", heard[b], want)]++
					}
					if core(ear[b]) == core(want) {
						byEar++
					}
				}
			}
		}
		share := func(n int) float64 { return float64(n) / float64(bars) }
		t.Logf("%s: kinds of bars right %.3f, with sections found by ear %.3f; %v", set.what, share(told), share(byEar), wrong)
		if share(told) < set.told || share(byEar) < set.byEar {
			t.Errorf("%s: got %.3f and %.3f, want %.2f and %.2f", set.what, share(told), share(byEar), set.told, set.byEar)
		}
	}
}

func kindsByBar(sections []form.HeardSection, bars int) []song.Kind {
	out := make([]song.Kind, bars)
	for _, sec := range sections {
		for b := range sec.Bars {
			out[sec.Bar-1+b] = sec.Kind
		}
	}
	return out
}

// demoInputs are the demo loops by file name.
func demoInputs(t *testing.T) map[string][]recipes.Input {
	t.Helper()
	loops, err := filepath.Glob("../testdata/loops/*.mid")
	if err != nil || len(loops) != 6 {
		t.Fatalf("found %d loops, want 6 (%v)", len(loops), err)
	}
	out := map[string][]recipes.Input{}
	for _, path := range loops {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := smf.Decode(data)
		if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimSuffix(filepath.Base(path), ".mid")
		out[name] = []recipes.Input{{Name: name, File: f}}
	}
	return out
}

// otherInputs are loops of other kinds by what is in them.
func otherInputs(t *testing.T) map[string][]recipes.Input {
	t.Helper()
	out := map[string][]recipes.Input{}
	for _, kind := range loopKinds() {
		out[kind.name] = []recipes.Input{kind.input(t)}
	}
	return out
}
