package oracle

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Mark is where a section of a song begins, as the song's makers marked it: a bar, from 1, and the marker's text.
type Mark struct {
	Bar  int
	Text string
}

// MarkedSong is a song with the beginnings of its sections, in order.
type MarkedSong struct {
	File
	Marks []Mark
}

// CutLoop is a loop cut out of a song.
type CutLoop struct {
	File
	Song      string // file name of the song; several loops may be of one, which a mean over loops has to allow for
	Bar, Bars int    // the first bar in the song, from 1, and how many: 4, 8, 12 or 16
	Section   string // the text of the mark it was cut at; "busiest": the song has none
}

// The parts of a laid corpus.
const (
	markedFolder  = "songs"
	othersFolder  = "more"
	loopsFolder   = "loops"
	sectionsTable = "sections.tsv"
	loopsTable    = "loops.tsv"
	sectionsHead  = "file\tbar\tmarker"
	loopsHead     = "file\tsong\tbar\tbars\tsection"
)

// MarkedSongs returns the songs of the corpus whose makers marked their sections, in the order of their names. If
// there is no corpus the test is skipped or failed, see [Need].
func MarkedSongs(t testing.TB) []MarkedSong {
	t.Helper()
	dir := corpus(t)
	var songs []MarkedSong
	for _, f := range readAll(filepath.Join(dir, markedFolder)) {
		songs = append(songs, MarkedSong{File: f})
	}
	for _, row := range table(t, filepath.Join(dir, sectionsTable), sectionsHead) {
		i := slices.IndexFunc(songs, func(s MarkedSong) bool { return s.Name == row[0] })
		if i < 0 {
			t.Fatalf("%s: found song %q, want one of the folder %s", sectionsTable, row[0], markedFolder)
		}
		songs[i].Marks = append(songs[i].Marks, Mark{atoi(t, row[1]), row[2]})
	}
	return songs
}

// OtherSongs returns the songs that came with those of [MarkedSongs] and have no marks.
func OtherSongs(t testing.TB) []File {
	t.Helper()
	return readAll(filepath.Join(corpus(t), othersFolder))
}

// CutLoops returns the loops of the corpus in the order of their names: of the marked songs what lies between two
// marks, of the other songs and of [Songs] the eight busiest bars. If there is no corpus the test is skipped or
// failed, see [Need].
func CutLoops(t testing.TB) []CutLoop {
	t.Helper()
	dir := corpus(t)
	var loops []CutLoop
	for _, row := range table(t, filepath.Join(dir, loopsTable), loopsHead) {
		path := filepath.Join(dir, loopsFolder, row[0])
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		loops = append(loops, CutLoop{File{row[0], path, b}, row[1], atoi(t, row[2]), atoi(t, row[3]), row[4]})
	}
	return loops
}

// corpus returns the folder of real songs and loops, which .ci/corpus lays and LOOPDRAFT_CORPUS names.
func corpus(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("LOOPDRAFT_CORPUS")
	if dir == "" {
		lack(t, "LOOPDRAFT_CORPUS is not set: run .ci/corpus DIR and set it to the full path of that folder")
	}
	if _, err := os.Stat(filepath.Join(dir, loopsTable)); err != nil {
		lack(t, "no "+loopsTable+" in LOOPDRAFT_CORPUS="+dir+": lay it with .ci/corpus")
	}
	return dir
}

// table reads the rows under the head of a table, whose columns are apart by tabs.
func table(t testing.TB, path, head string) [][]string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	first, rest, _ := strings.Cut(string(text), "\n")
	if first != head {
		t.Fatalf("%s: found the head %q, want %q", path, first, head)
	}
	var rows [][]string
	for line := range strings.Lines(rest) {
		row := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		if len(row) != strings.Count(head, "\t")+1 {
			t.Fatalf("%s: found row %q, want columns %q", path, row, head)
		}
		rows = append(rows, row)
	}
	return rows
}

func atoi(t testing.TB, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// LayCorpus makes a new folder of real songs and of loops cut out of them: the songs of WADs, and loops of these
// and of a folder of MIDI files. A song that a WAD holds a second time is left out. The folder must not be there
// yet, or be empty; it is there as a whole or not at all.
//
//	songs/*.mid    songs with five or more markers on bar lines
//	more/*.mid     the other songs of the WADs
//	loops/*.mid    loops of songs/, of more/ and of the folder of MIDI files
//	sections.tsv   the markers of songs/: file, bar, marker
//	loops.tsv      what the loops are of: file, song, bar, bars, section
func LayCorpus(dir, music string, wads []string) error {
	l := layout{files: map[string][]byte{}, sections: []string{sectionsHead}, loops: []string{loopsHead}}
	var songs []File
	seen := map[[sha256.Size]byte]bool{}
	for _, wad := range wads {
		more, err := songsOf(wad)
		if err != nil {
			return fmt.Errorf("%s: %w", wad, err)
		}
		for _, f := range more {
			if sum := sha256.Sum256(f.Bytes); !seen[sum] {
				seen[sum] = true
				songs = append(songs, f)
			}
		}
	}
	slices.SortFunc(songs, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	for _, f := range songs {
		if err := l.song(f, othersFolder); err != nil {
			return err
		}
	}
	free := readAll(music)
	if len(free) == 0 {
		return fmt.Errorf("no MIDI files in %s", music)
	}
	for _, f := range free {
		if err := l.song(f, ""); err != nil {
			return err
		}
	}
	slices.Sort(l.loops[1:])
	l.files[sectionsTable] = []byte(strings.Join(l.sections, "\n") + "\n")
	l.files[loopsTable] = []byte(strings.Join(l.loops, "\n") + "\n")
	return l.write(dir)
}

// songsOf returns the MIDI files among the lumps of a WAD, named after both.
func songsOf(path string) ([]File, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	lumps, err := lumpsOf(b)
	if err != nil {
		return nil, err
	}
	fit := regexp.MustCompile(`^[A-Za-z0-9_]+$`)
	var songs []File
	for _, l := range lumps {
		if !bytes.HasPrefix(l.data, []byte("MThd")) {
			continue
		}
		if !fit.MatchString(l.name) {
			return nil, fmt.Errorf("found a MIDI file in lump %q, want a name of letters, digits and underlines", l.name)
		}
		stem := strings.TrimSuffix(filepath.Base(path), ".wad")
		songs = append(songs, File{Name: stem + "-" + strings.ToLower(l.name) + ".mid", Path: path, Bytes: l.data})
	}
	return songs, nil
}

// layout is a corpus before it is written: files by their names in its folder, and rows of its tables.
type layout struct {
	files           map[string][]byte
	sections, loops []string
}

// song adds a song to a folder, or to the folder of marked songs if it has marks, and its loops; without a folder
// it stays where it is.
func (l *layout) song(f File, folder string) error {
	p, err := newPiece(f.Bytes)
	if err != nil {
		return fmt.Errorf("%s: %s: %w", f.Path, f.Name, err)
	}
	marks := p.marks()
	for _, m := range marks {
		folder = markedFolder
		l.sections = append(l.sections, fmt.Sprintf("%s\t%d\t%s", f.Name, m.Bar, m.Text))
	}
	if folder != "" {
		if err := l.add(folder, f.Name, f.Bytes); err != nil {
			return err
		}
	}
	for _, s := range p.stretches(marks) {
		loop := p.cut(s)
		if loop == nil {
			continue
		}
		name := fmt.Sprintf("%s-%s-bar%d-%dbars.mid", slug(strings.TrimSuffix(f.Name, ".mid")), slug(s.section), s.bar, s.bars)
		b, err := loop.Encode()
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := l.add(loopsFolder, name, b); err != nil {
			return err
		}
		l.loops = append(l.loops, fmt.Sprintf("%s\t%s\t%d\t%d\t%s", name, f.Name, s.bar, s.bars, s.section))
	}
	return nil
}

func (l *layout) add(folder, name string, b []byte) error {
	name = filepath.Join(folder, name)
	if _, twice := l.files[name]; twice {
		return fmt.Errorf("two files would be named %s", name)
	}
	l.files[name] = b
	return nil
}

// slug makes a text a part of a file name: lower-case letters and digits, hyphens for all else.
func slug(text string) string {
	return strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(text), "-"), "-")
}

// write makes the folder under another name and gives it its own when all is in it.
func (l *layout) write(dir string) error {
	dir = filepath.Clean(dir)
	there, err := os.ReadDir(dir)
	switch {
	case len(there) > 0:
		return fmt.Errorf("%s is not empty, want a new or empty folder", dir)
	case err == nil:
		err = os.Remove(dir) // a folder takes no name that another one has
	case errors.Is(err, fs.ErrNotExist):
		err = os.MkdirAll(filepath.Dir(dir), 0o777)
	}
	if err != nil {
		return err
	}
	work := dir + ".part"
	if err := os.Mkdir(work, 0o777); err != nil {
		return err
	}
	defer os.RemoveAll(work)
	for _, name := range slices.Sorted(maps.Keys(l.files)) {
		path := filepath.Join(work, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			return err
		}
		if err := os.WriteFile(path, l.files[name], 0o666); err != nil {
			return err
		}
	}
	return os.Rename(work, dir)
}
