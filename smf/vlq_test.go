package smf_test

import (
	"fmt"
	"testing"

	"loopdraft/smf"
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

// afterDelta is a file of one track whose only event, a note-on, comes after a delta time that is written as given.
func afterDelta(delta []byte) []byte {
	body := append(append([]byte{}, delta...), 0x90, 60, 100, 0, 0xFF, 0x2F, 0)
	return append([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00"+string(rune(len(body)))), body...)
}

// deltaOf reads the delta time of such a file.
func deltaOf(t *testing.T, delta []byte) (smf.Tick, error) {
	t.Helper()
	f, err := smf.Decode(afterDelta(delta))
	if err != nil {
		return 0, err
	}
	if len(f.Tracks) != 1 || len(f.Tracks[0].Events) != 1 {
		t.Fatalf("% x: got another file than was written", delta)
	}
	return f.Tracks[0].Events[0].Tick, nil
}

// writtenDelta is how a delta time is written.
func writtenDelta(t *testing.T, delta uint32) []byte {
	t.Helper()
	f, err := smf.Decode(afterDelta([]byte{0}))
	if err != nil {
		t.Fatal(err)
	}
	f.Tracks[0].Events[0].Tick, f.Tracks[0].End = smf.Tick(delta), smf.Tick(delta)
	b, err := f.Encode()
	if err != nil {
		t.Fatal(err)
	}
	const before, after = 14 + 8, 7
	return b[before : len(b)-after]
}

func TestVariableLengthQuantities(t *testing.T) {
	for _, q := range quantities {
		b := writtenDelta(t, q.value)
		if got := fmt.Sprintf("% x", b); got != q.bytes {
			t.Errorf("%#x is written %s, want %s", q.value, got, q.bytes)
		}
		if v, err := deltaOf(t, b); err != nil || v != smf.Tick(q.value) {
			t.Errorf("%s reads as %#x, %v, want %#x", q.bytes, v, err, q.value)
		}
	}
}

func TestVariableLengthQuantityOfMoreThanFourBytes(t *testing.T) {
	for _, b := range [][]byte{
		{0xFF, 0xFF, 0xFF, 0xFF, 0x7F},
		{0x80, 0x80, 0x80, 0x80, 0x00}, // leading zeros count, too
		{0x81, 0x80, 0x80, 0x80},       // no matter whether the fifth is there
	} {
		if v, err := deltaOf(t, b); err == nil {
			t.Errorf("% x is read as %#x, want it refused", b, v)
		}
	}
}

// RP-001 says nothing about leading 80h bytes within four; they are read.
func TestVariableLengthQuantityWithLeadingZeros(t *testing.T) {
	if v, err := deltaOf(t, []byte{0x80, 0x80, 0x05}); v != 5 || err != nil {
		t.Errorf("80 80 05 reads as %d, %v, want 5", v, err)
	}
}

func TestVariableLengthQuantitiesRoundTrip(t *testing.T) {
	for v := uint32(0); v <= uint32(smf.MaxTicks); v += 1 + v/97 {
		b := writtenDelta(t, v)
		if got, err := deltaOf(t, b); err != nil || got != smf.Tick(v) {
			t.Fatalf("%#x comes back as %#x from % x, %v", v, got, b, err)
		}
	}
}
