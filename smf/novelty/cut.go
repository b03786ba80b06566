package novelty

import "slices"

// What is odd about the length of a section, in hundredths of the heaviest weight of the row.
const (
	offTwo      = 5  // it is no multiple of two phrases
	offPhrase   = 20 // of a phrase
	offQuarter  = 10 // of a quarter of one
	longestGrid = 64 // bars: a phrase that is longer counts as one of so many
)

// Choice says what is cut out of a row. Phrase is the usual length of a section, from 1, which is counted anew from
// each cut. A cut has to weigh more than Least hundredths of the heaviest weight that may be cut at, or of Floor, whichever
// is more.
type Choice struct{ Phrase, Least, Floor int }

// Cut returns the places, rising, at which a row is best cut into sections, by the weight of each place; 0 for one
// that is no choice. Of all choices it
// returns the one whose cuts are worth most together: a cut is worth what it weighs over the least, less
// what is odd about the length of the section it ends. So where a section has an odd length the
// phrases are counted anew behind it, and a place a little off the count is not cut for its weight alone. A row of
// one phrase is one section. No section
// is shorter than half a phrase; what is behind the last cut costs only where it is shorter than a phrase.
//
// Odd lengths that cost something are those of Sargent, Bimbot, Vincent, Estimating the structural
// segmentation of popular music pieces under regularity constraints, IEEE/ACM TASLP 25(2), 2017, from memory; the numbers are
// ours, tried on songs, drafts and tunes. It takes time linear in the row.
func (c Choice) Cut(weights []int) []int {
	phrase := max(1, min(c.Phrase, longestGrid))
	half, n := max(phrase/2, 1), len(weights)
	if n <= phrase {
		return nil
	}
	heaviest := c.Floor
	for at := 1; at+half <= n; at++ {
		heaviest = max(heaviest, weights[at])
	}
	worth, before := make([]int, n), make([]int, n) // of the best choice whose last cut is here; the cut before
	chosen := make([]bool, n)
	chosen[0] = true
	best := make([]int, 2*phrase) // by what is left of its place, the best cut at least half a phrase back; -1 none
	for i := range best {
		best[i] = -1
	}
	end, all := 0, 0 // the last cut of the best choice for the whole row, and what that is worth
	for at := 1; at+half <= n; at++ {
		if p := at - half; p >= 0 && chosen[p] {
			if i := p % len(best); best[i] < 0 || worth[p] > worth[best[i]] {
				best[i] = p
			}
		}
		gain := 100*weights[at] - c.Least*heaviest
		if gain <= 0 {
			continue
		}
		from, most := -1, 0
		for _, p := range best {
			if p < 0 {
				continue
			}
			if v := worth[p] - cost(at-p, phrase)*heaviest; from < 0 || v > most {
				from, most = p, v
			}
		}
		if from < 0 {
			continue
		}
		chosen[at], worth[at], before[at] = true, most+gain, from
		whole := worth[at]
		if n-at < phrase {
			whole -= offPhrase * heaviest
		}
		if whole > all {
			end, all = at, whole
		}
	}
	var out []int
	for ; end > 0; end = before[end] {
		out = append(out, end)
	}
	slices.Reverse(out)
	return out
}

// cost returns what is taken off for the length of a section.
func cost(length, phrase int) int {
	sum := 0
	for _, c := range []struct{ of, cost int }{{2 * phrase, offTwo}, {phrase, offPhrase}, {phrase / 4, offQuarter}} {
		if c.of > 0 && length%c.of != 0 {
			sum += c.cost
		}
	}
	return sum
}
