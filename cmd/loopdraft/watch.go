package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"syscall"
	"time"

	"github.com/fsnotify/fsnotify"

	"loopdraft/recipes"
)

// settled is how long a file has to be left alone before it is read: programs write a file in several
// steps.
const settled = 100 * time.Millisecond

// watch makes the draft, and makes it again whenever a loop or the recipe changes, until it is
// interrupted. A mistake is told and what was written last stays.
func (p draftPlan) watch(c *console) error {
	c.follows = true
	names := watched(c, p.loops, p.recipe)
	f, err := follow(names)
	if err != nil {
		return err
	}
	defer f.watcher.Close()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()

	var mistakes *recipes.Errors
	switch err := p.draft(c); {
	case errors.As(err, &mistakes): // in the recipe: it can be put right
		c.fail(err)
	case err != nil:
		return err
	default:
		p.force = true // from now on the outputs are its own
	}
	c.progress.rest()
	c.complain("watching " + visible(listed(names)) + "; an interrupt ends it")
	return f.run(ctx, c, settled, func() []string { return names }, func() {
		names = watched(c, p.loops, p.recipe)
		if err := p.draft(c); err != nil {
			c.fail(err)
		} else {
			p.force = true
		}
		c.progress.rest()
	})
}

// follower follows files that may be replaced by others, and their folders.
type follower struct {
	watcher *fsnotify.Watcher
	folders watchedFolders
}

// follow begins to follow files, which have to be there.
func follow(names []string) (*follower, error) {
	watcher, folders, err := watchFolders(names)
	if err != nil {
		return nil, err
	}
	return &follower{watcher, folders}, nil
}

// run calls changed whenever one of the files that names returns has changed and was left alone for so long, until the
// context ends.
func (f *follower) run(ctx context.Context, c *console, settled time.Duration, names func() []string, changed func()) error {
	look := time.NewTicker(lookout)
	defer look.Stop()
	var due <-chan time.Time
	for {
		select {
		case <-ctx.Done():
			return nil
		case e := <-f.watcher.Events:
			if e.Op != fsnotify.Chmod && isOneOf(e.Name, names()) {
				due = time.After(settled)
			}
		case err := <-f.watcher.Errors:
			return fmt.Errorf("watching: %w", err)
		case <-look.C:
			f.folders.add(names())
			if f.folders.look(c, f.watcher) {
				due = time.After(settled)
			}
		case <-due:
			due = nil
			changed()
			f.folders.add(names())
		}
	}
}

// watched returns the files that a draft is made of: loops, recipe and the loops that it names.
func watched(c *console, loops []loopFile, recipe string) []string {
	names := filesOf(loops)
	if _, builtin := recipes.Builtin(recipe); builtin {
		return names
	}
	names = append(names, recipeFile(recipe))
	if r, _, err := c.recipe(recipe); err == nil { // its mistakes are told where it is drafted by
		names = append(names, besideRecipe(recipe, r)...)
	}
	return names
}

// lookout is how often the folders of what is watched are looked for: of one that was removed and made
// again, or had another put in its place, no event tells.
const lookout = 500 * time.Millisecond

// watchedFolder is a folder as it was when it was last looked at.
type watchedFolder struct {
	name string
	info os.FileInfo // nil: it is not there
}

type watchedFolders []watchedFolder

// add adds the folders of files that are watched from now on; look finds them.
func (fs *watchedFolders) add(names []string) {
	for _, name := range names {
		dir := filepath.Dir(name)
		if !slices.ContainsFunc(*fs, func(f watchedFolder) bool { return f.name == dir }) {
			*fs = append(*fs, watchedFolder{name: dir})
		}
	}
}

// look watches the folders that are there again and tells whether there are any.
func (fs watchedFolders) look(c *console, w *fsnotify.Watcher) bool {
	again := false
	for i := range fs {
		f := &fs[i]
		info, err := os.Stat(f.name)
		if err == nil && !info.IsDir() {
			err = errNoFolder
		}
		if err == nil && f.info != nil && os.SameFile(f.info, info) && slices.Contains(w.WatchList(), f.name) {
			continue
		}
		w.Remove(f.name) // fails where it is not watched any more, as it should
		if err == nil {
			err = w.Add(f.name)
		}
		switch {
		case err == nil:
			f.info, again = info, true
		case f.info != nil:
			f.info = nil
			c.complain(visible(f.name) + ": the folder is gone; it is watched again when it is back")
		}
	}
	return again
}

var errNoFolder = errors.New("no folder")

// watchFolders watches the folders of files: a file that is replaced by another is still watched.
func watchFolders(names []string) (*fsnotify.Watcher, watchedFolders, error) {
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, nil, fmt.Errorf("watching: %w", err)
	}
	var folders watchedFolders
	for _, name := range names {
		if _, err := os.Stat(name); err != nil {
			w.Close()
			return nil, nil, fmt.Errorf("%s: %w", visible(name), bare(err))
		}
		dir := filepath.Dir(name)
		info, err := os.Stat(dir)
		if err == nil {
			err = w.Add(dir)
		}
		if err != nil {
			w.Close()
			return nil, nil, fmt.Errorf("%s: %w", visible(dir), bare(err))
		}
		folders = append(folders, watchedFolder{dir, info})
	}
	return w, folders, nil
}

// isOneOf tells whether a file that was written is one of those watched.
func isOneOf(name string, names []string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return filepath.Clean(n) == filepath.Clean(name) })
}
