package recipes

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"loopdraft/smf/song"
)

// againsts returns, for each section, the one that its energy is measured against, by its place; -1 for none. The word is
// a name, else a kind. The mistakes, one a section, nil where there is none, have no place.
func againsts(sections []SectionSpec) ([]int, []*Error) {
	names, kinds := sectionsByName{}, sectionsByName{}
	for i, s := range sections {
		names.add(s.Name, i)
		kinds.add(string(s.kind()), i)
	}
	of, bad := make([]int, len(sections)), make([]*Error, len(sections))
	for i := range sections {
		of[i], bad[i] = against(sections, i, names, kinds)
	}
	return of, bad
}

func against(sections []SectionSpec, i int, names, kinds sectionsByName) (int, *Error) {
	name, nth, _ := sections[i].Energy.against()
	if name == "" {
		return -1, nil
	}
	found := names[name]
	if len(found) == 0 {
		found = kinds[name]
	}
	text := strconv.Quote(name)
	switch {
	case len(found) == 0:
		e := &Error{Found: "unknown section " + text, Unknown: true, Want: "a section of the recipe"}
		if len(names) <= mostListed {
			e.Hint = song.Nearest(name, slices.Sorted(maps.Keys(names)))
		}
		return -1, e
	case nth > len(found):
		return -1, &Error{Found: fmt.Sprintf("%s %d", name, nth), Want: fmt.Sprintf("%s 1 to %d", name, len(found)), Hint: fmt.Sprintf("%s %d", name, len(found))}
	case nth == 0 && len(found) > 1:
		return -1, &Error{Found: text, Want: fmt.Sprintf("which of the %d sections", len(found)), Hint: name + " 1"}
	}
	of := found[max(nth, 1)-1]
	if of == i {
		return -1, &Error{Found: text, Want: "another section than this one"}
	}
	return of, nil
}

// checkEnergies notes energies that are measured against a section that is not there, against the section itself or in a
// ring: a section hangs on the one that it is measured against, and on the one that it plays the same as.
func (m *mistakes) checkEnergies(sections []SectionSpec) {
	fail := func(i int, e Error) {
		e.Path = fmt.Sprintf("sections[%d].energy", i+1)
		_, _, col := sections[i].Energy.against()
		m.fail(m.inside(spotIn(sections[i].atEnergy, 0, sections[i].atName), col), e)
	}
	of, bad := againsts(sections)
	for i, e := range bad {
		if e != nil {
			fail(i, *e)
		}
	}
	if ring := ringOf(sections, of); len(ring) > 0 {
		fail(ring[0], Error{Found: "a ring: " + ringText(sections, of, ring), Want: "one of them on its own"})
	}
}

// ringOf returns the sections of a ring in which each hangs on the next and the last on the first; the first is measured
// against the second. nil for none.
func ringOf(sections []SectionSpec, against []int) []int {
	const open, done = 1, 2
	state := make([]int, len(sections))
	var way []int
	var look func(i int) []int
	look = func(i int) []int {
		state[i] = open
		way = append(way, i)
		for _, next := range []int{against[i], sameAs(sections, i)} {
			switch {
			case next < 0 || state[next] == done:
			case state[next] == open:
				return way[slices.Index(way, next):]
			default:
				if ring := look(next); ring != nil {
					return ring
				}
			}
		}
		state[i], way = done, way[:len(way)-1]
		return nil
	}
	for i := range sections {
		if state[i] != 0 {
			continue
		}
		if ring := look(i); ring != nil {
			first := 0 // the earliest of those that are measured against the next
			for k, at := range ring {
				measured := func(k int) bool { return against[ring[k]] == ring[(k+1)%len(ring)] }
				if measured(k) && (!measured(first) || at < ring[first]) {
					first = k
				}
			}
			return slices.Concat(ring[first:], ring[:first])
		}
	}
	return nil
}

// sameAs returns the section whose players a section plays too; -1 for none.
func sameAs(sections []SectionSpec, i int) int {
	s := sections[i]
	if s.base > 0 && s.Play.Same() && !sections[s.base-1].Energy.IsZero() {
		return s.base - 1
	}
	return -1
}

// ringText tells of a ring; of a long one the beginning.
func ringText(sections []SectionSpec, against, ring []int) string {
	const told = 5
	text := sections[ring[0]].Name
	for k, i := range ring {
		next := ring[(k+1)%len(ring)]
		if k == told {
			return fmt.Sprintf("%s and so on, %d sections", text, len(ring))
		}
		text += choice(against[i] == next, " against ", " like ") + sections[next].Name
	}
	return text
}
