package smf_test

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"testing"

	"loopdraft/smf"
)

func TestEncodeRefusesWhatNoFileCanHold(t *testing.T) {
	note := smf.Channel(0, 0x90, 60, 100)
	track := func(end smf.Tick, events ...smf.Event) smf.Track { return smf.Track{Events: events, End: end} }
	named := func(events ...smf.Event) smf.Track {
		var t smf.Track
		t.AppendMeta(0, 3, []byte("bass"))
		for _, e := range events {
			t.Append(e)
		}
		return t
	}
	var texts smf.Track
	texts.AppendMeta(7, 1, []byte("text"))
	var endless smf.Track
	endless.AppendMeta(0, 0x80, nil)
	store, end := smf.AppendLong(nil, 3, 0xFF, 0x2F, nil)
	for _, row := range []struct {
		name string
		file smf.File
		want string
	}{
		{"too late", smf.File{Tracks: []smf.Track{named(note.At(0x10000000))}},
			`track 1 "bass": event 2 at tick 268435456: more than 268435455 ticks after the event before`},
		{"backwards", smf.File{Tracks: []smf.Track{named(note.At(10), note.At(9))}},
			`track 1 "bass": event 3 at tick 9: before tick 10, where the event before is`},
		{"before the start", smf.File{Tracks: []smf.Track{track(0, note.At(-1))}},
			"track 1: event 1 at tick -1: before tick 0, where the event before is"},
		{"after the end", smf.File{Tracks: []smf.Track{track(9, note, note.At(10))}},
			"track 1: event 2 at tick 10: after the end of the track (tick 9)"},
		{"an end too late", smf.File{Tracks: []smf.Track{track(0x10000001, note.At(1))}},
			"track 1: end of track at tick 268435457, want at most 268435455 after the event before"},
		{"no event", smf.File{Tracks: []smf.Track{track(0, smf.Event{})}},
			"track 1: event 1 at tick 0: status byte 0x00, want 80..ef, f0, f7 or ff"},
		{"timing clock", smf.File{Tracks: []smf.Track{track(0, smf.Channel(0, 0xF8, 0, 0))}},
			"track 1: event 1 at tick 0: status byte 0xf8, want 80..ef, f0, f7 or ff"},
		{"a first data byte over 127", smf.File{Tracks: []smf.Track{track(0, smf.Channel(0, 0x80, 128, 0))}},
			"track 1: event 1 at tick 0: data bytes 0x80 0x00, want 00..7f"},
		{"a second data byte over 127", smf.File{Tracks: []smf.Track{track(0, smf.Channel(0, 0xE5, 0, 200))}},
			"track 1: event 1 at tick 0: data bytes 0x00 0xc8, want 00..7f"},
		{"a program over 127", smf.File{Tracks: []smf.Track{track(0, smf.Channel(0, 0xC0, 128, 0))}},
			"track 1: event 1 at tick 0: data bytes 0x80 0x00, want 00..7f"},
		{"a program of two bytes", smf.File{Tracks: []smf.Track{track(0, smf.Channel(0, 0xC0, 1, 2))}},
			"track 1: event 1 at tick 0: a second data byte 0x02, want one for status 0xc0"},
		{"a payload that is elsewhere", smf.File{Tracks: []smf.Track{track(7, texts.Events...)}},
			"track 1: event 1 at tick 7: its payload is not in the track's store"},
		{"a meta type over 127", smf.File{Tracks: []smf.Track{endless}},
			"track 1: event 1 at tick 0: meta type 0x80, want 00..7f"},
		{"an end of track among the events", smf.File{Tracks: []smf.Track{smf.TrackFromStore([]smf.Event{end}, 3, store)}},
			"track 1: event 1 at tick 3: an end of track, which is Track.End and no event"},
		{"format 0 with two tracks", smf.File{Tracks: make([]smf.Track, 2)},
			"format 0 with 2 tracks, want one (or format 1)"},
		{"too many tracks", smf.File{Format: 1, Tracks: make([]smf.Track, 65536)},
			"65536 tracks, want at most 65535"},
		{"a track among the chunks", smf.File{Chunks: []smf.Chunk{{Type: [4]byte([]byte("MTrk"))}}},
			"a chunk of type MTrk among the unknown ones"},
		{"a chunk without a type", smf.File{Chunks: []smf.Chunk{{}}},
			`chunk type "\x00\x00\x00\x00", want four ASCII characters`},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.file.Division = 96
			b, err := row.file.Encode()
			if err == nil || err.Error() != row.want {
				t.Errorf("got  %v\nwant %s", err, row.want)
			}
			if b != nil {
				t.Error("bytes and an error")
			}
		})
	}
	for _, division := range []smf.Division{0, 0xE800} {
		if _, err := (&smf.File{Division: division}).Encode(); err == nil {
			t.Errorf("division %#x is written", uint16(division))
		}
	}
}

// The buffer's guess allows five bytes an event; longer ones must find room, too.
func TestEncodeGrowsItsBuffer(t *testing.T) {
	f := &smf.File{Format: 0, Division: 96, Tracks: make([]smf.Track, 1)}
	track := &f.Tracks[0]
	for i := range smf.Tick(2000) {
		track.Append(smf.Channel(i*0x300000, 0x90|byte(i%2), 60, 1))
	}
	if again := decode(t, encode(t, f)); !smf.Equal(f, again) {
		t.Error(smf.Diff(f, again))
	}
}

// Every length of delta time, with and without running status, one and two data bytes.
func TestEncodeDeltaTimes(t *testing.T) {
	f := &smf.File{Format: 0, Division: 96, Tracks: make([]smf.Track, 1)}
	track := &f.Tracks[0]
	tick := smf.Tick(0)
	for _, delta := range []smf.Tick{0, 1, 0x7F, 0x80, 0x3FFF, 0x4000, 0x1FFFFF, 0x200000, 0x0FFFFFFF} {
		for _, status := range []byte{0x90, 0x90, 0xC1, 0xC1} {
			tick += delta
			second := byte(0x7F)
			if status == 0xC1 {
				second = 0
			}
			track.Append(smf.Channel(tick, status, 0x55, second))
		}
		tick += delta
		track.AppendSysex(tick, 0xF0, bytes.Repeat([]byte{1}, int(delta%500)))
	}
	track.End = tick + 0x0FFFFFFF
	if again := decode(t, encode(t, f)); !smf.Equal(f, again) {
		t.Error(smf.Diff(f, again))
	}
}

// A chunk whose place is past the tracks, say because a track was taken out, is written last.
func TestChunksWhosePlaceIsGone(t *testing.T) {
	f := &smf.File{Format: 1, Division: 96, Tracks: make([]smf.Track, 1), Chunks: []smf.Chunk{
		{Before: 5, Type: [4]byte([]byte("LAST"))},
		{Before: -1, Type: [4]byte([]byte("FRST"))},
	}}
	g := decode(t, encode(t, f))
	if len(g.Chunks) != 2 || g.Chunks[0].Type != f.Chunks[1].Type || g.Chunks[0].Before != 0 || g.Chunks[1].Before != 1 {
		t.Errorf("chunks %v", g.Chunks)
	}
	if f.Chunks[0].Before != 5 {
		t.Error("writing changed the file")
	}
}

type shortWriter struct{ err error }

func (w shortWriter) Write(b []byte) (int, error) { return len(b) / 2, w.err }

func TestWriteTo(t *testing.T) {
	f := decode(t, unhex(t, rp001Format0))
	var b bytes.Buffer
	if n, err := f.WriteTo(&b); err != nil || n != 81 || !bytes.Equal(b.Bytes(), unhex(t, rp001Format0)) {
		t.Errorf("%d bytes, %v", n, err)
	}
	if n, err := f.WriteTo(shortWriter{}); !errors.Is(err, io.ErrShortWrite) || n != 40 {
		t.Errorf("a writer that takes half: %d, %v", n, err)
	}
	full := errors.New("disk full")
	if _, err := f.WriteTo(shortWriter{full}); !errors.Is(err, full) {
		t.Errorf("a writer's error becomes %v", err)
	}
	b.Reset()
	if _, err := (&smf.File{}).WriteTo(&b); err == nil || b.Len() > 0 {
		t.Errorf("a file that cannot be written: %d bytes, %v", b.Len(), err)
	}
}

func TestDiffNamesTheFirstDifference(t *testing.T) {
	base := func() *smf.File {
		return decode(t, append(file(t, 1, odd, rp001Packets), chunk("ABCD", []byte("x"))...))
	}
	for _, row := range []struct {
		want   string
		change func(f *smf.File)
	}{
		{"", func(f *smf.File) { f.Warnings = []smf.Warning{{Text: "does not count"}} }},
		{"format 1 and 2", func(f *smf.File) { f.Format = 2 }},
		{"division 0x0060 and 0xe728", func(f *smf.File) { f.Division = 0xE728 }},
		{"2 and 1 tracks", func(f *smf.File) { f.Tracks = f.Tracks[:1] }},
		{"track 2: 3 and 2 events", func(f *smf.File) { f.Tracks[1].Events = f.Tracks[1].Events[:2] }},
		{"track 2: end at tick 300 and 301", func(f *smf.File) { f.Tracks[1].End++ }},
		{"track 2: event 2: tick 200, f7 43 12 00 43 12 00 and tick 201, f7 43 12 00 43 12 00", func(f *smf.File) {
			f.Tracks[1].Events[1] = f.Tracks[1].Events[1].At(201)
		}},
		{"track 1: event 4: tick 0, ff 00 02 12 34 and tick 0, ff 00 02 12 35", func(f *smf.File) {
			f.Tracks[0].Long(f.Tracks[0].Events[3])[1]++
		}},
		{"track 1: event 16: tick 0, b0 07 64 and tick 0, b0 07 65", func(f *smf.File) {
			f.Tracks[0].Events[15] = smf.Channel(0, 0xB0, 7, 0x65)
		}},
		{"1 and 0 unknown chunks", func(f *smf.File) { f.Chunks = nil }},
		{`unknown chunk 1: "ABCD" of 1 bytes before track 3 and "ABCD" of 1 bytes before track 1`, func(f *smf.File) {
			f.Chunks = slices.Clone(f.Chunks)
			f.Chunks[0].Before = 0
		}},
	} {
		a, b := base(), base()
		row.change(b)
		if got := smf.Diff(a, b); got != row.want {
			t.Errorf("got  %s\nwant %s", got, row.want)
		}
		if smf.Equal(a, b) != (row.want == "") {
			t.Errorf("%q: Equal says otherwise", row.want)
		}
	}
}

// The same payloads at other places of their stores are the same music.
func TestEqualLooksThroughStores(t *testing.T) {
	a := decode(t, file(t, 0, rp001Packets))
	b := &smf.File{Division: 96, Tracks: make([]smf.Track, 1)}
	track := &b.Tracks[0]
	store, _ := smf.AppendLong(nil, 0, 0xFF, 1, []byte("something that is not used"))
	*track = smf.TrackFromStore(nil, a.Tracks[0].End, store)
	for _, e := range a.Tracks[0].Events {
		track.Append(track.CopyLong(&a.Tracks[0], e, e.Tick))
	}
	if diff := smf.Diff(a, b); diff != "" {
		t.Error(diff)
	}
}
