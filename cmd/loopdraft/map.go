package main

import (
	"fmt"
	"math"
	"strings"

	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/picture"
	"loopdraft/smf/song"

	"github.com/urfave/cli/v2"
)

func mapCommand() command {
	return command{
		name:  "map",
		usage: "FILE [flags]",
		brief: "show a song: what plays where",
		about: `A row for each part, a column for each phrase or less. The higher the mark, the more the part does there.
The last row has a dot where a phrase begins with a change, and an upright line where more changes or is
prepared there than in most places: a stretch of its own begins. Markers on bar lines are shown as
sections. The map is as wide as the terminal, else as COLUMNS says, else 80 columns.

With --recipe the moves of a recipe are shown where it has them; of composite moves only a recipe that was
written out (draft --write-recipe) has the steps. Of several loops it shows where each plays; of a section
that plays one over another only such a recipe says which parts play which.

With -o the map is drawn as a picture instead: an .svg, which follows the reader's choice of a light or
dark background, a .png, or an .html, a page that also plays the song with plain sounds of its own.`,
		flags: []cli.Flag{
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "draw a picture into `FILE`, whose name ends in " + or(pictureEndings())},
			&cli.StringFlag{Name: "recipe", Usage: "also show where the moves of `RECIPE` stand in the song, which was made by it"},
			&cli.BoolFlag{Name: "force", Usage: "replace an existing file", DisableDefaultText: true},
			asciiFlag(),
			&cli.BoolFlag{Name: "json", Usage: "print sections, parts, and what is heard in each bar as JSON", DisableDefaultText: true},
		},
		min: 1, max: 1, what: "one MIDI file",
		run: runMap,
	}
}

func runMap(c *console, ctx *cli.Context) error {
	name := ctx.String("output")
	if err := checkPicture("map", "--output", name); err != nil {
		return err
	}
	if name != "" && ctx.Bool("json") {
		return misuse("map", "found --json and --output, want one of them")
	}
	c.plain = ctx.Bool("ascii")
	if c.plain && (name != "" || ctx.Bool("json")) {
		return misuse("map", "found --ascii with --output or --json, want it alone")
	}
	if name == "" && ctx.Bool("force") {
		return misuse("map", "found --force without --output, want both or neither")
	}
	if ctx.IsSet("recipe") && ctx.Bool("json") {
		return misuse("map", "found --json and --recipe, want one of them")
	}
	if ctx.String("recipe") == stream && ctx.Args().First() == stream {
		return misuse("map", "found - as more than one input, want standard input once")
	}
	inputs, sources, err := c.loops("map", ctx.Args().Slice())
	if err != nil {
		return err
	}
	made := &recipes.Recipe{}
	if by := ctx.String("recipe"); by != "" {
		var src source
		if made, src, err = c.recipe(by); err != nil {
			return err
		}
		sources = append(sources, src)
	}
	c.progress.step("hearing "+sources[0].name, nil)
	// An empty recipe leaves the song as it is and names its parts.
	r, err := recipes.Draft(inputs, &recipes.Recipe{}, recipes.Options{})
	if err != nil {
		return err
	}
	s := r.Song
	if s.Time() == nil {
		return fmt.Errorf("%s: found no common bars (format 2 or SMPTE time), want a song in bars", sources[0].name)
	}
	var o picture.Options
	st, err := form.StructureOf(s, 0)
	switch {
	case err == nil:
		s = s.WithSections(st.Sections)
		o.Structure = &st
	case s.Bars() > 0: // of none the map itself says so
		err = fmt.Errorf("%s: %w", sources[0].name, err)
		if ctx.Bool("json") {
			return err
		}
		c.warn(err.Error())
		s = s.WithSections(s.MarkedSections())
	}
	o.Changes = recipes.MovesIn(made, s)
	if name != "" {
		c.progress.step("drawing "+visible(name), nil)
		data, err := drawPicture(name, s, picture.Chart{Title: title(ctx.Args().First()), Structure: o.Structure, Changes: o.Changes})
		if err != nil {
			return err
		}
		out := &outputs{sources: sources, force: ctx.Bool("force")}
		out.add(name, data, false)
		if err := out.write(c); err != nil {
			return err
		}
		return c.write(c.out, visible(name)+"\n")
	}
	if ctx.Bool("json") {
		return c.writeJSON(c.out, mapJSON(s, st))
	}
	var b strings.Builder
	if err := c.drawMap(&b, c.out, s, o); err != nil {
		return err
	}
	b.WriteByte('\n')
	c.list(&b, c.out, "Loops", loopLines(s, o.Changes))
	if o.Structure != nil {
		c.list(&b, c.out, "Energy", energyLines(s, st.Energy, st.Energy.Full(form.FullPhrase), songEnergy))
	}
	return c.write(c.out, strings.TrimRight(b.String(), "\n")+"\n")
}

// mapResult is a song and its bars. Lists up to the phrase have an entry for each bar.
type mapResult struct {
	songJSON
	Start      []float64  `json:"start"`    // of the bar, in seconds
	Sounding   [][]string `json:"sounding"` // names of the parts that sound
	Energy     []float64  `json:"energy"`   // loudness as a share of the loudest bar's, 0..1
	Low        []float64  `json:"low"`      // shares of the power below 150 Hz, up to 2.5 kHz, and above
	Mid        []float64  `json:"mid"`
	High       []float64  `json:"high"`
	Strength   []float64  `json:"strength"` // of the change at the bar's start, 0..1
	Phrase     int        `json:"phrase"`   // bars from line to line
	Lines      []lineJSON `json:"lines"`
	Boundaries []int      `json:"boundaries"` // bars, from 1, at which a stretch of its own begins
}

// lineJSON is the start of a phrase.
type lineJSON struct {
	Bar       int              `json:"bar"` // from 1
	Changes   []lineChangeJSON `json:"changes"`
	Preparing []string         `json:"preparing"` // names of the parts that prepare it
}

type lineChangeJSON struct {
	Part string `json:"part"`
	What string `json:"what"` // "in or out", "onsets", "level", "places", "register" or "controller"
}

func mapJSON(s song.Song, st form.Structure) mapResult {
	bars := func() []float64 { return make([]float64, 0, len(st.Bars)) }
	out := mapResult{
		songJSON: songOf(s), Start: bars(), Sounding: [][]string{}, Energy: bars(), Low: bars(), Mid: bars(), High: bars(),
		Strength: bars(), Phrase: st.Phrase, Lines: []lineJSON{}, Boundaries: full(st.Boundaries),
	}
	names := func(parts []int) []string {
		out := []string{}
		for _, p := range parts {
			out = append(out, s.Parts[p].Name)
		}
		return out
	}
	out.tellEnergy(s, st.Energy, st.Energy.Full(form.FullPhrase))
	loudest := st.Energy.Loudest()
	tl := s.Time()
	for i, b := range st.Bars {
		e := st.Energy.Bars[i]
		out.Start = append(out.Start, float64(tl.Micros(tl.BarStart(i+1)))/1e6)
		out.Sounding = append(out.Sounding, names(b.Parts))
		out.Energy, out.Strength = append(out.Energy, float64(e.Sum().Share(loudest))/1000), append(out.Strength, b.Strength)
		share := func(band int) float64 { return rounded(float64(e[band]) / float64(max(e.Sum(), 1))) }
		out.Low, out.Mid, out.High = append(out.Low, share(0)), append(out.Mid, share(1)), append(out.High, share(2))
		if !b.Line {
			continue
		}
		line := lineJSON{i + 1, []lineChangeJSON{}, names(b.Preparing)}
		for _, c := range b.Changes {
			line.Changes = append(line.Changes, lineChangeJSON{s.Parts[c.Part].Name, c.What})
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// rounded leaves off the digits that may differ between processors.
func rounded(v float64) float64 { return math.Round(1e4*v) / 1e4 }
