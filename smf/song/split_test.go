package song_test

import (
	"fmt"
	"slices"
	"strings"
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

// kitTrack is a kick and a hat on one track and channel.
func kitTrack() smf.Track {
	var k smf.Track
	k.AppendMeta(0, 0x03, []byte("Kit"))
	k.Append(smf.Channel(0, 0xB9, 7, 90))
	k.Append(smf.Channel(0, 0x99, 36, 100))
	k.Append(smf.Channel(48, 0x89, 36, 64))
	k.Append(smf.Channel(48, 0x99, 42, 80))
	k.Append(smf.Channel(96, 0x89, 42, 64))
	return k
}

// kit hears the two sounds of kitTrack, which stands at an index, as parts.
func kit(s song.Song, track int) song.Song {
	for i, p := range s.Parts {
		if p.Track != track {
			continue
		}
		kick, hat := p, p
		kick.Name, kick.Keys, kick.Kit, kick.Notes = "kick", song.KeySet(36), true, p.Notes[:1]
		hat.Name, hat.Keys, hat.Kit, hat.Notes = "hat", song.KeySet(42), true, p.Notes[1:]
		s.Parts = slices.Concat(s.Parts[:i], []song.Part{kick, hat}, s.Parts[i+1:])
		return s
	}
	return s
}

func split(t *testing.T, s song.Song, by song.Cutting) []song.SplitFile {
	t.Helper()
	files, err := s.Split(by)
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func names(files []song.SplitFile) []string {
	var out []string
	for _, f := range files {
		out = append(out, f.Name)
	}
	return out
}

func TestSplitFilesStandAlone(t *testing.T) {
	s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), kickTrack(), bassTrack()}})
	files := split(t, s, song.ByTrack)
	for _, f := range files {
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
	if got, want := names(files), []string{"01-kick-909", "02-track"}; !slices.Equal(got, want) {
		t.Fatalf("found files %v, want %v: the conductor has none of its own", got, want)
	}
	for i, want := range [][]string{
		{"0 03 Kick 909!", "0 51 " + tempo120, "384 06 drop"},
		{"0 03 track", "0 51 " + tempo120, "0 05 la", "384 06 drop"},
	} {
		if got := metas(&files[i].File.Tracks[0]); !slices.Equal(got, want) {
			t.Errorf("%s: found %q, want %q", files[i].Name, got, want)
		}
		if got := from(t, files[i].File); len(got.Parts) != 1 || !slices.Equal(onsets(got.Parts[0]), onsets(s.Parts[i])) {
			t.Errorf("%s: the notes differ", files[i].Name)
		}
	}
}

func TestSoundsOfAKitAreSplitApart(t *testing.T) {
	pressed := kitTrack()
	pressed.Append(smf.Channel(96, 0xA9, 42, 50))
	s := kit(from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), pressed, bassTrack()}}), 1)
	files := split(t, s, song.ByPart)
	if got, want := names(files), []string{"01-kick", "02-hat", "03-part"}; !slices.Equal(got, want) {
		t.Fatalf("found files %v, want %v", got, want)
	}
	for i, want := range []string{"[0 48 36 100]", "[48 96 42 80]", "[0 96 40 100]"} {
		got := from(t, files[i].File)
		if len(got.Parts) != 1 || fmt.Sprint(onsets(got.Parts[0])) != want {
			t.Errorf("%s: found %v, want %s", files[i].Name, got.Parts, want)
		}
		if i < 2 && !slices.Contains(files[i].File.Tracks[0].Events, smf.Channel(0, 0xB9, 7, 90)) {
			t.Errorf("%s is without the volume of the kit's channel", files[i].Name)
		}
		if slices.Contains(files[i].File.Tracks[0].Events, smf.Channel(96, 0xA9, 42, 50)) != (i == 1) {
			t.Errorf("%s: the pressure on the hat's key is in another file than the hat's", files[i].Name)
		}
	}
}

// TestFilesHaveWhatSetsUpTheirChannels: a file has what another track says of its channel, if it is on its port, and the
// system exclusive messages of a track without notes; another channel's program and another port's are not its.
func TestFilesHaveWhatSetsUpTheirChannels(t *testing.T) {
	var setup, other smf.Track
	setup.AppendSysex(0, 0xF0, []byte("\x7e\x7f\x09\x01\xf7")) // General MIDI on
	for range 5 {                                              // it stands further on in its track than the notes in theirs, and still comes before them
		setup.Append(smf.Channel(0, 0xC1, 90, 0))
	}
	setup.Append(smf.Channel(0, 0xC0, 38, 0))
	other.AppendMeta(0, 0x21, []byte{1})
	other.Append(smf.Channel(0, 0xC0, 55, 0))
	for _, by := range []song.Cutting{song.ByPart, song.ByTrack} {
		files := split(t, from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{setup, other, bassTrack()}}), by)
		if len(files) != 1 {
			t.Fatalf("by %s: found %v, want one file: nothing else has a note", by, names(files))
		}
		var got []string
		for _, e := range files[0].File.Tracks[0].Events {
			if !e.IsMeta() {
				got = append(got, fmt.Sprintf("%x", e.Status()))
			}
		}
		if want := []string{"f0", "c0", "90", "80"}; !slices.Equal(got, want) {
			t.Errorf("by %s: found %v, want %v", by, got, want)
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

// sectioned makes a song of step grids with sections.
func sectioned(t *testing.T, text string, sections ...song.Section) song.Song {
	t.Helper()
	s, err := song.ParseGrid(text)
	if err != nil {
		t.Fatal(err)
	}
	return s.WithSections(sections)
}

func TestASectionIsSplitAsAClip(t *testing.T) {
	s := sectioned(t, `
		kick x...x...x...x...|x...x...x...x...|................
		pad  ................|........x-------|--------........`,
		song.Section{Name: "intro", Bar: 1, Bars: 1}, song.Section{Name: "drop", Bar: 2, Bars: 1}, song.Section{Name: "drop", Bar: 3, Bars: 1})
	var got []string
	for _, f := range split(t, s, song.BySection) {
		got = append(got, fmt.Sprintf("%s %q bar %d of %d, %d notes, %d cut, to %d: %v", f.Name, f.Section, f.Bar, f.Bars, f.Notes, f.Cut,
			f.File.Tracks[0].End, onsets(from(t, f.File).Parts[0])))
	}
	want := []string{ // a bar is 384 ticks, a step 24; the pad of drop 2 began before it
		`01-intro/01-kick "intro" bar 1 of 1, 4 notes, 0 cut, to 384: [0 24 36 100 96 120 36 100 192 216 36 100 288 312 36 100]`,
		`02-drop-1/01-kick "drop 1" bar 2 of 1, 4 notes, 0 cut, to 384: [0 24 36 100 96 120 36 100 192 216 36 100 288 312 36 100]`,
		`02-drop-1/02-pad "drop 1" bar 2 of 1, 1 notes, 1 cut, to 384: [192 384 60 100]`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// TestANoteJustBeforeTheLineBeginsTheClip plays the kick of bar 2 two ticks early, less than the 6 of a 1/64 note: it is
// the first of the drop. The last one counts to a bar that the song has not, and stays where it is.
func TestANoteJustBeforeTheLineBeginsTheClip(t *testing.T) {
	var k smf.Track
	for _, at := range []smf.Tick{0, 382, 768 - 6, 767} {
		k.Append(smf.Channel(at, 0x99, 36, 100))
		k.Append(smf.Channel(at+1, 0x89, 36, 64))
	}
	k.End = 768
	s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{k}}).WithSections([]song.Section{
		{Name: "intro", Bar: 1, Bars: 1}, {Name: "drop", Bar: 2, Bars: 1}})
	files := split(t, s, song.BySection)
	for i, want := range []string{"[0 1 36 100]", "[0 1 36 100 378 379 36 100 383 384 36 100]"} {
		if got := onsets(from(t, files[i].File).Parts[0]); fmt.Sprint(got) != want || files[i].Moved != i {
			t.Errorf("%s: found %v, %d moved, want %s, %d", files[i].Name, got, files[i].Moved, want, i)
		}
	}
}

// TestWhatIsInForceStandsAtTheStartOfAClip: events of bar 1 that bar 2 rests on come at its start, in an order in which
// they mean what they meant; what bar 2 sets itself at once is not sent twice.
func TestWhatIsInForceStandsAtTheStartOfAClip(t *testing.T) {
	var b smf.Track
	b.AppendMeta(0, smf.MetaTempo, []byte("\x07\x00\x00"))
	b.AppendMeta(0, smf.MetaMetre, []byte{3, 2, 24, 8})
	b.AppendMeta(0, smf.MetaKey, []byte{0xFD, 1}) // C minor
	for _, e := range [][3]byte{
		{0xB0, 0, 2}, {0xB0, 32, 1}, {0xC0, 5, 0}, // bank 2, 1, program 6
		{0xB0, 101, 0}, {0xB0, 100, 0}, {0xB0, 6, 7}, {0xB0, 6, 12}, // a bend range of 12
		{0xB0, 101, 127}, {0xB0, 100, 127},
		{0xB0, 64, 127}, {0xB0, 121, 0}, // a pedal that a reset lets go
		{0xB0, 74, 90}, {0xB0, 10, 20}, {0xE0, 0, 96}, {0xD0, 33, 0}, {0xB0, 7, 80},
		{0xB1, 7, 11}, // another channel's
	} {
		b.Append(smf.Channel(0, e[0], e[1], e[2]))
	}
	b.AppendMeta(288, smf.MetaTempo, []byte("\x06\x00\x00"))
	b.Append(smf.Channel(288, 0xB0, 7, 100))
	b.Append(smf.Channel(288, 0x90, 40, 100))
	b.Append(smf.Channel(300, 0x80, 40, 64))
	b.End = 576
	s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{b}}).WithSections([]song.Section{
		{Name: "intro", Bar: 1, Bars: 1}, {Name: "drop", Bar: 2, Bars: 1}})
	files := split(t, s, song.BySection)
	if len(files) != 1 || files[0].Name != "02-drop/01-part" {
		t.Fatalf("found %v, want 02-drop/01-part", names(files))
	}
	track := files[0].File.Tracks[0]
	var got []string
	for _, e := range track.Events {
		text := fmt.Sprintf("%d %02x %d %d", e.Tick, e.Status(), e.Data1(), e.Data2())
		if kind, meta := e.MetaType(); meta {
			text = fmt.Sprintf("%d %02x % x", e.Tick, kind, track.Long(e))
		}
		got = append(got, text)
	}
	want := []string{
		"0 03 70 61 72 74", "0 58 03 02 18 08", "0 59 fd 01",
		"0 b0 0 2", "0 b0 32 1", "0 c0 5 0", "0 b0 10 20", "0 b0 74 90",
		"0 b0 101 0", "0 b0 100 0", "0 b0 6 12", "0 b0 101 127", "0 b0 100 127",
		"0 e0 0 96", "0 d0 33 0",
		"0 51 06 00 00", "0 b0 7 100", "0 90 40 100", "12 80 40 64",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestSectionsAreOfMarkersWhereNothingElseSaysThem(t *testing.T) {
	f := &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), kickTrack(), bassTrack()}}
	if got, want := names(split(t, from(t, f), song.BySection)), []string{"01-section/02-part", "02-drop/01-kick-909"}; !slices.Equal(got, want) {
		t.Errorf("found %v, want %v", got, want)
	}
	if _, err := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{kickTrack()}}).Split(song.BySection); err != song.ErrNoSections {
		t.Errorf("without markers: found %v, want %v", err, song.ErrNoSections)
	}
	if _, err := from(t, &smf.File{Format: 2, Division: 96, Tracks: []smf.Track{kickTrack()}}).Split(song.BySection); err == nil {
		t.Error("of format 2: found no error")
	}
}

func TestSplitOfOddFiles(t *testing.T) {
	for _, tt := range []struct {
		rule string
		file *smf.File
		want []string // name, end
	}{
		{"one track gives one file", &smf.File{Format: 0, Division: 96, Tracks: []smf.Track{kickTrack()}},
			[]string{"01-kick-909 480"}},
		{"no note, no file", &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack()}}, nil},
		{"tracks of format 2 keep their own length and tempo", &smf.File{Format: 2, Division: 96, Tracks: []smf.Track{kickTrack(), bassTrack()}},
			[]string{"01-kick-909 480", "02-track 96"}},
		{"no track, no file", &smf.File{Format: 1, Division: 96}, nil},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var got []string
			for _, f := range split(t, from(t, tt.file), song.ByTrack) {
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
			files := split(t, from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{k}}), song.ByTrack)
			if len(files) != 1 || files[0].Name != tt.want {
				t.Errorf("found %v, want %s", files, tt.want)
			}
		})
	}
}

func TestSplitLeavesTheSongAsItWas(t *testing.T) {
	file := &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{conductorTrack(), kickTrack(), bassTrack()}}
	s := from(t, file)
	for _, by := range song.Cuttings() {
		split(t, s, by)
	}
	if _, err := s.Spread(); err != nil {
		t.Fatal(err)
	}
	if d := smf.Diff(file, s.File()); d != "" {
		t.Error(d)
	}
}

func ExampleSong_Split() {
	s, _ := song.ParseGrid(`
		kick x...x...x...x...
		bass ..x-..x-..x-..x-`)
	files, _ := s.Split(song.ByPart)
	for _, f := range files {
		fmt.Println(f.Name)
	}
	// Output:
	// 01-kick
	// 02-bass
}
