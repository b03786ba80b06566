package recipes

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"loopdraft/moves/where"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

func (s *source) sections(r *Recipe, n *yaml.Node) {
	nodes, _ := s.items(n, "sections", "a list of sections such as {name: intro, bars: 32, play: [kick]}")
	for i, c := range nodes {
		s.section(r, c, fmt.Sprintf("sections[%d]", i+1))
	}
}

func (s *source) section(r *Recipe, n *yaml.Node, path string) {
	spec := SectionSpec{atName: spotOf(n)}
	pairs, ok := s.pairs(n, path, "key", "a map such as {name: intro, bars: 32, play: [kick]}")
	if !ok {
		s.sectionsUnread = true
		r.Sections = append(r.Sections, spec) // so that the others are not taken for all there are
		return
	}
	given, misspelt := map[string]bool{}, false
	for i, p := range pairs {
		given[p.key] = true
		field := path + "." + p.key
		switch p.key {
		case "name":
			spec.atName = spotOf(p.value)
			spec.Name = s.sectionName(p.value, field)
		case "kind":
			k, ok := word(p.value, s, field, kindWords())
			s.sectionsUnread = s.sectionsUnread || !ok
			spec.Kind = song.Kind(k)
		case "bars":
			spec.Bars, _ = s.number(p.value, field, 1, song.MaxBars, "bars")
		case "play":
			s.play(&spec, p.value, field)
		case "energy":
			s.energy(&spec, p.value, field)
		case "add":
			at := p.at
			s.add(&spec, p.value, field)
			spec.atAdd = append(spec.atAdd, at) // the key's place, behind those of the items
		case "phase":
			text, _ := word(p.value, s, field, phaseWords())
			spec.RunOn = text == "run-on"
		case "least":
			spec.Least, _ = s.number(p.value, field, 1, song.MaxBars, "bars")
		default:
			misspelt = true
			if bars := where.BarsOfBeats(p.value.Value + " " + p.key); bars > 0 {
				s.fail(p.at, Error{Path: path, Found: "unknown key " + strconv.Quote(p.key), Unknown: true,
					Want: "one of " + strings.Join(keyNames(SectionKeys()), ", "), Hint: fmt.Sprintf("bars: %d", bars)})
				break
			}
			s.unknownNear(p.at, path, "key", p.key, keyNames(SectionKeys()), cmp.Or(cutAtComma(pairs, i), song.Nearest(p.key, keyNames(SectionKeys()))))
		}
	}
	for _, key := range SectionKeys() {
		if key.Required && !given[key.Name] && !misspelt {
			s.fail(spotOf(n), Error{Path: path, Found: "no " + strconv.Quote(key.Name), Want: "a section with name and bars"})
		}
	}
	if n := len(spec.atAdd); n > 0 {
		if !given["energy"] {
			s.fail(spec.atAdd[n-1], Error{Path: path, Found: `"add" without "energy"`, Want: "an energy beside it, or the parts in play"})
		}
		spec.atAdd = spec.atAdd[:n-1]
	}
	s.sectionsUnread = s.sectionsUnread || spec.Name == "" || misspelt
	r.Sections = append(r.Sections, spec)
}

func (s *source) sectionName(n *yaml.Node, path string) string {
	text, ok := s.text(n, path, "a name of lower-case letters, digits and hyphens")
	if !ok {
		return ""
	}
	if err := where.CheckSectionName(text); err != nil {
		s.optionMistakes(err, path, func(int) spot { return spotOf(n) })
		return ""
	}
	return text
}

func (s *source) play(spec *SectionSpec, n *yaml.Node, path string) {
	texts, at, _, ok := s.texts(n, path, "a list of parts such as [kick, hat from 9]")
	if !ok {
		return
	}
	spec.atPlay = at
	var err error
	if spec.Play, err = where.ParseLineUp(texts...); err != nil {
		s.optionMistakes(err, path, func(i int) spot { return at[i] })
	}
}

func (s *source) energy(spec *SectionSpec, n *yaml.Node, path string) {
	texts, at, _, ok := s.texts(n, path, wantEnergy)
	if !ok {
		return
	}
	spec.atEnergy = at
	var err error
	if spec.Energy, err = ParseEnergy(texts...); err != nil {
		s.optionMistakes(err, path, func(i int) spot { return spotIn(at, i, spotOf(n)) })
		spec.Energy = Energy{}
	}
}

func (s *source) add(spec *SectionSpec, n *yaml.Node, path string) {
	texts, at, _, ok := s.texts(n, path, "a list of parts such as [hook, bed]")
	if !ok {
		return
	}
	spec.atAdd = at
	var err error
	if spec.Add, err = where.ParseParts(texts...); err != nil {
		s.optionMistakes(err, path, func(i int) spot { return spotIn(at, i, spotOf(n)) })
	}
}

// spotIn returns the place of an item of a list, else that of the list.
func spotIn(items []spot, i int, list spot) spot {
	if i < len(items) {
		return items[i]
	}
	return list
}
