package sound

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// everyBand weighs the bands as for a tempo.
func everyBand() [Bands]float64 { return [Bands]float64{1.5, 1, 1, 1, 1} }

// strengths returns how much is struck at each moment: the flux of all bands, each against its own mean,
// with weights, less the mean of what is around.
func (sp *spectra) strengths(weights [Bands]float64) []float64 {
	var mean [Bands]float64
	for _, m := range sp.moments {
		for b, f := range m.flux {
			mean[b] += float64(f)
		}
	}
	most := 0.0
	for b := range mean {
		mean[b] /= float64(len(sp.moments))
		most = max(most, mean[b])
	}
	out := make([]float64, len(sp.moments))
	if most == 0 {
		return out
	}
	for i, m := range sp.moments {
		for b, f := range m.flux {
			out[i] += weights[b] * float64(f) / max(mean[b], most/50)
		}
	}
	return overMean(out, int(math.Ceil(0.4/sp.every)))
}

// overMean returns by how much each value is over the mean of those at most some places away.
func overMean(v []float64, around int) []float64 {
	sums := make([]float64, len(v)+1)
	for i, x := range v {
		sums[i+1] = sums[i] + x
	}
	out := make([]float64, len(v))
	for i, x := range v {
		from, to := max(0, i-around), min(len(v), i+around+1)
		out[i] = max(0, x-(sums[to]-sums[from])/float64(to-from))
	}
	return out
}

// spectrum is the transform of a series of strengths.
type spectrum struct {
	bins []complex128
	per  float64 // bins for 1 Hz
}

// spectrumOf transforms strengths, their mean removed, with zeros behind them.
func spectrumOf(v []float64, every float64, times int) spectrum {
	n := 1
	for n < times*len(v) {
		n *= 2
	}
	padded := make([]float64, n)
	mean := 0.0
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for i, x := range v {
		padded[i] = x - mean
	}
	return spectrum{fourier.NewFFT(n).Coefficients(nil, padded), float64(n) * every}
}

// at returns the magnitude at a frequency in Hz.
func (s spectrum) at(hz float64) float64 {
	x := hz * s.per
	k := int(x)
	if k+1 >= len(s.bins) {
		return 0
	}
	abs := func(c complex128) float64 { return math.Hypot(real(c), imag(c)) }
	return abs(s.bins[k])*(float64(k+1)-x) + abs(s.bins[k+1])*(x-float64(k))
}

// The tempi that are looked for and how they are preferred, in beats a minute of a bar of four, so that it
// is bars of other metres that are as long: a Gaussian over octaves (as in Ellis, Beat Tracking by Dynamic
// Programming, Journal of New Music Research 36(1), 2007, from memory), here around the median of 129
// dance tracks (Nieto et al., The Harmonix Set, ISMIR 2019) and half an octave wide, so that 174 is
// preferred to 87.
const (
	slowest     = 48.0
	fastest     = 225.0
	preferred   = 128.0
	octavesWide = 0.5
)

// tempo returns the beats a second of strengths, some seconds apart; 0 where nothing comes again.
func tempo(v []float64, every float64, perBar int) (hz float64) {
	again := autocorrelation(v)
	if again[0] <= 0 {
		return 0
	}
	whole, bar, best := spectrumOf(v, every, 4), float64(perBar), 0.0
	score := func(beat float64) float64 { return comb(again, 1/beat/every, bar) * prior(beat*60*4/bar) }
	const step = 1.003
	for bpm := slowest; bpm <= fastest; bpm *= step {
		beat := bpm / 60 * bar / 4
		if here := score(beat); here < score(beat/step) || here < score(beat*step) {
			continue // no peak
		}
		beat = refine(whole, beat)
		if s := score(beat) * (0.1 + steadiness(again, 1/beat/every, bar)); s > best {
			best, hz = s, beat
		}
	}
	return hz * octave(again, hz, every, bar)
}

// A tempo over doubtfulFast, of a bar of four, is half where half a beat later strengths are less like themselves than a
// share of what they are after two beats. A tempo of which half is looked for too is half where they are less like
// themselves after one beat than emptyShare of what they are after two: every other beat is as good as empty. Neither
// is asked of the tempi of drum and bass, median 173, quartiles 170 and 174 (tempi of the GiantSteps tempo data set by
// genre), whose broken beats are sparse too. Under doubtfulSlow a tempo may be double.
const (
	doubtfulFast = 150
	doubtfulSlow = 105
	fastShare    = 0.7
	emptyShare   = 1. / 3
	brokenFrom   = 169
	brokenTo     = 178
)

// octave returns by what the beats a second of strengths, some seconds apart, are to be multiplied: tempi are
// mostly mistaken by two (Gouyon and others, An experimental comparison of audio tempo induction algorithms, IEEE
// Transactions on Audio, Speech and Language Processing 14(5), 2006, from memory). It goes by what is struck between the
// beats. Fast beats of an even bar that have few strokes between them are the eighths of a slower beat,
// 0.5, and so are those of which every other one is empty; beats that come alone at equal distance are left as they
// are. Slow beats with strokes halfway that are as regular as their own, and none at the quarters, are twice as fast, 2.
// fastShare was tried on songs of freedoom, from .65 to .75; emptyShare is what beats have of which every other one is a
// sixth as strong, 2r/(1+r²).
func octave(again []float64, hz, every, bar float64) float64 {
	after := func(n float64) float64 { return between(again, n/hz/every) }
	quarter, half, one, two := after(.25), after(.5), after(1), after(2)
	switch four := hz * 60 * 4 / bar; {
	case hz == 0 || four > brokenFrom && four < brokenTo:
		return 1
	case four > doubtfulFast && math.Mod(bar, 2) == 0 && half < fastShare*two && (half > 0 || one < .9*two):
		return 0.5
	case math.Mod(bar, 2) == 0 && four >= 2*slowest && one < emptyShare*two:
		return 0.5
	case four < doubtfulSlow && quarter < 0 && half >= max(0, one):
		return 2
	}
	return 1
}

func prior(bpm float64) float64 {
	x := math.Log2(bpm/preferred) / octavesWide
	return math.Exp(-x * x / 2)
}

// comb returns how much strengths are like themselves after one and two beats, one bar and two.
func comb(again []float64, beat, bar float64) float64 {
	return between(again, beat) + between(again, 2*beat)/2 + between(again, bar*beat)/2 + between(again, 2*bar*beat)/4
}

// steadiness returns how much strengths are like themselves after a beat and after up to 16 bars, 0..1.
func steadiness(again []float64, beat, bar float64) float64 {
	sum := max(0, between(again, beat))
	for bars := 1.0; bars <= 16; bars *= 2 {
		sum += max(0, between(again, bars*bar*beat))
	}
	return min(1, sum/6/again[0])
}

// between returns a value between two places of a list, 0 outside.
func between(v []float64, at float64) float64 {
	k := int(at)
	if at < 0 || k+1 >= len(v) {
		return 0
	}
	return v[k]*(float64(k+1)-at) + v[k+1]*(at-float64(k))
}

// autocorrelation returns how like a series is to itself some places later, for each place.
func autocorrelation(v []float64) []float64 {
	s := spectrumOf(v, 1, 2)
	n := 2 * (len(s.bins) - 1)
	for i, x := range s.bins {
		s.bins[i] = complex(real(x)*real(x)+imag(x)*imag(x), 0)
	}
	return fourier.NewFFT(n).Sequence(nil, s.bins)[:len(v)]
}

// refine returns the frequency near one whose beats, eighths and sixteenths are strongest over the whole
// recording.
func refine(s spectrum, near float64) float64 {
	strength := func(hz float64) float64 { return s.at(hz) + s.at(2*hz) + s.at(4*hz) }
	best, most := near, 0.0
	step := 0.05 / s.per
	for hz := near * 0.98; hz < near*1.02; hz += step {
		if x := strength(hz); x > most {
			best, most = hz, x
		}
	}
	return best
}

// fine is in how many parts of a beat the first one is looked for.
const fine = 64

// phase returns the second of a beat: where what is struck in low bands and higher ones together is strongest
// on average, with a third more for where the sound begins (tried on drafts and on real songs: with half or
// a quarter more some are wrong).
func (sp *spectra) phase(beat, begin float64) float64 {
	v := sp.strengths([Bands]float64{Low: 1, Body: .5})
	for i, x := range sp.strengths([Bands]float64{LowMid: .5, Mid: .5, High: .5}) {
		v[i] = math.Sqrt(v[i]*x) + .2*(v[i]+x)
	}
	var fold [fine]float64
	best := 0
	for i := range fold {
		at := float64(i) / fine * beat
		for t := at; t < float64(len(v))*sp.every; t += beat {
			fold[i] += between(v, t/sp.every)
		}
		away := math.Remainder(begin-at, beat) / 0.03
		fold[i] *= 1 + 0.35*math.Exp(-away*away)
		if fold[i] > fold[best] {
			best = i
		}
	}
	peak := float64(best)
	a, b, c := fold[(best+fine-1)%fine], fold[best], fold[(best+1)%fine]
	if bend := a - 2*b + c; bend < 0 { // the top of a parabola through the three
		peak += (a - c) / (2 * bend)
	}
	return peak / fine * beat
}
