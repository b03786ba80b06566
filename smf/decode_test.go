package smf_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"loopdraft/smf"
)

// The examples of RP-001 pp. 12-14 come back byte for byte. (Their SHA-256 sums were computed
// from the standard's text.)
func TestWorkedExamplesOfTheStandard(t *testing.T) {
	for _, row := range []struct{ name, hex, sum string }{
		{"format0", rp001Format0, "9c512dc6fc73b8bef93a39c93142b7e828cfe51bf5340b84fe0fc87f0b8536ed"},
		{"format1", rp001Format1, "83ba1f523c7d4591f9c190d76f5fc62e04c3eb0b4a87132e03067224061729c7"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := unhex(t, row.hex)
			if sum := fmt.Sprintf("%x", sha256.Sum256(b)); sum != row.sum {
				t.Fatalf("the test's own bytes have sum %s, want %s", sum, row.sum)
			}
			stored, err := os.ReadFile("../testdata/smf/rp001-" + row.name + ".mid")
			if err != nil || !bytes.Equal(stored, b) {
				t.Errorf("the stored file is not the example (%v)", err)
			}
			f := decode(t, b)
			if len(f.Warnings) > 0 {
				t.Errorf("warnings: %v", f.Warnings)
			}
			if got := encode(t, f); !bytes.Equal(got, b) {
				t.Errorf("written back:\n% x\nwant\n% x", got, b)
			}
		})
	}
}

// Both examples hold the same music: RP-001 p. 12 gives it as a table.
func TestBothWorkedExamplesHoldTheSameNotes(t *testing.T) {
	type note struct {
		channel, key, velocity byte
		on, off                smf.Tick
	}
	want := []note{{0, 76, 32, 192, 384}, {1, 67, 64, 96, 384}, {2, 48, 96, 0, 384}, {2, 60, 96, 0, 384}}
	for name, hex := range map[string]string{"format 0": rp001Format0, "format 1": rp001Format1} {
		f := decode(t, unhex(t, hex))
		var got []note
		programs := map[byte]byte{}
		for i := range f.Tracks {
			track := &f.Tracks[i]
			p := track.Pair()
			if len(p.Loose) > 0 {
				t.Errorf("%s: loose note-offs %v", name, p.Loose)
			}
			for _, n := range p.Notes {
				on, off := track.Events[n.On], track.Events[n.Off]
				got = append(got, note{on.Chan(), on.Data1(), on.Data2(), on.Tick, off.Tick})
			}
			for _, e := range track.Events {
				if e.Kind() == 0xC0 {
					programs[e.Chan()] = e.Data1()
				}
			}
			if track.End != 384 && f.Format == 0 {
				t.Errorf("%s: track ends at %d, want 384", name, track.End)
			}
		}
		slices.SortFunc(got, func(a, b note) int { return int(a.channel)<<7 + int(a.key) - int(b.channel)<<7 - int(b.key) })
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
		if programs[0] != 5 || programs[1] != 46 || programs[2] != 70 {
			t.Errorf("%s: programs %v, want 5, 46, 70", name, programs)
		}
		l, _, err := f.Timeline()
		if err != nil || l.TempoAt(0) != 500_000 || l.MetreIn(1) != (smf.Metre{Num: 4, Den: 4}) {
			t.Errorf("%s: tempo or metre differ (%v)", name, err)
		}
	}
}

func TestDecodeKeepsEverything(t *testing.T) {
	f := decode(t, file(t, 0, odd))
	if len(f.Warnings) > 0 {
		t.Errorf("warnings: %v", f.Warnings)
	}
	want := `
0 f043120007f7
0 f7f8
0 f7
0 ff00021234
0 ff0000
0 ff0300
0 ff200109
0 ff210102
0 ff54054102030405
0 ff5902f901
0 ff590203ff
0 ff60020001
0 ff7f0400206b01
0 ff7e00
0 a03c40
0 b00764
0 b00a40
0 c07f
0 c000
0 d010
0 e00040
0 903c01
0 903c7f
0 903c00
268435455 803c00
268435455 803c40
`
	if got := "\n" + list(&f.Tracks[0]); got != want {
		t.Errorf("got%swant%s", got, want)
	}
	if f.Tracks[0].End != 268435455 {
		t.Errorf("ends at %d", f.Tracks[0].End)
	}
}

// list shows a track's events, a line each: tick and message.
func list(track *smf.Track) string {
	var s strings.Builder
	for _, e := range track.Events {
		fmt.Fprintf(&s, "%d %x\n", e.Tick, []byte(track.Message(e)))
	}
	return s.String()
}

func TestPacketsOfSystemExclusive(t *testing.T) {
	b := file(t, 0, rp001Packets)
	f := decode(t, b)
	want := "0 f0431200\n200 f7431200431200\n300 f7431200f7\n"
	if got := list(&f.Tracks[0]); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if got := encode(t, f); !bytes.Equal(got, b) {
		t.Errorf("written back:\n% x\nwant\n% x", got, b)
	}
}

// Metas and system exclusive end running status (RP-001 p. 7): written anew, the status comes
// back after each, and is left out where nothing stands between.
func TestRunningStatusIsWritten(t *testing.T) {
	wasteful := file(t, 0, `
		00 90 3C 40  00 90 3C 00   # status twice
		00 FF 01 01 41             # text
		00 90 3C 40  00 80 3C 40   # form of the note-off kept
		00 FF 2F 00`)
	thrifty := file(t, 0, `
		00 90 3C 40  00 3C 00
		00 FF 01 01 41
		00 90 3C 40  00 80 3C 40
		00 FF 2F 00`)
	if got := encode(t, decode(t, wasteful)); !bytes.Equal(got, thrifty) {
		t.Errorf("got\n% x\nwant\n% x", got, thrifty)
	}
}

func TestUnknownChunksKeepTheirPlaces(t *testing.T) {
	end := "00 FF 2F 00"
	b := file(t, 1, end, end)
	second := firstEvent + 4
	b = slices.Concat(b[:14], chunk("AAAA", []byte("first")), b[14:second],
		chunk("BBBB", nil), chunk("CCCC", []byte{0}), b[second:], chunk("DDDD", []byte("last, odd")))
	f := decode(t, b)
	if len(f.Warnings) > 0 {
		t.Errorf("warnings: %v", f.Warnings)
	}
	var got []string
	for _, c := range f.Chunks {
		got = append(got, fmt.Sprintf("%d %s %q", c.Before, c.Type, c.Data))
	}
	want := []string{`0 AAAA "first"`, `1 BBBB ""`, `1 CCCC "\x00"`, `2 DDDD "last, odd"`}
	if !slices.Equal(got, want) {
		t.Errorf("chunks %q, want %q", got, want)
	}
	if again := encode(t, f); !bytes.Equal(again, b) {
		t.Errorf("written back:\n% x\nwant\n% x", again, b)
	}
}

// Time code divisions: bytes from RP-001 p. 4 (E2 50, E7 28), and those of 24 and 29 computed.
func TestTimeCodeAndFormat2ComeBack(t *testing.T) {
	for _, division := range []uint16{0xE250, 0xE728, 0xE804, 0xE364} {
		b := file(t, 0, odd)
		b[12], b[13] = byte(division>>8), byte(division)
		f := decode(t, b)
		if _, metrical := f.Division.PPQ(); metrical || len(f.Warnings) > 0 || uint16(f.Division) != division {
			t.Errorf("%#x: division %#x, warnings %v", division, uint16(f.Division), f.Warnings)
		}
		if again := decode(t, encode(t, f)); !smf.Equal(f, again) {
			t.Errorf("%#x: %s", division, smf.Diff(f, again))
		}
	}
	b := file(t, 2, rp001Packets, "00 FF 2F 00")
	if got := encode(t, decode(t, b)); !bytes.Equal(got, b) {
		t.Errorf("format 2 written back:\n% x\nwant\n% x", got, b)
	}
}

// What is repaired, and how the warning reads.
func TestRepairs(t *testing.T) {
	note := "00 90 3C 40  60 3C 00" // a note of 96 ticks
	end := " 00 FF 2F 00"
	good := file(t, 0, note+end)
	two := file(t, 1, note+end, note+end)
	patch := func(b []byte, at int, bytes ...byte) []byte {
		b = slices.Clone(b)
		copy(b[at:], bytes)
		return b
	}
	riff := func(chunks ...[]byte) []byte {
		body := append([]byte("RMID"), slices.Concat(chunks...)...)
		size := len(body)
		return append([]byte{'R', 'I', 'F', 'F', byte(size), byte(size >> 8), 0, 0}, body...)
	}
	little := func(typ string, data []byte) []byte {
		b := append([]byte(typ), byte(len(data)), byte(len(data)>>8), 0, 0)
		b = append(b, data...)
		if len(data)%2 == 1 {
			b = append(b, 0)
		}
		return b
	}
	for _, row := range []struct {
		name  string
		bytes []byte
		want  []byte // the file as it is written back
		warn  []string
	}{
		{"no end of track", file(t, 0, note), good,
			[]string{"track 1, byte 0x1d: no end of track; it ends with its last event, at tick 96"}},
		{"a track of nothing", file(t, 0, ""), file(t, 0, end),
			[]string{"track 1, byte 0x16: no end of track; it ends with its last event, at tick 0"}},
		{"end of track with a payload", file(t, 0, note+"00 FF 2F 02 01 02"), good,
			[]string{"track 1, byte 0x1e: end of track with a payload of 2 bytes, left out"}},
		{"zeros after the end of track", file(t, 0, note+end+"00 00 00"), good,
			[]string{"track 1, byte 0x21: left out 3 zeros after the end of track"}},
		{"the header counts more tracks", patch(good, 11, 3), good,
			[]string{"byte 0xe: the header's count of tracks is 3, the file has 1"}},
		{"the header counts fewer tracks", patch(two, 11, 1), two,
			[]string{"byte 0xe: the header's count of tracks is 1, the file has 2"}},
		{"format 0 with two tracks", patch(two, 9, 0), two,
			[]string{"byte 0xe: format 0 with 2 tracks, now format 1"}},
		{"the last track claims more than there is", patch(good, 21, 200), good,
			[]string{"track 1, byte 0x12: claims 200 bytes, the file has 11; its events are whole"}},
		{"the last track is cut between events", patch(good[:firstEvent+4], 21, 200),
			file(t, 0, "00 90 3C 40"+end),
			[]string{"track 1, byte 0x12: claims 200 bytes, the file has 4; its events are whole",
				"track 1, byte 0x1a: no end of track; it ends with its last event, at tick 0"}},
		{"a longer header", slices.Concat(good[:7], []byte{8}, good[8:14], []byte{1, 2}, good[14:]), good,
			[]string{"byte 0x4: header of 8 bytes; only the first 6 are known and kept"}},
		{"bytes after the last chunk", slices.Concat(good, []byte("bye")), good,
			[]string{"byte 0x21: left out 3 bytes after the last chunk"}},
		{"zeros after the last chunk", slices.Concat(good, make([]byte, 100)), good,
			[]string{"byte 0x21: left out 100 bytes after the last chunk"}},
		{"text after the last chunk", slices.Concat(good, []byte("Made by hand in 1998")), good,
			[]string{"byte 0x21: left out 20 bytes after the last chunk"}},
		{"a second header", slices.Concat(good, good[:14]), slices.Concat(good, good[:14]),
			[]string{"byte 0x21: a second header chunk, kept as a chunk of no meaning"}},
		{"an unknown format", patch(two, 9, 3), patch(two, 9, 3),
			[]string{"byte 0x8: unknown format 3, read as format 1"}},
		{"an unknown frame rate", patch(good, 12, 0xFF, 10), patch(good, 12, 0xFF, 10),
			[]string{"byte 0xc: 1 frames a second, not 24, 25, 29 or 30"}},
		{"an RMID wrapper", riff(little("data", good)), good,
			[]string{"byte 0x0: taken out of an RMID wrapper"}},
		{"an RMID wrapper with more in it", riff(little("LIST", []byte("odd")), little("data", good), little("DLS ", nil)), good,
			[]string{"byte 0x0: taken out of an RMID wrapper, whose other chunks (2) are left out"}},
		{"an RMID wrapper that is cut", riff(little("data", good))[:20+len(good)-4], good,
			[]string{"byte 0x0: taken out of an RMID wrapper",
				"track 1, byte 0x26: claims 11 bytes, the file has 7; its events are whole",
				"track 1, byte 0x31: no end of track; it ends with its last event, at tick 96"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			f := decode(t, row.bytes)
			var warn []string
			for _, w := range f.Warnings {
				warn = append(warn, w.String())
			}
			if !slices.Equal(warn, row.warn) {
				t.Errorf("warnings\n%s\nwant\n%s", strings.Join(warn, "\n"), strings.Join(row.warn, "\n"))
			}
			if got := encode(t, f); !bytes.Equal(got, row.want) {
				t.Errorf("written back:\n% x\nwant\n% x", got, row.want)
			}
		})
	}
}

// What is refused: where, and what was found.
func TestRefusals(t *testing.T) {
	good := file(t, 0, "00 90 3C 40  60 3C 00  00 FF 2F 00")
	header := func(at int, bytes ...byte) []byte {
		b := slices.Clone(good)
		copy(b[at:], bytes)
		return b
	}
	one := func(hex string) []byte { return file(t, 0, hex) }
	for _, row := range []struct {
		name   string
		bytes  []byte
		track  int
		offset int64
		found  string
		want   string
	}{
		{"nothing", nil, 0, 0, "the end of the file", `"MThd", the start of a Standard MIDI File`},
		{"a text", []byte("hello, world, this is no music"), 0, 0, `"hello, w"`, `"MThd", the start of a Standard MIDI File`},
		{"a file of two letters", []byte("MT"), 0, 2, "the end of the file", "14 bytes of header"},
		{"a cut header", good[:13], 0, 13, "the end of the file", "14 bytes of header"},
		{"a track first", good[14:], 0, 0, `"MTrk\x00\x00\x00\v"`, `"MThd", the start of a Standard MIDI File`},
		{"a short header", header(7, 5), 0, 4, "a header of 5 bytes", "6 (or a little more, inside the file)"},
		{"a header longer than the file", header(4, 6, 0, 0, 0), 0, 4, "a header of 100663296 bytes", "6 (or a little more, inside the file)"},
		{"division 0", header(12, 0, 0), 0, 12, "division 0", "1..32767 ticks a quarter note, or frames a second with 1..255 ticks"},
		{"no ticks a frame", header(12, 0xE7, 0), 0, 12, "0 ticks a frame", "1..32767 ticks a quarter note, or frames a second with 1..255 ticks"},
		{"a picture in a RIFF file", []byte("RIFF\x08\x00\x00\x00WAVEdata"), 0, 0, "a RIFF file that is not RMID", `"MThd", the start of a Standard MIDI File`},
		{"a wrapper with nothing in it", []byte("RIFF\x04\x00\x00\x00RMID"), 0, 12, "no data chunk", `a "data" chunk in the RMID wrapper`},
		{"a wrapper with something else in it", []byte("RIFF\x10\x00\x00\x00RMIDdata\x04\x00\x00\x00oops"), 0, 20, `"oops"`, `"MThd", the start of a Standard MIDI File`},
		{"a track's name cut", good[:17], 0, 14, "3 bytes at the end of the file", "a chunk: track 1 of 1"},
		{"bytes where a track is due", slices.Concat(good[:14], []byte{0, 1, 2, 3, 4, 5, 6, 7, 8}), 0, 14, `"\x00\x01\x02\x03\x04\x05\x06\a"`, "a chunk: track 1 of 1"},
		{"an unknown chunk past the end where a track is due", slices.Concat(good[:14], []byte("XXXX\x00\x00\x00\x09abc")), 0, 14, `"XXXX\x00\x00\x00\t"`, "a chunk: track 1 of 1"},

		{"no status", one("00 3C 40 00 FF 2F 00"), 1, firstEvent + 1, "data byte 0x3c", "a status byte (nothing to repeat yet)"},
		{"no status after a text", one("00 90 3C 40 00 FF 01 00 00 3C 00 00 FF 2F 00"), 1, firstEvent + 9, "data byte 0x3c", "a status byte (nothing to repeat since the last meta or sysex event)"},
		{"no status after system exclusive", one("00 90 3C 40 00 F0 01 F7 00 3C 00 00 FF 2F 00"), 1, firstEvent + 9, "data byte 0x3c", "a status byte (nothing to repeat since the last meta or sysex event)"},
		{"no status after an escape", one("00 90 3C 40 00 F7 00 00 3C 00 00 FF 2F 00"), 1, firstEvent + 8, "data byte 0x3c", "a status byte (nothing to repeat since the last meta or sysex event)"},
		{"running status does not pass into a track", file(t, 1, "00 90 3C 40 00 FF 2F 00", "00 3C 00 00 FF 2F 00"), 2, firstEvent + 8 + 8 + 1, "data byte 0x3c", "a status byte (nothing to repeat yet)"},
		{"song position", one("00 F2 01 02 00 FF 2F 00"), 1, firstEvent + 1, "status byte 0xf2", "80..ef, f0, f7 or ff, those a file can hold"},
		{"timing clock", one("00 F8 00 FF 2F 00"), 1, firstEvent + 1, "status byte 0xf8", "80..ef, f0, f7 or ff, those a file can hold"},
		{"a first data byte over 127", one("00 90 BC 40 00 FF 2F 00"), 1, firstEvent + 2, "byte 0xbc", "a data byte, 00..7f"},
		{"a second data byte over 127", one("00 90 3C C0 00 FF 2F 00"), 1, firstEvent + 3, "byte 0xc0", "a data byte, 00..7f"},
		{"a program over 127", one("00 C0 80 00 FF 2F 00"), 1, firstEvent + 2, "byte 0x80", "a data byte, 00..7f"},
		{"a second data byte over 127 under running status", one("00 90 3C 40 00 3C FF 00 FF 2F 00"), 1, firstEvent + 6, "byte 0xff", "a data byte, 00..7f"},
		{"a meta type over 127", one("00 FF 80 00 00 FF 2F 00"), 1, firstEvent + 2, "meta type 0x80", "00..7f"},
		{"a delta time of five bytes", one("81 80 80 80 00 90 3C 40"), 1, firstEvent, "a quantity of more than four bytes", "at most ff ff ff 7f"},
		{"a length of five bytes", one("00 FF 01 80 80 80 80 00"), 1, firstEvent + 3, "a quantity of more than four bytes", "at most ff ff ff 7f"},
		{"a text past the chunk", one("00 FF 01 05 41 42 43"), 1, firstEvent + 3, "length 5", "at most 3, then comes the end of the track chunk"},
		{"system exclusive past the chunk", one("00 F0 FF FF FF 7F 41"), 1, firstEvent + 2, "length 268435455", "at most 1, then comes the end of the track chunk"},
		{"an end of track past the chunk", one("00 FF 2F 01"), 1, firstEvent + 3, "length 1", "at most 0, then comes the end of the track chunk"},
		{"an event after the end of track", one("00 FF 2F 00 00 90 3C 40"), 1, firstEvent + 5, "byte 0x90 after the end of track", "nothing but zeros up to byte 0x1e"},

		{"cut after a delta time", one("00"), 1, firstEvent + 1, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"cut in a delta time", one("00 90 3C 40 81"), 1, firstEvent + 5, "the end of the track chunk", "the rest of the event at byte 0x1a"},
		{"cut in a long delta time", one("00 90 3C 40 81 80 80"), 1, firstEvent + 7, "the end of the track chunk", "the rest of the event at byte 0x1a"},
		{"cut after a status", one("00 90"), 1, firstEvent + 2, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"cut after a key", one("00 90 3C"), 1, firstEvent + 3, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"cut before a program", one("00 C0"), 1, firstEvent + 2, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"cut after a key under running status", one("00 90 3C 40 00 3C"), 1, firstEvent + 6, "the end of the track chunk", "the rest of the event at byte 0x1a"},
		{"cut after FF", one("00 FF"), 1, firstEvent + 2, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"cut after a meta type", one("00 FF 2F"), 1, firstEvent + 3, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"cut in a length", one("00 F0 81"), 1, firstEvent + 3, "the end of the track chunk", "the rest of the event at byte 0x16"},
		{"the file is cut inside an event", good[:firstEvent+3], 1, firstEvent + 3, "the end of the file inside the track chunk", "the rest of the event at byte 0x16"},
		{"the file is cut inside a text", one("00 FF 01 03 41 42 43")[:firstEvent+6], 1, firstEvent + 3, "length 3", "at most 2, then comes the end of the file inside the track chunk"},
	} {
		t.Run(row.name, func(t *testing.T) {
			f, err := smf.Decode(row.bytes)
			var refusal *smf.Error
			if !errors.As(err, &refusal) {
				t.Fatalf("got %+v, %v; want a refusal", f, err)
			}
			if refusal.Track != row.track || refusal.Offset != row.offset || refusal.Found != row.found || refusal.Want != row.want {
				t.Errorf("track %d, byte %d: found %s, want %s\nwant\ntrack %d, byte %d: found %s, want %s",
					refusal.Track, refusal.Offset, refusal.Found, refusal.Want, row.track, row.offset, row.found, row.want)
			}
		})
	}
}

// Whatever the event before or after, and however near the end of the chunk, the same fault is
// found at the same place: the fast paths and the slow ones agree.
func TestRefusalsFarFromTheEnd(t *testing.T) {
	tail := strings.Repeat("00 B0 07 40 ", 10) + "00 FF 2F 00"
	for _, bad := range []string{
		"00 F4 ", "00 90 80 40 ", "00 90 40 80 ", "00 C0 FF ", "81 80 80 80 00 90 40 40 ", "00 FF 80 00 ", "FF FF FF FF 7F 90 40 40",
	} {
		near, errNear := smf.Decode(file(t, 0, bad))
		far, errFar := smf.Decode(file(t, 0, bad+tail))
		if errNear == nil || errFar == nil || errNear.Error() != errFar.Error() {
			t.Errorf("%s: at the end %v %v, before the end %v %v", bad, near, errNear, far, errFar)
		}
	}
}

func TestRefusalInWords(t *testing.T) {
	_, err := smf.Decode(file(t, 1, "00 FF 2F 00", `
		00 FF 03 05 62 61 73 73 00  # track name "bass", ended with a zero
		00 3C 40                    # a key without a status
		00 FF 2F 00`))
	want := `track 2 "bass", byte 0x2c: found data byte 0x3c, want a status byte (nothing to repeat since the last meta or sysex event)`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestTooManyTracks(t *testing.T) {
	empty := chunk("MTrk", []byte{0, 0xFF, 0x2F, 0})
	b := file(t, 1)
	b = append(b, bytes.Repeat(empty, 65535)...)
	b[10], b[11] = 0xFF, 0xFF
	f := decode(t, b)
	if len(f.Tracks) != 65535 || len(f.Warnings) > 0 {
		t.Errorf("%d tracks, warnings %v", len(f.Tracks), f.Warnings)
	}
	if got := encode(t, f); !bytes.Equal(got, b) {
		t.Error("65535 tracks do not come back")
	}
	var refusal *smf.Error
	if _, err := smf.Decode(append(b, empty...)); !errors.As(err, &refusal) || refusal.Found != "65536 tracks" {
		t.Errorf("65536 tracks: %v", err)
	}
}

func TestWarningsAreBounded(t *testing.T) {
	b := file(t, 1)
	b = append(b, bytes.Repeat(chunk("MTrk", nil), 1000)...)
	b[10], b[11] = 1000>>8, 1000&0xFF
	f := decode(t, b)
	if len(f.Warnings) != 101 {
		t.Fatalf("%d warnings, want 100 and a last one", len(f.Warnings))
	}
	if got := f.Warnings[100].String(); got != "900 more repairs" {
		t.Errorf("the last one is %q", got)
	}
}

func TestDecodeKeepsNothingOfItsInput(t *testing.T) {
	b := append(file(t, 0, odd), chunk("AAAA", []byte("kept"))...)
	f := decode(t, b)
	before := encode(t, f)
	clear(b)
	if !bytes.Equal(encode(t, f), before) {
		t.Error("clearing the input changed the file")
	}
}

// Lists are clipped, so that appending to what several songs share writes into no other's memory.
func TestDecodedTracksAreClipped(t *testing.T) {
	f := decode(t, encode(t, synthetic(3000)))
	for i := range f.Tracks {
		track := &f.Tracks[i]
		if cap(track.Events) != len(track.Events) || cap(track.LongStore()) != len(track.LongStore()) {
			t.Errorf("track %d: capacity past the length", i+1)
		}
	}
}

func TestRead(t *testing.T) {
	b := unhex(t, rp001Format1)
	f, err := smf.Read(iotest.OneByteReader(bytes.NewReader(b)))
	if err != nil || !smf.Equal(f, decode(t, b)) {
		t.Errorf("read byte by byte: %v", err)
	}
	broken := errors.New("broken")
	if _, err := smf.Read(io.MultiReader(bytes.NewReader(b), iotest.ErrReader(broken))); !errors.Is(err, broken) {
		t.Errorf("a reader's error becomes %v", err)
	}
}
