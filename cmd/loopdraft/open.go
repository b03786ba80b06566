package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"syscall"
	"time"

	"github.com/urfave/cli/v2"

	"loopdraft/recipes"
)

func openCommand() command {
	return command{
		name:  "open",
		usage: "[LOOP...] [flags]",
		brief: "hear a draft in the browser while its recipe is written",
		about: `Serves a page that shows and plays the draft, on this machine and to nobody else, and prints its address. When a
loop or the recipe is saved, the new draft takes the place of the old one while it plays on. In the page parts are
let in and taken out, sections made longer, shorter, moved, doubled, removed and named anew, steps written by
forms, and takes compared; the recipe's file is changed with it and keeps its comments. A built-in recipe is given
a file of its own first. An interrupt ends it.`,
		flags: []cli.Flag{
			&cli.StringFlag{Name: "recipe", Usage: "carry out `RECIPE`, a built-in one, one of your own or a file; otherwise " + defaultRecipe},
			joinFlag(),
			loopsFlag(),
			&cli.BoolFlag{Name: "browser", Usage: "also open the page in the browser", DisableDefaultText: true},
		},
		min: 0, max: -1, what: wantLoops,
		run: runOpen,
	}
}

// settledWhileHeard is how long a file has to be left alone before it is read where somebody waits to hear it: a file
// that was not written whole is told as a mistake for a moment, and the draft before it plays on.
const settledWhileHeard = 30 * time.Millisecond

func runOpen(c *console, ctx *cli.Context) error {
	s := &session{
		c: c, loops: loopFiles(ctx.Args().Slice()), recipe: ctx.String("recipe"),
		choice: choice{take: 1},
	}
	if s.recipe == "" {
		s.recipe = defaultRecipe
	}
	for _, name := range append([]string{s.recipe}, filesOf(s.loops)...) {
		if name == stream {
			return misuse("open", "found -, want files")
		}
	}
	var err error
	if s.join, s.marked, err = checkLoops("open", s.loops, ctx); err != nil {
		return err
	}
	c.follows = true
	until, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return s.serve(until, ctx.Bool("browser"))
}

// serve makes the first draft and serves it until the context ends.
func (s *session) serve(until context.Context, browser bool) error {
	f, err := follow(s.watched())
	if err != nil {
		return err
	}
	defer f.watcher.Close()
	if err := s.begin(); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return fmt.Errorf("found no port to serve the page on: %w", err)
	}
	until, stop := context.WithCancel(until)
	server, err := newPageServer(until, s, listener.Addr().String())
	if err != nil {
		stop()
		return err
	}
	served := make(chan error, 1)
	go func() { served <- server.http.Serve(listener) }()
	defer func() {
		stop()
		server.http.Close()
		<-served
	}()
	s.c.progress.rest()
	if err := s.c.write(s.c.out, server.address()+"\n"); err != nil {
		return err
	}
	s.c.complain("serving the draft at this address, to this machine only; an interrupt ends it")
	if browser {
		if err := openBrowser(server.address()); err != nil {
			s.c.warn("found no browser to open: " + err.Error() + "; open the address yourself")
		}
	}
	followed := make(chan error, 1)
	go func() { followed <- f.run(until, s.c, settledWhileHeard, s.watched, s.filesChanged) }()
	select {
	case err = <-followed:
	case <-until.Done(): // what is being drafted is not waited for
	}
	s.endWriting()
	return err
}

// openBrowser opens an address in the browser of the system.
func openBrowser(address string) error {
	words := []string{"xdg-open"}
	switch runtime.GOOS {
	case "darwin":
		words = []string{"open"}
	case "windows":
		words = []string{"rundll32", "url.dll,FileProtocolHandler"}
	}
	cmd := exec.Command(words[0], append(words[1:], address)...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go cmd.Wait() // so that nothing is left of it; a browser may live as long as it likes
	return nil
}

// begin makes the first draft. While the recipe has a mistake the loop is shown as it is.
func (s *session) begin() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changed = make(chan struct{})
	if err := s.readRecipe(); err != nil {
		return err
	}
	err := s.redraft()
	var mistakes *recipes.Errors
	if !errors.As(err, &mistakes) {
		return err
	}
	if s.now, err = s.bare(); err != nil {
		return mistakes
	}
	s.c.fail(mistakes)
	s.publish("")
	return nil
}
