//go:build oracles

package oracle

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/smf"
)

// text writes the events of tracks, as testdata/corpus.sha256 describes it.
func text(tracks Tracks) string {
	var out strings.Builder
	for _, t := range tracks {
		out.WriteString("track\n")
		for _, e := range t {
			fmt.Fprintf(&out, "%d % x\n", e.Tick, e.Message)
		}
	}
	return out.String()
}

// hashOf returns the hash of a MIDI file's events.
func hashOf(t *testing.T, f File) string {
	t.Helper()
	file, err := smf.Decode(f.Bytes)
	if err != nil {
		t.Fatalf("%s: %v", f.Path, err)
	}
	return hash(fmt.Sprintf("format %d, %d ticks\n", file.Format, file.Division) + text(Seen(file)))
}

func hash(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text))) }

// TestCorpus holds the songs, the loops and the marks against a list that an independent cutter made; the head of
// testdata/corpus.sha256 tells how.
func TestCorpus(t *testing.T) {
	laid := map[string]string{} // hashes by name
	for _, s := range MarkedSongs(t) {
		laid[markedFolder+"/"+s.Name] = hashOf(t, s.File)
	}
	for _, f := range OtherSongs(t) {
		laid[othersFolder+"/"+f.Name] = hashOf(t, f)
	}
	for _, l := range CutLoops(t) {
		laid[loopsFolder+"/"+l.Name] = hashOf(t, l.File)
	}
	sections, err := os.ReadFile(filepath.Join(corpus(t), sectionsTable))
	if err != nil {
		t.Fatal(err)
	}
	laid[sectionsTable] = hash(string(sections))

	list, err := os.ReadFile("testdata/corpus.sha256")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(list)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		want, name, _ := strings.Cut(strings.TrimSpace(line), "  ")
		switch got := laid[name]; {
		case got == "":
			t.Errorf("%s: is not laid", name)
		case got != want:
			t.Errorf("%s: got hash %s, want %s; are the packages of the versions in the list?", name, got, want)
		}
		delete(laid, name)
	}
	for name, got := range laid {
		t.Errorf("%s: is laid (hash %s) and not in the list", name, got)
	}
}

// TestWhatTheCorpusIsOf: the marked songs and the loops are what their tables say.
func TestWhatTheCorpusIsOf(t *testing.T) {
	marks := map[string][]Mark{}
	for _, s := range MarkedSongs(t) {
		marks[s.Name] = s.Marks
		if len(s.Marks) < fewestMarks {
			t.Errorf("%s: has marks %v, want %d or more", s.Name, s.Marks, fewestMarks)
		}
	}
	known := map[string]bool{}
	for _, f := range append(Songs(t), OtherSongs(t)...) {
		known[f.Name] = true
	}
	for _, l := range CutLoops(t) {
		f, err := smf.Decode(l.Bytes)
		if err != nil {
			t.Fatalf("%s: %v", l.Path, err)
		}
		time, _, err := f.Timeline()
		if err != nil {
			t.Fatalf("%s: %v", l.Path, err)
		}
		for i := range f.Tracks {
			if end := time.BarStart(l.Bars + 1); f.Tracks[i].End != end {
				t.Errorf("%s: track %d ends at tick %d, want %d, after %d bars", l.Name, i+1, f.Tracks[i].End, end, l.Bars)
			}
		}
		marked := false
		for _, m := range marks[l.Song] {
			marked = marked || m == Mark{l.Bar, l.Section}
		}
		if !marked && (!known[l.Song] || l.Section != "busiest") {
			t.Errorf("%s: is bar %d, %q, of %s, which has no such mark", l.Name, l.Bar, l.Section, l.Song)
		}
	}
}

// TestLayingSongs lays a small corpus: a song of a WAD, which is in it twice, and one that lies in a folder.
func TestLayingSongs(t *testing.T) {
	beat := `
		kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
		hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
		bass x...............|x...............|x...............|x...............|x...............|x...............|x...............|x...............`
	encode := func(markers string) string {
		b, err := pieceOf(t, beat, markers).file.Encode()
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	marked, unmarked := encode("1 In; 5 Out; 6 A; 7 B; 8 C"), encode("")
	word := func(n int) string { return string([]byte{byte(n), byte(n >> 8), byte(n >> 16), byte(n >> 24)}) }
	entry := word(12) + word(len(marked))
	wad := "IWAD" + word(2) + word(12+len(marked)) + marked + entry + "D_ONE\x00\x00\x00" + entry + "D_TWO\x00\x00\x00"

	dir := t.TempDir()
	write := func(name, b string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(b), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	good, bad := write("game.wad", wad), write("odd.wad", strings.ReplaceAll(wad, "D_ONE\x00", "../../"))
	if err := os.Mkdir(filepath.Join(dir, "music"), 0o777); err != nil {
		t.Fatal(err)
	}
	write("music/Free Song.mid", unmarked)

	out := filepath.Join(dir, "new", "corpus")
	lay := func(wad string) error { return LayCorpus(out, filepath.Join(dir, "music"), []string{wad}) }
	if err := lay(bad); err == nil || !strings.Contains(err.Error(), `lump "../../"`) {
		t.Errorf("a lump that is named like a path: got %v", err)
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("a folder is made in spite of a mistake")
	}
	if err := lay(good); err != nil {
		t.Fatal(err)
	}
	t.Setenv("LOOPDRAFT_CORPUS", out)
	songs, loops := MarkedSongs(t), CutLoops(t)
	if others := OtherSongs(t); len(songs) != 1 || len(others) != 0 {
		t.Fatalf("got songs %v and %v, want one with marks", songs, others)
	}
	if got, want := fmt.Sprint(songs[0].Name, songs[0].Marks), "game-d_one.mid[{1 In} {5 Out} {6 A} {7 B} {8 C}]"; got != want || string(songs[0].Bytes) != marked {
		t.Errorf("got %s, %d bytes, want %s, %d bytes", got, len(songs[0].Bytes), want, len(marked))
	}
	got := ""
	for _, l := range loops {
		got += fmt.Sprintln(l.Name, "of", l.Song, l.Bar, l.Bars, l.Section)
	}
	if want := "free-song-busiest-bar1-8bars.mid of Free Song.mid 1 8 busiest\ngame-d-one-in-bar1-4bars.mid of game-d_one.mid 1 4 In\n"; got != want {
		t.Errorf("got loops\n%swant\n%s", got, want)
	}
	if err := lay(good); err == nil || !strings.Contains(err.Error(), "is not empty, want a new or empty folder") {
		t.Errorf("a folder that has files in it: got %v", err)
	}
}
