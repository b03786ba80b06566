package option

import (
	"fmt"
	"strconv"
	"strings"
)

// Form says for programs what a value may be, as Want says it for people: a schema is made of it.
// What is valid is one of Words, a text that Pattern matches, or a number. Whatever the option takes
// has its form; not everything that has its form is taken, see [where.Spans]. The zero value is no form.
type Form struct {
	Name     string    // of a form that many options share; "" for others
	Words    []string  // whole texts
	Pattern  string    // of other whole texts: a regular expression in what RE2 and ECMA-262 have in common
	Numbers  []Numbers // decimal numbers
	Position bool      // bar.beat too, which looks like a number
	Except   []string  // whole texts that Pattern matches and that are not valid
	Open     bool      // any other text too; Words are only likely
}

// Numbers are the decimal numbers from Low to High, both included.
type Numbers struct {
	Low      int
	High     uint64
	Decimals int // digits after the point, at most
}

// Regexp returns the regular expression of all texts that are not in Words, from beginning to end;
// "" where there are none.
func (f Form) Regexp() string {
	var any []string
	if f.Pattern != "" {
		any = append(any, f.Pattern)
	}
	for _, n := range f.Numbers {
		any = append(any, n.pattern())
	}
	if len(any) == 0 {
		return ""
	}
	return "^(?:" + strings.Join(any, "|") + ")$"
}

// pattern matches the numbers as texts; a sign before those without decimals is left to the option.
func (n Numbers) pattern() string {
	switch {
	case n.Decimals > 0:
		unit := pow10(n.Decimals)
		return decimals(uint64(n.Low)*unit, n.High*unit, n.Decimals)
	case n.Low < 0:
		return "-" + DigitsBetween(0, uint64(-n.Low)) + `|\+?` + DigitsBetween(0, n.High)
	}
	return `\+?` + DigitsBetween(uint64(n.Low), n.High)
}

func pow10(n int) uint64 {
	out := uint64(1)
	for range n {
		out *= 10
	}
	return out
}

// DigitsBetween is a regular expression of the whole numbers from low to high, zeros before them or not.
func DigitsBetween(low, high uint64) string {
	var any []string
	for {
		// This is the widest block of numbers that differ in their last digits alone, and as many such blocks as go up to a 9.
		size, rest := uint64(1), ""
		for low > 0 && low%(size*10) == 0 && size <= high/10 && high-low >= size*10-1 {
			size, rest = size*10, rest+"[0-9]"
		}
		first, more := low/size, (high-low)/size
		if (high-low)%size < size-1 {
			more--
		}
		last := first + min(more, 9-first%10)
		digit := fmt.Sprintf("[%d-%d]", first%10, last%10)
		if first == last {
			digit = strconv.FormatUint(first%10, 10)
		}
		if first >= 10 {
			digit = strconv.FormatUint(first/10, 10) + digit
		}
		any = append(any, digit+rest)
		if low = last*size + size - 1; low == high {
			return "0*(?:" + strings.Join(any, "|") + ")"
		}
		low++
	}
}

// decimals is a regular expression of the numbers from low to high with at most some digits after the
// point, which low and high count in: 12 and 345 are 0.12 and 3.45 where there are two. It is exact
// where high is whole and low is whole or 1.
func decimals(low, high uint64, places int) string {
	unit := pow10(places)
	var any []string
	if low%unit > 0 {
		any = append(any, DigitsBetween(low/unit, low/unit)+fmt.Sprintf(`\.(?:0{0,%d}[1-9]|[1-9][0-9]{0,%d})`, places-1, places-1))
	}
	if from := (low + unit - 1) / unit; from < high/unit {
		any = append(any, DigitsBetween(from, high/unit-1)+fmt.Sprintf(`(?:\.[0-9]{1,%d})?`, places))
	}
	any = append(any, DigitsBetween(high/unit, high/unit)+fmt.Sprintf(`(?:\.0{1,%d})?`, places))
	return "(?:" + strings.Join(any, "|") + ")"
}
