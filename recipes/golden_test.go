package recipes

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/moves/remark"
)

var update = flag.Bool("update", false, "rewrite the golden list")

// goldenDrafts returns the hashes of the golden drafts with their names, remarks being made text by text.
func goldenDrafts(t *testing.T, text func(remark.Remark) string) []string {
	t.Helper()
	var lines []string
	add := func(name string, inputs []Input, r *Recipe, o Options) {
		o.Text = text
		got, err := Draft(inputs, r, o)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		lines = append(lines, fmt.Sprintf("%x  %s", sha256.Sum256(bytesOf(t, got.File)), name))
	}
	for _, in := range demoLoops(t) {
		one := []Input{in}
		add(in.Name+", club", one, club(t), Options{})
		add(in.Name+", club in 128 bars, take 3", one, club(t), Options{Bars: 128, Take: 3})
		add(in.Name+", club in 4m10s", one, club(t), Options{Micros: 250_000_000})
		for _, info := range Builtins()[1:] {
			r, _ := Builtin(info.Name)
			add(in.Name+", "+info.Name, one, r, Options{})
		}
		add(in.Name+", 21 bars", one, &Recipe{}, Options{Bars: 21})
	}
	for seed := range uint64(24) {
		c := newChooser(1000 + seed)
		grid := gridLoop(t, c.grid())
		r, err := Parse("random.yaml", []byte(c.recipe()))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Draft([]Input{grid}, r, Options{}); err == nil {
			add(fmt.Sprintf("random recipe %d", seed), []Input{grid}, r, Options{})
		}
	}
	return lines
}

// TestGolden holds drafts to a list of hashes: the same bytes on every platform. A change of the list
// is read before it is kept: go test ./recipes -run Golden -update.
func TestGolden(t *testing.T) {
	lines := goldenDrafts(t, nil)
	got := strings.Join(lines, "\n") + "\n"
	file := filepath.Join("testdata", "golden.txt")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v; go test ./recipes -run Golden -update writes it", err)
	}
	if got == string(want) {
		return
	}
	have := strings.Split(string(want), "\n")
	for i, line := range lines {
		if i >= len(have) || have[i] != line {
			t.Errorf("got  %s", line)
			if i < len(have) {
				t.Errorf("want %s", have[i])
			}
		}
	}
	t.Error("drafts have other bytes; if that is meant, go test ./recipes -run Golden -update")
}

// TestTextsOfRemarksDecideNothing drafts the golden drafts with one text for all remarks: they have the same
// bytes.
func TestTextsOfRemarksDecideNothing(t *testing.T) {
	want, err := os.ReadFile(filepath.Join("testdata", "golden.txt"))
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	got := goldenDrafts(t, func(remark.Remark) string { asked++; return "x" })
	if text := strings.Join(got, "\n") + "\n"; text != string(want) {
		t.Error("drafts have other bytes where remarks have other texts")
	}
	if asked == 0 {
		t.Error("no remark was made text of")
	}
}
