package main

import (
	"fmt"
	"io"
	"sync"
	"time"
)

// A command that works for longer than this says on a terminal what it is at, and says it anew so often.
const (
	patience = time.Second
	redrawn  = 250 * time.Millisecond
)

// progress is the line on a terminal that tells what a command is at, how far it is and since when it
// works. It is gone before anything else is printed. Where diagnostics go to no terminal there is none.
// It is the only thing a command prints that depends on a clock.
type progress struct {
	mu      sync.Mutex
	w       io.Writer // nil for no terminal
	width   int
	begun   time.Time // when the work began; zero where there is none
	what    string
	share   func() float64 // 0..1, how much of it is done; nil where that is not known
	drawn   bool
	running bool
}

// step tells what the command does from now on; share is nil, or says how much of that is done.
func (p *progress) step(what string, share func() float64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w == nil {
		return
	}
	if p.begun.IsZero() {
		p.begun = time.Now()
	}
	p.what, p.share = what, share
	if !p.running {
		p.running = true
		go p.redraw()
	}
}

// rest takes the line away, as there is something to print or nothing to do.
func (p *progress) rest() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.begun = time.Time{}
	p.clear()
}

// clear takes the line away until it is drawn anew.
func (p *progress) clear() {
	if p.drawn {
		io.WriteString(p.w, "\r\x1b[K")
		p.drawn = false
	}
}

// redraw draws the line until there is nothing to do.
func (p *progress) redraw() {
	for {
		time.Sleep(redrawn)
		p.mu.Lock()
		if p.begun.IsZero() {
			p.running = false
			p.mu.Unlock()
			return
		}
		if passed := time.Since(p.begun); passed >= patience {
			io.WriteString(p.w, "\r"+p.text(passed)+"\x1b[K")
			p.drawn = true
		}
		p.mu.Unlock()
	}
}

// text is the line, at most as wide as the terminal.
func (p *progress) text(passed time.Duration) string {
	s := program + ": " + visible(p.what)
	if p.share != nil {
		s += fmt.Sprintf(", %.0f%%", 100*min(max(p.share(), 0), 1))
	}
	s += fmt.Sprintf(", %d s", int(passed.Seconds()))
	if r := []rune(s); p.width > 1 && len(r) >= p.width {
		s = string(r[:p.width-1])
	}
	return s
}
