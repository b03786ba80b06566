package edit

import (
	"strconv"
	"strings"

	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf"

	"gopkg.in/yaml.v3"
)

// Bars gives a section another length. Its line-up stays as it is written. A length of the recipe in bars that the
// sections in use add up to goes with them.
type Bars struct {
	Section int
	Bars    int // 1 to 9999
}

// MoveSection moves a section to another place among those in use. Sentences stay as they are; what they then lack is a
// mistake of the recipe.
type MoveSection struct{ Section, To int }

// DoubleSection writes a section once more behind itself, in the same words; so there are two of its name.
type DoubleSection struct{ Section int }

// RemoveSection takes a section out. Sentences stay as they are.
type RemoveSection struct{ Section int }

// Energy says how loud a section is to be, in one text or several unit by unit; none takes it away, and with it who may
// be found for it.
type Energy struct {
	Section int
	Energy  []string
}

// NoLength takes the length of the recipe away, so that it is as long as its sections: where these are chosen among, one
// length may not fit all of them.
type NoLength struct{}

func (NoLength) edit(d *document) error {
	d.check = none
	if d.root == nil || lookUp(d.root, "length") == nil {
		return d.fail(0, 0, recipes.Error{Path: "length", Found: "no length", Want: "one to take away"})
	}
	i := keyIndex(d.root, "length")
	d.remove(d.root, i, i+1)
	return nil
}

func (e Bars) edit(d *document) error {
	it, err := d.find("sections", e.Section)
	if err != nil {
		return err
	}
	d.check = inText
	return d.keepLength(func() error { return d.setValue(it.node, "bars", []string{strconv.Itoa(e.Bars)}, false) })
}

func (e MoveSection) edit(d *document) error {
	d.check = none
	return d.keepLength(func() error { return d.move("sections", e.Section, e.To) })
}

func (e DoubleSection) edit(d *document) error {
	d.check = none
	return d.keepLength(func() error { return d.double("sections", e.Section) })
}

func (e RemoveSection) edit(d *document) error {
	d.check = none
	return d.keepLength(func() error { return d.take("sections", e.Section) })
}

func (e Energy) edit(d *document) error {
	it, err := d.find("sections", e.Section)
	if err != nil {
		return err
	}
	if len(e.Energy) == 0 && lookUp(it.node, "energy") != nil {
		return d.rewriteMap(it.node, []string{"energy", "add"}, nil)
	}
	return d.setValue(it.node, "energy", e.Energy, len(e.Energy) > 1)
}

// setValue gives a key of a section or an option of a step other texts, of a choice the alternative in use; none takes the
// key away.
func (d *document) setValue(n *yaml.Node, key string, texts []string, list bool) error {
	i := keyIndex(n, key)
	value := listNode(texts)
	if !list && len(texts) == 1 {
		value = scalarNode(texts[0])
	}
	switch {
	case i < 0 && len(texts) == 0 && !list:
		return d.failAt(n, "", "no "+strconv.Quote(key), "one to take away")
	case i < 0:
		d.addKey(n, key, value)
		return nil
	case len(texts) == 0 && !list:
		d.remove(n, i, i+1)
		return nil
	}
	old := d.use(n.Content[2*i+1])
	if old.Kind == yaml.SequenceNode && value.Kind == yaml.SequenceNode && d.texts(old) {
		return d.setTexts(old, texts, d.use)
	}
	d.replace(old, value)
	return nil
}

// texts tells whether a list holds texts alone, as it is in use.
func (d *document) texts(list *yaml.Node) bool {
	for _, c := range list.Content {
		if d.use(c).Kind != yaml.ScalarNode {
			return false
		}
	}
	return true
}

// keepLength carries out a change of sections. Where the recipe has a length in bars, and the sections in use added up to
// it, it gets what they add up to now.
func (d *document) keepLength(change func() error) error {
	length := lookUp(d.root, "length")
	before, known := d.bars()
	if err := change(); err != nil {
		return err
	}
	after, still := d.bars()
	if length == nil || length.Kind != yaml.ScalarNode || !known || !still || before == after || after == 0 {
		return nil
	}
	x, err := where.ParseExtent(length.Value)
	if err != nil || x.Bars != before || d.plain(length, "length") != nil {
		return nil
	}
	d.replace(length, scalarNode(strings.Replace(length.Value, strconv.Itoa(before), strconv.Itoa(after), 1)))
	return nil
}

// bars returns what the sections in use add up to; false where one does not say it.
func (d *document) bars() (int, bool) {
	sections := d.sections()
	sum := 0
	for i := range sections {
		at, steps := i, 0
		for sections[at].bars == 0 && sections[at].like >= 0 && steps <= len(sections) {
			at, steps = sections[at].like, steps+1
		}
		if sections[at].bars == 0 {
			return 0, false
		}
		sum += sections[at].bars
	}
	return sum, true
}

// section is what an edit has to know of a section in use.
type section struct {
	node *yaml.Node
	name string
	kind string // as it is written; "": it is not
	bars int    // as written; 0: they are not
	like int    // the section that it is like; -1: none
}

// sections returns the sections in use, as far as they can be read.
func (d *document) sections() []section {
	var out []section
	for _, it := range d.items("sections") {
		text := func(key string) string {
			if n := lookUp(it.node, key); n != nil {
				return d.use(n).Value
			}
			return ""
		}
		s := section{node: it.node, name: text("name"), kind: text("kind"), like: -1}
		if n, ok := smf.ParseDigits(text("bars")); ok {
			s.bars = int(n)
		}
		if like := text("like"); like != "" {
			s.like = named(out, like)
		}
		out = append(out, s)
	}
	return out
}

// named returns the one section that a text such as drop 1 means; -1 for none.
func named(sections []section, text string) int {
	name, number, numbered := strings.Cut(text, " ")
	var found []int
	for i, s := range sections {
		if s.name == name {
			found = append(found, i)
		}
	}
	nth, ok := smf.ParseDigits(number)
	switch {
	case !numbered && len(found) == 1:
		return found[0]
	case numbered && ok && nth >= 1 && nth <= uint64(len(found)):
		return found[nth-1]
	}
	return -1
}
