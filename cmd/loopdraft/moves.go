package main

import (
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/moves"
	"loopdraft/recipes"
	"loopdraft/recipes/reference"
)

func movesCommand() command {
	return command{
		name:  "moves",
		usage: "[NAME] [flags]",
		brief: "list the moves, or explain one with an example it just ran",
		about: `A move changes a song at places a recipe names. Explained are what it does, its options, and the same bars
before and after it as a grid of steps: x is a hit, X an accent, o a soft hit, - a held note, . a rest.`,
		flags: []cli.Flag{
			&cli.BoolFlag{Name: "json", Usage: "print the list, or the move, as JSON", DisableDefaultText: true},
		},
		min: 0, max: 1, what: "one move at most",
		run: runMoves,
	}
}

func runMoves(c *console, ctx *cli.Context) error {
	if ctx.NArg() == 0 {
		return c.listMoves(ctx.Bool("json"))
	}
	name := ctx.Args().First()
	m, ok := recipes.Catalogue().Lookup(name)
	if !ok {
		names := moveNames()
		return misuse("moves", "found unknown move %q, want one of %s%s", name, listed(names), meant(recipes.Catalogue().Nearest(name)))
	}
	shown, err := runExample(m)
	if err != nil {
		return err
	}
	if ctx.Bool("json") {
		return c.writeJSON(c.out, moveJSON(m, shown))
	}
	var b strings.Builder
	c.explainMove(&b, m, shown)
	return c.write(c.out, b.String())
}

func moveNames() []string {
	var names []string
	for _, m := range recipes.Catalogue() {
		names = append(names, m.Name())
	}
	return names
}

type moveBrief struct {
	Name  string `json:"name"`
	Group string `json:"group"`
	Brief string `json:"brief"`
}

// listMoves prints the moves by group, a line each; groups without moves are left out.
func (c *console) listMoves(asJSON bool) error {
	list := []moveBrief{}
	var b strings.Builder
	for _, group := range moves.Groups() {
		var rows [][]string
		for _, m := range recipes.Catalogue() {
			if m.Group == group {
				rows = append(rows, []string{m.Name(), m.Brief})
				list = append(list, moveBrief{m.Name(), m.Group, m.Brief})
			}
		}
		if len(rows) > 0 {
			b.WriteString(group + "\n")
			table(&b, "  ", rows)
		}
	}
	if asJSON {
		return c.writeJSON(c.out, list)
	}
	return c.write(c.out, b.String())
}

// explainMove prints what a move does, its options and its example.
func (c *console) explainMove(b *strings.Builder, m moves.Move, x example) {
	width := c.width(c.out)
	wrapInto(b, "", "", m.Name()+": "+m.Brief, width)
	for _, paragraph := range strings.Split(m.Doc, "\n") {
		if paragraph == "" {
			continue
		}
		b.WriteByte('\n')
		wrapInto(b, "", "", paragraph, width)
	}
	if options := m.Options(); len(options) > 0 {
		b.WriteString("\nOptions:\n")
		for _, o := range options {
			wrapInto(b, "  ", "      ", o.Name+": "+reference.OptionText(o), width)
		}
	}
	b.WriteString("\nExample:\n  " + x.step + "\n")
	if x.sections != "" {
		b.WriteString("sections: " + x.sections + "\n")
	}
	b.WriteString("before\n" + indented(x.before) + "after\n" + indented(x.after))
	for _, line := range x.events {
		b.WriteString("  " + line + "\n")
	}
}

func indented(grid string) string {
	var b strings.Builder
	for _, line := range strings.Split(strings.TrimRight(grid, "\n"), "\n") {
		b.WriteString("  " + line + "\n")
	}
	return b.String()
}

type optionJSON struct {
	Name     string `json:"name"`
	Doc      string `json:"doc"`
	Want     string `json:"want"`
	Default  string `json:"default"`
	Required bool   `json:"required"`
	List     bool   `json:"list"`
}

type moveResult struct {
	moveBrief
	Doc      string       `json:"doc"`
	Options  []optionJSON `json:"options"`
	Example  string       `json:"example"`
	Sections string       `json:"sections"`
	Before   string       `json:"before"`
	After    string       `json:"after"`
	Events   []string     `json:"events"` // what it wrote besides notes
}

func moveJSON(m moves.Move, x example) moveResult {
	out := moveResult{moveBrief{m.Name(), m.Group, m.Brief}, m.Doc, []optionJSON{}, x.step, x.sections, x.before, x.after, full(x.events)}
	for _, o := range m.Options() {
		out.Options = append(out.Options, optionJSON{o.Name, o.Doc, o.Want, o.Default, o.Required, o.List})
	}
	return out
}
