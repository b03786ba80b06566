package recipes

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/remark"
	"loopdraft/recipes/wording"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Input is a loop file.
type Input struct {
	Name string // the file's name, with a path or without
	File *smf.File
	Loop string // the loop that it is of, a name by [IsLoopName]; several of a name are joined. "": it is found out
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
	Join     bool      // inputs without the name of a loop are joined to one, whatever they play
	Marked   bool      // the stretches from marker to marker of the one input are the loops, those of 2 bars or more
	Choose   []Choice  // alternatives that are taken whatever seed and take say; each name once
	Taken    []int     // the same of choices in file order, from 0, as a [Result] has them: an edited recipe keeps its alternatives by it. Choose comes first; what is past the last alternative is the last

	Open func(path string) (*smf.File, error) // opens a file that the recipe names, as it stands there; nil: none can be opened

	Text func(remark.Remark) string // makes text of remarks, and decides nothing; nil: [wording.Text]
}

// Result is a draft.
type Result struct {
	Song     song.Song      // the track
	File     *smf.File      // the track as a file
	Loop     song.Song      // the loop as it was found and heard
	LoopBars int            // its length in bars, of several loops that of the first; 0 where the file has no common bars
	Loops    []song.Stretch // where several loops lie on Loop, with their names; nil: there is one
	Heard    []listen.Heard
	Choices  []Choice // that were made, of those with a name, in the recipe's order
	Ways     []Way    // all choices, with a name or without, in the recipe's order
	Taken    []int    // the alternatives that were taken, from 0, of all choices in file order

	Told     []string      // what was assumed and skipped
	Warnings []string      // what is likely not meant
	Plan     []string      // the sections, where their lengths are not the recipe's
	Changes  []song.Change // the trace; Step is the index in the recipe's moves
	Todo     []string      // what notes alone cannot do and is left to the producer

	made made
}

// made is what each phase of a draft gave to those after it.
type made struct {
	order *order
	loop  foundLoop
	laid  laidLoop
	plays lineUp
	found *found // nil where no section has an energy
	steps *stepping
}

// Draft carries out a recipe on loops. An empty recipe without options gives the file back, event for
// event; several files that complete each other are joined to one first. Of several loops each section plays one, see
// [SectionSpec]; one that has under half of the first one's parts is laid over that. A mistake of the recipe is an [*Errors], every other
// error is one line. Inputs and recipe are not written to.
func Draft(inputs []Input, r *Recipe, o Options) (*Result, error) {
	t, err := NewTakes(inputs, r, o)
	if err != nil {
		return nil, err
	}
	return t.Draft(o.Take)
}

// Takes are the drafts that differ by their take alone. What they have in common is made once: the loop is found and
// heard before the first of them.
type Takes struct {
	order order
	loop  foundLoop // without the choices of a take
}

// NewTakes finds and hears the loops for all takes of a draft; the take that the options name does not count. Errors are
// those of [Draft].
func NewTakes(inputs []Input, r *Recipe, o Options) (*Takes, error) {
	a, err := newOrder(inputs, r, o)
	if err != nil {
		return nil, err
	}
	given, err := a.given(inputs)
	if err != nil {
		return nil, err
	}
	t := &Takes{}
	switch {
	case len(given) == 1:
		var files joined
		if files, err = a.join(given[0]); err == nil {
			t.loop, err = a.hear(given[0], files, a.looksForLoop())
		}
	case len(r.Sections) == 0:
		err = errNoSections(len(given))
	default:
		t.loop, err = a.hearLoops(given)
	}
	t.loop.letGo()
	t.order = *a
	return t, err
}

// Draft makes take k, from 1; 0 is 1. It changes nothing that another take is made of.
func (t *Takes) Draft(take int) (*Result, error) {
	if take < 0 {
		return nil, errTake(take)
	}
	a := t.order.forTake(take)
	m := made{order: a, loop: t.loop}
	if err := a.finishHearing(&m.loop); err != nil {
		return nil, err
	}
	laid, err := a.layOut(m.loop)
	if err != nil {
		return nil, cmp.Or(a.err(), err)
	}
	a.tell(a.taken.told...)
	lined, err := a.lineUp(m.loop, laid)
	if err != nil {
		return nil, err
	}
	m.laid, m.plays, m.found = lined.laid, lined.plays, lined.found
	m.steps = newStepping(a, m.loop, m.laid, lined)
	m.steps.all(lined)
	if err := a.err(); err != nil {
		return nil, err
	}
	m.steps.checkEnergies(lined.found)
	m.steps.env.Strikes, m.steps.env.Preparer, m.steps.room = nil, nil, song.Room{} // nobody asks them any more
	return m.result(lined), nil
}

// Hear finds the loop in the inputs and hears its parts, with what the recipe and the options say of
// both; it arranges nothing. Song and Loop of the result are the loop, File is nil. Of files without
// common bars the parts are heard all the same.
func Hear(inputs []Input, r *Recipe, o Options) (*Result, error) {
	a, err := newOrder(inputs, r, o)
	if err != nil {
		return nil, err
	}
	given, err := a.given(inputs)
	if err != nil {
		return nil, err
	}
	var loop foundLoop
	if len(given) == 1 {
		files, e := a.join(given[0])
		if e != nil {
			return nil, e
		}
		_, _, timeErr := files.file.Timeline()
		loop, err = a.hear(given[0], files, timeErr == nil)
	} else {
		loop, err = a.hearLoops(given)
	}
	if err == nil {
		a = a.forTake(o.Take)
		err = a.finishHearing(&loop)
	}
	if err := cmp.Or(err, a.err()); err != nil {
		return nil, err
	}
	return &Result{
		Song: loop.song, Loop: loop.song, LoopBars: loop.bars, Loops: loop.loops, Heard: loop.report.Parts,
		Told: a.told, Warnings: a.warnings, made: made{order: a, loop: loop},
	}, nil
}

// LoopsOf returns which of several loops a part of Loop has notes in, from 0.
func (r *Result) LoopsOf(part int) []int {
	var out []int
	for k := range r.Loops {
		if r.made.loop.plays(part, k) {
			out = append(out, k)
		}
	}
	return out
}

// LoopTexts says of each of several loops what it is, such as "b is break.mid".
func (r *Result) LoopTexts() []string {
	if len(r.Loops) < 2 {
		return nil
	}
	var out []string
	for _, g := range r.made.loop.given {
		out = append(out, g.String())
	}
	return out
}

// order is what a draft is asked for: a recipe, overruled by options. It gathers what there is to say on
// the way.
type order struct {
	r    *Recipe
	o    Options
	seed uint64

	mistakes
	shared   *shared
	leftOut  []int  // the entries of "parts:" with mistakes
	only     string // the name of the loop where there is one; "": it has none, or there are several
	taken    taken
	told     []string
	warnings []string
	warned   map[string]bool // the warnings; nil: it is made when it is asked for
}

func newOrder(inputs []Input, r *Recipe, o Options) (*order, error) {
	switch {
	case len(inputs) == 0 && len(r.Loops) == 0:
		return nil, errors.New("found no loop, want one or more")
	case o.Bars < 0 || o.Bars > song.MaxBars:
		return nil, fmt.Errorf("found a length of %d bars, want 1 to %d", o.Bars, song.MaxBars)
	case o.Micros < 0 || o.Bars > 0 && o.Micros > 0:
		return nil, errors.New("found a length in bars and another in minutes, want one")
	case o.LoopBars < 0 || o.LoopBars > song.MaxBars:
		return nil, fmt.Errorf("found a loop of %d bars, want 1 to %d", o.LoopBars, song.MaxBars)
	case o.Take < 0:
		return nil, errTake(o.Take)
	}
	if o.Text == nil {
		o.Text = wording.Text
	}
	a := &order{r: r, o: o, seed: r.Seed, shared: newShared(r), mistakes: mistakes{file: r.File, lines: r.lines}}
	if o.Seed != nil {
		a.seed = *o.Seed
	}
	return a, cmp.Or(r.checkHeld(o.Choose), checkSteps(r))
}

// forTake returns the order for a take: what it gathers from here on is its own.
func (a order) forTake(take int) *order {
	a.seed += uint64(max(take, 1) - 1)
	a.told, a.warnings, a.leftOut, a.errs = slices.Clip(a.told), slices.Clip(a.warnings), slices.Clip(a.leftOut), slices.Clip(a.errs)
	a.warned = nil
	return &a
}

func errTake(take int) error { return fmt.Errorf("found take %d, want 1 or more", take) }

// checkSteps refuses steps that are not what options can be read from.
func checkSteps(r *Recipe) error {
	for i, spec := range r.Moves {
		if !takesOptions(spec.Step) {
			return fmt.Errorf("moves[%d]: found the step %T, want a pointer to a struct of options", i+1, spec.Step)
		}
	}
	return nil
}

// takesOptions tells whether a step is a pointer to a struct.
func takesOptions(step moves.Step) bool {
	of := reflect.ValueOf(step)
	return of.Kind() == reflect.Pointer && !of.IsNil() && of.Elem().Kind() == reflect.Struct
}

func (a *order) tell(lines ...string) {
	for _, s := range lines {
		if !slices.Contains(a.told, s) {
			a.told = append(a.told, s)
		}
	}
}

// remark tells remarks.
func (a *order) remark(remarks ...remark.Remark) {
	for _, r := range remarks {
		a.tell(a.o.Text(r))
	}
}

func (a *order) warn(line string) {
	if a.warned == nil {
		a.warned = map[string]bool{}
		for _, w := range a.warnings {
			a.warned[w] = true
		}
	}
	if !a.warned[line] {
		a.warned[line] = true
		a.warnings = append(a.warnings, line)
	}
}

// looksForLoop tells whether anything asks for the loop in the file. Without length, sections and
// extend the file is taken as it is.
func (a *order) looksForLoop() bool {
	r, o := a.r, a.o
	return a.hasLength() || a.extends() || r.Loop > 0 || r.BPM > 0 || r.Metre != (smf.Metre{}) ||
		o.LoopBars > 0 || o.BPM > 0 || o.Metre != (smf.Metre{})
}

func (a *order) hasLength() bool {
	return a.r.hasLength() || a.o.Bars > 0 || a.o.Micros > 0 || a.r.choices != nil && a.r.choices.arranges
}

func (a *order) extends() bool {
	return a.r.choices != nil && a.r.choices.extends || slices.ContainsFunc(a.r.Moves, func(s StepSpec) bool { _, is := s.Step.(*moves.Extend); return is })
}
