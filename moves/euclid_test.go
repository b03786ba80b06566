package moves_test

import (
	"strings"
	"testing"

	"loopdraft/moves"
)

func TestBjorklund(t *testing.T) {
	// Toussaint, BRIDGES 2005, as in the tests of two independent copies of its table (bwagner/
	// euclidean_rhythm and nebs/bjorklund-euclidean-rhythms). The paper prints the rows marked * rotated;
	// 5,16 is the 3-3-3-3-4 that is meant where the paper has one dot too many.
	for _, tt := range []struct {
		k, n int
		want string
	}{
		{1, 2, "x."}, {1, 3, "x.."}, {1, 4, "x..."}, {4, 12, "x..x..x..x.."},
		{2, 3, "xx."}, // * x.x
		{2, 5, "x.x.."},
		{3, 4, "xxx."}, // * x.xx
		{3, 5, "x.x.x"}, {3, 7, "x.x.x.."}, {3, 8, "x..x..x."}, {4, 7, "x.x.x.x"}, {4, 9, "x.x.x.x.."},
		{4, 11, "x..x..x..x."},
		{5, 6, "xxxxx."}, // * x.xxxx
		{5, 7, "x.xx.xx"}, {5, 8, "x.xx.xx."}, {5, 9, "x.x.x.x.x"}, {5, 11, "x.x.x.x.x.."},
		{5, 12, "x..x.x..x.x."}, {5, 13, "x..x.x..x.x.."}, {5, 16, "x..x..x..x..x..."},
		{7, 8, "xxxxxxx."}, // * x.xxxxxx
		{7, 12, "x.xx.x.xx.x."}, {7, 16, "x..x.x.x..x.x.x."}, {9, 16, "x.xx.x.x.xx.x.x."},
		{11, 24, "x..x.x.x.x.x..x.x.x.x.x."}, {13, 24, "x.xx.x.x.x.x.xx.x.x.x.x."},
	} {
		if got := hitsText(moves.Bjorklund(tt.k, tt.n)); got != tt.want {
			t.Errorf("%d in %d: got %s, want %s", tt.k, tt.n, got, tt.want)
		}
	}
}

func TestBjorklundAtTheEdges(t *testing.T) {
	for _, tt := range []struct {
		k, n int
		want string
	}{{0, 0, ""}, {1, 0, ""}, {0, 3, "..."}, {-1, 2, ".."}, {1, 1, "x"}, {3, 3, "xxx"}, {5, 3, "xxx"}} {
		if got := hitsText(moves.Bjorklund(tt.k, tt.n)); got != tt.want {
			t.Errorf("%d in %d: got %q, want %q", tt.k, tt.n, got, tt.want)
		}
	}
	for n := 1; n <= 40; n++ {
		for k := 1; k <= n; k++ {
			hits := hitsText(moves.Bjorklund(k, n))
			if len(hits) != n || strings.Count(hits, "x") != k || hits[0] != 'x' {
				t.Fatalf("%d in %d: got %s", k, n, hits)
			}
			if least, most := gaps(hits); most-least > 1 {
				t.Errorf("%d in %d: got gaps of %d and %d in %s, want none that differ by more than 1", k, n, least, most, hits)
			}
		}
	}
}

// gaps returns the least and the greatest distance from hit to hit, around the end.
func gaps(hits string) (least, most int) {
	least = len(hits)
	for i := range hits {
		if hits[i] == 'x' {
			d := 1
			for hits[(i+d)%len(hits)] != 'x' {
				d++
			}
			least, most = min(least, d), max(most, d)
		}
	}
	return least, most
}

func hitsText(hits []bool) string {
	out := make([]byte, len(hits))
	for i, hit := range hits {
		out[i] = '.'
		if hit {
			out[i] = 'x'
		}
	}
	return string(out)
}

func BenchmarkBjorklund(b *testing.B) {
	for b.Loop() {
		moves.Bjorklund(1, 1_000_000)
		moves.Bjorklund(381_966, 1_000_000)
	}
}
