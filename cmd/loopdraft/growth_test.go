//go:build unix

package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"loopdraft/smf"
)

// grown is a song of tracks that rest in turn for 8 bars of 56, with so many notes in each of their bars, spread over 8
// keys, and so many ticks a quarter note.
func grown(tracks, bars, notes, division int) *smf.File {
	bar := 4 * division
	f := &smf.File{Format: 1, Division: smf.Division(division)}
	names := []string{"Kick", "Bass", "Lead", "Pad", "Hat", "Snare", "Keys", "Strings"}
	keys := map[string]byte{"Kick": 36, "Hat": 42, "Snare": 38}
	for i := range tracks {
		var tr smf.Track
		name := names[i%len(names)]
		tr.AppendMeta(0, 0x03, fmt.Appendf(nil, "%s %d", name, i))
		drum, isDrum := keys[name]
		for b := range bars {
			if (b/8+i)%7 == 0 && bars > 8 {
				continue
			}
			for n := range notes {
				key, channel := drum, byte(9)
				if !isDrum {
					key, channel = 40+byte(i%32)+byte((b+n)%8), byte(i%9)
				}
				at := smf.Tick(b*bar + n*bar/notes)
				tr.Append(smf.Channel(at, 0x90|channel, key, 100))
				tr.Append(smf.Channel(at+smf.Tick(max(bar/notes/2, 1)), 0x80|channel, key, 64))
			}
		}
		tr.End = smf.Tick(bars * bar)
		f.Tracks = append(f.Tracks, tr)
	}
	return f
}

// size is the size of a song.
type size struct{ tracks, bars, notes, draft int } // notes a bar of a track; draft: length of the draft in bars, 0 as the recipe says

// BenchmarkGrowth tells how much longer each command takes, in CPU time, on ten times as many events, bars or tracks; want
// at most 12 times. A draft is as many bars long as the other commands' song. What is quick is run until it took half a second,
// so that a step is not told by one run of some milliseconds. Run it whole with -benchtime 1x; it takes minutes and some
// gigabytes of memory.
func BenchmarkGrowth(b *testing.B) {
	dir := b.TempDir()
	empty := filepath.Join(dir, "empty.yaml")
	if err := os.WriteFile(empty, []byte("moves: []\n"), 0o666); err != nil {
		b.Fatal(err)
	}
	to := func(name string) string { return filepath.Join(dir, name) }
	for _, c := range []struct {
		name   string
		drafts bool // it makes a draft, of a loop of 8 bars
		args   []string
		loops  int // so many loops as long as their draft are drafted, in rows of bars alone; 0: one of 8 bars
	}{
		{"parts", false, []string{"parts"}, 0},
		{"map", false, []string{"map"}, 0},
		{"page", false, []string{"map", "--force", "-o", to("map.html")}, 0},
		{"review", false, []string{"review"}, 0},
		{"study", false, []string{"study", "--force", "-o", to("study.yaml")}, 0},
		{"empty", false, []string{"draft", "--recipe", empty, "--force", "-o", to("copy.mid")}, 0},
		{"draft", true, []string{"draft", "--force", "-o", to("draft.mid"), "--write-recipe", to("draft.yaml")}, 0},
		{"long", true, []string{"draft", "--force", "-o", to("draft.mid"), "--write-recipe", to("draft.yaml")}, 1},
		{"two", true, []string{"draft", "--force", "-o", to("draft.mid"), "--write-recipe", to("draft.yaml")}, 2},
		{"split", true, []string{"draft", "--force", "-o", to("draft.mid"), "--split", to("split"), "--map", to("map.svg")}, 0},
	} {
		for _, of := range []struct {
			what  string
			sizes []size
		}{
			{"events", []size{{8, 64, 11, 72}, {8, 64, 114, 72}, {8, 64, 1140, 72}, {8, 64, 11400, 72}}},
			{"bars", []size{{8, 99, 4, 96}, {8, 999, 4, 1000}, {8, 9999, 4, 9992}}},
			{"tracks", []size{{10, 64, 4, 0}, {100, 64, 4, 0}, {1000, 64, 4, 0}}},
		} {
			if testing.Short() { // whether they run is asked there, not what they take
				of.sizes = of.sizes[:1]
			}
			if c.loops > 0 && of.what != "bars" {
				continue
			}
			before := 0.0
			for _, n := range of.sizes {
				args := c.args
				if c.drafts {
					if c.loops == 0 {
						n.bars = 8
					}
					if n.draft > 0 {
						args = append(args[:len(args):len(args)], "--bars", strconv.Itoa(n.draft))
					}
				}
				division := 480
				if of.what == "events" { // so that many notes start at different ticks
					division = 9600
				}
				files := []*smf.File{grown(n.tracks, n.bars, n.notes, division)}
				if c.loops == 2 {
					files = append(files, grown(n.tracks, n.bars, n.notes/2, division))
				}
				events := 0
				for _, f := range files {
					for _, t := range f.Tracks {
						events += len(t.Events)
					}
				}
				b.Run(fmt.Sprintf("%s/%s/tracks=%d,bars=%d,events=%d", c.name, of.what, n.tracks, max(n.bars, n.draft), events), func(b *testing.B) {
					args := args[:len(args):len(args)]
					for i, f := range files {
						path := to(fmt.Sprintf("song %d.mid", i))
						bytes, err := f.Encode()
						if err != nil {
							b.Fatal(err)
						}
						if err := os.WriteFile(path, bytes, 0o666); err != nil {
							b.Fatal(err)
						}
						if len(files) > 1 {
							path = fmt.Sprintf("loop%d=%s", i, path)
						}
						args = append(args, path)
					}
					now := 0.0
					for b.Loop() {
						taken, runs := time.Duration(0), 0
						for runs == 0 || taken < time.Second/2 && !testing.Short() {
							debug.FreeOSMemory() // a command starts without the memory of one before it
							start := cpu()
							var said strings.Builder
							if code := run(args, nil, io.Discard, &said, func(string) string { return "" }); code != exitDone {
								b.Fatalf("got exit code %d: %s", code, said.String())
							}
							taken += cpu() - start
							runs++
						}
						now = float64(taken) / float64(runs)
					}
					b.ReportMetric(now/1e9, "cpu-s")
					if before > 0 {
						b.ReportMetric(now/before, "times")
					}
					before = now
				})
			}
		}
	}
}

// cpu returns the CPU time that the process has taken.
func cpu() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
