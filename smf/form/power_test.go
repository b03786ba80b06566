package form

import (
	"math"
	"testing"
)

// The tables are held to their formulas as the standard library works them out.
func TestTables(t *testing.T) {
	for i, got := range rootsOfHalf {
		if want := math.Exp2(-float64(i) / 64); math.Abs(got-want) > 2e-16 {
			t.Errorf("root %d: got %v, want %v", i, got, want)
		}
	}
	ratio := func(table string, i int, got uint64, want float64) {
		t.Helper()
		if math.Abs(float64(got)/one-want) > 1e-14*want+1.1/one {
			t.Errorf("%s %d: got %v, want %v", table, i, float64(got)/one, want)
		}
	}
	for i, got := range halfTenths {
		ratio("half tenth", i, got, math.Pow(10, float64(i)/200))
	}
	for i, got := range shares {
		ratio("share", i, got, math.Pow(float64(i)/1000, 1/math.Log10(2)))
	}
	for i, got := range falls {
		if i > 0 && got <= falls[i-1] {
			t.Errorf("rate %d falls by %v dB a second, no faster than the one before", i, got)
		}
	}
}

func TestHalf(t *testing.T) {
	last := 1.0
	for i := range 99_000 {
		x := float64(i) / 97
		got := half(x)
		if want := math.Exp2(-x); math.Abs(got-want) > 4e-15*want || got > last {
			t.Fatalf("2^-%v: got %v, want %v", x, got, want)
		}
		last = got
	}
	if got := half(math.Inf(1)); got != 0 {
		t.Errorf("got %v of what has long faded, want 0", got)
	}
	for db := -40.0; db <= 10; db += 0.5 {
		if got, want := fromDB(db), math.Pow(10, db/10); math.Abs(got-want) > 6e-15*want {
			t.Errorf("%v dB: got %v, want %v", db, got, want)
		}
	}
}

// 10 dB less is half as loud, 3.01 dB half the power; what is on a limit is within it.
func TestLevelsAndShares(t *testing.T) {
	const full Power = 7_000_000_000_000
	for _, tt := range []struct {
		power        Power
		level, share int
	}{
		{full, 0, 1000}, {full / 2, -30, 811}, {full / 10, -100, 500}, {full/10 - 1, -100, 499}, {full / 100, -200, 250},
		{2 * full, 30, 1232}, {10 * full, 100, 2000}, {1000 * full, 300, 8000}, {full - 1, 0, 999}, {0, SilenceLevel, 0}, {audible, SilenceLevel, 0},
		{mostPower, 552, 45792},
	} {
		if level, share := tt.power.Level(full), tt.power.Share(full); level != tt.level || share != tt.share {
			t.Errorf("%d: got %d tenths of a dB and %d of a percent, want %d and %d", tt.power, level, share, tt.level, tt.share)
		}
	}
	for share := range len(shares) {
		if p := full.At(share); share > 0 && (p.Share(full) != share || (p-1).Share(full) != share-1) {
			t.Errorf("%d tenths of a percent: got %d from there on, %d below", share, p.Share(full), (p - 1).Share(full))
		}
	}
	for level := -900; level < 300; level++ {
		at := func(tenths float64) Power { return Power(float64(full) * math.Pow(10, tenths/100)) }
		if a, b := at(float64(level)-.49).Level(full), at(float64(level)+.49).Level(full); a != level || b != level {
			t.Fatalf("%d tenths of a dB: got %d and %d", level, a, b)
		}
	}
	for _, tt := range []struct {
		p, q   Power
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
	const full Power = 7_000_000_000_000
	for tenths := -600; tenths <= 300; tenths++ {
		got, want := full.Times(tenths), float64(full)*math.Pow(10, float64(tenths)/100)
		if math.Abs(float64(got)-want) > 1+1e-6*want {
			t.Errorf("%d tenths of a dB: got %d, want %.0f", tenths, got, want)
		}
	}
	if got := Power(mostPower).Times(90); got != mostPower {
		t.Errorf("got %d over the most there is, want %d", got, Power(mostPower))
	}
}
