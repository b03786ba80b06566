package recipes

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/moves/movetest"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// loopKind is a kind of loop that producers start from. Invented loops; the kinds are common practice, no source.
type loopKind struct {
	name string
	bpm  int
	rows []string // of two bars
}

// loopKinds are the kinds of loop whose lines are held.
func loopKinds() []loopKind {
	const kick, clap = "kick x...x...x...x...|x...x...x...x...", "clap ....x.......x...|....x.......x..."
	const hat, open, bass = "hat ..x...x...x...x.|..x...x...x.x.x.", "open-hat ......x.......x.|..x...x.......x.", "bass ..x-..x-..x-..x-|..x-..x-..x-x-x-"
	const stab, pad, sixteenths = "stab x--..x--..x-....|x--..x--....x--.", "pad x---------------|----------------", "hat xoxoxoxoxoxoxoxo|xoxoxoxoxoxoxoxo"
	return []loopKind{
		{"full", 132, []string{kick, clap, hat, open, bass, stab, pad}},
		{"full, 16th hats", 132, []string{kick, clap, sixteenths, open, bass, stab, pad}},
		{"break, bass, strings", 174, []string{
			"kick x.........x.....|x.........x..x..", "snare ....x..x.x..x..x|....x..x.x..x.x.", "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
			"bass x---..x-....x---|x---..x-....x-x-", "strings x---------------|----------------",
		}},
		{"kit and bass", 132, []string{kick, clap, hat, open, "perc ...x..x....x....|......x..x.....x", bass}},
		{"kick and bass", 132, []string{kick, bass}},
		{"drums only", 132, []string{kick, clap, hat, open, "shaker o.xoo.xoo.xoo.xo|o.xoo.xoo.xoo.xo"}},
		{"no kick", 132, []string{clap, hat, bass, stab, pad}},
	}
}

func (k loopKind) input(t testing.TB) Input {
	t.Helper()
	in := loopOf(t, k.rows)
	s, err := song.From(in.File)
	if err != nil {
		t.Fatal(err)
	}
	in.File = movetest.Tempo(k.bpm)(s).File()
	return in
}

// linesOf says for each line of a draft what changes there, and for each section whether it is prepared.
func linesOf(got *Result, phrase int) (lines []string, unchanged, unprepared []int) {
	s, env := got.Song, got.draft.env
	line, prepare := listen.DefaultLineRule(phrase), listen.DefaultPrepareRule()
	for _, sec := range s.Sections {
		for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar += phrase {
			var what []string
			for _, c := range line.Changes(s, env.Full, bar) {
				what = append(what, s.Parts[c.Part].Name+" "+c.What)
			}
			if bar > 1 && len(what) == 0 {
				unchanged = append(unchanged, bar)
			}
			text := fmt.Sprintf("%-6s %3d  %s", sec.Name, bar, strings.Join(what, ", "))
			if bar == sec.Bar && bar > 1 {
				var by []string
				for _, p := range prepare.Preparing(s, env.Lined, got.LoopBars, bar) {
					by = append(by, s.Parts[p].Name)
				}
				if len(by) == 0 {
					unprepared = append(unprepared, bar)
				}
				text += " < " + strings.Join(by, ", ")
			}
			lines = append(lines, strings.TrimRight(text, " "))
		}
	}
	return lines, unchanged, unprepared
}

func TestClubLines(t *testing.T) {
	var b strings.Builder
	for _, kind := range loopKinds() {
		got, err := Draft([]Input{kind.input(t)}, club(t), Options{})
		if err != nil {
			t.Fatal(err)
		}
		lines, unchanged, unprepared := linesOf(got, 8)
		fmt.Fprintf(&b, "%s, %d bpm\n%s\n\n", kind.name, kind.bpm, strings.Join(lines, "\n"))
		if len(unchanged) > 0 {
			t.Errorf("%s: nothing changes at bars %v", kind.name, unchanged)
		}
		if len(unprepared) > 0 {
			t.Errorf("%s: nothing prepares bars %v", kind.name, unprepared)
		}
	}
	path := filepath.Join("testdata", "club-lines.txt")
	if *update {
		if err := os.WriteFile(path, []byte(b.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != b.String() {
		t.Errorf("%s is stale: run this test with -update and read what has changed", path)
	}
}
