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
	From  option.Share `yaml:"from" doc:"share of each note's velocity where a span starts, more than 0%"`
	To    option.Share `yaml:"to" doc:"share of each note's velocity where a span ends, more than 0%" required:"true"`
	Curve string       `yaml:"curve" words:"exp,linear,s" doc:"even in dB, even in velocity, or slow at both ends"`
}

func shapeMove() Move {
	return Move{
		Group: Dynamics,
		Brief: "Make a part louder or softer over a span",
		Doc: `Each note that starts in a span gets a share of its own velocity, so that accents stay accents: from where the span starts, to where it ends, and along the curve between. No note is made louder than the part's own loudest in the loop, nor softer than 1.

A note that rings into the span stays as it is. Where a roll stands for the part, its hits are left alone, which is told.`,
		New: func() Step { return &Shape{From: option.Whole, Curve: Exp} },
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
	for _, o := range []struct {
		name  string
		share option.Share
	}{{"from", m.From}, {"to", m.To}} {
		if o.share <= 0 {
			return Outcome{}, &option.Mistake{Option: o.name, Found: o.share.String(), Want: "more than 0% and at most 1000%"}
		}
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
	own := env.Source(p.Name).Notes
	if len(own) == 0 {
		own = p.Notes
	}
	top, rolled := loudest(own), song.Union(env.rolledRanges(p.Name))
	left := false
	moveNotes(e, in, part, env.Ranges, func(n song.Note, r song.Range) song.Note {
		if counts(in, rolled, n) {
			left = true
			return n
		}
		share := option.Share(curveAt(m.Curve, int(m.From), int(m.To), in.Counted(n.Start)-r.Start, r.Len()))
		most := max(top, n.Vel) // what is louder already need not become softer
		n.Vel = uint8(min(max(share.Of(int(n.Vel)), 1), int(most)))
		return n
	})
	if left {
		o.tell(remark.Remark{Kind: remark.RollStands, Move: m.Name(), Parts: []string{p.Name}})
	}
}
