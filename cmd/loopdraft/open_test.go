//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
)

// served is a running "loopdraft open" in a folder of its own.
type served struct {
	t                *testing.T
	address          string
	out, diagnostics log
	done             chan int
}

// serve starts "loopdraft open"; it ends with the test.
func serve(t *testing.T, args ...string) *served {
	t.Helper()
	s := &served{t: t, done: make(chan int, 1)}
	go func() {
		s.done <- run(append([]string{"open"}, args...), strings.NewReader(""), &s.out, &s.diagnostics, func(string) string { return "" })
	}()
	eventually(t, "the address", func() bool {
		select {
		case code := <-s.done:
			t.Fatalf("it ended with %d: %s", code, s.diagnostics.String())
		default:
		}
		return strings.Contains(s.out.String(), "\n")
	})
	s.address = strings.TrimSpace(s.out.String())
	t.Cleanup(s.end)
	return s
}

// end interrupts the program, as Ctrl-C does.
func (s *served) end() {
	s.t.Helper()
	if s.done == nil {
		return
	}
	if err := syscall.Kill(os.Getpid(), syscall.SIGINT); err != nil {
		s.t.Fatal(err)
	}
	select {
	case code := <-s.done:
		if code != exitDone {
			s.t.Errorf("got exit code %d after an interrupt, want %d", code, exitDone)
		}
	case <-time.After(30 * time.Second):
		s.t.Fatal("an interrupt does not end it")
	}
	s.done = nil
}

// get asks for something as a page of the program does.
func (s *served) get(path string) (int, string) {
	s.t.Helper()
	got, err := http.Get(s.address + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return got.StatusCode, string(data)
}

// post asks for something to be done, as the page of an origin.
func (s *served) post(origin, body string) (int, answer) {
	s.t.Helper()
	r, err := http.NewRequest(http.MethodPost, s.address+"act", strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	if origin != "" {
		r.Header.Set("Origin", origin)
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	var a answer
	if json.Unmarshal(data, &a) != nil {
		a.Text = string(data)
	}
	return got.StatusCode, a
}

func (s *served) origin() string {
	return regexp.MustCompile(`^http://[^/]+`).FindString(s.address)
}

// act asks for something to be done and returns what the program answers.
func (s *served) act(a action) answer {
	s.t.Helper()
	data, err := json.Marshal(a)
	if err != nil {
		s.t.Fatal(err)
	}
	_, got := s.post(s.origin(), string(data))
	return got
}

// state is what the program tells first to a page that opens.
func (s *served) state() pageState {
	s.t.Helper()
	got, err := http.Get(s.address + "events")
	if err != nil {
		s.t.Fatal(err)
	}
	defer got.Body.Close()
	line := make([]byte, 1<<16)
	n := 0
	for !bytes.Contains(line[:n], []byte("\n\n")) {
		k, err := got.Body.Read(line[n:])
		if n += k; err != nil {
			s.t.Fatal(err)
		}
	}
	var state pageState
	if err := json.Unmarshal(bytes.TrimPrefix(line[:bytes.IndexByte(line[:n], '\n')], []byte("data: ")), &state); err != nil {
		s.t.Fatal(err)
	}
	return state
}

// inFolder puts a demo loop and a recipe into a folder of the test's own, which becomes the working directory.
func inFolder(t *testing.T, loop, recipe string) (dir string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(loopsDir(), loop))
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	put(t, dir, "loop.mid", string(data))
	if recipe != "" {
		put(t, dir, "mine.yaml", recipe)
	}
	t.Chdir(dir)
	return dir
}
