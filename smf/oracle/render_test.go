//go:build oracles

package oracle

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// A sine at full scale has a mean power of one half, -3.01 dB; on both sides it adds up to 0 dB.
func TestLevelsOfSamples(t *testing.T) {
	var samples bytes.Buffer
	for i := range 2 * renderRate {
		v := int16(0)
		if i < renderRate {
			v = int16(math.Round(32767 * math.Sin(2*math.Pi*441*float64(i)/renderRate)))
		}
		binary.Write(&samples, binary.LittleEndian, [2]int16{v, v})
	}
	got, err := meanLevels(&samples, []float64{0.5, 1, 1.5, 1.5, 5})
	want := []float64{0, quietest, quietest, quietest}
	if err != nil || len(got) != len(want) {
		t.Fatalf("got %v, %v, want %v", got, err, want)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 0.001 {
			t.Errorf("stretch %d: got %.3f dB, want %.3f", i+1, got[i], want[i])
		}
	}
	if _, err := meanLevels(bytes.NewReader([]byte{1, 2, 3}), []float64{0, 1}); err == nil {
		t.Error("half a sample is taken")
	}
}

// The formula without ties is 1 - 6 sum d^2 / (n (n^2 - 1)). The ten pairs are the worked example under
// "Spearman's rank correlation coefficient" in the English Wikipedia, with d^2 adding up to 194 and rho
// -29/165 (from memory); the row with ties is computed by hand: ranks 0 1.5 1.5 3 against 0 1 2 3.
func TestSpearman(t *testing.T) {
	for _, tt := range []struct {
		rule string
		a, b []float64
		want float64
	}{
		{"a published example", []float64{106, 100, 86, 101, 99, 103, 97, 113, 112, 110}, []float64{7, 27, 2, 50, 28, 29, 20, 12, 6, 17}, -29.0 / 165},
		{"the same order is 1", []float64{1, 2, 3}, []float64{10, 1000, 1001}, 1},
		{"the other way round is -1", []float64{1, 2, 3}, []float64{3, 2, 1}, -1},
		{"equal values share their ranks", []float64{1, 2, 2, 3}, []float64{1, 2, 3, 4}, 4.5 / math.Sqrt(4.5*5)},
	} {
		if got := Spearman(tt.a, tt.b); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%s: got %v, want %v", tt.rule, got, tt.want)
		}
	}
	if got := Spearman([]float64{1, 1}, []float64{1, 2}); !math.IsNaN(got) {
		t.Errorf("got %v for equal values, want no number", got)
	}
}

// A file is rendered once, however many ask at a time, and sounds as it does without a folder. Other notes are another
// render.
func TestRendersAreKept(t *testing.T) {
	Need(t, "fluidsynth")
	folder := t.TempDir()
	t.Setenv("LOOPDRAFT_RENDERS", folder)
	// One middle C of a quarter note at 120 bpm, then silence for a bar.
	note := "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x0d\x00\x90\x3c\x64\x60\x80\x3c\x40\x83\x00\xff\x2f\x00"
	name := filepath.Join(t.TempDir(), "note.mid")
	if err := os.WriteFile(name, []byte(note), 0o666); err != nil {
		t.Fatal(err)
	}
	played := make([][]byte, 4)
	var all sync.WaitGroup
	for i := range played {
		all.Go(func() {
			if err := play(name, func(wav io.Reader) (err error) { played[i], err = io.ReadAll(wav); return err }); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	t.Setenv("LOOPDRAFT_RENDERS", "")
	var streamed []byte
	if err := play(name, func(wav io.Reader) (err error) { streamed, err = io.ReadAll(wav); return err }); err != nil {
		t.Fatal(err)
	}
	if len(streamed) < renderRate {
		t.Fatalf("got %d bytes of sound", len(streamed))
	}
	for i, wav := range played {
		if !bytes.Equal(wav, streamed) {
			t.Errorf("%d: kept sound of %d bytes is not that of %d bytes that is played", i, len(wav), len(streamed))
		}
	}
	if kept, _ := filepath.Glob(filepath.Join(folder, "*")); len(kept) != 1 || filepath.Ext(kept[0]) != ".raw" {
		t.Errorf("found %q, want one render", kept)
	}
	key, err := renderKey(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(strings.ReplaceAll(note, "\x3c", "\x3d")), 0o666); err != nil {
		t.Fatal(err)
	}
	if other, err := renderKey(name); err != nil || other == key {
		t.Errorf("another note has the same sound (%v)", err)
	}
}

// What somebody left half rendered is rendered by the next who asks.
func TestAHalfRenderIsTakenOver(t *testing.T) {
	Need(t, "fluidsynth")
	folder := t.TempDir()
	reals := Loops(t)
	key, err := renderKey(reals[0].Path)
	if err != nil {
		t.Fatal(err)
	}
	part := filepath.Join(folder, key+".part")
	if err := os.WriteFile(part, []byte("half"), 0o666); err != nil {
		t.Fatal(err)
	}
	long := time.Now().Add(-2 * renderPause)
	if err := os.Chtimes(part, long, long); err != nil {
		t.Fatal(err)
	}
	whole, err := render(reals[0].Path, folder)
	if err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(whole); err != nil || len(b) < renderRate {
		t.Errorf("got %d bytes: %v", len(b), err)
	}
}
