package novelty

import (
	"math"
	"testing"
)

// blocks makes bars alike that have the same letter.
func blocks(letters string) func(a, b int) int {
	return func(a, b int) int {
		if letters[a] == letters[b] {
			return One
		}
		return 0
	}
}

// TestNoveltyOfBlocks: with the formulas of Muller, Fundamentals of Music Processing 4.4.1 (as in libfmp,
// c4s4_novelty_kernel.py), a kernel of even width peaks between the bars of two blocks, at half of the
// sum of its weights; here that counts as One.
func TestNoveltyOfBlocks(t *testing.T) {
	for _, row := range []struct {
		rule, letters string
		peaks         []int
	}{
		{"two blocks", "aaaabbbb", []int{4}},
		{"there and back", "aaaabbbbaaaa", []int{4, 8}},
		{"one block", "aaaaaaaa", nil},
	} {
		got := Of(len(row.letters), 2, blocks(row.letters))
		for at, v := range got {
			want := 0
			for _, p := range row.peaks {
				if at == p {
					want = One
				}
			}
			if at == 0 && v != 0 || want == One && v != One || want == 0 && v > .6*One {
				t.Errorf("%s: got %v", row.rule, got)
				break
			}
		}
	}
}

// TestNoveltyByItsDefinition compares a row of bars with the sum over the whole kernel, zeros around it.
func TestNoveltyByItsDefinition(t *testing.T) {
	const n, half = 12, 4
	alike := func(a, b int) float64 { return 1 / (1 + math.Abs(math.Sqrt(float64(a))-math.Sqrt(float64(b*b%7)))) }
	symmetric := func(a, b int) int { return int(One * alike(min(a, b), max(a, b))) }
	got := Of(n, half, symmetric)
	for at := half; at <= n-half; at++ {
		var sum, of float64
		for i := -half; i < half; i++ {
			for j := -half; j < half; j++ {
				x, y := float64(i)+.5, float64(j)+.5
				weight := math.Exp(-(x*x + y*y) / (2 * math.Pow(.5*half, 2)))
				of += weight
				if x*y < 0 {
					weight = -weight
				}
				sum += weight * float64(symmetric(at+i, at+j))
			}
		}
		if want := max(0, 2*sum/of); math.Abs(float64(got[at])-want) > 2 {
			t.Errorf("before bar %d: got %d, want %.1f", at, got[at], want)
		}
	}
}

// TestTaperIsTheSameEverywhere: no value is so near to a half that the last bits of an exponential, which differ
// between processors, decide how it is rounded.
func TestTaperIsTheSameEverywhere(t *testing.T) {
	for half := 1; half <= 64; half++ {
		for i, got := range taper(half) {
			x := (float64(i) + .5) / (.5 * math.Sqrt2 * float64(half))
			exact := 1000 * math.Exp(-x*x)
			if math.Abs(exact-float64(got)) > .5-1e-9 {
				t.Errorf("place %d of %d: %v is rounded to %d", i, half, exact, got)
			}
		}
	}
}
