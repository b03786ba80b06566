//go:build oracles

package recipes

import (
	"strings"
	"testing"
)

func TestWrittenScalars(t *testing.T) {
	for _, row := range []struct{ rule, text, want string }{
		{"words stand as they are", "last 1 bar of drop 2", "last 1 bar of drop 2"},
		{"values too", "40%..105%", "40%..105%"},
		{"note values too", "1/16", "1/16"},
		{"nothing is quoted", "", `""`},
		{"null is quoted", "Null", `"Null"`},
		{"a tilde is quoted", "~", `"~"`},
		{"a merge key is quoted", "<<", `"<<"`},
		{"a colon is quoted", "a: b", `"a: b"`},
		{"a comma is quoted", "a,b", `"a,b"`},
		{"a comment's mark is quoted", "a #b", `"a #b"`},
		{"blanks at the ends are quoted", " a", `" a"`},
		{"quotes are escaped", `a "b" \c`, `"a \"b\" \\c"`},
		{"other letters are quoted", "Große ♪", `"Große ♪"`},
		{"line breaks are escaped", "a\n\u2028b", `"a\U0000000A\U00002028b"`},
		{"what works on a terminal is escaped", "a\x1b\u009bb", `"a\U0000001B\U0000009Bb"`},
		{"what turns the direction of writing is escaped", "a\u202e\u2067b", `"a\U0000202E\U00002067b"`},
		{"what cannot be seen is escaped", "a\u200b\u00a0b", `"a\U0000200B\U000000A0b"`},
	} {
		if got := scalar(row.text); got != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, got, row.want)
		}
		checkScalar(t, row.text)
	}
}

// checkScalar checks that a text that is written is read back as it was.
func checkScalar(t *testing.T, text string) {
	t.Helper()
	r, err := Parse("x.yaml", []byte("input: ["+scalar(text)+"]\nparts: {kick: {name: "+scalar(text)+"}}\n"))
	if err != nil {
		t.Fatalf("%q cannot be read back: %v", text, err)
	}
	if r.Input[0] != text || r.Parts[0].TrackName != text {
		t.Errorf("%q is read back as %q and %q", text, r.Input[0], r.Parts[0].TrackName)
	}
}

func FuzzScalar(f *testing.F) {
	for _, text := range []string{"", "kick", "a: b", "\x00\ufeff\U0010ffff", "'\"", "- x", "!a", "%a", "1.5", "yes"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if strings.ToValidUTF8(text, "") == text {
			checkScalar(t, text)
		}
	})
}
