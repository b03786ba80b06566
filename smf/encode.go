package smf

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
)

// WriteTo writes the file as [File.Encode] makes it, in one write.
func (f *File) WriteTo(w io.Writer) (int64, error) {
	b, err := f.Encode()
	if err != nil {
		return 0, err
	}
	n, err := w.Write(b)
	if err == nil && n < len(b) {
		err = io.ErrShortWrite
	}
	return int64(n), err
}

// Encode returns the bytes of the file: a header of 6 bytes, the tracks with running status
// (RP-001 p. 6) and an end of track each, the unknown chunks in their places. Decoding them gives
// an [Equal] file.
//
// What no file can hold is an error that names track and event: a delta time over 0FFFFFFFh
// ticks or below 0, an undefined status, a data byte over 127, a second data byte where the
// status takes one, an event after the end of its track or without its payload, an end of track
// among the events; more than 65535 tracks, format 0 with several, division 0; a chunk type that
// is not four ASCII characters or is MTrk; over 4 GiB.
func (f *File) Encode() ([]byte, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	w := writer{buf: make([]byte, f.guessSize())}
	w.room(14)
	copy(w.buf, "MThd\x00\x00\x00\x06")
	binary.BigEndian.PutUint16(w.buf[8:], f.Format)
	binary.BigEndian.PutUint16(w.buf[10:], uint16(len(f.Tracks)))
	binary.BigEndian.PutUint16(w.buf[12:], uint16(f.Division))
	w.n = 14

	chunks := slices.Clone(f.Chunks)
	slices.SortStableFunc(chunks, func(a, b Chunk) int { return cmp.Compare(a.Before, b.Before) })
	for i := range f.Tracks {
		for len(chunks) > 0 && chunks[0].Before <= i {
			w.chunk(chunks[0])
			chunks = chunks[1:]
		}
		if err := w.track(&f.Tracks[i]); err != nil {
			return nil, fmt.Errorf("%s%w", place(i+1, f.Tracks[i].name(), -1), err)
		}
	}
	for _, c := range chunks {
		w.chunk(c)
	}
	if err := checkSize(uint64(w.n)); err != nil {
		return nil, err
	}
	return w.buf[:w.n], nil
}

// check finds what is wrong with the file outside its tracks.
func (f *File) check() error {
	if len(f.Tracks) > math.MaxUint16 {
		return fmt.Errorf("%d tracks, want at most 65535", len(f.Tracks))
	}
	if f.Format == 0 && len(f.Tracks) > 1 {
		return fmt.Errorf("format 0 with %d tracks, want one (or format 1)", len(f.Tracks))
	}
	if text := checkDivision(f.Division); text != "" {
		return fmt.Errorf("%s, want 1..32767 ticks a quarter note", text)
	}
	for _, c := range f.Chunks {
		if string(c.Type[:]) == "MTrk" {
			return errors.New("a chunk of type MTrk among the unknown ones")
		}
		if bytes.ContainsFunc(c.Type[:], func(r rune) bool { return r < ' ' || r > '~' }) {
			return fmt.Errorf("chunk type %q, want four ASCII characters", c.Type)
		}
	}
	return nil
}

func checkSize(n uint64) error {
	if n > MaxFile {
		return fmt.Errorf("a file of %d bytes, want at most %d", n, uint64(MaxFile))
	}
	return nil
}

// mostEvent is the longest channel event: a delta time of four bytes, status and two data bytes.
const mostEvent = 7

// guessSize allows five bytes an event, which music with two bytes of delta time and a status
// each just fills.
func (f *File) guessSize() int {
	n := 14
	for i := range f.Tracks {
		t := &f.Tracks[i]
		n += 8 + 5*len(t.Events) + len(t.bytes) + 8 + mostEvent
	}
	for _, c := range f.Chunks {
		n += 8 + len(c.Data)
	}
	return n
}

// writer fills a buffer of its own: buf[:n] is written.
type writer struct {
	buf []byte
	n   int
}

// room makes room for more bytes.
func (w *writer) room(more int) {
	if len(w.buf)-w.n < more {
		w.grow(more)
	}
}

func (w *writer) grow(more int) {
	buf := make([]byte, max(len(w.buf)+len(w.buf)/2, w.n+more))
	copy(buf, w.buf[:w.n])
	w.buf = buf
}

func (w *writer) chunk(c Chunk) {
	w.room(8 + len(c.Data))
	copy(w.buf[w.n:], c.Type[:])
	binary.BigEndian.PutUint32(w.buf[w.n+4:], uint32(len(c.Data)))
	copy(w.buf[w.n+8:], c.Data)
	w.n += 8 + len(c.Data)
}

// track writes a track chunk; its length is patched when it is known.
func (w *writer) track(t *Track) error {
	w.room(8)
	copy(w.buf[w.n:], "MTrk")
	start := w.n + 8
	w.n = start

	var now Tick
	var running byte
	for i, e := range t.Events {
		w.room(mostEvent + 1) // one more: short events are written as one word of eight bytes
		delta := e.Tick - now
		if uint64(delta) > maxVLQ {
			return badEvent(t, i, now)
		}
		now = e.Tick

		status := e.Status()
		if !e.IsChannel() {
			running = 0
			if err := w.long(t, i, uint32(delta)); err != nil {
				return err
			}
			continue
		}
		size := dataBytes(status)
		if !e.fits(size) {
			return badEvent(t, i, now)
		}
		// status and data bytes, or, under running status, the data bytes alone
		word := uint64(uint32(e.word))
		length := 1 + size
		if status == running {
			word >>= 8
			length--
		}
		running = status
		out := w.buf[w.n : w.n+8]
		switch {
		case delta < 1<<7:
			binary.LittleEndian.PutUint64(out, word<<8|uint64(delta))
			w.n += length + 1
		case delta < 1<<14:
			binary.LittleEndian.PutUint64(out, word<<16|uint64(delta&0x7F)<<8|uint64(delta>>7)|0x80)
			w.n += length + 2
		default:
			d := len(appendVLQ(out[:0], uint32(delta)))
			for j := range length {
				out[d+j] = byte(word >> (8 * j))
			}
			w.n += length + d
		}
	}
	if t.End < now {
		return badEvent(t, len(t.Events)-1, 0)
	}
	if t.End-now > maxVLQ {
		return fmt.Errorf("end of track at tick %d, want at most %d after the event before", t.End, maxVLQ)
	}
	w.room(mostEvent)
	w.n += len(appendVLQ(w.buf[w.n:w.n], uint32(t.End-now)))
	w.n += copy(w.buf[w.n:], "\xFF\x2F\x00")
	if err := checkSize(uint64(w.n)); err != nil {
		return err
	}
	binary.BigEndian.PutUint32(w.buf[start-4:], uint32(w.n-start))
	return nil
}

// fits tells whether a channel event has size data bytes below 80h, and nothing besides.
func (e Event) fits(size int) bool {
	const two, one = 0x80_80_00, 0xFF_80_00
	if size == 1 {
		return e.word&one == 0
	}
	return e.word&two == 0
}

// long writes event i of a track, which is no channel event.
func (w *writer) long(t *Track, i int, delta uint32) error {
	e := t.Events[i]
	data := t.Long(e)
	typ, meta := e.MetaType()
	if data == nil || !meta && !e.IsSysex() || meta && (typ > 0x7F || typ == MetaEndOfTrack) {
		return badEvent(t, i, e.Tick)
	}
	w.room(4 + 2 + 4 + len(data))
	out := append(appendVLQ(w.buf[w.n:w.n], delta), e.Status())
	if meta {
		out = append(out, typ)
	}
	out = append(appendVLQ(out, uint32(len(data))), data...)
	w.n += len(out)
	return nil
}

// badEvent says what is wrong with event i of a track, whose event before is at tick before.
func badEvent(t *Track, i int, before Tick) error {
	e := t.Events[i]
	status := e.Status()
	typ, meta := e.MetaType()
	var what string
	switch delta := e.Tick - before; {
	case i == len(t.Events)-1 && e.Tick > t.End:
		what = fmt.Sprintf("after the end of the track (tick %d)", t.End)
	case delta < 0:
		what = fmt.Sprintf("before tick %d, where the event before is", before)
	case delta > maxVLQ:
		what = fmt.Sprintf("more than %d ticks after the event before", maxVLQ)
	case meta && typ == MetaEndOfTrack:
		what = "an end of track, which is Track.End and no event"
	case meta && typ > 0x7F:
		what = fmt.Sprintf("meta type %#02x, want 00..7f", typ)
	case meta || e.IsSysex():
		what = "its payload is not in the track's store"
	case !e.IsChannel():
		what = fmt.Sprintf("status byte %#02x, want 80..ef, f0, f7 or ff", status)
	case dataBytes(status) == 1 && e.Data2() != 0 && e.Data1() < 0x80:
		what = fmt.Sprintf("a second data byte %#02x, want one for status %#02x", e.Data2(), status)
	default:
		what = fmt.Sprintf("data bytes %#02x %#02x, want 00..7f", e.Data1(), e.Data2())
	}
	return fmt.Errorf("event %d at tick %d: %s", i+1, e.Tick, what)
}
