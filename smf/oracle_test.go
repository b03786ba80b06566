package smf_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	gomidi "gitlab.com/gomidi/midi/v2/smf"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

// theirs reads with gomidi. Never give it a time code division, on which it panics.
func theirs(t testing.TB, b []byte) oracle.Tracks {
	t.Helper()
	if b[12]&0x80 != 0 {
		t.Fatal("gomidi panics on time code")
	}
	f, err := gomidi.ReadFrom(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("gomidi: %v", err)
	}
	var tracks oracle.Tracks
	for _, track := range f.Tracks {
		var events []oracle.Event
		tick := int64(0)
		for _, e := range track {
			tick += int64(e.Delta)
			events = append(events, oracle.Event{Tick: tick, Message: e.Message})
		}
		tracks = append(tracks, events)
	}
	return tracks
}

func TestGomidiReadsTheSame(t *testing.T) {
	files := map[string][]byte{
		"format 0":  unhex(t, rp001Format0),
		"format 1":  unhex(t, rp001Format1),
		"packets":   file(t, 0, rp001Packets),
		"odd":       file(t, 0, odd),
		"synthetic": encode(t, synthetic(5000)),
	}
	for name, b := range files {
		f := decode(t, b)
		if diff := oracle.Differ(oracle.Seen(f), theirs(t, b)); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
		if diff := oracle.Differ(oracle.Seen(f), theirs(t, encode(t, f))); diff != "" {
			t.Errorf("%s, written by us: %s", name, diff)
		}
	}
}

// What gomidi writes, we read as it does.
func TestFilesThatGomidiWrites(t *testing.T) {
	g, err := gomidi.ReadFrom(bytes.NewReader(encode(t, synthetic(3000))))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if _, err := g.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	f := decode(t, b.Bytes())
	if len(f.Warnings) > 0 {
		t.Errorf("warnings: %v", f.Warnings)
	}
	if diff := oracle.Differ(oracle.Seen(f), theirs(t, b.Bytes())); diff != "" {
		t.Error(diff)
	}
}

// Real files come back event for event, and by other readers' eyes: gomidi, midicsv and mido see
// the same events as we do, in the file and in what we write. None of the three refuses any of
// these files.
func TestRealFiles(t *testing.T) {
	reals := oracle.RealFiles(t)
	if len(reals) != 42 {
		t.Errorf("%d real files, want 42", len(reals))
	}
	var some []oracle.File // a first run takes a third
	for i := 0; i < len(reals); i += oracle.Size(3, 1, 1) {
		some = append(some, reals[i])
	}
	reals = some
	var originals, copies []string
	var ours []oracle.Tracks
	dir := t.TempDir()
	for _, real := range reals {
		f := decode(t, real.Bytes)
		for _, w := range f.Warnings {
			t.Errorf("%s: warning: %s", real.Name, w)
		}
		written := encode(t, f)
		if again := decode(t, written); !smf.Equal(f, again) {
			t.Errorf("%s: comes back with a difference: %s", real.Name, smf.Diff(f, again))
		}
		if twice := encode(t, decode(t, written)); !bytes.Equal(written, twice) {
			t.Errorf("%s: written twice with different bytes", real.Name)
		}
		if _, _, err := f.Timeline(); err != nil {
			t.Errorf("%s: %v", real.Name, err)
		}
		path := filepath.Join(dir, real.Name)
		if err := os.WriteFile(path, written, 0o666); err != nil {
			t.Fatal(err)
		}
		originals, copies, ours = append(originals, real.Path), append(copies, path), append(ours, oracle.Seen(f))
		for _, b := range [][]byte{real.Bytes, written} {
			if diff := oracle.Differ(oracle.Seen(f), theirs(t, b)); diff != "" {
				t.Errorf("%s: gomidi: %s", real.Name, diff)
			}
		}
	}
	paths := append(originals, copies...)
	ours = append(ours, ours...)

	t.Run("midicsv", func(t *testing.T) {
		oracle.Need(t, "midicsv")
		for i := 0; i < len(paths); i += oracle.Size(5, 1, 1) {
			tracks, err := oracle.MIDICSV(t, paths[i])
			sameAs(t, paths[i], ours[i], tracks, err)
		}
	})
	t.Run("mido", func(t *testing.T) {
		var some []string // mido takes a tenth of a second for each; a first run has it read some
		every := oracle.Size(15, 1, 1)
		for i := 0; i < len(paths); i += every {
			some = append(some, paths[i])
		}
		for i, r := range oracle.MidoEach(t, some...) {
			sameAs(t, some[i], ours[i*every], r.Tracks, r.Err)
		}
	})
	t.Run("jzz", func(t *testing.T) {
		// What stands in the originals, and must come back: empty names, and time signatures in
		// each track.
		const (
			unnamed  = "track 0 tick 0 -- Invalid Text meta event: no data (ff03 -- Sequence Name)"
			misplace = "track %d tick 0 -- Time Signature meta events must be in the first track (ff58 -- Time Signature: 3/8 12 8)"
		)
		known := map[string][]string{
			"coconut_run2.mid":  {unnamed},
			"harp_harmony.mid":  {unnamed},
			"ultimate_run.mid":  {unnamed},
			"wood_whistles.mid": {unnamed},
			"elise.mid":         {fmt.Sprintf(misplace, 1), fmt.Sprintf(misplace, 2), fmt.Sprintf(misplace, 3)},
		}
		offset := regexp.MustCompile(`^offset \d+ `)
		for i, faults := range oracle.JZZEach(t, paths...) {
			for j := range faults {
				faults[j] = offset.ReplaceAllString(faults[j], "")
			}
			if want := known[filepath.Base(paths[i])]; !slices.Equal(faults, want) {
				t.Errorf("%s: faults %q, want %q", paths[i], faults, want)
			}
		}
	})
}

func sameAs(t *testing.T, path string, ours, theirs oracle.Tracks, err error) {
	t.Helper()
	if err != nil {
		t.Errorf("%s: refused: %v", path, err)
	} else if diff := oracle.Differ(ours, theirs); diff != "" {
		t.Errorf("%s: %s", path, diff)
	}
}

// Files that this package's tests are made of, written by us, are sound to every reader, and each
// reads the same.
func TestWrittenFilesAreSound(t *testing.T) {
	for name, b := range map[string][]byte{
		"format0":   unhex(t, rp001Format0),
		"format1":   unhex(t, rp001Format1),
		"synthetic": encode(t, synthetic(2000)),
		"chunks":    append(unhex(t, rp001Format0), chunk("ABCD", []byte("x"))...),
	} {
		t.Run(name, func(t *testing.T) {
			path, ours := written(t, b)
			oracle.Sound(t, path)
			if oracle.Has(t, "midicsv") {
				tracks, err := oracle.MIDICSV(t, path)
				sameAs(t, "midicsv", ours, tracks, err)
			}
			if oracle.Size(0, 1, 1) > 0 && oracle.Has(t, "mido") { // a tenth of a second for each
				tracks, err := oracle.Mido(t, path)
				sameAs(t, "mido", ours, tracks, err)
			}
		})
	}
}

// written writes what we decode from b to a file, and returns what we see in it.
func written(t *testing.T, b []byte) (path string, ours oracle.Tracks) {
	t.Helper()
	f := decode(t, b)
	path = filepath.Join(t.TempDir(), "written.mid")
	if err := os.WriteFile(path, encode(t, f), 0o666); err != nil {
		t.Fatal(err)
	}
	return path, oracle.Seen(f)
}

// Rare events, by the eyes of readers that have limits of their own: each limit is named here,
// and what is left the reader sees as we do.
func TestOddFilesByOtherReaders(t *testing.T) {
	without := func(lines ...string) []byte {
		text := odd
		for _, line := range lines {
			if !strings.Contains(text, line) {
				t.Fatalf("no %q in the odd file", line)
			}
			text = strings.Replace(text, line, "", 1)
		}
		return file(t, 0, text)
	}
	const (
		noNumber = "00 FF 00 00  "       // midicsv and mido see a number all the same
		strange  = "00 FF 59 02 03 FF  " // midicsv calls any mode but 0 minor, mido refuses it
		escape   = "00 F7 01 F8"         // mido refuses data bytes over 127
		empty    = "00 F7 00  "          // mido makes F0h of F7h, and adds an F7h
	)
	t.Run("midicsv", func(t *testing.T) {
		oracle.Need(t, "midicsv")
		for _, b := range [][]byte{without(noNumber, strange), file(t, 0, rp001Packets)} {
			path, ours := written(t, b)
			tracks, err := oracle.MIDICSV(t, path)
			sameAs(t, path, ours, tracks, err)
		}
	})
	t.Run("mido", func(t *testing.T) {
		oracle.Need(t, "mido")
		path, ours := written(t, without(noNumber, strange, escape, empty))
		tracks, err := oracle.Mido(t, path)
		sameAs(t, path, ours, tracks, err)
	})
}

func TestLoops(t *testing.T) {
	loops := oracle.Loops(t)
	if len(loops) != 9 {
		t.Errorf("%d loops, want 9", len(loops))
	}
	for _, loop := range loops {
		f := decode(t, loop.Bytes)
		l, warnings, err := f.Timeline()
		if err != nil || len(warnings) > 0 || f.Format != 0 || len(f.Tracks) != 1 || l.PPQ() != 96 {
			t.Errorf("%s: format %d, %d tracks, %v, %v", loop.Name, f.Format, len(f.Tracks), warnings, err)
		} else if bars := l.BarOf(f.Tracks[0].End); bars > 5 {
			t.Errorf("%s: ends in bar %d", loop.Name, bars)
		}
	}
}
