package form_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// TestEnergyRanksBarsAsTheySound compares the energy of each bar of 31 real songs with its loudness as a
// General MIDI synthesizer plays it, by Spearman's rank correlation, in tenths of a dB. The figures of the
// model are those of single notes of the same sounds; none was fitted to these songs.
func TestEnergyRanksBarsAsTheySound(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	t.Parallel()
	var names []string
	var energies []form.Energy
	var files []oracle.Rendering
	for _, f := range oracle.RealFiles(t) {
		if !strings.Contains(f.Path, "openmsx") {
			continue
		}
		s := songIn(t, f.Bytes)
		names, energies = append(names, f.Name), append(energies, energyOf(t, s))
		files = append(files, oracle.Rendering{Path: f.Path, Time: s.Time(), End: s.End})
	}
	if len(files) != 31 {
		t.Fatalf("found %d songs, want 31", len(files))
	}
	var table strings.Builder
	var all []float64
	for i, sounds := range oracle.Levels(t, files...) {
		var levels []float64
		for _, bar := range energies[i].Bars {
			levels = append(levels, level(bar.Sum()))
		}
		rho := oracle.Spearman(tenths(levels), tenths(sounds))
		fmt.Fprintf(&table, "%-28s %3d bars  %.3f\n", names[i], len(levels), rho)
		all = append(all, rho)
	}
	slices.Sort(all)
	median := all[len(all)/2]
	t.Logf("rank correlation of energy and rendered loudness, by bar:\n%smedian %.3f", table.String(), median)
	if !(median >= 0.905) { // .91 rounded
		t.Errorf("got a median of %.3f, want at least 0.905", median)
	}
}

func tenths(db []float64) []float64 {
	out := make([]float64, len(db))
	for i, v := range db {
		out[i] = math.Round(10*v) / 10
	}
	return out
}

func energyOf(t testing.TB, s song.Song) form.Energy {
	t.Helper()
	e, err := form.EnergyOf(s)
	if err != nil {
		t.Fatal(err)
	}
	return e
}
