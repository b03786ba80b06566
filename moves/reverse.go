package moves

import (
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Reverse plays spans backwards.
type Reverse struct {
	Target
}

func reverseMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Play a part's notes backwards within each span",
		Doc: `A part's notes in a span are turned round: what ends first starts last, and a note starts as long after the start of the span as it ended before its end. Keys, velocities and lengths stay. A note that rings past the span counts as ending with it. A note that would start less than a 1/64 before a bar line where the span ends starts that 1/64 before it.

A pitched note that rings into the span ends where it begins; drums and fx ring on. Pads, chords, strings and drones that are held into it are turned round from there on, and those held over its end are struck again where it ends. Controllers stay as they are; polyphonic pressure in the span goes.`,
		New: func() Step { return &Reverse{} },
		Example: func() Example {
			return Example{
				Step:   &Reverse{Target: Target{Part: where.PartsOf("stab"), Over: where.SpansOf("bar 2")}},
				Before: "stab x--.x-..x...o...|x--.x-..x...o...",
				After:  "stab x--.x-..x...o...|...o...x..x-.x--",
			}
		},
	}
}

// Name implements [Step].
func (*Reverse) Name() string { return "reverse" }

// Apply implements [Step].
func (m *Reverse) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		notes := notesOver(in, in.Parts[p], env.Ranges)
		clearSpans(e, in, p, env.Ranges)
		for i, r := range env.Ranges {
			for _, n := range notes[i] {
				e.Place(p, turned(in, r, n))
			}
		}
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(e.Song()), nil
}

// turned returns a note of a range as it is played backwards.
func turned(in song.Song, r song.Range, n song.Note) song.Note {
	start, end := max(n.Start, r.Start), min(n.End, r.End)
	n.Start = inside(in, r, r.Start+r.End-max(end, start+1))
	n.End = r.Start + r.End - start
	return n
}
