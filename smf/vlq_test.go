package smf

import (
	"bytes"
	"fmt"
	"testing"
)

// The table of RP-001 p. 2, and numbers from its running examples (pp. 7, 12-13).
var quantities = []struct {
	value uint32
	bytes string
}{
	{0x00000000, "00"},
	{0x00000040, "40"},
	{0x0000007F, "7f"},
	{0x00000080, "81 00"},
	{0x00002000, "c0 00"},
	{0x00003FFF, "ff 7f"},
	{0x00004000, "81 80 00"},
	{0x00100000, "c0 80 00"},
	{0x001FFFFF, "ff ff 7f"},
	{0x00200000, "81 80 80 00"},
	{0x08000000, "c0 80 80 00"},
	{0x0FFFFFFF, "ff ff ff 7f"},
	{100, "64"},
	{192, "81 40"},
	{200, "81 48"},
	{288, "82 20"},
	{384, "83 00"},
}

func TestVariableLengthQuantities(t *testing.T) {
	for _, q := range quantities {
		b := appendVLQ(nil, q.value)
		if got := fmt.Sprintf("% x", b); got != q.bytes {
			t.Errorf("%#x is written %s, want %s", q.value, got, q.bytes)
		}
		v, n := readVLQ(append(b, 0xFF)) // what follows is not looked at
		if v != q.value || n != len(b) {
			t.Errorf("%s reads as %#x in %d bytes, want %#x in %d", q.bytes, v, n, q.value, len(b))
		}
		for cut := range b {
			if _, n := readVLQ(b[:cut]); n != 0 {
				t.Errorf("%d bytes of %s read as a whole quantity", cut, q.bytes)
			}
		}
	}
}

func TestVariableLengthQuantityOfMoreThanFourBytes(t *testing.T) {
	for _, b := range [][]byte{
		{0xFF, 0xFF, 0xFF, 0xFF, 0x7F},
		{0x80, 0x80, 0x80, 0x80, 0x00}, // leading zeros count, too
		{0x81, 0x80, 0x80, 0x80},       // no matter whether the fifth is there
	} {
		if _, n := readVLQ(b); n != -1 {
			t.Errorf("% x: %d bytes, want refused", b, n)
		}
	}
}

// RP-001 says nothing about leading 80h bytes within four; they are read.
func TestVariableLengthQuantityWithLeadingZeros(t *testing.T) {
	if v, n := readVLQ([]byte{0x80, 0x80, 0x05}); v != 5 || n != 3 {
		t.Errorf("80 80 05 reads as %d in %d bytes, want 5 in 3", v, n)
	}
}

func TestVariableLengthQuantitiesRoundTrip(t *testing.T) {
	for v := uint32(0); v <= maxVLQ; v += 1 + v/97 {
		b := appendVLQ(nil, v)
		if got, n := readVLQ(b); got != v || n != len(b) {
			t.Fatalf("%#x comes back as %#x from % x", v, got, b)
		}
		if again := appendVLQ([]byte{1}, v); !bytes.Equal(again[1:], b) {
			t.Fatalf("%#x appended to something differs", v)
		}
	}
}
