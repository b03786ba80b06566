package sound

import (
	"io"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Band is a range of frequencies.
type Band int

// The bands, from the lowest. Where they part is common practice, no source.
const (
	Low    Band = iota // under 120 Hz: the bottom of kick and bass
	Body               // 120 to 250 Hz: the body of a kick, the next partials of a bass
	LowMid             // 250 to 1000 Hz
	Mid                // 1 to 4 kHz
	High               // over 4 kHz

	Bands = 5 // how many there are
)

// upper returns the frequency in Hz where a band ends; the last one has no end.
func (b Band) upper() float64 { return []float64{120, 250, 1000, 4000, math.Inf(1)}[b] }

// String returns the name of a band.
func (b Band) String() string { return []string{"low", "body", "low-mid", "mid", "high"}[b] }

// moment is what is kept of one short-time spectrum, both sides together.
type moment struct {
	power [Bands]float32 // mean square, full scale 1
	flux  [Bands]float32 // sum of the rises since the moment before, of the roots of magnitudes
	tilt  float32        // sum of power times frequency in Hz
}

// spectra are the moments of a recording.
type spectra struct {
	rate    int     // of its samples, a second
	every   float64 // seconds from one moment to the next; moment i is centred on i of them
	seconds float64
	moments []moment
	notes   []string // what was odd about the samples
}

// The window of a spectrum in seconds, about; how many moments there are in one; and the highest rate that
// is transformed: samples of a higher one are halved in number until they fit, which leaves the high
// band some 10 kHz.
const (
	windowSeconds = 0.0464
	hops          = 4
	fullRate      = 32000
)

// The longest recording that is heard, in seconds and in bytes of samples, so that a small file that says
// much takes neither time nor memory without end.
const (
	MaxSeconds = 10 * 3600
	MaxData    = 4 << 30
)

// tooLong refuses a recording of some frames, each of some bytes, that is too long; nil for one that is not.
func tooLong(frames int64, rate, frame int) error {
	switch {
	case frames > MaxSeconds*int64(rate):
		return refuse("more than %d hours of sound", "at most that", MaxSeconds/3600)
	case frames > MaxData/int64(frame):
		return refuse("more than %d GiB of samples", "at most that", MaxData>>30)
	}
	return nil
}

// spectraOf reads a source to its end.
func spectraOf(s source) (*spectra, error) {
	a := newAnalyser(s.rate())
	left, right, both := make([]float64, framesInOneRead), make([]float64, framesInOneRead), make([]complex128, framesInOneRead)
	frames := int64(0)
	for {
		n, err := s.read(left, right)
		if err == io.EOF {
			break
		}
		if frames += int64(n); err == nil {
			err = tooLong(frames, s.rate(), s.frame())
		}
		if err != nil {
			return nil, err
		}
		for i := range n {
			both[i] = complex(left[i], right[i])
		}
		a.add(both[:n])
	}
	sp := a.end()
	sp.rate, sp.seconds = s.rate(), float64(frames)/float64(s.rate())
	if short := s.end(); short != "" {
		sp.notes = append(sp.notes, short)
	}
	return sp, nil
}

// analyser turns samples into moments. The left side is the real part of a sample, the right one the
// imaginary part: one transform does for both.
type analyser struct {
	steady   steady
	halvings []halving
	fft      *fourier.CmplxFFT
	window   []float64
	scale    float64      // from squared magnitudes to mean squares
	held     []complex128 // samples that are still needed
	in, out  []complex128
	roots    []float64  // of the magnitudes of the moment before
	edges    [Bands]int // the first bin over each band
	hz       float64    // from one bin to the next
	sides    [2]float64 // power of each
	sp       spectra
}

func newAnalyser(rate int) *analyser {
	a := &analyser{}
	taken := float64(rate)
	for ; taken > fullRate; taken /= 2 {
		a.halvings = append(a.halvings, halving{past: make([]complex128, 3)})
	}
	n := 1 << int(math.Round(math.Log2(taken*windowSeconds)))
	a.fft = fourier.NewCmplxFFT(n)
	a.hz = taken / float64(n)
	a.sp.every = float64(n) / hops / taken
	a.window = make([]float64, n)
	sum := 0.0
	for i := range a.window { // Hann
		a.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
		sum += a.window[i] * a.window[i]
	}
	a.scale = 1 / (float64(n) * sum)
	a.held = make([]complex128, n/2, n+framesInOneRead)
	a.in, a.out, a.roots = make([]complex128, n), make([]complex128, n), make([]float64, n/2)
	for b := range a.edges {
		a.edges[b] = int(math.Ceil(min(float64(n/2), Band(b).upper()/a.hz)))
	}
	return a
}

// add takes samples, which it overwrites.
func (a *analyser) add(z []complex128) {
	a.steady.remove(z)
	for _, x := range z {
		a.sides[0] += real(x) * real(x)
		a.sides[1] += imag(x) * imag(x)
	}
	for i := range a.halvings {
		z = a.halvings[i].halve(z)
	}
	a.held = append(a.held, z...)
	n, at := len(a.window), 0
	for ; at+n <= len(a.held); at += n / hops {
		a.moment(a.held[at : at+n])
	}
	a.held = a.held[:copy(a.held, a.held[at:])]
}

// moment transforms one window of samples.
func (a *analyser) moment(z []complex128) {
	for i, w := range a.window {
		a.in[i] = complex(real(z[i])*w, imag(z[i])*w)
	}
	a.fft.Coefficients(a.out, a.in)
	var m moment
	var tilt float64
	n, k := len(a.out), 1 // bin 0 is what stands still
	for b, edge := range a.edges {
		var power, flux float64
		for ; k < edge; k++ {
			x, y := a.out[k], a.out[n-k]
			// The power of both sides: what is symmetrical is of the real part, the rest of the other.
			p := a.scale * (real(x)*real(x) + imag(x)*imag(x) + real(y)*real(y) + imag(y)*imag(y))
			root := math.Sqrt(math.Sqrt(p))
			flux += max(0, root-a.roots[k])
			a.roots[k] = root
			power += p
			tilt += p * float64(k)
		}
		m.power[b], m.flux[b] = float32(power), float32(flux)
	}
	m.tilt = float32(tilt * a.hz)
	a.sp.moments = append(a.sp.moments, m)
}

// end returns all moments, as loud as one side: a silent one does not count.
func (a *analyser) end() *spectra {
	a.held = append(a.held, make([]complex128, len(a.window)/2)...)
	for at := 0; at+len(a.window) <= len(a.held); at += len(a.window) / hops {
		a.moment(a.held[at : at+len(a.window)])
	}
	if quiet := 1e-6; min(a.sides[0], a.sides[1]) > quiet*max(a.sides[0], a.sides[1]) {
		for i := range a.sp.moments {
			m := &a.sp.moments[i]
			for b := range m.power {
				m.power[b] /= 2
			}
			m.tilt /= 2
		}
	}
	return &a.sp
}

// steady removes what stands still from samples: a high-pass of the first order. It starts at rest on the
// first sample.
type steady struct {
	begun    bool
	in, rest complex128
}

func (s *steady) remove(z []complex128) {
	const keep = 0.998 // 3 dB down at 14 Hz of 44.1 kHz
	if !s.begun && len(z) > 0 {
		s.begun, s.in = true, z[0]
	}
	for i, x := range z {
		d := x - s.in
		s.rest = complex(real(d)+keep*real(s.rest), imag(d)+keep*imag(s.rest))
		s.in, z[i] = x, s.rest
	}
}

// halving leaves every other sample of a half-band low-pass, -1 0 9 16 9 0 -1 over 32 (maximally flat: two
// zeros at 0, four at half the rate).
type halving struct{ past []complex128 }

func (h *halving) halve(z []complex128) []complex128 {
	h.past = append(h.past, z...)
	out, at := z[:0], 0
	for ; at+7 <= len(h.past); at += 2 {
		x := h.past[at : at+7]
		out = append(out, x[3]*0.5+(x[2]+x[4])*(9./32)-(x[0]+x[6])*(1./32))
	}
	h.past = h.past[:copy(h.past, h.past[at:])]
	return out
}
