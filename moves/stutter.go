package moves

import (
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Stutter repeats the first moment of a span until its end.
type Stutter struct {
	Target
	Slice option.NoteValue `yaml:"slice" doc:"length of what is repeated"`
}

func stutterMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Repeat the first moment of each span until its end",
		Doc: `What a part plays in the first slice of a span is repeated through the span, instead of what it plays there; the last repetition is cut where the span ends. A pitched note ends with its slice; drums and fx ring on until their key is struck again. A pitched note that rings into the span ends where it begins; pads, chords, strings and drones that are held into it are struck with each slice, and where the span ends under a held note they are struck again.

A part that plays nothing in the first slice is left as it is in that span, and that is told. Controllers stay as they are; polyphonic pressure in the span goes.`,
		New: func() Step { return &Stutter{Slice: option.NoteValueOf(1, 8)} },
		Example: func() Example {
			return Example{
				Step:   &Stutter{Target: Target{Part: where.PartsOf("stab"), Over: where.SpansOf("last 1 beat")}, Slice: option.NoteValueOf(1, 16)},
				Before: "stab x..x..x.x..x..x.|x..x..x.x..xx.x.",
				After:  "stab x..x..x.x..x..x.|x..x..x.x..xxxxx",
			}
		},
	}
}

// Name implements [Step].
func (*Stutter) Name() string { return "stutter" }

// Apply implements [Step].
func (s *Stutter) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	ppq := in.Time().PPQ()
	if s.Slice.IsZero() || s.Slice.Num < 1 {
		return Outcome{}, &option.Mistake{Option: "slice", Found: "nothing", Want: s.Slice.Want()}
	}
	if s.Slice.Ticks(ppq) < 1 {
		return Outcome{}, &option.Mistake{Option: "slice", Found: s.Slice.Texts()[0], Want: "at least a tick"}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		s.stutter(&o, e, env, in, p)
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(e.Song()), nil
}

func (s *Stutter) stutter(o *Outcome, e *song.Edit, env *Env, in song.Song, part int) {
	p := in.Parts[part]
	ppq := in.Time().PPQ()
	var slices []song.Range
	for _, r := range env.Ranges {
		slices = append(slices, song.Range{Start: r.Start, End: min(r.Start+s.Slice.Ticks(ppq), r.End)})
	}
	notes := notesOver(in, p, slices)
	var rewritten, left []song.Range
	for i, r := range env.Ranges {
		if len(notes[i]) > 0 {
			rewritten = append(rewritten, r)
		} else if len(in.In(p, r)) > 0 {
			left = append(left, r)
		}
	}
	if len(left) > 0 {
		at := in.Time().Locate(left[0].Start)
		o.tell(remark.Remark{Kind: remark.StutterSilent, Parts: []string{p.Name}, Found: s.Slice.Texts()[0], Numbers: []int{len(left)}, Bar: at.Bar, Beat: at.Beat})
	}
	clearSpans(e, in, part, rewritten)
	for i, r := range env.Ranges {
		if len(notes[i]) > 0 {
			s.repeat(e, in, part, r, notes[i])
		}
	}
}

// repeat fills a range with the notes of its first slice.
func (s *Stutter) repeat(e *song.Edit, in song.Song, part int, r song.Range, notes []song.Note) {
	ppq := in.Time().PPQ()
	ring := in.Parts[part].RingsOn()
	for k := 0; r.Start+s.Slice.Times(k, ppq) < r.End; k++ {
		at, end := r.Start+s.Slice.Times(k, ppq), min(r.Start+s.Slice.Times(k+1, ppq), r.End)
		for _, n := range notes {
			n.Start, n.End = n.Start-r.Start+at, n.End-r.Start+at
			if !ring {
				n.End = min(n.End, end)
			}
			if n.Start < end && in.Counted(n.Start) < r.End {
				e.Place(part, n)
			}
		}
	}
}
