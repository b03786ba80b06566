package main

import (
	"bytes"
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/urfave/cli/v2"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/picture"
	"loopdraft/smf/song"
)

// maxTakes is the most takes one command makes.
const maxTakes = 99

func draftCommand() command {
	return command{
		name:  "draft",
		usage: "[LOOP...] [flags]",
		brief: "make a track of full length from a loop",
		about: `Reads one MIDI file, or several that are joined (patterns exported one by one), lays the loop out over
the length of the track and carries out a recipe. A file in which the parts of one before it play again is a
loop of its own, which sections play by "loop: b"; a=FILE b=FILE says which loop each file is of, and --join
makes one loop of all; --loops markers finds loops between the markers of one file. LOOP may be left out where
the recipe names its loops. Prints a map of the draft, what was assumed and skipped, and what notes alone cannot
do.

"-" is standard input or output; where the draft goes to standard output, the map goes to standard error.
An existing file is kept unless --force.`,
		flags: []cli.Flag{
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write the draft to `FILE`; otherwise NAME-draft.mid in the working directory"},
			&cli.StringFlag{Name: "recipe", Usage: "carry out `RECIPE`, a built-in one, one of your own or a file; otherwise " + defaultRecipe},
			&cli.StringFlag{Name: "bars", Usage: "make the draft `N` bars long"},
			&cli.StringFlag{Name: "length", Usage: "make the draft about `TIME` long, such as 6m30s: the nearest whole phrases"},
			joinFlag(),
			loopsFlag(),
			&cli.StringFlag{Name: "loop-bars", Usage: "take the first `N` bars as the loop, whatever the files say"},
			&cli.StringFlag{Name: "bpm", Usage: "`N` beats a minute for a loop without a tempo, such as 126 or 126.5"},
			&cli.StringFlag{Name: "metre", Usage: "`N/N` as the metre of a loop without one, such as 7/8"},
			&cli.StringFlag{Name: "seed", Usage: "take `N` as the seed of all choices made by chance"},
			&cli.StringSliceFlag{Name: "choose", Usage: "take alternative `NAME=N` of the choices of a name (as), whatever the take; may be given again"},
			&cli.StringFlag{Name: "takes", Usage: "make `N` drafts that differ in what is chosen by chance: NAME-1.mid, NAME-2.mid ..."},
			&cli.StringFlag{Name: "write-recipe", Usage: "also write the whole draft as a recipe, every choice spelled out, to `FILE`"},
			&cli.StringFlag{Name: "split", Usage: "also write each part to a file of its own in `FOLDER`"},
			&cli.StringFlag{Name: "split-by", Usage: "what --split makes a file of: each `WHAT`, part, track, or section (each part in each section, as long as it); otherwise part"},
			&cli.BoolFlag{Name: "spread", Usage: "put each part on a track of its own in the draft", DisableDefaultText: true},
			&cli.StringFlag{Name: "map", Usage: "also draw the map as a picture into `FILE`, whose name ends in " + or(pictureEndings())},
			asciiFlag(),
			&cli.BoolFlag{Name: "watch", Usage: "make the draft again whenever a loop or the recipe changes, until interrupted", DisableDefaultText: true},
			&cli.BoolFlag{Name: "force", Usage: "replace existing files", DisableDefaultText: true},
			&cli.BoolFlag{Name: "json", Usage: "print what was done as JSON", DisableDefaultText: true},
		},
		min: 0, max: -1, what: wantLoops,
		run: runDraft,
	}
}

const wantLoops = "one MIDI file or more"

// defaultRecipe is carried out unless --recipe names another.
const defaultRecipe = "club"

// draftPlan is a draft command with its flags read.
type draftPlan struct {
	loops   []loopFile
	recipe  string
	options recipes.Options
	takes   int // 0: --takes was not given
	midi    string
	written string // --write-recipe; "" for none
	folder  string // --split; "" for none
	cutting song.Cutting
	spread  bool
	picture string // --map; "" for none
	force   bool
	json    bool
	watches bool
}

func planDraft(c *console, ctx *cli.Context) (draftPlan, error) {
	v := &values{ctx: ctx}
	p := draftPlan{
		loops:   loopFiles(ctx.Args().Slice()),
		recipe:  ctx.String("recipe"),
		takes:   v.count("takes", maxTakes, "takes"),
		midi:    ctx.String("output"),
		written: ctx.String("write-recipe"),
		folder:  ctx.String("split"),
		cutting: v.cutting("split-by"),
		spread:  ctx.Bool("spread"),
		picture: ctx.String("map"),
		force:   ctx.Bool("force"),
		json:    ctx.Bool("json"),
		watches: ctx.Bool("watch"),
	}
	p.options = recipes.Options{
		Bars:     v.count("bars", maxBars, "bars"),
		LoopBars: v.count("loop-bars", maxBars, "bars"),
		BPM:      v.bpm("bpm"),
		Metre:    v.metre("metre"),
		Seed:     v.seed("seed"),
		Choose:   v.choices("choose"),
	}
	bars, micros := v.length("length")
	if v.err != nil {
		return p, v.err
	}
	if ctx.IsSet("bars") && ctx.IsSet("length") {
		return p, misuse("draft", "found --bars and --length, want one of them")
	}
	if ctx.IsSet("split-by") && p.folder == "" {
		return p, misuse("draft", "found --split-by without --split, want --split FOLDER for the files")
	}
	if p.spread && p.cutting == song.ByTrack {
		return p, misuse("draft", "found --spread, by which a part is a track, and --split-by track, want one of them")
	}
	if ctx.IsSet("length") {
		p.options.Bars, p.options.Micros = bars, micros
	}
	if err := checkPicture("draft", "--map", p.picture); err != nil {
		return p, err
	}
	if c.plain = ctx.Bool("ascii"); c.plain && p.json {
		return p, misuse("draft", "found --ascii and --json, want one of them")
	}
	if p.recipe == "" {
		p.recipe = defaultRecipe
	}
	if p.midi == "" {
		p.midi = draftName(p.named())
	}
	var err error
	if p.options.Join, p.options.Marked, err = checkLoops("draft", p.loops, ctx); err != nil {
		return p, err
	}
	return p, p.checkStreams(c)
}

// named is the file that a draft is named after: its first loop's, else the recipe's.
func (p draftPlan) named() string {
	if len(p.loops) > 0 {
		return p.loops[0].file
	}
	return p.recipe
}

// checkStreams refuses what standard input and output cannot hold.
func (p draftPlan) checkStreams(c *console) error {
	stdin := 0
	for _, name := range append([]string{p.recipe}, filesOf(p.loops)...) {
		if name == stream {
			stdin++
		}
	}
	toStdout := p.midi == stream
	if p.watches && (stdin > 0 || toStdout || p.written == stream) {
		return misuse("draft", "found --watch with -, want files")
	}
	if stdin > 1 {
		return misuse("draft", "found - as more than one input, want standard input once")
	}
	if toStdout && p.written == stream {
		return misuse("draft", "found - as the draft and the recipe, want standard output once")
	}
	if (toStdout || p.written == stream) && p.takes > 1 {
		return misuse("draft", "found --takes %d with - as the output, want a file name", p.takes)
	}
	if toStdout {
		if _, terminal := terminalWidth(c.out); terminal {
			return misuse("draft", "standard output: %s", errTerminal)
		}
	}
	return nil
}

// take is one finished draft and the names of its files.
type take struct {
	result  *recipes.Result
	midi    string
	recipe  string
	picture string
	song    song.Song // as it is written
	split   []splitFile
	told    []string // of how it is written
	data    []byte   // the draft as a file
	review  draftReview

	energy form.Energy // without bars where the draft has none
	full   form.Power  // of the loop
}

func runDraft(c *console, ctx *cli.Context) error {
	p, err := planDraft(c, ctx)
	if err != nil {
		return err
	}
	if p.watches {
		return p.watch(c)
	}
	return p.draft(c)
}

// draft makes the draft, or the takes.
func (p draftPlan) draft(c *console) error {
	inputs, sources, err := c.namedLoops("draft", p.loops)
	if err != nil {
		return err
	}
	recipe, src, err := c.recipe(p.recipe)
	switch {
	case err != nil:
		return err
	case len(inputs) == 0 && recipe.Loops == nil:
		return misuse("draft", "found %s, want %s", foundNames(nil), wantLoops)
	case p.options.Join && recipe.Loops != nil:
		return misuse("draft", "found --join and a recipe that names its loops, want one of them")
	case p.options.Marked && recipe.Loops != nil:
		return misuse("draft", "found --loops and a recipe that names its loops, want one of them")
	}
	p.options.Open = c.opener(p.recipe, &sources)
	var takes []take
	c.progress.step("hearing the loop", nil)
	drafts, err := recipes.NewTakes(inputs, recipe, p.options)
	if err != nil {
		return err
	}
	out := &outputs{sources: append(sources, src), force: p.force}
	for i, d := range p.makeTakes(c, drafts, recipe) {
		if d.err != nil {
			return d.err
		}
		otherwise(d.result, p.loops, recipe)
		t, err := p.take(i+1, d, out)
		if err != nil {
			return err
		}
		takes = append(takes, t)
	}
	for _, w := range together(takes, func(t take) []string { return t.result.Warnings }) {
		c.warn(w)
	}
	if len(takes) > 1 && !slices.ContainsFunc(takes, func(t take) bool { return !bytes.Equal(t.data, takes[0].data) }) {
		c.warn("all takes are the same: nothing in this recipe is left to chance")
	}
	report := c.out
	if p.midi == stream || p.written == stream {
		report = c.diagnostics
	}
	if err := out.write(c); err != nil {
		return err
	}
	if p.json {
		return c.writeJSON(report, draftsJSON(takes))
	}
	return c.reportDraft(report, takes)
}

// madeTake is a take before it has files.
type madeTake struct {
	result *recipes.Result
	review draftReview
	energy form.Energy
	full   form.Power
	err    error
}

// makeTakes makes, measures and reviews all takes, as many at a time as there are processors. What each comes to does not
// hang on the others.
func (p draftPlan) makeTakes(c *console, drafts *recipes.Takes, recipe *recipes.Recipe) []madeTake {
	out := make([]madeTake, max(p.takes, 1))
	var workers sync.WaitGroup
	turn := make(chan bool, runtime.GOMAXPROCS(0))
	checks := recipe.Checks()
	for i := range out {
		turn <- true
		workers.Go(func() {
			defer func() { <-turn }()
			d := &out[i]
			c.progress.step(p.at("drafting", i+1), nil)
			if d.result, d.err = drafts.Draft(i + 1); d.err != nil {
				return
			}
			if e, full, err := d.result.Energy(); err == nil {
				d.energy, d.full = e, full
			}
			c.progress.step(p.at("reviewing the draft", i+1), nil)
			d.review = reviewDraft(d.result, checks)
		})
	}
	workers.Wait()
	return out
}

// at is what is done, and for which take where there are several.
func (p draftPlan) at(what string, take int) string {
	if p.takes > 1 {
		what += fmt.Sprintf(", take %d of %d", take, p.takes)
	}
	return what
}

// take names the files of a draft and adds them to the outputs.
func (p draftPlan) take(n int, d madeTake, out *outputs) (take, error) {
	r := d.result
	t := take{result: r, song: r.Song, midi: p.midi, recipe: p.written, picture: p.picture, review: d.review, energy: d.energy, full: d.full}
	mark := func(name string) string {
		if p.takes == 0 || name == "" {
			return name
		}
		return numbered(name, n)
	}
	t.midi, t.recipe, t.picture = mark(t.midi), mark(t.recipe), mark(t.picture)
	file := r.File
	if p.spread {
		var err error
		if t.song, err = r.Song.Spread(); err != nil {
			return t, fmt.Errorf("--spread: %w", err)
		}
		file = t.song.File()
	}
	data, err := file.Encode()
	if err != nil {
		return t, fmt.Errorf("%s: %w", visible(t.midi), err)
	}
	t.data = data
	out.add(t.midi, data, true)
	if t.recipe != "" {
		out.add(t.recipe, r.WriteRecipe(), false)
	}
	if t.picture != "" {
		chart := picture.Chart{Title: title(p.named()), Changes: r.Changes}
		if p.takes > 1 {
			chart.Title = strings.TrimLeft(fmt.Sprintf("%s, take %d", chart.Title, n), ", ")
		}
		chart.Full, chart.Asked, chart.Choices, chart.Loops = t.full, r.Asked(), choices(r), r.LoopTexts()
		data, err := drawPicture(t.picture, r.Song, chart)
		if err != nil {
			return t, err
		}
		out.add(t.picture, data, false)
	}
	if p.folder == "" {
		return t, nil
	}
	folder := p.folder
	if p.takes > 0 {
		folder += "-" + strconv.Itoa(n)
	}
	return t, t.splitInto(folder, p.cutting, out)
}

// choices are the choices that a draft took, of those with a name.
func choices(r *recipes.Result) []string {
	var out []string
	for _, choice := range r.Choices {
		out = append(out, choice.String())
	}
	return out
}

// together gathers lines of several drafts, each once, in order.
func together(takes []take, of func(take) []string) []string {
	var out []string
	known := map[string]bool{}
	for _, t := range takes {
		for _, line := range of(t) {
			if !known[line] {
				known[line] = true
				out = append(out, line)
			}
		}
	}
	return out
}

// draftReview is what the review of a draft comes to.
type draftReview struct {
	Done     bool   `json:"done"` // no warning and no fault is left
	Text     string `json:"text"`
	Faults   int    `json:"faults"`
	Warnings int    `json:"warnings"`
	Notes    int    `json:"notes"`

	texts []string // of the faults and warnings
}

// reviewDraft holds a draft against rules.
func reviewDraft(r *recipes.Result, by []review.Check) draftReview {
	found, err := review.Review(r.ToReview(), review.Options{Checks: by, Level: review.Warn, Bare: true})
	if err != nil {
		return draftReview{Text: "not reviewed: " + err.Error()}
	}
	out := draftReview{Done: found.Verdict.Done, Text: found.Verdict.Text}
	for _, f := range found.Findings {
		switch f.Level {
		case review.Fault:
			out.Faults++
		case review.Warn:
			out.Warnings++
		default:
			out.Notes++
		}
		if f.Level >= review.Warn {
			out.texts = append(out.texts, f.Text)
		}
	}
	return out
}

// fewFindings is how many findings of a draft are printed themselves; more are counted.
const fewFindings = 3

// verdicts are the verdicts on drafts, with the files they are about where there are several.
func verdicts(takes []take) []string {
	var out []string
	for _, t := range takes {
		text := t.review.Text
		if n := t.review.Faults + t.review.Warnings; n > 0 && t.midi != stream {
			text = fmt.Sprintf("not yet: %s, see loopdraft review %s", counted(n, "finding"), shown(t.midi))
			if n <= fewFindings {
				out = append(append(out, text), t.review.texts...)
				continue
			}
		} else if len(takes) > 1 {
			text = shown(t.midi) + ": " + text
		}
		out = append(out, text)
	}
	return out
}
