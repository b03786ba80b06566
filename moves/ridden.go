package moves

import (
	"slices"

	"loopdraft/smf/song"
)

// Ridden is a controller of a part that some ride has moved.
type Ridden struct {
	Part       string // the first on its track and channel
	Controller song.Controller
	Home       int
	Mapped     bool // the instrument is known to listen; otherwise somebody has to map it

	rides []ride      // in the order they were carried out
	homes []song.Tick // where home was written besides
}

// same tells whether an entry is of the same controller.
func (r Ridden) same(o Ridden) bool { return r.Part == o.Part && r.Controller == o.Controller }

// withRidden returns a list with an entry in place of the one of the same controller, or at its end.
func withRidden(list []Ridden, r Ridden) []Ridden {
	list = slices.Clone(list)
	if i := slices.IndexFunc(list, r.same); i >= 0 {
		list[i] = r
		return list
	}
	return append(list, r)
}

// ride is a stretch in which a controller was ridden.
type ride struct {
	song.Range
	hold bool
	duck bool // it is made of dips
}
