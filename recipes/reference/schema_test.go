//go:build oracles

package reference_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/recipes/reference"
	"loopdraft/smf"
	"loopdraft/smf/oracle"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"gopkg.in/yaml.v3"
)

// compiled returns the schema, once it is valid against the metaschema of draft 2020-12, which the
// validator carries with it.
func compiled(t testing.TB) *jsonschema.Schema {
	t.Helper()
	s, err := compileOnce()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

var compileOnce = sync.OnceValues(func() (*jsonschema.Schema, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(reference.Schema()))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("recipe.json", doc); err != nil {
		return nil, err
	}
	return c.Compile("recipe.json")
})

// loaded is what a loader of YAML hands to a validator: scalars are the numbers and booleans they look
// like, keys are texts, of equal keys the last counts. The empty recipe is an empty map.
func loaded(t testing.TB, text string) any {
	t.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if doc.Kind == 0 {
		return map[string]any{}
	}
	return valueOf(t, doc.Content[0])
}

func valueOf(t testing.TB, n *yaml.Node) any {
	t.Helper()
	switch n.Kind {
	case yaml.MappingNode:
		out := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			out[n.Content[i].Value] = valueOf(t, n.Content[i+1])
		}
		return out
	case yaml.SequenceNode:
		out := []any{}
		for _, c := range n.Content {
			out = append(out, valueOf(t, c))
		}
		return out
	}
	switch n.Tag {
	case "!!int", "!!float", "!!bool", "!!null":
		var out any
		if err := n.Decode(&out); err != nil {
			t.Fatal(err)
		}
		return out
	}
	return n.Value
}

// both tells what schema and parser say to a recipe, nil for taken.
func both(t testing.TB, s *jsonschema.Schema, text string) (bySchema, byParser error) {
	t.Helper()
	_, byParser = recipes.Parse("x.yaml", []byte(text))
	return s.Validate(loaded(t, text)), byParser
}

// TestSchemaTakesRecipes: those that come with the program, those of the README, every move's example,
// and what drafts of the demo loops write out, in a first run one in four.
func TestSchemaTakesRecipes(t *testing.T) {
	texts := map[string]string{"nothing": "", "an empty map": "{}"}
	for k, i := range recipes.Builtins() {
		text, _ := recipes.BuiltinText(i.Name)
		texts[i.Name] = string(text)
		for file, written := range writtenOut(t, i.Name, k, oracle.Size(9, 1, 1)) {
			texts[i.Name+" on "+file] = written
		}
	}
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for i, block := range strings.Split(string(readme), "```yaml\n")[1:] {
		text, _, _ := strings.Cut(block, "```")
		texts[fmt.Sprintf("README, recipe %d", i+1)] = text
	}
	for _, m := range recipes.Catalogue() {
		texts["example of "+m.Name()] = "moves:\n  - " + m.Text(m.Example().Step) + "\n"
	}
	s := compiled(t)
	for name, text := range texts {
		if bySchema, byParser := both(t, s, text); bySchema != nil || byParser != nil {
			t.Errorf("%s: schema: %v, parser: %v\n%s", name, bySchema, byParser, text)
		}
	}
	if len(texts) < 35 {
		t.Errorf("found %d recipes, want more", len(texts))
	}
}

// writtenOut drafts the demo loops, one in every from one of them on, by a built-in recipe and returns what is written out,
// by file.
func writtenOut(t *testing.T, recipe string, from, every int) map[string]string {
	t.Helper()
	out := map[string]string{}
	root := os.DirFS("../../testdata/loops")
	files, err := fs.Glob(root, "*.mid")
	if err != nil || len(files) == 0 {
		t.Fatalf("found no demo loop: %v", err)
	}
	for i, file := range files {
		if (i+from)%every != 0 {
			continue
		}
		data, err := fs.ReadFile(root, file)
		if err != nil {
			t.Fatal(err)
		}
		f, err := smf.Decode(data)
		if err != nil {
			t.Fatal(err)
		}
		r, _ := recipes.Builtin(recipe)
		result, err := recipes.Draft([]recipes.Input{{Name: file, File: f}}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		out[file] = string(result.WriteRecipe())
	}
	return out
}

// TestScalarsMayBeTyped: what YAML reads as a number or a boolean is taken as it is and in quotes.
func TestScalarsMayBeTyped(t *testing.T) {
	s := compiled(t)
	for _, text := range []string{
		"seed: 1", "seed: '1'", "seed: 18446744073709551615", "bpm: 127.5", "bpm: '127.5'", "input: 7", "input: [true, 1.5]", "input: []",
		"sections: [{name: true, bars: 32}]", "sections: [{name: x, bars: '32', play: []}]", "sections: [{name: x, bars: 8, play: kick}]",
		"parts: {true: {name: 1.0, key: 36}, 7: {keys: 36, port: 0}, no: {keys: ['36', 38], at: 1.1, role: bd, job: hook}, x: {at: [1.1, 1.3]}}",
		"parts: {x: {home: {cutoff: 90, 71: 3, bend: 16383}, mapped: 71}, y: {mapped: [cutoff, 71]}, z: {mapped: [], home: {}}}",
		"moves: [ride: {part: true, controller: 71, from: 35, to: '35', hold: true}]", "moves: [ride: {part: x, controller: '71', to: home, hold: 'false'}]",
		"moves: [hit: {at: 17.3}, hit: {at: [17.3, end, '17.3']}]", "moves: [mark: {}]", "moves: [mark: {text: 17}]", "moves: [mark: {text: ''}]",
		"moves: [transpose: {part: x, semitones: -7, octaves: '+1'}, tempo: {to: 126.5}, tempo: {to: 96%}]", "moves: []", "sections: []",
	} {
		if bySchema, byParser := both(t, s, text); bySchema != nil || byParser != nil {
			t.Errorf("%s\nschema: %v\nparser: %v", text, bySchema, byParser)
		}
	}
}

func TestSchemaRefusesMistakes(t *testing.T) {
	s := compiled(t)
	for _, row := range []struct{ rule, text string }{
		{"an unknown key", "lenght: 8 bars"},
		{"a list for a recipe", "[mute: {part: bass}]"},
		{"a text for a recipe", "drop the bass"},
		{"null", "seed: null"},
		{"a value left out", "moves: [mute: ]"},
		{"an unknown move", "moves: [mutte: {part: bass}]"},
		{"an unknown option", "moves: [mute: {part: bass, ovr: all}]"},
		{"a required option that is missing", "moves: [mute: {over: all}]"},
		{"two moves in a step", "moves: [{mute: {part: bass}, solo: {part: kick}}]"},
		{"no move in a step", "moves: [{}]"},
		{"a move without options", "moves: [mark]"},
		{"options that are no map", "moves: [mute: bass]"},
		{"a word that is not there", "moves: [mute: {part: bass, tails: rign}]"},
		{"a share without its sign", "moves: [thin: {part: hat, keep: 50}]"},
		{"a share out of its range", "moves: [thin: {part: hat, keep: 101%}]"},
		{"a share of nothing", "moves: [thin: {part: hat, keep: 0%}]"},
		{"a number out of its range", "moves: [echo: {part: hat, repeats: 17}]"},
		{"a number out of its range, in quotes", "moves: [echo: {part: hat, repeats: '17'}]"},
		{"a controller that carries no value", "moves: [ride: {part: stab, controller: 101, to: 3}]"},
		{"a word for a boolean", "moves: [ride: {part: stab, controller: 74, to: 3, hold: yes}]"},
		{"a list where one value belongs", "moves: [roll: {part: clap, from: [1/4]}]"},
		{"a map for a span", "moves: [mute: {part: bass, over: {bar: 1}}]"},
		{"a list of no spans", "moves: [mute: {part: bass, over: []}]"},
		{"a span that says to for a hyphen", "moves: [mute: {part: bass, over: bars 9 to 16}]"},
		{"two names where one belongs", "moves: [mute: {part: bass, over: last 1 bars of evry drop}]"},
		{"a bar for a place", "moves: [hit: {at: 33}]"},
		{"a part in upper case", "moves: [mute: {part: Bass}]"},
		{"a section without its length", "sections: [{name: intro}]"},
		{"a section that is called as a word of the language", "sections: [{name: every, bars: 8}]"},
		{"a length with its unit where it has none", "sections: [{name: intro, bars: 8 bars}]"},
		{"a length without its unit", "phrase: 8"},
		{"a line-up that is none", "sections: [{name: intro, bars: 8, play: [hat form 9]}]"},
		{"key beside keys", "parts: {rim: {key: 37, keys: [37, 38]}}"},
		{"a key out of its range in a list", "parts: {rim: {keys: [37, 128]}}"},
		{"an unknown controller", "parts: {x: {home: {cutof: 90}}}"},
		{"a home over what the controller has", "parts: {x: {home: {cutoff: 128}}}"},
		{"a home of bend over what it has", "parts: {x: {home: {bend: 16384}}}"},
		{"a metre of no note value", "metre: 4/3"},
		{"a tempo out of its range", "bpm: 1000"},
		{"a word for substitutes that is not there", "substitutes: near"},
		{"a substitute that is no role", "substitutes: {shaker: [hat, tambourine]}"},
		{"a role that makes no sound has no substitute", "substitutes: {trigger: kick}"},
	} {
		if bySchema, byParser := both(t, s, row.text); bySchema == nil || byParser == nil {
			t.Errorf("%s: %s\nschema: %v, parser: %v", row.rule, row.text, bySchema, byParser)
		}
	}
	mistakes, err := os.ReadFile("../../testdata/mistakes.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if bySchema, _ := both(t, s, string(mistakes)); bySchema == nil {
		t.Error("mistakes.yaml is taken")
	}
}

// TestBadRecipes: of the recipes the parser is tested with, the schema refuses those whose mistakes it
// can see. The others are named here with the reason.
func TestBadRecipes(t *testing.T) {
	const loop, others, sum, yamlOnly = "told on a loop", "names other sections", "sums of lengths", "the loader of YAML takes it away, or refuses it"
	blind := map[string]string{
		"line-ups-of-the-loop.yaml": loop, "parts-items.yaml": loop, "parts-not-there.yaml": loop, "parts-of-the-loop.yaml": loop,
		"parts-and-the-rest.yaml": loop, "ride.yaml": loop, "steps-of-the-loop.yaml": loop, "energy-of-the-loop.yaml": loop, "sum-minutes.yaml": loop, "sum-in-minutes.yaml": loop,
		"energy-against.yaml": others, "energy-ring.yaml": others, "same.yaml": others, "choices-names.yaml": others,
		"sum.yaml": sum, "choices-sum.yaml": sum, "too-many-bars.yaml": sum,
		"documents.yaml": yamlOnly, "odd-key.yaml": yamlOnly, "tags.yaml": yamlOnly,
	}
	s := compiled(t)
	files, err := filepath.Glob("../testdata/bad/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("found no bad recipes: %v", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var doc yaml.Node
		if yaml.Unmarshal(data, &doc) != nil {
			continue // no validator gets to see it
		}
		why, isBlind := blind[filepath.Base(file)]
		if why == yamlOnly {
			continue
		}
		if bySchema := s.Validate(loaded(t, string(data))); (bySchema == nil) != isBlind {
			t.Errorf("%s (%s): schema: %v", filepath.Base(file), why, bySchema)
		}
	}
}

// TestOnlyTheParserSees holds the doc of Schema to what it lists.
func TestOnlyTheParserSees(t *testing.T) {
	s := compiled(t)
	for _, row := range []struct{ rule, text string }{
		{"a word of the language for a name", "moves: [mute: {part: if}]"},
		{"numbers that fall", "moves: [mute: {part: x, over: bars 16-9}]"},
		{"upper case outside ASCII", "sections: [{name: Überlauf, bars: 8}]"},
		{"no to behind from", "moves: [mute: {part: x, over: from from a to b}]"},
		{"a point in a whole number", "seed: 8.0"},
		{"an exponent", "seed: 1e3"},
		{"a hexadecimal number", "sections: [{name: x, bars: 0x10}]"},
		{"a capital letter of True", "moves: [ride: {part: x, controller: 7, to: 1, hold: True}]"},
		{"a sign", "seed: '+1'"},
		{"more decimals than three", "bpm: 120.1234"},
		{"a key that stands twice", "seed: 1\n\"seed\": 2"},
		{"sections that do not add up", "length: 64 bars\nsections: [{name: x, bars: 8}]"},
		{"more bars than a song has", "sections: [{name: x, bars: 9999}, {name: x, bars: 9}]"},
	} {
		if bySchema, byParser := both(t, s, row.text); bySchema != nil || byParser == nil {
			t.Errorf("%s: %s\nschema: %v, parser: %v", row.rule, row.text, bySchema, byParser)
		}
	}
}

// probes are values of every kind, as they stand in a recipe.
func probes() []string {
	return strings.Split(`null|''|' '|{}|[]|[null]|[[]]|{a: b}|x|Kick|x y|"x,y"|evry drop|true|false|'true'|yes|0|1|-1|2|8|12|16|17|31|60|127|128|129|-127|-128|999|1000|9999|10000|16383|16384|65535|65536|`+
		`100001|'0'|'8'|'128'|'16384'|'99999'|'0000000008'|0.5|1.5|17.3|'17.3'|126.5|999.5|8 bars|1 bar|9999 bars|10000 bars|0 bars|8 beats|6m30s|0s|90s|50%|0%|0.01%|100%|100.01%|1000%|1000.01%|1.234%|40%..105%|40%..|`+
		`1/8|1/16|3/16|1/65|0/4|-1/16|4/4|255/64|256/4|4/3|10 ticks|0 ticks|100001 ticks|home|home+40|home-16384|auto|cut|ring|s|exp|wrap|steps|cutoff|101|all|drop 2|bars 9-16|end of drop|hat from 9|`+
		`[all, drop]|[1.1, 1.3]|[36, 38]|[cutoff, 71]|[8]|intro|run-on|every|off|1s`, "|")
}

// loose are the forms that take more than is valid.
func loose(name string) bool {
	return name == "span" || name == "place" || name == "part" || name == "line-up" || name == "energy" || name == "section"
}

// places returns recipes in which %s stands for the value of a key or option, with the form of the
// value; every key and every option is there.
func places() map[string]option.Form {
	out := map[string]option.Form{}
	add := func(text string, keys []recipes.Key) {
		for _, k := range keys {
			form := option.Form{}
			if k.Form != nil {
				form = k.Form()
			}
			out[fmt.Sprintf(text, k.Name+": %s")] = form
		}
	}
	add("{%s}", recipes.Keys())
	add("parts: {x: {%s}}", recipes.PartKeys())
	for _, k := range recipes.SectionKeys() {
		rest := map[string]string{"name": "bars: 8", "bars": "name: x"}[k.Name]
		if rest == "" {
			rest = "name: x, bars: 8"
		}
		add("sections: [{"+rest+", %s}]", []recipes.Key{k})
	}
	for _, c := range []string{"cutoff", "71", "bend", "pressure", "101", "0", "x"} {
		out["parts: {x: {home: {"+c+": %s}}}"] = option.Form{}
	}
	for _, text := range []string{"loops: {a: %s}", "loops: {a: {file: %s}}", "loops: {a: {file: x.mid, bars: %s}}", "loops: {a: {file: x.mid, marker: %s}}",
		"loops: {a: {file: x.mid, marker: y, bars: %s}}", "parts: {x: {key: 1, cycle: {a: %s}}}", "parts: {x: {key: 1, loop: %s}}"} {
		out[text] = option.Form{}
	}
	for _, r := range review.Catalogue() {
		out["review: {"+r.Name+": %s}"] = option.Form{}
		for _, o := range r.Options() {
			form, _ := o.Form()
			out["review: {"+r.Name+": {"+o.Name+": %s}}"] = form
		}
	}
	for _, m := range recipes.Catalogue() {
		for _, o := range m.Options() {
			var given []string
			for _, g := range m.Given(m.Example().Step) {
				if g.Name != o.Name {
					given = append(given, g.Name+": ["+strings.Join(g.Texts, ", ")+"]")
					if !g.List {
						given[len(given)-1] = g.Name + ": " + g.Texts[0]
					}
				}
			}
			text := strings.ReplaceAll(strings.Join(append(given, o.Name+": "), ", "), "%", "%%")
			form, _ := o.Form()
			out["moves: [{"+m.Name()+": {"+text+"%s}}]"] = form
		}
	}
	return out
}

// TestSchemaAndParserAgreeOnValues puts every probe in every place; in a first run every fourth probe, another four in the
// next place.
func TestSchemaAndParserAgreeOnValues(t *testing.T) {
	s := compiled(t)
	every := oracle.Size(11, 1, 1)
	taken, refused := 0, 0
	all := places()
	for i, place := range slices.Sorted(maps.Keys(all)) {
		form := all[place]
		for j, probe := range probes() {
			if (i+j)%every != 0 {
				continue
			}
			text := fmt.Sprintf(place, probe)
			bySchema, byParser := both(t, s, text)
			switch {
			case bySchema != nil && byParser == nil:
				t.Errorf("only the schema refuses\n%s\n%v", text, bySchema)
			case bySchema == nil && byParser != nil && !loose(form.Name):
				t.Errorf("only the parser refuses\n%s\n%v", text, byParser)
			case bySchema == nil:
				taken++
			default:
				refused++
			}
		}
	}
	t.Logf("%d taken, %d refused", taken, refused)
	if taken < 1000/every || refused < 5000/every {
		t.Errorf("%d taken and %d refused, want more of both", taken, refused)
	}
}

// TestSchemaAndParserAgreeOnKeys changes every key of recipes that are valid, one at a time.
func TestSchemaAndParserAgreeOnKeys(t *testing.T) {
	s := compiled(t)
	texts := []string{"length: 16 bars\nphrase: 8 bars\nparts: {x: {track: 3, keys: [36], home: {cutoff: 90}, mapped: cutoff}}\nsections: [{name: x, bars: 8, play: [kick]}, {name: y, bars: 8}]\nmoves: [{mark: {}}, {mute: {part: x, tails: cut}}]\nreview: {stands-still: {phrase: 4, warn: 8}, hung: off, overlap: {}}\n"}
	for _, m := range recipes.Catalogue() {
		texts = append(texts, "moves: [{"+m.Text(m.Example().Step)+"}]")
	}
	tried := 0
	for _, text := range texts {
		var doc yaml.Node
		if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
			t.Fatal(err)
		}
		eachMap(doc.Content[0], func(n *yaml.Node) {
			before := n.Content
			try := func(content ...*yaml.Node) {
				tried++
				n.Content = content
				changed, err := yaml.Marshal(&doc)
				if err != nil {
					t.Fatal(err)
				}
				if bySchema, byParser := both(t, s, string(changed)); (bySchema == nil) != (byParser == nil) {
					t.Errorf("schema: %v\nparser: %v\n%s", bySchema, byParser, changed)
				}
				n.Content = before
			}
			word := func(text string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Value: text} }
			for i := 0; i < len(before); i += 2 {
				with := func(key, value *yaml.Node) []*yaml.Node {
					return append(append(append([]*yaml.Node{}, before[:i]...), key, value), before[i+2:]...)
				}
				try(append(append([]*yaml.Node{}, before[:i]...), before[i+2:]...)...) // left out
				try(with(word(before[i].Value+"x"), before[i+1])...)
				try(with(word(strings.ToUpper(before[i].Value)), before[i+1])...)
				try(with(before[i], &yaml.Node{Kind: yaml.MappingNode})...)
				try(with(before[i], &yaml.Node{Kind: yaml.SequenceNode})...)
			}
			try(append(append([]*yaml.Node{}, before...), word("other"), word("x"))...)
		})
	}
	t.Logf("%d changes", tried)
	if tried < 600 {
		t.Errorf("%d changes tried, want more", tried)
	}
}

func eachMap(n *yaml.Node, do func(*yaml.Node)) {
	if n.Kind == yaml.MappingNode {
		do(n)
	}
	for _, c := range n.Content {
		eachMap(c, do)
	}
}

// TestDefaultsAndExamplesAreValid: what the schema offers, it takes.
func TestDefaultsAndExamplesAreValid(t *testing.T) {
	var doc struct {
		Defs struct {
			Step struct {
				Properties map[string]struct {
					Description string
					Examples    []map[string]any
					Properties  map[string]struct {
						Description string
						Default     any
					}
				}
			}
		} `json:"$defs"`
	}
	if err := json.Unmarshal(reference.Schema(), &doc); err != nil {
		t.Fatal(err)
	}
	s := compiled(t)
	for _, m := range recipes.Catalogue() {
		move := doc.Defs.Step.Properties[m.Name()]
		if len(move.Examples) != 1 || !strings.Contains(move.Description, m.Brief) || len(move.Properties) != len(m.Options()) {
			t.Fatalf("%s: got %d examples, %d options and %q", m.Name(), len(move.Examples), len(move.Properties), move.Description)
		}
		for _, o := range m.Options() {
			option, step := move.Properties[o.Name], map[string]any{}
			for name, v := range move.Examples[0] {
				step[name] = v
			}
			if !strings.Contains(option.Description, o.Want) || fmt.Sprint(option.Default) != o.Default && o.Default != "" {
				t.Errorf("%s.%s: got default %v and %q", m.Name(), o.Name, option.Default, option.Description)
			}
			if option.Default != nil {
				step[o.Name] = option.Default
			}
			if err := s.Validate(map[string]any{"moves": []any{map[string]any{m.Name(): step}}}); err != nil {
				t.Errorf("%s with the default of %s: %v", m.Name(), o.Name, err)
			}
		}
	}
}
