package main

import (
	"path/filepath"
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
		brief: "list the recipes, or print one",
		about: `A printed recipe is a file to start from: change it, and draft with --recipe and its name. Files NAME.yaml in
the folder loopdraft/recipes of your configuration are listed apart and found by --recipe NAME from anywhere.
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
	File  string `json:"file,omitempty"` // of one of the user's own
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
	own := ownRecipes()
	for _, i := range infos {
		list = append(list, recipeJSON{Name: i.Name, Brief: i.Brief})
		rows = append(rows, []string{i.Name, i.Brief})
	}
	if ctx.Bool("json") {
		for _, name := range own {
			list = append(list, recipeJSON{Name: name, File: filepath.Join(ownFolder(), name+ownEnding)})
		}
		return c.writeJSON(c.out, list)
	}
	var b strings.Builder
	table(&b, "", rows)
	if len(own) > 0 {
		b.WriteString("\nYour own, in " + visible(ownFolder()) + ":\n")
		for _, name := range own {
			b.WriteString("  " + visible(name) + "\n")
		}
	}
	return c.write(c.out, b.String())
}

func (c *console) printRecipe(name string, infos []recipes.Info, asJSON bool) error {
	text, ok := recipes.BuiltinText(name)
	file, own := "", false
	if !ok {
		file, own = ownRecipe(name)
	}
	if own {
		src, err := c.read(file, kind{"a recipe file", recipes.MaxBytes, nil})
		if err != nil {
			return err
		}
		text, ok = src.data, true
	}
	if !ok {
		names := recipeNames()
		return misuse("recipes", "found unknown recipe %q, want one of %s%s", name, listed(names), meant(song.Nearest(name, names)))
	}
	if !asJSON {
		return c.write(c.out, string(text))
	}
	j := recipeJSON{Name: name, File: file, Text: string(text)}
	for _, i := range infos {
		if i.Name == name {
			j.Brief = i.Brief
		}
	}
	return c.writeJSON(c.out, j)
}
