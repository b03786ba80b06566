package recipes

import (
	"cmp"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

func (s *source) parts(r *Recipe, n *yaml.Node) {
	pairs, _ := s.pairs(n, "parts", "part", "a map of parts, each a name and what it is")
	for _, p := range pairs {
		s.part(r, p)
	}
}

func (s *source) part(r *Recipe, entry pair) {
	path := "parts." + entry.key
	pairs, ok := s.pairs(entry.value, path, "key", "a map such as {track: 3, role: stab}")
	if !ok {
		return
	}
	spec := PartSpec{at: []fieldSpot{{name: "", key: entry.at}}}
	spec.Name = entry.key
	for i, p := range pairs {
		field := path + "." + p.key
		at := fieldSpot{name: p.key, key: p.at, items: []spot{spotOf(p.value)}}
		switch p.key {
		case "track":
			spec.Track, _ = s.number(p.value, field, 1, 65535, "")
		case "name":
			spec.TrackName, _ = s.text(p.value, field, "a track's name")
		case "channel":
			spec.Channel, _ = s.number(p.value, field, 1, 16, "")
		case "port":
			if port, ok := s.number(p.value, field, 0, 127, ""); ok {
				spec.Port = &port
			}
		case "key", "keys":
			if spec.Keys != nil {
				s.fail(p.at, Error{Path: path, Found: strconv.Quote(p.key) + " beside the other", Want: "one of key, keys"})
				continue
			}
			spec.Keys, at.items = s.keys(p.value, field, p.key == "keys")
			at.name = "keys"
		case "at":
			spec.At, at.items, _, _ = s.texts(p.value, field, "places in the loop such as [1.1, 1.3]")
		case "role":
			spec.Role, _ = s.text(p.value, field, "a role")
		case "job":
			spec.Job, _ = s.text(p.value, field, "a job")
		case "cycle":
			s.cycle(&spec, p.value, field)
		case "loop":
			const want = "the name of a loop such as b"
			text, ok := s.text(p.value, field, want)
			if ok && !IsLoopName(text) {
				s.fail(spotOf(p.value), Error{Path: field, Found: shown(text), Want: want})
				continue
			}
			spec.Loop = text
		case "home":
			spec.Home, at.items = s.home(p.value, field)
		case "mapped":
			spec.Mapped = s.mapped(p.value, field)
		case "tails":
			spec.Tails = s.tails(p.value, field)
		case "entry":
			spec.Entry = s.entry(p.value, field)
		default:
			s.unknownNear(p.at, path, "key", p.key, keyNames(PartKeys()), cmp.Or(cutAtComma(pairs, i), song.Nearest(p.key, keyNames(PartKeys()))))
			continue
		}
		spec.at = append(spec.at, at)
	}
	r.Parts = append(r.Parts, spec)
}

// cycle reads a length in bars, or a map of loops and such lengths.
func (s *source) cycle(spec *PartSpec, n *yaml.Node, path string) {
	if n.Kind != yaml.MappingNode {
		spec.Cycle, _ = s.bars(n, path)
		return
	}
	const want = "a length such as 2 bars, or a map of loops such as {a: 2 bars, b: 4 bars}"
	pairs, ok := s.pairs(n, path, "loop", want)
	if ok && len(pairs) == 0 {
		s.fail(spotOf(n), Error{Path: path, Found: "an empty map", Want: want})
	}
	for _, p := range pairs {
		if !IsLoopName(p.key) {
			s.fail(p.at, Error{Path: path, Found: strconv.Quote(p.key), Want: wantLoopName})
			continue
		}
		if bars, ok := s.bars(p.value, path+"."+p.key); ok {
			spec.Cycles = append(spec.Cycles, listen.LoopCycle{Loop: p.key, Bars: bars})
		}
	}
}

func (s *source) keys(n *yaml.Node, path string, list bool) ([]int, []spot) {
	nodes := []*yaml.Node{n}
	if list && n.Kind == yaml.SequenceNode {
		var ok bool
		if nodes, ok = s.items(n, path, "keys such as [36, 38]"); !ok {
			return nil, nil
		}
	}
	out, at := []int{}, []spot(nil)
	for _, c := range nodes {
		if k, ok := s.number(c, path, 0, 127, ""); ok {
			out, at = append(out, k), append(at, spotOf(c))
		}
	}
	return out, at
}

func (s *source) home(n *yaml.Node, path string) ([]song.Home, []spot) {
	pairs, _ := s.pairs(n, path, "controller", "a map of controllers and values such as {cutoff: 90}")
	out, at := []song.Home{}, []spot(nil)
	for _, p := range pairs {
		id, err := option.ParseController(p.key)
		if err != nil {
			s.optionMistakes(err, path, func(int) spot { return p.at })
			continue
		}
		if v, ok := s.number(p.value, path+"."+p.key, 0, id.Max(), ""); ok {
			out, at = append(out, song.Home{Controller: id, Value: v}), append(at, spotOf(p.value))
		}
	}
	return out, at
}

func (s *source) mapped(n *yaml.Node, path string) []song.Controller {
	texts, at, _, ok := s.texts(n, path, "controllers such as [cutoff, 71]")
	if !ok {
		return nil
	}
	out := []song.Controller{}
	for i, text := range texts {
		id, err := option.ParseController(text)
		if err != nil {
			s.optionMistakes(err, path, func(int) spot { return at[i] })
			continue
		}
		out = append(out, id)
	}
	return out
}

func (s *source) tails(n *yaml.Node, path string) song.Tails {
	switch text, _ := word(n, s, path, tailsWords()); text {
	case "cut":
		return song.TailsCut
	case "ring":
		return song.TailsRing
	}
	return song.TailsAuto
}

func (s *source) entry(n *yaml.Node, path string) song.Entry {
	switch text, _ := word(n, s, path, entryWords()); text {
	case "restrike":
		return song.EntryRestrike
	case "wait":
		return song.EntryWait
	}
	return song.EntryAuto
}
