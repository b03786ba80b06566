package song_test

import (
	"fmt"
	"slices"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// tracksOf lists the tracks of a file, each as its name and what else stands on it.
func tracksOf(s song.Song) []string {
	f := s.File()
	var out []string
	for i := range f.Tracks {
		text := fmt.Sprintf("%q", s.Tracks[i].Name)
		for _, e := range f.Tracks[i].Events {
			if kind, meta := e.MetaType(); !meta {
				text += fmt.Sprintf(" %d:%x", e.Tick, e.Status())
			} else if kind != smf.MetaTrackName {
				text += fmt.Sprintf(" %d:meta %x", e.Tick, kind)
			}
		}
		out = append(out, text)
	}
	return out
}

func TestSpreadGivesEveryPartATrack(t *testing.T) {
	lyric := kitTrack()
	lyric.AppendMeta(96, 0x05, []byte("la"))
	for _, tt := range []struct {
		rule string
		kit  smf.Track
		want []string
	}{
		{"the kit's volume stands on the first of its sounds", kitTrack(), []string{
			`"Loop" 0:meta 51 384:meta 6`, `"kick" 0:b9 0:99 48:89`, `"hat" 48:99 96:89`, `"" 0:meta 5 0:90 96:80`}},
		{"what belongs to no part keeps its track", lyric, []string{
			`"Loop" 0:meta 51 384:meta 6`, `"Kit" 96:meta 5`, `"kick" 0:b9 0:99 48:89`, `"hat" 48:99 96:89`, `"" 0:meta 5 0:90 96:80`}},
	} {
		s := kit(from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), tt.kit, bassTrack()}}), 1)
		got, err := s.Spread()
		if err != nil {
			t.Fatal(err)
		}
		if tracks := tracksOf(got); !slices.Equal(tracks, tt.want) {
			t.Errorf("%s: found %q, want %q", tt.rule, tracks, tt.want)
		}
		for i, p := range got.Parts {
			if p.Name != s.Parts[i].Name || !slices.Equal(onsets(p), onsets(s.Parts[i])) {
				t.Errorf("%s: %s is another part", tt.rule, p.Name)
			}
		}
	}
}

// TestSpreadOfOneTrack: a file of format 0 becomes one of format 1, the conductor before the parts.
func TestSpreadOfOneTrack(t *testing.T) {
	one := kitTrack()
	one.AppendMeta(96, 0x21, []byte{1})                                         // a port
	one.Events = append([]smf.Event{smf.Channel(0, 0xC0, 1, 0)}, one.Events...) // of a channel without notes
	s, err := kit(from(t, &smf.File{Format: 0, Division: 96, Tracks: []smf.Track{one}}), 0).Spread()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := tracksOf(s), []string{`"Kit" 0:c0 96:meta 21`, `"kick" 0:b9 0:99 48:89 96:meta 21`, `"hat" 48:99 96:89 96:meta 21`}; !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
	if f := s.File(); f.Format != 1 {
		t.Errorf("found format %d, want 1", f.Format)
	}
}

// TestSpreadKeepsAKeyStruckByTwoPartsApart: where a note of one part starts as one of another ends on their key, the
// order of tracks would let the end stop the new note.
func TestSpreadKeepsAKeyStruckByTwoPartsApart(t *testing.T) {
	var b smf.Track
	for _, at := range []smf.Tick{0, 48} {
		b.Append(smf.Channel(at, 0x99, 38, 100))
		b.Append(smf.Channel(at+48, 0x89, 38, 64))
	}
	s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{b}})
	back, rest := s.Parts[0], s.Parts[0]
	back.Name, back.Notes = "backbeat", s.Parts[0].Notes[1:]
	rest.Name, rest.Notes = "rest", s.Parts[0].Notes[:1]
	s.Parts = []song.Part{back, rest}
	got, err := s.Spread()
	if err != nil {
		t.Fatal(err)
	}
	if first, second := onsets(got.Parts[0]), onsets(got.Parts[1]); fmt.Sprint(first, second) != "[48 96 38 100] [0 47 38 100]" {
		t.Errorf("found %v and %v, want [48 96 38 100] and [0 47 38 100]", first, second)
	}
}

func TestPiecesAreNotSpread(t *testing.T) {
	if _, err := from(t, &smf.File{Format: 2, Division: 96, Tracks: []smf.Track{kitTrack()}}).Spread(); err == nil {
		t.Error("of format 2: found no error")
	}
}
