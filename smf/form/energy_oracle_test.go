package form_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
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
	var all, off []float64
	for i, sounds := range oracle.Levels(t, files...) {
		var levels []float64
		for _, bar := range energies[i].Bars {
			levels = append(levels, level(bar.Sum()))
		}
		rho := oracle.Spearman(tenths(levels), tenths(sounds))
		by := apart(energies[i], sounds)
		fmt.Fprintf(&table, "%-28s %3d bars  %.3f, 8 bars %.2f dB\n", names[i], len(levels), rho, middle(by))
		all, off = append(all, rho), append(off, by...)
	}
	median, worst, sum := middle(all), slices.Min(all), 0.0
	for _, rho := range all {
		sum += rho
	}
	t.Logf("rank correlation of energy and rendered loudness, by bar:\n%smedian %.3f, mean %.3f, worst %.3f; 8 bars are %.2f dB off (median)",
		table.String(), median, sum/float64(len(all)), worst, middle(off))
	if !(median >= 0.91) || !(worst >= 0.5) || !(middle(off) <= 0.2) {
		t.Errorf("got a median of %.3f, a worst of %.3f and %.2f dB, want at least 0.91 and 0.5, and at most 0.2", median, worst, middle(off))
	}
}

// apart returns by how many dB the eights of bars of a song are told otherwise than they sound, each against the
// middle of these differences.
func apart(e form.Energy, sounds []float64) []float64 {
	var off []float64
	for first := 0; first+8 <= len(e.Bars); first += 8 {
		told, power := form.Mean(e.Bars[first:first+8]).Sum(), 0.0
		for _, db := range sounds[first : first+8] {
			power += math.Pow(10, db/10) / 8
		}
		if sound := 10 * math.Log10(power); !told.Silent() && sound > -75 {
			off = append(off, level(told)-sound)
		}
	}
	mid := middle(off)
	for i, d := range off {
		off[i] = math.Abs(d - mid)
	}
	return off
}

// middle returns the middle of some values, the upper one of an even number; 0 for none.
func middle(of []float64) float64 {
	if len(of) == 0 {
		return 0
	}
	return slices.Sorted(slices.Values(of))[len(of)/2]
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

// TestHitsAgainstAGeneralMIDISynthesizer strikes every key of the percussion map alone, two seconds each, and holds
// the energy of the hits, told against their median, with what FluidSynth plays.
func TestHitsAgainstAGeneralMIDISynthesizer(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	const first, last, bar = 27, 87, 4 * 480
	tr := smf.Track{End: (last - first + 1) * bar}
	for key := range song.Tick(last - first + 1) {
		tr.Append(smf.Channel(key*bar, 0x99, byte(first+key), 100))
		tr.Append(smf.Channel(key*bar+240, 0x89, byte(first+key), 64))
	}
	data, err := (&smf.File{Format: 1, Division: 480, Tracks: []smf.Track{tr}}).Encode()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "hits.mid")
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	s := songIn(t, data)
	var hits []float64
	for _, b := range energyOf(t, s).Bars {
		hits = append(hits, level(b.Sum()))
	}
	sounds := oracle.Levels(t, oracle.Rendering{Path: path, Time: s.Time(), End: s.End})[0]
	var off []float64
	for i := range hits {
		off = append(off, hits[i]-sounds[i])
	}
	mid := middle(off)
	for i, d := range off {
		off[i] = math.Abs(d - mid)
		t.Logf("key %d: %5.1f dB, sounds %5.1f", first+i, hits[i]-mid, sounds[i])
	}
	rho, most := oracle.Spearman(hits, sounds), slices.Max(off)
	t.Logf("rank correlation %.3f, median %.1f dB off, at most %.1f", rho, middle(off), most)
	if !(rho >= 0.98) || !(most <= 2) {
		t.Errorf("got a rank correlation of %.3f and at most %.1f dB, want at least 0.98 and at most 2", rho, most)
	}
}
