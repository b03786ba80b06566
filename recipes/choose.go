package recipes

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/where"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// Choice is an alternative of the choices of a name; its text is NAME=N.
type Choice struct {
	Name string
	N    int // from 1
}

// String returns the choice in the form in which a command takes it.
func (c Choice) String() string { return fmt.Sprintf("%s=%d", c.Name, c.N) }

// Way is the alternative that a choice took. Choices of one name are one.
type Way struct {
	Name  string // by "as"; "" for none
	Line  int    // in which the choice stands, the first of its name
	N, Of int    // the alternative, from 1, and how many there are
	Text  string // the alternative as it is written, cut where it is long
	At    []int  // which they are of all choices in file order, from 0
}

// checkHeld refuses to hold choices that the recipe has not.
func (r *Recipe) checkHeld(held []Choice) error {
	most := map[string]int{}
	var names []string
	if r.choices != nil {
		for _, ch := range r.choices.list {
			if ch.name != "" && most[ch.name] == 0 {
				names = append(names, ch.name)
				most[ch.name] = len(ch.alternatives)
			}
		}
	}
	given := map[string]bool{}
	for _, h := range held {
		switch n := most[h.Name]; {
		case len(names) == 0:
			return fmt.Errorf("found choice %q, want none: the recipe has no choice with a name (as)", h.Name)
		case n == 0:
			hint := ""
			if near := song.Nearest(h.Name, names); near != "" {
				hint = fmt.Sprintf("; did you mean %q?", near)
			}
			return fmt.Errorf("found unknown choice %q, want one of %s%s", h.Name, strings.Join(names, ", "), hint)
		case h.N < 1 || h.N > n:
			return fmt.Errorf("found %s, want %s=1 to %s=%d", h, h.Name, h.Name, n)
		case given[h.Name]:
			return fmt.Errorf("found choice %q again, want it once", h.Name)
		}
		given[h.Name] = true
	}
	return nil
}

// taken is what was chosen.
type taken struct {
	held []Choice // those with a name, in file order
	told []string // all
	ways []Way    // the same
	all  []int    // of all choices, in file order: the alternatives, from 0
}

// choose puts an alternative in place of each choice: from here on the order is for a recipe without choices. The
// parts are those of the loop.
func (a *order) choose(loop song.Song) error {
	c := a.r.choices
	if c == nil {
		return nil
	}
	picks := map[*oneOf]int{}
	for _, group := range c.groups() {
		k := a.alternative(group, loop)
		ch := group[0]
		way := Way{Name: ch.name, Line: ch.at.line, N: k + 1, Of: len(ch.alternatives), Text: briefly(nodeText(ch.alternatives[k]))}
		for _, ch := range group {
			picks[ch] = k
			way.At = append(way.At, slices.Index(c.list, ch))
		}
		a.taken.ways = append(a.taken.ways, way)
		text := fmt.Sprintf("choice in line %d, %d of %d", way.Line, way.N, way.Of)
		if ch.name != "" {
			one := Choice{ch.name, k + 1}
			a.taken.held = append(a.taken.held, one)
			text = fmt.Sprintf("choice %s of %d", one, way.Of)
		}
		a.taken.told = append(a.taken.told, text+": "+way.Text)
	}
	for _, ch := range c.list {
		a.taken.all = append(a.taken.all, picks[ch])
	}
	s := a.r.reader()
	var root *yaml.Node
	root, s.written = c.resolved(func(ch *oneOf) int { return picks[ch] })
	r := *a.r
	r.choices, r.Sections, r.Moves, r.skipped = nil, nil, nil, nil
	s.chosen = true
	s.read(&r, root)
	s.checkSum(&r)
	a.errs = append(a.errs, s.errs...)
	outline := r.outline()
	for i := range r.Moves {
		step := r.Moves[i].Step
		r.Moves[i].absent = len(c.all) > 0 && where.CheckSections(step, outline) != nil && len(unknownSections(step, c.sections, c.all)) == 0
	}
	a.r = &r
	return a.err()
}

// briefly cuts a text that is long.
func briefly(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + " ..."
	}
	return text
}

// groups returns what chooses together, in file order.
func (c *choices) groups() [][]*oneOf {
	var out [][]*oneOf
	of := map[string]int{}
	for i, ch := range c.list {
		name := choiceGroup(ch, i)
		if _, ok := of[name]; !ok {
			of[name] = len(out)
			out = append(out, nil)
		}
		out[of[name]] = append(out[of[name]], ch)
	}
	return out
}

// alternative returns which alternative a group takes, from 0. Takes go round: the next seed takes the next one.
// Those of which the loop has no part are passed over while there is another.
func (a *order) alternative(group []*oneOf, loop song.Song) int {
	ch := group[0]
	for _, h := range a.o.Choose {
		if h.Name == ch.name && ch.name != "" {
			return h.N - 1
		}
	}
	if i := slices.Index(a.r.choices.list, ch); i < len(a.o.Taken) {
		return min(max(a.o.Taken[i], 0), len(ch.alternatives)-1)
	}
	n := uint64(len(ch.alternatives))
	hash := moves.StepSeed(0, ch.text, ch.nth)
	if ch.name != "" {
		hash = moves.StepSeed(0, ch.name, 0)
	}
	k := (hash%n + a.seed%n) % n
	for i := range n {
		next := int((k + i) % n)
		if !slices.ContainsFunc(group, func(ch *oneOf) bool { return a.r.lacks(ch, next, loop) }) {
			return next
		}
	}
	return int(k)
}

// reader returns a source that reads the recipe's text again.
func (r *Recipe) reader() *source {
	s := &source{mistakes: mistakes{file: r.File, lines: r.lines}, moves: r.catalogue()}
	if r.choices != nil {
		s.known = r.choices.known
	}
	return s
}

// lacks tells whether an alternative names parts and the loop has none of them.
func (r *Recipe) lacks(ch *oneOf, alternative int, loop song.Song) bool {
	var named []where.Parts
	s := r.reader()
	line := func(texts []string) {
		if l, err := where.ParseLineUp(texts...); err == nil {
			named = append(named, l.Parts()...)
		}
	}
	switch node := ch.alternatives[alternative]; ch.slot {
	case sectionsSlot, sectionSlot, stepSlot:
		var read Recipe
		for i, n := range asList(node) {
			if ch.slot == stepSlot {
				s.step(&read, n, "")
			} else {
				s.section(&read, n, fmt.Sprint(i))
			}
		}
		for _, sec := range read.Sections {
			line(sec.Play.Texts())
		}
		for _, spec := range read.Moves {
			if parts, ok := partsOf(spec.Step); ok {
				named = append(named, parts.OneByOne()...)
			}
		}
	default:
		texts, _, _, _ := s.texts(node, "", "")
		switch ch.key {
		case "play", "add":
			line(texts)
		case "part":
			named = where.PartsOf(texts...).OneByOne()
		}
	}
	for _, parts := range named {
		if found, err := parts.Resolve(loop); err == nil && len(found) > 0 {
			return false
		}
	}
	return len(named) > 0
}

// asList returns the items of a list, or the one node that is none.
func asList(n *yaml.Node) []*yaml.Node {
	if n.Kind == yaml.SequenceNode {
		return n.Content
	}
	return []*yaml.Node{n}
}
