package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"

	"loopdraft/smf/song"
)

// splitFile is a file that a draft was split into.
type splitFile struct {
	name string
	song.SplitFile
}

// splitInto splits a draft into files of a folder and adds them to the outputs.
func (t *take) splitInto(folder string, by song.Cutting, out *outputs) error {
	files, err := t.song.Split(by)
	switch {
	case errors.Is(err, song.ErrNoSections):
		return errors.New("--split-by section: found no sections in the draft, want a recipe that has some, or --split-by part")
	case err != nil:
		return fmt.Errorf("--split-by %s: %w", by, err)
	case len(files) == 0:
		t.told = append(t.told, "split: nothing in the draft has a note, so there is no file")
		return nil
	}
	out.folders = append(out.folders, folder)
	for _, f := range files {
		name := filepath.Join(folder, filepath.FromSlash(f.Name+".mid"))
		if in := filepath.Dir(name); !slices.Contains(out.folders, in) {
			out.folders = append(out.folders, in)
		}
		data, err := f.File.Encode()
		if err != nil {
			return fmt.Errorf("%s: %w", visible(name), err)
		}
		out.add(name, data, true)
		t.split = append(t.split, splitFile{name, f})
	}
	t.tellSplit(folder)
	return nil
}

// tellSplit tells which notes are other in the files than in the draft, and which files of the folder are none of them.
func (t *take) tellSplit(folder string) {
	for _, what := range []struct {
		of        func(song.SplitFile) int
		one, many string
	}{
		{func(f song.SplitFile) int { return f.Cut }, "1 note that is held over the end of its section is cut there",
			"%d notes that are held over the end of their sections are cut there"},
		{func(f song.SplitFile) int { return f.Moved }, "1 note that starts less than a 1/64 note before a section starts with it",
			"%d notes that start less than a 1/64 note before a section start with it"},
	} {
		n := 0
		var parts []string
		for _, f := range t.split {
			if of := what.of(f.SplitFile); of > 0 {
				n += of
				if !slices.Contains(parts, f.Parts[0]) {
					parts = append(parts, f.Parts[0])
				}
			}
		}
		line := what.one
		if n > 1 {
			line = fmt.Sprintf(what.many, n)
		}
		if n > 0 {
			t.told = append(t.told, "split: "+line+": "+fewNames(parts, ", "))
		}
	}
	if others := t.othersIn(folder); len(others) > 0 {
		t.told = append(t.told, fmt.Sprintf("split: not of this draft in %s: %s", shown(folder), fewNames(others, ", ")))
	}
}

// othersIn returns the files of a folder, and of the folders in it, that are named as those of a split draft and are
// none of this one.
func (t *take) othersIn(folder string) []string {
	like := regexp.MustCompile(`^[0-9]{2,}-[a-z0-9-]+(/[0-9]{2,}-[a-z0-9-]+)?\.mid$`)
	var out []string
	there := os.DirFS(folder)
	for _, pattern := range []string{"*.mid", "*/*.mid"} {
		names, _ := fs.Glob(there, pattern) // a folder that is not there has none
		for _, name := range names {
			ours := func(f splitFile) bool { return f.Name+".mid" == name }
			if like.MatchString(name) && !slices.ContainsFunc(t.split, ours) {
				out = append(out, name)
			}
		}
	}
	return out
}

// splitLine says in a few words which files a draft was split into.
func (t take) splitLine() string {
	n := len(t.split)
	if n == 0 {
		return ""
	}
	first, last := t.split[0], t.split[n-1]
	if n == 1 {
		return "1 file in " + visible(first.name)
	}
	return fmt.Sprintf("%d files from %s to %s", n, visible(first.name), visible(last.name))
}

type splitJSON struct {
	File    string   `json:"file"`
	Parts   []string `json:"parts"`   // the names of those in it
	Track   int      `json:"track"`   // of the draft, from 1
	Section string   `json:"section"` // numbered where several bear the name; "" for all of the draft
	Bar     int      `json:"bar"`     // its first bar in the draft, from 1
	Bars    int      `json:"bars"`
	Notes   int      `json:"notes"`
	Cut     int      `json:"cut"`   // notes that are held over the end of the section and cut there
	Moved   int      `json:"moved"` // notes that start less than a 1/64 note before the section, and with it here
}

// splitNames are the names of the files that a draft was split into.
func (t take) splitNames() []string {
	names := []string{}
	for _, f := range t.split {
		names = append(names, f.name)
	}
	return names
}

// splitFiles says what each file is that a draft was split into.
func (t take) splitFiles() []splitJSON {
	out := []splitJSON{}
	for _, f := range t.split {
		out = append(out, splitJSON{f.name, full(f.Parts), f.Track + 1, f.Section, f.Bar, f.Bars, f.Notes, f.Cut, f.Moved})
	}
	return out
}
