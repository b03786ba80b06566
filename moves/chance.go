package moves

import "math/bits"

// Rand is a stream of chance: splitmix64 (Steele, Lea, Flood, Fast Splittable Pseudorandom Number
// Generators, OOPSLA 2014; constants from memory, outputs checked in the tests). It is our own since
// the library's helpers promise no stable output across versions of Go.
type Rand struct{ state uint64 }

// NewRand returns a stream for a seed and the numbers that name a sub-stream, such as the index of a
// range and of a part.
func NewRand(seed uint64, sub ...uint64) *Rand {
	r := Rand{seed}
	for _, s := range sub {
		r.state = r.next() ^ mix(s+0x9E3779B97F4A7C15)
	}
	return &r
}

func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return z ^ z>>31
}

// next returns the next number of the stream.
func (r *Rand) next() uint64 {
	r.state += 0x9E3779B97F4A7C15
	return mix(r.state)
}

// Intn returns a number from 0 to n-1, each as likely as the others; n is at least 1. (Lemire, Fast
// Random Integer Generation in an Interval, ACM TOMACS 29(1), 2019; from memory.)
func (r *Rand) Intn(n int) int {
	bound := uint64(n)
	hi, lo := bits.Mul64(r.next(), bound)
	if lo < bound {
		for limit := -bound % bound; lo < limit; {
			hi, lo = bits.Mul64(r.next(), bound)
		}
	}
	return int(hi)
}

// StepSeed returns the seed of a step without one of its own: a hash (FNV-1a, 64 bit) of the recipe's
// seed, the step's canonical text and how many equal steps stand before it, so that adding or
// changing one step leaves the choices of the others alone.
func StepSeed(recipe uint64, text string, nth int) uint64 {
	h := uint64(0xCBF29CE484222325)
	add := func(b byte) { h = (h ^ uint64(b)) * 0x100000001B3 }
	for i := range 8 {
		add(byte(recipe >> (8 * i)))
	}
	for i := range len(text) {
		add(text[i])
	}
	for i := range 8 {
		add(byte(uint64(nth) >> (8 * i)))
	}
	return mix(h)
}

// shuffle brings words into an order by chance.
func shuffle[T any](chance *Rand, words []T) {
	for i := len(words) - 1; i > 0; i-- {
		k := chance.Intn(i + 1)
		words[i], words[k] = words[k], words[i]
	}
}

// chosen picks count of n by chance, each choice as likely as the others.
func chosen(count, n int, chance *Rand) []bool {
	kept := make([]bool, n)
	for i := range n {
		if chance.Intn(n-i) < count {
			kept[i] = true
			count--
		}
	}
	return kept
}
