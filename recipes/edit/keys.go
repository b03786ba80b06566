package edit

import (
	"slices"
	"strings"

	"loopdraft/recipes"

	"gopkg.in/yaml.v3"
)

// SetKey gives a key of the recipe another value, such as its length. One without texts is taken away.
type SetKey struct{ Option }

// SetSectionKey gives a key of a section another value, but for its name, which [Rename] changes. One without texts is
// taken away; with an energy goes who may be found for it.
type SetSectionKey struct {
	Section int
	Option
}

func (e SetKey) edit(d *document) error {
	if err := d.known(e.Option, recipes.Keys()); err != nil {
		return err
	}
	if d.root == nil {
		return d.firstKey(e.Option)
	}
	if d.root.Kind != yaml.MappingNode {
		return d.failAt(d.root, "", "what is no map", "a recipe")
	}
	shell := *d.root
	shell.Content = nil
	if err := d.plain(&shell, ""); err != nil {
		return err
	}
	return d.setKey(d.root, e.Option)
}

func (e SetSectionKey) edit(d *document) error {
	if err := d.known(e.Option, recipes.SectionKeys()); err != nil {
		return err
	}
	if e.Name == "energy" {
		return Energy{e.Section, e.Texts}.edit(d)
	}
	it, err := d.find("sections", e.Section)
	if err != nil {
		return err
	}
	if e.Name == "name" {
		return d.failAt(it.node, "sections", "another name", "a section that is renamed with all that names it")
	}
	if e.Name == "bars" || e.Name == "like" {
		if len(e.Texts) > 0 {
			d.check = inText
		}
		return d.keepLength(func() error { return d.setKey(it.node, e.Option) })
	}
	return d.setKey(it.node, e.Option)
}

// setKey gives a key of a map another value; that one which is not there is taken away is no change.
func (d *document) setKey(n *yaml.Node, o Option) error {
	i := keyIndex(n, o.Name)
	if i >= 0 {
		if err := d.plain(n.Content[2*i+1], o.Name); err != nil {
			return err
		}
	}
	if i < 0 && len(o.Texts) == 0 && !o.List {
		return nil
	}
	return d.setValue(n, o.Name, o.Texts, o.List || len(o.Texts) > 1)
}

// firstKey writes the first key of a recipe in which nothing is but comments.
func (d *document) firstKey(o Option) error {
	if len(o.Texts) == 0 {
		return nil
	}
	value := listNode(o.Texts)
	if !o.List && len(o.Texts) == 1 {
		value = scalarNode(o.Texts[0])
	}
	d.root = mapNode(scalarNode(o.Name), value)
	raw := quoted(o.Name) + ": " + flowText(value) + d.eol
	if n := len(d.text); n > 0 && d.lines[len(d.lines)-1] < n && string(d.text) != bom {
		raw = d.eol + raw
	}
	d.splice(len(d.text), len(d.text), raw)
	return nil
}

// known refuses a key that cannot be given a text.
func (d *document) known(o Option, keys []recipes.Key) error {
	var names []string
	for _, k := range keys {
		if k.Form != nil {
			names = append(names, k.Name)
		}
	}
	if slices.Contains(names, o.Name) {
		return nil
	}
	return d.fail(0, 0, recipes.Error{Found: "key " + o.Name, Want: "one of " + strings.Join(names, ", ")})
}

// KeyOptions returns the keys of a recipe that hold texts, as they are written.
func KeyOptions(s Source) []Option {
	d, err := read(s)
	if err != nil || d.root == nil || d.root.Kind != yaml.MappingNode {
		return nil
	}
	return slices.DeleteFunc(d.options(d.root), func(o Option) bool {
		return !slices.ContainsFunc(recipes.Keys(), func(k recipes.Key) bool { return k.Name == o.Name && k.Form != nil })
	})
}

// SectionOptions returns the keys of a section in use as they are written, each choice by its alternative in use; false
// where there is no such section.
func SectionOptions(s Source, section int) (options []Option, ok bool) {
	d, err := read(s)
	if err != nil {
		return nil, false
	}
	it, err := d.find("sections", section)
	if err != nil || it.node.Kind != yaml.MappingNode {
		return nil, false
	}
	return d.options(it.node), true
}
