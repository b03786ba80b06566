package moves

import (
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Outcome is what a step came to. Whoever carries steps out decides by it alone.
type Outcome struct {
	Song    song.Song       // with the step carried out
	Remarks []remark.Remark // what was assumed, left alone, left to the producer or is likely not meant, each once, in order
	Nothing remark.Remark   // why the step had nothing to do; the zero value: it did something
	Changes []song.Change   // the trace; the runner fills in the step and the move

	// The next three are left for later steps.
	Full   song.Song // the loop laid out over another length; unset: as it was
	Ridden []Ridden  // controllers it rode, each with its rides so far
	Rolled []Rolled  // where its rolls stand for a part

	Parts  []int        // the parts it worked on, as [Run] found them
	Ranges []song.Range // where, as [Run] found it
	Spans  int          // how many ranges its spans came to, those that except cuts out included

	measured *swing // of the loop, if it was asked for
}

// Idle tells whether the step had nothing to do; Nothing says why. Its song may have changed all the same: a
// mute lets pedals rest where no note plays.
func (o Outcome) Idle() bool { return o.Nothing.Kind != "" }

// Missed tells whether the step had nothing to do since the song lacks what it asks for: its parts, its
// places, or notes there. A step that left its parts alone by its own rules, such as one of pitch on drums,
// has not missed them.
func (o Outcome) Missed() bool {
	return o.Nothing.Kind == remark.NoPart || o.Nothing.Kind == remark.NoPlace || o.Nothing.Kind.Warns()
}

// with returns the outcome with another song.
func (o Outcome) with(s song.Song) Outcome {
	o.Song = s
	return o
}

// tell adds remarks.
func (o *Outcome) tell(remarks ...remark.Remark) { o.Remarks = remark.Add(o.Remarks, remarks...) }

// nothing notes why there is nothing to do.
func (o *Outcome) nothing(why remark.Remark) {
	o.Nothing = why
	o.tell(why)
}

// leave tells of parts of the step that it leaves as they are; if these are all, there is nothing to do.
func (o *Outcome) leave(env *Env, in song.Song, parts []int, kind remark.Kind) {
	if len(parts) == 0 {
		return
	}
	why := remark.Remark{Kind: kind, Parts: partNames(in, parts)}
	o.tell(why)
	if len(parts) == len(env.Parts) && !o.Idle() {
		o.Nothing = why
	}
}

// changed adds an entry to the trace.
func (o *Outcome) changed(in song.Song, parts []int, ranges []song.Range, text string) {
	o.Changes = append(o.Changes, song.Change{Ranges: ranges, Parts: partNames(in, parts), Text: text})
}

// checkNotes finds that there is nothing to do where no part of the step has a note in any of its ranges.
// That there are no parts or no ranges is found by [Run].
func (o *Outcome) checkNotes(env *Env, in song.Song) {
	for _, p := range env.Parts {
		for _, r := range env.Ranges {
			if len(in.In(in.Parts[p], r)) > 0 {
				return
			}
		}
	}
	if len(env.Parts) > 0 && len(env.Ranges) > 0 {
		o.nothing(remark.Remark{Kind: remark.NothingPlays, Parts: partNames(in, env.Parts)})
	}
}

// After returns what the next step finds after one that came to an outcome.
func (e Env) After(o Outcome) Env {
	if o.Full.Time() != nil {
		e.Full, e.Lined, e.memo, e.Strikes, e.Energies = o.Full, o.Full, nil, nil, nil // of a song of another length
	}
	for _, r := range o.Ridden {
		e.Ridden = withRidden(e.Ridden, r)
	}
	e.Rolled = slices.Concat(e.Rolled, o.Rolled)
	if o.measured != nil {
		e.measured = o.measured
	}
	e.Parts, e.Ranges = nil, nil
	return e
}

// then returns the outcome of a step and of another after it. It is idle only if both are.
func (o Outcome) then(next Outcome) Outcome {
	if !next.Idle() {
		o.Nothing = remark.Remark{}
	}
	o.Song = next.Song
	o.tell(next.Remarks...)
	o.Changes, o.Spans = slices.Concat(o.Changes, next.Changes), o.Spans+next.Spans
	if next.Full.Time() != nil {
		o.Full = next.Full
	}
	for _, r := range next.Ridden {
		o.Ridden = withRidden(o.Ridden, r)
	}
	o.Rolled = slices.Concat(o.Rolled, next.Rolled)
	if next.measured != nil {
		o.measured = next.measured
	}
	return o
}

// places resolves an at option.
func (o *Outcome) places(env *Env, name string, p where.Places, in song.Song) ([]song.Tick, error) {
	at, told, err := p.Resolve(env.SpanContext(in))
	if err != nil {
		return nil, option.Named(name, err)
	}
	o.tell(told...)
	return at, nil
}

// over resolves the over option of a step that works on no part.
func (o *Outcome) over(env *Env, s, except where.Spans, in song.Song) ([]song.Range, error) {
	pieces, spans, told, err := env.pieces(s, except, in)
	if err != nil {
		return nil, err
	}
	o.tell(told...)
	o.Spans += spans
	var ranges []song.Range
	for _, p := range pieces {
		ranges = append(ranges, p.Range)
	}
	for _, r := range told {
		if r.Kind == remark.AllExcepted {
			o.Nothing = r
		}
	}
	return ranges, nil
}
