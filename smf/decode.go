package smf

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strings"
)

// MaxFile is the size in bytes over which a file is refused: places in a track's store are 32-bit
// numbers.
const MaxFile = math.MaxUint32

const (
	metaTrackName  = 0x03
	metaEndOfTrack = 0x2F
	metaTempo      = 0x51
	metaMetre      = 0x58
)

// maxWarnings bounds the memory that a file with a flaw in every track can ask for.
const maxWarnings = 100

// Warning is an oddity that was repaired or read past; the result is usable.
type Warning struct {
	Track  int   // from 1; 0: the file as a whole
	Offset int64 // bytes from the start of the file; -1: no one place
	Text   string
}

// String returns the warning in one line: track and byte as far as known, then the text.
func (w Warning) String() string { return place(w.Track, "", w.Offset) + w.Text }

// Error is a refusal: the file means nothing certain from this byte on.
type Error struct {
	Track  int    // from 1; 0: not inside a track
	Name   string // the track's name, if it stood before the fault
	Offset int64  // bytes from the start of the file
	Found  string
	Want   string
}

// Error returns the refusal in one line: where, what was found, what was wanted.
func (e *Error) Error() string {
	return fmt.Sprintf("%sfound %s, want %s", place(e.Track, e.Name, e.Offset), e.Found, e.Want)
}

// place is the beginning of every message about a file, such as `track 2 "bass", byte 0x1a4: `.
func place(track int, name string, offset int64) string {
	var s strings.Builder
	if track > 0 {
		fmt.Fprintf(&s, "track %d", track)
		if name != "" {
			fmt.Fprintf(&s, " %q", name)
		}
	}
	if offset >= 0 {
		if track > 0 {
			s.WriteString(", ")
		}
		fmt.Fprintf(&s, "byte %#x", offset)
	}
	if s.Len() > 0 {
		s.WriteString(": ")
	}
	return s.String()
}

// Read reads a Standard MIDI File to its end and decodes it; see [Decode]. More than [MaxFile]
// bytes are refused.
func Read(r io.Reader) (*File, error) { return read(r, MaxFile) }

func read(r io.Reader, most int64) (*File, error) {
	b, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, err
	}
	if int64(len(b)) > most {
		return nil, tooLarge(most)
	}
	return Decode(b)
}

func tooLarge(most int64) *Error {
	return &Error{Offset: most, Found: "more bytes", Want: fmt.Sprintf("a file of at most %d bytes", most)}
}

// Decode reads a Standard MIDI File (RP-001), or one in a RIFF "RMID" wrapper. The file keeps
// nothing of b.
//
// Every event, every unknown chunk and the order of events within a track come back as they
// stood. What can be repaired without a guess is repaired with a warning in [File.Warnings]:
//
//   - a missing end of track: the track ends with its last event;
//   - an end of track with a payload, zeros after it;
//   - a header that counts other tracks than there are, a header chunk longer than 6 bytes;
//   - format 0 with several tracks: it becomes format 1;
//   - a last track whose length passes the end of the file but whose events are whole;
//   - bytes after the last chunk that are no chunk; a second header chunk (kept as a chunk);
//   - an RMID wrapper, whose other chunks are left out;
//   - formats over 2 and frame rates that RP-001 does not know are kept, with a warning.
//
// At most 100 warnings are kept; a last one counts the others.
//
// Anything whose meaning is lost is refused with an [*Error] that says where. Memory is at most
// ten bytes per byte of the file, and 64 KiB, whatever lengths the file claims.
func Decode(b []byte) (*File, error) {
	if uint64(len(b)) > MaxFile {
		return nil, tooLarge(MaxFile)
	}
	d := decoder{src: b, file: &File{}}
	if err := d.run(); err != nil {
		return nil, err
	}
	if d.unsaid > 0 {
		d.file.Warnings = append(d.file.Warnings, Warning{Offset: -1, Text: fmt.Sprintf("%d more repairs", d.unsaid)})
	}
	return d.file, nil
}

// decoder is one run of Decode.
type decoder struct {
	src    []byte // the file, cut to what the wrapper holds if there is one
	file   *File
	unsaid int // warnings past maxWarnings
}

func (d *decoder) warn(track, offset int, format string, args ...any) {
	if len(d.file.Warnings) >= maxWarnings {
		d.unsaid++
		return
	}
	d.file.Warnings = append(d.file.Warnings, Warning{track, int64(offset), fmt.Sprintf(format, args...)})
}

func refuse(offset int, found, want string) *Error {
	return &Error{Offset: int64(offset), Found: found, Want: want}
}

// run reads the file; it returns error, not *Error, so that nil stays nil.
func (d *decoder) run() error {
	start, err := d.unwrap()
	if err != nil {
		return err
	}
	claimed, p, err := d.header(start)
	if err != nil {
		return err
	}
	if err := d.chunks(p, claimed); err != nil {
		return err
	}
	return nil
}

// unwrap finds the file inside a RIFF "RMID" wrapper (MMA RP-029): chunks with little-endian
// lengths, padded to even, of which "data" is the file. It returns where the file starts.
func (d *decoder) unwrap() (int, *Error) {
	b := d.src
	if !bytes.HasPrefix(b, []byte("RIFF")) {
		return 0, nil
	}
	if len(b) < 12 || string(b[8:12]) != "RMID" {
		return 0, refuse(0, "a RIFF file that is not RMID", `"MThd", the start of a Standard MIDI File`)
	}
	start, end, left := -1, 0, 0
	// The RIFF length is not needed: writers disagree whether it counts padding.
	for p := 12; len(b)-p >= 8; {
		size := uint64(binary.LittleEndian.Uint32(b[p+4:]))
		rest := uint64(len(b) - p - 8)
		if start < 0 && string(b[p:p+4]) == "data" {
			start = p + 8
			end = start + int(min(size, rest))
		} else {
			left++
		}
		size += size & 1
		if size >= rest {
			break
		}
		p += 8 + int(size)
	}
	if start < 0 {
		return 0, refuse(12, "no data chunk", `a "data" chunk in the RMID wrapper`)
	}
	text := "taken out of an RMID wrapper"
	if left > 0 {
		text += fmt.Sprintf(", whose other chunks (%d) are left out", left)
	}
	d.warn(0, 0, "%s", text)
	d.src = b[:end]
	return start, nil
}

// header reads the header chunk at p: it returns how many tracks it claims and where the next
// chunk is.
func (d *decoder) header(p int) (claimed, next int, err *Error) {
	b := d.src[p:]
	if id := b[:min(len(b), 4)]; !bytes.HasPrefix([]byte("MThd"), id) || len(b) == 0 {
		found := "the end of the file"
		if len(b) > 0 {
			found = fmt.Sprintf("%q", b[:min(len(b), 8)])
		}
		return 0, 0, refuse(p, found, `"MThd", the start of a Standard MIDI File`)
	}
	if len(b) < 14 {
		return 0, 0, refuse(p+len(b), "the end of the file", "14 bytes of header")
	}
	size := binary.BigEndian.Uint32(b[4:])
	if size < 6 || uint64(size) > uint64(len(b)-8) {
		return 0, 0, refuse(p+4, fmt.Sprintf("a header of %d bytes", size), "6 (or a little more, inside the file)")
	}
	if size > 6 {
		d.warn(0, p+4, "header of %d bytes; only the first 6 are known and kept", size)
	}
	f := d.file
	f.Format = binary.BigEndian.Uint16(b[8:])
	claimed = int(binary.BigEndian.Uint16(b[10:]))
	f.Division = Division(binary.BigEndian.Uint16(b[12:]))
	if err := checkDivision(f.Division); err != "" {
		return 0, 0, refuse(p+12, err, "1..32767 ticks a quarter note, or frames a second with 1..255 ticks")
	}
	if _, rate := f.Division.PPQ(); !rate {
		switch fps := -int(int8(f.Division >> 8)); fps {
		case 24, 25, 29, 30: // RP-001 p. 4
		default:
			d.warn(0, p+12, "%d frames a second, not 24, 25, 29 or 30", fps)
		}
	}
	if f.Format > 2 {
		d.warn(0, p+8, "unknown format %d, read as format 1", f.Format)
	}
	return claimed, p + 8 + int(size), nil
}

// checkDivision says what is wrong with a division, nothing if it measures time.
func checkDivision(d Division) string {
	if ppq, metrical := d.PPQ(); metrical && ppq == 0 {
		return "division 0"
	} else if !metrical && d&0xFF == 0 {
		return "0 ticks a frame"
	}
	return ""
}

// isChunk tells whether a chunk with four ASCII characters as its type (RP-001 p. 3) starts at p,
// and lies inside the file. Tracks may pass its end.
func (d *decoder) isChunk(p int) (typ string, size uint64, ok bool) {
	b := d.src[p:]
	if len(b) < 8 {
		return "", 0, false
	}
	for _, c := range b[:4] {
		if c < ' ' || c > '~' {
			return "", 0, false
		}
	}
	typ, size = string(b[:4]), uint64(binary.BigEndian.Uint32(b[4:]))
	return typ, size, typ == "MTrk" || size <= uint64(len(b)-8)
}

// chunks reads all that follows the header.
func (d *decoder) chunks(p, claimed int) *Error {
	f := d.file
	tracks, others := d.countChunks(p)
	if tracks > math.MaxUint16 {
		return refuse(p, fmt.Sprintf("%d tracks", tracks), "at most 65535")
	}
	if tracks > 0 {
		f.Tracks = make([]Track, 0, tracks)
	}
	if others > 0 {
		f.Chunks = make([]Chunk, 0, others)
	}
	first := p
	for p < len(d.src) {
		typ, size, ok := d.isChunk(p)
		switch {
		case !ok && len(f.Tracks) < claimed:
			return refuse(p, d.glimpse(p), fmt.Sprintf("a chunk: track %d of %d", len(f.Tracks)+1, claimed))
		case !ok:
			d.warn(0, p, "left out %d bytes after the last chunk", len(d.src)-p)
			p = len(d.src)
			continue
		case typ == "MTrk":
			end := min(uint64(p)+8+size, uint64(len(d.src)))
			if err := d.track(p, int(end), size); err != nil {
				return err
			}
		default:
			if typ == "MThd" {
				d.warn(0, p, "a second header chunk, kept as a chunk of no meaning")
			}
			end := p + 8 + int(size)
			f.Chunks = append(f.Chunks, Chunk{
				Before: len(f.Tracks),
				Type:   [4]byte([]byte(typ)),
				Data:   bytes.Clone(d.src[p+8 : end]),
			})
		}
		p = int(min(uint64(p)+8+size, uint64(len(d.src))))
	}
	if len(f.Tracks) != claimed {
		d.warn(0, first, "the header's count of tracks is %d, the file has %d", claimed, len(f.Tracks))
	}
	if f.Format == 0 && len(f.Tracks) > 1 {
		d.warn(0, first, "format 0 with %d tracks, now format 1", len(f.Tracks))
		f.Format = 1
	}
	return nil
}

// countChunks counts the chunks ahead, so that their lists are made once; a header may claim
// 65,535 tracks in 14 bytes.
func (d *decoder) countChunks(p int) (tracks, others int) {
	for p < len(d.src) {
		typ, size, ok := d.isChunk(p)
		if !ok {
			break
		}
		if typ == "MTrk" {
			tracks++
		} else {
			others++
		}
		p = int(min(uint64(p)+8+size, uint64(len(d.src))))
	}
	return tracks, others
}

// glimpse shows the bytes at p.
func (d *decoder) glimpse(p int) string {
	b := d.src[p:]
	if len(b) < 8 {
		return fmt.Sprintf("%d bytes at the end of the file", len(b))
	}
	return fmt.Sprintf("%q", b[:8])
}

// track reads the track chunk from p to end, which claims size bytes of events.
func (d *decoder) track(p, end int, size uint64) *Error {
	body := d.src[p+8 : end]
	short := uint64(len(body)) < size
	number := len(d.file.Tracks) + 1

	t, r := readTrack(body, guessEvents(body))
	if r.fault == full {
		// The guess failed: count, and read again into the right size. Growing would hold
		// both lists, and more memory than a file may ask for.
		n, _ := countEvents(body, len(body))
		t, r = readTrack(body, n)
	}
	if r.fault != none {
		err := r.refusal(body, p+8, short)
		err.Track = number
		err.Name = t.name()
		return err
	}
	if short {
		d.warn(number, p+4, "claims %d bytes, the file has %d; its events are whole", size, len(body))
	}
	switch {
	case !r.ended:
		d.warn(number, end, "no end of track; it ends with its last event, at tick %d", t.End)
	case r.payload > 0:
		d.warn(number, p+8+r.at, "end of track with a payload of %d bytes, left out", r.payload)
	}
	if rest := len(body) - r.next; r.ended && rest > 0 {
		d.warn(number, p+8+r.next, "left out %d zeros after the end of track", rest)
	}
	d.file.Tracks = append(d.file.Tracks, t)
	return nil
}

// name returns the track's first name (FF 03), cut to 40 bytes, without the zeros some writers end
// it with.
func (t *Track) name() string {
	for _, e := range t.Events {
		if typ, ok := e.MetaType(); ok && typ == metaTrackName {
			text := t.Long(e)
			return string(bytes.TrimRight(text[:min(len(text), 40)], "\x00 "))
		}
	}
	return ""
}

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
	if status == 0xFF && metaType == metaEndOfTrack {
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
		// Twice the room, but never more than the rest of the chunk can fill.
		room := min(max(2*cap(t.bytes), need, 64), len(t.bytes)+len(body)-p)
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
				if at < len(body) && body[at] == metaEndOfTrack {
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
