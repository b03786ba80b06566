package listen

import (
	"math"
	"testing"

	"loopdraft/smf/song"
)

// blocks makes bars alike that have the same letter.
func blocks(letters string) func(a, b int) float64 {
	return func(a, b int) float64 {
		if letters[a] == letters[b] {
			return 1
		}
		return 0
	}
}

// TestNoveltyOfBlocks: with the formulas of Muller, Fundamentals of Music Processing 4.4.1 (as in libfmp,
// c4s4_novelty_kernel.py), a kernel of even width peaks between the bars of two blocks, at half of the
// sum of its weights; here that counts as 1.
func TestNoveltyOfBlocks(t *testing.T) {
	for _, row := range []struct {
		rule, letters string
		peaks         []int
	}{
		{"two blocks", "aaaabbbb", []int{4}},
		{"there and back", "aaaabbbbaaaa", []int{4, 8}},
		{"one block", "aaaaaaaa", nil},
	} {
		got := novelty(len(row.letters), 2, blocks(row.letters))
		for at, v := range got {
			want := 0.0
			for _, p := range row.peaks {
				if at == p {
					want = 1
				}
			}
			if at == 0 && v != 0 || want == 1 && v != 1 || want == 0 && v > .6 {
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
	symmetric := func(a, b int) float64 { return alike(min(a, b), max(a, b)) }
	got := novelty(n, half, symmetric)
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
				sum += weight * symmetric(at+i, at+j)
			}
		}
		if want := max(0, 2*sum/of); math.Abs(got[at]-want) > .0001 {
			t.Errorf("before bar %d: got %.4f, want %.4f", at, got[at], want)
		}
	}
}

func TestSilentBarsAreAlike(t *testing.T) {
	f := features{{0, 0}, {0, 0}, {3, 4}, {6, 8}, {4, 0}}
	for _, row := range []struct {
		a, b int
		want float64
	}{{0, 1, 1}, {1, 2, 0}, {2, 3, 1}, {2, 4, .6}} {
		if got := f.alike(row.a, row.b); math.Abs(got-row.want) > 1e-12 {
			t.Errorf("bars %d and %d: got %v, want %v", row.a, row.b, got, row.want)
		}
	}
}

func TestFeatures(t *testing.T) {
	s, err := song.ParseGrid("kick x...x...x...x...|x...............\npad:60 x---------------|................\npad:67 x-------........|................\nsub:36 x---------------|----------------")
	if err != nil {
		t.Fatal(err)
	}
	st, err := StructureOf(s, 0)
	if err != nil {
		t.Fatal(err)
	}
	f := st.features(s)
	for _, row := range []struct {
		what         string
		bar, feature int
		least, most  uint8
	}{
		{"the loudest bar of the kick", 0, 0, 255, 255}, {"a softer one", 1, 0, 1, 254},
		{"the most onsets of the kick", 0, 1, 255, 255}, {"a quarter of them", 1, 1, 63, 63}, {"twice its key", 0, 2, 72, 72},
		{"a chord is one onset", 0, 4, 255, 255}, {"of its lowest key", 0, 5, 120, 120},
		{"a pad that only rings has no level", 1, 3, 0, 0}, {"what is held has one", 1, 6, 1, 254}, {"but no onset", 1, 7, 0, 0},
		{"the longest pitch class", 0, 9, 255, 255}, {"a quarter as long", 0, 16, 63, 63}, {"only where it starts", 1, 9, 0, 0},
	} {
		if got := f[row.bar][row.feature]; got < row.least || got > row.most {
			t.Errorf("%s: got %d, want %d to %d", row.what, got, row.least, row.most)
		}
	}
}
