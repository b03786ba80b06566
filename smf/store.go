package smf

import "math"

// Meta events and system exclusive packets are long: their payloads stand, each as its length (a
// variable-length quantity) and its bytes, in one byte slice per track, the track's store; the
// event holds the place. So events have no pointers, and a track of a million events is two
// objects for the garbage collector.

// maxLong is the largest payload of a meta event or system exclusive packet in bytes, the largest
// length that a variable-length quantity can state (RP-001 p. 2).
const maxLong = maxVLQ

// AppendLong adds a payload to a store and returns the grown store with the event that points at
// it. The status is F0h, F7h or FFh; metaType, 0..127, counts for FFh only. The data are copied.
//
// A payload over [maxLong] or a store that would pass 4 GiB cannot be written to a file; then the
// store comes back as it was, with the zero Event, which [File.Encode] refuses.
func AppendLong(store []byte, t Tick, status, metaType byte, data []byte) ([]byte, Event) {
	if len(data) > maxLong || uint64(len(store)) > math.MaxUint32 {
		return store, Event{}
	}
	if status != 0xFF {
		metaType = 0
	}
	at := uint32(len(store))
	store = appendVLQ(store, uint32(len(data)))
	store = append(store, data...)
	return store, long(t, status, metaType, at)
}

// LongIn returns the payload of a meta event or system exclusive packet whose bytes are in store:
// for F0h and F7h what follows the length, the closing F7h included. The slice aliases the store
// and is clipped (its capacity is its length). It is nil for channel events and for events of
// another store that point outside this one; an empty payload is empty, not nil.
func LongIn(store []byte, e Event) []byte {
	if e.Status() < 0xF0 || uint64(e.at()) >= uint64(len(store)) {
		return nil
	}
	rest := store[e.at():]
	size, n := readVLQ(rest)
	if n <= 0 || uint64(size) > uint64(len(rest)-n) {
		return nil
	}
	end := n + int(size)
	return rest[n:end:end]
}

// Long returns the payload of one of the track's meta events or system exclusive packets; see
// [LongIn].
func (t *Track) Long(e Event) []byte { return LongIn(t.bytes, e) }

// LongStore returns the bytes that hold the track's long payloads, clipped, not copied: the store
// of [LongIn] and [AppendLong] for the track's events.
func (t *Track) LongStore() []byte { return t.bytes[:len(t.bytes):len(t.bytes)] }

// TrackFromStore makes a track of events, sorted by tick, whose long payloads are in store. It
// keeps both slices without copying them, clipped, so that appending to the track never writes
// into them.
func TrackFromStore(events []Event, end Tick, store []byte) Track {
	return Track{
		Events: events[:len(events):len(events)],
		End:    end,
		bytes:  store[:len(store):len(store)],
	}
}

// CopyLong copies the payload of e, an event of track from, into the store of t and returns the
// event at tick at, pointing there. It does not append the event to t. Channel events have no
// payload and are only moved.
func (t *Track) CopyLong(from *Track, e Event, at Tick) Event {
	if e.Status() < 0xF0 {
		return e.At(at)
	}
	metaType, _ := e.MetaType()
	t.bytes, e = AppendLong(t.bytes, at, e.Status(), metaType, from.Long(e))
	return e
}

// Append adds e, a channel event or one whose payload is in the track's store already, after the
// others. Ticks are expected not to go backwards ([File.Encode] refuses it); a track that would
// end before e is made to end at e.
func (t *Track) Append(e Event) {
	t.Events = append(t.Events, e)
	t.End = max(t.End, e.Tick)
}

// AppendMeta adds a meta event of type typ, 0..127, with a copy of data; see [Track.Append]. The
// end of track (2Fh) is no event here: it sets t.End to tick.
func (t *Track) AppendMeta(tick Tick, typ byte, data []byte) {
	if typ == MetaEndOfTrack {
		t.End = tick
		return
	}
	t.appendLong(tick, 0xFF, typ, data)
}

// AppendSysex adds a system exclusive packet with a copy of data; see [Track.Append]. The status
// is F0h (data: what follows it, the closing F7h included) or F7h (a continuation or an escape).
func (t *Track) AppendSysex(tick Tick, status byte, data []byte) {
	t.appendLong(tick, status, 0, data)
}

func (t *Track) appendLong(tick Tick, status, metaType byte, data []byte) {
	var e Event
	t.bytes, e = AppendLong(t.bytes, tick, status, metaType, data)
	t.Append(e)
}
