package oracle

import (
	"bytes"
	"encoding/binary"
	"math"
	"testing"
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
