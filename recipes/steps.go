package recipes

import (
	"errors"
	"fmt"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// step carries out one step; index is its place in the recipe, -1 for one that is not the recipe's.
// After a mistake the song stays as it is, so that the mistakes of later steps are found too.
func (d *drafter) step(index int, spec StepSpec) {
	m, ok := moves.Lookup(spec.Move)
	if !ok {
		d.src.unknown(spec.at, fmt.Sprintf("moves[%d]", index+1), "move", spec.Move, moveNames())
		return
	}
	d.env.Seed = d.stepSeed(index, m.Text(spec.Step))
	if c, ok := spec.Step.(moves.Composer); ok {
		d.composite(index, m, spec, c)
		return
	}
	d.primitive(index, m, spec, "")
}

// composite carries out the steps that a composite move stands for, each as a step of its own.
func (d *drafter) composite(index int, m moves.Move, spec StepSpec, c moves.Composer) {
	env := d.env
	d.env.Warnings = nil
	steps, err := moves.Expand(&d.env, c, d.in)
	if err != nil {
		d.env = env
		d.failed(index, m, spec, err)
		return
	}
	d.stepWarnings(index, spec)
	switch {
	case len(steps) > 0:
	case len(d.env.Told) > len(env.Told):
		d.steps = append(d.steps, doneStep{index: index, spec: spec, skipped: d.env.Told[len(d.env.Told)-1], options: m.Given(spec.Step)})
	default:
		d.skip(index, m, spec, "nothing is left to do")
	}
	for _, s := range steps {
		if part, ok := moves.MoveOf(s); ok {
			d.primitive(index, part, StepSpec{Move: part.Name, Step: s, at: spec.at}, m.Name)
		}
	}
}

// failed notes that a step could not be carried out.
func (d *drafter) failed(index int, m moves.Move, spec StepSpec, err error) {
	if !d.r.anyLoop() {
		d.stepMistakes(index, spec, err)
		return
	}
	// It was written for loops it does not know: what this one cannot do is left out.
	why := strings.ReplaceAll(err.Error(), "\n", "; ") // in one line of a comment
	d.tell(m.Name + " is left out: " + why)
	d.steps = append(d.steps, doneStep{index: index, spec: spec, skipped: why, options: m.Given(spec.Step)})
}

// skip notes that a step has nothing to work on.
func (d *drafter) skip(index int, m moves.Move, spec StepSpec, why string) {
	d.steps = append(d.steps, doneStep{index: index, spec: spec, skipped: why, options: m.Given(spec.Step)})
	if !d.r.anyLoop() {
		d.tell(fmt.Sprintf("%s: skipped, %s", stepPath(index, spec), why))
	}
}

// primitive carries out a step of a move that changes the song itself; within names the composite move
// it is a step of, "" for none.
func (d *drafter) primitive(index int, m moves.Move, spec StepSpec, within string) {
	env := d.env
	d.env.Warnings = nil
	out, err := moves.Run(&d.env, spec.Step, d.in)
	if err != nil {
		d.env = env
		d.failed(index, m, spec, err)
		return
	}
	done := d.spelledOut(m, spec, d.env.Seed, d.in)
	if d.r.anyLoop() && len(d.env.Warnings) > 0 && done.skipped == "" { // a built-in recipe asks for what a loop may not have
		done.skipped = "nothing plays there"
	}
	if d.r.anyLoop() && done.skipped == "" && d.silences(out) {
		done.skipped = "it would leave two bars silent"
	}
	if done.skipped != "" { // it leaves no trace, such as home values of a ride that is nowhere
		d.env = env
		d.skip(index, m, spec, done.skipped)
		return
	}
	done.index = index
	d.steps = append(d.steps, done)
	for i := range d.env.Changes[len(env.Changes):] {
		c := &d.env.Changes[len(env.Changes)+i]
		c.Step, c.Move, c.Within = index, m.Name, within
	}
	d.stepWarnings(index, spec)
	d.env.Warnings = nil
	d.in = out
}

// silences tells whether the step that was just carried out left bars silent that were not, two in a row.
func (d *drafter) silences(out song.Song) bool {
	tl := d.in.Time()
	for _, r := range d.env.Ranges {
		first, last := max(tl.BarOf(r.Start)-1, 1), min(tl.BarOf(r.End-1)+1, d.in.Bars())
		if form.SilentPairs(out, first, last) > form.SilentPairs(d.in, first, last) {
			return true
		}
	}
	return false
}

// stepSeed returns the seed of a step by its text: of equal steps in the recipe each has another.
func (d *drafter) stepSeed(index int, text string) uint64 {
	nth := 0
	if index >= 0 {
		if d.equal == nil {
			d.equal = map[string]int{}
		}
		nth = d.equal[text]
		d.equal[text]++
	}
	return moves.StepSeed(d.seed, text, nth)
}

// stepPath names a step for messages: moves[3].mute is the third.
func stepPath(index int, spec StepSpec) string {
	return fmt.Sprintf("moves[%d].%s", index+1, spec.Move)
}

// stepWarnings notes what a step warned of, with its place. A built-in recipe is written for loops
// it does not know: that a step finds nothing there is no reason to warn.
func (d *drafter) stepWarnings(index int, spec StepSpec) {
	if d.r.anyLoop() {
		return
	}
	for _, w := range d.env.Warnings {
		e := Error{File: d.src.file, Line: spec.at.line, Col: spec.at.col}
		d.warn(e.place() + stepPath(index, spec) + ": " + w)
	}
}

// stepMistakes puts the mistakes of a step's options in their places.
func (d *drafter) stepMistakes(index int, spec StepSpec, err error) {
	for _, err := range flatten(err) {
		if d.follows(err) {
			continue
		}
		path, place := stepPath(index, spec), func(int) spot { return spec.at }
		var option *option.Mistake
		if errors.As(err, &option) && option.Option != "" {
			path += "." + option.Option
			place = func(item int) spot { return spotOfField(spec.fields, option.Option, item, spec.at) }
		}
		d.src.optionMistake(err, path, place)
	}
}
