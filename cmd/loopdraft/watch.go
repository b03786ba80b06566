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
	names := slices.Clone(p.loops)
	if _, builtin := recipes.Builtin(p.recipe); !builtin {
		names = append(names, p.recipe)
	}
	watcher, err := watchFolders(names)
	if err != nil {
		return err
	}
	defer watcher.Close()
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
	c.complain("watching " + listed(names) + "; an interrupt ends it")
	var due <-chan time.Time
	for {
		select {
		case <-ctx.Done():
			return nil
		case e := <-watcher.Events:
			if e.Op != fsnotify.Chmod && isOneOf(e.Name, names) {
				due = time.After(settled)
			}
		case err := <-watcher.Errors:
			return fmt.Errorf("watching: %w", err)
		case <-due:
			due = nil
			if err := p.draft(c); err != nil {
				c.fail(err)
			} else {
				p.force = true
			}
		}
	}
}

// watchFolders watches the folders of files: a file that is replaced by another is still watched.
func watchFolders(names []string) (*fsnotify.Watcher, error) {
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, fmt.Errorf("watching: %w", err)
	}
	for _, name := range names {
		if _, err := os.Stat(name); err != nil {
			w.Close()
			return nil, fmt.Errorf("%s: %w", name, bare(err))
		}
		if err := w.Add(filepath.Dir(name)); err != nil {
			w.Close()
			return nil, fmt.Errorf("%s: %w", filepath.Dir(name), bare(err))
		}
	}
	return w, nil
}

// isOneOf tells whether a file that was written is one of those watched.
func isOneOf(name string, names []string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return filepath.Clean(n) == filepath.Clean(name) })
}
