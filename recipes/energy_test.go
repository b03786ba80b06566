package recipes_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
)

// TestEnergyRanksBarsOfDraftsAsTheySound drafts the demo loops by the club recipe and compares the energy
// of each bar with its loudness as a General MIDI synthesizer plays it, by Spearman's rank correlation, in
// tenths of a dB. The lowest is one-channel.mid: without channel 10 and programs, every drum is a piano to
// the synthesizer, but not to the model, which knows the parts by their names.
func TestEnergyRanksBarsOfDraftsAsTheySound(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	t.Parallel()
	club, _ := recipes.Builtin("club")
	loops, err := filepath.Glob("../testdata/loops/*.mid")
	if err != nil || len(loops) != 6 {
		t.Fatalf("found %d loops, want 6 (%v)", len(loops), err)
	}
	var files []oracle.Rendering
	var levels [][]float64
	for _, group := range append([]string{"../testdata/loops/ferry/*.mid"}, loops...) {
		paths, _ := filepath.Glob(group)
		var inputs []recipes.Input
		for _, path := range paths {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			inputs = append(inputs, input(t, filepath.Base(path), data))
		}
		got, err := recipes.Draft(inputs, club, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		data, err := got.File.Encode()
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), strings.ReplaceAll(filepath.Base(group), "*", "ferry"))
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		e, err := form.EnergyOf(got.Song)
		if err != nil {
			t.Fatal(err)
		}
		var db []float64
		for _, bar := range e.Bars {
			db = append(db, float64(bar.Sum().Level(form.Held))/10)
		}
		files = append(files, oracle.Rendering{Path: path, Time: got.Song.Time(), End: got.Song.End})
		levels = append(levels, tenths(db))
	}
	table := ""
	var all []float64
	for i, sounds := range oracle.Levels(t, files...) {
		rho := oracle.Spearman(levels[i], tenths(sounds))
		table += fmt.Sprintf("%-28s %3d bars  %.3f\n", filepath.Base(files[i].Path), len(sounds), rho)
		all = append(all, rho)
	}
	slices.Sort(all)
	median := all[len(all)/2]
	t.Logf("rank correlation of energy and rendered loudness, by bar:\n%smedian %.3f", table, median)
	if !(median >= 0.95 && all[0] >= 0.80) {
		t.Errorf("got a median of %.3f and %.3f at least, want 0.95 and 0.80", median, all[0])
	}
}

func tenths(db []float64) []float64 {
	out := make([]float64, len(db))
	for i, v := range db {
		out[i] = math.Round(10*v) / 10
	}
	return out
}
