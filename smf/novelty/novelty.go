// Package novelty finds where what follows differs from what was before, by how alike the bars, or whatever
// stands in a row, are. Start with [Of].
package novelty

import "math"

// Of returns for each of n bars how new what follows its start is, 0..1, by Foote, Automatic audio
// segmentation using a measure of audio novelty, ICME 2000: a checkerboard slides along the diagonal of
// the matrix of how alike bars are; the bars of one side count for, those across against. It has an
// even width, 2 half, so that a line is between bars, and a Gaussian taper (that of Muller,
// Fundamentals of Music Processing 4.4.1, with variance 0.5); 1 is full likeness on either side and none
// across. Near the ends it is cut to a square
// that fits, and counts for less. The first bar has none. It takes time linear in n.
func Of(n, half int, alike func(a, b int) float64) []float64 {
	near := make([][]float64, n) // to the bars from this one on
	for a := range near {
		near[a] = make([]float64, min(2*half, n-a))
		for k := range near[a] {
			near[a][k] = alike(a, a+k)
		}
	}
	taper := make([]float64, half) // by how far a bar is from the line
	of := 0.0
	for i := range taper {
		x := (float64(i) + 0.5) / (0.5 * math.Sqrt2 * float64(half))
		taper[i] = math.Exp(-x * x)
		of += 2 * taper[i]
	}
	out := make([]float64, n)
	for at := 1; at < n; at++ {
		sum := checkerboard(near, at, taper[:min(half, at, n-at)])
		out[at] = max(0, math.Round(2e4*sum/(of*of))/1e4)
	}
	return out
}

func checkerboard(near [][]float64, at int, taper []float64) float64 {
	half := len(taper)
	sum := 0.0
	for i := -half; i < half; i++ {
		for j := -half; j < half; j++ {
			weight := float64(taper[max(i, -1-i)] * taper[max(j, -1-j)])
			if (i < 0) != (j < 0) {
				weight = -weight
			}
			sum += float64(weight * near[at+min(i, j)][max(i, j)-min(i, j)])
		}
	}
	return sum
}
