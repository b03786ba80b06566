package form

import (
	"math"
	"math/bits"
	"sort"
)

// Power is a mean power, from 0 on, in units of which [Held] has 2^40. It is a whole number, so that sums and
// comparisons are the same on every processor and in every order.
type Power int64

// Held is the power of one held synth lead note with nothing turned down.
const Held Power = 1 << 40

const (
	mostPower = math.MaxInt64 / 4 // sums stop there
	audible   = Held / 1e10       // what has less, 100 dB under a held note, is silence
)

// SilenceLevel is the level of silence in tenths of a dB, the lowest there is.
const SilenceLevel = -1000

// Powers are the powers below 150 Hz, up to 2.5 kHz, and above: lines between low end, middle and brightness
// that are common practice, no source.
type Powers [3]Power

// Sum returns the whole power.
func (p Powers) Sum() Power { return min(p[0]+p[1]+p[2], mostPower) }

// Plus returns the powers of two sounds together.
func (p Powers) Plus(q Powers) Powers {
	for band := range p {
		p[band] = min(p[band]+q[band], mostPower)
	}
	return p
}

// add adds the powers of another sound.
func (p *Powers) add(q *Powers) {
	for band := range p {
		p[band] = min(p[band]+q[band], mostPower)
	}
}

// Mean returns the mean of powers, rounded down; nothing for none.
func Mean(of []Powers) Powers {
	var sum Powers
	for i := range of {
		sum.add(&of[i])
	}
	for band := range sum {
		sum[band] /= Power(max(len(of), 1))
	}
	return sum
}

// Silent tells whether a power is too small to be heard anywhere: 100 dB under [Held].
func (p Power) Silent() bool { return p <= audible }

// Level returns the level of a power in tenths of a dB against a full one, to the nearest; [SilenceLevel] for silence.
func (p Power) Level(full Power) int {
	if p.Silent() || full <= 0 {
		return SilenceLevel
	}
	a, b := uint64(p), uint64(full)
	if over := bits.Len64(a|b) - 58; over > 0 {
		a, b = a>>over, b>>over
	}
	level := 0
	for ; a < b && level > SilenceLevel; level -= 100 {
		a *= 10
	}
	for ; a/10 >= b; level += 100 {
		b *= 10
	}
	steps := sort.Search(len(halfTenths), func(i int) bool { return !atLeast(a, b, halfTenths[i]) }) - 1
	return max(SilenceLevel, level+(steps+1)/2)
}

// Apart tells whether two powers are so many tenths of a dB apart or more, 0 to 99.
func (p Power) Apart(q Power, tenths int) bool {
	return max(p, q) > 0 && atLeast(uint64(max(p, q)), uint64(max(min(p, q), 0)), halfTenths[2*tenths])
}

// Share returns how loud a power is in tenths of a percent of a full one, rounded down: 10 dB less is half as
// loud. It is 0 for silence. Steps over 150 % are two tenths, over 300 % four, and so on.
func (p Power) Share(full Power) int {
	if p.Silent() || full <= 0 {
		return 0
	}
	by := 1
	for p > full.At(len(shares)-1) {
		p, by = p/10, 2*by
	}
	// The least power of a share is greater than p where full * share is greater than p * one.
	hi, lo := bits.Mul64(uint64(p), one)
	return by * (sort.Search(len(shares), func(i int) bool {
		h, l := bits.Mul64(uint64(full), shares[i])
		return h > hi || h == hi && l > lo
	}) - 1)
}

// At returns the least power that is so many tenths of a percent as loud as a full one, 0 to 1500.
func (full Power) At(share int) Power {
	hi, lo := bits.Mul64(uint64(full), shares[share])
	lo, carry := bits.Add64(lo, one-1, 0) // the division below rounds down, and the result is to be rounded up
	q, _ := bits.Div64(hi+carry, lo, one)
	return Power(q)
}

// Times returns a power that is so many tenths of a dB stronger, or weaker where it is negative, rounded down.
func (p Power) Times(tenths int) Power {
	for ; tenths < 0; tenths += 100 {
		p /= 10
	}
	for ; tenths >= 100; tenths -= 100 {
		p = 10 * min(p, mostPower/10)
	}
	hi, lo := bits.Mul64(uint64(min(p, mostPower)), halfTenths[2*tenths])
	if hi >= one {
		return mostPower
	}
	q, _ := bits.Div64(hi, lo, one)
	return Power(min(q, mostPower))
}

// atLeast tells whether a is at least b times a ratio in units of one.
func atLeast(a, b, ratio uint64) bool {
	ahi, alo := bits.Mul64(a, one)
	bhi, blo := bits.Mul64(b, ratio)
	return ahi > bhi || ahi == bhi && alo >= blo
}

// half returns 2^-x for x from 0 on, from a table and a Taylor series, by additions and multiplications alone:
// these are the same on every processor as long as no two are done in one, which the conversions prevent.
func half(x float64) float64 {
	if x >= 1022 {
		return 0
	}
	steps := int(float64(x * 64))
	d := float64((x - float64(float64(steps)/64)) * ln2)
	series := 1 - float64(d*(1-float64(d*.5*(1-float64(d/3*(1-float64(d*.25*(1-float64(d/5)))))))))
	return float64(rootsOfHalf[steps%64]*series) * math.Float64frombits(uint64(1023-steps/64)<<52) // 2^-(steps/64), which is exact
}

const (
	ln2  = 0.693147180559945309417232121458
	ln10 = 2.30258509299404568401799145468
	lb10 = 3.32192809488736234787031942949 // log2(10)
)

// fromDB returns the power of a level in dB up to 100, 1 for 0 dB.
func fromDB(level float64) float64 {
	return float64(half(float64((100-level)*(lb10/10))) * 1e10)
}

// Loudness returns how loud a level is as a share of the loudest one, both in dB: 10 dB less is half
// as loud (Stevens' sone scale, from memory). It is 0 for silence, which is 100 dB under 0, and at most 1.
func Loudness(db, loudest float64) float64 {
	if db <= SilenceLevel/10 {
		return 0
	}
	return half(max(0, (loudest-db)/10))
}
