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
		{"intro", song.Intro}, {"mix-in", song.Intro}, {"groove", song.Groove}, {"verse", song.Groove}, {"main", song.Groove},
		{"break", song.Break}, {"breakdown", song.Break}, {"build", song.Build}, {"build-up", song.Build}, {"pre-drop", song.Build}, {"riser", song.Build},
		{"drop", song.Drop}, {"chorus", song.Drop}, {"peak", song.Drop}, {"outro", song.Outro}, {"end", song.Outro}, {"mix-out", song.Outro},
		{"drop2", song.Drop}, {"second-drop", song.Drop}, {"drum-break", song.Break}, {"drop-b", song.Drop},
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
