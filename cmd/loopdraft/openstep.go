package main

import (
	"cmp"
	"errors"
	"fmt"

	"loopdraft/recipes"
	"loopdraft/recipes/edit"
	"loopdraft/recipes/reference"
)

// pageStep is a step of the recipe as it is written, for the page.
type pageStep struct {
	Move    string       `json:"move"`
	Options []pageOption `json:"options"`
}

type pageOption struct {
	Name  string   `json:"name"`
	Texts []string `json:"texts"`
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
		step := pageStep{move, []pageOption{}}
		for _, o := range options {
			step.Options = append(step.Options, pageOption{o.Name, o.Texts})
		}
		out = append(out, step)
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
		var out, in []edit.Edit
		for _, o := range s.written(a) {
			e := edit.SetOption{Step: a.Step, Option: o}
			if len(o.Texts) == 0 {
				out = append(out, e)
			} else {
				in = append(in, e)
			}
		}
		// What may not stand together is taken out first; what may not be lacking is put in first.
		return [][]edit.Edit{append(out[:len(out):len(out)], in...), append(in[:len(in):len(in)], out...)}, "the step is changed", nil
	}
	return nil, "", fmt.Errorf("found unknown action %q", visible(a.Do))
}

// written are the options of an action, as they were typed.
func (s *session) written(a action) []edit.Option {
	var out []edit.Option
	for _, o := range a.Options {
		out = append(out, edit.Option{Name: o.Name, Texts: o.Texts})
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
