package moves

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Shape makes a part louder or softer over a span.
type Shape struct {
	Target
	From  option.Share `yaml:"from" zero:"0%" doc:"share of each note's velocity where a span starts"`
	To    option.Share `yaml:"to" zero:"0%" doc:"share of each note's velocity where a span ends" required:"true"`
	Curve string       `yaml:"curve" words:"exp,linear,s" doc:"even in dB, even in velocity, or slow at both ends"`
}

func shapeMove() Move {
	return Move{
		Group: Dynamics,
		Brief: "Make a part louder or softer over a span",
		Doc: `Each note that starts in a span gets a share of its own velocity, so that accents stay accents: from where the span starts, to where it ends, and along the curve between. No note is made louder than the part's own loudest in the loop, and one that would be softer than 1 is left out: a fade from or to 0% begins or ends in silence. By exp, the curve from or to 0% starts or ends at 1%.

A note that rings into the span stays as it is. Where a roll stands for the part, its hits are left alone, which is told.`,
		New: func() Step { return &Shape{From: option.Whole, To: -1, Curve: Exp} }, // to has no default, and 0 is a value
		Example: func() Example {
			return Example{
				Step:   &Shape{Target: Target{Part: where.PartsOf("clap"), Over: where.SpansOf("bar 2")}, From: 50 * option.Whole / 100, To: option.Whole, Curve: Linear},
				Before: "clap x...x...x...x...|x...x...x...x...",
				After:  "clap x...x...x...x...|o...o...o...x...",
			}
		},
	}
}

// Name implements [Step].
func (*Shape) Name() string { return "shape" }

// Apply implements [Step].
func (m *Shape) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	switch {
	case m.To < 0:
		return Outcome{}, &option.Mistake{Option: "to", Found: "nothing", Want: m.To.Want()}
	case m.From <= 0 && m.To == 0:
		return Outcome{}, &option.Mistake{Option: "to", Found: m.To.String() + " from " + m.From.String(), Want: "more than 0% at one end; mute silences a part"}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		m.shape(&o, e, env, in, p)
	}
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("%s to %s", m.From, m.To))
	return o.with(e.Song()), nil
}

func (m *Shape) shape(o *Outcome, e *song.Edit, env *Env, in song.Song, part int) {
	p := in.Parts[part]
	top, rolled := env.loudestOf(p), song.Union(env.rolledRanges(p.Name))
	left := false
	shapeNotes(e, in, part, env.Ranges, func(n song.Note, at song.Tick, r song.Range) (song.Note, bool) {
		if counts(in, rolled, n) {
			left = true
			return n, true
		}
		share := m.share(at-r.Start, r.Len())
		most := max(top, n.Vel) // what is louder already need not become softer
		vel := min(share.Of(int(n.Vel)), int(most))
		n.Vel = uint8(vel)
		return n, vel >= 1
	})
	if left {
		o.tell(remark.Remark{Kind: remark.RollStands, Move: m.Name(), Parts: []string{p.Name}})
	}
}

// share returns what a note gets of its velocity after a part of a span.
func (m *Shape) share(at, length song.Tick) option.Share {
	from, to := m.From, m.To
	if m.Curve == Exp && at > 0 { // an even way in dB cannot begin or end at nothing
		for _, end := range []*option.Share{&from, &to} {
			if *end == 0 {
				*end = option.Whole / 100
			}
		}
	}
	return option.Share(curveAt(m.Curve, int(from), int(to), at, length))
}

// shapeNotes calls f for the notes that count to the ranges, which are sorted and apart, with where they count; it returns
// the note with another velocity, and whether it stays.
func shapeNotes(e *song.Edit, in song.Song, part int, ranges []song.Range, f func(n song.Note, at song.Tick, r song.Range) (song.Note, bool)) {
	if len(ranges) == 0 {
		return
	}
	i, counter := 0, in.Counter()
	e.MapIn(part, song.Range{Start: ranges[0].Start, End: ranges[len(ranges)-1].End}, func(n song.Note) (song.Note, bool) {
		at := counter.Counted(n.Start)
		for i < len(ranges) && ranges[i].End <= at {
			i++
		}
		if i == len(ranges) || !ranges[i].Has(at) {
			return n, true
		}
		return f(n, at, ranges[i])
	})
}
