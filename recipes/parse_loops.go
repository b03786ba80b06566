package recipes

import (
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// IsLoopName tells whether a text may name a loop: letters a to z of either case, digits and hyphens, no hyphen first.
func IsLoopName(text string) bool {
	return text != "" && text[0] != '-' && !strings.ContainsFunc(text, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-')
	})
}

const wantLoopName = "a name of letters, digits and hyphens"

func (s *source) loops(r *Recipe, n *yaml.Node) {
	pairs, _ := s.pairs(n, "loops", "loop", "a map of loops such as {a: groove.mid, b: break.mid}")
	for _, p := range pairs {
		spec := LoopSpec{Name: p.key, at: p.at}
		field := "loops." + p.key
		if !IsLoopName(p.key) {
			s.fail(p.at, Error{Path: "loops", Found: strconv.Quote(p.key), Want: wantLoopName})
		}
		if p.value.Kind != yaml.MappingNode {
			spec.Files, spec.files = s.loopFiles(p.value, field)
			r.Loops = append(r.Loops, spec)
			continue
		}
		s.loop(&spec, p.value, field)
		r.Loops = append(r.Loops, spec)
	}
	files := 0
	for _, l := range r.Loops {
		files += len(l.Files)
	}
	if files > MaxFiles {
		s.fail(spotOf(n), Error{Path: "loops", Found: fmt.Sprintf("%d files", files), Want: fmt.Sprintf("at most %d", MaxFiles)})
	}
	if len(pairs) == 0 {
		s.fail(spotOf(n), Error{Path: "loops", Found: "none", Want: "one or more, such as {a: groove.mid, b: break.mid}"})
	}
}

// loop reads a loop that is a map.
func (s *source) loop(spec *LoopSpec, n *yaml.Node, field string) {
	keys := []string{"file", "bars", "marker"}
	pairs, _ := s.pairs(n, field, "key", "a file, or a map such as {file: set.mid, bars: 9-16}")
	var marker spot
	for _, p := range pairs {
		switch p.key {
		case "file":
			spec.Files, spec.files = s.loopFiles(p.value, field+".file")
		case "bars":
			spec.First, spec.Last = s.loopBars(p.value, field+".bars")
			spec.at = spotOf(p.value)
		case "marker":
			const want = "the text of a marker of the file, such as chorus"
			text, ok := s.text(p.value, field+".marker", want)
			if spec.Marker = strings.TrimSpace(text); ok && spec.Marker == "" {
				s.fail(spotOf(p.value), Error{Path: field + ".marker", Found: "an empty text", Want: want})
			}
			spec.at = spotOf(p.value)
			marker = p.at
		default:
			s.unknown(p.at, field, "key", p.key, keys)
		}
	}
	if spec.Marker != "" && spec.First > 0 {
		s.fail(marker, Error{Path: field, Found: "\"marker\" beside \"bars\"", Want: "one of them"})
	}
	if !slices.ContainsFunc(pairs, func(p pair) bool { return p.key == "file" }) {
		s.fail(spotOf(n), Error{Path: field, Found: `no "file"`, Want: "the file of the loop"})
	}
}

// loopFiles reads the files of a loop, which lie beside the recipe or in folders there.
func (s *source) loopFiles(n *yaml.Node, field string) ([]string, []spot) {
	const want = "a file beside the recipe, such as groove.mid"
	texts, at, _, ok := s.texts(n, field, want)
	if !ok || len(texts) == 0 {
		if ok {
			s.fail(spotOf(n), Error{Path: field, Found: "none", Want: want})
		}
		return nil, nil
	}
	for i, text := range texts {
		if !besideRecipe(text) {
			s.fail(at[i], Error{Path: field, Found: shown(text), Want: want + `, with "/" between folders and without ".."`})
		}
		if first := slices.Index(texts, text); first < i {
			s.fail(at[i], Error{Path: field, Found: shown(text) + " again", Want: "each file once"})
		}
	}
	return texts, at
}

// besideRecipe tells whether a path names a file beside the recipe or in folders there.
func besideRecipe(text string) bool {
	return text != "" && !path.IsAbs(text) && !slices.Contains(strings.Split(text, "/"), "..") && !strings.Contains(text, "\\")
}

// loopBars reads the bars of a file that are a loop.
func (s *source) loopBars(n *yaml.Node, field string) (first, last int) {
	const want = "bars such as 9-16"
	text, ok := s.text(n, field, want)
	if !ok {
		return 0, 0
	}
	from, to, two := strings.Cut(text, "-")
	first, ok1 := digits(strings.TrimSpace(from))
	last, ok2 := digits(strings.TrimSpace(to))
	if !two || !ok1 || !ok2 || first < 1 || last < first || last > song.MaxBars {
		s.fail(spotOf(n), Error{Path: field, Found: shown(text), Want: want})
		return 0, 0
	}
	return first, last
}

// sectionLoop reads which loop a section plays.
func (s *source) sectionLoop(spec *SectionSpec, n *yaml.Node, field string) {
	const want = "a loop such as b, or b over a"
	text, ok := s.text(n, field, want)
	if !ok {
		return
	}
	words := strings.Fields(text)
	if (len(words) != 1 && (len(words) != 3 || words[1] != "over")) || !IsLoopName(words[0]) || !IsLoopName(words[len(words)-1]) {
		s.fail(spotOf(n), Error{Path: field, Found: shown(text), Want: want})
		return
	}
	if len(words) == 3 && words[0] == words[2] {
		s.fail(spotOf(n), Error{Path: field, Found: shown(text), Want: "another loop after over"})
		return
	}
	spec.Loop = words[0]
	if len(words) == 3 {
		spec.Over = words[2]
	}
}

// checkLoops notes what cannot stand beside "loops:".
func (s *source) checkLoops(r *Recipe) {
	if r.Loops == nil || s.again || s.chosen {
		return
	}
	for _, other := range []struct {
		key string
		at  spot
	}{{"loop", r.at.loop}, {"input", r.at.input}} {
		if other.at != (spot{}) {
			s.fail(other.at, Error{Path: other.key, Found: fmt.Sprintf("%q beside \"loops\"", other.key), Want: "one of them"})
		}
	}
}
