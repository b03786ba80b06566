package sound

import (
	"strings"
	"testing"
)

// TestOctaveOfATempo strikes bars of sixteenths again and again: capital letters are twice as strong, Y four times, - half.
func TestOctaveOfATempo(t *testing.T) {
	const every = 0.0116
	for _, row := range []struct {
		rule string
		bpm  float64 // as it was heard: of the quarters of the bar
		bars string
		want float64
	}{
		{"the beat of a drum and bass track, hats between", 174, "X.x.X.x.x.x.X.x.", 1},
		{"a rock beat at half the tempo: kick, hat, snare, hat", 160, "X...x...Y...x...", 0.5},
		{"the broken beat of drum and bass, nothing between", 174, "X...x...Y...x...", 1},
		{"a kick alone", 165, "X...X...X...X...", 1},
		{"the same beat, slow enough to be meant", 140, "X...x...Y...x...", 1},
		{"every other beat empty", 128, "X.......x.......", 0.5},
		{"every other beat empty, strokes between those that are not", 128, "X.x.....X.x.....", 0.5},
		{"every other beat an eighth as strong", 128, "Y...-...Y...-...", 0.5},
		{"every other beat a quarter as strong", 128, "Y...x...Y...x...", 1},
		{"drum and bass, every other beat empty", 174, "X.......Y.......", 1},
		{"every other beat empty, too slow to be halved", 90, "X.......x.......", 1},
		{"even eighths alone, slowly", 76, "X.X.X.X.X.X.X.X.", 2},
		{"sixteenths, slowly", 76, "XxXxXxXxXxXxXxXx", 1},
		{"a beat with soft eighths, slowly", 90, "X.x.X.x.X.x.X.x.", 1},
	} {
		step := 60 / row.bpm / 4 / every
		grid := strings.Repeat(row.bars, 40)
		v := make([]float64, int(step*float64(len(grid)))+1)
		for i, c := range grid {
			strength := map[rune]float64{'-': .5, 'x': 1, 'X': 2, 'Y': 4}[c]
			for k := -1; k <= 1; k++ {
				if at := int(float64(i)*step+.5) + k; at >= 0 {
					v[at] += strength / float64(1+k*k)
				}
			}
		}
		if got := octave(autocorrelation(v), row.bpm/60, every, 4); got != row.want {
			t.Errorf("%s: got %v, want %v", row.rule, got, row.want)
		}
	}
}
