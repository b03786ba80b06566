package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
	"loopdraft/smf/sound"
)

const (
	movesStart       = "<!-- moves: written by the test of this page -->\n"
	substitutesStart = "<!-- substitutes: written by the test of this page -->\n"
	rulesStart       = "<!-- rules: written by the test of this page -->\n"
	tableEnd         = "<!-- end -->\n"
)

// TestReadme holds the README to what the program does: every console block is run and its output
// compared, the tables of moves, rules and substitutes are made from theirs, and every recipe is drafted.
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
	want := tables(t, consoles(t, string(data)))
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

// TestReadmeLimits holds the limits that the README names to those of the code.
func TestReadmeLimits(t *testing.T) {
	data, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		what  string
		limit int64
		unit  string
	}{
		{"a MIDI file", smf.MaxFile, " bytes"},
		{"a track of it", int64(smf.MaxTicks), " ticks, the most that the format can state"},
		{"a song", song.MaxEvents, " events; a step that may make more is refused before it is carried out"},
		{"a recipe", recipes.MaxBytes, " bytes"},
		{"a draft", recipes.MaxFiles, " files, of a loop or several"},
		{"a recording", sound.MaxSeconds / 3600, fmt.Sprintf(" hours, or %d GiB of samples; FLAC, 500 samples a byte after the first 8,388,608; a damaged one too, with the place of the damage", sound.MaxData>>30)},
	} {
		line := fmt.Sprintf("\n| %s | %s%s |\n", row.what, grouped(row.limit), row.unit)
		if !strings.Contains(string(data), line) {
			t.Errorf("README.md does not say %s", strings.TrimSpace(line))
		}
	}
	for _, promise := range []string{"A header of more than 6 bytes comes back with 6.", "Tempi, metres and keys that make no sense, such as tempo 0 or nine sharps, are told and stay in the file."} {
		if !strings.Contains(strings.Join(strings.Fields(string(data)), " "), promise) {
			t.Errorf("README.md does not promise: %s", promise)
		}
	}
}

// TestReadmeBatch holds the batch of the README to the one that a script runs.
func TestReadmeBatch(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	script, err := os.ReadFile("testdata/script/batch.txtar")
	if err != nil {
		t.Fatal(err)
	}
	_, files, _ := strings.Cut(string(script), "-- batch.sh --\n")
	batch, ask, ok := strings.Cut(files, "-- ask.sh --\n")
	if !ok {
		t.Fatal("the script has no batch.sh and ask.sh")
	}
	for _, text := range []string{batch, ask} {
		if !strings.Contains(string(readme), "```sh\n"+text+"```\n") {
			t.Errorf("README.md does not show what testdata/script/batch.txtar runs:\n%s", text)
		}
	}
}

// grouped writes a number with a comma before every three digits.
func grouped(n int64) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// TestReadmePicture holds the picture of the README to what its first command draws. The flag -update
// draws it anew.
func TestReadmePicture(t *testing.T) {
	const name = "testdata/harbour-lights.svg"
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), "]("+name+")") {
		t.Errorf("README.md does not show %s", name)
	}
	path, err := filepath.Abs("../../" + name)
	if err != nil {
		t.Fatal(err)
	}
	inWorkFolder(t)
	var stderr bytes.Buffer
	args := []string{"draft", "testdata/loops/harbour-lights.mid", "-o", "draft.mid", "--map", "draft.svg"}
	if code := run(args, strings.NewReader(""), io.Discard, &stderr, func(string) string { return "" }); code != exitDone {
		t.Fatal(stderr.String())
	}
	want, err := os.ReadFile("draft.svg")
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(path, want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is stale at:\n%s\ngo test ./cmd/loopdraft -run Readme -update writes it anew", name, firstDifference(string(got), string(want)))
	}
}

// TestReadmeModule makes a module of its own of the program in the README's library section, by the commands that stand
// there, and runs it. It compiles, so that a first run leaves it out.
func TestReadmeModule(t *testing.T) {
	if oracle.Size(0, 1, 1) == 0 {
		t.Skip("compiles a module: set LOOPDRAFT_ORACLES=require to try it")
	}
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(readme), "\n## As a library\n")
	_, commands, _ := strings.Cut(section, "```console\n")
	commands, after, _ := strings.Cut(commands, "```\n")
	_, program, _ := strings.Cut(after, "```go\n")
	program, _, found := strings.Cut(program, "```\n")
	if !found || !strings.HasPrefix(program, "package main\n") {
		t.Fatal("found no program in the library section")
	}
	dir := t.TempDir()
	loop, err := os.ReadFile(filepath.Join(root, "testdata/loops/harbour-lights.mid"))
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"main.go": program, "loop.mid": string(loop), "go.mod": "module example\n\ngo 1.26\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	said := ""
	for line := range strings.Lines(commands + "$ go run .\n") {
		words := strings.Fields(strings.ReplaceAll(strings.TrimPrefix(line, "$ "), "=../loopdraft", "="+root))
		cmd := exec.Command(words[0], words[1:]...)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "GOWORK=off", "GOFLAGS=")
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s%v\n%s", line, err, out)
		}
		said = string(out)
	}
	if said != "128 bars\n" {
		t.Errorf("the program says %q, want 128 bars", said)
	}
	data, err := os.ReadFile(filepath.Join(dir, "track.mid"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := smf.Decode(data); err != nil {
		t.Error(err)
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

// tables writes the tables of moves, rules and substitutes anew.
func tables(t *testing.T, text string) string {
	t.Helper()
	var list strings.Builder
	list.WriteString("| move | group | does | options |\n|---|---|---|---|\n")
	for _, m := range recipes.Catalogue() {
		var options []string
		for _, o := range m.Options() {
			options = append(options, "`"+o.Name+"`")
		}
		fmt.Fprintf(&list, "| `%s` | %s | %s | %s |\n", m.Name(), m.Group, m.Brief, strings.Join(options, ", "))
	}
	var nearest strings.Builder
	nearest.WriteString("| the loop has no | its place is taken by the first there is of |\n|---|---|\n")
	for _, row := range recipes.Substitutes() {
		var by []string
		for _, role := range row.By {
			by = append(by, "`"+string(role)+"`")
		}
		fmt.Fprintf(&nearest, "| `%s` | %s |\n", row.Role, strings.Join(by, ", "))
	}
	var rules strings.Builder
	rules.WriteString("| rule | at most | holds when | options |\n|---|---|---|---|\n")
	for _, r := range review.Catalogue() {
		var options []string
		for _, o := range r.Options() {
			options = append(options, "`"+o.Name+": "+o.Default+"`")
		}
		fmt.Fprintf(&rules, "| `%s` | %s | %s | %s |\n", r.Name, r.Level, r.Brief, strings.Join(options, ", "))
	}
	text = withTable(t, text, movesStart, list.String())
	text = withTable(t, text, rulesStart, rules.String())
	return withTable(t, text, substitutesStart, nearest.String())
}

// withTable puts a table between its marks.
func withTable(t *testing.T, text, start, table string) string {
	t.Helper()
	before, after, ok := strings.Cut(text, start)
	_, after, ok2 := strings.Cut(after, tableEnd)
	if !ok || !ok2 {
		t.Fatalf("found no place for %s", start)
	}
	return before + start + table + tableEnd + after
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

// demoLoop returns the loop that the README is told with.
func demoLoop(t *testing.T) *smf.File {
	t.Helper()
	loop, err := os.ReadFile("../../testdata/loops/harbour-lights.mid")
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(loop)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestReadmeRecipes drafts every recipe of the README.
func TestReadmeRecipes(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	f := demoLoop(t)
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

// TestReadmeShares holds how loud parts of the demo loop are, as the README has it, to the loop.
func TestReadmeShares(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	f := demoLoop(t)
	r, err := recipes.Parse("shares.yaml", []byte(`
sections:
  - {name: one, bars: 8, play: [pad]}
  - {name: two, bars: 8, play: [kick]}
  - {name: three, bars: 8, play: [drums]}
  - {name: four, bars: 8, play: [kick, bass]}
  - {name: five, bars: 8, play: [all but drums]}
`))
	if err != nil {
		t.Fatal(err)
	}
	got, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: f}}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	e, full, err := got.Energy()
	if err != nil {
		t.Fatal(err)
	}
	var shares []any
	for _, sec := range got.Song.Sections {
		shares = append(shares, strings.TrimSuffix(percentText(e.Tell(sec, full).OfFull), "%"))
	}
	want := fmt.Sprintf("the pad alone is at %s %%, the kick at %s %%, all drums at %s %%, kick and bass at %s %%, all but the drums at %s %%.", shares...)
	if !strings.Contains(strings.Join(strings.Fields(string(readme)), " "), want) {
		t.Errorf("README.md does not say that %s", want)
	}
}

// TestReadmeNamesTheFields holds the tables of JSON to their fields.
func TestReadmeNamesTheFields(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for heading, types := range map[string][]reflect.Type{
		"\n## A song as JSON\n":    {reflect.TypeFor[mapResult]()},
		"\n### A review as JSON\n": {reflect.TypeFor[review.Result](), reflect.TypeFor[review.Comparison](), reflect.TypeFor[draftReview]()},
	} {
		_, table, _ := strings.Cut(string(text), heading)
		table, _, _ = strings.Cut(table, "\n## ")
		var walk func(typ reflect.Type)
		walk = func(typ reflect.Type) {
			switch typ.Kind() {
			case reflect.Slice, reflect.Array, reflect.Pointer:
				walk(typ.Elem())
			case reflect.Struct:
				for i := range typ.NumField() {
					f := typ.Field(i)
					if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); f.IsExported() && !f.Anonymous && !strings.Contains(table, "`"+name+"`") {
						t.Errorf("README.md does not say what %q is", name)
					}
					walk(f.Type)
				}
			}
		}
		for _, typ := range types {
			walk(typ)
		}
	}
}
