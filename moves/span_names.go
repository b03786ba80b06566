package moves

import (
	"errors"
	"reflect"

	"loopdraft/smf/song"
)

// CheckSections looks in the spans and places of a step for sections that are not among those of a
// song, before there is the song. Of the sections it needs name and kind. Each mistake is an
// [*OptionError]; several are joined.
func CheckSections(step Step, sections []song.Section) error {
	r := &spanResolver{song: song.Song{Sections: sections}}
	v := reflect.ValueOf(step).Elem()
	var out []error
	for _, f := range fieldsOf(v.Type()) {
		var mistakes []*GrammarError
		switch o := f.of(v).Addr().Interface().(type) {
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
			out = append(out, optionError(f.name, e))
		}
	}
	return errors.Join(out...)
}

// unknownIn returns a mistake for each section of a span that is not there.
func (r *spanResolver) unknownIn(s spanNode, text string, index int) []*GrammarError {
	var out []*GrammarError
	for _, n := range sectionsNamed(s) {
		if _, e := r.named(n); e != nil {
			e.Text, e.Index = text, index
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
