package smf

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParseDigits reads decimal digits and nothing else: no sign, no space, no digit outside ASCII. It is
// false for a number over 2^64-1.
func ParseDigits(text string) (uint64, bool) {
	if strings.Trim(text, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.ParseUint(text, 10, 64)
	return n, err == nil
}

// ParseDecimal reads digits with at most so many decimals behind a point, such as 126.5, as a number
// of units of the last decimal: with 3 decimals 126500.
func ParseDecimal(text string, decimals int) (int64, bool) {
	whole, part, point := strings.Cut(text, ".")
	if whole == "" || point && part == "" || len(part) > decimals {
		return 0, false
	}
	n, ok := ParseDigits(whole + part + strings.Repeat("0", decimals-len(part)))
	return int64(min(n, math.MaxInt64)), ok && n <= math.MaxInt64
}

// DecimalText writes a number of at least 0 as [ParseDecimal] reads it, without zeros at its end.
func DecimalText(n int64, decimals int) string {
	unit := int64(1)
	for range decimals {
		unit *= 10
	}
	text := strconv.FormatInt(n/unit, 10)
	if n%unit != 0 {
		text += strings.TrimRight(fmt.Sprintf(".%0*d", decimals, n%unit), "0")
	}
	return text
}

// The tempi that may be asked for, in thousandths of a beat (a quarter note) a minute. A tempo event
// holds none under 3.58 (3 bytes of microseconds a quarter, RP-001 p. 9).
const (
	SlowestTempo = 4_000
	FastestTempo = 999_000
)

// ParseTempo reads beats a minute with at most three decimals, from [SlowestTempo] to [FastestTempo],
// as thousandths.
func ParseTempo(text string) (int64, bool) {
	n, ok := ParseDecimal(text, 3)
	return n, ok && n >= SlowestTempo && n <= FastestTempo
}

// ParseMetre reads a metre such as 7/8: 1 to 255 beats of a 1, 2, 4, 8, 16, 32 or 64th.
func ParseMetre(text string) (Metre, bool) {
	a, b, _ := strings.Cut(text, "/")
	num, ok1 := ParseDigits(a)
	den, ok2 := ParseDigits(b)
	if !ok1 || !ok2 || num < 1 || num > 255 || den < 1 || den > 64 || den&(den-1) != 0 {
		return Metre{}, false
	}
	return Metre{Num: int(num), Den: int(den)}, true
}
