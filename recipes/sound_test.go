package recipes_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

// TestDraftsAreSoundFiles drafts the demo loops, each alone and the patterns joined, and ten real
// MIDI files that others made (the format 0 fixtures of github.com/go-audio/midi v1.0.0, Apache-2.0),
// and has independent readers look at every draft: midicsv and mido read the events we wrote, and
// jzz-midi-smf, a validator, finds no fault.
func TestDraftsAreSoundFiles(t *testing.T) {
	oracle.Need(t, "jzz") // without it not all of the readers would look
	reals := oracle.RealFiles(t)
	dir := t.TempDir()
	var paths []string
	var files []*smf.File
	draft := func(name string, inputs ...recipes.Input) {
		r, ok := recipes.Builtin("club")
		if !ok {
			t.Fatal("found no recipe club")
		}
		got, err := recipes.Draft(inputs, r, recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return
		}
		// Notes that the loop itself has wrong (overlaps, no length) stay as they are.
		before := map[string]bool{}
		for _, v := range got.Loop.Check() {
			before[v.Rule] = true
		}
		for _, v := range got.Song.Check() {
			if !before[v.Rule] {
				t.Errorf("%s: %v", name, v)
			}
		}
		data, err := got.File.Encode()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return
		}
		path := filepath.Join(dir, strings.ReplaceAll(name, "/", "-"))
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		paths, files = append(paths, path), append(files, got.File)
	}
	var patterns []recipes.Input
	for _, pattern := range []string{"../testdata/loops/*.mid", "../testdata/loops/ferry/*.mid"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: found no file (%v)", pattern, err)
		}
		for _, path := range found {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			in := input(t, filepath.Base(path), data)
			draft(in.Name, in)
			if strings.Contains(pattern, "ferry") {
				patterns = append(patterns, in)
			}
		}
	}
	draft("ferry.mid", patterns...)
	real := 0
	for _, f := range reals {
		if f.Bytes[9] == 0 { // format 0
			draft("real-"+f.Name, input(t, f.Name, f.Bytes))
			real++
		}
	}
	if real != 10 {
		t.Errorf("found %d real loops, want 10", real)
	}
	for i, reading := range oracle.MidoEach(t, paths...) {
		if reading.Err != nil {
			t.Errorf("%s: mido: %v", paths[i], reading.Err)
		} else if diff := oracle.Differ(oracle.Seen(files[i]), reading.Tracks); diff != "" {
			t.Errorf("%s: mido: %s", paths[i], diff)
		}
	}
	for i, path := range paths {
		tracks, err := oracle.MIDICSV(t, path)
		if err != nil {
			t.Errorf("%s: midicsv: %v", path, err)
		} else if diff := oracle.Differ(oracle.Seen(files[i]), tracks); diff != "" {
			t.Errorf("%s: midicsv: %s", path, diff)
		}
	}
	for i, faults := range oracle.JZZEach(t, paths...) {
		for _, fault := range faults {
			t.Errorf("%s: jzz: %s", paths[i], fault)
		}
	}
}

func input(t *testing.T, name string, data []byte) recipes.Input {
	t.Helper()
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return recipes.Input{Name: name, File: f}
}
