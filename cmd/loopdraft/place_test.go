//go:build unix

package main

import (
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
)

// slowDraft starts the program in a new folder with a loop. Its map goes into a pipe that nobody reads yet:
// when slowDraft returns, all files are written beside their places and wait for it.
func slowDraft(t *testing.T, dir string, args ...string) (*exec.Cmd, *log) {
	t.Helper()
	loop, err := os.ReadFile("../../testdata/loops/kick-bass.mid")
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "loop.mid", string(loop))
	if err := syscall.Mkfifo(filepath.Join(dir, "slow.svg"), 0o600); err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	var diagnostics log
	cmd := &exec.Cmd{Path: self, Args: append([]string{"loopdraft", "draft", "loop.mid", "-o", "out.mid", "--map", "slow.svg"}, args...), Dir: dir, Stderr: &diagnostics}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill() })
	want := 1
	for _, a := range args {
		if strings.HasSuffix(a, ".yaml") {
			want++
		}
	}
	eventually(t, "the files beside their places", func() bool {
		found, _ := filepath.Glob(filepath.Join(dir, ".loopdraft-*"))
		if len(found) < want {
			return false
		}
		info, err := os.Stat(found[len(found)-1])
		return err == nil && info.Size() > 0
	})
	return cmd, &diagnostics
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// drain reads the pipe, so that the program goes on, and returns its exit code.
func drain(t *testing.T, dir string, cmd *exec.Cmd) int {
	t.Helper()
	pipe, err := os.Open(filepath.Join(dir, "slow.svg"))
	if err != nil {
		t.Fatal(err)
	}
	defer pipe.Close()
	if _, err := io.Copy(io.Discard, pipe); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	return cmd.ProcessState.ExitCode()
}

// wantFiles compares the names in a folder; a text after = is what the file holds.
func wantFiles(t *testing.T, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	var names []string
	for _, w := range want {
		name, text, told := strings.Cut(w, "=")
		names = append(names, name)
		if !told {
			continue
		}
		if data, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(data) != text {
			t.Errorf("%s holds %.40q (%v), want %q", name, data, err, text)
		}
	}
	if !slices.Equal(got, names) {
		t.Errorf("found files %q, want %q", got, names)
	}
}

// TestToldToEnd: an interrupt, and being told to end, leave nothing behind.
func TestToldToEnd(t *testing.T) {
	for _, s := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
		if signal.Ignored(s) {
			continue // by whoever started the tests, as nohup does: what they start ignores it too
		}
		dir := t.TempDir()
		cmd, diagnostics := slowDraft(t, dir, "--split", "stems", "--write-recipe", "out.yaml")
		if err := cmd.Process.Signal(s); err != nil {
			t.Fatal(err)
		}
		cmd.Wait()
		if code := cmd.ProcessState.ExitCode(); code != 128+int(s) {
			t.Errorf("%v: got exit code %d, want %d; %s", s, code, 128+int(s), diagnostics)
		}
		wantFiles(t, dir, "loop.mid", "slow.svg")
	}
}

// TestToldToEndWhileItFollows: what is being written is written, and the program ends as it does between drafts; a pipe
// that nobody reads is not waited for, and then nothing is left behind.
func TestToldToEndWhileItFollows(t *testing.T) {
	if signal.Ignored(syscall.SIGINT) {
		t.Log("an interrupt is ignored by whoever started the tests")
		return
	}
	for _, reads := range []bool{true, false} {
		dir := t.TempDir()
		cmd, diagnostics := slowDraft(t, dir, "--watch")
		if err := cmd.Process.Signal(syscall.SIGINT); err != nil {
			t.Fatal(err)
		}
		want, files, code := exitDone, []string{"loop.mid", "out.mid", "slow.svg"}, 0
		if reads {
			code = drain(t, dir, cmd)
		} else {
			want, files = exitSignal+int(syscall.SIGINT), []string{"loop.mid", "slow.svg"}
			cmd.Wait()
			code = cmd.ProcessState.ExitCode()
		}
		if code != want {
			t.Errorf("the pipe is read: %t: got exit code %d, want %d; %s", reads, code, want, diagnostics)
		}
		wantFiles(t, dir, files...)
	}
}

// TestFileThatAppearsIsKept: what another program has written meanwhile stays, and none of the draft's files
// is there.
func TestFileThatAppearsIsKept(t *testing.T) {
	dir := t.TempDir()
	cmd, diagnostics := slowDraft(t, dir, "--write-recipe", "out.yaml", "--split", "stems")
	put(t, dir, "out.yaml", "mine")
	if code := drain(t, dir, cmd); code != exitFailure {
		t.Errorf("got exit code %d, want %d", code, exitFailure)
	}
	if want := "loopdraft: out.yaml: found a file that has appeared meanwhile, want another name, or --force to replace it\n"; !strings.HasSuffix(diagnostics.String(), want) {
		t.Errorf("got %q, want %q", diagnostics, want)
	}
	wantFiles(t, dir, "loop.mid", "out.yaml=mine", "slow.svg")
}

// TestFilesComeTogether: where one file cannot have its place, those before it are what they were.
func TestFilesComeTogether(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "out.mid", "old")
	cmd, diagnostics := slowDraft(t, dir, "--write-recipe", "out.yaml", "--force")
	if err := os.Mkdir(filepath.Join(dir, "out.yaml"), 0o777); err != nil {
		t.Fatal(err)
	}
	if code := drain(t, dir, cmd); code != exitFailure || !strings.HasPrefix(diagnostics.String(), "loopdraft: out.yaml: ") {
		t.Errorf("got exit code %d and %q", code, diagnostics)
	}
	wantFiles(t, dir, "loop.mid", "out.mid=old", "out.yaml", "slow.svg")
}

// TestWithoutLinks: a file system may know no second names. A file that appears is kept all the same; what
// was replaced cannot be taken back, which is told.
func TestWithoutLinks(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	files := func(force bool, before func()) error {
		w := &writing{link: func(string, string) error { return errors.ErrUnsupported }}
		for _, name := range []string{"a", "b"} {
			if _, err := w.writeBeside(output{name: name, data: []byte("new " + name)}); err != nil {
				t.Fatal(err)
			}
		}
		before()
		err := w.commit(force)
		w.drop()
		return err
	}
	if err := files(false, func() {}); err != nil {
		t.Fatal(err)
	}
	wantFiles(t, ".", "a=new a", "b=new b")
	os.Remove("a")
	if err := files(false, func() {}); err == nil || err.Error() != "b: "+errAppeared.Error() {
		t.Errorf("got %v, want that b has appeared", err)
	}
	wantFiles(t, ".", "b=new b")
	put(t, ".", "a", "old a")
	err := files(true, func() {
		os.Remove("b")
		os.Mkdir("b", 0o777)
	})
	if err == nil || !strings.HasPrefix(err.Error(), "b: ") || !strings.HasSuffix(err.Error(), "; written all the same: a") {
		t.Errorf("got %v, want that a is written", err)
	}
	wantFiles(t, ".", "a=new a", "b")
}

// TestNoSecondNameStays: the names under which old files are kept meanwhile go, also that of a file that
// cannot have its place because its new text is gone.
func TestNoSecondNameStays(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, ".", "a", "old a")
	put(t, ".", "b", "old b")
	w := &writing{link: os.Link}
	for _, name := range []string{"a", "b"} {
		if _, err := w.writeBeside(output{name: name, data: []byte("new")}); err != nil {
			t.Fatal(err)
		}
	}
	os.Remove(w.files[1].temp)
	if err := w.commit(true); err == nil {
		t.Error("a file that is gone has its place")
	}
	w.drop()
	wantFiles(t, ".", "a=old a", "b=old b")
}

// TestBrokenPipe: a reader that goes away is a failure, not the end of the program before it has cleared up.
func TestBrokenPipe(t *testing.T) {
	dir := t.TempDir()
	loop, err := os.ReadFile("../../testdata/loops/kick-bass.mid")
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "loop.mid", string(loop))
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	r.Close()
	var diagnostics bytes.Buffer
	cmd := &exec.Cmd{Path: self, Args: []string{"loopdraft", "draft", "loop.mid", "-o", "-", "--map", "out.svg"}, Dir: dir, Stdout: w, Stderr: &diagnostics}
	cmd.Run()
	w.Close()
	if code := cmd.ProcessState.ExitCode(); code != exitFailure || diagnostics.String() != "loopdraft: standard output: broken pipe\n" {
		t.Errorf("got exit code %d and %q", code, diagnostics.String())
	}
	wantFiles(t, dir, "loop.mid")
}

// TestLongNames: names as long as file systems take them (255 bytes, NAME_MAX of Linux's limits.h) are written.
func TestLongNames(t *testing.T) {
	loop, err := filepath.Abs("../../testdata/loops/kick-bass.mid")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for _, n := range []int{254, 255} {
		name := strings.Repeat("n", n-len(".mid")) + ".mid"
		var diagnostics bytes.Buffer
		if code := run([]string{"draft", loop, "-o", name}, strings.NewReader(""), io.Discard, &diagnostics, func(string) string { return "" }); code != exitDone {
			t.Errorf("%d bytes: exit code %d, %s", n, code, diagnostics.String())
		}
		if _, err := os.Stat(name); err != nil {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
}

// TestSynced: what cannot be synced, as a pipe, is no failure; what is closed is.
func TestSynced(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	r.Close()
	if err := synced(w); err != nil {
		t.Errorf("a pipe: %v", err)
	}
	w.Close()
	if synced(w) == nil {
		t.Error("a closed file is synced")
	}
}
