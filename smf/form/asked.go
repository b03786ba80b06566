package form

import (
	"fmt"
	"slices"

	"loopdraft/smf/song"
)

// Asked is what is asked of the energy of a section.
type Asked struct {
	Bar   int    // the first of the section, from 1
	Text  string // what is asked for, in words, such as "52%..58%" or "rising"
	Units []AskedUnit
}

// AskedUnit is a stretch of a section that has a range of its own. Low and High are mean powers of its bars; both are 0
// where no range is asked for, as in a section that is to rise.
type AskedUnit struct {
	First, Last int // its bars, from 1, both included
	Low, High   Power
}

// AskedOf returns what is asked of a section; false where nothing is.
func AskedOf(asked []Asked, sec song.Section) (Asked, bool) {
	i := slices.IndexFunc(asked, func(a Asked) bool { return a.Bar == sec.Bar })
	if i < 0 {
		return Asked{}, false
	}
	return asked[i], true
}

// Reached returns how loud a unit is in a song, as a share of full (see [Told]).
func (u AskedUnit) Reached(e Energy, full Power) float64 {
	return float64(e.Mean(u.First, u.Last).Sum().Share(full)) / 1000
}

// Range returns how loud a unit is asked to be, as shares of full; false where no range is.
func (u AskedUnit) Range(full Power) (low, high float64, ok bool) {
	if u.High == 0 {
		return 0, 0, false
	}
	return float64(u.Low.Share(full)) / 1000, float64(u.High.Share(full)) / 1000, true
}

// Words returns what is asked of each unit: a range in percent of full, such as "52-58%", or a.Text where there is none.
func (a Asked) Words(full Power) []string {
	var out []string
	for _, u := range a.Units {
		word := a.Text
		if u.High > 0 {
			word = fmt.Sprintf("%d-%d%%", (u.Low.Share(full)+5)/10, (u.High.Share(full)+5)/10)
		}
		out = append(out, word)
	}
	return out
}
