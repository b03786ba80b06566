package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// loopFile is a loop file of a command line.
type loopFile struct {
	loop string // the loop that it is of, "" if nothing says
	file string
}

// loopFiles reads FILE and NAME=FILE. A file that is called so as a whole is that file; "~/" after "=" is the home
// folder, which a shell sees only at the start of a word.
func loopFiles(words []string) []loopFile {
	var out []loopFile
	for _, word := range words {
		l := loopFile{file: word}
		if name, file, named := strings.Cut(word, "="); named && file != "" && recipes.IsLoopName(name) {
			if _, err := os.Stat(word); errors.Is(err, fs.ErrNotExist) {
				l = loopFile{name, file}
				if rest, ok := strings.CutPrefix(file, "~/"); ok {
					if home, err := os.UserHomeDir(); err == nil {
						l.file = filepath.Join(home, rest)
					}
				}
			}
		}
		out = append(out, l)
	}
	return out
}

// filesOf returns the files of loops.
func filesOf(loops []loopFile) []string {
	var out []string
	for _, l := range loops {
		out = append(out, l.file)
	}
	return out
}

// namedLoops reads loop files with the names of their loops.
func (c *console) namedLoops(command string, loops []loopFile) ([]recipes.Input, []source, error) {
	inputs, sources, err := c.loops(command, filesOf(loops))
	for i := range inputs {
		inputs[i].Loop = loops[i].loop
	}
	return inputs, sources, err
}

// joinFlag joins loops that would be taken apart.
func joinFlag() cli.Flag {
	return &cli.BoolFlag{Name: "join", Usage: "join all files to one loop, also those that look like loops of their own", DisableDefaultText: true}
}

// loopsFlag says how one file holds several loops.
func loopsFlag() cli.Flag {
	return &cli.StringFlag{Name: "loops", Usage: "`" + byMarkers + "`: each stretch of the one file from a marker on a bar line to the next is a loop of that name, from 2 bars on"}
}

// byMarkers is the one value of --loops.
const byMarkers = "markers"

// checkLoops refuses --join and --loops beside loops that they do not fit.
func checkLoops(command string, loops []loopFile, ctx *cli.Context) (join, marked bool, err error) {
	join, marked = ctx.Bool("join"), ctx.IsSet("loops")
	named := slices.ContainsFunc(loops, func(l loopFile) bool { return l.loop != "" })
	switch value := ctx.String("loops"); {
	case marked && value != byMarkers:
		err = misuse(command, "--loops: found %q, want %s%s", value, byMarkers, meant(song.Nearest(value, []string{byMarkers})))
	case marked && join:
		err = misuse(command, "found --join and --loops, want one of them")
	case named && join:
		err = misuse(command, "found --join and a loop with a name, want one of them")
	case named && marked:
		err = misuse(command, "found --loops and a loop with a name, want one of them")
	case marked && len(loops) != 1:
		err = misuse(command, "found --loops and %s, want one file whose markers say what its loops are", counted(len(loops), "file"))
	}
	return join, marked, err
}

// otherwise says how to have it another way where files were found to be loops of their own.
func otherwise(r *recipes.Result, loops []loopFile, recipe *recipes.Recipe) {
	named := slices.ContainsFunc(loops, func(l loopFile) bool { return l.loop != "" })
	if len(r.Loops) > 1 && len(loops) > 1 && !named && recipe.Loops == nil {
		r.Told = append(r.Told, "--join makes one loop of all files; a=FILE b=FILE says which loop each is of")
	}
}

// loopLines says of each section in which more than one loop is heard which parts play which. A part that plays one after
// the other stands with both. Where changes leave open which of two a part plays, nothing is said of the section.
func loopLines(s song.Song, changes []song.Change) []string {
	var out []string
	for i, section := range song.SectionNames(s.Sections) {
		over := []song.Range{s.SectionRange(s.Sections[i])}
		var texts []string
		open := false
		heard := map[string][]song.Range{} // by part, of the loops before
		for _, loop := range loopsOf(changes) {
			var parts []string
			for _, p := range s.Parts {
				var here []song.Range
				for _, c := range changes {
					if c.Move == loop && slices.Contains(c.Parts, p.Name) {
						here = append(here, song.Intersect(song.Union(slices.Clone(c.Ranges)), over)...)
					}
				}
				if len(here) > 0 {
					open = open || len(song.Intersect(here, heard[p.Name])) > 0
					heard[p.Name] = song.Union(append(heard[p.Name], here...))
					parts = append(parts, p.Name)
				}
			}
			if len(parts) > 0 {
				texts = append(texts, strings.TrimPrefix(loop, loopMove)+" in "+listed(parts))
			}
		}
		if len(texts) > 1 && !open {
			out = append(out, section+": "+strings.Join(texts, "; "))
		}
	}
	return out
}

// loopMove is what changes that say where a loop is heard begin with.
const loopMove = "loop "

// loopsOf returns the names of such changes, each once.
func loopsOf(changes []song.Change) []string {
	var out []string
	for _, c := range changes {
		if strings.HasPrefix(c.Move, loopMove) && !slices.Contains(out, c.Move) {
			out = append(out, c.Move)
		}
	}
	return out
}

// opener returns what opens the files of a recipe's loops, which lie beside it, and notes what it read.
func (c *console) opener(recipe string, sources *[]source) func(path string) (*smf.File, error) {
	folder := filepath.Dir(recipeFile(recipe))
	return func(path string) (*smf.File, error) {
		inputs, read, err := c.loops("draft", []string{filepath.Join(folder, filepath.FromSlash(path))})
		if err != nil {
			return nil, err
		}
		*sources = append(*sources, read...)
		return inputs[0].File, nil
	}
}

// recipeFile returns the file of a recipe that is no built-in one.
func recipeFile(name string) string {
	if file, ok := ownRecipe(name); ok {
		return file
	}
	return name
}

// besideRecipe returns the files of a recipe's loops.
func besideRecipe(name string, r *recipes.Recipe) []string {
	var out []string
	for _, l := range r.Loops {
		for _, file := range l.Files {
			out = append(out, filepath.Join(filepath.Dir(recipeFile(name)), filepath.FromSlash(file)))
		}
	}
	return out
}
