package moves

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Swing plays the off-beats late.
type Swing struct {
	Target
	Amount option.Share `yaml:"amount" doc:"where the off-beat stands in its pair, 50% to 75%: 50% is straight, 66.7% a triplet feel, 75% dotted" required:"true"`
	Grid   string       `yaml:"grid" words:"1/8,1/16" doc:"which off-beats are late"`
}

func swingMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Play the off-beats late, or straight",
		Doc: `Every second place of the grid moves to its share of the pair, and what stands between is stretched evenly; the places before and after each pair stay. The swing that the loop has is replaced, so that 50% plays it straight. Note-offs in the span move along: what was tied stays tied. Other events stay where they are.

A note that starts in a span stays in it. Bars counted in eighths or shorter, such as 6/8, do not swing.`,
		New: func() Step { return &Swing{Grid: "1/16"} },
		Example: func() Example {
			return Example{
				Step:   &Swing{Target: Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2")}, Amount: 75 * option.Whole / 100, Grid: "1/8"},
				Before: "kick x...x...x...x...|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
				After:  "kick x...x...x...x...|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|x-.xx-.xx-.xx-.x",
			}
		},
	}
}

// The range of a swing: straight to dotted. Common practice, no source.
const (
	leastSwing = 50 * option.Whole / 100
	mostSwing  = 75 * option.Whole / 100
)

// Name implements [Step].
func (*Swing) Name() string { return "swing" }

// Apply implements [Step].
func (m *Swing) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if m.Amount < leastSwing || m.Amount > mostSwing {
		return Outcome{}, &option.Mistake{Option: "amount", Found: m.Amount.String(), Want: "50% to 75%"}
	}
	o.checkNotes(env, in)
	to := swing{straightSwing, int(m.Amount)}
	if m.Grid == "1/8" {
		to = swing{int(m.Amount), straightSwing}
	}
	tl, from := in.Time(), env.swing()
	warp := func(t song.Tick) song.Tick {
		if !swings(tl.MetreIn(tl.BarOf(t))) {
			return t
		}
		return to.late(tl, from.straight(tl, t))
	}
	e := in.Edit()
	for _, p := range env.Parts {
		moveNotes(e, in, p, env.Ranges, func(n song.Note, r song.Range) song.Note { return warped(n, r, warp) })
	}
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("%s of 1/%s", m.Amount, m.Grid[2:]))
	return o.with(e.Song()), nil
}

// warped moves a note and its end with the time of a span. An onset within the span stays within it, and an end
// past the span stays where it is.
func warped(n song.Note, r song.Range, warp func(song.Tick) song.Tick) song.Note {
	m := n
	m.Start = warp(n.Start)
	if n.Start >= r.Start {
		m.Start = min(max(m.Start, r.Start), r.End-1)
	}
	if n.End <= r.End {
		m.End = min(warp(n.End), r.End)
	}
	m.End = max(m.End, m.Start+1)
	return m
}
