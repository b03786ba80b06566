package main_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
	"loopdraft/testdata/loops/demo"
)

const loopsDir = "../../testdata/loops"

func demoFiles(t *testing.T) []demo.File {
	t.Helper()
	files, err := demo.Files()
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatal("no demo loops")
	}
	return files
}

func TestCommittedDemoLoopsAreWhatTheGridsSay(t *testing.T) {
	for _, f := range demoFiles(t) {
		got, err := os.ReadFile(filepath.Join(loopsDir, filepath.FromSlash(f.Name)))
		if err != nil {
			t.Error(err)
			continue
		}
		if !bytes.Equal(got, f.Bytes) {
			t.Errorf("%s is not what its grids say; run: go run ./testdata/loops/generate", f.Name)
		}
	}
}

func TestEveryCommittedLoopHasGridsAndALineInTheREADME(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join(loopsDir, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	made := demoFiles(t)
	err = fs.WalkDir(os.DirFS(loopsDir), ".", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".mid") {
			return err
		}
		found := false
		for _, f := range made {
			found = found || f.Name == path
		}
		if !found {
			t.Errorf("%s is made by no grid", path)
		}
		row := "| `" + path + "` |"
		if dir, _, ok := strings.Cut(path, "/"); ok {
			row = "| `" + dir + "/*.mid` |"
		}
		if !bytes.Contains(readme, []byte(row)) {
			t.Errorf("README.md has no row %q", row)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestDemoLoopsAreWhatTheREADMESays(t *testing.T) {
	want := []struct {
		name   string
		format uint16
		bpm    int
		metre  smf.Metre
		bars   int // up to the last onset
		tracks int
		ended  bool // every track ends on the loop's last bar line
	}{
		{"harbour-lights.mid", 1, 132, smf.Metre{Num: 4, Den: 4}, 8, 4, true},
		{"ferry/kick.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 8, 1, true},
		{"ferry/clap.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 4, 1, true},
		{"ferry/hats.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 8, 1, true},
		{"ferry/shaker.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 2, 1, true},
		{"ferry/bass.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 4, 1, true},
		{"ferry/chords.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 8, 1, true},
		{"ferry/bell.mid", 0, 126, smf.Metre{Num: 4, Den: 4}, 8, 1, true},
		{"one-channel.mid", 1, 128, smf.Metre{Num: 4, Den: 4}, 8, 7, true},
		{"fog-signal.mid", 1, 124, smf.Metre{Num: 4, Den: 4}, 8, 5, false},
		{"seven-bells.mid", 1, 138, smf.Metre{Num: 7, Den: 8}, 8, 4, true},
		{"breakwater.mid", 1, 174, smf.Metre{Num: 4, Den: 4}, 8, 3, true},
		{"kick-bass.mid", 1, 140, smf.Metre{Num: 4, Den: 4}, 8, 2, true},
		{"breaks/small-hours.mid", 1, 132, smf.Metre{Num: 4, Den: 4}, 8, 5, true},
	}
	files := demoFiles(t)
	if len(files) != len(want) {
		t.Fatalf("%d loops are made, %d are checked", len(files), len(want))
	}
	for i, w := range want {
		t.Run(w.name, func(t *testing.T) {
			if files[i].Name != w.name {
				t.Fatalf("found %s, want %s", files[i].Name, w.name)
			}
			f, err := smf.Decode(files[i].Bytes)
			if err != nil {
				t.Fatal(err)
			}
			if len(f.Warnings) > 0 {
				t.Errorf("warnings: %v", f.Warnings)
			}
			s, err := song.From(f)
			if err != nil {
				t.Fatal(err)
			}
			if v := s.Check(); len(v) > 0 {
				t.Errorf("not clean: %v", v)
			}
			tl := s.Time()
			last := smf.Tick(0)
			for _, p := range s.Parts {
				last = max(last, p.Notes[len(p.Notes)-1].Start)
			}
			end := tl.BarStart(w.bars + 1)
			ends := true
			for _, tr := range f.Tracks {
				ends = ends && tr.End == end
			}
			got := w
			got.format, got.metre, got.bars, got.tracks, got.ended = f.Format, tl.MetreIn(1), tl.BarOf(last), len(f.Tracks), ends
			if got != w {
				t.Errorf("found %+v, want %+v", got, w)
			}
			if us := smf.MicrosPerQuarter(int64(w.bpm) * 1000); tl.TempoAt(0) != us {
				t.Errorf("found a tempo of %d microseconds, want %d", tl.TempoAt(0), us)
			}
		})
	}
}

// A loop that only repeats one bar is no test of anything that works on phrases.
func TestDemoLoopsOfEightBarsVaryAtBarsFourAndEight(t *testing.T) {
	for _, f := range demoFiles(t) {
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		s, err := song.From(file)
		if err != nil {
			t.Fatal(err)
		}
		if s.Bars() < 8 {
			continue
		}
		bar := func(n int) string {
			var b strings.Builder
			r := s.BarRange(n, n)
			for _, p := range s.Parts {
				for _, note := range p.Notes {
					if r.Has(note.Start) {
						fmt.Fprintln(&b, p.Track, note.Start-r.Start, note.Key)
					}
				}
			}
			return b.String()
		}
		if bar(1) == bar(4) || bar(1) == bar(8) || bar(4) == bar(8) {
			t.Errorf("%s: bars 1, 4 and 8 are not three different bars", f.Name)
		}
	}
}

func TestDemoLoopWithEveryKindOfEvent(t *testing.T) {
	files := demoFiles(t)
	for _, f := range files {
		if f.Name != "fog-signal.mid" {
			continue
		}
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		kinds, controllers := [16]bool{}, [128]bool{}
		for _, tr := range file.Tracks {
			for _, e := range tr.Events {
				kinds[e.Kind()>>4] = true
				if e.Kind() == 0xB0 {
					controllers[e.Data1()] = true
				}
			}
		}
		for k := 8; k < 15; k++ {
			if !kinds[k] {
				t.Errorf("no event of status %X0h", k)
			}
		}
		for _, c := range []int{0, 32, 6, 38, 100, 101, 7, 10, 11, 64, 74} {
			if !controllers[c] {
				t.Errorf("no controller %d", c)
			}
		}
		return
	}
	t.Fatal("no fog-signal.mid")
}

func TestOneChannelLoopIsOnOneChannel(t *testing.T) {
	for _, f := range demoFiles(t) {
		if f.Name != "one-channel.mid" {
			continue
		}
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		for i, tr := range file.Tracks {
			for _, e := range tr.Events {
				if e.IsChannel() && e.Chan() != 0 {
					t.Fatalf("track %d: found channel %d, want 1", i+1, e.Chan()+1)
				}
				if i < 4 && e.IsOn() && e.Data1() != 60 {
					t.Fatalf("track %d: found a drum on key %d, want 60", i+1, e.Data1())
				}
			}
		}
		return
	}
	t.Fatal("no one-channel.mid")
}
