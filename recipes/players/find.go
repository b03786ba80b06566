package players

import "slices"

// Find returns who plays, a line a section. Sections that others are like or measured against are decided first, the
// rest in the order of the track; then all are decided once more, now that each is known that comes before them. No
// section may hang on itself, however many lie between.
func Find(t Track) []Line {
	f := &finder{Track: t, lines: make([]*Line, len(t.Sections))}
	f.Sections = slices.Clone(t.Sections)
	for range 2 {
		f.decided = make([]bool, len(t.Sections))
		for i := range t.Sections {
			f.find(i)
		}
	}
	out := make([]Line, len(f.lines))
	for i, l := range f.lines {
		out[i] = *l
	}
	return out
}

func (f *finder) find(i int) {
	s := f.Sections[i]
	if f.decided[i] {
		return
	}
	f.decided[i] = true
	if s.Like > 0 {
		f.find(s.Like - 1)
		s = s.Follow(*f.lines[s.Like-1])
		f.Sections[i] = s
	}
	if s.Against > 0 {
		f.find(s.Against - 1)
	}
	var units []Found
	switch {
	case len(s.May) == 0:
		for _, u := range s.Units {
			units = append(units, f.found(u, u.Must))
		}
	case s.Course == InRange:
		units = f.inRange(i)
	default:
		units = f.course(i)
	}
	f.lines[i] = &Line{Units: units, Music: 100, All: 100}
	f.level(i)
}
