package listen

import (
	"math"
	"slices"

	"loopdraft/smf/song"
)

// features are what each bar sounds like, in whole numbers 0..255, so that no last bit decides: three
// of each part, then the pitch classes.
type features [][]uint8

const fullFeature = 255

// features measures each bar. A part has three: where it sounds its level, as loud as it is against its own
// loudest bar; its onsets, against the most it has in a bar; and twice the mean of its keys, the lowest of
// each onset. A pitch class has how long it sounds, against the one that sounds longest in the bar.
func (out *Structure) features(s song.Song) features {
	parts := len(s.Parts)
	f := make(features, len(out.Bars))
	for b := range f {
		f[b] = make([]uint8, 3*parts+12)
	}
	loudest := make([]float64, parts)
	for i, p := range s.Parts {
		loudest[i] = slices.Max(out.Energy.Parts[i])
		bars, most := struckBars(s, p), 1
		for _, b := range bars {
			most = max(most, b.onsets)
		}
		for b, struck := range bars {
			f[b][3*i+1] = uint8(fullFeature * struck.onsets / most)
			f[b][3*i+2] = uint8(2 * struck.keys / max(struck.onsets, 1))
		}
	}
	for b := range f {
		for _, i := range out.Bars[b].Parts {
			f[b][3*i] = uint8(math.Round(fullFeature * Loudness(out.Energy.Parts[i][b], loudest[i])))
		}
	}
	for b, classes := range pitchClasses(s, len(f)) {
		most := int64(1)
		for _, d := range classes {
			most = max(most, d)
		}
		for c, d := range classes {
			f[b][3*parts+c] = uint8(fullFeature * d / most)
		}
	}
	return f
}

// struck is how many onsets a bar has, and the sum of their lowest keys.
type struck struct{ onsets, keys int }

func struckBars(s song.Song, p song.Part) []struck {
	out := make([]struck, s.Bars())
	tl := s.Time()
	last := song.Tick(-1)
	for _, n := range p.Notes {
		at := s.Counted(n.Start)
		if bar := tl.BarOf(at); bar <= len(out) && at != last {
			out[bar-1].onsets++
			out[bar-1].keys += int(n.Key)
			last = at
		}
	}
	return out
}

// pitchClasses returns for how many ticks each pitch class sounds in each bar of those a note starts in.
func pitchClasses(s song.Song, bars int) [][12]int64 {
	out := make([][12]int64, bars)
	tl := s.Time()
	for _, p := range s.Parts {
		if !p.Pitched() {
			continue
		}
		for _, n := range p.Notes {
			at := s.Counted(n.Start)
			if bar := tl.BarOf(at); bar <= bars {
				out[bar-1][n.Key%12] += int64(max(1, min(n.End, tl.BarStart(bar+1))-at))
			}
		}
	}
	return out
}

// alike returns the cosine of the features of two bars, 0..1. Two silent bars are alike.
func (f features) alike(a, b int) float64 {
	var ab, aa, bb int64
	for i, x := range f[a] {
		x, y := int64(x), int64(f[b][i])
		ab, aa, bb = ab+x*y, aa+x*x, bb+y*y
	}
	if aa == 0 || bb == 0 {
		if aa == bb {
			return 1
		}
		return 0
	}
	return float64(ab) / math.Sqrt(float64(aa)*float64(bb))
}

// novelty returns for each of n bars how new what follows its start is, 0..1, by Foote, Automatic audio
// segmentation using a measure of audio novelty, ICME 2000: a checkerboard slides along the diagonal of
// the matrix of how alike bars are; the bars of one side count for, those across against. It has an
// even width, 2 half, so that a line is between bars, and a Gaussian taper (that of Muller,
// Fundamentals of Music Processing 4.4.1, with variance 0.5); 1 is full likeness on either side and none
// across. Near the ends it is cut to a square
// that fits, and counts for less. The first bar has none. It takes time linear in n.
func novelty(n, half int, alike func(a, b int) float64) []float64 {
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
