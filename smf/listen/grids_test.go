package listen_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Test loops have 96 ticks a quarter note and are drawn in sixteenth notes.
const (
	ppq  = 96
	step = ppq / 4
	beat = ppq
	bar  = 4 * ppq
)

// loop makes a file of rows "TRACK CHANNEL KEY STEPS": x is a hit (velocity 100), X an accent (120),
// o a soft one (40), - holds the note before it, . is a rest, | a bar line. A track's name is quoted,
// "" if it has none; rows of one name and, but for "", one channel are one track. Every track ends
// with its longest row.
func loop(t testing.TB, text string) *smf.File {
	t.Helper()
	f := &smf.File{Format: 1, Division: ppq}
	var names []string
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		line = strings.TrimSpace(line)
		quote := strings.Index(line[1:], `"`)
		if line[0] != '"' || quote < 0 {
			t.Fatalf("row %q has no quoted name", line)
		}
		name := line[1 : quote+1]
		fields := strings.Fields(line[quote+2:])
		channel, err1 := strconv.Atoi(fields[0])
		key, err2 := strconv.Atoi(fields[1])
		if err1 != nil || err2 != nil {
			t.Fatalf("row %q has no channel and key", line)
		}
		i := slices.Index(names, name)
		if i < 0 {
			i = len(names)
			names = append(names, name)
			f.Tracks = append(f.Tracks, smf.Track{})
			if name != "" {
				f.Tracks[i].AppendMeta(0, 0x03, []byte(name))
			}
		}
		addSteps(&f.Tracks[i], channel, key, strings.Join(fields[2:], ""))
	}
	for i := range f.Tracks {
		slices.SortStableFunc(f.Tracks[i].Events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	}
	return f
}

func addSteps(t *smf.Track, channel, key int, steps string) {
	flat := strings.ReplaceAll(steps, "|", "")
	for i := 0; i < len(flat); i++ {
		velocity := map[byte]byte{'x': 100, 'X': 120, 'o': 40}[flat[i]]
		if velocity == 0 {
			continue
		}
		end := i + 1
		for end < len(flat) && flat[end] == '-' {
			end++
		}
		note(t, channel, key, smf.Tick(i*step), smf.Tick(end*step), velocity)
	}
	t.End = max(t.End, smf.Tick(len(flat)*step))
}

// note adds a note; channel from 1, start and end in ticks.
func note(t *smf.Track, channel, key int, start, end smf.Tick, velocity byte) {
	t.Append(smf.Channel(start, 0x90|byte(channel-1), byte(key), velocity))
	t.Append(smf.Channel(end, 0x80|byte(channel-1), byte(key), 64))
	slices.SortStableFunc(t.Events, func(a, b smf.Event) int {
		if a.Tick != b.Tick {
			return int(a.Tick - b.Tick)
		}
		return offFirst(a) - offFirst(b)
	})
}

func offFirst(e smf.Event) int {
	if e.IsOff() {
		return 0
	}
	return 1
}

// raw reads a song from a file.
func raw(t testing.TB, f *smf.File) song.Song {
	t.Helper()
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// hear hears a loop of rows.
func hear(t testing.TB, text string, overrides ...listen.Override) (song.Song, listen.Report) {
	t.Helper()
	s := raw(t, loop(t, text))
	heard, r, err := listen.Hear(s, listen.Options{Overrides: overrides})
	if err != nil {
		t.Fatal(err)
	}
	checkPartition(t, s, heard)
	return heard, r
}

// show draws parts as "NAME ROLE JOB STEPS", onsets alone.
func show(s song.Song) string {
	var b strings.Builder
	for _, p := range s.Parts {
		job := p.Job
		if job == song.NoJob {
			job = "-"
		}
		fmt.Fprintf(&b, "%s, %s, %s: %s\n", p.Name, p.Role, job, steps(s, p))
	}
	return b.String()
}

func steps(s song.Song, p song.Part) string {
	row := []byte(strings.Repeat(".", int((s.End+step-1)/step)))
	for _, n := range p.Notes {
		row[n.Start/step] = 'x'
	}
	var bars []string
	for len(row) > 16 {
		bars, row = append(bars, string(row[:16])), row[16:]
	}
	return strings.Join(append(bars, string(row)), "|")
}

// same compares texts line by line, without indentation.
func same(t testing.TB, got, want string) {
	t.Helper()
	var lines []string
	for _, l := range strings.Split(strings.TrimSpace(want), "\n") {
		lines = append(lines, strings.TrimSpace(l))
	}
	if want = strings.Join(lines, "\n"); strings.TrimSpace(got) != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// checkPartition checks that the notes of the parts are those of the song as it came, each once, and
// that nothing else differs.
func checkPartition(t testing.TB, before, after song.Song) {
	t.Helper()
	if d := smf.Diff(before.File(), after.File()); d != "" {
		t.Errorf("the file differs after hearing: %s", d)
	}
	names := map[string]bool{}
	count := 0
	for i, p := range after.Parts {
		if names[p.Name] || p.Name == "" {
			t.Errorf("part %d bears the name %q, which is empty or another's", i, p.Name)
		}
		names[p.Name] = true
		if len(p.Notes) == 0 || cap(p.Notes) != len(p.Notes) {
			t.Errorf("part %q: %d notes, room for %d", p.Name, len(p.Notes), cap(p.Notes))
		}
		if !slices.IsSortedFunc(p.Notes, song.CompareNotes) {
			t.Errorf("part %q: notes out of order", p.Name)
		}
		for _, n := range p.Notes {
			if !p.Keys.Has(n.Key) {
				t.Errorf("part %q has a note of key %d, which is none of its keys %v", p.Name, n.Key, p.Keys.List())
			}
		}
		count += len(p.Notes)
	}
	for _, p := range before.Parts {
		count -= len(p.Notes)
	}
	if count != 0 {
		t.Errorf("%d notes more than there were", count)
	}
}
