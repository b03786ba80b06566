package main

import (
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/recipes"
)

func mapCommand() command {
	return command{
		name:  "map",
		usage: "FILE [flags]",
		brief: "show a song: what plays where",
		about: `A row for each part, a column for each phrase or less. The higher the mark, the more the part does there.
Markers on bar lines are shown as sections. The map is as wide as the terminal, else as COLUMNS says, else
80 columns.`,
		flags: []cli.Flag{
			&cli.BoolFlag{Name: "json", Usage: "print sections and parts as JSON", DisableDefaultText: true},
		},
		min: 1, max: 1, what: "one MIDI file",
		run: runMap,
	}
}

func runMap(c *console, ctx *cli.Context) error {
	inputs, sources, err := c.loops("map", ctx.Args().Slice())
	if err != nil {
		return err
	}
	// An empty recipe leaves the song as it is and names its parts.
	r, err := recipes.Draft(inputs, &recipes.Recipe{}, recipes.Options{})
	if err != nil {
		return err
	}
	s := r.Song
	if s.Time() == nil {
		return fmt.Errorf("%s: found no common bars (format 2 or SMPTE time), want a song in bars", sources[0].name)
	}
	if len(s.Sections) == 0 {
		s = s.WithSections(s.MarkedSections())
	}
	if ctx.Bool("json") {
		return writeJSON(c.out, songOf(s))
	}
	var b strings.Builder
	if err := c.drawMap(&b, c.out, s, nil); err != nil {
		return err
	}
	return write(c.out, b.String())
}
