package form

import (
	"math"

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
	loudest := make([]Power, parts)
	for i, p := range s.Parts {
		for _, bar := range out.Energy.Parts[i] {
			loudest[i] = max(loudest[i], bar.Sum())
		}
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
			f[b][3*i] = uint8((fullFeature*out.Energy.Parts[i][b].Sum().Share(loudest[i]) + 500) / 1000)
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
