// Package reference says what may stand in a recipe, for programs and for people. [Schema] is the recipe
// language as a JSON Schema (draft 2020-12) for editors; [OptionText] tells an option of a move in a
// sentence, and [Fields] what a form has to know of a move's. All are made from the keys of package recipes
// and the catalogue of package moves, so that a new key or move needs no line here.
package reference

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strconv"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// schema is a JSON Schema; its keys are written in alphabetical order.
type schema map[string]any

// Schema returns the JSON Schema of a recipe, indented, the same bytes each time. A scalar may stand as
// the string, number or boolean that YAML makes of its text.
//
// It refuses nothing that [recipes.Parse] takes. What it lets through and Parse does not:
//
//   - in spans, places, parts and line-ups: words of the language for names, numbers that fall, letters
//     that are in upper case outside ASCII, and what the grammar does not allow behind "from";
//   - in energies: values outside 1% to 150%, ranges that fall, sections that are not there, "to" and rising or
//     falling in a list, and percent against another section; an add without an energy;
//   - the spelling of a number, true or false, which YAML has read before: 8.0, 1e3 or 0x10 for a whole
//     number, True for true, a sign, more digits than are read; more decimals than three in bpm and tempo;
//   - a choice inside another, choices of one name with unequally many alternatives, alternatives of sections that do
//     not add up alike where there is a length;
//   - a key that stands twice, and sections that do not add up to the length or add up to more than a
//     song has;
//   - aliases, anchors, tags, merge keys, a second document, control characters, and over 1 MiB.
//
// Roles, jobs, places of notes and names of parts are looked up only where there is a loop, and so are
// the parts, sections, bars and values that moves ask for: of those neither knows.
func Schema() []byte {
	b := builder{defs: schema{}}
	b.defs["as"] = scalar(recipes.ChoiceNameForm())
	b.defs["as"].(schema)["description"] = "A name to hold the choice by; choices of one name choose together."
	root := b.keys(recipes.Keys(), false)
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "loopdraft recipe"
	root["description"] = "What is to become of a loop: its length, its sections and the moves."
	root["$defs"] = b.defs
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(root); err != nil {
		return nil // strings, numbers, booleans, lists and maps of them: there is none that JSON has not
	}
	return out.Bytes()
}

// builder collects what stands in several places.
type builder struct{ defs schema }

// keys is a map of some keys and no others, of a section or not.
func (b builder) keys(keys []recipes.Key, sections bool) schema {
	properties, required := schema{}, []string{}
	for _, k := range keys {
		properties[k.Name] = b.key(k, sections && recipes.ChoiceKey(k.Name))
		if k.Required {
			required = append(required, k.Name)
		}
	}
	return object(properties, required)
}

func object(properties schema, required []string) schema {
	out := schema{"type": "object", "properties": properties, "additionalProperties": false}
	if len(required) > 0 {
		out["required"] = required
	}
	return out
}

func (b builder) key(k recipes.Key, choice bool) schema {
	var out schema
	switch {
	case k.Name == "cycle":
		bars := b.value(k.Form(), k.List, 0, choice)
		inLoops := object(schema{}, nil)
		inLoops["patternProperties"], inLoops["minProperties"] = schema{loopName: bars}, 1
		out = anyOf(bars, inLoops)
	case k.Form != nil:
		out = b.value(k.Form(), k.List, 0, choice)
	case k.Name == "loops":
		out = loops()
	case k.Name == "substitutes":
		out = substitutes()
	case k.Name == "parts":
		part := b.keys(recipes.PartKeys(), false)
		part["not"] = schema{"required": []string{"key", "keys"}}
		out = schema{"type": "object", "additionalProperties": part}
	case k.Name == "sections":
		section := b.keys(recipes.SectionKeys(), true)
		section["anyOf"] = []schema{{"required": []string{"bars"}}, {"required": []string{"like"}}}
		b.defs["section"] = section
		out = orChoice(b.listed("section"))
	case k.Name == "moves":
		b.defs["step"] = b.step()
		out = b.listed("step")
	case k.Name == "review":
		out = b.rules()
	case k.Name == "home":
		out = homes()
	}
	out["description"] = sentence(k.Doc)
	return out
}

// listed is a list of sections or steps, or of choices of them, in which a list may be an alternative.
func (b builder) listed(what string) schema {
	one := schema{"$ref": "#/$defs/" + what}
	many := schema{"type": "array", "items": one}
	return schema{"type": "array", "items": anyOf(one, choiceOf(anyOf(one, many)))}
}

// choiceOf is a choice of values that hold to a schema.
func choiceOf(value schema) schema {
	return object(schema{
		recipes.OneOf: schema{"type": "array", "items": value, "minItems": 2, "maxItems": recipes.MaxAlternatives},
		recipes.As:    schema{"$ref": "#/$defs/as"},
	}, []string{recipes.OneOf})
}

func orChoice(value schema) schema { return anyOf(value, choiceOf(value)) }

func anyOf(forms ...schema) schema { return schema{"anyOf": forms} }

// loopName is the pattern of [recipes.IsLoopName].
const loopName = "^[A-Za-z0-9][A-Za-z0-9-]*$"

// loops is a map of loops, each a file, several, or a map with one.
func loops() schema {
	text, marker := scalar(option.Form{Open: true}), scalar(option.Form{Open: true})
	text["minLength"], marker["pattern"] = 1, `\S`
	files := anyOf(text, schema{"type": "array", "items": text, "minItems": 1})
	bars := schema{"type": "string", "pattern": "^ *0*[1-9][0-9]* *- *0*[1-9][0-9]* *$"}
	part := object(schema{"file": files, "bars": bars, "marker": marker}, []string{"file"})
	part["not"] = schema{"required": []string{"bars", "marker"}}
	loop := anyOf(files, part)
	out := object(schema{}, nil)
	out["patternProperties"], out["minProperties"] = schema{loopName: loop}, 1
	return out
}

// substitutes is the word for the table, or a map of roles and those that take their place.
func substitutes() schema {
	role := schema{"enum": recipes.SubstituteRoles()}
	properties := schema{}
	for _, r := range recipes.SubstituteRoles() {
		properties[r] = schema{"anyOf": []schema{role, {"type": "array", "items": role}}}
	}
	return schema{"anyOf": []schema{{"enum": []string{recipes.NearestSubstitutes}}, object(properties, nil)}}
}

// homes is a map of controllers and values; bend has more of them.
func homes() schema {
	value := func(id song.Controller) schema {
		return scalar(option.Form{Numbers: []option.Numbers{{High: uint64(id.Max())}}})
	}
	name := option.ControllerName{}.Form()
	properties := schema{}
	for _, word := range name.Words {
		if id, err := option.ParseController(word); err == nil {
			properties[word] = value(id)
		}
	}
	out := object(properties, nil)
	out["patternProperties"] = schema{name.Regexp(): value(0)}
	return out
}

// step is a map of exactly one move.
func (b builder) step() schema {
	properties := schema{}
	for _, m := range recipes.Catalogue() {
		properties[m.Name()] = b.move(m)
	}
	out := object(properties, nil)
	out["minProperties"], out["maxProperties"] = 1, 1
	return out
}

func (b builder) move(m moves.Move) schema {
	properties, required := schema{}, []string{}
	for _, o := range m.Options() {
		properties[o.Name] = b.option(o, true)
		if o.Required {
			required = append(required, o.Name)
		}
	}
	out := object(properties, required)
	out["description"] = sentence(m.Brief) + "\n\n" + m.Doc
	example := schema{}
	for _, g := range m.Given(m.Example().Step) {
		if example[g.Name] = typed(g.Texts[0]); g.List {
			example[g.Name] = g.Texts
		}
	}
	out["examples"] = []schema{example}
	return out
}

// rules is a map of rules of thumb, each a map of its options, or off.
func (b builder) rules() schema {
	properties := schema{}
	for _, r := range review.Catalogue() {
		options := schema{}
		for _, o := range r.Options() {
			options[o.Name] = b.option(o, false)
		}
		properties[r.Name] = schema{
			"description": sentence(r.Brief) + "\n\n" + r.Doc + "\n\n" + sentence("source: "+r.Source),
			"anyOf":       []schema{{"enum": []string{"off"}}, object(options, nil)},
		}
	}
	return object(properties, nil)
}

func (b builder) option(o option.Option, choice bool) schema {
	form, _ := o.Form()
	out := b.value(form, o.List, 1, choice)
	out["description"] = sentence(OptionText(o))
	if o.Default != "" {
		out["default"] = typed(o.Default)
	}
	return out
}

// value is a scalar or, where a list may be given, a list of at least some, and if it may be one a choice.
func (b builder) value(f option.Form, list bool, least int, choice bool) schema {
	one := schema{"$ref": "#/$defs/" + f.Name}
	switch _, known := b.defs[f.Name]; {
	case f.Name == "":
		one = scalar(f)
	case !known:
		b.defs[f.Name] = scalar(f)
	}
	many := func(item schema) schema {
		out := schema{"type": "array", "items": item}
		if least > 0 {
			out["minItems"] = least
		}
		return out
	}
	switch {
	case !list && !choice:
		return one
	case !list:
		return orChoice(one)
	case !choice:
		return anyOf(one, many(one))
	}
	return anyOf(one, many(orChoice(one)), choiceOf(anyOf(one, many(one))))
}

// scalar is what YAML may make of the texts of a form.
func scalar(f option.Form) schema {
	if f.Open {
		out := schema{"type": []string{"string", "number", "boolean"}}
		if len(f.Words) > 0 {
			out["examples"] = f.Words
		}
		return out
	}
	var forms []schema
	var words []any
	for _, w := range f.Words {
		words = append(words, w)
		if v := typed(w); v != any(w) {
			words = append(words, v)
		}
	}
	texts := f.Regexp()
	for _, w := range []string{"true", "false"} { // which may be names
		if matched, err := regexp.MatchString(texts, w); texts != "" && matched && err == nil {
			words = append(words, w == "true")
		}
	}
	if len(words) > 0 {
		forms = append(forms, schema{"enum": words})
	}
	if texts != "" {
		text := schema{"type": "string", "pattern": texts}
		if len(f.Except) > 0 {
			text["not"] = schema{"enum": f.Except}
		}
		forms = append(forms, text)
	}
	for _, n := range f.Numbers {
		kind := "integer"
		if n.Decimals > 0 {
			kind = "number"
		}
		forms = append(forms, schema{"type": kind, "minimum": n.Low, "maximum": n.High})
	}
	if f.Position {
		forms = append(forms, schema{"type": "number", "minimum": 1, "not": schema{"type": "integer"}})
	}
	if len(forms) == 1 {
		return forms[0]
	}
	return schema{"anyOf": forms}
}

// typed is what YAML makes of a text that stands without quotes.
func typed(text string) any {
	switch text {
	case "true", "false":
		return text == "true"
	}
	if n, err := strconv.Atoi(text); err == nil {
		return n
	}
	return text
}

// sentence begins with a capital letter and ends with a full stop.
func sentence(text string) string {
	text = strings.TrimSuffix(text, ".")
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// OptionText says what an option is for, what is valid, and what counts without it: one sentence that
// begins in lower case and has no full stop.
func OptionText(o option.Option) string {
	s := strings.TrimSuffix(o.Doc, ".") + "; " + o.Want
	if o.List && !strings.Contains(o.Want, "list") {
		s += ", or a list of them"
	}
	switch {
	case o.Required:
		s += " (required)"
	case o.Default != "":
		s += " (left out: " + o.Default + ")"
	}
	return s
}
