package smf_test

import (
	"fmt"
	"testing"

	"loopdraft/smf"
)

// dice is splitmix64 (Steele, Lea, Flood 2014; constants from memory): the same music every time.
type dice uint64

func (d *dice) next() uint64 {
	*d += 0x9E3779B97F4A7C15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return z ^ z>>31
}

func (d *dice) below(n int) int { return int(d.next() % uint64(n)) }

// synthetic makes a format 1 file of about the given number of events: a conductor track and
// seven parts at 480 ticks a quarter note, drums and chords in sixteenths with played timing,
// note-offs in both forms, and a tenth of controllers, bends, programs and pressures.
func synthetic(events int) *smf.File {
	f := &smf.File{Format: 1, Division: 480, Tracks: make([]smf.Track, 8)}
	f.Tracks[0].AppendMeta(0, 0x58, []byte{4, 2, 24, 8})
	f.Tracks[0].AppendMeta(0, 0x51, []byte{7, 0xA1, 0x20})
	d := dice(events)
	for i := 1; i < len(f.Tracks); i++ {
		t := &f.Tracks[i]
		t.AppendMeta(0, 3, fmt.Appendf(nil, "part %d", i))
		ch := byte(i)
		off := 0x80 | ch
		if i%2 == 0 {
			off = 0x90 | ch
		}
		velocity := byte(0)
		if off>>4 == 8 {
			velocity = 64
		}
		for tick := smf.Tick(0); len(t.Events) < events/7; tick += 120 {
			at := tick + smf.Tick(d.below(10))
			keys := 1 + d.below(3)
			for k := range keys {
				t.Append(smf.Channel(at, 0x90|ch, byte(40+12*k+d.below(12)), byte(1+d.below(127))))
			}
			on := t.Events[len(t.Events)-keys:]
			if d.below(3) == 0 {
				status := []byte{0xA0, 0xB0, 0xB0, 0xB0, 0xC0, 0xD0, 0xE0}[d.below(7)]
				second := byte(d.below(128))
				if status == 0xC0 || status == 0xD0 {
					second = 0
				}
				first := byte(d.below(128))
				if status == 0xB0 {
					first = []byte{1, 7, 10, 11, 64, 71, 74, 91}[first%8] // each sound by itself, no data entry
				}
				t.Append(smf.Channel(at+20, status|ch, first, second))
			}
			until := at + 30 + smf.Tick(d.below(80))
			for _, e := range on {
				t.Append(smf.Channel(until, off, e.Data1(), velocity))
			}
		}
	}
	return f
}

func encode(tb testing.TB, f *smf.File) []byte {
	tb.Helper()
	b, err := f.Encode()
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

func decode(tb testing.TB, b []byte) *smf.File {
	tb.Helper()
	f, err := smf.Decode(b)
	if err != nil {
		tb.Fatal(err)
	}
	return f
}
