package oracle

import (
	"bytes"
	"fmt"

	"loopdraft/smf"
)

// Seen returns a file as the independent readers see it: messages, ends of track among them.
func Seen(f *smf.File) Tracks {
	var tracks Tracks
	for i := range f.Tracks {
		t := &f.Tracks[i]
		events := make([]Event, 0, len(t.Events)+1)
		for _, e := range t.Events {
			events = append(events, Event{Tick: int64(e.Tick), Message: t.Message(e)})
		}
		tracks = append(tracks, append(events, Event{Tick: int64(t.End), Message: []byte{0xFF, 0x2F, 0}}))
	}
	return tracks
}

// Differ names the first difference between what we see and what another reader sees; "" for none.
func Differ(ours, theirs Tracks) string {
	if len(ours) != len(theirs) {
		return fmt.Sprintf("%d tracks, the other reader has %d", len(ours), len(theirs))
	}
	for i := range ours {
		for j := range min(len(ours[i]), len(theirs[i])) {
			a, b := ours[i][j], theirs[i][j]
			if a.Tick != b.Tick || !bytes.Equal(a.Message, b.Message) {
				return fmt.Sprintf("track %d, event %d: tick %d % x, the other reader has tick %d % x", i+1, j+1, a.Tick, a.Message, b.Tick, b.Message)
			}
		}
		if len(ours[i]) != len(theirs[i]) {
			return fmt.Sprintf("track %d: %d events, the other reader has %d", i+1, len(ours[i]), len(theirs[i]))
		}
	}
	return ""
}
