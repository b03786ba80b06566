package recipes

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

func (s *source) sections(r *Recipe, n *yaml.Node) {
	nodes, _ := s.items(n, "sections", "a list of sections such as {name: intro, bars: 32, play: [kick]}")
	r.Sections = slices.Grow(r.Sections, len(nodes))
	for i, c := range nodes {
		s.section(r, c, "sections["+strconv.Itoa(i+1)+"]")
	}
	names := sectionsByName{}
	for i := range r.Sections {
		s.like(r.Sections, i, names)
		names.add(r.Sections[i].Name, i)
	}
}

func (s *source) section(r *Recipe, n *yaml.Node, path string) {
	r.Sections = append(r.Sections, asBefore(s, n, func() SectionSpec { return s.readSection(n, path) }))
}

func (s *source) readSection(n *yaml.Node, path string) SectionSpec {
	spec := SectionSpec{atName: spotOf(n)}
	pairs, ok := s.pairs(n, path, "key", "a map such as {name: intro, bars: 32, play: [kick]}")
	if !ok {
		s.sectionsUnread = true
		return spec // so that the others are not taken for all there are
	}
	misspelt := false
	spec.given = make([]string, 0, len(pairs))
	for i, p := range pairs {
		spec.given = append(spec.given, p.key)
		field := path + "." + p.key
		switch p.key {
		case "name":
			spec.atName = spotOf(p.value)
			spec.Name = s.sectionName(p.value, field)
		case "kind":
			k, ok := word(p.value, s, field, kindWords())
			s.sectionsUnread = s.sectionsUnread || !ok
			spec.Kind = song.Kind(k)
		case "like":
			spec.atLike = spotOf(p.value)
			var ok bool
			if spec.Like, ok = s.text(p.value, field, wantLike); ok && spec.Like == "" {
				s.fail(spec.atLike, Error{Path: field, Found: shown(spec.Like), Want: wantLike})
			}
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
		case "loop":
			spec.atLoop = spotOf(p.value)
			s.sectionLoop(&spec, p.value, field)
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
	for _, key := range []string{"name", "bars"} { // see SectionKeys
		needed := key == "name" || !spec.gives("like")
		if needed && !spec.gives(key) && !misspelt {
			s.fail(spotOf(n), Error{Path: path, Found: "no " + strconv.Quote(key), Want: "a section with name and bars"})
		}
	}
	if n := len(spec.atAdd); n > 0 {
		if !spec.gives("energy") && !spec.gives("like") {
			s.addAlone(spec.atAdd[n-1], path)
		}
		spec.atAddKey, spec.atAdd = spec.atAdd[n-1], spec.atAdd[:n-1]
	}
	s.sectionsUnread = s.sectionsUnread || spec.Name == "" || misspelt
	return spec
}

// addAlone refuses players for an energy that is not there.
func (s *source) addAlone(at spot, path string) {
	s.fail(at, Error{Path: path, Found: `"add" without "energy"`, Want: "an energy beside it, or the parts in play"})
}

const wantLike = "an earlier section such as drop 1"

// like gives a section what it leaves out, as the earlier section has it that it is like.
func (s *source) like(sections []SectionSpec, i int, before sectionsByName) {
	spec := &sections[i]
	if spec.Like == "" {
		return
	}
	base := before.find(spec.Like)
	if base == 0 {
		e := Error{Path: fmt.Sprintf("sections[%d].like", i+1), Found: strconv.Quote(spec.Like), Want: wantLike}
		if i <= mostListed {
			all := sectionsByName{}
			for k, sec := range sections {
				all.add(sec.Name, k)
			}
			if later := all.find(spec.Like); later > i {
				e.Found += fmt.Sprintf(", which is section %d", later)
			}
			if names := labels(sections[:i]); len(names) > 0 {
				e.Want = "one of the sections before it, " + strings.Join(names, ", ")
				word := strings.TrimPrefix(spec.Like, "the ")
				if e.Hint = song.Nearest(word, names); e.Hint == "" && len(before[word]) > 1 {
					e.Hint = word + " 1"
				}
			}
		}
		s.fail(spec.atLike, e)
		return
	}
	of := sections[base-1]
	spec.base = base
	if !spec.gives("bars") {
		spec.Bars = of.Bars
	}
	if !spec.gives("kind") {
		spec.Kind = of.Kind
	}
	switch {
	case spec.gives("play"):
	case !of.Energy.IsZero() && !spec.gives("energy") && !spec.gives("add"):
		spec.Play = where.LineUpOf("same") // those that are found for the energy there play here too
	default:
		spec.Play, spec.atPlay, spec.written, spec.base = of.Play, of.atPlay, of.playBars(), of.base
	}
	if !spec.gives("energy") {
		spec.Energy, spec.atEnergy = of.Energy, of.atEnergy
	}
	switch {
	case !spec.gives("add"):
		spec.Add, spec.AddOf, spec.atAdd = of.Add, of.AddOf, of.atAdd
	case spec.Energy.IsZero() && !spec.gives("energy"):
		s.addAlone(spec.atAddKey, fmt.Sprintf("sections[%d]", i+1))
	}
	if !spec.gives("loop") {
		spec.Loop, spec.Over, spec.atLoop = of.Loop, of.Over, of.atLoop
	}
	if !spec.gives("phase") {
		spec.RunOn = of.RunOn
	}
	if !spec.gives("least") {
		spec.Least = of.Least
	}
}

// labels returns the names of sections, numbered where there are several of a name.
func labels(sections []SectionSpec) []string {
	total, nth := map[string]int{}, map[string]int{}
	for _, sec := range sections {
		total[sec.Name]++
	}
	var out []string
	for _, sec := range sections {
		nth[sec.Name]++
		label := sec.Name
		if total[sec.Name] > 1 {
			label += " " + strconv.Itoa(nth[sec.Name])
		}
		if sec.Name != "" {
			out = append(out, label)
		}
	}
	return out
}

// mostListed is how many sections a message lists: a recipe of thousands, each mistaken, must not tell of each all of
// the others.
const mostListed = 200

// sectionsByName holds the indices of sections of each name, in order.
type sectionsByName map[string][]int

func (n sectionsByName) add(name string, section int) {
	if name != "" {
		n[name] = append(n[name], section)
	}
}

// find returns the section that a text such as drop 1 means, counted from 1; a name alone means a section
// that is the only one of it. 0 for none.
func (n sectionsByName) find(text string) int {
	name, number, numbered := strings.Cut(text, " ")
	found, nth := n[name], 1
	if numbered {
		var ok bool
		if nth, ok = digits(number); !ok || nth < 1 {
			return 0
		}
	} else if len(found) > 1 {
		return 0
	}
	if nth > len(found) {
		return 0
	}
	return found[nth-1] + 1
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

// placed is what the value of a key was read as, and where its items stand.
type placed[T any] struct {
	value T
	at    []spot
}

func (s *source) play(spec *SectionSpec, n *yaml.Node, path string) {
	got := asBefore(s, n, func() (got placed[where.LineUp]) {
		texts, at, _, ok := s.texts(n, path, "a list of parts such as [kick, hat from 9]")
		if !ok {
			return got
		}
		got.at = at
		var err error
		if got.value, err = where.ParseLineUp(texts...); err != nil {
			s.optionMistakes(err, path, func(i int) spot { return at[i] })
		}
		return got
	})
	spec.Play, spec.atPlay = got.value, got.at
}

func (s *source) energy(spec *SectionSpec, n *yaml.Node, path string) {
	got := asBefore(s, n, func() (got placed[Energy]) {
		texts, at, _, ok := s.texts(n, path, wantEnergy)
		if !ok {
			return got
		}
		got.at = at
		var err error
		if got.value, err = parseEnergy(texts...); err != nil {
			s.optionMistakes(err, path, func(i int) spot { return spotIn(at, i, spotOf(n)) })
			got.value = Energy{}
		}
		return got
	})
	spec.Energy, spec.atEnergy = got.value, got.at
}

func (s *source) add(spec *SectionSpec, n *yaml.Node, path string) {
	type added struct {
		parts where.Parts
		of    []AddOf
	}
	got := asBefore(s, n, func() (got placed[added]) {
		texts, at, _, ok := s.texts(n, path, "a list of parts such as [hook, bed]")
		if !ok {
			return got
		}
		got.at = slices.Clip(at)
		texts = slices.Clone(texts)
		loops := make([]string, len(texts)) // of each text; "" where it says none
		for i, text := range texts {
			if name, loop, ok := ofLoop(text); ok {
				texts[i], loops[i] = name, loop
				if parts, err := where.ParseParts(name); err == nil {
					texts[i] = strings.Join(strings.Fields(name), " ")
					got.value.of = append(got.value.of, AddOf{parts, loop, spotIn(at, i, spotOf(n))})
				}
			}
		}
		var err error
		if got.value.parts, err = where.ParseParts(texts...); err != nil {
			for _, e := range flatten(err) {
				var bad *option.Mistake
				if errors.As(e, &bad) && bad.Hint != "" && loops[bad.Item] != "" {
					bad.Hint += " of " + loops[bad.Item]
				}
			}
			s.optionMistakes(err, path, func(i int) spot { return spotIn(at, i, spotOf(n)) })
		}
		return got
	})
	spec.Add, spec.AddOf, spec.atAdd = got.value.parts, got.value.of, got.at
}

// ofLoop reads NAME [N] "of" LOOP, as it stands in a line-up, and returns the text with blanks in place of the loop, so that
// what follows it stays in its column.
func ofLoop(text string) (name, loop string, ok bool) {
	words := strings.Fields(text)
	i := slices.Index(words, "of")
	if i < 1 || i > 2 || i+1 == len(words) || words[0] == "all" || !IsLoopName(words[i+1]) {
		return "", "", false
	}
	loop = words[i+1]
	start := strings.Index(text, " of ") + 1
	if start == 0 {
		return "", "", false
	}
	end := start + len("of") + strings.Index(text[start+len("of"):], loop) + len(loop)
	return text[:start] + strings.Repeat(" ", end-start) + text[end:], loop, true
}

// spotIn returns the place of an item of a list, else that of the list.
func spotIn(items []spot, i int, list spot) spot {
	if i < len(items) {
		return items[i]
	}
	return list
}
