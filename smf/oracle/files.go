package oracle

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// File is a MIDI file that somebody else made.
type File struct {
	Name  string // file name without its folder
	Path  string
	Bytes []byte
}

// openmsx holds the 31 files of Debian's openttd-openmsx (GPL-2), all format 1.
const openmsx = "/usr/share/games/openttd/baseset/openmsx"

// goAudio holds 11 files (Apache-2.0): nine loops of one to four bars, format 0 at 96 ticks a
// quarter note, and one piece as format 0 and as format 1.
const goAudio = "github.com/go-audio/midi@v1.0.0"

// RealFiles returns 42 real files: those of openttd-openmsx and of the fixtures of go-audio/midi.
// If a source is missing the test is skipped or failed, see [Need].
func RealFiles(t testing.TB) []File {
	t.Helper()
	return append(Songs(t), fixtures(t)...)
}

// Songs returns the 31 files of openttd-openmsx, in the order of their names. If they are missing
// the test is skipped or failed, see [Need].
func Songs(t testing.TB) []File {
	t.Helper()
	songs := songFiles()
	if len(songs) == 0 {
		lack(t, "no MIDI files in "+openmsx+": install Debian's openttd-openmsx")
	}
	return songs
}

// Loops returns the nine loops of go-audio/midi: format 0, 96 ticks a quarter note, one to four
// bars of 4/4, played or quantised, without a tempo event.
func Loops(t testing.TB) []File {
	t.Helper()
	var loops []File
	for _, f := range fixtures(t) {
		if string(f.Bytes[8:14]) == "\x00\x00\x00\x01\x00\x60" {
			loops = append(loops, f)
		}
	}
	return loops
}

// Files returns those of the 42 real files that are there, for benchmarks.
func Files() []File { return append(songFiles(), fixtureFiles()...) }

func fixtures(t testing.TB) []File {
	t.Helper()
	files := fixtureFiles()
	if len(files) == 0 {
		lack(t, "no MIDI files: cannot get the Go module "+goAudio)
	}
	return files
}

func songFiles() []File { return readAll(openmsx) }

func fixtureFiles() []File {
	// Outside of any module, so that this one needs no entry for it.
	tmp, err := os.MkdirTemp("", "oracle")
	if err != nil {
		return nil
	}
	defer os.RemoveAll(tmp)
	cmd := exec.Command("go", "mod", "download", "-json", goAudio)
	cmd.Dir = tmp
	cmd.Env = append(os.Environ(), "GOWORK=off", "GOFLAGS=-mod=mod")
	out, err := cmd.Output()
	if err != nil {
		return nil
	}
	var module struct{ Dir string }
	if json.Unmarshal(out, &module) != nil || module.Dir == "" {
		return nil
	}
	return readAll(filepath.Join(module.Dir, "fixtures"))
}

// readAll reads the MIDI files of a folder in the order of their names.
func readAll(dir string) []File {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil
	}
	var files []File
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".mid") {
			continue
		}
		path := filepath.Join(dir, e.Name())
		if b, err := os.ReadFile(path); err == nil && len(b) >= 14 {
			files = append(files, File{e.Name(), path, b})
		}
	}
	return files
}
