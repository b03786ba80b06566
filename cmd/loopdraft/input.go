package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// stream is the name that stands for standard input or output.
const stream = "-"

// source is a file that was read.
type source struct {
	name string      // as messages call it
	info fs.FileInfo // nil if it is no file
	data []byte
}

// kind is what a file should be.
type kind struct {
	what  string
	most  int64                   // bytes of it that are read; one byte more says that there are more
	judge func(head []byte) error // refuses it by its first smf.HeadBytes bytes; nil for nothing
}

func midiKind() kind { return kind{"a MIDI file", smf.MaxFile, smf.Judge} }

// read reads a whole file, or standard input.
func (c *console) read(name string, k kind) (source, error) {
	if name == stream {
		return c.readStdin(k)
	}
	s := source{name: visible(name)}
	if info, err := os.Stat(name); c.follows && err == nil && !info.IsDir() && !info.Mode().IsRegular() {
		return s, fmt.Errorf("%s: found a pipe or a device, want %s that can be followed", s.name, k.what)
	}
	if name == "" {
		return s, fmt.Errorf("found an empty name, want %s", k.what)
	}
	f, err := os.Open(name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return s, fmt.Errorf("%s: found no such file, want %s%s", s.name, k.what, meant(neighbour(name)))
		}
		return s, fmt.Errorf("%s: %w", s.name, bare(err))
	}
	defer f.Close()
	c.progress.step("reading "+s.name, nil)
	if s.info, err = f.Stat(); err == nil && s.info.IsDir() {
		return s, fmt.Errorf("%s: found a folder, want %s", s.name, k.what)
	}
	if err == nil {
		s.data, err = k.read(f, s.info.Size())
	}
	if err != nil {
		return s, fmt.Errorf("%s: %w", s.name, bare(err))
	}
	return s, nil
}

func (c *console) readStdin(k kind) (source, error) {
	s := source{name: "standard input"}
	c.progress.step("reading "+s.name, nil)
	var err error
	if f, ok := c.in.(*os.File); ok {
		if s.info, err = f.Stat(); err != nil {
			return s, fmt.Errorf("%s: %w, want %s", s.name, bare(err), k.what)
		}
	}
	s.data, err = k.read(c.in, 0)
	var refusal *smf.Error
	switch {
	case errors.As(err, &refusal):
		return s, fmt.Errorf("%s: %w", s.name, err)
	case err != nil:
		return s, fmt.Errorf("%s: %w, want %s", s.name, bare(err), k.what)
	}
	return s, nil
}

// read reads to the end, or as far as is needed to refuse what it reads. The size is what the file is
// thought to have, 0 if nothing says.
func (k kind) read(r io.Reader, size int64) ([]byte, error) {
	var b bytes.Buffer
	if _, err := io.CopyN(&b, r, smf.HeadBytes); errors.Is(err, io.EOF) {
		return b.Bytes(), nil
	} else if err != nil {
		return nil, err
	}
	if k.judge != nil {
		if err := k.judge(b.Bytes()); err != nil {
			return nil, err
		}
	}
	if size = min(size, k.most); size > smf.HeadBytes && size < 1<<30 {
		b.Grow(int(size) - smf.HeadBytes + bytes.MinRead)
	}
	_, err := b.ReadFrom(io.LimitReader(r, k.most+1-smf.HeadBytes))
	return b.Bytes(), err
}

// neighbour finds the file beside name that was meant.
func neighbour(name string) string {
	entries, err := os.ReadDir(filepath.Dir(name))
	if err != nil {
		return ""
	}
	var among []string
	for _, e := range entries {
		if !e.IsDir() {
			among = append(among, e.Name())
		}
	}
	near := song.Nearest(filepath.Base(name), among)
	if near == "" {
		return ""
	}
	return filepath.Join(filepath.Dir(name), near)
}

// bare returns an error of the operating system without the operation and path around it.
func bare(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err
	}
	return err
}

// loops reads the loop files of a command line and warns of what had to be repaired in them.
func (c *console) loops(command string, names []string) ([]recipes.Input, []source, error) {
	var inputs []recipes.Input
	var sources []source
	if i := slices.Index(names, stream); i >= 0 && slices.Contains(names[i+1:], stream) {
		return nil, nil, misuse(command, "found - twice, want standard input once")
	}
	if len(names) > recipes.MaxFiles {
		return nil, nil, misuse(command, "found %d files, want at most %d", len(names), recipes.MaxFiles)
	}
	for _, name := range names {
		src, err := c.read(name, midiKind())
		if err != nil {
			return nil, nil, err
		}
		file, err := decode(src)
		if err != nil {
			return nil, nil, err
		}
		for _, w := range append(file.Warnings[:len(file.Warnings):len(file.Warnings)], file.Unsound()...) {
			c.warn(src.name + ": " + w.String())
		}
		src.data = nil // the file keeps nothing of it
		inputs = append(inputs, recipes.Input{Name: src.name, File: file})
		sources = append(sources, src)
	}
	return inputs, sources, nil
}

func decode(src source) (*smf.File, error) {
	if len(src.data) == 0 {
		return nil, fmt.Errorf("%s: found an empty file, want a MIDI file", src.name)
	}
	file, err := smf.Decode(src.data)
	if err == nil {
		err = song.Fits(file)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", src.name, err)
	}
	return file, nil
}

// recipe finds a recipe by the name of a built-in one, of one of the user's own, or of a file, in this order.
func (c *console) recipe(name string) (*recipes.Recipe, source, error) {
	if r, ok := recipes.Builtin(name); ok {
		return r, source{}, nil
	}
	names := recipeNames()
	if file, ok := ownRecipe(name); ok {
		name = file
	} else if isWord(name) {
		if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
			return nil, source{}, fmt.Errorf("--recipe: found unknown recipe %q, want one of %s, or a file%s", name, listed(names), meant(song.Nearest(name, names)))
		}
	}
	src, err := c.read(name, kind{"a recipe file or one of " + listed(names), recipes.MaxBytes, nil})
	if err != nil {
		return nil, source{}, err
	}
	r, err := recipes.Parse(src.name, src.data)
	return r, src, err
}

// isWord tells a recipe's name from the name of a file.
func isWord(name string) bool { return name != stream && !strings.ContainsAny(name, `./\`) }
