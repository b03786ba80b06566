package moves

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/song"
)

// Value is the type of an option: it reads itself from text, an item each where the recipe has a
// list, and writes the same back.
type Value interface {
	UnmarshalTexts(texts []string) error // a *GrammarError or *OptionError without a name
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

// OptionError is a mistake in an option.
type OptionError struct {
	Option string
	Item   int    // index of the item, where the option is a list
	Col    int    // character in the text of the item, from 1; 0: the whole of it
	Found  string // as it was written
	Want   string
	Hint   string // the nearest valid word or sentence; "" for none
}

func (e *OptionError) Error() string {
	s := "found " + e.Found
	if e.Want != "" {
		s += ", want " + e.Want
	}
	if e.Hint != "" {
		s += "; did you mean " + strconv.Quote(e.Hint) + "?"
	}
	if e.Option != "" {
		s = e.Option + ": " + s
	}
	return s
}

// optionError names the option in an error, or in each of several joined.
func optionError(option string, err error) error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range many.Unwrap() {
			out = append(out, optionError(option, e))
		}
		return errors.Join(out...)
	}
	var oe *OptionError
	if errors.As(err, &oe) {
		c := *oe
		c.Option = option
		return &c
	}
	var ge *GrammarError
	if errors.As(err, &ge) {
		return &OptionError{Option: option, Item: ge.Index, Col: ge.Col, Found: ge.Found, Want: ge.Want, Hint: ge.Hint}
	}
	return fmt.Errorf("%s: %w", option, err)
}

// Options returns the options of a move in the order they are listed.
func (m Move) Options() []Option { return OptionsOf(m.New()) }

// OptionsOf returns the options of a struct that describes them as a step does, with the values it has
// as defaults, in the order they are listed. of is a pointer to the struct.
func OptionsOf(of any) []Option {
	v := reflect.ValueOf(of).Elem()
	var out []Option
	for _, f := range fieldsOf(v.Type()) {
		out = append(out, describe(v, f))
	}
	return out
}

// OptionNames returns the names of the options in the order they are listed.
func (m Move) OptionNames() []string {
	fields := fieldsOf(reflect.TypeOf(m.New()).Elem())
	out := make([]string, len(fields))
	for i, f := range fields {
		out[i] = f.name
	}
	return out
}

// Option describes one option; false if the move has none of this name.
func (m Move) Option(name string) (Option, bool) {
	v := reflect.ValueOf(m.New()).Elem()
	for _, f := range fieldsOf(v.Type()) {
		if f.name == name {
			return describe(v, f), true
		}
	}
	return Option{}, false
}

// describe reads an option off a move with its defaults.
func describe(v reflect.Value, f field) Option {
	o := Option{Name: f.name, Doc: f.tag.Get("doc")}
	o.Want, o.List = wantOf(f.of(v), f.tag)
	o.Form = func() (Form, bool) { return formOf(f.of(v), f.tag) }
	o.Default = strings.Join(optionTexts(f.of(v)), ", ")
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

// fieldsOf returns the options of a struct, those of embedded structs in their place.
func fieldsOf(t reflect.Type) []field {
	out := make([]field, 0, 12)
	for i := range t.NumField() {
		f := t.Field(i)
		if !f.Anonymous {
			if name := f.Tag.Get("yaml"); name != "" {
				out = append(out, field{name, f.Tag, i, -1})
			}
			continue
		}
		for k := range f.Type.NumField() {
			g := f.Type.Field(k)
			if name := g.Tag.Get("yaml"); name != "" {
				out = append(out, field{name, g.Tag, i, k})
			}
		}
	}
	return out
}

// want says what is valid for an option.
func (m Move) want(name string) string {
	o, _ := m.Option(name)
	return o.Want
}

// wantOf says what is valid for a field.
func wantOf(v reflect.Value, tag reflect.StructTag) (want string, list bool) {
	if o, ok := v.Addr().Interface().(Value); ok {
		_, list = o.(interface{ list() })
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

func optionTexts(v reflect.Value) []string {
	if o, ok := v.Addr().Interface().(Value); ok {
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

// Set sets an option of a step from text, an item each where a list was given. An unknown option
// and a value that is not valid are an [*OptionError].
func (m Move) Set(step Step, name string, texts []string, isList bool) error {
	return SetOption(step, name, texts, isList)
}

// SetOption sets an option of a struct that describes its options as a step does, as [Move.Set] does.
func SetOption(of any, name string, texts []string, isList bool) error {
	v := reflect.ValueOf(of).Elem()
	fields := fieldsOf(v.Type())
	i := slices.IndexFunc(fields, func(f field) bool { return f.name == name })
	if i < 0 {
		var names []string
		for _, f := range fields {
			names = append(names, f.name)
		}
		return &OptionError{Option: name, Found: fmt.Sprintf("unknown option %q", name), Want: "one of " + strings.Join(names, ", "), Hint: song.Nearest(name, names)}
	}
	at := fields[i].of(v)
	want := func() string { w, _ := wantOf(at, fields[i].tag); return w }
	val, isValue := at.Addr().Interface().(Value)
	if _, takesList := val.(interface{ list() }); isList && !takesList {
		return &OptionError{Option: name, Found: "a list", Want: want()}
	}
	if share, ok := val.(*Share); ok {
		return setShare(share, fields[i], want(), texts[0])
	}
	if words, ok := val.(*Words); ok {
		return setWords(words, fields[i], want(), texts)
	}
	if isValue {
		if err := val.UnmarshalTexts(texts); err != nil {
			return optionError(name, err)
		}
		return nil
	}
	return setPlain(at, fields[i], texts[0])
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
	bad := &OptionError{Option: f.name, Found: strconv.Quote(text), Want: want}
	if _, ok := within(text + "%"); ok {
		bad.Hint = text + "%"
	}
	return bad
}

// setWords sets a list of words, each one of those of its tag.
func setWords(words *Words, f field, want string, texts []string) error {
	valid := strings.Split(f.tag.Get("words"), ",")
	if len(texts) == 0 {
		return &OptionError{Option: f.name, Found: "an empty list", Want: want}
	}
	for i, text := range texts {
		if !slices.Contains(valid, text) {
			return &OptionError{Option: f.name, Item: i, Found: strconv.Quote(text), Want: want, Hint: song.Nearest(text, valid)}
		}
	}
	return words.UnmarshalTexts(texts)
}

func setPlain(v reflect.Value, f field, text string) error {
	tag := f.tag
	bad := &OptionError{Option: f.name, Found: strconv.Quote(text)}
	bad.Want, _ = wantOf(v, tag)
	switch v.Kind() {
	case reflect.Int:
		n, ok := parseInt(text)
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

// parseInt reads decimal digits with an optional sign, nothing else.
func parseInt(text string) (int, bool) {
	digits := strings.TrimPrefix(strings.TrimPrefix(text, "-"), "+")
	if digits == "" || len(digits) > 9 || strings.HasPrefix(text, "+-") || strings.HasPrefix(text, "-+") {
		return 0, false
	}
	for _, c := range digits {
		if c < '0' || c > '9' {
			return 0, false
		}
	}
	n, err := strconv.Atoi(text)
	return n, err == nil
}

// Given is an option of a step with its value as text.
type Given struct {
	Name  string
	Texts []string
	List  bool  // it has more than one text and takes a list
	Where Where // what it says of places

	at field // its place in the struct
}

// Given returns the options of a step that differ from the move's defaults, in their order: the
// step in canonical text.
func (m Move) Given(step Step) []Given {
	def := reflect.ValueOf(m.New()).Elem()
	var out []Given
	for _, g := range values(step) {
		if len(g.Texts) > 0 && !slices.Equal(g.Texts, optionTexts(g.at.of(def))) {
			out = append(out, g)
		}
	}
	return out
}

// Values returns every option of a step with the value it has, defaults among them; Texts is nil
// where it has none.
func (m Move) Values(step Step) []Given { return values(step) }

func values(step Step) []Given {
	v := reflect.ValueOf(step).Elem()
	var out []Given
	for _, f := range fieldsOf(v.Type()) {
		at := f.of(v)
		texts := optionTexts(at)
		_, list := at.Addr().Interface().(interface{ list() })
		out = append(out, Given{f.name, texts, list && len(texts) > 1, whereOf(at), f})
	}
	return out
}

// Where is whether an option says where something is.
type Where uint8

// An option says nothing of it, is a span or several, or a place or several.
const (
	Nowhere Where = iota
	InSpans
	AtPlaces
)

func whereOf(v reflect.Value) Where {
	switch v.Addr().Interface().(type) {
	case *Spans:
		return InSpans
	case *Places:
		return AtPlaces
	}
	return Nowhere
}

// Missing returns the names of the required options that a step leaves out.
func (m Move) Missing(step Step) []string {
	v := reflect.ValueOf(step).Elem()
	var out []string
	for _, f := range fieldsOf(v.Type()) {
		if f.required() && len(optionTexts(f.of(v))) == 0 {
			out = append(out, f.name)
		}
	}
	return out
}

// Text returns a step in canonical text, as a recipe would have it on one line.
func (m Move) Text(step Step) string {
	var b strings.Builder
	b.WriteString(m.Name + ": {")
	for i, g := range m.Given(step) {
		if i > 0 {
			b.WriteString(", ")
		}
		text := strings.Join(g.Texts, ", ")
		if g.List {
			text = "[" + text + "]"
		}
		b.WriteString(g.Name + ": " + text)
	}
	b.WriteString("}")
	return b.String()
}
