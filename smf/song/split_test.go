package song_test

import (
	"fmt"
	"slices"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// metas lists the meta events of a track as "tick type text", types in hex.
func metas(t *smf.Track) []string {
	var out []string
	for _, e := range t.Events {
		if kind, meta := e.MetaType(); meta {
			out = append(out, fmt.Sprintf("%d %02x %s", e.Tick, kind, t.Long(e)))
		}
	}
	return out
}

func from(t *testing.T, f *smf.File) song.Song {
	t.Helper()
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// tempo120 is a tempo payload, 500,000 microseconds (RP-001 p. 9).
const tempo120 = "\x07\xa1\x20"

func conductorTrack() smf.Track {
	var c smf.Track
	c.AppendMeta(0, 0x03, []byte("Loop"))
	c.AppendMeta(0, 0x51, []byte(tempo120))
	c.AppendMeta(384, 0x06, []byte("drop"))
	c.End = 768
	return c
}

func kickTrack() smf.Track {
	var k smf.Track
	k.AppendMeta(0, 0x03, []byte("Kick 909!"))
	k.Append(smf.Channel(384, 0x99, 36, 100))
	k.Append(smf.Channel(480, 0x89, 36, 64))
	return k
}

func bassTrack() smf.Track {
	var b smf.Track
	b.AppendMeta(0, 0x05, []byte("la"))
	b.Append(smf.Channel(0, 0x90, 40, 100))
	b.Append(smf.Channel(96, 0x80, 40, 64))
	return b
}

func TestSplitFilesStandAlone(t *testing.T) {
	s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), kickTrack(), bassTrack()}})
	files := s.Split()
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
		if f.File.Format != 0 || len(f.File.Tracks) != 1 || f.File.Division != 96 {
			t.Errorf("%s: format %d, %d tracks, division %d", f.Name, f.File.Format, len(f.File.Tracks), f.File.Division)
		}
		track := f.File.Tracks[0]
		if track.End != 768 {
			t.Errorf("%s ends at %d, want the song's 768", f.Name, track.End)
		}
		if len(track.Events) == 0 || track.Events[0].Tick != 0 {
			t.Errorf("%s has no event at tick 0", f.Name)
		}
		b, err := f.File.Encode()
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		if back, err := smf.Decode(b); err != nil || !smf.Equal(back, f.File) {
			t.Errorf("%s does not come back: %v", f.Name, err)
		}
	}
	if want := []string{"01-kick-909", "02-track"}; !slices.Equal(names, want) {
		t.Fatalf("found files %v, want %v: the conductor has none of its own", names, want)
	}
	for i, want := range [][]string{
		{"0 03 Kick 909!", "0 51 " + tempo120, "384 06 drop"},
		{"0 03 track", "0 51 " + tempo120, "0 05 la", "384 06 drop"},
	} {
		if got := metas(&files[i].File.Tracks[0]); !slices.Equal(got, want) {
			t.Errorf("%s: found %q, want %q", names[i], got, want)
		}
	}
}

func TestSplitKeepsNotes(t *testing.T) {
	s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), kickTrack(), bassTrack()}})
	for i, f := range s.Split() {
		got := from(t, f.File)
		if len(got.Parts) != 1 || !slices.Equal(onsets(got.Parts[0]), onsets(s.Parts[i])) {
			t.Errorf("%s: the notes differ", f.Name)
		}
	}
}

// onsets drops the places of the events, which differ between files.
func onsets(p song.Part) []string {
	var out []string
	for _, n := range p.Notes {
		out = append(out, fmt.Sprint(n.Start, n.End, n.Key, n.Vel))
	}
	return out
}

func TestSplitOfOddFiles(t *testing.T) {
	for _, tt := range []struct {
		rule string
		file *smf.File
		want []string // name, end
	}{
		{"one track gives one file", &smf.File{Format: 0, Division: 96, Tracks: []smf.Track{kickTrack()}},
			[]string{"01-kick-909 480"}},
		{"conductor tracks alone are kept", &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack()}},
			[]string{"01-loop 768"}},
		{"tracks of format 2 keep their own length and tempo", &smf.File{Format: 2, Division: 96, Tracks: []smf.Track{kickTrack(), bassTrack()}},
			[]string{"01-kick-909 480", "02-track 96"}},
		{"no track, no file", &smf.File{Format: 1, Division: 96}, nil},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var got []string
			for _, f := range from(t, tt.file).Split() {
				got = append(got, fmt.Sprintf("%s %d", f.Name, f.File.Tracks[0].End))
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("found %q, want %q", got, tt.want)
			}
		})
	}
}

func TestSplitNamesAreSafeFileNames(t *testing.T) {
	for _, tt := range []struct{ rule, name, want string }{
		{"path separators and dots go", "../Bass/Sub", "01-bass-sub"},
		{"other scripts go", "Bässe 2", "01-b-sse-2"},
		{"nothing left is a track", "ベース", "01-track"},
		{"long names are cut", "aaaaaaaaaabbbbbbbbbbccccccccccddddddddddeeeee", "01-aaaaaaaaaabbbbbbbbbbccccccccccddddddddd"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			k := smf.Track{}
			k.AppendMeta(0, 0x03, []byte(tt.name))
			k.Append(smf.Channel(0, 0x99, 36, 100))
			files := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{k}}).Split()
			if len(files) != 1 || files[0].Name != tt.want {
				t.Errorf("found %v, want %s", files, tt.want)
			}
		})
	}
}

func TestSplitLeavesTheSongAsItWas(t *testing.T) {
	file := &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), kickTrack(), bassTrack()}}
	s := from(t, file)
	s.Split()
	if d := smf.Diff(file, s.File()); d != "" {
		t.Error(d)
	}
}

func ExampleSong_Split() {
	s, _ := song.ParseGrid(`
		kick x...x...x...x...
		bass ..x-..x-..x-..x-`)
	for _, f := range s.Split() {
		fmt.Println(f.Name)
	}
	// Output:
	// 01-kick
	// 02-bass
}
