package song_test

import (
	"loopdraft/smf/song"
	"testing"
)

func TestNearest(t *testing.T) {
	words := []string{"every", "extend", "mute", "thin", "drop 1", "drop 2", "kick", "bass"}
	for _, row := range []struct{ rule, word, want string }{
		{"a letter missing", "evry", "every"},
		{"a letter added", "mutte", "mute"},
		{"a letter wrong", "thim", "thin"},
		{"two letters swapped count once", "kcik", "kick"},
		{"upper case is no slip", "BASS", "bass"},
		{"a word itself", "mute", "mute"},
		{"two slips in a long word", "extnde", "extend"},
		{"two slips in a short word are not close", "kcki", ""},
		{"the first of several equally near", "drop 3", "drop 1"},
		{"a joined number", "drop2", "drop 2"},
		{"nothing is close", "saxophone", ""},
		{"one letter is close to nothing", "e", ""},
		{"no word is close to nothing", "", ""},
	} {
		if got := song.Nearest(row.word, words); got != row.want {
			t.Errorf("%s: Nearest(%q) = %q, want %q", row.rule, row.word, got, row.want)
		}
	}
	if got := song.Nearest("kick", nil); got != "" {
		t.Errorf("among no words: %q", got)
	}
}
