package smf

import (
	"bytes"
	"fmt"
)

// Equal tells whether two files hold the same: format, division, tracks event for event with
// their payloads and ends, unknown chunks and their places. Warnings do not count.
func Equal(a, b *File) bool { return Diff(a, b) == "" }

// Diff names the first difference of two files in words; it is empty where they are [Equal].
func Diff(a, b *File) string {
	switch {
	case a.Format != b.Format:
		return fmt.Sprintf("format %d and %d", a.Format, b.Format)
	case a.Division != b.Division:
		return fmt.Sprintf("division %#04x and %#04x", uint16(a.Division), uint16(b.Division))
	case len(a.Tracks) != len(b.Tracks):
		return fmt.Sprintf("%d and %d tracks", len(a.Tracks), len(b.Tracks))
	}
	for i := range a.Tracks {
		if text := diffTracks(&a.Tracks[i], &b.Tracks[i]); text != "" {
			return fmt.Sprintf("track %d: %s", i+1, text)
		}
	}
	if len(a.Chunks) != len(b.Chunks) {
		return fmt.Sprintf("%d and %d unknown chunks", len(a.Chunks), len(b.Chunks))
	}
	for i, c := range a.Chunks {
		d := b.Chunks[i]
		if c.Before != d.Before || c.Type != d.Type || !bytes.Equal(c.Data, d.Data) {
			return fmt.Sprintf("unknown chunk %d: %q of %d bytes before track %d and %q of %d bytes before track %d",
				i+1, c.Type[:], len(c.Data), c.Before+1, d.Type[:], len(d.Data), d.Before+1)
		}
	}
	return ""
}

func diffTracks(a, b *Track) string {
	for i := range min(len(a.Events), len(b.Events)) {
		d, e := a.Events[i], b.Events[i]
		const placeless = 0xFFFFFFFF // payloads may stand at different places of their stores
		if d.Tick != e.Tick || d.word&placeless != e.word&placeless || !bytes.Equal(a.Long(d), b.Long(e)) {
			return fmt.Sprintf("event %d: %s and %s", i+1, a.describe(d), b.describe(e))
		}
	}
	switch {
	case len(a.Events) != len(b.Events):
		return fmt.Sprintf("%d and %d events", len(a.Events), len(b.Events))
	case a.End != b.End:
		return fmt.Sprintf("end at tick %d and %d", a.End, b.End)
	}
	return ""
}

// describe shows an event as tick and bytes, long payloads cut.
func (t *Track) describe(e Event) string {
	m := t.Message(e)
	if len(m) > 24 {
		return fmt.Sprintf("tick %d, % x... (%d bytes)", e.Tick, []byte(m[:24]), len(m))
	}
	return fmt.Sprintf("tick %d, % x", e.Tick, []byte(m))
}
