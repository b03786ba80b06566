//go:build oracles

package oracle_test

import (
	"math"
	"testing"

	"loopdraft/smf/oracle"
)

// TestScoresOfPublishedBoundaries: the first rows are a fixture of mir_eval (tests/data/segment, ref00.lab,
// est00.lab, output00.json), where both begin at 0 and the estimate ends with the reference, then the same
// without first and last; the rows of bars were computed with mir_eval.
func TestScoresOfPublishedBoundaries(t *testing.T) {
	right := []float64{0, .383, 7.332, 27.109, 47.015, 67.123, 87.103, 107.649, 128.114, 142.763}
	heard := []float64{0, 6, 14.8, 26.4, 34.8, 46.6, 52.6, 58, 67.2, 85.8, 95, 107.2, 114, 119, 127.8, 133.8, 138.4, 142.763}
	bars, lines := []float64{0, 32, 48, 80, 112, 144, 192}, []float64{0, 32, 50, 80, 96, 112, 128, 192}
	inner := func(list []float64) []float64 { return list[1 : len(list)-1] }
	for _, row := range []struct {
		rule         string
		right, heard []float64
		window       float64
		want         oracle.Score
	}{
		{"within half a second", right, heard, .5, oracle.Score{P: .3333, R: .6, F: .42857}},
		{"within three seconds", right, heard, 3, oracle.Score{P: .5, R: .9, F: .642857}},
		{"without the ends", inner(right), inner(heard), .5, oracle.Score{P: .25, R: .5, F: .3333}},
		{"without the ends, within three seconds", inner(right), inner(heard), 3, oracle.Score{P: .4375, R: .875, F: .5833}},
		{"within a bar", bars, lines, 1, oracle.Score{P: .625, R: .714, F: .667}},
		{"within two bars", bars, lines, 2, oracle.Score{P: .75, R: .857, F: .8}},
		{"within a bar, without the ends", inner(bars), inner(lines), 1, oracle.Score{P: .5, R: .6, F: .545}},
		{"two near the same one are one hit", []float64{8}, []float64{7, 9}, 1, oracle.Score{P: .5, R: 1, F: .667}},
		{"a window away is near enough", []float64{8}, []float64{7}, 1, oracle.Score{P: 1, R: 1, F: 1}},
		{"nothing was heard", bars, nil, 1, oracle.Score{}},
	} {
		got := oracle.ScoreOf(row.right, row.heard, row.window)
		for _, pair := range [][2]float64{{got.P, row.want.P}, {got.R, row.want.R}, {got.F, row.want.F}} {
			if math.Abs(pair[0]-pair[1]) > .0005 {
				t.Errorf("%s: got %.4f, want %.4f", row.rule, got, row.want)
				break
			}
		}
	}
}
