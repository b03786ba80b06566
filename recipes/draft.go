package recipes

import (
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Input is a loop file.
type Input struct {
	Name string // the file's name, with a path or without
	File *smf.File
}

// Options overrule a recipe from outside. The zero value overrules nothing.
type Options struct {
	Bars     int       // length in bars, 1 to 9999; 0: as the recipe says
	Micros   int64     // length as a duration in microseconds, in place of Bars; 0: as the recipe says
	LoopBars int       // length of the loop in bars, 1 to 9999; 0: as the recipe says
	BPM      int64     // tempo of a loop that has none, in thousandths of a beat a minute, 4000 to 999000; 0: as the recipe says
	Metre    smf.Metre // metre of a loop that has none; zero: as the recipe says
	Seed     *uint64   // nil: the recipe's
	Take     int       // from 1; take k draws its choices with the seed + k - 1; 0: 1
}

// Result is a draft.
type Result struct {
	Song     song.Song // the track
	File     *smf.File // the track as a file
	Loop     song.Song // the loop as it was found and heard
	LoopBars int       // its length in bars; 0 where the file has no common bars
	Heard    []listen.Heard

	Told     []string      // what was assumed and skipped
	Warnings []string      // what is likely not meant
	Plan     []string      // the sections, where their lengths are not the recipe's
	Changes  []song.Change // the trace; Step is the index in the recipe's moves
	Todo     []string      // what notes alone cannot do and is left to the producer

	draft *drafter
}

// drafter carries out a recipe.
type drafter struct {
	r      *Recipe
	names  []string // of the inputs, without folders
	o      Options
	src    *source // of mistakes
	seed   uint64
	res    *Result
	report listen.Report

	file    *smf.File // the inputs joined
	tracks  []int     // which input each track is of
	loop    listen.Loop
	leftOut []int // the entries of "parts:" with mistakes
	laid    bool  // the loop was laid out over a length
	found   bool  // the loop was looked for in the file
	plan    plan
	plays   lineUp
	steps   []doneStep
	equal   map[string]int // how many steps of a text there were
	env     moves.Env
	in      song.Song // the song so far
}

// doneStep is a step that was carried out, or skipped.
type doneStep struct {
	index   int // in the recipe's moves, -1: ahead of them
	spec    StepSpec
	options []option.Given // spelled out
	skipped string         // why; "" if it was carried out
}

// Draft carries out a recipe on loops. An empty recipe without options gives the file back, event for
// event; several files are joined to one first. A mistake of the recipe is an [*Errors], every other
// error is one line. Inputs and recipe are not written to.
func Draft(inputs []Input, r *Recipe, o Options) (*Result, error) {
	d, err := newDrafter(inputs, r, o)
	if err != nil {
		return nil, err
	}
	if d.found = d.looksForLoop(); d.found {
		err = d.findLoop(inputs)
	} else {
		err = d.asItIs(inputs)
	}
	if err != nil {
		return nil, err
	}
	if err := d.arrange(); err != nil {
		return nil, err
	}
	d.finish()
	return d.res, nil
}

// Hear finds the loop in the inputs and hears its parts, with what the recipe and the options say of
// both; it arranges nothing. Song and Loop of the result are the loop, File is nil. Of files without
// common bars the parts are heard all the same.
func Hear(inputs []Input, r *Recipe, o Options) (*Result, error) {
	d, err := newDrafter(inputs, r, o)
	if err != nil {
		return nil, err
	}
	if _, _, timeErr := d.file.Timeline(); timeErr == nil {
		d.found = true
		err = d.findLoop(inputs)
	} else {
		err = d.asItIs(inputs)
	}
	if err := cmp.Or(err, d.src.err()); err != nil {
		return nil, err
	}
	d.res.Song = d.in
	return d.res, nil
}

func newDrafter(inputs []Input, r *Recipe, o Options) (*drafter, error) {
	switch {
	case len(inputs) == 0:
		return nil, errors.New("found no loop, want one or more")
	case o.Bars < 0 || o.Bars > song.MaxBars:
		return nil, fmt.Errorf("found a length of %d bars, want 1 to %d", o.Bars, song.MaxBars)
	case o.Micros < 0 || o.Bars > 0 && o.Micros > 0:
		return nil, errors.New("found a length in bars and another in minutes, want one")
	case o.LoopBars < 0 || o.LoopBars > song.MaxBars:
		return nil, fmt.Errorf("found a loop of %d bars, want 1 to %d", o.LoopBars, song.MaxBars)
	case o.Take < 0:
		return nil, fmt.Errorf("found take %d, want 1 or more", o.Take)
	}
	d := &drafter{r: r, o: o, res: &Result{}, src: &source{file: r.File}, seed: r.Seed}
	if r.src != nil {
		d.src.lines = r.src.lines
	}
	if o.Seed != nil {
		d.seed = *o.Seed
	}
	d.seed += uint64(max(o.Take, 1) - 1)
	if err := d.join(inputs); err != nil {
		return nil, err
	}
	d.res.draft = d
	return d, nil
}

func (d *drafter) join(inputs []Input) error {
	d.file, d.names = inputs[0].File, baseNames(inputs)
	if len(inputs) > 1 {
		loops := make([]listen.Input, len(inputs))
		for i, in := range inputs {
			loops[i] = listen.Input{Name: in.Name, File: in.File}
		}
		var told []string
		var err error
		if d.file, d.tracks, told, err = listen.Join(loops); err != nil {
			return err
		}
		d.tell(told...)
	}
	if len(d.r.Input) > 0 && !slices.Equal(d.names, d.r.Input) {
		d.warn(fmt.Sprintf("the recipe was written for %s, this is %s", strings.Join(d.r.Input, ", "), strings.Join(d.names, ", ")))
	}
	return nil
}

func baseNames(inputs []Input) []string {
	var out []string
	for _, in := range inputs {
		out = append(out, path.Base(strings.ReplaceAll(in.Name, "\\", "/")))
	}
	return out
}

func (d *drafter) tell(lines ...string) {
	for _, s := range lines {
		if !slices.Contains(d.res.Told, s) {
			d.res.Told = append(d.res.Told, s)
		}
	}
}

func (d *drafter) warn(line string) {
	if !slices.Contains(d.res.Warnings, line) {
		d.res.Warnings = append(d.res.Warnings, line)
	}
}

// looksForLoop tells whether anything asks for the loop in the file. Without length, sections and
// extend the file is taken as it is.
func (d *drafter) looksForLoop() bool {
	r, o := d.r, d.o
	return d.hasLength() || d.extends() || r.Loop > 0 || r.BPM > 0 || r.Metre != (smf.Metre{}) ||
		o.LoopBars > 0 || o.BPM > 0 || o.Metre != (smf.Metre{})
}

func (d *drafter) hasLength() bool {
	return d.r.hasLength() || d.o.Bars > 0 || d.o.Micros > 0
}

func (d *drafter) extends() bool {
	return slices.ContainsFunc(d.r.Moves, func(s StepSpec) bool { return s.Move == "extend" })
}

// readParts calls f, which reads "parts:", until it finds no mistake in them. An entry with a mistake
// is told and left out, so that the mistakes of the rest of the recipe are found too.
func (d *drafter) readParts(f func(overrides []listen.Override) error) error {
	for {
		var overrides []listen.Override
		var entries []int
		for i, p := range d.r.Parts {
			if !slices.Contains(d.leftOut, i) {
				overrides, entries = append(overrides, p.Override), append(entries, i)
			}
		}
		err := f(overrides)
		var mistakes listen.OverrideErrors
		if !errors.As(err, &mistakes) {
			return err
		}
		d.partMistakes(mistakes, entries)
	}
}

// asItIs hears the parts of the file without looking for a loop in it.
func (d *drafter) asItIs(inputs []Input) error {
	if _, _, err := d.file.Timeline(); err != nil && len(d.r.Moves) > 0 {
		return fmt.Errorf("%s: %w; such a file can only be left as it is", strings.Join(d.names, ", "), err)
	}
	s, err := song.From(d.file)
	if err != nil {
		return err
	}
	if err := d.hear(s); err != nil {
		return err
	}
	if d.in.Time() != nil {
		d.res.LoopBars = d.in.Bars()
	}
	return nil
}

// findLoop finds the loop in the file and hears its parts.
func (d *drafter) findLoop(inputs []Input) error {
	o := listen.LoopOptions{InputOfTrack: d.tracks, LoopBars: d.r.Loop, BPM: d.r.BPM, Metre: d.r.Metre}
	for _, in := range inputs {
		o.Names = append(o.Names, in.Name)
	}
	if d.o.LoopBars > 0 {
		o.LoopBars = d.o.LoopBars
	}
	if d.o.BPM > 0 {
		o.BPM = d.o.BPM
	}
	if d.o.Metre != (smf.Metre{}) {
		o.Metre = d.o.Metre
	}
	var file *smf.File
	var loop listen.Loop
	var told []string
	if err := d.readParts(func(overrides []listen.Override) (err error) {
		o.Overrides = overrides
		file, loop, told, err = listen.FindLoop(d.file, o)
		return err
	}); err != nil {
		return err
	}
	d.tell(told...)
	d.loop, d.res.LoopBars = loop, loop.Bars
	s, err := song.From(file)
	if err != nil {
		return err
	}
	return d.hear(s)
}

func (d *drafter) hear(s song.Song) error {
	var heard song.Song
	var report listen.Report
	if err := d.readParts(func(overrides []listen.Override) (err error) {
		heard, report, err = listen.Hear(s, listen.Options{Overrides: overrides, Loop: d.loop})
		return err
	}); err != nil {
		return err
	}
	d.tell(report.Told...)
	heard = d.standFor(heard)
	d.in, d.report = heard, report
	d.res.Loop, d.res.Heard = heard, report.Parts
	return nil
}

// partMistakes puts the mistakes of "parts:" in their places; entries are those that were read.
func (d *drafter) partMistakes(mistakes listen.OverrideErrors, entries []int) {
	for _, e := range mistakes {
		d.leftOut = append(d.leftOut, entries[e.Index])
	}
	for _, e := range mistakes {
		entry := entries[e.Index]
		if e.NotThere && d.mayMean(e.Name, entry) {
			continue
		}
		path, fields := "parts."+e.Name, d.r.Parts[entry].at
		if e.Field != "" {
			path += "." + e.Field
		}
		at := spotOfField(fields, e.Field, e.Item, spotOfField(fields, "", -1, spot{}))
		d.src.fail(at, Error{Path: path, Found: e.Found, Want: e.Want, Hint: e.Hint})
	}
}

// mayMean tells whether a word that means no part may mean one that an entry of "parts:" other than
// this, or any for -1, would make if it had no mistakes.
func (d *drafter) mayMean(text string, this int) bool {
	word, _, _ := strings.Cut(text, " ")
	role, isRole := song.RoleWord(word)
	for _, i := range d.leftOut {
		p := d.r.Parts[i]
		name, _, _ := strings.Cut(p.Name, " ")
		for _, w := range []string{name, p.Role} {
			r, ok := song.RoleWord(w)
			if i != this && (w == word || ok && isRole && r == role) {
				return true
			}
		}
	}
	return false
}

// follows tells whether a mistake may only follow from one in "parts:".
func (d *drafter) follows(err error) bool {
	var m *option.Mistake
	return errors.As(err, &m) && d.mayMean(m.Found, -1)
}

// arrange lays the loop out and carries out line-ups and steps.
func (d *drafter) arrange() error {
	d.env = moves.Env{Loop: d.in, Cycles: d.loop.Cycles, Bars: d.loop.Bars, Phrase: d.r.phrase(), Strict: !d.r.anyLoop()}
	if d.found && (d.hasLength() || !d.extends()) {
		if err := d.lay(); err != nil {
			return cmp.Or(d.src.err(), err)
		}
	}
	d.env.Full = d.in
	var standing []StepSpec
	if len(d.plan.sections) > 0 {
		d.plays = d.lineUps()
		if d.src.err() == nil { // otherwise the steps are still looked at for theirs
			if d.r.anyLoop() {
				standing = d.fillSilence(d.plays)
			}
			marked, err := moves.Run(&d.env, &moves.Mark{}, d.in)
			if err != nil {
				return err
			}
			d.in = marked
			d.carryOut(d.plays)
		}
	}
	for _, spec := range standing {
		d.step(-1, spec)
	}
	d.env.Lined = d.in
	for i, spec := range d.r.Moves {
		d.step(i, spec)
	}
	return d.src.err()
}

// lay lays the loop out over the length.
func (d *drafter) lay() error {
	p := planner{d.r, d.o, d.in.Time(), d.loop.Bars, d.src}
	var err error
	if d.plan, err = p.plan(); err != nil {
		return err
	}
	d.tell(d.plan.told...)
	d.res.Plan = d.plan.lines
	laid, told, err := lay.Lay(lay.Layout{Loop: d.in, Bars: d.loop.Bars, Cycles: d.loop.Cycles, Blocks: d.plan.blocks, Markers: len(d.plan.sections) == 0})
	if err != nil {
		return err
	}
	d.tell(told...)
	d.in, d.laid = laid.WithSections(d.plan.sections), true
	return nil
}
