package sound

import (
	"math"
	"slices"

	"loopdraft/smf/novelty"
)

// grid is where beats are: of one length, from the second of the first one on.
type grid struct {
	first, beat float64
	perBar      int
}

// bar returns the seconds a bar takes.
func (g grid) bar() float64 { return g.beat * float64(g.perBar) }

// stretch is what sounds between two times.
type stretch struct {
	power [Bands]float64 // mean of each moment
	flux  [Bands]float64 // sum
	tilt  float64        // mean
}

// between returns the moments from one time up to another, both in seconds.
func (sp *spectra) between(from, to float64) []moment {
	n := len(sp.moments)
	a := min(max(0, int(math.Round(from/sp.every))), n)
	b := min(max(a, int(math.Round(to/sp.every))), n)
	return sp.moments[a:b]
}

func over(moments []moment) stretch {
	var s stretch
	for _, m := range moments {
		for b := range m.power {
			s.power[b] += float64(m.power[b]) / float64(len(moments))
			s.flux[b] += float64(m.flux[b])
		}
		s.tilt += float64(m.tilt) / float64(len(moments))
	}
	return s
}

// all returns the power of all bands.
func (m moment) all() float64 {
	sum := 0.0
	for _, p := range m.power {
		sum += float64(p)
	}
	return sum
}

// decibels returns a mean square in dB of full scale, at least quietest.
func decibels(power float64) float64 { return max(quietest, 10*math.Log10(power)) }

// quietest is the level of silence in dB of full scale, a little under what 16 bits can hold.
const quietest = -100.0

// full is the greatest feature.
const full = 255

// features measures stretches for how alike they are, each in whole numbers 0..255, so that no last bit
// decides: the level of each band, of the 48 dB under its loudest, and its flux, against its greatest.
func features(stretches []stretch) [][]uint8 {
	var power, flux [Bands]float64
	for _, s := range stretches {
		for b := range Bands {
			power[b], flux[b] = max(power[b], s.power[b]), max(flux[b], s.flux[b])
		}
	}
	loudest := decibels(slices.Max(power[:]))
	out := make([][]uint8, len(stretches))
	for i, s := range stretches {
		for b := range Bands {
			under := max(decibels(power[b]), loudest-30) - decibels(s.power[b])
			level, struck := max(0, 1-under/48), 0.0
			if flux[b] > 0 {
				struck = s.flux[b] / flux[b]
			}
			out[i] = append(out[i], uint8(math.Round(full*level)), uint8(math.Round(full*struck)))
		}
	}
	return out
}

// downbeat returns which of the first beats is the first of a bar. Beats at which what follows is newest
// vote, each for that of its neighbours and itself at which most is struck, being about as new; so does,
// for four tenths of all of them, the beat with which the sound begins; and, in a bar of four, the snare,
// which is on the second and fourth. The figures were tried on drafts, of which all but one are right
// without a vote for the beginning.
func (sp *spectra) downbeat(g grid, begin float64) int {
	var beats []stretch
	var strokes []float64 // of each beat, in all bands
	var snare [2]float64  // what is struck in the middle on even and odd beats
	for at := g.first; at < sp.seconds; at += g.beat {
		stroke := over(sp.between(at-0.03, at+0.06)).flux
		snare[len(beats)%2] += stroke[LowMid] + stroke[Mid]
		beats = append(beats, over(sp.between(at-early, at+g.beat-early)))
		strokes = append(strokes, stroke[Low]+stroke[Body]+stroke[LowMid]+stroke[Mid]+stroke[High])
	}
	f := features(beats)
	votes, all := make([]float64, g.perBar), 0.0
	news := make([]float64, len(beats))
	for i, x := range novelty.Of(len(beats), 4*g.perBar, func(a, b int) int { return novelty.Alike(f[a], f[b]) }) {
		news[i] = float64(x) / novelty.One
	}
	for i, x := range news {
		if x == 0 || x < slices.Max(news[max(0, i-g.perBar):min(len(news), i+g.perBar+1)]) {
			continue
		}
		at := i
		for _, k := range []int{i - 1, i + 1} {
			if k >= 0 && k < len(news) && news[k]*news[k]*strokes[k] > news[at]*news[at]*strokes[at] {
				at = k
			}
		}
		votes[at%g.perBar] += x
		all += x
	}
	all = max(all, 1e-9)
	first := int(math.Round((begin - g.first) / g.beat))
	votes[(first%g.perBar+g.perBar)%g.perBar] += 0.4 * all
	if both := snare[0] + snare[1]; g.perBar == 4 && both > 0 {
		votes[0] += (snare[1] - snare[0]) / both * all
		votes[2] += (snare[1] - snare[0]) / both * all
	}
	best := 0
	for i, v := range votes {
		if v > votes[best] {
			best = i
		}
	}
	return best
}

// bars measures the bars of a recording.
func (sp *spectra) bars(g grid) []Bar {
	struck, kick := sp.strengths(everyBand()), sp.kicks()
	var bars []Bar
	var stretches []stretch
	var kicks, lows []float64
	for i := 0; ; i++ {
		at := g.first + float64(i)*g.bar()
		moments := sp.between(at, at+g.bar())
		if len(moments) == 0 || i > 0 && at > sp.seconds-g.beat/4 {
			break
		}
		s := over(moments)
		bar := Bar{Start: at, Onsets: sp.onsets(struck, at-early, at+g.bar()-early)}
		total := 0.0
		for b, p := range s.power {
			bar.Bands[b] = decibels(p)
			total += p
		}
		if bar.Level = decibels(total); bar.Level > quietest {
			bar.Brightness = s.tilt / total
		}
		bars, stretches = append(bars, bar), append(stretches, s)
		kicks = append(kicks, decibels(math.Pow(sp.onBeats(kick, g, at), 2)))
		lows = append(lows, decibels(share(moments, 0.7)))
	}
	if len(bars) == 0 {
		return nil
	}
	loudest := quietest
	for _, bar := range bars {
		loudest = max(loudest, bar.Level)
	}
	leastKick, leastLow := max(divide(kicks, 15), quietest+1), max(divide(lows, 8), loudest-30)
	for i, f := range features(stretches) {
		bars[i].Kick, bars[i].Low, bars[i].features = kicks[i] >= leastKick, lows[i] >= leastLow, f
	}
	for n := len(bars); n > 1 && (bars[n-1].Level < loudest-40 || bars[n-1].Onsets <= 1 && bars[n-1].Level < loudest-20); n-- {
		bars = bars[:n-1] // what rings on after the end
	}
	return bars
}

// kicks returns how strongly a kick may be struck at each moment: how far the low band rises, against the
// loudest of all bands, and how much flux it has, both alike. Less than a hundredth is no stroke.
func (sp *spectra) kicks() []float64 {
	out, loudest := sp.strengths([Bands]float64{Low: 1}), 0.0
	amplitudes := make([]float64, len(out))
	for i, m := range sp.moments {
		amplitudes[i] = math.Sqrt(float64(m.power[Low]))
		loudest = max(loudest, math.Sqrt(m.all()))
	}
	for i := range out {
		rise := (slices.Max(amplitudes[i:min(i+4, len(out))]) - amplitudes[max(0, i-1)]) / loudest
		if rise < 0.01 {
			rise = 0
		}
		out[i] = math.Sqrt(rise * out[i])
	}
	return out
}

// onBeats returns the mean of what is strongest near each of the three strongest beats of a bar.
func (sp *spectra) onBeats(v []float64, g grid, at float64) float64 {
	strongest := make([]float64, g.perBar, g.perBar+3)
	for beat := range strongest {
		i := int(math.Round((at + float64(beat)*g.beat) / sp.every))
		strongest[beat] = slices.Max(append([]float64{0}, v[min(max(0, i-3), len(v)):min(max(0, i+4), len(v))]...))
	}
	slices.Sort(strongest)
	top := strongest[max(0, g.perBar-3):]
	sum := 0.0
	for _, x := range top {
		sum += x
	}
	return sum / float64(len(top))
}

// share returns the power in the low band that a share of some moments stays under.
func share(moments []moment, of float64) float64 {
	v := make([]float64, len(moments))
	for i, m := range moments {
		v[i] = float64(m.power[Low])
	}
	slices.Sort(v)
	return v[min(len(v)-1, int(of*float64(len(v))))]
}

// early is by how many seconds a stroke may be seen before its beat.
const early = 0.02

// divide returns the level, in dB, that best divides bars with something from bars without: the middle of
// the widest gap between two of them, from some dB under to 1 dB under what a fifth of the bars exceeds.
func divide(v []float64, under float64) float64 {
	sorted := slices.Sorted(slices.Values(v))
	top := sorted[len(sorted)*4/5] - 1
	last, widest, middle := top+1-under, -1.0, 0.0
	for _, x := range append(sorted, top) {
		if x = min(x, top); x-last > widest && x > last {
			widest, middle = x-last, (x+last)/2
		}
		last = max(last, x)
	}
	return middle
}

// onsets counts the strokes between two seconds: moments that are stronger than those beside them, and
// by half the mean over what is around.
func (sp *spectra) onsets(struck []float64, from, to float64) int {
	n := 0
	for i := max(2, int(math.Round(from/sp.every))); i < min(len(struck)-2, int(math.Round(to/sp.every))); i++ {
		x := struck[i]
		if x > 2.75 && x > struck[i-1] && x > struck[i-2] && x >= struck[i+1] && x >= struck[i+2] {
			n++
		}
	}
	return n
}

// Alike returns how alike two bars sound, from 0, by the levels of their bands and by what is struck in each: 0 to
// [novelty.One].
func (h *Heard) Alike(a, b int) int { return novelty.Alike(h.Bars[a].features, h.Bars[b].features) }
