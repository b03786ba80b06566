package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"loopdraft/recipes"
	"loopdraft/recipes/edit"
	"loopdraft/recipes/reference"
	"loopdraft/smf/song"
)

// pageStep is a step of the recipe as it is written, for the page.
type pageStep struct {
	Move    string       `json:"move"`
	Options []pageOption `json:"options"`
}

type pageOption struct {
	Name  string   `json:"name"`
	Texts []string `json:"texts"`
	List  bool     `json:"list,omitempty"` // a list, even one of nothing
}

// pageMove is a move of the catalogue, for a form.
type pageMove struct {
	Name   string            `json:"name"`
	Group  string            `json:"group"`
	Brief  string            `json:"brief"`
	Fields []reference.Field `json:"fields"`
}

// steps returns the steps of a recipe that are in use.
func (s *shownState) steps() []pageStep {
	out := []pageStep{}
	for n := 0; ; n++ {
		move, options, ok := edit.StepOptions(s.source, n)
		if !ok {
			return out
		}
		out = append(out, pageStep{move, pageOptions(options)})
	}
}

// pageMoves returns the catalogue.
func pageMoves() []pageMove {
	var out []pageMove
	for _, m := range recipes.Catalogue() {
		out = append(out, pageMove{m.Name(), m.Group, m.Brief, reference.Fields(m)})
	}
	return out
}

// pageKeys are the keys of the recipe and of its sections that hold texts, for forms.
type pageKeys struct {
	Recipe   []reference.Field `json:"recipe"`
	Section  []reference.Field `json:"section"`
	Written  []pageOption      `json:"written"`  // of the recipe
	Sections [][]pageOption    `json:"sections"` // of each section in use
}

// keys returns the keys of a recipe as they are written.
func (s *shownState) keys() pageKeys {
	out := pageKeys{
		Recipe: reference.KeyFields(recipes.Keys()), Written: pageOptions(edit.KeyOptions(s.source)), Sections: [][]pageOption{},
		Section: slices.DeleteFunc(reference.KeyFields(recipes.SectionKeys()), func(f reference.Field) bool { return f.Name == "name" }), // it has a word of its own
	}
	first := []string{"energy", "kind"} // what is likely to be written
	slices.SortStableFunc(out.Section, func(a, b reference.Field) int {
		i, j := slices.Index(first, a.Name), slices.Index(first, b.Name)
		return cmp.Compare(uint(i), uint(j))
	})
	for n := 0; ; n++ {
		options, ok := edit.SectionOptions(s.source, n)
		if !ok {
			return out
		}
		out.Sections = append(out.Sections, pageOptions(options))
	}
}

func pageOptions(options []edit.Option) []pageOption {
	out := []pageOption{}
	for _, o := range options {
		out = append(out, pageOption{o.Name, append([]string{}, o.Texts...), o.List})
	}
	return out
}

// keyEdits makes edits of an action that is about keys of the recipe or of a section, as stepEdits does of steps.
func (s *session) keyEdits(a action) (ways [][]edit.Edit, text string, err error) {
	text = "the recipe is changed"
	if a.Do == "set section" {
		sections := s.now.result.Song.Sections
		if a.Section < 0 || a.Section >= len(sections) || s.now.bare {
			return nil, "", errNoSection
		}
		text = visible(song.SectionNames(sections)[a.Section]) + " is changed"
	}
	return outAndIn(s.written(a), func(o edit.Option) edit.Edit {
		if a.Do == "set section" {
			return edit.SetSectionKey{Section: a.Section, Option: o}
		}
		return edit.SetKey{Option: o}
	}), text, nil
}

// outAndIn makes an edit of each option. What may not stand together is taken out first; what may not be lacking is put
// in first.
func outAndIn(options []edit.Option, of func(edit.Option) edit.Edit) [][]edit.Edit {
	var out, in []edit.Edit
	for _, o := range options {
		if len(o.Texts) == 0 && !o.List {
			out = append(out, of(o))
		} else {
			in = append(in, of(o))
		}
	}
	return [][]edit.Edit{append(out[:len(out):len(out)], in...), append(in[:len(in):len(in)], out...)}
}

// stepEdits makes edits of an action that is about a step; each list of them does the same, and the first that can be
// made counts.
func (s *session) stepEdits(a action) (ways [][]edit.Edit, text string, err error) {
	if s.now.bare {
		return nil, "", errors.New("found no draft of the recipe")
	}
	one := func(e edit.Edit) [][]edit.Edit { return [][]edit.Edit{{e}} }
	switch a.Do {
	case "add step":
		if _, ok := recipes.Catalogue().Lookup(a.Name); !ok {
			return nil, "", fmt.Errorf("found unknown move %q%s", visible(a.Name), meant(recipes.Catalogue().Nearest(a.Name)))
		}
		return one(edit.AddStep{At: a.Step, Move: a.Name, Options: s.written(a)}), a.Name + " is added", nil
	case "remove step":
		return one(edit.RemoveStep{Step: a.Step}), "the step is removed", nil
	case "move step":
		return one(edit.MoveStep{Step: a.Step, To: a.Step + sign(a.By)}), "the step is moved", nil
	case "set step":
		return outAndIn(s.written(a), func(o edit.Option) edit.Edit { return edit.SetOption{Step: a.Step, Option: o} }), "the step is changed", nil
	}
	return nil, "", fmt.Errorf("found unknown action %q", visible(a.Do))
}

// written are the options of an action, as they were typed.
func (s *session) written(a action) []edit.Option {
	var out []edit.Option
	for _, o := range a.Options {
		out = append(out, edit.Option{Name: o.Name, Texts: o.Texts, List: o.List})
	}
	return out
}

// applied makes edits one after the other; of several ways the first that can be made.
func applied(s edit.Source, ways [][]edit.Edit) ([]byte, error) {
	var first error
	for _, edits := range ways {
		text, err := s.Text, error(nil)
		for _, e := range edits {
			if text, _, err = edit.Apply(edit.Source{File: s.File, Text: text, Taken: s.Taken}, e); err != nil {
				break
			}
		}
		if err == nil {
			return text, nil
		}
		first = cmp.Or(first, err)
	}
	return nil, first
}
