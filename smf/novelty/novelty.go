// Package novelty compares the bars or beats of a piece of music, read from a file or heard from a recording. It
// finds the places where what follows differs from what came before, and cuts the piece into sections there. It
// reckons in whole numbers, so that it decides the same on every processor. Start with [Of] and [Cut].
package novelty

import "math"

// One is the greatest likeness and the greatest novelty: both are counted in ten-thousandths.
const One = 10000

// Of returns for each of n bars how new what follows its start is, 0 to [One], by Foote, Automatic audio
// segmentation using a measure of audio novelty, ICME 2000: a checkerboard slides along the diagonal of
// the matrix of how alike bars are, 0 to [One] each; the bars of one side count for, those across against. It has an
// even width, 2 half, so that a line is between bars, and a Gaussian taper (that of Muller,
// Fundamentals of Music Processing 4.4.1, with variance 0.5); One is full likeness on either side and none
// across. Near the ends it is cut to a square
// that fits, and counts for less. The first bar has none. It takes time linear in n.
func Of(n, half int, alike func(a, b int) int) []int {
	near := make([][]int, n) // to the bars from this one on
	for a := range near {
		near[a] = make([]int, min(2*half, n-a))
		for k := range near[a] {
			near[a][k] = alike(a, a+k)
		}
	}
	taper := taper(half)
	of := 0
	for _, x := range taper {
		of += 2 * x
	}
	out := make([]int, n)
	for at := 1; at < n; at++ {
		sum := checkerboard(near, at, taper[:min(half, at, n-at)])
		out[at] = max(0, (4*sum+of*of)/(2*of*of)) // twice the share, rounded
	}
	return out
}

// taper returns how much a bar counts by how far it is from the line, the greatest possible being 1000.
func taper(half int) []int {
	out := make([]int, half)
	for i := range out {
		x := (float64(i) + 0.5) / (0.5 * math.Sqrt2 * float64(half))
		out[i] = int(math.Round(1000 * math.Exp(-x*x)))
	}
	return out
}

func checkerboard(near [][]int, at int, taper []int) int {
	half := len(taper)
	sum := 0
	for i := -half; i < half; i++ {
		for j := -half; j < half; j++ {
			weight := taper[max(i, -1-i)] * taper[max(j, -1-j)]
			if (i < 0) != (j < 0) {
				weight = -weight
			}
			sum += weight * near[at+min(i, j)][max(i, j)-min(i, j)]
		}
	}
	return sum
}

// Alike returns how alike two lists of features of the same length are, 0 to [One]: the sum of the smaller of each two
// over the sum of the greater (Ruzicka, Biologia 13, 1958, from memory). Two that have nothing are alike.
func Alike(a, b []uint8) int {
	both, either := 0, 0
	for i, x := range a {
		both, either = both+int(min(x, b[i])), either+int(max(x, b[i]))
	}
	if either == 0 {
		return One
	}
	return One * both / either
}

// Step returns how far a value is, in the mean, on either side of each place of a row: at most width places are
// looked at, as many on one side as on the other; near the ends, where there are fewer, it counts for less. It
// takes time linear in the row.
func Step(values []int, width int) []int {
	sums := make([]int, len(values)+1)
	for i, v := range values {
		sums[i+1] = sums[i] + v
	}
	out := make([]int, len(values))
	for at := 1; at < len(values); at++ {
		k := min(width, at, len(values)-at)
		d := (sums[at+k] - sums[at]) - (sums[at] - sums[at-k])
		out[at] = max(d, -d) / width
	}
	return out
}
