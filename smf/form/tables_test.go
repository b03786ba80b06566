//go:build oracles

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
