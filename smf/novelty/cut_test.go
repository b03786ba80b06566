package novelty

import (
	"math/rand"
	"slices"
	"testing"
)

// TestCut holds rows whose sections are plain; the phrase is 8 bars.
func TestCut(t *testing.T) {
	for _, row := range []struct {
		rule    string
		bars    int
		weights map[int]int
		want    []int
	}{
		{"whole phrases", 32, map[int]int{8: 90, 16: 80, 24: 100}, []int{8, 16, 24}},
		{"the count begins anew behind an odd length", 45, map[int]int{8: 90, 21: 100, 29: 60, 37: 60}, []int{8, 21, 29, 37}},
		{"a little off the count something light is left", 32, map[int]int{8: 100, 19: 60, 16: 55}, []int{8, 16}},
		{"something heavy is not", 32, map[int]int{8: 90, 19: 100}, []int{8, 19}},
		{"less than the least of the heaviest is no cut", 32, map[int]int{8: 100, 16: 29}, []int{8}},
		{"no section is shorter than half a phrase", 32, map[int]int{8: 100, 11: 90}, []int{8}},
		{"nor is what is left at the end", 32, map[int]int{8: 100, 29: 100}, []int{8}},
		{"half a phrase at the end has to be worth it", 32, map[int]int{8: 100, 28: 70}, []int{8}},
		{"what is heavy near the end hides nothing", 32, map[int]int{8: 40, 31: 1000}, []int{8}},
		{"less than the floor's share is no cut", 32, map[int]int{8: 5}, nil},
		{"nothing weighs anything", 32, nil, nil},
		{"one phrase is one section", 8, map[int]int{4: 100}, nil},
		{"no row", 0, nil, nil},
		{"one bar", 1, nil, nil},
	} {
		weights := make([]int, row.bars)
		for at, w := range row.weights {
			weights[at] = w
		}
		if got := (Choice{Phrase: 8, Least: 30, Floor: 20}).Cut(weights); !slices.Equal(got, row.want) {
			t.Errorf("%s: got %v, want %v", row.rule, got, row.want)
		}
	}
}

// TestCutIsTheBestChoice compares cuts with the best of all choices there are, which are tried one by one.
func TestCutIsTheBestChoice(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 300 {
		c := Choice{Phrase: 1 + r.Intn(9), Least: 10 + r.Intn(30), Floor: 20}
		weights := make([]int, 1+r.Intn(14))
		heaviest, half := c.Floor, max(c.Phrase/2, 1)
		for i := range weights {
			weights[i] = r.Intn(100)
			if i > 0 && i+half <= len(weights) {
				heaviest = max(heaviest, weights[i])
			}
		}
		worth := func(cuts []int) (sum int, fits bool) {
			last := 0
			for _, at := range cuts {
				if at-last < half || at+half > len(weights) || 100*weights[at] <= c.Least*heaviest {
					return 0, false
				}
				sum += 100*weights[at] - c.Least*heaviest - cost(at-last, c.Phrase)*heaviest
				last = at
			}
			if len(cuts) > 0 && len(weights)-last < c.Phrase {
				sum -= offPhrase * heaviest
			}
			return sum, true
		}
		best := 0
		for set := range 1 << (len(weights) - 1) {
			var cuts []int
			for at := 1; at < len(weights); at++ {
				if set>>(at-1)&1 > 0 {
					cuts = append(cuts, at)
				}
			}
			if sum, fits := worth(cuts); fits && len(weights) > c.Phrase {
				best = max(best, sum)
			}
		}
		cuts := c.Cut(weights)
		if got, fits := worth(cuts); !fits || got != best {
			t.Fatalf("%+v of %v: got %v, worth %d, the best is worth %d", c, weights, cuts, got, best)
		}
	}
}

func TestStep(t *testing.T) {
	for _, row := range []struct {
		values, want []int
		width        int
	}{
		{[]int{0, 0, 0, 8, 8, 8}, []int{0, 0, 4, 8, 4, 0}, 2},
		{[]int{8, 0, 8, 0, 8}, []int{0, 4, 0, 0, 4}, 2}, // one bar at the ends counts half
		{[]int{5}, []int{0}, 4},
		{nil, []int{}, 4},
	} {
		if got := Step(row.values, row.width); !slices.Equal(got, row.want) {
			t.Errorf("steps of %v over %d: got %v, want %v", row.values, row.width, got, row.want)
		}
	}
}

func TestAlike(t *testing.T) {
	for _, row := range []struct {
		a, b []uint8
		want int
	}{
		{[]uint8{0, 0}, []uint8{0, 0}, One}, {[]uint8{0, 0}, []uint8{3, 4}, 0}, {[]uint8{255, 4}, []uint8{255, 4}, One}, {[]uint8{2, 4}, []uint8{4, 2}, One / 2},
	} {
		if got := Alike(row.a, row.b); got != row.want {
			t.Errorf("%v and %v: got %d, want %d", row.a, row.b, got, row.want)
		}
	}
}
