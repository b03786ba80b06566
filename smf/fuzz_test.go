package smf_test

import (
	"bytes"
	"testing"

	"loopdraft/smf"
)

// Any bytes are an error, or a file that comes back the same; see law.
func FuzzDecode(f *testing.F) {
	for _, b := range goodFiles(f) {
		f.Add(b)
	}
	f.Add(file(f, 0, "00 90 3C 40  60 3C 00"))                         // no end of track
	f.Add(append(file(f, 0, "00 FF 2F 00 00 00"), "tail"...))          // zeros and a tail
	f.Add(append(file(f, 1, "00 FF 2F 00"), file(f, 1, odd)[:14]...))  // a second header
	f.Add(file(f, 3, "00 FF 58 04 03 02 18 08 60 FF 2F 00", odd, odd)) // unknown format
	f.Fuzz(func(t *testing.T, b []byte) { law(t, b) })
}

func (b *script) byte() byte {
	if len(*b) == 0 {
		return 0
	}
	c := (*b)[0]
	*b = (*b)[1:]
	return c
}

// script is bytes that tell how to make a file.
type script []byte

// file makes a file that can be written, whatever the script.
func (b *script) file() *smf.File {
	f := &smf.File{Format: uint16(b.byte() % 4), Division: smf.Division(b.byte())<<8 | smf.Division(b.byte()) | 1}
	tracks := 1
	if f.Format > 0 {
		tracks = int(b.byte() % 4)
	}
	f.Tracks = make([]smf.Track, tracks)
	for i := range f.Tracks {
		t := &f.Tracks[i]
		tick := smf.Tick(0)
		for n := b.byte(); n > 0; n-- {
			tick += smf.Tick(b.byte()) << (b.byte() % 21)
			switch kind := b.byte(); {
			case kind >= 0xF8:
				typ := b.byte() & 0x7F
				if typ == 0x2F {
					typ = 1
				}
				t.AppendMeta(tick, typ, b.take())
			case kind >= 0xF4:
				t.AppendSysex(tick, 0xF0, b.take())
			case kind >= 0xF0:
				t.AppendSysex(tick, 0xF7, b.take())
			default:
				status := 0x80 + kind%0x70 // 80h..EFh
				e := smf.Channel(tick, status, b.byte()&0x7F, 0)
				if status < 0xC0 || status >= 0xE0 {
					e = smf.Channel(tick, status, e.Data1(), b.byte()&0x7F)
				}
				t.Append(e)
			}
		}
		t.End = tick + smf.Tick(b.byte())<<(b.byte()%21)
	}
	for n := b.byte() % 4; n > 0; n-- {
		c := smf.Chunk{Before: int(b.byte()) % (tracks + 1), Type: [4]byte{'A' + b.byte()%26, 'B', 'C', ' '}, Data: b.take()}
		// Chunks are written in the order of their places.
		if last := len(f.Chunks) - 1; last >= 0 {
			c.Before = max(c.Before, f.Chunks[last].Before)
		}
		f.Chunks = append(f.Chunks, c)
	}
	return f
}

// take takes up to 255 bytes off the script.
func (b *script) take() []byte {
	n := min(int(b.byte()), len(*b))
	data := (*b)[:n:n]
	*b = (*b)[n:]
	return data
}

// Any file that can be made is written, and read as it was: decode(encode(f)) == f.
func FuzzRoundTrip(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{0, 0, 96, 4, 0, 0, 0x90, 60, 100, 24, 0, 0x90, 60, 0, 0, 0, 0xC1, 5, 0, 0, 0xC1, 6, 96, 3})
	f.Add([]byte{1, 0, 96, 2, 2, 0, 0, 0xFF, 3, 4, 'b', 'a', 's', 's', 200, 20, 0xF4, 2, 1, 0xF7, 0, 0, 1, 9, 9, 0xF0, 0, 5, 5, 1, 1, 3, 1, 'x'})
	f.Add([]byte{2, 0xE7, 0x28, 3, 1, 255, 20, 0xE0, 0, 64, 0, 0, 0, 0})
	f.Fuzz(func(t *testing.T, b []byte) {
		s := script(b)
		made := s.file()
		once, err := made.Encode()
		if err != nil {
			t.Fatalf("cannot be written: %v", err)
		}
		back, err := smf.Decode(once)
		if err != nil {
			t.Fatalf("cannot be read: %v\n% x", err, once)
		}
		if diff := smf.Diff(made, back); diff != "" {
			t.Fatalf("comes back with a difference: %s\n% x", diff, once)
		}
		// Format 3 and frame rates like 17 are legal to make and told when read.
		if ppq, metrical := back.Division.PPQ(); metrical && made.Format < 3 && len(back.Warnings) > 0 {
			t.Fatalf("at %d ticks a quarter note: %v", ppq, back.Warnings)
		}
		twice, err := back.Encode()
		if err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("written twice with different bytes (%v)", err)
		}
	})
}
