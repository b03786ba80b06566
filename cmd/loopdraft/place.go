package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"syscall"
	"time"
)

// writing are the files of one command on their way to their places. Each is written whole beside its
// place; then all take their places together, or, as far as the file system lets them, none.
type writing struct {
	mu      sync.Mutex // whoever holds it leaves the files in order when it lets go
	folders []string   // that were made for them
	files   []*placed
	numbers int                          // temporary files that were made so far
	link    func(old, name string) error // gives a file a second name, as os.Link does
}

// placed is one file.
type placed struct {
	name   string // as it was asked for
	place  string // the same, links followed
	temp   string // "" once it has its place
	before string // a second name of the file that was there; "" for none
	was    bool   // there was a file
}

// grace is how long a program that follows files may go on to write when it is told to end. A pipe that nobody reads
// would let it wait for ever.
const grace = time.Second

// guard takes the temporary files away when the program is told to end, and then ends it. The function
// that comes back ends the guard. A pipe that nobody reads becomes an error meanwhile; it would end the
// program. A program that follows files ends by itself once it is told to: it is given some time to write first
// what it is at.
func (w *writing) guard(follows bool) func() {
	told, done := make(chan os.Signal, 1), make(chan struct{})
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP} {
		if !signal.Ignored(s) {
			signal.Notify(told, s)
		}
	}
	pipes := make(chan os.Signal, 1)
	signal.Notify(pipes, syscall.SIGPIPE)
	go func() {
		select {
		case s := <-told:
			if follows && s != syscall.SIGHUP { // which it does not wait for
				select {
				case <-done:
					return
				case <-time.After(grace):
				}
			}
			w.mu.Lock()
			w.remove()
			os.Exit(exitCode(s))
		case <-done:
		}
	}()
	return func() {
		signal.Stop(told)
		signal.Stop(pipes)
		close(done)
	}
}

// exitCode is the status a shell gives a program that was ended by a signal.
func exitCode(s os.Signal) int {
	if n, ok := s.(syscall.Signal); ok {
		return exitSignal + int(n)
	}
	return exitFailure
}

// makeFolder makes a folder if it is not there.
func (w *writing) makeFolder(name string) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	err := os.Mkdir(name, 0o777)
	switch {
	case err == nil:
		w.folders = append(w.folders, name)
	case !errors.Is(err, fs.ErrExist):
		return writeError(name, err)
	}
	return nil
}

// writeBeside writes a file beside its place. It does nothing and says so for what has no place to take:
// a stream, a pipe, a device. A link is followed, so that the link stays.
func (w *writing) writeBeside(f output) (bool, error) {
	if f.name == stream {
		return false, nil
	}
	p := &placed{name: f.name, place: f.name}
	mode := fs.FileMode(0o666)
	if info, err := os.Stat(f.name); err == nil {
		if !info.Mode().IsRegular() {
			return false, nil
		}
		mode, p.was = info.Mode().Perm(), true
		if p.place, err = filepath.EvalSymlinks(f.name); err != nil {
			return false, err
		}
	}
	file, err := w.create(p, mode)
	if err != nil {
		return false, err
	}
	if p.was {
		err = file.Chmod(mode) // the mask of new files does not count for one that was there
	}
	if err == nil {
		_, err = file.Write(f.data)
	}
	if err == nil {
		err = synced(file)
	}
	if e := file.Close(); err == nil {
		err = e
	}
	return true, err
}

// synced waits until what was written is on the disk, where the file system knows of that.
func synced(f *os.File) error {
	err := f.Sync()
	if errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL) {
		return nil
	}
	return err
}

// create makes the temporary file of a file, with the permissions that are there or that a new one gets.
func (w *writing) create(p *placed, mode fs.FileMode) (*os.File, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for tries := 0; ; tries++ {
		name := w.free(p.place)
		file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if tries < 100 && errors.Is(err, fs.ErrExist) {
			continue
		}
		if err == nil {
			p.temp = name
			w.files = append(w.files, p)
		}
		return file, err
	}
}

// free makes a name that hardly any file has, in the folder of a place. The name of the place is not in
// it: with more to it that may be longer than a file system takes.
func (w *writing) free(place string) string {
	w.numbers++
	dir, _ := filepath.Split(place)
	return dir + ".loopdraft-" + strconv.Itoa(os.Getpid()) + "-" + strconv.Itoa(w.numbers)
}

// commit moves all files to their places. Without force a file that has appeared there stays. Where one
// cannot have its place, those before it are taken back, and the error names those that cannot be.
func (w *writing) commit(force bool) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i, p := range w.files {
		err := w.take(p, force)
		if err == nil {
			continue
		}
		err = writeError(p.name, err)
		if p.before != "" {
			os.Remove(p.before)
		}
		var stay []string
		for _, p := range w.files[:i] {
			if !p.takeBack() {
				stay = append(stay, visible(p.name))
			}
		}
		if len(stay) > 0 {
			err = fmt.Errorf("%w; written all the same: %s", err, listed(stay))
		}
		return err
	}
	folders := map[string]bool{}
	for _, p := range w.files {
		if p.before != "" {
			os.Remove(p.before)
		}
		if dir := filepath.Dir(p.place); !folders[dir] {
			folders[dir] = true
			syncFolder(dir)
		}
	}
	w.files, w.folders = nil, nil
	return nil
}

// take moves a file to its place.
func (w *writing) take(p *placed, force bool) error {
	var err error
	if force {
		if p.was {
			before := w.free(p.place)
			if w.link(p.place, before) == nil {
				p.before = before
			}
		}
		err = os.Rename(p.temp, p.place)
	} else {
		err = w.claim(p.temp, p.place)
	}
	if err == nil {
		p.temp = ""
	}
	return err
}

// errAppeared is a file that was not there when the outputs were checked.
var errAppeared = errors.New("found a file that has appeared meanwhile, want another name, or --force to replace it")

// claim moves a file to a place where there is none.
func (w *writing) claim(temp, place string) error {
	err := w.link(temp, place)
	if err == nil {
		os.Remove(temp)
		return nil
	}
	if !errors.Is(err, fs.ErrExist) { // links are not to be had everywhere; an empty file holds the place
		var holder *os.File
		if holder, err = os.OpenFile(place, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666); err == nil {
			holder.Close()
			if err = os.Rename(temp, place); err != nil {
				os.Remove(place)
			}
			return err
		}
	}
	if errors.Is(err, fs.ErrExist) {
		return errAppeared
	}
	return err
}

// takeBack makes the place of a file what it was and tells whether it is.
func (p *placed) takeBack() bool {
	switch {
	case p.before != "":
		return os.Rename(p.before, p.place) == nil
	case p.was:
		return false
	}
	return os.Remove(p.place) == nil
}

// syncFolder waits until a folder's new names are on the disk, as far as it can be had.
func syncFolder(name string) {
	if dir, err := os.Open(name); err == nil {
		dir.Sync()
		dir.Close()
	}
}

// drop takes away what was written so far.
func (w *writing) drop() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.remove()
}

func (w *writing) remove() {
	for _, p := range w.files {
		if p.temp != "" {
			os.Remove(p.temp)
		}
	}
	for _, folder := range slices.Backward(w.folders) {
		os.Remove(folder) // fails if something is in it, as it should
	}
	w.files, w.folders = nil, nil
}
