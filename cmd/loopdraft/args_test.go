package main

import (
	"strings"
	"testing"
)

func TestArrangeBringsFlagsBeforeNames(t *testing.T) {
	for _, tt := range []struct{ rule, typed, want string }{
		{"flags after a name come before it", "draft loop.mid --bars 64", "loopdraft draft --bars=64 -- loop.mid"},
		{"flags before a name stay there", "draft --bars 64 loop.mid", "loopdraft draft --bars=64 -- loop.mid"},
		{"a short name becomes the long one", "draft a.mid -o b.mid", "loopdraft draft --output=b.mid -- a.mid"},
		{"a value after = is kept as it is", "draft a.mid -o=-b.mid", "loopdraft draft --output=-b.mid -- a.mid"},
		{"a value may hold another =", "draft a.mid --recipe=a=b.yaml", "loopdraft draft --recipe=a=b.yaml -- a.mid"},
		{"a switch takes no value", "draft --force a.mid b.mid", "loopdraft draft --force=true -- a.mid b.mid"},
		{"a lone hyphen is a name", "draft - -o -", "loopdraft draft --output=- -- -"},
		{"after -- everything is a name", "draft a.mid -- --bars 64", "loopdraft draft -- a.mid --bars 64"},
		{"a negative number is a value", "draft a.mid --bars -8", "loopdraft draft --bars=-8 -- a.mid"},
		{"help overrules the rest", "draft a.mid --help --bars", "loopdraft draft --help --"},
		{"help of a command", "help draft", "loopdraft draft --help"},
		{"words to complete are left alone", "complete-words draft --b", "loopdraft complete-words -- draft --b"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			got, err := arrange(strings.Fields(tt.typed), newApp(&console{}))
			if err != nil {
				t.Fatal(err)
			}
			if strings.Join(got, " ") != tt.want {
				t.Errorf("got  %s\nwant %s", strings.Join(got, " "), tt.want)
			}
		})
	}
}

func TestPrintableKeepsPlaces(t *testing.T) {
	for _, tt := range []struct{ rule, text, want string }{
		{"text stays", "club.yaml:1:1: Drop ä ▇\n\tx", "club.yaml:1:1: Drop ä ▇\n\tx"},
		{"each control character is one mark", "a\x1b[31mb\x00\x7f\u009b", "a?[31mb???"},
		{"a carriage return cannot overwrite", "a\rb", "a?b"},
		{"a long line is cut, the next is not", strings.Repeat("x", longest+50) + "\ny", strings.Repeat("x", longest) + "~\ny"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := printable(tt.text); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestWrap(t *testing.T) {
	for _, tt := range []struct{ rule, text, want string }{
		{"short text is one line", "one two", "> one two\n"},
		{"a line is no wider than the width", "one two three", "> one two\n>> three\n"},
		{"a word that is too long stays whole", "one incomprehensible", "> one\n>> incomprehensible\n"},
		{"nothing is an empty line", "", "> \n"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var b strings.Builder
			wrapInto(&b, "> ", ">> ", tt.text, 10)
			if b.String() != tt.want {
				t.Errorf("got %q, want %q", b.String(), tt.want)
			}
		})
	}
}

// FuzzRun states a law: whatever the arguments, the program ends with one of its exit codes, says
// why on standard error unless it is done, and nothing on standard output otherwise. Paths are left
// out: no other file than those of this folder, none of them a loop, is read, so none is written.
func FuzzRun(f *testing.F) {
	for _, s := range []string{"", "draft", "moves mute", "moves --json", "recipes club", "help help", "draft - --bars 8", "complete-words draft --", "parts -- -- -", "map \x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, line string) {
		if strings.ContainsAny(line, `/\`) {
			return
		}
		var out, diagnostics strings.Builder
		code := run(strings.Split(line, " "), strings.NewReader(""), &out, &diagnostics, func(string) string { return "" })
		switch {
		case code != exitDone && code != exitFailure && code != exitUsage:
			t.Errorf("exit code %d", code)
		case code == exitDone && diagnostics.Len() > 0:
			t.Errorf("done, but said %s", diagnostics.String())
		case code != exitDone && (out.Len() > 0 || !strings.HasPrefix(diagnostics.String(), "loopdraft: ")):
			t.Errorf("exit code %d, printed %q, said %q", code, out.String(), diagnostics.String())
		}
	})
}
