package recipes

import (
	"fmt"
	"slices"
	"strconv"

	"loopdraft/smf/song"
)

// against returns the section that the energy of section i is measured against, by its place; -1 for none. The
// word is a name, else a kind. The mistake has no place.
func against(sections []SectionSpec, i int) (int, *Error) {
	name, nth, _ := sections[i].Energy.against()
	if name == "" {
		return -1, nil
	}
	found := matching(sections, func(s SectionSpec) bool { return s.Name == name })
	if len(found) == 0 {
		found = matching(sections, func(s SectionSpec) bool { return string(s.kind()) == name })
	}
	text := strconv.Quote(name)
	switch {
	case len(found) == 0:
		var names []string
		for _, s := range sections {
			if !slices.Contains(names, s.Name) {
				names = append(names, s.Name)
			}
		}
		return -1, &Error{Found: "unknown section " + text, Unknown: true, Want: "a section of the recipe", Hint: song.Nearest(name, names)}
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

func matching(sections []SectionSpec, is func(SectionSpec) bool) []int {
	var out []int
	for i, s := range sections {
		if is(s) {
			out = append(out, i)
		}
	}
	return out
}

// checkEnergies notes energies that are measured against a section that is not there, against the section itself or in a
// ring.
func (m *mistakes) checkEnergies(sections []SectionSpec) {
	next := make([]int, len(sections))
	fail := func(i int, e Error) {
		e.Path = fmt.Sprintf("sections[%d].energy", i+1)
		_, _, col := sections[i].Energy.against()
		m.fail(m.inside(spotIn(sections[i].atEnergy, 0, sections[i].atName), col), e)
	}
	for i := range sections {
		of, e := against(sections, i)
		if next[i] = of; e != nil {
			fail(i, *e)
		}
	}
	for i := range sections {
		at, names := next[i], sections[i].Name
		for range sections {
			if at < 0 || at == i {
				break
			}
			names += " against " + sections[at].Name
			at = next[at]
		}
		if at == i {
			fail(i, Error{Found: "a ring: " + names + " against " + sections[i].Name, Want: "one of them on its own"})
			return
		}
	}
}
