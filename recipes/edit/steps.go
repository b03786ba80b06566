package edit

import (
	"strings"

	"gopkg.in/yaml.v3"
)

// Option is an option of a step with its value: a text, or a list of them.
type Option struct {
	Name  string
	Texts []string
	List  bool // they stand as a list, even where there is one
}

// AddStep writes a step before the step At among those in use, behind the last where At is their count.
type AddStep struct {
	At      int
	Move    string
	Options []Option // those without texts are left out
}

// SetOption gives an option of a step another value. One without texts is taken away.
type SetOption struct {
	Step int
	Option
}

// MoveStep moves a step to another place among those in use.
type MoveStep struct{ Step, To int }

// RemoveStep takes a step out.
type RemoveStep struct{ Step int }

func (e SetOption) edit(d *document) error {
	it, err := d.find("moves", e.Step)
	if err != nil {
		return err
	}
	if len(it.node.Content) != 2 || it.node.Content[1].Kind != yaml.MappingNode {
		return d.failAt(it.node, "moves", "what is no step", "a map of exactly one move, such as mute: {part: bass}")
	}
	options := it.node.Content[1]
	if len(e.Texts) > 0 || keyIndex(options, e.Name) >= 0 {
		return d.setValue(options, e.Name, e.Texts, e.List && len(e.Texts) > 0 || len(e.Texts) > 1)
	}
	return nil
}

func (e MoveStep) edit(d *document) error {
	d.check = none
	return d.move("moves", e.Step, e.To)
}

func (e RemoveStep) edit(d *document) error {
	d.check = none
	return d.take("moves", e.Step)
}

func (e AddStep) edit(d *document) error {
	options := mapNode()
	for _, o := range e.Options {
		switch {
		case o.List && len(o.Texts) > 0 || len(o.Texts) > 1:
			options.Content = append(options.Content, scalarNode(o.Name), listNode(o.Texts))
		case len(o.Texts) == 1:
			options.Content = append(options.Content, scalarNode(o.Name), scalarNode(o.Texts[0]))
		}
	}
	step := mapNode(scalarNode(e.Move), options)
	items := d.items("moves")
	if e.At < 0 || e.At > len(items) {
		return d.count("moves", e.At, len(items)+1)
	}
	list, at := lookUp(d.root, "moves"), 0
	switch {
	case list == nil || isNull(list):
		return d.firstStep(list, step)
	case list.Kind != yaml.SequenceNode:
		if err := d.plain(list, "moves"); err != nil {
			return err
		}
		return d.failAt(list, "moves", "what is no list", "a list of moves")
	case len(items) == 0: // the list is empty, or its choices are
		at = len(list.Content)
	case e.At < len(items) && items[e.At].outer == nil:
		at = items[e.At].at
	case e.At == len(items):
		at = len(list.Content)
	case e.At > 0 && items[e.At-1].outer == nil:
		at = items[e.At-1].at + 1
	case e.At == 0 || items[e.At-1].outerAt != items[e.At].outerAt:
		at = items[e.At].outerAt
	case items[e.At].list == items[e.At-1].list: // inside an alternative
		list, at = items[e.At].list, items[e.At].at
	}
	if err := d.plain(list, "moves"); err != nil {
		return err
	}
	d.insert(list, at, []entry{{step}}, []string{d.stepText(list, at, step)})
	return nil
}

// stepText writes a step as the one beside it in a list is written.
func (d *document) stepText(list *yaml.Node, at int, step *yaml.Node) string {
	name, options := step.Content[0], step.Content[1]
	if isFlow(list) {
		return flowText(step)
	}
	var beside *yaml.Node
	for _, i := range []int{at - 1, at, at - 2, at + 1} {
		if i >= 0 && i < len(list.Content) && !isChoice(list.Content[i]) && list.Content[i].Kind == yaml.MappingNode {
			beside = list.Content[i]
			break
		}
	}
	if beside != nil && isFlow(beside) {
		return flowText(step)
	}
	head := quoted(name.Value) + ":"
	if beside == nil || len(beside.Content) != 2 || isFlow(beside.Content[1]) || beside.Content[1].Kind != yaml.MappingNode || len(options.Content) == 0 {
		return head + " " + flowText(options)
	}
	var b strings.Builder
	b.WriteString(head)
	for i := 0; i+1 < len(options.Content); i += 2 {
		b.WriteString(d.eol + strings.Repeat(" ", beside.Content[1].Column-1) + quoted(options.Content[i].Value) + ": " + flowText(options.Content[i+1]))
	}
	return b.String()
}

// firstStep writes the step of a recipe that has none. key is the value of its key "moves", which is nothing; nil where it
// has no such key.
func (d *document) firstStep(key, step *yaml.Node) error {
	steps := &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle, Content: []*yaml.Node{step}}
	switch {
	case key != nil:
		d.replace(key, steps)
		return nil
	case d.root != nil && d.root.Kind != yaml.MappingNode:
		return d.failAt(d.root, "", "what is no map", "a recipe")
	case d.root != nil && isFlow(d.root):
		d.addKey(d.root, "moves", steps)
		return nil
	}
	raw := "moves:" + d.eol + "  - " + quoted(step.Content[0].Value) + ": " + flowText(step.Content[1])
	if d.root == nil {
		d.root = mapNode(scalarNode("moves"), steps)
		if n := len(d.text); n > 0 && d.lines[len(d.lines)-1] < n && string(d.text) != bom {
			raw = d.eol + raw
		}
		d.splice(len(d.text), len(d.text), raw+d.eol)
		return nil
	}
	d.insert(d.root, count(d.root), []entry{{scalarNode("moves"), steps}}, []string{raw})
	return nil
}

// StepOptions returns the options of a step in use as they are written, each choice by its alternative in use; false where
// there is no such step.
func StepOptions(s Source, step int) (move string, options []Option, ok bool) {
	d, err := read(s)
	if err != nil {
		return "", nil, false
	}
	it, err := d.find("moves", step)
	if err != nil || len(it.node.Content) != 2 || it.node.Content[1].Kind != yaml.MappingNode {
		return "", nil, false
	}
	return it.node.Content[0].Value, d.options(it.node.Content[1]), true
}

// options are the keys of a map with their values, each choice by its alternative in use.
func (d *document) options(n *yaml.Node) (options []Option) {
	pairs := n.Content
	for i := 0; i+1 < len(pairs); i += 2 {
		o := Option{Name: pairs[i].Value}
		switch value := d.use(pairs[i+1]); value.Kind {
		case yaml.SequenceNode:
			o.List = true
			for _, c := range value.Content {
				o.Texts = append(o.Texts, d.use(c).Value)
			}
		default:
			o.Texts = []string{value.Value}
		}
		options = append(options, o)
	}
	return options
}
