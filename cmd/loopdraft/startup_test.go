package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// mostAtInit is what a package of ours may allocate before main starts, in bytes: room for a few
// error values and flags, none for tables.
const mostAtInit = 1024

// TestPackagesDoNoWorkBeforeMain reads the runtime's own trace of package initialisation. It looks
// at bytes, which are the same in every run, and not at times.
func TestPackagesDoNoWorkBeforeMain(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, "-test.run=^$")
	cmd.Env = append(os.Environ(), "GODEBUG=inittrace=1")
	trace, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, trace)
	}
	traced := 0
	for line := range strings.Lines(string(trace)) {
		// init PACKAGE @1.2 ms, 0.003 ms clock, 32 bytes, 2 allocs
		words := strings.Fields(line)
		if len(words) != 11 || words[0] != "init" {
			continue
		}
		traced++
		bytes, err := strconv.Atoi(words[7])
		if err != nil {
			t.Fatalf("found %q in the trace", line)
		}
		switch ours := strings.HasPrefix(words[1], module) || words[1] == "main"; {
		case ours && bytes > mostAtInit:
			t.Errorf("%s allocates %d bytes before main starts, want at most %d", words[1], bytes, mostAtInit)
		case bytes > mostAtInit:
			t.Logf("%s allocates %d bytes before main starts", words[1], bytes)
		}
	}
	if traced == 0 {
		t.Fatalf("found no trace in\n%s", trace)
	}
}

// TestMemoryIsCollectedSeldom makes takes that come to several collections, and reads from the runtime's own trace how much
// may be taken before the next one.
func TestMemoryIsCollectedSeldom(t *testing.T) {
	cmd := exec.Command("loopdraft", "draft", filepath.Join(loopsDir(), "harbour-lights.mid"), "--takes", "12", "-o", filepath.Join(t.TempDir(), "draft.mid"))
	cmd.Env = []string{"GODEBUG=gctrace=1"}
	trace, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, trace)
	}
	goals := regexp.MustCompile(`(?m)^gc .* ([0-9]+) MB goal`).FindAllSubmatch(trace, -1)
	if len(goals) < 2 {
		t.Fatalf("found %d collections, want several:\n%s", len(goals), trace)
	}
	for _, goal := range goals {
		if mb, _ := strconv.Atoi(string(goal[1])); mb < 16 {
			t.Errorf("memory is collected when %d MB are in use, want 16 at least", mb)
		}
	}
}

// BenchmarkWholeProcess runs programs from start to end: one that does nothing, the version, and a
// draft of 8 bars to 192. Their differences are what the program costs.
func BenchmarkWholeProcess(b *testing.B) {
	dir := b.TempDir()
	nothing := filepath.Join(dir, "nothing.go")
	if err := os.WriteFile(nothing, []byte("package main\n\nfunc main() {}\n"), 0o666); err != nil {
		b.Fatal(err)
	}
	build := func(name string, args ...string) string {
		out := filepath.Join(dir, name)
		cmd := exec.Command("go", append([]string{"build", "-o", out}, args...)...)
		if text, err := cmd.CombinedOutput(); err != nil {
			b.Fatalf("%v\n%s", err, text)
		}
		return out
	}
	idle, whole := build("nothing", nothing), build("loopdraft", ".")
	slim := build("slim", "-tags=urfave_cli_no_docs", ".") // without the flag library's manual page writer
	loop := filepath.Join(loopsDir(), "harbour-lights.mid")
	draft := []string{"draft", loop, "--force", "-o", filepath.Join(dir, "draft.mid")}
	for _, bb := range []struct {
		name, program string
		args          []string
	}{
		{"nothing", idle, nil},
		{"version", whole, []string{"--version"}},
		{"version without manual pages", slim, []string{"--version"}},
		{"draft", whole, draft},
		{"draft without manual pages", slim, draft},
		{"20 takes", whole, append(slices.Clip(draft), "--takes", "20")},
	} {
		b.Run(bb.name, func(b *testing.B) {
			var cpu time.Duration
			for b.Loop() {
				cmd := exec.Command(bb.program, bb.args...)
				if text, err := cmd.CombinedOutput(); err != nil {
					b.Fatalf("%v\n%s", err, text)
				}
				cpu += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
			}
			b.ReportMetric(float64(cpu.Nanoseconds())/float64(b.N), "cpu-ns/op") // steadier on a busy machine
		})
	}
}
