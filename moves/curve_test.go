//go:build oracles

package moves

import (
	"math"
	"math/big"
	"testing"

	"loopdraft/smf/song"
)

func TestCurves(t *testing.T) {
	// Shapes at t = 0, 1/4, 1/2, 3/4, 1 (computed from their formulas: linear a+(b-a)t, smoothstep
	// 3t^2-2t^3, geometric a(b/a)^t).
	for _, tt := range []struct {
		rule, curve string
		from, to    int
		want        [5]float64
	}{
		{"linear", Linear, 0, 127, [5]float64{0, 31.75, 63.5, 95.25, 127}},
		{"linear, falling", Linear, 127, 0, [5]float64{127, 95.25, 63.5, 31.75, 0}},
		{"slow at both ends", SCurve, 0, 127, [5]float64{0, 19.84, 63.5, 107.16, 127}},
		{"even ratios", Exp, 1, 127, [5]float64{1, 3.357, 11.269, 37.831, 127}},
		{"even ratios from 30", Exp, 30, 127, [5]float64{30, 43.032, 61.725, 88.538, 127}},
		{"even ratios from 0 go by 1", Exp, 0, 127, [5]float64{0, 3.357, 11.269, 37.831, 127}},
		{"even ratios to 0 go by 1", Exp, 127, 0, [5]float64{127, 37.831, 11.269, 3.357, 0}},
		{"no way to go", Exp, 64, 64, [5]float64{64, 64, 64, 64, 64}},
		{"a bend", Linear, 8192, 16383, [5]float64{8192, 10239.75, 12287.5, 14335.25, 16383}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			for i, want := range tt.want {
				got := curveAt(tt.curve, tt.from, tt.to, song.Tick(i)*960, 3840)
				if math.Abs(float64(got)-want) > 0.5+1e-3 {
					t.Errorf("at %d/4: got %d, want %.2f rounded", i, got, want)
				}
			}
		})
	}
}

func TestCurvesNeverTurnBack(t *testing.T) {
	for _, curve := range []string{Linear, Exp, SCurve} {
		for _, ends := range [][2]int{{0, 127}, {127, 0}, {0, 16383}, {16383, 1}, {63, 64}} {
			n := song.Tick(49_999)
			last := ends[0]
			for i := range n + 1 {
				v := curveAt(curve, ends[0], ends[1], i, n)
				if (v-last)*(ends[1]-ends[0]) < 0 {
					t.Fatalf("%s from %d to %d turns back at %d: %d after %d", curve, ends[0], ends[1], i, v, last)
				}
				last = v
			}
			if last != ends[1] {
				t.Errorf("%s from %d to %d ends at %d", curve, ends[0], ends[1], last)
			}
		}
	}
}

func TestPowersOfTwo(t *testing.T) {
	for n := uint64(1); n < 1<<24; n = n*3/2 + 1 {
		if got, want := float64(log2(n))/(1<<32), math.Log2(float64(n)); math.Abs(got-want) > 1e-9 {
			t.Errorf("log2(%d): got %.12f, want %.12f", n, got, want)
		}
		if got := exp2(log2(n)); got != n {
			t.Errorf("2^log2(%d): got %d", n, got)
		}
	}
	for _, tt := range []struct {
		e    float64
		want uint64
	}{{-2, 0}, {-1, 1}, {-1.0001, 0}, {0, 1}, {0.5, 1}, {0.6, 2}, {10.5, 1448}} { // 2^10.5 = 1448.15
		if got := exp2(int64(math.Round(tt.e * (1 << 32)))); got != tt.want {
			t.Errorf("2^%g: got %d, want %d", tt.e, got, tt.want)
		}
	}
}

// TestRootsOfTwo checks the table of exp2 against square roots: 2^(2^-k) * 2^62.
func TestRootsOfTwo(t *testing.T) {
	root := new(big.Float).SetPrec(200).SetInt64(2)
	for k := 1; k <= 32; k++ {
		root.Sqrt(root)
		scaled, _ := new(big.Float).SetPrec(200).SetMantExp(root, 40).Uint64() // 2^40 is the most exp2 shows exactly below 2^60
		if got := exp2(int64(1)<<(32-k) + 40<<32); max(got, scaled)-min(got, scaled) > 1 {
			t.Errorf("2^(40 + 2^-%d): got %d, want %d", k, got, scaled)
		}
	}
}

// TestEvenDecibels holds the ramp that is even in dB: V = 127 * 10^(dB/40), from gain (v/127)^2 (DLS
// Level 1, RP-016; figures computed).
func TestEvenDecibels(t *testing.T) {
	for _, tt := range []struct{ dB, want float64 }{{0, 127}, {-1, 119.9}, {-3, 106.9}, {-6, 89.9}, {-9, 75.7}, {-12, 63.7}, {-18, 45.1}, {-24, 31.9}, {-36, 16.0}, {-48, 8.0}} {
		more := int64(math.Round(tt.dB / 40 * math.Log2(10) * (1 << 32)))
		got := float64(geometric(127_000, 127_000, 0, 1, more)) / 1000
		if math.Abs(got-tt.want) > 0.06 {
			t.Errorf("%g dB: got %.2f, want %.1f", tt.dB, got, tt.want)
		}
	}
	if want := math.Round(-1.5 / 40 * math.Log2(10) * (1 << 32)); halvingStep != want {
		t.Errorf("-1.5 dB: got %d, want %.0f", halvingStep, want)
	}
}
