package form

import (
	"math"
	"testing"

	"loopdraft/smf/song"
)

func TestSilentBarsAreAlike(t *testing.T) {
	f := features{{0, 0}, {0, 0}, {3, 4}, {6, 8}, {4, 0}}
	for _, row := range []struct {
		a, b int
		want float64
	}{{0, 1, 1}, {1, 2, 0}, {2, 3, 1}, {2, 4, .6}} {
		if got := f.alike(row.a, row.b); math.Abs(got-row.want) > 1e-12 {
			t.Errorf("bars %d and %d: got %v, want %v", row.a, row.b, got, row.want)
		}
	}
}

func TestFeatures(t *testing.T) {
	s, err := song.ParseGrid("kick x...x...x...x...|x...............\npad:60 x---------------|................\npad:67 x-------........|................\nsub:36 x---------------|----------------")
	if err != nil {
		t.Fatal(err)
	}
	st, err := StructureOf(s, 0)
	if err != nil {
		t.Fatal(err)
	}
	f := st.features(s)
	for _, row := range []struct {
		what         string
		bar, feature int
		least, most  uint8
	}{
		{"the loudest bar of the kick", 0, 0, 255, 255}, {"a softer one", 1, 0, 1, 254},
		{"the most onsets of the kick", 0, 1, 255, 255}, {"a quarter of them", 1, 1, 63, 63}, {"twice its key", 0, 2, 72, 72},
		{"a chord is one onset", 0, 4, 255, 255}, {"of its lowest key", 0, 5, 120, 120},
		{"a pad that only rings has no level", 1, 3, 0, 0}, {"what is held has one", 1, 6, 1, 254}, {"but no onset", 1, 7, 0, 0},
		{"the longest pitch class", 0, 9, 255, 255}, {"a quarter as long", 0, 16, 63, 63}, {"only where it starts", 1, 9, 0, 0},
	} {
		if got := f[row.bar][row.feature]; got < row.least || got > row.most {
			t.Errorf("%s: got %d, want %d to %d", row.what, got, row.least, row.most)
		}
	}
}
