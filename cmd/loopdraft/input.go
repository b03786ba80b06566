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
	name string
	info fs.FileInfo // nil if it is no file
	data []byte
}

// read reads a whole file, or standard input; what says what it should be.
func (c *console) read(name, what string) (source, error) {
	if name == stream {
		return c.readStdin(what)
	}
	f, err := os.Open(name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return source{}, fmt.Errorf("%s: found no such file, want %s%s", name, what, meant(neighbour(name)))
		}
		return source{}, fmt.Errorf("%s: %w", name, bare(err))
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return source{}, fmt.Errorf("%s: %w", name, bare(err))
	}
	if info.IsDir() {
		return source{}, fmt.Errorf("%s: found a folder, want %s", name, what)
	}
	s := source{name: name, info: info}
	if s.data, err = readAll(f, info.Size()); err != nil {
		return source{}, fmt.Errorf("%s: %w", name, bare(err))
	}
	return s, nil
}

func (c *console) readStdin(what string) (source, error) {
	s := source{name: "standard input"}
	var err error
	if f, ok := c.in.(*os.File); ok {
		s.info, err = f.Stat()
	}
	if err == nil {
		s.data, err = readAll(c.in, 0)
	}
	if err != nil {
		return source{}, fmt.Errorf("%s: %w, want %s", s.name, bare(err), what)
	}
	return s, nil
}

// readAll reads to the end, at most one byte more than the largest MIDI file.
func readAll(r io.Reader, size int64) ([]byte, error) {
	var b bytes.Buffer
	if size > 0 && size <= smf.MaxFile && size < 1<<30 {
		b.Grow(int(size) + bytes.MinRead)
	}
	_, err := b.ReadFrom(io.LimitReader(r, smf.MaxFile+1))
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
	for _, name := range names {
		src, err := c.read(name, "a MIDI file")
		if err != nil {
			return nil, nil, err
		}
		file, err := decode(src)
		if err != nil {
			return nil, nil, err
		}
		for _, w := range file.Warnings {
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
	if err != nil {
		return nil, fmt.Errorf("%s: %w", src.name, err)
	}
	return file, nil
}

// recipe finds a recipe by the name of a built-in one or of a file.
func (c *console) recipe(name string) (*recipes.Recipe, source, error) {
	if r, ok := recipes.Builtin(name); ok {
		return r, source{}, nil
	}
	names := recipeNames()
	if isWord(name) {
		if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
			return nil, source{}, fmt.Errorf("--recipe: found unknown recipe %q, want one of %s, or a file%s", name, listed(names), meant(song.Nearest(name, names)))
		}
	}
	src, err := c.read(name, "a recipe file or one of "+listed(names))
	if err != nil {
		return nil, source{}, err
	}
	r, err := recipes.Parse(src.name, src.data)
	return r, src, err
}

// isWord tells a recipe's name from the name of a file.
func isWord(name string) bool { return name != stream && !strings.ContainsAny(name, `./\`) }
