package smf

import (
	"bytes"
	"errors"
	"math"
	"testing"
)

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

// A length that does not fit must not become a shorter one.
func TestTooLongPayloadsAreNoEvents(t *testing.T) {
	huge := make([]byte, maxLong+2) // hardly ever written to, so that it takes no memory
	store, e := AppendLong([]byte{1}, 5, 0xF0, 0, huge[1:])
	if len(store) != 1 || e != (Event{}) {
		t.Errorf("store of %d bytes, event %v", len(store), e)
	}
	f := File{Format: 1, Division: 96, Tracks: []Track{{}}}
	f.Tracks[0].AppendSysex(5, 0xF0, huge[1:])
	if _, err := f.Encode(); err == nil {
		t.Error("a payload over the limit is written")
	}
	huge[0] = 0xF0
	if err := f.Tracks[0].AppendMessage(5, huge); err == nil {
		t.Error("a system exclusive message over the limit is taken")
	}
}
