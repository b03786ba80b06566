package smf

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// MaxFile is the size in bytes over which a file is refused: places in a track's store are 32-bit
// numbers.
const MaxFile = math.MaxUint32

// Read reads a Standard MIDI File to its end and decodes it; see [Decode]. What its first bytes say is
// no such file is read no further (see [Judge]). More than [MaxFile] bytes are refused.
func Read(r io.Reader) (*File, error) { return read(r, MaxFile) }

func read(r io.Reader, most int64) (*File, error) {
	var b bytes.Buffer
	if _, err := io.CopyN(&b, r, HeadBytes); err == nil {
		if err := Judge(b.Bytes()); err != nil {
			return nil, err
		}
		if _, err := b.ReadFrom(io.LimitReader(r, most+1-HeadBytes)); err != nil {
			return nil, err
		}
	} else if !errors.Is(err, io.EOF) {
		return nil, err
	}
	if int64(b.Len()) > most {
		return nil, tooLarge(most)
	}
	return Decode(b.Bytes())
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
// Anything whose meaning is lost is refused with an [*Error] that says where. At no time is more
// memory held than ten bytes per byte of the file, and 64 KiB, whatever lengths the file claims.
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
	typ, size = d.chunkType(p)
	return typ, size, typ == "MTrk" || typ != "" && size <= uint64(len(d.src)-p-8)
}

// chunkType returns the type and the size that are told at p; "" if there is no type.
func (d *decoder) chunkType(p int) (typ string, size uint64) {
	b := d.src[p:]
	if len(b) < 8 {
		return "", 0
	}
	for _, c := range b[:4] {
		if c < ' ' || c > '~' {
			return "", 0
		}
	}
	return string(b[:4]), uint64(binary.BigEndian.Uint32(b[4:]))
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
		if typ, ok := e.MetaType(); ok && typ == MetaTrackName {
			text := t.Long(e)
			return string(bytes.TrimRight(text[:min(len(text), 40)], "\x00 "))
		}
	}
	return ""
}
