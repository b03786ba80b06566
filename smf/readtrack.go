package smf

import (
	"encoding/binary"
	"fmt"
)

// fault is why readTrack stopped.
type fault byte

const (
	none      fault = iota
	full            // the list of events is too short
	cut             // the chunk ends inside an event
	longVLQ         // a quantity over four bytes
	noStatus        // running status with none in force
	badStatus       // F1..F6, F8..FE
	badData         // a data byte over 7Fh
	badType         // a meta type over 7Fh
	pastEnd         // a length past the end of the chunk
	afterEnd        // bytes after the end of track
)

// reading is how readTrack fared; at is the place of the fault, or of the end of track.
type reading struct {
	fault   fault
	at      int
	event   int // where the event at fault starts
	ended   bool
	next    int // after the end of track
	payload int // bytes in the end of track, which should have none
}

// refusal puts a fault in words. The body stands at base in the file; short: the file ends before
// the chunk.
func (r reading) refusal(body []byte, base int, short bool) *Error {
	var c byte
	if r.at < len(body) {
		c = body[r.at]
	}
	end := "the end of the track chunk"
	if short {
		end = "the end of the file inside the track chunk"
	}
	switch r.fault {
	case cut:
		return refuse(base+len(body), end, fmt.Sprintf("the rest of the event at byte %#x", base+r.event))
	case longVLQ:
		return refuse(base+r.at, "a quantity of more than four bytes", "at most ff ff ff 7f")
	case noStatus:
		why := "nothing to repeat yet"
		if r.event > 0 {
			why = "nothing to repeat since the last meta or sysex event"
		}
		return refuse(base+r.at, fmt.Sprintf("data byte %#02x", c), "a status byte ("+why+")")
	case badStatus:
		return refuse(base+r.at, fmt.Sprintf("status byte %#02x", c), "80..ef, f0, f7 or ff, those a file can hold")
	case badData:
		return refuse(base+r.at, fmt.Sprintf("byte %#02x", c), "a data byte, 00..7f")
	case badType:
		return refuse(base+r.at, fmt.Sprintf("meta type %#02x", c), "00..7f")
	case pastEnd:
		size, n := readVLQ(body[r.at:])
		return refuse(base+r.at, fmt.Sprintf("length %d", size),
			fmt.Sprintf("at most %d, then comes %s", len(body)-r.at-n, end))
	default: // afterEnd
		return refuse(base+r.at, fmt.Sprintf("byte %#02x after the end of track", c),
			fmt.Sprintf("nothing but zeros up to byte %#x", base+len(body)))
	}
}

// dataBytes returns the number of data bytes of a channel status: 1 for program change and
// channel pressure, else 2 (MIDI 1.0 table 1-2).
func dataBytes(status byte) int {
	if status&0xE0 == 0xC0 {
		return 1
	}
	return 2
}

// readTrack reads the events of a track chunk into a list of room events. With a fault the track
// holds what was read before it.
//
// This is the hot loop of Decode. Eight bytes, the longest channel event, are looked at in one
// register and consumed by shifts; what is long, rare or near the end of the chunk takes readLong
// and readSlow. Whether a status is there and how many data bytes follow is computed rather than
// branched on, as neither can be predicted in music.
func readTrack(body []byte, room int) (Track, reading) {
	events := make([]Event, room)
	var t Track
	n := 0
	var tick Tick
	var running byte
	p := 0
	for p < len(body) {
		var w uint64
		if len(body)-p >= 8 {
			w = binary.LittleEndian.Uint64(body[p:])
		} else {
			w = lastBytes(body[p:])
		}
		start := p

		delta := w & 0x7F
		switch {
		case w&0x80 == 0:
			p++
			w >>= 8
		case w&0x8000 == 0:
			delta = delta<<7 | w>>8&0x7F
			p += 2
			w >>= 16
		default:
			v, size := readVLQ(body[p:])
			if size <= 0 {
				return t.with(events[:n], tick), vlqFault(size, start, start)
			}
			delta = uint64(v)
			p += size
			w >>= 8 * size
		}
		tick += Tick(delta)

		status := byte(w)
		if status >= 0xF0 {
			running = 0
			e, next, r := t.readLong(body, p, start, tick)
			if r.fault != none || r.ended {
				return t.with(events[:n], tick), r
			}
			if n == len(events) {
				return Track{}, reading{fault: full}
			}
			events[n] = e
			n++
			p = next
			continue
		}
		given := uint64(status >> 7) // 1: the status is there, 0: it is repeated
		if given != 0 {
			running = status
		}
		w >>= 8 * given
		p += int(given)

		one := uint64(running)&0xE0 ^ 0xC0 // 0: one data byte
		data := w & 0xFFFF
		size := 2
		if one == 0 {
			data = w & 0xFF
			size = 1
		}
		if data&0x8080 != 0 || running == 0 || p+size > len(body) {
			return t.with(events[:n], tick), channelFault(body, start, p, size, running)
		}
		if n == len(events) {
			return Track{}, reading{fault: full}
		}
		events[n] = Event{tick, uint64(running) | data<<8}
		n++
		p += size
	}
	return t.with(events[:n], tick), reading{at: p, next: p}
}

// with closes a track at tick with the events read; the list is clipped, so that nobody's append
// writes into memory that a song shares.
func (t Track) with(events []Event, tick Tick) Track {
	t.End = tick
	if len(events) > 0 {
		t.Events = events[:len(events):len(events)]
	}
	return t
}

// lastBytes is the little-endian word of up to 8 bytes, followed by zeros: as zeros are no status
// and end a quantity, an event that passes the end shows as a place past it.
func lastBytes(b []byte) uint64 {
	var w uint64
	for i, c := range b {
		w |= uint64(c) << (8 * i)
	}
	return w
}

// readLong reads the system exclusive packet or meta event whose status is at p; start is where
// its delta time is. Any other status from F0h on is a fault.
func (t *Track) readLong(body []byte, p, start int, tick Tick) (Event, int, reading) {
	status, metaType := body[p], byte(0)
	at := p
	p++
	switch status {
	case 0xFF:
		if p == len(body) {
			return Event{}, 0, reading{fault: cut, event: start}
		}
		if metaType = body[p]; metaType > 0x7F {
			return Event{}, 0, reading{fault: badType, at: p, event: start}
		}
		p++
	case 0xF0, 0xF7:
	default:
		return Event{}, 0, reading{fault: badStatus, at: at, event: start}
	}
	size, n := readVLQ(body[p:])
	if n <= 0 {
		return Event{}, 0, vlqFault(n, p, start)
	}
	if uint64(size) > uint64(len(body)-p-n) {
		return Event{}, 0, reading{fault: pastEnd, at: p, event: start}
	}
	data := body[p+n : p+n+int(size)]
	next := p + n + int(size)
	if status == 0xFF && metaType == MetaEndOfTrack {
		r := reading{at: at, event: start, ended: true, next: next, payload: int(size)}
		for i, c := range body[next:] {
			if c != 0 {
				r.fault, r.at = afterEnd, next+i
				break
			}
		}
		return Event{}, 0, r
	}
	if need := len(t.bytes) + n + len(data); need > cap(t.bytes) {
		// Twice the room; but from an eighth of the chunk on, what the rest of it can fill at most:
		// going on doubling would leave up to three times the chunk to the collector.
		most := len(t.bytes) + len(body) - p
		room := most
		if cap(t.bytes) < len(body)/8 {
			room = min(max(2*cap(t.bytes), need, 64), most)
		}
		t.bytes = append(make([]byte, 0, room), t.bytes...)
	}
	var e Event
	t.bytes, e = AppendLong(t.bytes, tick, status, metaType, data)
	return e, next, reading{}
}

func vlqFault(size, at, start int) reading {
	if size == 0 {
		return reading{fault: cut, event: start}
	}
	return reading{fault: longVLQ, at: at, event: start}
}

// channelFault says what is wrong with a channel event whose first of size data bytes is at p.
func channelFault(body []byte, start, p, size int, running byte) reading {
	if running == 0 && p < len(body) {
		return reading{fault: noStatus, at: p, event: start}
	}
	for i := p; i < min(p+size, len(body)); i++ {
		if body[i] > 0x7F {
			return reading{fault: badData, at: i, event: start}
		}
	}
	return reading{fault: cut, event: start}
}

// sampleEvents is how many events are counted before the length of a list is guessed; shorter
// tracks are counted whole, and their lists fit.
const sampleEvents = 512

// guessEvents returns how long a list the events of a track chunk want. Three bytes an event is
// the densest that music gets (delta time, key and velocity under running status), and a guess
// too large costs little: memory that is never written is never touched. Only program changes and
// channel pressure under running status take two; where a sample shows such a track, its list
// gets the most there can be.
func guessEvents(body []byte) int {
	n, seen := countEvents(body, sampleEvents)
	switch {
	case n < sampleEvents:
		return n
	case seen < 3*n:
		return len(body)/2 + 1
	default:
		return len(body)/3 + 1
	}
}

// countEvents counts the events of a track chunk, at most most, up to its end of track or its
// first fault, and returns the bytes they take. Nothing is checked that reading checks.
func countEvents(body []byte, most int) (n, p int) {
	var running byte
	for n < most && p < len(body) {
		at := p
		for at < len(body) && body[at] >= 0x80 {
			at++
		}
		at++
		if at >= len(body) {
			break
		}
		if status := body[at]; status >= 0xF0 {
			running = 0
			at++
			if status == 0xFF {
				if at < len(body) && body[at] == MetaEndOfTrack {
					break
				}
				at++
			}
			if at >= len(body) {
				break
			}
			size, width := readVLQ(body[at:])
			if width <= 0 || uint64(size) > uint64(len(body)-at-width) {
				break
			}
			at += width + int(size)
		} else {
			if status >= 0x80 {
				running = status
				at++
			}
			if running == 0 {
				break
			}
			at += dataBytes(running)
			if at > len(body) {
				break
			}
		}
		p = at
		n++
	}
	return n, p
}
