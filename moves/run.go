package moves

import (
	"errors"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Run carries out a step: it finds the parts and ranges that the step's options name and applies it. A step
// of which no part or no place is there is idle. A mistake in an option is an [*option.Mistake] that names it; one that
// names none is a step that may make a song of more than [song.MaxEvents] events, which is known before it is carried out.
// env is left as it is.
func Run(env *Env, step Step, in song.Song) (Outcome, error) {
	e, found, err := env.prepared(step, in)
	if err != nil {
		return Outcome{}, err
	}
	if i := slices.IndexFunc(found, func(r remark.Remark) bool { return r.Kind == remark.AllExcepted }); i >= 0 {
		return Outcome{Song: in, Remarks: found, Nothing: found[i], Parts: e.Parts, Spans: e.spans}, nil
	}
	if err := e.fits(step, in); err != nil {
		return Outcome{}, err
	}
	o, err := e.carryOut(step, in, found)
	if err == nil {
		err = tooMany(eventsIn(o.Song)) // steps without parts, and those of other packages, are counted when they are done
	}
	if err != nil {
		return Outcome{}, err
	}
	if why := e.absent(step, in); why != "" {
		o.Nothing = remark.Remark{Kind: why}
	}
	return o, nil
}

// RunAll carries out steps one after the other, each after what the ones before it left. It came to nothing
// only if each of them did; then the first says why.
func RunAll(env *Env, in song.Song, steps ...Step) (Outcome, error) {
	out, e := Outcome{Song: in}, env.on(in)
	for i, s := range steps {
		next, err := Run(&e, s, out.Song)
		if err != nil {
			return Outcome{}, err
		}
		if i == 0 {
			out.Nothing = next.Nothing
		}
		e, out = e.After(next), out.then(next)
	}
	return out, nil
}

// prepared returns what a step finds, with the parts and ranges that its options name, and what is remarked
// on these.
func (e Env) prepared(step Step, in song.Song) (Env, []remark.Remark, error) {
	if in.Time() == nil {
		return e, nil, errors.New("found a file without common bars (format 2 or SMPTE time), want format 0 or 1 in ticks per quarter note")
	}
	e = e.on(in)
	if c, ok := step.(interface{ chance() *Chance }); ok && !c.chance().Seed.IsZero() {
		e.Seed = c.chance().Seed.Value
	}
	e.Parts, e.Ranges, e.uncut, e.spans = nil, nil, nil, 0
	t, ok := targetOf(step)
	if !ok {
		return e, nil, nil
	}
	var told []remark.Remark
	var err, err2 error
	if e.Parts, err = t.Part.Resolve(in); err != nil {
		err = option.Named("part", err)
	}
	var pieces []song.Piece
	pieces, e.spans, told, err2 = e.pieces(t.Over, t.Except, in)
	if _, ok := step.(*Plain); ok { // it looks at each bar alone, however spans are cut
		told = slices.DeleteFunc(told, func(r remark.Remark) bool { return r.Kind == remark.SpansCut })
	}
	for _, p := range pieces {
		e.Ranges, e.uncut = append(e.Ranges, p.Range), append(e.uncut, p.Of)
	}
	return e, told, errors.Join(err, err2)
}

// partNumber returns the number by which chance is drawn for a part: its index in the whole song.
func (e *Env) partNumber(part int) uint64 { return uint64(e.partsFrom + part) }

// carryOut carries out a step whose parts and ranges are found.
func (e *Env) carryOut(step Step, in song.Song, found []remark.Remark) (Outcome, error) {
	o, err := step.Apply(e, in)
	if err != nil {
		return Outcome{}, err
	}
	if o.Idle() {
		o.tell(o.Nothing)
	}
	o.Remarks = remark.Add(found, o.Remarks...)
	o.Parts, o.Ranges, o.Spans, o.measured = e.Parts, e.Ranges, o.Spans+e.spans, e.measured
	return o, nil
}

// targetOf returns the parts and spans that a step works on; false for a step that has no such options.
func targetOf(step Step) (*Target, bool) {
	t, ok := step.(interface{ target() *Target })
	if !ok {
		return nil, false
	}
	return t.target(), true
}

// absent returns why a step has nothing to work on: none of its parts, or none of the places of one of its
// options, is there. "" if all are.
func (e *Env) absent(step Step, in song.Song) remark.Kind {
	_, targeted := targetOf(step)
	switch _, composite := step.(Composer); {
	case composite:
		return "" // the steps it stands for say it
	case targeted && len(e.Parts) == 0:
		return remark.NoPart
	case targeted && len(e.Ranges) == 0:
		return remark.NoPlace
	}
	loose := e.SpanContext(in)
	loose.Strict = false
	for name, value := range option.Fields(step) {
		there := true
		switch v := value.(type) {
		case *where.Spans:
			if over := name == "over"; over && !targeted || !over && name != "except" && !v.IsZero() {
				ranges, _, _ := v.Resolve(loose)
				there = len(ranges) > 0
			}
		case *where.Places:
			if !v.IsZero() {
				at, _, _ := v.Resolve(loose)
				there = len(at) > 0
			}
		}
		if !there {
			return remark.NoPlace
		}
	}
	return ""
}
