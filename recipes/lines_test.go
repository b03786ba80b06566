package recipes_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/moves/movetest"
	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
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

func (k loopKind) input(t testing.TB) recipes.Input {
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
func linesOf(got *recipes.Result, phrase int) (lines []string, unchanged, unprepared []int) {
	s, made := got.Song, got.ToReview()
	e, _, err := got.Energy()
	if err != nil {
		panic(err)
	}
	line, prepare := form.DefaultLineRule(phrase), form.NewPreparer(form.DefaultPrepareRule())
	for _, sec := range s.Sections {
		for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar += phrase {
			var what []string
			for _, c := range line.Changes(s, made.Full, e, bar) {
				what = append(what, s.Parts[c.Part].Name+" "+c.What)
			}
			if bar > 1 && len(what) == 0 {
				unchanged = append(unchanged, bar)
			}
			text := fmt.Sprintf("%-6s %3d  %s", sec.Name, bar, strings.Join(what, ", "))
			if bar == sec.Bar && bar > 1 {
				var by []string
				for _, p := range prepare.Preparing(s, made.Lined, got.LoopBars, bar) {
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

// TestLines holds for every built-in recipe and kind of loop that each line is changed and each section
// prepared, and by what.
func TestLines(t *testing.T) {
	every := oracle.Size(3, 1, 1) // a first run takes a third of the loops for each recipe
	if *update {
		every = 1
	}
	for k, info := range recipes.Builtins() {
		var blocks []string
		for i, kind := range loopKinds() {
			if (i+k)%every != 0 {
				continue
			}
			got := draftedBuiltin(t, kind.name, []recipes.Input{kind.input(t)}, info.Name).got
			lines, unchanged, unprepared := linesOf(got, 8)
			blocks = append(blocks, fmt.Sprintf("%s, %d bpm\n%s\n\n", kind.name, kind.bpm, strings.Join(lines, "\n")))
			if len(unchanged) > 0 && (kind.name != "kick and bass" || len(unchanged) > 1) { // two parts may not have another change
				t.Errorf("%s, %s: nothing changes at bars %v", info.Name, kind.name, unchanged)
			}
			if len(unprepared) > 0 {
				t.Errorf("%s, %s: nothing prepares bars %v", info.Name, kind.name, unprepared)
			}
			if n := form.SilentPairs(got.Song, 1, got.Song.Bars()); n > 0 {
				t.Errorf("%s, %s: found %d bars that are silent as the bar before is", info.Name, kind.name, n)
			}
			if bad := got.Song.Check(); len(bad) > 0 {
				t.Errorf("%s, %s: %s", info.Name, kind.name, bad[0])
			}
		}
		path := filepath.Join("testdata", "lines-"+info.Name+".txt")
		if *update {
			if err := os.WriteFile(path, []byte(strings.Join(blocks, "")), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		stale := every == 1 && string(want) != strings.Join(blocks, "")
		for _, block := range blocks {
			stale = stale || !strings.Contains("\n\n"+string(want), "\n\n"+block)
		}
		if stale {
			t.Errorf("%s is stale: run this test with -update and read what has changed", path)
		}
	}
}

// TestBuiltinLengths holds that the recipes last as long as they say, and that each says where its
// lengths come from.
func TestBuiltinLengths(t *testing.T) {
	for _, row := range []struct {
		name    string
		bpm     int
		seconds float64
	}{
		{"club", 132, 5*60 + 49}, {"short", 128, 3 * 60}, {"slow-burn", 132, 9*60 + 13}, {"slow-burn", 150, 8*60 + 6},
		{"two-breaks", 132, 6*60 + 18}, {"mix-tool", 132, 4*60 + 51},
	} {
		kind := loopKinds()[0]
		kind.bpm = row.bpm
		r, _ := recipes.Builtin(row.name)
		got, err := recipes.Draft([]recipes.Input{kind.input(t)}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if s := float64(got.Song.Time().Micros(got.Song.End)) / 1e6; s < row.seconds-0.5 || s > row.seconds+0.5 {
			t.Errorf("%s at %d bpm lasts %.1f s, want %.0f", row.name, row.bpm, s, row.seconds)
		}
	}
	for _, info := range recipes.Builtins() {
		if text, _ := recipes.BuiltinText(info.Name); !strings.Contains(string(text), "common practice, no source") {
			t.Errorf("%s does not say where its lengths come from", info.Name)
		}
	}
}

// TestMixToolKeepsToBeats holds that bass and music play in a block each only.
func TestMixToolKeepsToBeats(t *testing.T) {
	r, _ := recipes.Builtin("mix-tool")
	got, err := recipes.Draft([]recipes.Input{loopKinds()[0].input(t)}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, sec := range got.Song.Sections {
		for _, p := range got.Song.Parts {
			plays := len(got.Song.In(p, got.Song.SectionRange(sec))) > 0
			want := !p.InGroup("music") || sec.Name == "theme" || sec.Name == "deep" && p.Job == song.JobBass
			if plays && !want {
				t.Errorf("%s plays in %s at bar %d", p.Name, sec.Name, sec.Bar)
			}
		}
	}
}
