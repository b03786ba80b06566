package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// output is a finished file, not yet written.
type output struct {
	name string // "-": standard output
	data []byte
	midi bool
}

// outputs are all files of one command. They are written together: each beside its place first,
// and only when all are there do they take their places.
type outputs struct {
	files   []output
	folders []string // made if they are not there, each after the one it is in
	sources []source
	force   bool // existing files may be replaced
}

func (o *outputs) add(name string, data []byte, midi bool) {
	o.files = append(o.files, output{name, data, midi})
}

// write writes the files. After an error none of them has changed, or the error names those that have.
func (o *outputs) write(c *console) error {
	c.progress.step("writing", nil)
	if err := o.check(); err != nil {
		return err
	}
	w := &writing{link: os.Link}
	defer w.guard(c.follows)()
	err := o.prepare(w, c)
	if err == nil {
		err = w.commit(o.force)
	}
	if err != nil {
		w.drop()
	}
	return err
}

// prepare does all that can fail without a trace: it writes each file beside its place, then what has
// no place to take, streams and devices.
func (o *outputs) prepare(w *writing, c *console) error {
	for _, folder := range o.folders {
		if err := w.makeFolder(folder); err != nil {
			return err
		}
	}
	var through []output
	for _, f := range o.files {
		beside, err := w.writeBeside(f)
		if err != nil {
			return writeError(f.name, err)
		}
		if !beside {
			through = append(through, f)
		}
	}
	for _, f := range through {
		if f.name == stream {
			if err := c.send(c.out, string(f.data)); err != nil {
				return err
			}
		} else if err := writeThrough(f); err != nil {
			return writeError(f.name, err)
		}
	}
	return nil
}

// check refuses to replace what should stay: an input, an existing file, another output.
func (o *outputs) check() error {
	for _, folder := range o.folders {
		if info, err := os.Stat(folder); err == nil && !info.IsDir() {
			return fmt.Errorf("%s: found a file, want a folder", visible(folder))
		}
	}
	var infos []fs.FileInfo
	names := map[string]bool{}
	for _, f := range o.files {
		if f.name == stream {
			continue
		}
		clean, called := filepath.Clean(f.name), visible(f.name)
		if names[clean] {
			return fmt.Errorf("%s: found two outputs of this name, want different ones", called)
		}
		names[clean] = true
		info, err := os.Stat(f.name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			if link, err := os.Lstat(f.name); err == nil && link.Mode()&fs.ModeSymlink != 0 {
				return fmt.Errorf("%s: found a link to a file that is not there, want another name", called)
			}
			continue
		case err != nil:
			return fmt.Errorf("%s: %w", called, bare(err))
		case info.IsDir():
			return fmt.Errorf("%s: found a folder, want the name of a file to write", called)
		}
		for _, s := range o.sources {
			if s.info != nil && os.SameFile(s.info, info) {
				return fmt.Errorf("%s: found the input %s as the output, want another file", called, s.name)
			}
		}
		for _, other := range infos {
			if os.SameFile(other, info) {
				return fmt.Errorf("%s: found two outputs in this file, want different ones", called)
			}
		}
		infos = append(infos, info)
		if info.Mode().IsRegular() && !o.force {
			return fmt.Errorf("%s: found an existing file, want another name, or --force to replace it", called)
		}
	}
	return nil
}

// writeError says why a file or folder cannot be written.
func writeError(name string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: found no folder %s, want one that is there", visible(name), visible(filepath.Dir(name)))
	}
	return fmt.Errorf("%s: %w", visible(name), bare(err))
}

// errTerminal keeps MIDI off the screen.
var errTerminal = errors.New("found a terminal, want a file or a pipe for MIDI")

// writeThrough writes to what is no regular file.
func writeThrough(f output) error {
	w, err := os.OpenFile(f.name, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	if _, terminal := terminalWidth(w); terminal && f.midi {
		w.Close()
		return errTerminal
	}
	_, err = w.Write(f.data)
	if e := w.Close(); err == nil {
		err = e
	}
	return err
}

// numbered puts the number of a take into a file name, before its ending.
func numbered(name string, take int) string {
	ext := filepath.Ext(name)
	return strings.TrimSuffix(name, ext) + "-" + strconv.Itoa(take) + ext
}

// draftName is the name of a draft without -o: that of the first loop, in the working directory.
func draftName(loop string) string {
	if loop == stream {
		return "loop-draft.mid"
	}
	base := filepath.Base(loop)
	return strings.TrimSuffix(base, filepath.Ext(base)) + "-draft.mid"
}
