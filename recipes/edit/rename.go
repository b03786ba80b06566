package edit

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// Rename gives a section another name, and lets every span, place, like and energy that names it mean what it meant: with
// the new name, with another number where several sections bear the old one, and as two sentences where "every drop" was
// both. A kind that the old name said and the new one does not is written down. Where sections hang on a choice, all
// of the name are renamed in all alternatives, since they share their sentences; the new name is then to be one that
// no section has.
type Rename struct {
	Section int
	Name    string
}

// reference is a name of a section with a number, 0 for none.
type reference struct {
	name string
	n    int
}

func (r reference) text() string {
	if r.n == 0 {
		return r.name
	}
	return r.name + " " + strconv.Itoa(r.n)
}

// renaming says what a reference is after a rename: itself, another, or several that mean the same together.
type renaming func(reference, meaning) []reference

// meaning is how the place of a reference finds its section.
type meaning struct {
	kinds  bool // by kind where no section has the name
	before int  // among the sections before this one alone; -1: among all
	one    bool // it has to be one section
}

func (e Rename) edit(d *document) error {
	it, err := d.find("sections", e.Section)
	if err != nil {
		return err
	}
	sections := d.sections()
	old := sections[e.Section].name
	switch {
	case old == e.Name:
		return nil
	case old == "":
		return d.failAt(it.node, "sections", "a section without a name", "one that has a name")
	}
	if mistake := where.CheckSectionName(e.Name); mistake != nil {
		return d.failAt(lookUp(it.node, "name"), "sections", strconv.Quote(e.Name), "a name of lower-case letters, digits and hyphens that is no word of the language")
	}
	renamed, to := []*yaml.Node{it.node}, renaming(nil)
	if len(d.everyItem("sections")) == len(sections) {
		to = d.renamingOfOne(sections, e.Section, e.Name)
	} else if renamed, to, err = d.renamingOfAll(old, e.Name); err != nil {
		return err
	}
	if err := d.rewriteSteps(to); err != nil {
		return err
	}
	if err := d.rewriteSections(to); err != nil {
		return err
	}
	for _, n := range renamed {
		if err := d.plain(n, "sections"); err != nil {
			return err
		}
		d.replace(lookUp(n, "name"), scalarNode(e.Name))
	}
	return nil
}

// renamingOfAll returns the renaming of all sections of a name, and those. It writes down the kind that the old name said,
// where the new one says none.
func (d *document) renamingOfAll(old, name string) ([]*yaml.Node, renaming, error) {
	var renamed []*yaml.Node
	for _, n := range d.everyItem("sections") {
		switch is := lookUp(n, "name"); {
		case is == nil:
		case is.Value == name:
			return nil, nil, d.failAt(is, "sections", strconv.Quote(name)+" again", "a name that no section has, since sections hang on a choice")
		case is.Value == old:
			renamed = append(renamed, n)
		}
	}
	kind := song.KindOf(old)
	for _, n := range renamed {
		if kind != song.NoKind && song.KindOf(name) == song.NoKind && lookUp(n, "kind") == nil && lookUp(n, "like") == nil {
			d.addKey(n, "kind", scalarNode(string(kind)))
		}
	}
	return renamed, func(r reference, _ meaning) []reference {
		if r.name == old {
			r.name = name
		}
		return []reference{r}
	}, nil
}

// kinds returns the kinds of sections: written, as in the section that one is like, else as the name says.
func kinds(sections []section) []song.Kind {
	out := make([]song.Kind, len(sections))
	written := make([]song.Kind, len(sections))
	for i, s := range sections {
		written[i] = song.Kind(s.kind)
		if s.kind == "" && s.like >= 0 {
			written[i] = written[s.like]
		}
		if out[i] = written[i]; out[i] == song.NoKind {
			out[i] = song.KindOf(s.name)
		}
	}
	return out
}

// renamingOfOne returns the renaming of one section among those in use, and writes down the kinds that would be others.
func (d *document) renamingOfOne(sections []section, k int, name string) renaming {
	after := slices.Clone(sections)
	after[k].name = name
	was := kinds(sections)
	if after[k].kind == "" && song.KindOf(name) != song.NoKind {
		was[k] = song.KindOf(name)
	}
	is := kinds(after)
	for i := range after {
		if after[i].kind == "" && was[i] != song.NoKind && is[i] != was[i] {
			after[i].kind = string(was[i])
			d.addKey(after[i].node, "kind", scalarNode(after[i].kind))
			is = kinds(after)
		}
	}
	kindsBefore, kindsAfter := kinds(sections), kinds(after)
	return func(r reference, m meaning) []reference {
		meant := r.among(sections, kindsBefore, m)
		means := func(r reference) bool { return slices.Equal(r.among(after, kindsAfter, m), meant) }
		if len(meant) == 0 || means(r) {
			return []reference{r}
		}
		for _, try := range []reference{{name, 0}, {name, r.n}} {
			if means(try) {
				return []reference{try}
			}
		}
		var out []reference
		left := meant
		if rest := r.among(after, kindsAfter, m); len(rest) > 0 && r.n == 0 && !slices.ContainsFunc(rest, func(i int) bool { return !slices.Contains(meant, i) }) {
			out = append(out, r)
			left = slices.DeleteFunc(slices.Clone(meant), func(i int) bool { return slices.Contains(rest, i) })
		}
		for _, i := range left {
			out = append(out, label(after, i))
		}
		return out
	}
}

// label names a section, with its number where there are several of its name.
func label(sections []section, i int) reference {
	r := reference{name: sections[i].name}
	nth, all := 0, 0
	for k, s := range sections {
		if s.name == r.name {
			all++
			if k <= i {
				nth++
			}
		}
	}
	if all > 1 {
		r.n = nth
	}
	return r
}

// among returns the sections that a reference means, rising; none where it means none, or several where it has to be one.
func (r reference) among(sections []section, kinds []song.Kind, m meaning) []int {
	if m.before >= 0 {
		sections = sections[:m.before]
	}
	var found []int
	for i, s := range sections {
		if s.name == r.name {
			found = append(found, i)
		}
	}
	if len(found) == 0 && m.kinds {
		for i := range sections {
			if string(kinds[i]) == r.name {
				found = append(found, i)
			}
		}
	}
	switch {
	case r.n > len(found), r.n == 0 && m.one && len(found) > 1:
		return nil
	case r.n > 0:
		return found[r.n-1 : r.n]
	}
	return found
}

// rewriteSections renames in likes and energies.
func (d *document) rewriteSections(to renaming) error {
	places := map[*yaml.Node]int{}
	for i, it := range d.items("sections") {
		places[it.node] = i
	}
	for _, n := range d.everyItem("sections") {
		i, used := places[n]
		if !used {
			i = -1
		}
		if like := lookUp(n, "like"); like != nil {
			if err := d.rewriteText(like, to, meaning{before: i, one: true}, likeWords); err != nil {
				return err
			}
		}
		energy := lookUp(n, "energy")
		if energy == nil {
			continue
		}
		for _, text := range scalarsIn(energy) {
			if err := d.rewriteText(text, to, meaning{kinds: true, before: -1, one: true}, energyWords); err != nil {
				return err
			}
		}
	}
	return nil
}

// scalarsIn returns the texts of a value: of a list, of a choice and of choices in a list, but for names of choices.
func scalarsIn(n *yaml.Node) []*yaml.Node {
	switch {
	case n.Kind == yaml.ScalarNode:
		return []*yaml.Node{n}
	case isChoice(n):
		return scalarsIn(lookUp(n, recipes.OneOf))
	case n.Kind != yaml.SequenceNode:
		return nil
	}
	var out []*yaml.Node
	for _, c := range n.Content {
		out = append(out, scalarsIn(c)...)
	}
	return out
}

// likeWords returns the reference that the text of a like is.
func likeWords(text string) []where.SectionWord {
	name, number, _ := strings.Cut(text, " ")
	n, _ := strconv.Atoi(number)
	return []where.SectionWord{{Col: 1, Name: name, N: max(n, 0)}}
}

// energyWords returns the reference in an energy against another section; none in another energy.
func energyWords(text string) []where.SectionWord {
	for _, word := range []string{" under ", " over "} {
		head, tail, found := strings.Cut(text, word)
		if !found {
			continue
		}
		fields := strings.Fields(tail)
		if len(fields) == 0 {
			return nil
		}
		blanks := len(tail) - len(strings.TrimLeft(tail, " "))
		out := where.SectionWord{Col: utf8.RuneCountInString(head+word) + blanks + 1, Name: fields[0]}
		if len(fields) > 1 {
			n, _ := strconv.Atoi(fields[1])
			out.N = max(n, 0)
		}
		return []where.SectionWord{out}
	}
	return nil
}

// rewriteText renames in a text that stands for one section.
func (d *document) rewriteText(n *yaml.Node, to renaming, m meaning, words func(string) []where.SectionWord) error {
	texts := rewritten(n.Value, words(n.Value), func(r reference) []reference { return to(r, m) })
	if len(texts) == 1 && texts[0] == n.Value {
		return nil
	}
	if err := d.plain(n, ""); err != nil {
		return err
	}
	d.replace(n, scalarNode(texts[0]))
	return nil
}

// rewriteSteps renames in the spans and places of the steps.
func (d *document) rewriteSteps(to renaming) error {
	catalogue := recipes.Catalogue()
	for _, n := range d.everyItem("moves") {
		if n.Kind != yaml.MappingNode || len(n.Content) != 2 || n.Content[1].Kind != yaml.MappingNode {
			continue
		}
		move, ok := catalogue.Lookup(n.Content[0].Value)
		if !ok {
			continue
		}
		options := n.Content[1].Content
		for i := 0; i+1 < len(options); i += 2 {
			if err := d.rewriteOption(move, options[i].Value, options[i+1], to, true); err != nil {
				return err
			}
		}
	}
	return nil
}

// rewriteOption renames in the value of an option, in each alternative where it is a choice.
func (d *document) rewriteOption(move moves.Move, name string, value *yaml.Node, to renaming, many bool) error {
	sentences := func(n *yaml.Node) []string {
		return rewritten(n.Value, spanWords(move, name, n.Value), func(r reference) []reference { return to(r, meaning{kinds: true, before: -1}) })
	}
	switch {
	case isChoice(value):
		list := alternatives(value)
		if list == nil {
			return nil
		}
		for _, c := range list.Content {
			if err := d.rewriteOption(move, name, c, to, many); err != nil {
				return err
			}
		}
	case value.Kind == yaml.SequenceNode:
		for i := len(value.Content) - 1; i >= 0; i-- { // from behind, so that places before stay
			c := value.Content[i]
			if isChoice(c) {
				if err := d.rewriteOption(move, name, c, to, false); err != nil {
					return err
				}
				continue
			}
			if c.Kind != yaml.ScalarNode {
				continue
			}
			texts := sentences(c)
			if len(texts) > 1 {
				var entries []entry
				var raws []string
				for _, text := range texts[1:] {
					entries, raws = append(entries, entry{scalarNode(text)}), append(raws, scalarLike(text, c.Style))
				}
				d.insert(value, i+1, entries, raws)
			}
			if err := d.put(c, texts[:1]); err != nil {
				return err
			}
		}
	case value.Kind == yaml.ScalarNode:
		texts := sentences(value)
		if len(texts) > 1 && !many {
			return d.failAt(value, "moves", strconv.Quote(value.Value)+", which would become several", "this sentence changed by hand")
		}
		return d.put(value, texts)
	}
	return nil
}

// put puts one text, or a list of several, in the place of a text, unless it is that already.
func (d *document) put(n *yaml.Node, texts []string) error {
	if len(texts) == 1 && texts[0] == n.Value {
		return nil
	}
	if err := d.plain(n, "moves"); err != nil {
		return err
	}
	if len(texts) == 1 {
		d.replace(n, scalarNode(texts[0]))
		return nil
	}
	d.replace(n, listNode(texts))
	return nil
}

// spanWords returns the sections that a text names as an option of a move; none where it is no span or place.
func spanWords(move moves.Move, name, text string) []where.SectionWord {
	step := move.New()
	if _, ok := move.Option(name); !ok || move.Set(step, name, []string{text}, false) != nil {
		return nil
	}
	for of, value := range option.Fields(step) {
		if of == name {
			return where.SectionWords(value)
		}
	}
	return nil
}

// rewritten returns a sentence with other references, as several sentences where a reference becomes several outside of
// what is left out.
func rewritten(text string, words []where.SectionWord, to func(reference) []reference) []string {
	out := []string{text}
	for i := len(words) - 1; i >= 0; i-- { // from behind, so that columns before stay
		w := words[i]
		now := to(reference{w.Name, w.N})
		if len(now) == 1 && now[0] == (reference{w.Name, w.N}) {
			continue
		}
		head := string([]rune(text)[:w.Col-1])
		tail := strings.TrimPrefix(text[len(head):], w.Name)
		behind := len(tail)
		if w.N > 0 {
			tail = strings.TrimLeft(strings.TrimLeft(tail, " \t"), "0123456789")
		}
		taken := len(w.Name) + behind - len(tail)
		before, left := head, strings.TrimRight(head, " ")
		leftOut := strings.HasSuffix(left, " but") || strings.HasSuffix(left, " and")
		if leftOut {
			var names []string
			for _, r := range now {
				names = append(names, r.text())
			}
			for k := range out {
				out[k] = before + strings.Join(names, " and ") + out[k][len(head)+taken:]
			}
			continue
		}
		var more []string
		for _, sentence := range out {
			for _, r := range now {
				start := before
				if rest, every := strings.CutSuffix(left, "every"); every && r.n > 0 {
					start = rest
				}
				more = append(more, start+r.text()+sentence[len(head)+taken:])
			}
		}
		out = more
	}
	return out
}
