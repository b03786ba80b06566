package review

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Section is a section as a review sees it.
type Section struct {
	Name string    `json:"name"` // numbered where several have it
	Kind song.Kind `json:"kind"` // "" where nothing says
	Bar  int       `json:"bar"`  // its first bar, from 1
	Bars int       `json:"bars"`
	Sure int       `json:"sure"` // of the kind, in percent; 100 where a marker says it
}

// sureFrom is how sure of its kind a heard section is, in percent, from which on it is judged as a marked
// one; what is found in others is a note.
const sureFrom = 75

// setSections sets the sections a song is looked at by: its own, else those of its markers, else those that
// are heard. Kinds that are not given are guessed from the names.
func (s *subject) setSections() {
	sections := s.in.Song.Sections
	if len(sections) == 0 {
		sections = s.in.Song.MarkedSections()
	}
	sections = slices.Clone(sections)
	s.sure, s.strict = make([]int, len(sections)), make([]bool, len(sections))
	for i := range sections {
		s.strict[i] = true
		if sec := &sections[i]; sec.Kind == song.NoKind {
			name := song.MarkerName(sec.Name)
			sec.Kind, s.strict[i] = song.KindOf(name), !song.VerseForm(name)
		}
		s.sure[i] = 100
	}
	if s.marked = len(sections) > 0; !s.marked && s.measured {
		sections = s.hearSections()
		s.strict = slices.Repeat([]bool{true}, len(sections))
	}
	s.song = s.song.WithSections(sections)
	s.titles = song.SectionNames(sections)
}

// contrast is the level of a finding that a section does not stand out in level as its kind promises. A chorus is a kind
// of drop and a bridge a kind of break, but neither word promises that; and a section that is only heard as a drop or a
// break, and does not stand out, may be none.
func (s *subject) contrast(section int) Level {
	if s.strict[section] && s.marked {
		return Warn
	}
	return Note
}

// hearSections cuts a song without markers at the boundaries that are heard, and tells the kinds.
func (s *subject) hearSections() []song.Section {
	st := form.StructureBy(s.song, s.energy, 0)
	if !slices.ContainsFunc(st.Bars, func(b form.Bar) bool { return b.Line }) || len(s.heard()) == 0 {
		s.told = append(s.told, "no sections: nothing sounds in it")
		return nil
	}
	var out []song.Section
	var words []string
	for _, sec := range form.Sections(s.song, st) {
		sure := int(100*sec.Sure + .5)
		out, s.sure = append(out, sec.Section), append(s.sure, sure)
		words = append(words, fmt.Sprintf("%s from bar %d (%d %%)", sec.Kind, sec.Bar, sure))
	}
	s.told = append(s.told, "no markers on bar lines, so sections are as they are heard, and how sure that is: "+strings.Join(words, ", "))
	return out
}

// sections returns the sections as a review shows them.
func (s *subject) sections() []Section {
	out := []Section{}
	for i, sec := range s.song.Sections {
		out = append(out, Section{s.titles[i], sec.Kind, sec.Bar, sec.Bars, s.sure[i]})
	}
	return out
}

// sectionAt returns the index of the section a bar is in, -1 where it is in none.
func (s *subject) sectionAt(bar int) int {
	sections := s.song.Sections
	i := sort.Search(len(sections), func(i int) bool { return sections[i].Bar > bar }) - 1
	if i < 0 || bar > last(sections[i]) {
		return -1
	}
	return i
}

// sectionName returns the name of the section a bar is in, "" where it is in none.
func (s *subject) sectionName(bar int) string {
	if i := s.sectionAt(bar); i >= 0 {
		return s.titles[i]
	}
	return ""
}

// ofKind returns the indices of the sections of a kind that are at least a bar long.
func (s *subject) ofKind(kind song.Kind) []int {
	var out []int
	for i, sec := range s.song.Sections {
		if sec.Kind == kind && sec.Bars > 0 {
			out = append(out, i)
		}
	}
	return out
}

// last returns the last bar of a section.
func last(sec song.Section) int { return sec.Bar + sec.Bars - 1 }
