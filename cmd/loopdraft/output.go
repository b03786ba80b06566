package main

import (
	"errors"
	"fmt"
	"io"
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
	folder  string // made if it is not there; "" for none
	sources []source
	force   bool // existing files may be replaced
}

func (o *outputs) add(name string, data []byte, midi bool) {
	o.files = append(o.files, output{name, data, midi})
}

// write writes the files. After an error none of them has changed, unless the error came while
// they took their places.
func (o *outputs) write(c *console) error {
	if err := o.check(); err != nil {
		return err
	}
	made, err := makeFolder(o.folder)
	if err != nil {
		return err
	}
	if err := o.place(c.out); err != nil {
		if made != "" {
			os.Remove(made) // fails if something is in it, as it should
		}
		return err
	}
	return nil
}

// check refuses to replace what should stay: an input, an existing file, another output.
func (o *outputs) check() error {
	if info, err := os.Stat(o.folder); o.folder != "" && err == nil && !info.IsDir() {
		return fmt.Errorf("%s: found a file, want a folder", o.folder)
	}
	var infos []fs.FileInfo
	var names []string
	for _, f := range o.files {
		if f.name == stream {
			continue
		}
		clean := filepath.Clean(f.name)
		for _, n := range names {
			if n == clean {
				return fmt.Errorf("%s: found two outputs of this name, want different ones", f.name)
			}
		}
		names = append(names, clean)
		info, err := os.Stat(f.name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			if link, err := os.Lstat(f.name); err == nil && link.Mode()&fs.ModeSymlink != 0 {
				return fmt.Errorf("%s: found a link to a file that is not there, want another name", f.name)
			}
			continue
		case err != nil:
			return fmt.Errorf("%s: %w", f.name, bare(err))
		case info.IsDir():
			return fmt.Errorf("%s: found a folder, want the name of a file to write", f.name)
		}
		for _, s := range o.sources {
			if s.info != nil && os.SameFile(s.info, info) {
				return fmt.Errorf("%s: found the input %s as the output, want another file", f.name, s.name)
			}
		}
		for _, other := range infos {
			if os.SameFile(other, info) {
				return fmt.Errorf("%s: found two outputs in this file, want different ones", f.name)
			}
		}
		infos = append(infos, info)
		if info.Mode().IsRegular() && !o.force {
			return fmt.Errorf("%s: found an existing file, want another name, or --force to replace it", f.name)
		}
	}
	return nil
}

// makeFolder makes a folder if it is not there and returns it if it did.
func makeFolder(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	err := os.Mkdir(name, 0o777)
	switch {
	case err == nil:
		return name, nil
	case errors.Is(err, fs.ErrExist):
		return "", nil
	}
	return "", writeError(name, err)
}

// writeError says why a file or folder cannot be written.
func writeError(name string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: found no folder %s, want one that is there", name, filepath.Dir(name))
	}
	return fmt.Errorf("%s: %w", name, bare(err))
}

// place writes every file beside its place, then moves them there.
func (o *outputs) place(stdout io.Writer) error {
	var waiting [][2]string // temporary name, place
	drop := func() {
		for _, w := range waiting {
			os.Remove(w[0])
		}
	}
	for _, f := range o.files {
		if f.name == stream {
			continue
		}
		temp, place, err := writeBeside(f)
		if err != nil {
			drop()
			return writeError(f.name, err)
		}
		if temp != "" {
			waiting = append(waiting, [2]string{temp, place})
		}
	}
	for i, w := range waiting {
		if err := os.Rename(w[0], w[1]); err != nil {
			waiting = waiting[i:]
			drop()
			return writeError(w[1], err)
		}
	}
	for _, f := range o.files {
		if f.name == stream {
			if err := write(stdout, string(f.data)); err != nil {
				return err
			}
		}
	}
	return nil
}

// errTerminal keeps MIDI off the screen.
var errTerminal = errors.New("found a terminal, want a file or a pipe for MIDI")

// writeBeside writes a file beside its place and returns both names. What is no regular file (a
// pipe, a device) has no place to take: it is written at once and no name comes back. A link is
// followed, so that the link stays.
func writeBeside(f output) (temp, place string, err error) {
	place = f.name
	mode, keep := fs.FileMode(0o666), false
	if info, err := os.Stat(f.name); err == nil {
		if !info.Mode().IsRegular() {
			return "", "", writeThrough(f)
		}
		mode = info.Mode().Perm()
		keep = true
		if place, err = filepath.EvalSymlinks(f.name); err != nil {
			return "", "", err
		}
	}
	w, err := createBeside(place, mode)
	if err != nil {
		return "", "", err
	}
	if keep {
		err = w.Chmod(mode) // the mask of new files does not count for one that was there
	}
	if err == nil {
		_, err = w.Write(f.data)
	}
	if e := w.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(w.Name())
		return "", "", err
	}
	return w.Name(), place, nil
}

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

// createBeside makes a new file in the folder of place, with the permissions the file at place has
// or a new one would have.
func createBeside(place string, mode fs.FileMode) (*os.File, error) {
	dir, base := filepath.Split(place)
	for n := 1; ; n++ {
		name := dir + "." + base + "." + strconv.Itoa(os.Getpid()) + "-" + strconv.Itoa(n)
		w, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if n < 100 && errors.Is(err, fs.ErrExist) {
			continue
		}
		return w, err
	}
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
