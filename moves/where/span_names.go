package where

import (
	"errors"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// CheckSections looks in the spans and places of a struct that describes its options, such as a step, for
// sections that are not among those of a song, before there is the song. Of the sections it needs name and
// kind. of is a pointer to the struct. Each mistake is a [*option.Mistake]; several are joined.
func CheckSections(of any, sections []song.Section) error {
	r := &spanResolver{song: song.Song{Sections: sections}}
	var out []error
	for name, value := range option.Fields(of) {
		var mistakes []*option.Mistake
		switch o := value.(type) {
		case *Spans:
			for i, item := range o.items {
				mistakes = append(mistakes, r.unknownIn(item, item.text(), i)...)
			}
		case *Places:
			for i, item := range o.items {
				mistakes = append(mistakes, r.unknownIn(item.span, item.text(), i)...)
			}
		}
		for _, e := range mistakes {
			out = append(out, option.Named(name, e))
		}
	}
	return errors.Join(out...)
}

// unknownIn returns a mistake for each section of a span that is not there.
func (r *spanResolver) unknownIn(s spanNode, text string, index int) []*option.Mistake {
	var out []*option.Mistake
	for _, n := range sectionsNamed(s) {
		if _, e := r.named(n); e != nil {
			e.Text, e.Item = text, index
			out = append(out, e)
		}
	}
	return out
}

// sectionsNamed returns the names of sections in a span, in the order they are written in.
func sectionsNamed(s spanNode) []named {
	switch s := s.(type) {
	case countedSpan:
		return sectionsNamed(s.of)
	case outerSpan:
		return sectionsNamed(s.of)
	case portionSpan:
		return sectionsNamed(s.of)
	case everySpan:
		return sectionsNamed(s.of)
	case besideSpan:
		return sectionsNamed(s.place.span)
	case fromSpan:
		return append(sectionsNamed(s.from.span), sectionsNamed(s.to.span)...)
	case sectionSpan:
		if s.named.name == "" {
			return s.but
		}
		return append([]named{s.named}, s.but...)
	}
	return nil
}

// SectionWord is where a sentence names a section.
type SectionWord struct {
	Item int    // the sentence, from 0
	Col  int    // of the name, in characters from 1
	Name string // a section's, or a kind
	N    int    // which of them, from 1; 0: all there are
}

// SectionWords returns the names of sections in the spans or places of an option, in the order they are written in; none
// for an option that is neither, or that has a mistake. value is a pointer to it, as [option.Fields] yields it.
func SectionWords(value any) []SectionWord {
	var out []SectionWord
	add := func(item int, s spanNode) {
		for _, n := range sectionsNamed(s) {
			out = append(out, SectionWord{item, n.col, n.name, n.n})
		}
	}
	switch o := value.(type) {
	case *Spans:
		for i, item := range o.items {
			add(i, item)
		}
	case *Places:
		for i, item := range o.items {
			add(i, item.span)
		}
	}
	return out
}
