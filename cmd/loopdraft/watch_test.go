//go:build unix

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// log is a buffer that several goroutines may use.
type log struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// eventually waits until something holds; it gives up after a time in which even a slow machine has long done it.
func eventually(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for range 600 {
		if holds() {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("waited in vain for %s", what)
}

func TestWatch(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	loop, err := os.ReadFile("../../testdata/loops/kick-bass.mid")
	if err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) {
		t.Helper()
		// Beside its place and then renamed, as editors do.
		if err := os.WriteFile(at(name+"~"), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(at(name+"~"), at(name)); err != nil {
			t.Fatal(err)
		}
	}
	write("loop.mid", string(loop))
	write("mine.yaml", "length: 8 barrs\n") // it can be put right
	var out, diagnostics log
	done := make(chan int)
	go func() {
		done <- run([]string{"draft", at("loop.mid"), "--recipe", at("mine.yaml"), "-o", at("out.mid"), "--watch"}, strings.NewReader(""), &out, &diagnostics, func(string) string { return "" })
	}()
	size := func() int64 {
		info, err := os.Stat(at("out.mid"))
		if err != nil {
			return 0
		}
		return info.Size()
	}
	eventually(t, "the watch over a recipe with a mistake", func() bool { return strings.Contains(diagnostics.String(), "watching") })
	if size() > 0 {
		t.Fatalf("found a draft by a recipe with a mistake; %s", diagnostics.String())
	}
	write("mine.yaml", "length: 8 bars\n")
	eventually(t, "the first draft", func() bool { return strings.Contains(out.String(), "8 bars, ") })
	first := size()
	if first == 0 {
		t.Fatalf("found no draft; %s", diagnostics.String())
	}

	write("mine.yaml", "length: 64 bars\n")
	eventually(t, "a longer draft after the recipe changed", func() bool { return size() > first })
	longer, err := os.ReadFile(at("out.mid"))
	if err != nil {
		t.Fatal(err)
	}

	write("mine.yaml", "lenght: 64 bars\n")
	eventually(t, "the mistake in the recipe", func() bool { return strings.Contains(diagnostics.String(), `did you mean "length"?`) })
	if kept, err := os.ReadFile(at("out.mid")); err != nil || !bytes.Equal(kept, longer) {
		t.Errorf("the last good draft is not kept: %v", err)
	}

	write("mine.yaml", "length: 64 bars\n")
	write("loop.mid", string(loop[:len(loop)/2]))
	eventually(t, "what is wrong with the loop", func() bool { return strings.Contains(diagnostics.String(), "loop.mid:") })
	write("loop.mid", string(loop))
	maps := strings.Count(out.String(), "64 bars, ")
	eventually(t, "another draft after the loop was put right", func() bool { return strings.Count(out.String(), "64 bars, ") > maps })

	if err := syscall.Kill(os.Getpid(), syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	select {
	case code := <-done:
		if code != exitDone {
			t.Errorf("got exit code %d after an interrupt, want %d", code, exitDone)
		}
	case <-time.After(30 * time.Second):
		t.Fatal("an interrupt does not end it")
	}
	if left, _ := filepath.Glob(at("*.tmp*")); len(left) > 0 {
		t.Errorf("found %q left behind", left)
	}
}

func TestWatchWantsFiles(t *testing.T) {
	for _, args := range [][]string{{"draft", "-", "--watch"}, {"draft", "loop.mid", "-o", "-", "--watch"}, {"draft", "loop.mid", "--recipe", "-", "--watch"}} {
		var out, diagnostics log
		if code := run(args, strings.NewReader(""), &out, &diagnostics, func(string) string { return "" }); code != exitUsage || !strings.Contains(diagnostics.String(), "found --watch with -, want files") {
			t.Errorf("%q: got exit code %d and %q", args, code, diagnostics.String())
		}
	}
}
