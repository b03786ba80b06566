package song_test

import (
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// build makes a one-track file at 96 ticks a quarter note from channel events.
func build(end smf.Tick, events ...smf.Event) *smf.File {
	var t smf.Track
	for _, e := range events {
		t.Append(e)
	}
	t.End = end
	return &smf.File{Format: 0, Division: 96, Tracks: []smf.Track{t}}
}

func on(t smf.Tick, key, vel byte) smf.Event { return smf.Channel(t, 0x90, key, vel) }
func off(t smf.Tick, key byte) smf.Event     { return smf.Channel(t, 0x80, key, 64) }

// sameFile fails unless From and File give back the file.
func sameFile(t testing.TB, f *smf.File) {
	t.Helper()
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	if d := smf.Diff(f, s.File()); d != "" {
		t.Errorf("not the same file: %s", d)
	}
}

func TestFromAndFileAreTheIdentity(t *testing.T) {
	for _, tt := range []struct {
		rule string
		file *smf.File
	}{
		{"a note", build(384, on(0, 60, 100), off(96, 60))},
		{"a note-off as a note-on of velocity 0", build(384, on(0, 60, 100), on(96, 60, 0))},
		{"two notes of one key overlap", build(384, on(0, 60, 100), on(48, 60, 90), off(96, 60), off(144, 60))},
		{"a loose note-off", build(384, off(0, 60), on(0, 60, 100), off(96, 60), off(96, 60))},
		{"an unclosed note", build(384, on(0, 60, 100), on(96, 62, 100), off(192, 62))},
		{"an off before an on at one tick", build(384, on(0, 60, 100), off(96, 60), on(96, 60, 100), off(192, 60))},
		{"an on before an off at one tick", build(384, on(0, 60, 100), on(96, 60, 100), off(96, 60), off(192, 60))},
		{"a note of no length", build(384, on(0, 60, 100), off(0, 60), on(96, 60, 1), off(96, 60))},
		{"controllers between notes at one tick", build(384,
			smf.Channel(0, 0xB0, 7, 100), on(0, 60, 100), smf.Channel(0, 0xB0, 7, 90), on(0, 64, 100), off(0, 64), smf.Channel(0, 0xB0, 7, 80), off(96, 60))},
		{"polyphonic pressure", build(384, on(0, 60, 100), smf.Channel(10, 0xA0, 60, 5), off(96, 60))},
		{"nothing at all", build(0)},
	} {
		t.Run(tt.rule, func(t *testing.T) { sameFile(t, tt.file) })
	}
}

func TestRealFilesComeBack(t *testing.T) {
	for _, real := range oracle.RealFiles(t) {
		f, err := smf.Decode(real.Bytes)
		if err != nil {
			t.Fatalf("%s: %v", real.Name, err)
		}
		sameFile(t, f)
	}
}

func TestNotesPairFirstOnFirstOff(t *testing.T) {
	s, err := song.From(build(384, on(0, 60, 100), on(48, 60, 90), off(96, 60), off(144, 60)))
	if err != nil {
		t.Fatal(err)
	}
	n := s.Parts[0].Notes
	if n[0].End != 96 || n[1].End != 144 {
		t.Errorf("ends at %d and %d, want 96 and 144", n[0].End, n[1].End)
	}
}

func TestUnclosedNotesEndAtTheNextOfTheirKey(t *testing.T) {
	s, err := song.From(build(384, on(0, 60, 100), on(96, 60, 90)))
	if err != nil {
		t.Fatal(err)
	}
	n := s.Parts[0].Notes
	if n[0].End != 96 || n[1].End != 384 || !n[0].Is(song.Open) || !n[1].Is(song.Open) {
		t.Errorf("got %+v, want ends at 96 and 384, both open", n)
	}
}

func TestFromRefusesWhatASongCannotHold(t *testing.T) {
	f := build(smf.MaxTicks + 1)
	if _, err := song.From(f); err == nil || !strings.Contains(err.Error(), "want at most 268435455") {
		t.Errorf("got %v, want an error that names the limit", err)
	}
}

func TestPartsAreTracksAndChannels(t *testing.T) {
	f := build(384, on(0, 60, 100), smf.Channel(0, 0x91, 60, 100), off(96, 60), smf.Channel(96, 0x81, 60, 64))
	f.Tracks = append(f.Tracks, f.Tracks[0])
	f.Format = 1
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Parts) != 4 || s.Parts[1].Channel != 1 || s.Parts[2].Track != 1 {
		t.Errorf("got %d parts, want one per track and channel", len(s.Parts))
	}
}

// FuzzIdentity states the law: every file that From accepts comes back event for event.
func FuzzIdentity(f *testing.F) {
	for _, seed := range []*smf.File{
		build(384, on(0, 60, 100), on(48, 60, 90), off(96, 60), off(144, 60)),
		build(384, off(0, 60), on(0, 60, 100), off(0, 60)),
	} {
		b, err := seed.Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := smf.Decode(b)
		if err != nil {
			return
		}
		if _, err := song.From(file); err != nil {
			return
		}
		sameFile(t, file)
	})
}
