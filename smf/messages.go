package smf

import (
	"fmt"

	gomidi "gitlab.com/gomidi/midi/v2/smf"
)

// This file alone knows the message types of gomidi, whose constructors (smf.MetaMeter,
// midi.NoteOn ...) and readers (Message.GetMetaTempo ...) are handy at the edges.

// Message returns one of the track's events as the bytes of its message, without the delta time:
// for a meta event FFh, type, length and payload; for a system exclusive packet its status and
// payload, without a length, as gomidi holds it. It is a copy, and nil for what is no event.
func (t *Track) Message(e Event) gomidi.Message {
	switch status := e.Status(); {
	case e.IsMeta():
		data := t.Long(e)
		metaType, _ := e.MetaType()
		return append(appendVLQ([]byte{status, metaType}, uint32(len(data))), data...)
	case e.IsSysex():
		return append([]byte{status}, t.Long(e)...)
	case !e.IsChannel():
		return nil
	case dataBytes(status) == 1:
		return gomidi.Message{status, e.Data1()}
	default:
		return gomidi.Message{status, e.Data1(), e.Data2()}
	}
}

// AppendMessage adds a copy of a gomidi message after the track's events; see [Track.Append] and
// [Track.AppendMeta]. Messages with an undefined status, of a wrong length or with data bytes
// over 127 are an error and leave the track as it was.
func (t *Track) AppendMessage(tick Tick, m gomidi.Message) error {
	if len(m) == 0 {
		return fmt.Errorf("tick %d: an empty message", tick)
	}
	status := m[0]
	switch {
	case status == 0xFF:
		if len(m) < 3 || m[1] > 0x7F {
			return fmt.Errorf("tick %d: meta message % x, want ff, a type below 80 and a length", tick, clip(m))
		}
		size, n := readVLQ(m[2:])
		if n <= 0 || uint64(size) != uint64(len(m)-2-n) {
			return fmt.Errorf("tick %d: meta message % x has not the length that it states", tick, clip(m))
		}
		t.AppendMeta(tick, m[1], m[2+n:])
	case status == 0xF0 || status == 0xF7:
		if len(m)-1 > maxLong {
			return fmt.Errorf("tick %d: a system exclusive message of %d bytes, want at most %d", tick, len(m), maxLong)
		}
		t.AppendSysex(tick, status, m[1:])
	case status < 0x80 || status >= 0xF0:
		return fmt.Errorf("tick %d: message % x has no status that a file can hold", tick, clip(m))
	default:
		want := dataBytes(status)
		if len(m) != 1+want {
			return fmt.Errorf("tick %d: message % x, want %d data bytes", tick, clip(m), want)
		}
		var d [2]byte
		copy(d[:], m[1:])
		if (d[0]|d[1])&0x80 != 0 {
			return fmt.Errorf("tick %d: message % x has a data byte over 7f", tick, clip(m))
		}
		t.Append(Channel(tick, status, d[0], d[1]))
	}
	return nil
}

// clip keeps error texts short.
func clip(m []byte) []byte { return m[:min(len(m), 8)] }
