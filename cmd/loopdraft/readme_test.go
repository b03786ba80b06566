package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/recipes"
	"loopdraft/smf"
)

const (
	movesStart = "<!-- moves: written by the test of this page -->\n"
	movesEnd   = "<!-- end -->\n"
)

// TestReadme holds the README to what the program does: every console block is run and its output
// compared, the table of moves is made from the catalogue, and every recipe is drafted.
//
//	go test ./cmd/loopdraft -run Readme -update
//
// writes outputs and table anew.
func TestReadme(t *testing.T) {
	path, err := filepath.Abs("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	inWorkFolder(t)
	want := movesTable(t, consoles(t, string(data)))
	if *update {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if string(data) != want {
		t.Errorf("README.md is stale at:\n%s\ngo test ./cmd/loopdraft -run Readme -update writes it anew", firstDifference(string(data), want))
	}
}

// inWorkFolder goes to an empty folder that has the repository's testdata in it.
func inWorkFolder(t *testing.T) {
	t.Helper()
	data, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.CopyFS("testdata", os.DirFS(data)); err != nil {
		t.Fatal(err)
	}
}

// consoles fills the console blocks of a text with what their first line prints.
func consoles(t *testing.T, text string) string {
	t.Helper()
	const fence = "```console\n$ loopdraft "
	var out strings.Builder
	for n := 0; ; n++ {
		before, after, found := strings.Cut(text, fence)
		out.WriteString(before)
		if !found {
			if n == 0 {
				t.Error("found no console block")
			}
			return out.String()
		}
		command, _, _ := strings.Cut(after, "\n")
		var stdout, stderr bytes.Buffer
		run(strings.Fields(command), strings.NewReader(""), &stdout, &stderr, func(string) string { return "" })
		fmt.Fprintf(&out, "%s%s\n%s%s```\n", fence, command, &stdout, &stderr)
		_, text, _ = strings.Cut(after, "\n```\n")
	}
}

// movesTable fills in the table of moves.
func movesTable(t *testing.T, text string) string {
	t.Helper()
	before, after, ok := strings.Cut(text, movesStart)
	_, after, ok2 := strings.Cut(after, movesEnd)
	if !ok || !ok2 {
		t.Fatal("found no place for the table of moves")
	}
	var table strings.Builder
	table.WriteString("| move | group | does | options |\n|---|---|---|---|\n")
	for _, m := range moves.Catalogue() {
		var options []string
		for _, o := range m.Options() {
			options = append(options, "`"+o.Name+"`")
		}
		fmt.Fprintf(&table, "| `%s` | %s | %s | %s |\n", m.Name, m.Group, m.Brief, strings.Join(options, ", "))
	}
	return before + movesStart + table.String() + movesEnd + after
}

func firstDifference(got, want string) string {
	a, b := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return fmt.Sprintf("line %d\nis   %s\nwant %s", i+1, a[i], b[i])
		}
	}
	return "its end"
}

// TestReadmeRecipes drafts every recipe of the README.
func TestReadmeRecipes(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	loop, err := os.ReadFile("../../testdata/loops/harbour-lights.mid")
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(loop)
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(text), "```yaml\n")[1:]
	if len(blocks) == 0 {
		t.Error("found no recipe")
	}
	for _, b := range blocks {
		yaml, _, _ := strings.Cut(b, "```")
		r, err := recipes.Parse("README.md", []byte(yaml))
		if err != nil {
			t.Fatal(err)
		}
		res, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: f}}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(res.Warnings) > 0 {
			t.Errorf("warnings: %q", res.Warnings)
		}
	}
}

// TestReadmeNamesTheFieldsOfASong holds the table of "map --json" to its fields.
func TestReadmeNamesTheFieldsOfASong(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(text), "\n## A song as JSON\n")
	table, _, _ = strings.Cut(table, "\n## ")
	var walk func(typ reflect.Type)
	walk = func(typ reflect.Type) {
		switch typ.Kind() {
		case reflect.Slice:
			walk(typ.Elem())
		case reflect.Struct:
			for i := range typ.NumField() {
				f := typ.Field(i)
				if name := f.Tag.Get("json"); !f.Anonymous && !strings.Contains(table, "`"+name+"`") {
					t.Errorf("README.md does not say what %q is", name)
				}
				walk(f.Type)
			}
		}
	}
	walk(reflect.TypeFor[mapResult]())
}
