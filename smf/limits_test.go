//go:build oracles

package smf

import (
	"bytes"
	"errors"
	"math"
	"testing"
)

// A quantity that is cut off is no quantity, and what follows one is not looked at.
func TestVariableLengthQuantitiesThatAreCut(t *testing.T) {
	for _, v := range []uint32{0, 0x7F, 0x80, 0x3FFF, 0x4000, 0x1FFFFF, 0x200000, maxVLQ} {
		b := appendVLQ(nil, v)
		if got, n := readVLQ(append(b, 0xFF)); got != v || n != len(b) {
			t.Errorf("% x reads as %#x in %d bytes, want %#x in %d", b, got, n, v, len(b))
		}
		for cut := range b {
			if _, n := readVLQ(b[:cut]); n != 0 {
				t.Errorf("%d bytes of % x read as a whole quantity", cut, b)
			}
		}
	}
}

// The size limits, tried on small numbers: nobody wants 4 GiB in a test.
func TestReadStopsAtItsLimit(t *testing.T) {
	b := []byte("MThd\x00\x00\x00\x06\x00\x00\x00\x00\x00\x60")
	if _, err := read(bytes.NewReader(b), int64(len(b))); err != nil {
		t.Errorf("a file of just the limit: %v", err)
	}
	var refusal *Error
	_, err := read(bytes.NewReader(b), int64(len(b))-1)
	if !errors.As(err, &refusal) || refusal.Want != "a file of at most 13 bytes" {
		t.Errorf("a file over the limit: %v", err)
	}
}

func TestSizeOfWrittenFiles(t *testing.T) {
	if err := checkSize(math.MaxUint32); err != nil {
		t.Error(err)
	}
	if checkSize(math.MaxUint32+1) == nil {
		t.Error("a file over 4 GiB passes")
	}
}
