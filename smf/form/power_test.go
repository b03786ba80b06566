package form_test

import (
	"math"
	"testing"

	"loopdraft/smf/form"
)

// most is the greatest power there is.
const most form.Power = math.MaxInt64 / 4

// 10 dB less is half as loud, 3.01 dB half the power; what is on a limit is within it.
func TestLevelsAndShares(t *testing.T) {
	const full form.Power = 7_000_000_000_000
	for _, tt := range []struct {
		power        form.Power
		level, share int
	}{
		{full, 0, 1000}, {full / 2, -30, 811}, {full / 10, -100, 500}, {full/10 - 1, -100, 499}, {full / 100, -200, 250},
		{2 * full, 30, 1232}, {10 * full, 100, 2000}, {1000 * full, 300, 8000}, {full - 1, 0, 999}, {0, form.SilenceLevel, 0}, {form.Held / 1e10, form.SilenceLevel, 0},
		{most, 552, 45792},
	} {
		if level, share := tt.power.Level(full), tt.power.Share(full); level != tt.level || share != tt.share {
			t.Errorf("%d: got %d tenths of a dB and %d of a percent, want %d and %d", tt.power, level, share, tt.level, tt.share)
		}
	}
	for share := range 1501 {
		if p := full.At(share); share > 0 && (p.Share(full) != share || (p-1).Share(full) != share-1) {
			t.Errorf("%d tenths of a percent: got %d from there on, %d below", share, p.Share(full), (p - 1).Share(full))
		}
	}
	for level := -900; level < 300; level++ {
		at := func(tenths float64) form.Power { return form.Power(float64(full) * math.Pow(10, tenths/100)) }
		if a, b := at(float64(level)-.49).Level(full), at(float64(level)+.49).Level(full); a != level || b != level {
			t.Fatalf("%d tenths of a dB: got %d and %d", level, a, b)
		}
	}
	for _, tt := range []struct {
		p, q   form.Power
		tenths int
		want   bool
	}{
		{full, full, 0, true}, {full, full, 1, false}, {0, 0, 10, false}, {1, 0, 99, true},
		{1_258_926_000_000, 1_000_000_000_000, 10, true}, {1_258_925_000_000, 1_000_000_000_000, 10, false}, {1_000_000_000_000, 1_258_926_000_000, 10, true},
	} {
		if got := tt.p.Apart(tt.q, tt.tenths); got != tt.want {
			t.Errorf("%d and %d are %d tenths of a dB apart: got %v", tt.p, tt.q, tt.tenths, got)
		}
	}
}

// What is made some tenths of a dB stronger is measured as that much stronger, and 10 dB are ten times the power.
func TestTimes(t *testing.T) {
	const full form.Power = 7_000_000_000_000
	for tenths := -600; tenths <= 300; tenths++ {
		got, want := full.Times(tenths), float64(full)*math.Pow(10, float64(tenths)/100)
		if math.Abs(float64(got)-want) > 1+1e-6*want {
			t.Errorf("%d tenths of a dB: got %d, want %.0f", tenths, got, want)
		}
	}
	if got := most.Times(90); got != most {
		t.Errorf("got %d over the most there is, want %d", got, most)
	}
}
