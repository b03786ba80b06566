package option

import (
	"fmt"
	"iter"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/song"
)

// Value is the type of an option: it reads itself from text, an item each where the recipe has a
// list, and writes the same back.
type Value interface {
	UnmarshalTexts(texts []string) error // a *Mistake without the option's name
	Texts() []string                     // canonical; nil for the zero value
	IsZero() bool                        // left out
	Want() string                        // what is valid, in words
}

// Option describes an option of a move, read off its struct: decoder, help, reference and schema
// stand on it.
type Option struct {
	Name     string
	Doc      string
	Want     string
	Default  string // as text; "" for none
	Required bool
	List     bool                // a list may be given
	Form     func() (Form, bool) // made when asked for: few runs need it; false for a type that says none
}

// Of returns the options of a struct that describes them as a step does, with the values it has
// as defaults, in the order they are listed. of is a pointer to the struct.
func Of(of any) []Option {
	v := reflect.ValueOf(of).Elem()
	var out []Option
	for f := range fieldsOf(v.Type()) {
		out = append(out, describe(v, f))
	}
	return out
}

// Names returns the names of a struct's options in the order they are listed; of is a pointer to it.
func Names(of any) []string {
	var out []string
	for f := range fieldsOf(reflect.TypeOf(of).Elem()) {
		out = append(out, f.name)
	}
	return out
}

// Find describes one option of a struct; false if it has none of this name. of is a pointer to it.
func Find(of any, name string) (Option, bool) {
	v := reflect.ValueOf(of).Elem()
	f, ok := fieldOf(v.Type(), name)
	if !ok {
		return Option{}, false
	}
	return describe(v, f), true
}

// Want says what is valid for an option, as [Find] does, and nothing else; "" if there is none of this name.
func Want(of any, name string) string {
	v := reflect.ValueOf(of).Elem()
	f, ok := fieldOf(v.Type(), name)
	if !ok {
		return ""
	}
	want, _ := wantOf(f.of(v), f.tag)
	return want
}

// fieldOf returns the option of a name.
func fieldOf(t reflect.Type, name string) (field, bool) {
	for f := range fieldsOf(t) {
		if f.name == name {
			return f, true
		}
	}
	return field{}, false
}

// Fields yields the options of a struct by name, each as a pointer to its field, in the order they are
// listed. of is a pointer to the struct.
func Fields(of any) iter.Seq2[string, any] {
	return func(yield func(string, any) bool) {
		v := reflect.ValueOf(of).Elem()
		for f := range fieldsOf(v.Type()) {
			if !yield(f.name, f.of(v).Addr().Interface()) {
				return
			}
		}
	}
}

// Copy returns a copy of a struct that describes its options; of is a pointer to it.
func Copy[T any](of T) T {
	out := reflect.New(reflect.TypeOf(of).Elem())
	out.Elem().Set(reflect.ValueOf(of).Elem())
	return out.Interface().(T)
}

// describe reads an option off a struct with its defaults.
func describe(v reflect.Value, f field) Option {
	o := Option{Name: f.name, Doc: f.tag.Get("doc")}
	o.Want, o.List = wantOf(f.of(v), f.tag)
	o.Form = func() (Form, bool) { return formOf(f.of(v), f.tag) }
	o.Default = strings.Join(textsOf(f.of(v), f.tag), ", ")
	o.Required = f.required() && o.Default == "" // a move may have a default for what others ask for
	return o
}

// field is an option's place in the struct of a move: a field of it, or of a struct embedded in it.
type field struct {
	name         string
	tag          reflect.StructTag
	outer, inner int // inner is -1 for a field of the move itself
}

func (f field) required() bool { return f.tag.Get("required") == "true" }

// of returns the field of a move.
func (f field) of(v reflect.Value) reflect.Value {
	if f.inner < 0 {
		return v.Field(f.outer)
	}
	return v.Field(f.outer).Field(f.inner)
}

// fieldsOf yields the options of a struct, those of embedded structs in their place.
func fieldsOf(t reflect.Type) iter.Seq[field] {
	return func(yield func(field) bool) {
		for i := range t.NumField() {
			f := t.Field(i)
			if !f.Anonymous {
				if name := f.Tag.Get("yaml"); name != "" && !yield(field{name, f.Tag, i, -1}) {
					return
				}
				continue
			}
			for k := range f.Type.NumField() {
				g := f.Type.Field(k)
				if name := g.Tag.Get("yaml"); name != "" && !yield(field{name, g.Tag, i, k}) {
					return
				}
			}
		}
	}
}

// wantOf says what is valid for a field.
func wantOf(v reflect.Value, tag reflect.StructTag) (want string, list bool) {
	if o, ok := v.Addr().Interface().(Value); ok {
		list = takesList(v)
		if _, share := o.(*Share); share && tag.Get("range") != "" {
			lo, hi := shareRange(tag)
			return fmt.Sprintf("a percentage from %s to %s", lo, hi), list
		}
		if _, words := o.(*Words); words {
			return "one of " + strings.ReplaceAll(tag.Get("words"), ",", ", "), list
		}
		return o.Want(), list
	}
	switch v.Kind() {
	case reflect.Int:
		lo, hi, unit := rangeOf(tag)
		return strings.TrimSpace(fmt.Sprintf("%d to %d %s", lo, hi, unit)), false
	case reflect.Bool:
		return "true or false", false
	}
	if words := tag.Get("words"); words != "" {
		return "one of " + strings.ReplaceAll(words, ",", ", "), false
	}
	return "a text", false
}

// rangeOf reads a tag such as range:"1..127" unit:"semitones".
func rangeOf(tag reflect.StructTag) (lo, hi int, unit string) {
	a, b, _ := strings.Cut(tag.Get("range"), "..")
	lo, _ = strconv.Atoi(a)
	hi, _ = strconv.Atoi(b)
	return lo, hi, tag.Get("unit")
}

// shareRange reads a tag such as range:"0.01%..100%"; without one, any share will do.
func shareRange(tag reflect.StructTag) (lo, hi Share) {
	a, b, ok := strings.Cut(tag.Get("range"), "..")
	if !ok {
		return 0, 10 * Whole
	}
	lo, _ = ParseShare(a)
	hi, _ = ParseShare(b)
	return lo, hi
}

// textsOf returns the texts of an option's value; none where it is left out. With the tag zero:"0%" a share of 0
// is a value, and one under 0 is left out.
func textsOf(v reflect.Value, tag reflect.StructTag) []string {
	if o, ok := v.Addr().Interface().(Value); ok {
		if share, ok := o.(*Share); ok && tag.Get("zero") != "" && *share >= 0 {
			return share.Texts()
		} else if ok && *share < 0 {
			return nil
		}
		if o.IsZero() {
			return nil
		}
		return o.Texts()
	}
	if v.IsZero() {
		return nil
	}
	switch v.Kind() {
	case reflect.Int:
		return []string{strconv.FormatInt(v.Int(), 10)}
	case reflect.Bool:
		return []string{"true"}
	}
	return []string{v.String()}
}

// Set sets an option of a struct that describes its options, from text, an item each where a list was
// given. of is a pointer to the struct. An unknown option and a value that is not valid are a [*Mistake].
func Set(of any, name string, texts []string, isList bool) error {
	v := reflect.ValueOf(of).Elem()
	f, ok := fieldOf(v.Type(), name)
	if !ok {
		names := Names(of)
		return &Mistake{Option: name, Found: fmt.Sprintf("unknown option %q", name), Unknown: true, Want: "one of " + strings.Join(names, ", "), Hint: song.Nearest(name, names)}
	}
	at := f.of(v)
	want := func() string { w, _ := wantOf(at, f.tag); return w }
	val, isValue := at.Addr().Interface().(Value)
	if isList && !takesList(at) {
		return &Mistake{Option: name, Found: "a list", Want: want()}
	}
	if share, ok := val.(*Share); ok {
		return setShare(share, f, want(), texts[0])
	}
	if words, ok := val.(*Words); ok {
		return setWords(words, f, want(), texts)
	}
	if isValue {
		if err := val.UnmarshalTexts(texts); err != nil {
			return Named(name, err)
		}
		return nil
	}
	return setPlain(at, f, texts[0])
}

// setShare sets a share, which may have a range of its own; a hint lies within it too.
func setShare(share *Share, f field, want, text string) error {
	lo, hi := shareRange(f.tag)
	within := func(text string) (Share, bool) {
		s, err := ParseShare(text)
		return s, err == nil && s >= lo && s <= hi
	}
	got, ok := within(text)
	if ok {
		*share = got
		return nil
	}
	bad := &Mistake{Option: f.name, Found: strconv.Quote(text), Want: want}
	if _, ok := within(text + "%"); ok {
		bad.Hint = text + "%"
	}
	return bad
}

// setWords sets a list of words, each one of those of its tag.
func setWords(words *Words, f field, want string, texts []string) error {
	valid := strings.Split(f.tag.Get("words"), ",")
	if len(texts) == 0 {
		return &Mistake{Option: f.name, Found: "an empty list", Want: want}
	}
	for i, text := range texts {
		if !slices.Contains(valid, text) {
			return &Mistake{Option: f.name, Item: i, Found: strconv.Quote(text), Want: want, Hint: song.Nearest(text, valid)}
		}
	}
	return words.UnmarshalTexts(texts)
}

func setPlain(v reflect.Value, f field, text string) error {
	tag := f.tag
	bad := &Mistake{Option: f.name, Found: strconv.Quote(text)}
	bad.Want, _ = wantOf(v, tag)
	switch v.Kind() {
	case reflect.Int:
		n, ok := ParseInt(text)
		lo, hi, _ := rangeOf(tag)
		if !ok || n < lo || n > hi {
			return bad
		}
		v.SetInt(int64(n))
	case reflect.Bool:
		if text != "true" && text != "false" {
			bad.Hint = song.Nearest(text, []string{"true", "false"})
			return bad
		}
		v.SetBool(text == "true")
	default:
		if words := tag.Get("words"); words != "" {
			list := strings.Split(words, ",")
			if !slices.Contains(list, text) {
				bad.Hint = song.Nearest(text, list)
				return bad
			}
		}
		v.SetString(text)
	}
	return nil
}

// Given is an option of a step with its value as text.
type Given struct {
	Name  string
	Texts []string
	List  bool // it has more than one text and takes a list
}

// ValuesOf returns every option of a struct with the value it has, defaults among them; Texts is nil where
// it has none. of is a pointer to the struct.
func ValuesOf(of any) []Given {
	v := reflect.ValueOf(of).Elem()
	var out []Given
	for f := range fieldsOf(v.Type()) {
		at := f.of(v)
		texts := textsOf(at, f.tag)
		out = append(out, Given{f.name, texts, takesList(at) && len(texts) > 1})
	}
	return out
}

// GivenOf returns the options of a struct that have a value and differ from those of another struct of its
// type, which holds the defaults.
func GivenOf(of, defaults any) []Given {
	def := ValuesOf(defaults)
	var out []Given
	for i, g := range ValuesOf(of) {
		if len(g.Texts) > 0 && !slices.Equal(g.Texts, def[i].Texts) {
			out = append(out, g)
		}
	}
	return out
}

// Missing returns the names of the required options that a struct leaves out; of is a pointer to it.
func Missing(of any) []string {
	v := reflect.ValueOf(of).Elem()
	var out []string
	for f := range fieldsOf(v.Type()) {
		if f.required() && len(textsOf(f.of(v), f.tag)) == 0 {
			out = append(out, f.name)
		}
	}
	return out
}

// listed is a value that may be written as a list.
type listed interface{ TakesList() }

func takesList(v reflect.Value) bool {
	_, ok := v.Addr().Interface().(listed)
	return ok
}

// formOf returns the form of a field; false for a type that says none.
func formOf(v reflect.Value, tag reflect.StructTag) (Form, bool) {
	switch o := v.Addr().Interface().(type) {
	case *Share:
		return Form{Pattern: SharePattern(shareRange(tag))}, true
	case *Words:
		return Form{Words: strings.Split(tag.Get("words"), ",")}, true
	case interface{ Form() Form }:
		return o.Form(), true
	case Value:
		return Form{}, false
	}
	switch v.Kind() {
	case reflect.Int:
		lo, hi, _ := rangeOf(tag)
		return Form{Numbers: []Numbers{{Low: lo, High: uint64(hi)}}}, true
	case reflect.Bool:
		return Form{Words: []string{"true", "false"}}, true
	}
	if words := tag.Get("words"); words != "" {
		return Form{Words: strings.Split(words, ",")}, true
	}
	return Form{Open: true}, true
}
