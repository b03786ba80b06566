package moves

import (
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Stretch plays a part's pattern at half or double speed.
type Stretch struct {
	Target
	By string `yaml:"by" words:"half,double" doc:"speed: half of it, or double" required:"true"`
}

func stretchMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Play a part's pattern in half-time or double-time",
		Doc: `In half-time the first half of a span fills all of it: onsets stand twice as far from its start and notes last twice as long; the second half is not heard. In double-time the span is played twice within itself, at twice the speed, with notes half as long. Places are rounded to ticks once, halves up.

A pitched note ends with the span, or in double-time with its pass; drums and fx ring on. A pitched note that rings into the span ends where it begins; pads, chords, strings and drones that are held into it are struck there, and those held over its end are struck again where it ends. Controllers stay as they are; polyphonic pressure in the span goes.`,
		New: func() Step { return &Stretch{} },
		Example: func() Example {
			return Example{
				Step:   &Stretch{Target: Target{Part: where.PartsOf("snare"), Over: where.SpansOf("bar 2")}, By: "half"},
				Before: "snare ....x.......x...|....x.......x...",
				After:  "snare ....x.......x...|........x-......",
			}
		},
	}
}

// Name implements [Step].
func (*Stretch) Name() string { return "stretch" }

// Apply implements [Step].
func (s *Stretch) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if s.By != "half" && s.By != "double" {
		return Outcome{}, &option.Mistake{Option: "by", Found: "nothing", Want: "one of half, double"}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		part := in.Parts[p]
		notes := notesOver(in, part, env.Ranges)
		clearSpans(e, in, p, env.Ranges)
		for i, r := range env.Ranges {
			for _, n := range notes[i] {
				if s.By == "half" {
					placeHalf(e, in, p, r, n)
				} else {
					placeDouble(e, in, p, r, n)
				}
			}
		}
	}
	o.changed(in, env.Parts, env.Ranges, s.By+"-time")
	return o.with(e.Song()), nil
}

// placeHalf writes a note at half speed if it is still in the range.
func placeHalf(e *song.Edit, in song.Song, part int, r song.Range, n song.Note) {
	length := n.End - n.Start
	if n.Start > r.Start { // an early note stays as early as it is
		n.Start = r.Start + 2*(n.Start-r.Start)
	}
	n.End = n.Start + 2*length
	if !in.Parts[part].RingsOn() {
		n.End = min(n.End, r.End)
	}
	if in.Counted(n.Start) < r.End {
		e.Place(part, n)
	}
}

// placeDouble writes a note in both passes of a range at double speed.
func placeDouble(e *song.Edit, in song.Song, part int, r song.Range, n song.Note) {
	from, to := n.Start-r.Start, n.End-r.Start
	for pass := range song.Tick(2) {
		at := func(in song.Tick) song.Tick { return r.Start + song.HalfUp(int64(pass*r.Len()+in), 2) }
		m := n
		m.Start, m.End = inside(in, r, at(from)), at(to)
		if !in.Parts[part].RingsOn() {
			m.End = min(m.End, at(r.Len()))
		}
		e.Place(part, m)
	}
}
