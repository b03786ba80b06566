package recipes_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"loopdraft/recipes"
)

// expectation is what stands beside a mistake: # want COLUMN "text" COLUMN "text". A column with
// several texts is one mistake whose message holds all of them; column 0 is a mistake of the line.
type expectation struct {
	line, col int
	texts     []string
}

func expectations(t *testing.T, text string) []expectation {
	t.Helper()
	var out []expectation
	for i, line := range strings.Split(text, "\n") {
		_, rest, ok := strings.Cut(line, "# want ")
		if !ok {
			continue
		}
		for rest = strings.TrimSpace(rest); rest != ""; rest = strings.TrimSpace(rest) {
			number, after, _ := strings.Cut(rest, " ")
			col, err := strconv.Atoi(number)
			if err != nil {
				t.Fatalf("line %d: found %q, want a column", i+1, number)
			}
			quoted, err := strconv.QuotedPrefix(after)
			if err != nil {
				t.Fatalf("line %d: found %q, want a text in quotes", i+1, after)
			}
			want, _ := strconv.Unquote(quoted)
			rest = after[len(quoted):]
			if n := len(out) - 1; n >= 0 && out[n].line == i+1 && out[n].col == col {
				out[n].texts = append(out[n].texts, want)
				continue
			}
			out = append(out, expectation{i + 1, col, []string{want}})
		}
	}
	if len(out) == 0 {
		t.Fatal("found no expectation, want one or more")
	}
	return out
}

const smallLoop = `kick x...x...x...x...|x...x...x...x...
clap ....x.......x...|....x.......x...
hat  ..x...x...x...x.|..x...x...x...x.
bass ..x-..x-..x-..x-|..x-..x-..x-..x-
stab x--.....x--.....|....x--.....x--.`

// run reads and drafts a recipe on the small loop.
func run(t *testing.T, file, text string) error {
	t.Helper()
	r, err := recipes.Parse(file, []byte(text))
	if err != nil {
		return err
	}
	_, err = recipes.Draft([]recipes.Input{gridLoop(t, smallLoop)}, r, recipes.Options{})
	return err
}

func TestBadRecipes(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "bad", "*.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("found no bad recipes: %v", err)
	}
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var mistakes *recipes.Errors
			if err := run(t, name, string(data)); !errors.As(err, &mistakes) {
				t.Fatalf("got %v, want mistakes", err)
			}
			want := expectations(t, string(data))
			for i, e := range mistakes.List {
				if i == len(want) {
					t.Errorf("one more than wanted:\n%v", e)
					break
				}
				if e.Line != want[i].line || e.Col != want[i].col {
					t.Errorf("mistake %d: got line %d, column %d, want line %d, column %d:\n%v", i+1, e.Line, e.Col, want[i].line, want[i].col, e)
				}
				message, _, _ := strings.Cut(e.Error(), "\n") // without the line of the file
				for _, text := range want[i].texts {
					if !strings.Contains(message, text) {
						t.Errorf("mistake %d: found no %q in\n%v", i+1, text, e)
					}
				}
			}
			if len(mistakes.List) < len(want) {
				t.Errorf("got %d mistakes, want %d, the next in line %d", len(mistakes.List), len(want), want[len(mistakes.List)].line)
			}
		})
	}
}

func TestMistakesInWholeFiles(t *testing.T) {
	for _, row := range []struct{ rule, text, want string }{
		{"a message, the line and a caret under the word", "length: 8 bars\nphrase:\t8\n", "x.yaml:2:9: phrase: found 8, want a length of 1 to 9999 bars such as 8 bars; did you mean \"8 bars\"?\n    phrase:\t8\n           \t^"},
		{"columns count characters, and so does the caret", "parts: {ä: 3}", "x.yaml:1:12: parts.ä: found \"3\", want a map such as {track: 3, role: stab}\n    parts: {ä: 3}\n               ^"},
		{"a mistake of syntax has no caret", "length: 8: bars", "x.yaml:1: mapping values are not allowed in this context\n    length: 8: bars"},
		{"invalid UTF-8", "seed: 1\nlength: \xff", "x.yaml:2:9: found byte 0xff, want a text in UTF-8\n    length: \xff\n            ^"},
		{"UTF-16 is no UTF-8", "\xff\xfes\x00", "x.yaml:1:1: found byte 0xff, want a text in UTF-8\n    \xff\xfes\x00\n    ^"},
		{"a control character", "seed: 1\x07", "x.yaml:1:8: found control character 0x07, want a text without them\n    seed: 1\x07\n           ^"},
		{"a control character over 7f", "seed: 1\u009b", "x.yaml:1:8: found control character 0x9b, want a text without them\n    seed: 1\u009b\n           ^"},
		{"over 1 MiB", strings.Repeat("#", recipes.MaxBytes) + "\n", "x.yaml: found more bytes, want at most 1048576"},
		{"carriage returns end lines", "seed: 1\r\nseed: 2\r\n", "x.yaml:2:1: key \"seed\" again; first at line 1\n    seed: 2\n    ^"},
	} {
		err := run(t, "x.yaml", row.text)
		if err == nil || err.Error() != row.want {
			t.Errorf("%s: got\n%v\nwant\n%s", row.rule, err, row.want)
		}
	}
}

func TestEmptyRecipes(t *testing.T) {
	for _, row := range []struct{ rule, text string }{
		{"no bytes", ""},
		{"blanks", " \n\n"},
		{"comments alone", "# nothing\n# at all\n"},
		{"an empty map", "{}"},
		{"a byte order mark", "\ufeff{}\n"},
		{"a document mark alone", "---"},
		{"a document mark", "---\n{}\n...\n"},
	} {
		r, err := recipes.Parse("empty.yaml", []byte(row.text))
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		if len(r.Moves)+len(r.Parts)+len(r.Sections) > 0 || !r.Length.IsZero() {
			t.Errorf("%s: found %+v, want the empty recipe", row.rule, r)
		}
	}
}

func TestScalarsAreReadByTheirText(t *testing.T) {
	r, err := recipes.Parse("x.yaml", []byte("length: \"16 bars\"\nseed: 010\nbpm: 127.50\nmetre: '7/8'\nparts: {true: {name: 1.0}, no: {name: 0x1F}}\n"))
	if err != nil {
		t.Fatal(err)
	}
	got := strings.TrimSpace(fmt.Sprintln(r.Length.Bars, r.Seed, r.BPM, r.Metre, r.Parts[0].Name, r.Parts[0].TrackName, r.Parts[1].Name, r.Parts[1].TrackName))
	if want := "16 10 127500 7/8 true 1.0 no 0x1F"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func FuzzParse(f *testing.F) {
	files, _ := filepath.Glob(filepath.Join("testdata", "bad", "*.yaml"))
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	club, _ := recipes.BuiltinText("club")
	f.Add(string(club))
	f.Fuzz(func(t *testing.T, text string) {
		r, err := recipes.Parse("fuzz.yaml", []byte(text))
		if err != nil {
			var mistakes *recipes.Errors
			if !errors.As(err, &mistakes) || len(mistakes.List) == 0 {
				t.Fatalf("got %v, want mistakes", err)
			}
			lines := len(regexp.MustCompile("\r\n|[\n\r\u0085\u2028\u2029]").Split(text, -1)) // as YAML has it
			for _, e := range mistakes.List {
				if e.Line > lines || e.Col > utf8.RuneCountInString(e.Source)+1 {
					t.Fatalf("a mistake outside the file: %v", e)
				}
			}
			return
		}
		if r.Length.Bars > 500 || slices.ContainsFunc(r.Sections, func(s recipes.SectionSpec) bool { return s.Bars > 50 }) || len(r.Sections) > 10 {
			return // long, not interesting
		}
		for _, s := range r.Moves {
			if s.Step.Name() == "extend" {
				return
			}
		}
		checkLaws(t, []recipes.Input{gridLoop(t, smallLoop)}, r, recipes.Options{})
	})
}
