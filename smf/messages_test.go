package smf_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"gitlab.com/gomidi/midi/v2"
	gomidi "gitlab.com/gomidi/midi/v2/smf"

	"loopdraft/smf"
)

func TestMessagesComeBack(t *testing.T) {
	long := bytes.Repeat([]byte{0x41}, 200) // a length of two bytes
	messages := []gomidi.Message{
		gomidi.Message(midi.NoteOn(0, 60, 100)),
		gomidi.Message(midi.NoteOff(15, 127)),
		gomidi.Message(midi.PolyAfterTouch(1, 2, 3)),
		gomidi.Message(midi.ControlChange(2, 74, 127)),
		gomidi.Message(midi.ProgramChange(3, 5)),
		gomidi.Message(midi.AfterTouch(4, 6)),
		gomidi.Message(midi.Pitchbend(5, -8192)),
		gomidi.MetaTempo(126),
		gomidi.MetaMeter(6, 8),
		gomidi.MetaTrackSequenceName(""),
		gomidi.MetaText(string(long)),
		gomidi.Message(midi.SysEx(long)),
		{0xF7, 0xF8},
		{0xF7},
	}
	var track smf.Track
	for i, m := range messages {
		if err := track.AppendMessage(smf.Tick(i), m); err != nil {
			t.Fatal(err)
		}
	}
	for i, m := range messages {
		e := track.Events[i]
		if got := track.Message(e); !bytes.Equal(got, m) || e.Tick != smf.Tick(i) {
			t.Errorf("tick %d: % x comes back as % x", e.Tick, m, got)
		}
	}
	if track.End != smf.Tick(len(messages)-1) {
		t.Errorf("ends at %d", track.End)
	}
	// Read through gomidi: key and velocity are where they should be.
	var channel, key, velocity uint8
	if !track.Message(track.Events[0]).GetNoteOn(&channel, &key, &velocity) || key != 60 || velocity != 100 {
		t.Errorf("key %d, velocity %d", key, velocity)
	}
}

func TestEndOfTrackIsNoEvent(t *testing.T) {
	var track smf.Track
	track.Append(smf.Channel(5, 0x90, 60, 1))
	if err := track.AppendMessage(7, gomidi.EOT); err != nil || track.End != 7 || len(track.Events) != 1 {
		t.Errorf("end %d, %d events, %v", track.End, len(track.Events), err)
	}
	track.AppendMeta(384, 0x2F, nil)
	if track.End != 384 || len(track.Events) != 1 {
		t.Errorf("end %d, %d events", track.End, len(track.Events))
	}
	track.Append(smf.Channel(380, 0x80, 60, 1))
	if track.End != 384 {
		t.Errorf("an event before the end moves it to %d", track.End)
	}
}

func TestAppendMessageRefuses(t *testing.T) {
	for _, row := range []struct {
		message gomidi.Message
		want    string
	}{
		{nil, "tick 9: an empty message"},
		{gomidi.Message{0x3C, 0x40}, "tick 9: message 3c 40 has no status that a file can hold"},
		{gomidi.Message{0xF8}, "tick 9: message f8 has no status that a file can hold"},
		{gomidi.Message{0x90, 0x3C}, "tick 9: message 90 3c, want 2 data bytes"},
		{gomidi.Message{0xC0, 0x3C, 0x00}, "tick 9: message c0 3c 00, want 1 data bytes"},
		{gomidi.Message{0x90, 0x80, 0x40}, "tick 9: message 90 80 40 has a data byte over 7f"},
		{gomidi.Message{0x90, 0x40, 0x80}, "tick 9: message 90 40 80 has a data byte over 7f"},
		{gomidi.Message{0xFF, 0x01}, "tick 9: meta message ff 01, want ff, a type below 80 and a length"},
		{gomidi.Message{0xFF, 0x81, 0x00}, "tick 9: meta message ff 81 00, want ff, a type below 80 and a length"},
		{gomidi.Message{0xFF, 0x01, 0x02, 0x41}, "tick 9: meta message ff 01 02 41 has not the length that it states"},
		{gomidi.Message{0xFF, 0x01, 0x01, 0x41, 0x42}, "tick 9: meta message ff 01 01 41 42 has not the length that it states"},
		{gomidi.Message{0xFF, 0x01, 0x80}, "tick 9: meta message ff 01 80 has not the length that it states"},
	} {
		var track smf.Track
		err := track.AppendMessage(9, row.message)
		if err == nil || err.Error() != row.want {
			t.Errorf("got  %v\nwant %s", err, row.want)
		}
		if len(track.Events) > 0 || track.End != 0 {
			t.Errorf("% x left something in the track", []byte(row.message))
		}
	}
}

func TestMessageOfWhatIsNoEvent(t *testing.T) {
	var track smf.Track
	if m := track.Message(smf.Event{}); m != nil {
		t.Errorf("the zero event is % x", []byte(m))
	}
	if m := track.Message(smf.Channel(0, 0xF4, 1, 2)); m != nil {
		t.Errorf("status f4 is % x", []byte(m))
	}
}

func TestLongPayloads(t *testing.T) {
	var a smf.Track
	a.AppendMeta(1, 3, []byte("bass"))
	a.AppendSysex(2, 0xF0, nil)
	a.Append(smf.Channel(3, 0x90, 60, 1))
	a.AppendMeta(4, 1, bytes.Repeat([]byte("x"), 300))

	if got := a.Long(a.Events[0]); string(got) != "bass" || cap(got) != 4 {
		t.Errorf("payload %q of capacity %d", got, cap(got))
	}
	if got := a.Long(a.Events[1]); got == nil || len(got) != 0 {
		t.Errorf("an empty payload is %#v, want empty and not nil", got)
	}
	if got := a.Long(a.Events[2]); got != nil {
		t.Errorf("a note has the payload %q", got)
	}
	if got := a.Long(a.Events[3]); len(got) != 300 {
		t.Errorf("a payload of 300 bytes has %d", len(got))
	}
	var other smf.Track
	if got := other.Long(a.Events[0]); got != nil {
		t.Errorf("in a track without payloads: %q", got)
	}
	if got := smf.LongIn(a.LongStore()[:3], a.Events[0]); got != nil {
		t.Errorf("in a store that is cut: %q", got)
	}

	b := smf.TrackFromStore(a.Events[:2], 9, a.LongStore())
	if &b.LongStore()[0] != &a.LongStore()[0] {
		t.Error("a shared store was copied")
	}
	if string(b.Long(b.Events[0])) != "bass" || b.End != 9 {
		t.Error("a shared store does not show the payload")
	}
	b.AppendMeta(10, 3, []byte("lead"))
	b.Append(smf.Channel(11, 0x90, 1, 1))
	if string(b.Long(b.Events[2])) != "lead" || string(a.Long(a.Events[0])) != "bass" || !a.Events[2].IsOn() {
		t.Error("appending to a shared track reached its neighbour")
	}

	e := other.CopyLong(&a, a.Events[0], 77)
	if e.Tick != 77 || string(other.Long(e)) != "bass" || len(other.Events) != 0 {
		t.Errorf("copied to tick %d as %q, %d events", e.Tick, other.Long(e), len(other.Events))
	}
	if typ, ok := e.MetaType(); !ok || typ != 3 {
		t.Errorf("copied with type %d", typ)
	}
	if e := other.CopyLong(&a, a.Events[2], 78); e != a.Events[2].At(78) {
		t.Error("a note does not just move")
	}
}

// The parts of an event, for every status and byte that a file can hold.
func TestEventParts(t *testing.T) {
	for status := 0x80; status < 0xF0; status++ {
		for _, d := range []byte{0, 1, 64, 127} {
			e := smf.Channel(1<<40, byte(status), d, 127-d)
			if e.Tick != 1<<40 || e.Status() != byte(status) || e.Kind() != byte(status)&0xF0 ||
				e.Chan() != byte(status)&15 || e.Data1() != d || e.Data2() != 127-d ||
				!e.IsChannel() || e.IsMeta() || e.IsSysex() {
				t.Fatalf("status %#x, data %d: parts differ", status, d)
			}
			on := status>>4 == 9 && d != 127
			off := status>>4 == 8 || status>>4 == 9 && d == 127
			if e.IsOn() != on || e.IsOff() != off {
				t.Fatalf("status %#x, velocity %d: on %t, off %t", status, 127-d, e.IsOn(), e.IsOff())
			}
		}
	}
	for _, status := range []byte{0xF0, 0xF7, 0xFF} {
		_, e := smf.AppendLong(nil, 5, status, 0x51, nil)
		typ, meta := e.MetaType()
		if e.Kind() != status || e.IsChannel() || e.IsOn() || e.IsOff() || e.IsSysex() == meta || meta != (status == 0xFF) || meta && typ != 0x51 {
			t.Errorf("status %#x: parts differ", status)
		}
	}
}

func ExampleTrack_AppendMessage() {
	var track smf.Track
	track.AppendMessage(0, gomidi.MetaTrackSequenceName("bass"))
	track.AppendMessage(0, gomidi.Message(midi.NoteOn(0, 36, 100)))
	track.AppendMessage(48, gomidi.Message(midi.NoteOff(0, 36)))
	for _, e := range track.Events {
		fmt.Println(e.Tick, track.Message(e))
	}
	// Output:
	// 0 MetaTrackName text: "bass"
	// 0 NoteOn channel: 0 key: 36 velocity: 100
	// 48 NoteOff channel: 0 key: 36
}

// gomidi is a convenience at the edges: one file knows its types.
func TestGomidiStaysInOneFile(t *testing.T) {
	for name, text := range sources(t) {
		if strings.Contains(text, `"gitlab.com/gomidi`) && name != "messages.go" {
			t.Errorf("%s imports gomidi; messages.go alone should", name)
		}
	}
}
