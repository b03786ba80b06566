package main

import (
	"io"
	"os"
	"strings"
	"testing"
	"time"
)

func TestProgressText(t *testing.T) {
	half := func() float64 { return .5 }
	for _, tt := range []struct {
		rule  string
		p     *progress
		after time.Duration
		want  string
	}{
		{"what and since when", &progress{what: "drafting"}, 1900 * time.Millisecond, "loopdraft: drafting, 1 s"},
		{"how much of it, where that is known", &progress{what: "hearing a.flac", share: half}, 12 * time.Second, "loopdraft: hearing a.flac, 50%, 12 s"},
		{"no wider than the terminal, whose last column may wrap", &progress{what: "hearing a.flac", width: 20}, time.Second, "loopdraft: hearing "},
		{"names are made fit", &progress{what: "hearing \n\u202e"}, time.Second, "loopdraft: hearing ??, 1 s"},
	} {
		if got := tt.p.text(tt.after); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.rule, got, tt.want)
		}
	}
}

// TestProgressIsSlow: nothing is drawn before a command has worked for long, and the line is gone when
// something else is printed.
func TestProgressIsSlow(t *testing.T) {
	var terminal log
	c := newConsole(nil, &terminal, &terminal, func(string) string { return "" })
	c.progress.w, c.progress.width = &terminal, 80
	c.progress.step("reading", nil)
	time.Sleep(2 * redrawn)
	if got := terminal.String(); got != "" {
		t.Errorf("after %v: %q", 2*redrawn, got)
	}
	eventually(t, "the line", func() bool { return terminal.String() != "" })
	c.warn("odd")
	if got := terminal.String(); !strings.HasPrefix(got, "\rloopdraft: reading, 1 s\x1b[K") || !strings.Contains(got, "\r\x1b[Kloopdraft: warning: odd\n") {
		t.Errorf("drawn: %q", got)
	}
	if err := c.write(c.out, "done\n"); err != nil {
		t.Fatal(err)
	}
	time.Sleep(2 * redrawn)
	if got := terminal.String(); !strings.HasSuffix(got, "done\n") || strings.HasSuffix(got, "\x1b[Kwarning: odd\ndone\n") {
		t.Errorf("drawn at last: %q", got)
	}
}

// TestShareOfARecording: of a file whose size is known it is told how much was heard.
func TestShareOfARecording(t *testing.T) {
	file, err := os.CreateTemp(t.TempDir(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if _, err := file.WriteString(strings.Repeat("x", 1000)); err != nil {
		t.Fatal(err)
	}
	info, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	c := newConsole(nil, nil, &log{}, func(string) string { return "" })
	c.progress.w = &log{}
	defer c.progress.rest()
	r := c.watched(strings.NewReader(strings.Repeat("x", 1000)), source{name: "a.wav", info: info})
	if _, err := io.CopyN(io.Discard, r, 250); err != nil {
		t.Fatal(err)
	}
	if got, want := c.progress.text(time.Second), "loopdraft: hearing a.wav, 25%, 1 s"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if c.watched(r, source{name: "standard input"}); c.progress.share != nil {
		t.Error("of a stream a share is told")
	}
}

func TestProgressNeedsATerminal(t *testing.T) {
	var pipe log
	c := newConsole(nil, &pipe, &pipe, func(string) string { return "" })
	c.progress.step("reading", nil)
	if c.progress.running {
		t.Error("a line is drawn where there is no terminal")
	}
}
