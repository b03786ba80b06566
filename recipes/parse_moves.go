package recipes

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

func (s *source) steps(r *Recipe, n *yaml.Node, key spot) {
	nodes, _ := s.items(n, "moves", "a list of moves such as mute: {part: bass, over: last 1 bar of build}")
	for i, c := range nodes {
		if s.again && s.written[c] == "" {
			continue
		}
		s.step(r, c, "moves["+strconv.Itoa(i+1)+"]")
	}
	s.skippedSteps(r, key.line, nodes)
}

// skippedSteps keeps the comments that stand for steps a draft skipped, so that a recipe that was
// written out is written out the same again.
func (s *source) skippedSteps(r *Recipe, from int, nodes []*yaml.Node) {
	for line := from; line <= len(s.lines); line++ {
		text, ok := strings.CutPrefix(strings.TrimLeft(s.lineText(line), " "), skippedMark)
		if !ok {
			continue
		}
		before := len(nodes)
		for i, n := range nodes {
			if n.Line > line {
				before = i
				break
			}
		}
		r.skipped = append(r.skipped, skippedStep{before, text})
	}
}

func (s *source) step(r *Recipe, n *yaml.Node, path string) {
	for _, spec := range asBefore(s, n, func() []StepSpec { return s.readStep(n, path) }) {
		spec.path, spec.written = path+"."+spec.Step.Name(), s.written[n]
		r.Moves = append(r.Moves, spec)
	}
}

func (s *source) readStep(n *yaml.Node, path string) (out []StepSpec) {
	want := "a map of exactly one move, such as mute: {part: bass}"
	if n.Kind == yaml.ScalarNode && n.Tag == "!!str" {
		e := Error{Path: path, Found: strconv.Quote(n.Value), Want: want}
		if m, ok := s.move(n.Value); ok && len(m.Missing(m.New())) == 0 {
			e.Hint = n.Value + ": {}"
		}
		s.fail(spotOf(n), e)
		return nil
	}
	pairs, ok := s.pairs(n, path, "move", want)
	if !ok {
		return nil
	}
	if len(pairs) > 1 || len(n.Content) == 0 {
		s.fail(spotOf(n), Error{Path: path, Found: fmt.Sprintf("%d keys", len(n.Content)/2), Want: want})
	}
	for _, p := range pairs {
		m, ok := s.move(p.key)
		if len(pairs) > 1 && p.value.Kind != yaml.MappingNode {
			continue // options that are not indented: their being keys is the one mistake
		}
		if !ok {
			s.unknownNear(p.at, path, "move", p.key, s.moves.Names(), s.moves.Nearest(p.key))
			continue
		}
		out = append(out, s.options(m, p, path+"."+p.key))
	}
	return out
}

// options reads the options of a step, through the move's own description of them.
func (s *source) options(m moves.Move, entry pair, path string) StepSpec {
	spec := StepSpec{Step: m.New(), path: path, at: entry.at}
	names := m.OptionNames()
	pairs, ok := s.pairs(entry.value, path, "option", "a map of "+strings.Join(names, ", "))
	if !ok {
		return spec
	}
	var given, meant []string
	for i, p := range pairs {
		if !slices.Contains(names, p.key) {
			hint := nearestOption(p.key, names)
			meant = append(meant, hint)
			if comma := cutAtComma(pairs, i); comma != "" {
				hint = comma
			}
			s.unknownNear(p.at, path, "option", p.key, names, hint)
			continue
		}
		given = append(given, p.key)
		field := path + "." + p.key
		texts, at, isList, ok := s.texts(p.value, field, m.Want(p.key))
		spec.fields = append(spec.fields, fieldSpot{name: p.key, key: p.at, items: at})
		if ok {
			s.set(m, spec.Step, p, field, texts, at, isList)
		}
	}
	for _, name := range m.Missing(m.New()) {
		if !slices.Contains(given, name) && !slices.Contains(meant, name) {
			s.fail(entry.at, Error{Path: path, Found: "no option " + strconv.Quote(name), Want: name + ": " + m.Want(name)})
		}
	}
	return spec
}

// nearestOption returns the option that is likely meant: what people say for it, else the one that is spelt most like it.
func nearestOption(key string, names []string) string {
	said := map[string]string{"volume": "velocity", "level": "velocity", "filter": "controller", "parts": "part", "where": "over"}[key]
	if slices.Contains(names, said) {
		return said
	}
	return song.Nearest(key, names)
}

// cutAtComma returns what is likely meant by a key of a map in braces that has no value: it is the rest of the text
// before it, which a comma cut. "" if it is no such key.
func cutAtComma(pairs []pair, i int) string {
	if i == 0 || pairs[i].value.Tag != "!!null" || pairs[i].value.Value != "" || pairs[i-1].value.Kind != yaml.ScalarNode || pairs[i-1].value.Value == "" {
		return ""
	}
	text := pairs[i-1].value.Value + ", " + pairs[i].key
	switch pairs[i-1].key {
	case "part", "over", "at", "by", "except", "play":
		return pairs[i-1].key + ": [" + text + "]"
	}
	return pairs[i-1].key + ": '" + strings.ReplaceAll(text, "'", "''") + "'"
}

// set gives an option its value.
func (s *source) set(m moves.Move, step moves.Step, p pair, path string, texts []string, at []spot, isList bool) {
	if err := m.Set(step, p.key, texts, isList); err != nil {
		s.optionMistakes(err, path, func(i int) spot {
			if i >= 0 && i < len(at) {
				return at[i]
			}
			return spotOf(p.value)
		})
	}
}
