package smf

// Tick is a position or a length in ticks, the file's unit of time; positions count from the
// start of the file (in decoded events, not from the event before).
type Tick int64

// MaxTicks is the last tick a song may reach, the largest variable-length quantity (RP-001 p. 2).
const MaxTicks Tick = 0x0FFFFFFF

// Event is one event of a track, packed into two words without pointers: the tick, and, from the
// low byte up, status, first data byte (or the type of a meta event), second data byte, a spare
// byte, and for long events (meta, sysex) the 32-bit place of their bytes in the track.
//
// The zero value is no event.
type Event struct {
	Tick Tick
	word uint64
}

// Channel makes a channel event; status is 80h..EFh, the data bytes 0..127 (d2 is 0 for programs
// and channel pressure). It packs by shifts: filling byte fields one by one costs several times as much.
func Channel(t Tick, status, d1, d2 byte) Event {
	return Event{t, uint64(status) | uint64(d1)<<8 | uint64(d2)<<16}
}

func long(t Tick, status, metaType byte, at uint32) Event {
	return Event{t, uint64(status) | uint64(metaType)<<8 | uint64(at)<<32}
}

// At returns the event moved to tick t.
func (e Event) At(t Tick) Event { e.Tick = t; return e }

// Status returns the status byte: 80h..EFh with the channel in the low four bits, F0h, F7h or FFh.
func (e Event) Status() byte { return byte(e.word) }

// Data1 returns the first data byte of a channel event (key, controller, program, pressure, bend LSB).
func (e Event) Data1() byte { return byte(e.word >> 8) }

// Data2 returns the second data byte of a channel event (velocity, value, bend MSB).
func (e Event) Data2() byte { return byte(e.word >> 16) }

// IsChannel tells whether the event belongs to a channel (status 80h..EFh).
func (e Event) IsChannel() bool { s := byte(e.word); return s >= 0x80 && s < 0xF0 }

// Kind returns the status of a channel event without its channel (80h, 90h .. E0h); other events'
// status as it is.
func (e Event) Kind() byte {
	if s := byte(e.word); s >= 0xF0 {
		return s
	}
	return byte(e.word) & 0xF0
}

// Chan returns the channel of a channel event, 0..15.
func (e Event) Chan() byte { return byte(e.word) & 0x0F }

// IsMeta tells whether the event is a meta event (FFh).
func (e Event) IsMeta() bool { return byte(e.word) == 0xFF }

// IsSysex tells whether the event is a system exclusive packet or escape (F0h, F7h).
func (e Event) IsSysex() bool { s := byte(e.word); return s == 0xF0 || s == 0xF7 }

// MetaType returns the type of a meta event, 0..127, and false for other events.
func (e Event) MetaType() (byte, bool) { return byte(e.word >> 8), byte(e.word) == 0xFF }

// IsOn tells whether the event starts a note: 9nh with a velocity over 0.
func (e Event) IsOn() bool { return byte(e.word)&0xF0 == 0x90 && byte(e.word>>16) != 0 }

// IsOff tells whether the event ends a note: 8nh, or 9nh with velocity 0.
func (e Event) IsOff() bool {
	k := byte(e.word) & 0xF0
	return k == 0x80 || k == 0x90 && byte(e.word>>16) == 0
}

func (e Event) at() uint32 { return uint32(e.word >> 32) }

// Types of meta events (RP-001 pp. 8-11; [MetaPort] is widely written but stands in no standard).
const (
	MetaTrackName     = 0x03
	MetaMarker        = 0x06
	MetaChannelPrefix = 0x20
	MetaPort          = 0x21
	MetaEndOfTrack    = 0x2F
	MetaTempo         = 0x51
	MetaSMPTEOffset   = 0x54
	MetaMetre         = 0x58
	MetaKey           = 0x59
)
