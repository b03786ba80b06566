//go:build oracles

package form

import (
	"testing"

	"loopdraft/smf/song"
)

func TestFeatures(t *testing.T) {
	s, err := song.ParseGrid(`
		kick   x...x...x...x...|x...............
		pad:60 x---------------|................
		pad:67 x-------........|................
		sub:36 x---------------|----------------`)
	if err != nil {
		t.Fatal(err)
	}
	st, err := StructureOf(s, 0)
	if err != nil {
		t.Fatal(err)
	}
	f := st.features(s)
	for _, row := range []struct {
		what        string
		got         uint8
		least, most uint8
	}{
		{"the loudest bar of the kick", f.parts[0][0], 255, 255}, {"a softer one", f.parts[1][0], 1, 254},
		{"the most onsets of the kick", f.parts[0][1], 255, 255}, {"a quarter of them", f.parts[1][1], 63, 63},
		{"a chord is one onset", f.parts[0][3], 255, 255},
		{"a pad that only rings has no level", f.parts[1][2], 0, 0}, {"what is held has one", f.parts[1][4], 1, 254}, {"but no onset", f.parts[1][5], 0, 0},
		{"the longest pitch class", f.pitches[0][0], 255, 255}, {"a quarter as long", f.pitches[0][7], 63, 63}, {"only where it starts", f.pitches[1][0], 0, 0},
	} {
		if row.got < row.least || row.got > row.most {
			t.Errorf("%s: got %d, want %d to %d", row.what, row.got, row.least, row.most)
		}
	}
}
