package form_test

import (
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
	"loopdraft/smf/song/songtest"
)

// bar is a bar of the grids here, in ticks.
const bar = 4 * 96

// Whatever is heard, its energy and structure make sense.
func FuzzForm(f *testing.F) {
	for _, grid := range []string{"kick x.x.......xx....", "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|................"} {
		s, err := song.ParseGrid(grid)
		if err != nil {
			f.Fatal(err)
		}
		b, err := s.File().Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s, ok := songtest.Decoded(b)
		if !ok {
			return
		}
		if s.Time() != nil && s.Bars() > 2000 {
			return // long, not interesting
		}
		heard, _, err := listen.Hear(s, listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if e, err := form.EnergyOf(heard); err == nil {
			checkEnergy(t, heard, e)
			structureOf(t, heard, 0)
		}
	})
}
