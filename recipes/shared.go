package recipes

import (
	"fmt"
	"sync"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/remark"
	"loopdraft/moves/review"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// shared is what the takes of a draft have in common that hangs on none of their choices, or on their form alone. The
// first take that asks for it finds it out; takes may ask at a time.
type shared struct {
	moves  map[string]moves.Move // of the recipe, by name
	checks func() []review.Check // by which it is mended

	mutex   sync.Mutex
	layouts map[string]*layout
	parts   func() (measuredParts, error) // nil: nobody has asked
}

func newShared(r *Recipe) *shared {
	return &shared{moves: byName(r.catalogue()), checks: sync.OnceValue(r.Checks), layouts: map[string]*layout{}}
}

// moveOf returns the move that a step is of, as [moves.Catalogue.Of] does.
func (s *shared) moveOf(step moves.Step) moves.Move {
	m, ok := s.moves[step.Name()]
	if !ok {
		return moves.Catalogue{}.Of(step)
	}
	return moves.Catalogue{m}.Of(step)
}

// layout is a loop over the length of a track. Nothing in it is written to once it was found out.
type layout struct {
	lay    func() (laidSong, error)
	bars   func() ([][]int, error)     // by part, by bar of the song: the bar of the loop that is laid there, from 1; 0: it goes from one loop to another
	energy func() (form.Energy, error) // of the song
}

// laidSong is a song as [lay.Lay] returns it.
type laidSong struct {
	song.Song
	told []remark.Remark
}

func newLayout(l lay.Layout) *layout {
	out := &layout{
		lay: sync.OnceValues(func() (out laidSong, err error) {
			out.Song, out.told, err = lay.Lay(l)
			return out, err
		}),
		bars: sync.OnceValues(func() ([][]int, error) {
			out := make([][]int, len(l.Loop.Parts))
			for p := range out {
				var err error
				if out[p], err = l.PartBars(p); err != nil {
					return nil, err
				}
			}
			return out, nil
		}),
	}
	out.energy = sync.OnceValues(func() (form.Energy, error) {
		laid, err := out.lay()
		if err != nil {
			return form.Energy{}, err
		}
		return form.EnergyOf(laid.Song)
	})
	return out
}

// layout returns how a loop is laid out: of one loop the layout that another take has made of the same blocks. What several
// loops come to hangs on the line-ups of each take.
func (s *shared) layout(l lay.Layout) *layout {
	if len(l.Loops) > 0 {
		return newLayout(l)
	}
	key := fmt.Sprint(l.Blocks, l.Markers)
	for _, p := range l.Loop.Parts {
		key += fmt.Sprint(p.StandsFor) // all that a take's choices change of the loop
	}
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if s.layouts[key] == nil {
		s.layouts[key] = newLayout(l)
	}
	return s.layouts[key]
}

// measured returns what the parts of a loop give, which is the same for all takes.
func (s *shared) measured(l foundLoop) (measuredParts, error) {
	s.mutex.Lock()
	if s.parts == nil {
		s.parts = sync.OnceValues(l.measure)
	}
	measure := s.parts
	s.mutex.Unlock()
	return measure()
}
