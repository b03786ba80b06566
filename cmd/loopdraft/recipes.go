package main

import (
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/recipes"
	"loopdraft/recipes/reference"
	"loopdraft/smf/song"
)

func recipesCommand() command {
	return command{
		name:  "recipes",
		usage: "[NAME] [flags]",
		brief: "list the built-in recipes, or print one",
		about: `A printed recipe is a file to start from: change it, and draft with --recipe and its name.
With the schema an editor completes and checks recipes as they are typed.`,
		flags: []cli.Flag{
			&cli.BoolFlag{Name: "json", Usage: "print the list, or the recipe's text, as JSON", DisableDefaultText: true},
			&cli.BoolFlag{Name: "schema", Usage: "print the JSON Schema of a recipe", DisableDefaultText: true},
		},
		min: 0, max: 1, what: "one recipe at most",
		run: runRecipes,
	}
}

type recipeJSON struct {
	Name  string `json:"name"`
	Brief string `json:"brief"`
	Text  string `json:"text,omitempty"` // YAML
}

func runRecipes(c *console, ctx *cli.Context) error {
	if ctx.Bool("schema") {
		if ctx.NArg() > 0 || ctx.Bool("json") {
			return misuse("recipes", "found --schema beside a name or --json, want it alone")
		}
		return c.write(c.out, string(reference.Schema()))
	}
	infos := recipes.Builtins()
	if ctx.NArg() == 1 {
		return c.printRecipe(ctx.Args().First(), infos, ctx.Bool("json"))
	}
	list, rows := []recipeJSON{}, [][]string(nil)
	for _, i := range infos {
		list = append(list, recipeJSON{Name: i.Name, Brief: i.Brief})
		rows = append(rows, []string{i.Name, i.Brief})
	}
	if ctx.Bool("json") {
		return c.writeJSON(c.out, list)
	}
	var b strings.Builder
	table(&b, "", rows)
	return c.write(c.out, b.String())
}

func (c *console) printRecipe(name string, infos []recipes.Info, asJSON bool) error {
	text, ok := recipes.BuiltinText(name)
	if !ok {
		names := recipeNames()
		return misuse("recipes", "found unknown recipe %q, want one of %s%s", name, listed(names), meant(song.Nearest(name, names)))
	}
	if !asJSON {
		return c.write(c.out, string(text))
	}
	j := recipeJSON{Name: name, Text: string(text)}
	for _, i := range infos {
		if i.Name == name {
			j.Brief = i.Brief
		}
	}
	return c.writeJSON(c.out, j)
}
