package form_test

import (
	"slices"
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

func TestSoundingBars(t *testing.T) {
	for _, row := range []struct {
		rule, grid  string
		first, last int
		want        []int
	}{
		{"where it is struck", "hat x...|....|x...|....", 1, 4, []int{1, 3}},
		{"a pitched note as long as it is held", "pad x---|----|--..|....", 1, 4, []int{1, 2, 3}},
		{"a note held into the stretch", "pad x---|----|--..|....", 3, 4, []int{3}},
		{"fx as long as they are held", "noise x---|----|--..|....", 1, 4, []int{1, 2, 3}},
		{"no drum is held", "kick x---|----|....|....", 1, 4, []int{1}},
		{"nothing outside the stretch", "hat x...|x...|x...|x...", 2, 3, []int{2, 3}},
	} {
		s := drawn(t, row.grid)
		if got := form.SoundingBars(s, s.Parts[0], []song.Range{s.BarRange(row.first, row.last)}); !slices.Equal(got, row.want) {
			t.Errorf("%s: got %v, want %v", row.rule, got, row.want)
		}
	}
}

func TestSilentPairs(t *testing.T) {
	for _, row := range []struct {
		rule, grid string
		want       int
	}{
		{"single bars are none", "hat x...|....|x...|....", 0},
		{"two bars are one", "hat x...|....|....|x...", 1},
		{"three are two", "hat x...|....|....|....", 2},
		{"another part sounds", "hat x...|....|....|x...\npad ....|x---|--..|....", 0},
		{"a trigger does not", "hat x...|....|....|x...\ntrigger x...|x...|x...|x...", 1},
	} {
		if got := form.SilentPairs(drawn(t, row.grid), 1, 4); got != row.want {
			t.Errorf("%s: got %d, want %d", row.rule, got, row.want)
		}
	}
}

func TestBareness(t *testing.T) {
	for _, row := range []struct {
		rule, grid string
		kind       song.Kind
		want       int
	}{
		{"a silent bar misses a part", "hat x...|....|x...|....", song.KindGroove, 2},
		{"in a break it misses two, and one part misses another", "hat x...|....|x...|....", song.KindBreak, 6},
		{"two parts are enough for a break", "hat x...|x...|x...|x...\npad x---|----|----|--..", song.KindBreak, 0},
		{"a trigger does not count", "hat x...|x...|x...|x...\ntrigger x...|x...|x...|x...", song.KindBreak, 4},
	} {
		s := drawn(t, row.grid)
		s.Sections = []song.Section{{Name: "it", Kind: row.kind, Bar: 1, Bars: 4}}
		if got := form.Bareness(s, 1, 4); got != row.want {
			t.Errorf("%s: got %d, want %d", row.rule, got, row.want)
		}
	}
}
