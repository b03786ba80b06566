package edit

import (
	"loopdraft/recipes"

	"gopkg.in/yaml.v3"
)

// isChoice tells whether a node is a choice.
func isChoice(n *yaml.Node) bool { return lookUp(n, recipes.OneOf) != nil }

// alternatives returns the list of a choice's alternatives; nil where it has none.
func alternatives(n *yaml.Node) *yaml.Node {
	if list := lookUp(n, recipes.OneOf); list != nil && list.Kind == yaml.SequenceNode && len(list.Content) > 0 {
		return list
	}
	return nil
}

// findPicks finds the choices where a recipe may have them, in file order, and which alternative of each is in use.
func (d *document) findPicks() {
	d.picks = map[*yaml.Node]int{}
	if d.root == nil || d.root.Kind != yaml.MappingNode {
		return
	}
	choice := func(n *yaml.Node) bool {
		list := alternatives(n)
		if list == nil {
			return false
		}
		pick := 0
		if k := len(d.picks); k < len(d.Taken) {
			pick = min(max(d.Taken[k], 0), len(list.Content)-1)
		}
		d.picks[n] = pick
		return true
	}
	values := func(n *yaml.Node, may func(key string) bool) {
		for i := 0; n.Kind == yaml.MappingNode && i+1 < len(n.Content); i += 2 {
			value := n.Content[i+1]
			if !may(n.Content[i].Value) || choice(value) || value.Kind != yaml.SequenceNode {
				continue
			}
			for _, item := range value.Content {
				choice(item)
			}
		}
	}
	for i := 0; i+1 < len(d.root.Content); i += 2 {
		key, value := d.root.Content[i].Value, d.root.Content[i+1]
		if key != "sections" && key != "moves" || key == "sections" && choice(value) || value.Kind != yaml.SequenceNode {
			continue
		}
		for _, n := range value.Content {
			switch {
			case choice(n):
			case key == "sections":
				values(n, recipes.ChoiceKey)
			case n.Kind == yaml.MappingNode && len(n.Content) == 2:
				values(n.Content[1], func(string) bool { return true })
			}
		}
	}
}

// use returns what is in use in a node's place: of a choice an alternative, else the node itself.
func (d *document) use(n *yaml.Node) *yaml.Node {
	if pick, ok := d.picks[n]; ok {
		return alternatives(n).Content[pick]
	}
	return n
}

// item is a section or step in use.
type item struct {
	node    *yaml.Node
	list    *yaml.Node // that it stands in
	at      int        // its index there
	alone   bool       // list is that of a choice's alternatives, and it is one of them
	outer   *yaml.Node // the list that the choice stands in; nil: it is in no choice
	outerAt int
}

// items returns the sections or the steps in use.
func (d *document) items(key string) []item {
	var out []item
	list := lookUp(d.root, key)
	if list == nil {
		return nil
	}
	list = d.use(list)
	for i, n := range list.Content {
		if list.Kind != yaml.SequenceNode {
			break
		}
		used := d.use(n)
		switch {
		case used == n:
			out = append(out, item{node: n, list: list, at: i})
		case used.Kind == yaml.SequenceNode:
			for k, c := range used.Content {
				out = append(out, item{node: c, list: used, at: k, outer: list, outerAt: i})
			}
		default:
			out = append(out, item{node: used, list: alternatives(n), at: d.picks[n], alone: true, outer: list, outerAt: i})
		}
	}
	return out
}

// everyItem returns the sections or the steps of all alternatives.
func (d *document) everyItem(key string) []*yaml.Node {
	var out []*yaml.Node
	add := func(n *yaml.Node) {
		if list := alternatives(n); list != nil {
			for _, c := range list.Content {
				if c.Kind != yaml.SequenceNode {
					out = append(out, c)
					continue
				}
				out = append(out, c.Content...)
			}
			return
		}
		out = append(out, n)
	}
	list := lookUp(d.root, key)
	switch {
	case list == nil:
	case isChoice(list):
		add(list)
	case list.Kind == yaml.SequenceNode:
		for _, n := range list.Content {
			add(n)
		}
	}
	return out
}

// find returns a section or step in use.
func (d *document) find(key string, i int) (item, error) {
	for _, n := range []*yaml.Node{d.root, lookUp(d.root, key)} {
		if n == nil {
			continue
		}
		shell := *n
		shell.Content = nil
		if err := d.plain(&shell, key); err != nil {
			return item{}, err
		}
	}
	items := d.items(key)
	if i < 0 || i >= len(items) {
		return item{}, d.count(key, i, len(items))
	}
	it := items[i]
	if err := d.plain(it.node, key); err != nil {
		return it, err
	}
	if it.node.Kind != yaml.MappingNode {
		return it, d.failAt(it.node, key, "what is no map", "a map")
	}
	return it, nil
}

// move takes the item i out and puts it before the item that is at index to once it is taken out.
func (d *document) move(key string, i, to int) error {
	it, err := d.find(key, i)
	if err != nil {
		return err
	}
	items := d.items(key)
	if to < 0 || to >= len(items) {
		return d.count(key, to, len(items))
	}
	if to == i {
		return nil
	}
	if it.alone {
		return d.failAt(it.node, key, "an alternative of a choice (one of)", "to move the choice by hand")
	}
	before, after := to-1, to // neighbours where it comes to stand
	if to > i {
		before, after = to, to+1
	}
	at := -1
	if after < len(items) {
		at = d.indexIn(it.list, items, after, true)
	}
	if at < 0 && before >= 0 {
		if at = d.indexIn(it.list, items, before, false); at >= 0 {
			at++
		}
	}
	if at < 0 {
		return d.failAt(it.node, key, "a place in a choice (one of), or out of one", "a place in the list that it stands in")
	}
	d.moveEntry(it.list, it.at, at)
	return nil
}

// indexIn returns where an item, or the choice that begins or ends with it, stands in a list; -1 where it does not.
func (d *document) indexIn(list *yaml.Node, items []item, i int, first bool) int {
	it := items[i]
	if it.list == list {
		return it.at
	}
	next := i - 1
	if !first {
		next = i + 1
	}
	edge := next < 0 || next >= len(items) || items[next].outer != it.outer || items[next].outerAt != it.outerAt
	if it.outer == list && edge {
		return it.outerAt
	}
	return -1
}

// double writes an item once more behind itself.
func (d *document) double(key string, i int) error {
	it, err := d.find(key, i)
	if err != nil {
		return err
	}
	if it.alone {
		two := &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle, Content: []*yaml.Node{it.node, it.node}}
		text := flowText(it.node)
		if isFlow(it.node) {
			text = string(d.text[d.start(it.node):d.end(it.node)])
		}
		d.splice(d.start(it.node), d.end(it.node), "["+text+", "+text+"]")
		it.list.Content[it.at] = two
		return nil
	}
	raw := d.rawEntry(it.list, it.at)
	d.insert(it.list, it.at+1, []entry{{it.node}}, []string{raw})
	return nil
}

// take removes an item. Where it is an alternative by itself, nothing is left of that.
func (d *document) take(key string, i int) error {
	it, err := d.find(key, i)
	switch {
	case err != nil:
		return err
	case it.alone:
		d.replace(it.node, listNode(nil))
	default:
		d.remove(it.list, it.at, it.at+1)
	}
	return nil
}
