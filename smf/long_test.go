package smf_test

import (
	"testing"

	"loopdraft/smf"
)

// A length that does not fit must not become a shorter one.
func TestTooLongPayloadsAreNoEvents(t *testing.T) {
	huge := make([]byte, 1<<28-1+2) // hardly ever written to, so that it takes no memory
	store, e := smf.AppendLong([]byte{1}, 5, 0xF0, 0, huge[1:])
	if len(store) != 1 || e != (smf.Event{}) {
		t.Errorf("store of %d bytes, event %v", len(store), e)
	}
	f := smf.File{Format: 1, Division: 96, Tracks: []smf.Track{{}}}
	f.Tracks[0].AppendSysex(5, 0xF0, huge[1:])
	if _, err := f.Encode(); err == nil {
		t.Error("a payload over the limit is written")
	}
	huge[0] = 0xF0
	if err := f.Tracks[0].AppendMessage(5, huge); err == nil {
		t.Error("a system exclusive message over the limit is taken")
	}
}
