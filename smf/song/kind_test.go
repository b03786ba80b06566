package song_test

import (
	"slices"
	"testing"

	"loopdraft/smf/song"
)

func TestKindOf(t *testing.T) {
	for _, row := range []struct {
		name string
		want song.Kind
	}{
		{"intro", song.KindIntro}, {"mix-in", song.KindIntro}, {"groove", song.KindGroove}, {"verse", song.KindGroove}, {"main", song.KindGroove},
		{"break", song.KindBreak}, {"breakdown", song.KindBreak}, {"build", song.KindBuild}, {"build-up", song.KindBuild}, {"pre-drop", song.KindBuild}, {"riser", song.KindBuild},
		{"drop", song.KindDrop}, {"chorus", song.KindDrop}, {"peak", song.KindDrop}, {"outro", song.KindOutro}, {"end", song.KindOutro}, {"mix-out", song.KindOutro},
		{"drop2", song.KindDrop}, {"second-drop", song.KindDrop}, {"drum-break", song.KindBreak}, {"drop-b", song.KindDrop},
		{"dropped", song.NoKind}, {"a", song.NoKind}, {"", song.NoKind},
	} {
		if got := song.KindOf(row.name); got != row.want {
			t.Errorf("%q: got %q, want %q", row.name, got, row.want)
		}
	}
	for _, k := range song.Kinds() {
		if got := song.KindOf(string(k)); k != song.NoKind && got != k {
			t.Errorf("the kind's own word %q: got %q", k, got)
		}
	}
}

func TestSectionNames(t *testing.T) {
	var sections []song.Section
	for _, name := range []string{"intro", "drop", "", "drop", ""} {
		sections = append(sections, song.Section{Name: name})
	}
	if got, want := song.SectionNames(sections), []string{"intro", "drop 1", "", "drop 2", ""}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := song.MarkerName("  Main  Break "); got != "main-break" {
		t.Errorf("got %q, want main-break", got)
	}
}
