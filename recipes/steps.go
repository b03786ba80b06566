package recipes

import (
	"errors"
	"fmt"
	"strings"

	"loopdraft/moves"
)

// step carries out one step; index is its place in the recipe, -1 for one that is not the recipe's.
// After a mistake the song stays as it is, so that the mistakes of later steps are found too.
func (d *drafter) step(index int, spec StepSpec) {
	m, ok := moves.Lookup(spec.Move)
	if !ok {
		d.src.unknown(spec.at, fmt.Sprintf("moves[%d]", index+1), "move", spec.Move, moveNames())
		return
	}
	before, seed := d.in, d.stepSeed(index, m.Text(spec.Step))
	env := d.env
	d.env.Seed, d.env.Warnings = seed, nil
	out, err := moves.Run(&d.env, spec.Step, before)
	if err != nil {
		d.env = env
		if d.r.Builtin { // it was written for loops it does not know: what this one cannot do is left out
			why := strings.ReplaceAll(err.Error(), "\n", "; ") // in one line of a comment
			d.tell(m.Name + " is left out: " + why)
			d.steps = append(d.steps, doneStep{spec: spec, seed: seed, skipped: why, options: m.Given(spec.Step)})
			return
		}
		d.stepMistakes(index, spec, err)
		return
	}
	done := d.spelledOut(m, spec, seed, before)
	if d.r.Builtin && len(d.env.Warnings) > 0 && done.skipped == "" { // a built-in recipe asks for what a loop may not have
		done.skipped, done.options = "nothing plays there", m.Given(spec.Step)
	}
	d.steps = append(d.steps, done)
	if done.skipped != "" { // it leaves no trace, such as home values of a ride that is nowhere
		d.env = env
		if !d.r.Builtin {
			d.tell(fmt.Sprintf("%s: skipped, %s", stepPath(index, spec), done.skipped))
		}
		return
	}
	for i := range d.env.Changes[len(env.Changes):] {
		c := &d.env.Changes[len(env.Changes)+i]
		c.Step, c.Move = index, m.Name
	}
	d.stepWarnings(index, spec)
	d.env.Warnings = nil
	d.in = out
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
	if d.r.Builtin {
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
		var option *moves.OptionError
		if errors.As(err, &option) && option.Option != "" {
			path += "." + option.Option
			place = func(item int) spot { return spotOfField(spec.fields, option.Option, item, spec.at) }
		}
		d.src.optionMistake(err, path, place)
	}
}
