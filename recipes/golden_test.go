package recipes_test

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/remark"
	"loopdraft/recipes"
	"loopdraft/smf/oracle"
)

var update = flag.Bool("update", false, "rewrite the golden list")

// goldenDrafts makes one in every of the golden drafts, remarks being made text by text, and hands on each with the line
// that holds its hash and name.
func goldenDrafts(t *testing.T, every int, text func(remark.Remark) string, each func(line string, got *recipes.Result)) {
	t.Helper()
	n := 0
	made := func(name string, make func() (*recipes.Result, error)) {
		if n++; n%every != 0 {
			return
		}
		got, err := make()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		each(fmt.Sprintf("%x  %s", sha256.Sum256(bytesOf(t, got.File)), name), got)
	}
	add := func(name string, inputs []recipes.Input, r *recipes.Recipe, o recipes.Options) {
		o.Text = text
		made(name, func() (*recipes.Result, error) { return recipes.Draft(inputs, r, o) })
	}
	builtin := func(in recipes.Input, recipe string) {
		if text != nil {
			r, _ := recipes.Builtin(recipe)
			add(in.Name+", "+recipe, []recipes.Input{in}, r, recipes.Options{})
			return
		}
		made(in.Name+", "+recipe, func() (*recipes.Result, error) {
			return draftedBuiltin(t, in.Name, []recipes.Input{in}, recipe).got, nil
		})
	}
	for _, in := range demoLoops(t) {
		one := []recipes.Input{in}
		builtin(in, recipes.Builtins()[0].Name)
		add(in.Name+", club in 128 bars, take 3", one, club(t), recipes.Options{Bars: 128, Take: 3})
		add(in.Name+", club in 4m10s", one, club(t), recipes.Options{Micros: 250_000_000})
		for _, info := range recipes.Builtins()[1:] {
			builtin(in, info.Name)
		}
		add(in.Name+", 21 bars", one, &recipes.Recipe{}, recipes.Options{Bars: 21})
	}
	for seed := range uint64(24) {
		c := newChooser(1000 + seed)
		grid := gridLoop(t, c.grid())
		r, err := recipes.Parse("random.yaml", []byte(c.recipe()))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := recipes.Draft([]recipes.Input{grid}, r, recipes.Options{}); err == nil {
			add(fmt.Sprintf("random recipe %d", seed), []recipes.Input{grid}, r, recipes.Options{})
		}
	}
}

// TestGolden holds drafts to a list of hashes: the same bytes on every platform. Beside each hash stands the draft in
// short, so that a failure shows what has changed: see [inShort]. A change of the list is read before it is kept:
// go test ./recipes -run Golden -update.
func TestGolden(t *testing.T) {
	file := filepath.Join("testdata", "golden.txt")
	kept, err := os.ReadFile(file)
	if err != nil && !*update {
		t.Fatalf("%v; go test ./recipes -run Golden -update writes it", err)
	}
	want := strings.Split(string(kept), "\n\n") // with an empty one at the end
	var got []string
	every := oracle.Size(9, 1, 1) // a first run takes one in nine, of each recipe some
	if *update {
		every = 1
	}
	goldenDrafts(t, every, nil, func(line string, draft *recipes.Result) {
		i := every*(len(got)+1) - 1
		switch {
		case !*update && i < len(want) && strings.HasPrefix(want[i], line+"\n"):
			got = append(got, want[i])
			return
		case !*update && i < len(want):
			t.Errorf("%s", changedLines(want[i], line+"\n"+inShort(draft)))
		}
		got = append(got, line+"\n"+inShort(draft))
	})
	if *update {
		if err := os.WriteFile(file, []byte(strings.Join(got, "\n\n")+"\n\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if n := (len(want) - 1) / every; len(got) != n {
		t.Errorf("found %d drafts, want %d", len(got), n)
	}
	if t.Failed() {
		t.Error("drafts have other bytes; if that is meant, go test ./recipes -run Golden -update")
	}
}

// inShort is a draft in a few lines: its sections, and for each part what its bars are like. Bars that have the same
// events have the same letter, in the order in which they come, from a to z and then from A to Z, * for all others; a dot
// is a bar without an event. The number at the end is a checksum of the part's events.
func inShort(got *recipes.Result) string {
	var b strings.Builder
	s := got.Song
	for _, sec := range s.Sections {
		fmt.Fprintf(&b, "%s %d, ", sec.Name, sec.Bars)
	}
	fmt.Fprintf(&b, "%d bars of %d ticks", s.Bars(), s.End)
	width := 0
	for _, p := range s.Parts {
		width = max(width, len(p.Name))
	}
	for _, p := range s.Parts {
		fmt.Fprintf(&b, "\n%-*s ", width, p.Name)
		var seen []string
		sum := crc32.NewIEEE()
		for bar := 1; bar <= s.Bars(); bar++ {
			line := s.BarRange(bar, bar)
			text := ""
			for _, n := range s.In(p, line) {
				text += fmt.Sprintln(n.Start-line.Start, n.End-line.Start, n.Key, n.Vel)
			}
			for _, ev := range s.Tracks[p.Track].Events {
				if line.Has(ev.Tick) && ev.IsChannel() && ev.Chan() == p.Channel && !ev.IsOn() && !ev.IsOff() {
					text += fmt.Sprintln(ev.Tick-line.Start, ev.Status(), ev.Data1(), ev.Data2())
				}
			}
			io.WriteString(sum, text+"\n")
			if bar > 1 && bar%8 == 1 {
				b.WriteByte('|')
			}
			b.WriteByte(letterOf(text, &seen))
		}
		fmt.Fprintf(&b, " %08x", sum.Sum32())
	}
	return b.String()
}

// letterOf returns the letter of a bar by its events, of those that were seen before it.
func letterOf(text string, seen *[]string) byte {
	const letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
	if text == "" {
		return '.'
	}
	i := slices.Index(*seen, text)
	if i < 0 {
		i = len(*seen)
		*seen = append(*seen, text)
	}
	if i >= len(letters) {
		return '*'
	}
	return letters[i]
}

// changedLines returns the lines of two texts that are not the same, the old above the new.
func changedLines(was, is string) string {
	a, b := strings.Split(was, "\n"), strings.Split(is, "\n")
	out := ""
	for i := range max(len(a), len(b)) {
		if i < len(a) && i < len(b) && a[i] == b[i] {
			continue
		}
		if i < len(a) {
			out += "- " + a[i] + "\n"
		}
		if i < len(b) {
			out += "+ " + b[i] + "\n"
		}
	}
	return out
}

// TestTextsOfRemarksDecideNothing drafts the golden drafts, in a first run one in seven, with one text for all remarks: they
// have the same bytes.
func TestTextsOfRemarksDecideNothing(t *testing.T) {
	want, err := os.ReadFile(filepath.Join("testdata", "golden.txt"))
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	n := 0
	goldenDrafts(t, oracle.Size(61, 1, 1), func(remark.Remark) string { asked++; return "x" }, func(line string, _ *recipes.Result) {
		n++
		if !strings.Contains("\n\n"+string(want), "\n\n"+line+"\n") {
			t.Errorf("%s: other bytes where remarks have other texts", line)
		}
	})
	if n == 0 {
		t.Error("no draft was made")
	}
	if asked == 0 {
		t.Error("no remark was made text of")
	}
}
