package recipes

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// Keys of a choice.
const (
	OneOf = "one of" // the list of its alternatives
	As    = "as"     // the name by which it is held, and by which it chooses together with others
)

// MaxAlternatives is the most alternatives of a choice; the fewest are 2.
const MaxAlternatives = 32

// slot is what a choice stands for.
type slot int

const (
	sectionsSlot slot = iota // all sections
	sectionSlot              // a section; an alternative may be a list of them
	stepSlot                 // a step; an alternative may be a list of them
	valueSlot                // the value of a key of a section, or of an option of a step
	itemSlot                 // an item of such a value
)

// ChoiceKey tells whether the value of a key of a section, or an item of it, may be a choice.
func ChoiceKey(key string) bool {
	return slices.Contains([]string{"bars", "play", "add", "energy"}, key)
}

// oneOf is what one alternative of several takes the place of.
type oneOf struct {
	slot         slot
	key          string // of the section or the option, where it stands for its value
	at           spot
	alternatives []*yaml.Node
	name         string // by "as"; "" for none
	atName       spot
	text         string // as it is written, on one line
	nth          int    // which one it is of those with the same text, from 0
}

// choices are the choices of a recipe, which is kept as YAML until they are made.
type choices struct {
	root  *yaml.Node
	list  []*oneOf // in file order
	of    map[*yaml.Node]*oneOf
	holds map[*yaml.Node]bool // nodes with a choice in them
	steps map[*yaml.Node]bool // steps with a choice in them
	drop  map[*yaml.Node]bool // sections and steps in which a choice has a mistake

	sections [][]song.Section // what there may be, each as name and kind
	all      []song.Section   // of all alternatives, one after the other
	known    map[*yaml.Node]any
	extends  bool // a step may extend the song
	arranges bool // there may be sections
}

// isChoice tells whether a node is a choice, or was meant to be.
func isChoice(n *yaml.Node) bool {
	if n.Kind != yaml.MappingNode {
		return false
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if key := n.Content[i].Value; key == OneOf || song.Nearest(key, []string{OneOf}) != "" {
			return true
		}
	}
	return false
}

// findChoices returns the choices of a recipe, where they may stand; nil if there are none.
func (s *source) findChoices(root *yaml.Node) *choices {
	if root.Kind != yaml.MappingNode {
		return nil
	}
	c := &choices{root: root, of: map[*yaml.Node]*oneOf{}, holds: map[*yaml.Node]bool{}, steps: map[*yaml.Node]bool{}, drop: map[*yaml.Node]bool{}}
	for i := 0; i+1 < len(root.Content); i += 2 {
		value := root.Content[i+1]
		switch key := root.Content[i].Value; {
		case key == "sections" && isChoice(value):
			s.choice(c, value, key, sectionsSlot, "")
		case key == "sections" && value.Kind == yaml.SequenceNode:
			for j, n := range value.Content {
				s.choicesOfSection(c, n, fmt.Sprintf("sections[%d]", j+1))
				c.holds[value] = c.holds[value] || c.holds[n]
			}
		case key == "moves" && value.Kind == yaml.SequenceNode:
			for j, n := range value.Content {
				s.choicesOfStep(c, n, fmt.Sprintf("moves[%d]", j+1))
				c.holds[value] = c.holds[value] || c.holds[n]
			}
		}
		c.holds[root] = c.holds[root] || c.holds[value]
	}
	if !c.holds[root] {
		return nil
	}
	s.joinChoices(c)
	return c
}

func (s *source) choicesOfSection(c *choices, n *yaml.Node, path string) {
	if isChoice(n) {
		s.choice(c, n, path, sectionSlot, "")
		return
	}
	s.choicesOfValues(c, n, n, path, ChoiceKey)
}

func (s *source) choicesOfStep(c *choices, n *yaml.Node, path string) {
	if isChoice(n) {
		s.choice(c, n, path, stepSlot, "")
		return
	}
	if n.Kind == yaml.MappingNode && len(n.Content) == 2 {
		s.choicesOfValues(c, n.Content[1], n, path+"."+n.Content[0].Value, func(string) bool { return true })
		c.holds[n] = c.holds[n.Content[1]]
		c.steps[n] = c.holds[n]
	}
}

// choicesOfValues finds the choices among the values of a map, which is a section or within a step.
func (s *source) choicesOfValues(c *choices, n, within *yaml.Node, path string, may func(key string) bool) {
	if n.Kind != yaml.MappingNode || isChoice(n) {
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i].Value, n.Content[i+1]
		field := path + "." + key
		switch {
		case !may(key):
		case isChoice(value):
			if !s.choice(c, value, field, valueSlot, key) {
				c.drop[within] = true
			}
		case value.Kind == yaml.SequenceNode:
			for _, item := range value.Content {
				if isChoice(item) {
					if !s.choice(c, item, field, itemSlot, key) {
						c.drop[within] = true
					}
					c.holds[value] = true
				}
			}
		}
		c.holds[n] = c.holds[n] || c.holds[value]
	}
}

const wantAlternatives = "2 to 32 alternatives such as {one of: [A, B]}"

// choice reads a choice; false if it has a mistake.
func (s *source) choice(c *choices, n *yaml.Node, path string, in slot, key string) bool {
	c.holds[n] = true
	before := len(s.errs)
	out := &oneOf{slot: in, key: key, at: spotOf(n), text: nodeText(n)}
	pairs, _ := s.entries(n, path, "key", wantAlternatives)
	given := false
	for _, p := range pairs {
		switch p.key {
		case OneOf:
			given = true
			out.alternatives = s.alternatives(p.value, path+"."+OneOf)
		case As:
			out.atName = spotOf(p.value)
			out.name = s.choiceName(p.value, path+"."+As)
		default:
			s.unknown(p.at, path, "key", p.key, []string{OneOf, As})
		}
	}
	if !given && len(s.errs) == before {
		s.fail(out.at, Error{Path: path, Found: "no " + strconv.Quote(OneOf), Want: wantAlternatives})
	}
	if len(s.errs) > before {
		c.drop[n] = true
		return false
	}
	c.list, c.of[n] = append(c.list, out), out
	return true
}

// ChoiceNameForm is the form of the name of a choice.
func ChoiceNameForm() option.Form { return option.Form{Pattern: "[a-z][a-z0-9-]*"} }

// isChoiceName tells whether a text is of that form.
func isChoiceName(text string) bool {
	return song.IsName(text) && !strings.ContainsFunc(text, func(r rune) bool { return r > unicode.MaxASCII })
}

func (s *source) choiceName(n *yaml.Node, path string) string {
	const want = "a name of lower-case letters, digits and hyphens that begins with a letter"
	text, ok := s.text(n, path, want)
	if ok && !isChoiceName(text) {
		s.fail(spotOf(n), Error{Path: path, Found: shown(text), Want: want})
	}
	return text
}

// alternatives reads the list of what is chosen from.
func (s *source) alternatives(n *yaml.Node, path string) []*yaml.Node {
	items, ok := s.items(n, path, "a list of "+wantAlternatives)
	if !ok {
		return nil
	}
	if len(items) < 2 || len(items) > MaxAlternatives {
		found := []string{"an empty list", "one alternative"}[min(len(items), 1)]
		if len(items) > 1 {
			found = fmt.Sprintf("%d alternatives", len(items))
		}
		s.fail(spotOf(n), Error{Path: path, Found: found, Want: wantAlternatives})
	}
	for _, alternative := range items {
		if inner := innerChoice(alternative); inner != nil {
			s.fail(spotOf(inner), Error{Path: path, Found: "a choice inside another", Want: "alternatives without one"})
		}
	}
	return items
}

// innerChoice returns the first choice in a node, or the node itself; nil for none.
func innerChoice(n *yaml.Node) *yaml.Node {
	if isChoice(n) {
		return n
	}
	for _, child := range n.Content {
		if inner := innerChoice(child); inner != nil {
			return inner
		}
	}
	return nil
}

// joinChoices looks at what choices have to do with each other: equal texts, and names.
func (s *source) joinChoices(c *choices) {
	equal, first := map[string]int{}, map[string]*oneOf{}
	for _, ch := range c.list {
		ch.nth = equal[ch.text]
		equal[ch.text]++
		switch f := first[ch.name]; {
		case ch.name == "":
		case f == nil:
			first[ch.name] = ch
		case len(f.alternatives) != len(ch.alternatives):
			s.fail(ch.atName, Error{Path: As, Found: fmt.Sprintf("%d alternatives as %s", len(ch.alternatives), ch.name),
				Want: fmt.Sprintf("%d as in line %d: they choose together", len(f.alternatives), f.at.line)})
		}
	}
}

// nodeText writes a node on one line, however it was written.
func nodeText(n *yaml.Node) string {
	var out strings.Builder
	writeNode(&out, n)
	return out.String()
}

func writeNode(out *strings.Builder, n *yaml.Node) {
	comma := ""
	switch n.Kind {
	case yaml.MappingNode:
		out.WriteString("{")
		for i := 0; i+1 < len(n.Content); i += 2 {
			out.WriteString(comma)
			writeNode(out, n.Content[i])
			out.WriteString(": ")
			writeNode(out, n.Content[i+1])
			comma = ", "
		}
		out.WriteString("}")
	case yaml.SequenceNode:
		out.WriteString("[")
		for _, child := range n.Content {
			out.WriteString(comma)
			writeNode(out, child)
			comma = ", "
		}
		out.WriteString("]")
	default:
		out.WriteString(scalar(n.Value))
	}
}

// resolved returns the recipe with an alternative in place of each choice. written gets the text of each step
// that is in a choice or has one in it, as it stands in the recipe, so that its seed hangs on that alone.
func (c *choices) resolved(pick func(*oneOf) int) (root *yaml.Node, written map[*yaml.Node]string) {
	written = map[*yaml.Node]string{}
	return c.put(c.root, pick, written)[0], written
}

// put returns what stands in place of a node: as a rule one.
func (c *choices) put(n *yaml.Node, pick func(*oneOf) int, written map[*yaml.Node]string) []*yaml.Node {
	if c.drop[n] {
		return nil
	}
	if ch := c.of[n]; ch != nil {
		k := pick(ch)
		if k == every {
			return ch.all()
		}
		out := ch.stand(k % len(ch.alternatives))
		for i, node := range out {
			written[node] = fmt.Sprintf("%s %d %d", ch.text, ch.nth, i)
		}
		return out
	}
	if !c.holds[n] {
		return []*yaml.Node{n}
	}
	out := *n
	out.Content = make([]*yaml.Node, 0, len(n.Content))
	for i, child := range n.Content {
		got := c.put(child, pick, written)
		if n.Kind == yaml.MappingNode && i%2 == 1 && len(got) == 0 {
			out.Content = out.Content[:len(out.Content)-1] // the key
			continue
		}
		out.Content = append(out.Content, got...)
	}
	if c.steps[n] {
		written[&out] = nodeText(n)
	}
	return []*yaml.Node{&out}
}

// every is what is picked where all alternatives of sections are to stand one after the other.
const every = -1

// all returns the sections of all alternatives; of other choices the first alternative.
func (ch *oneOf) all() []*yaml.Node {
	var out []*yaml.Node
	for _, n := range ch.alternatives {
		out = append(out, asList(n)...)
	}
	switch ch.slot {
	case sectionsSlot:
		list := *ch.alternatives[0]
		list.Kind, list.Content = yaml.SequenceNode, out
		return []*yaml.Node{&list}
	case sectionSlot:
		return out
	}
	return ch.stand(0)
}

// stand returns the nodes that stand in the choice's place with an alternative.
func (ch *oneOf) stand(alternative int) []*yaml.Node {
	n := ch.alternatives[alternative]
	if n.Kind == yaml.SequenceNode && (ch.slot == sectionSlot || ch.slot == stepSlot) {
		return n.Content
	}
	return []*yaml.Node{n}
}

// readChoices reads a recipe with each alternative of its choices in turn. r gets the first of each.
func (s *source) readChoices(r *Recipe, c *choices) {
	r.choices = c
	c.known = map[*yaml.Node]any{}
	s.known, s.keeps = c.known, true
	most := 1
	for _, ch := range c.list {
		most = max(most, len(ch.alternatives))
	}
	var all []StepSpec
	for k := range most {
		into, before := r, len(s.errs)
		if k > 0 {
			into, s.again = &Recipe{}, true
		}
		var root *yaml.Node
		root, s.written = c.resolved(func(*oneOf) int { return k })
		s.read(into, root)
		s.once(before)
		all = append(all, into.Moves...)
		c.sections = append(c.sections, into.outline())
		c.arranges = c.arranges || len(into.Sections) > 0
	}
	root, _ := c.resolved(func(*oneOf) int { return every })
	before, total := len(s.errs), &Recipe{}
	s.written = nil // no step is read again
	s.read(total, root)
	s.errs, s.again = s.errs[:before], false
	c.all = total.outline()
	if c.several() {
		c.sections = append(c.sections, c.all)
	}
	for _, spec := range all {
		_, extends := spec.Step.(*moves.Extend)
		c.extends = c.extends || extends
	}
	if len(c.drop) > 0 {
		s.sectionsUnread = true
		return
	}
	if len(s.errs) == 0 {
		s.checkAlike(r, c)
	}
	if len(s.errs) == 0 {
		s.checkSum(r)
	}
	before = len(s.errs)
	s.checkNames(all, c.sections, c.all)
	s.once(before)
}

// once drops mistakes that were found before: what several alternatives share is read with each.
func (s *source) once(before int) {
	type found struct {
		line, col int
		what      string
	}
	seen := map[found]bool{}
	kept := s.errs[:0]
	for i, e := range s.errs {
		key := found{e.Line, e.Col, e.Found}
		if i < before || !seen[key] {
			kept = append(kept, e)
		}
		seen[key] = true
	}
	s.errs = kept
}

// outline returns the sections of the recipe with what can be said of them: names and kinds.
func (r *Recipe) outline() []song.Section {
	var out []song.Section
	for _, sec := range r.Sections {
		out = append(out, song.Section{Name: sec.Name, Kind: sec.kind()})
	}
	return out
}

// several tells whether sections are chosen by choices that do not choose together.
func (c *choices) several() bool {
	groups := map[string]bool{}
	for i, ch := range c.list {
		if ch.slot == sectionSlot || ch.slot == sectionsSlot {
			groups[choiceGroup(ch, i)] = true
		}
	}
	return len(groups) > 1
}

// choiceGroup names what chooses together: a choice alone, or all of a name.
func choiceGroup(ch *oneOf, index int) string {
	if ch.name != "" {
		return ch.name
	}
	return strconv.Itoa(index) + " alone" // no name has a space
}

// checkAlike notes alternatives of sections, and of their bars, that do not add up to what the first of their choice
// does, where the recipe says how long the song is.
func (s *source) checkAlike(r *Recipe, c *choices) {
	if r.Length.IsZero() {
		return
	}
	type sums struct {
		bars    []int
		unknown []bool // a section does not say its bars, such as one that is like another
		last    *oneOf
	}
	var order []string
	of := map[string]*sums{}
	for i, ch := range c.list {
		ofBars := ch.slot == valueSlot && ch.key == "bars"
		if ch.slot != sectionSlot && ch.slot != sectionsSlot && !ofBars {
			continue
		}
		group := choiceGroup(ch, i)
		if of[group] == nil {
			of[group] = &sums{bars: make([]int, len(ch.alternatives)), unknown: make([]bool, len(ch.alternatives))}
			order = append(order, group)
		}
		of[group].last = ch
		for k, alternative := range ch.alternatives {
			bars, known := barsWritten(alternative)
			if ofBars {
				bars, known = digits(alternative.Value)
			}
			of[group].bars[k] += bars
			of[group].unknown[k] = of[group].unknown[k] || !known
		}
	}
	for _, group := range order {
		sum := of[group]
		for k, bars := range sum.bars {
			if !sum.unknown[k] && !sum.unknown[0] && bars != sum.bars[0] {
				s.fail(spotOf(sum.last.alternatives[k]), Error{Path: "sections", Found: fmt.Sprintf("%d bars in alternative %d", bars, k+1),
					Want: fmt.Sprintf("the %d bars that alternative 1 adds up to, since length is written", sum.bars[0])})
			}
		}
	}
}

// barsWritten returns the sum of the bars of a section or of a list of them; false where one does not say.
func barsWritten(n *yaml.Node) (int, bool) {
	if n.Kind == yaml.SequenceNode {
		sum := 0
		for _, child := range n.Content {
			bars, known := barsWritten(child)
			if !known {
				return 0, false
			}
			sum += bars
		}
		return sum, true
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == "bars" {
			return digits(n.Content[i+1].Value)
		}
	}
	return 0, false
}
