//go:build unix

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

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

// TestWatchOfAFolderMadeAgain: a folder that is removed and made again, or has another put in its place, is
// watched on.
func TestWatchOfAFolderMadeAgain(t *testing.T) {
	loop, err := os.ReadFile("../../testdata/loops/kick-bass.mid")
	if err != nil {
		t.Fatal(err)
	}
	top := t.TempDir()
	dir := filepath.Join(top, "songs")
	at := func(name string) string { return filepath.Join(dir, name) }
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	fill := func(name, length string) {
		check(os.Mkdir(at(name), 0o777))
		put(t, at(name), "loop.mid", string(loop))
		put(t, at(name), "mine.yaml", "length: "+length+"\n")
	}
	check(os.Mkdir(dir, 0o777))
	fill("song", "8 bars")
	var out, diagnostics log
	done := make(chan int)
	go func() {
		done <- run([]string{"draft", at("song/loop.mid"), "--recipe", at("song/mine.yaml"), "-o", filepath.Join(top, "out.mid"), "--watch"}, strings.NewReader(""), &out, &diagnostics, func(string) string { return "" })
	}()
	eventually(t, "the first draft", func() bool {
		return strings.Contains(out.String(), "8 bars, ") && strings.Contains(diagnostics.String(), "watching")
	})

	check(os.RemoveAll(at("song")))
	eventually(t, "word that the folder is gone", func() bool { return strings.Contains(diagnostics.String(), "song: the folder is gone") })
	fill("song", "16 bars")
	eventually(t, "a draft after the folder was made again", func() bool { return strings.Contains(out.String(), "16 bars, ") })
	put(t, at("song"), "mine.yaml", "length: 24 bars\n")
	eventually(t, "a draft after a change in the new folder", func() bool { return strings.Contains(out.String(), "24 bars, ") })

	fill("other", "32 bars")
	check(os.Rename(at("song"), at("away")))
	check(os.Rename(at("other"), at("song")))
	eventually(t, "a draft after another folder was put in its place", func() bool { return strings.Contains(out.String(), "32 bars, ") })
	put(t, at("song"), "mine.yaml", "length: 40 bars\n")
	eventually(t, "a draft after a change in that one", func() bool { return strings.Contains(out.String(), "40 bars, ") })

	check(os.Rename(dir, filepath.Join(top, "away")))
	check(os.Mkdir(dir, 0o777))
	fill("song", "48 bars")
	eventually(t, "a draft after a folder further up was replaced", func() bool { return strings.Contains(out.String(), "48 bars, ") })

	check(syscall.Kill(os.Getpid(), syscall.SIGINT))
	if code := <-done; code != exitDone {
		t.Errorf("got exit code %d after an interrupt, want %d", code, exitDone)
	}
}

// TestWatchOfEveryLoopOfARecipe: a recipe names two loops in a folder each; a change of either makes the draft again, and
// so does one of a loop that the recipe names from now on.
func TestWatchOfEveryLoopOfARecipe(t *testing.T) {
	read := func(name string) string {
		t.Helper()
		data, err := os.ReadFile("../../testdata/loops/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	dir := t.TempDir()
	for _, folder := range []string{"one", "two", "three"} {
		if err := os.Mkdir(filepath.Join(dir, folder), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	put(t, dir, "one/groove.mid", read("harbour-lights.mid"))
	put(t, dir, "two/break.mid", read("breaks/small-hours.mid"))
	put(t, dir, "three/break.mid", read("kick-bass.mid"))
	const sections = "\nsections: [{name: drop, bars: 8}, {name: break, bars: 8, loop: b}]\n"
	put(t, dir, "mine.yaml", "loops: {a: one/groove.mid, b: two/break.mid}"+sections)
	var out, diagnostics log
	done := make(chan int)
	go func() {
		done <- run([]string{"draft", "--recipe", filepath.Join(dir, "mine.yaml"), "-o", filepath.Join(dir, "out.mid"), "--watch"}, strings.NewReader(""), &out, &diagnostics, func(string) string { return "" })
	}()
	drafts := func() int { return strings.Count(out.String(), "16 bars, ") }
	eventually(t, "the first draft", func() bool { return drafts() == 1 && strings.Contains(diagnostics.String(), "watching") })
	was := ""
	another := func(after string) {
		t.Helper()
		eventually(t, "another draft after "+after, func() bool {
			data, err := os.ReadFile(filepath.Join(dir, "out.mid"))
			if err != nil || len(data) == 0 || string(data) == was {
				return false
			}
			was = string(data)
			return true
		})
	}
	another("nothing")
	put(t, dir, "two/break.mid", read("breakwater.mid"))
	another("the second loop changed")
	put(t, dir, "one/groove.mid", read("one-channel.mid"))
	another("the first loop changed")
	put(t, dir, "mine.yaml", "loops: {a: one/groove.mid, b: three/break.mid}"+sections)
	another("the recipe named another loop")
	put(t, dir, "three/break.mid", read("breaks/small-hours.mid"))
	another("that loop changed")
	if err := os.Remove(filepath.Join(dir, "three/break.mid")); err != nil {
		t.Fatal(err)
	}
	eventually(t, "word that a loop is gone", func() bool { return strings.Contains(diagnostics.String(), "break.mid: found no such file") })
	put(t, dir, "three/break.mid", read("kick-bass.mid"))
	another("it came back")
	if err := syscall.Kill(os.Getpid(), syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	if code := <-done; code != exitDone {
		t.Errorf("got exit code %d after an interrupt, want %d", code, exitDone)
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
