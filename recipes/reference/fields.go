package reference

import (
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/recipes"
)

// Field says what a form has to know of an option of a move, or of a key of a recipe.
type Field struct {
	Name     string   `json:"name"`
	Doc      string   `json:"doc"`     // what it is for, in a line
	Want     string   `json:"want"`    // what is valid, in words
	Default  string   `json:"default"` // what counts where it is left out; "" for none
	Required bool     `json:"required"`
	List     bool     `json:"list"`    // several values may be given
	Kind     string   `json:"kind"`    // "words", "number", "text", or the name of a form that many options share, such as "part" or "span"
	Words    []string `json:"words"`   // of words: all; of a text: those that are likely
	Low      int      `json:"low"`     // of a number: the least
	High     uint64   `json:"high"`    // of a number: the most
	Pattern  string   `json:"pattern"` // of whole texts that are none of Words, as in [option.Form.Regexp]; "" for any
}

// Fields returns the options of a move in the order they are listed.
func Fields(m moves.Move) []Field {
	var out []Field
	for _, o := range m.Options() {
		form, _ := o.Form()
		out = append(out, Field{Name: o.Name, Doc: o.Doc, Want: o.Want, Default: o.Default, Required: o.Required, List: o.List}.of(form))
	}
	return out
}

// KeyFields returns keys that hold texts, in the order they are listed. What is valid stands in what they are for.
func KeyFields(keys []recipes.Key) []Field {
	var out []Field
	for _, k := range keys {
		if k.Form != nil {
			out = append(out, Field{Name: k.Name, Doc: k.Doc, Required: k.Required, List: k.List}.of(k.Form()))
		}
	}
	return out
}

// of returns the field with what its form says.
func (f Field) of(form option.Form) Field {
	f.Kind, f.Words = "text", slices.Clone(form.Words)
	switch {
	case form.Open:
	case form.Name != "":
		f.Kind = form.Name
	case len(form.Words) > 0 && form.Pattern == "" && len(form.Numbers) == 0:
		f.Kind = "words"
	case len(form.Words) == 0 && form.Pattern == "" && len(form.Numbers) == 1 && form.Numbers[0].Decimals == 0:
		f.Kind, f.Low, f.High = "number", form.Numbers[0].Low, form.Numbers[0].High
	}
	if f.Kind != "number" && !form.Open {
		f.Pattern = form.Regexp()
	}
	if f.Words == nil {
		f.Words = []string{}
	}
	return f
}
