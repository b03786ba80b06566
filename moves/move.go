package moves

import (
	"strings"

	"loopdraft/moves/option"
)

// Move is an entry of a catalogue.
type Move struct {
	Group   string
	Brief   string         // one line that starts with a verb, without a full stop
	Doc     string         // what it does and what happens at the edges
	New     func() Step    // with its defaults, which live here and nowhere else
	Example func() Example // made when asked for: few runs need it
}

// Name returns the name of the move, which its steps bear.
func (m Move) Name() string { return m.New().Name() }

// Options returns the options of a move in the order they are listed.
func (m Move) Options() []option.Option { return option.Of(m.New()) }

// OptionNames returns the names of the options in the order they are listed.
func (m Move) OptionNames() []string { return option.Names(m.New()) }

// Option describes one option; false if the move has none of this name.
func (m Move) Option(name string) (option.Option, bool) { return option.Find(m.New(), name) }

// Want says what is valid for an option; "" if the move has none of this name.
func (m Move) Want(name string) string { return option.Want(m.New(), name) }

// Set sets an option of a step from text, an item each where a list was given. An unknown option
// and a value that is not valid are a [*option.Mistake].
func (m Move) Set(step Step, name string, texts []string, isList bool) error {
	return option.Set(step, name, texts, isList)
}

// Given returns the options of a step that differ from the move's defaults, in their order: the
// step in canonical text.
func (m Move) Given(step Step) []option.Given { return option.GivenOf(step, m.New()) }

// Missing returns the names of the required options that a step leaves out.
func (m Move) Missing(step Step) []string { return option.Missing(step) }

// Text returns a step in canonical text, as a recipe would have it on one line.
func (m Move) Text(step Step) string {
	var b strings.Builder
	b.WriteString(m.Name() + ": {")
	for i, g := range m.Given(step) {
		if i > 0 {
			b.WriteString(", ")
		}
		text := strings.Join(g.Texts, ", ")
		if g.List {
			text = "[" + text + "]"
		}
		b.WriteString(g.Name + ": " + text)
	}
	b.WriteString("}")
	return b.String()
}
