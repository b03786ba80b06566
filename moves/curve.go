package moves

import (
	"math/bits"

	"loopdraft/smf/song"
)

// The curves of a ride.
const (
	Linear = "linear" // even steps
	Exp    = "exp"    // even ratios; from or to 0 it starts or ends at 1
	SCurve = "s"      // slow, fast, slow: 3t^2 - 2t^3
)

// curveAt returns the value of a curve from a to b, both at least 0, after i of n steps, rounded half
// up: a at 0, b at n, monotone between.
func curveAt(curve string, a, b int, i, n song.Tick) int { return newCourse(curve, a, b).at(i, n) }

// course is a curve from a to b.
type course struct {
	curve    string
	a, b     int
	from, to int64 // binary logarithms of a and b, where they are asked for
}

func newCourse(curve string, a, b int) course {
	c := course{curve: curve, a: a, b: b}
	if curve == Exp && a != b {
		c.from, c.to = log2(uint64(max(a, 1))), log2(uint64(max(b, 1)))
	}
	return c
}

// at returns the value after i of n steps.
func (c course) at(i, n song.Tick) int {
	a, b := c.a, c.b
	switch {
	case i <= 0 || a == b:
		return a
	case i >= n:
		return b
	case c.curve == Exp:
		return int(exp2(c.from + mulDiv(c.to-c.from, int64(i), int64(n))))
	case c.curve == SCurve:
		const one = 1 << 20
		t := int64(i) * one / int64(n)
		s := t * t * (3*one - 2*t) >> 30 // exact until the shift, so that it never falls
		return a + int(song.HalfUp(int64(b-a)*s, 1<<30))
	}
	return a + int(song.HalfUp(int64(b-a)*int64(i), int64(n)))
}

// geometric returns a * (b/a)^(i/n) * 2^(more/2^32), rounded half up: even steps in dB. a and b are
// 1 to 2^24, 0 <= i <= n.
func geometric(a, b uint64, i, n, more int64) uint64 {
	from, to := log2(a), log2(b)
	return exp2(from + mulDiv(to-from, i, n) + more)
}

// mulDiv returns x*i/n, rounded towards 0; 0 <= i <= n.
func mulDiv(x, i, n int64) int64 {
	if n <= 0 {
		return 0
	}
	if x < 0 {
		return -mulDiv(-x, i, n)
	}
	hi, lo := bits.Mul64(uint64(x), uint64(i))
	q, _ := bits.Div64(hi, lo, uint64(n))
	return int64(q)
}

// log2 returns the binary logarithm of n, at least 1, times 2^32. It squares bit by bit: integers give
// the same result on every machine, which a library's logarithm does not promise.
func log2(n uint64) int64 {
	whole := bits.Len64(n) - 1
	x := n << (63 - whole) // 1 to 2, times 2^63
	out := int64(whole)
	for range 32 {
		hi, lo := bits.Mul64(x, x)
		out <<= 1
		if hi>>63 != 0 {
			out |= 1
			x = hi
		} else {
			x = hi<<1 | lo>>63
		}
	}
	return out
}

// exp2 returns 2^(e/2^32) rounded half up, for results below 2^60; 0 for results below a half.
func exp2(e int64) uint64 {
	whole := e >> 32
	if whole < -1 {
		return 0
	}
	// These are 2^(2^-k) for k = 1 to 32, times 2^62. The tests check them against square roots.
	roots := [32]uint64{
		0x5a827999fcef3242, 0x4c1bf828c6dc54b8, 0x45cae0f1f545eb73, 0x42d561b3e6243d8a,
		0x4166c34c5615d0ec, 0x40b268f9de0183ba, 0x4058f6a7ecccd5b6, 0x402c6be96af2fb58,
		0x4016321b687027a8, 0x400b18178ba33b14, 0x40058bce410147e8, 0x4002c5d7bff71daf,
		0x400162e807ee7e5b, 0x4000b1730df6a524, 0x400058b9497b8152, 0x40002c5c955dd701,
		0x4000162e46d6f26c, 0x40000b1722757b1b, 0x4000058b90fd3e0c, 0x400002c5c86f3f26,
		0x40000162e433c79b, 0x400000b17218edd0, 0x40000058b90c3968, 0x4000002c5c860d54,
		0x400000162e4302d2, 0x4000000b17218073, 0x400000058b90bffc, 0x40000002c5c85fef,
		0x4000000162e42ff3, 0x40000000b17217f9, 0x4000000058b90bfc, 0x400000002c5c85fe,
	}
	x := uint64(1) << 62
	for k, root := range roots {
		if e>>(31-k)&1 != 0 {
			hi, lo := bits.Mul64(x, root)
			x = hi<<2 | lo>>62
		}
	}
	shift := uint(62 - whole)
	return (x + 1<<(shift-1)) >> shift
}

func abs(t song.Tick) song.Tick { return max(t, -t) }
