package moves

import (
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Double adds hits between a part's hits.
type Double struct {
	Target
	Spacing  string       `yaml:"spacing" words:"1/8,1/16" doc:"grid of the places taken; left out, 1/8, and 1/16 where no place of 1/8 is free"`
	Velocity option.Share `yaml:"velocity" doc:"share of the velocity of the hits around it, at most the part's own loudest"`
}

func doubleMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Add hits between a part's hits",
		Doc: `A hit is answered on the places of 1/8 notes that are free: less than a 1/4 note after it and at least a 1/16 note from any hit of the part. Where a span has none, places of 1/16 are taken. Off-beats come as late as those of the loop.

The answer has the keys of its hit, its length up to the spacing, and a share of the velocity of the hits around it. A held note ends where its key is struck again. Where the part is silent nothing is added, with a warning; where a roll stands for the part, nothing is added either.`,
		New: func() Step { return &Double{Velocity: 85 * option.Whole / 100} },
		Example: func() Example {
			return Example{
				Step:   &Double{Target: Target{Part: where.PartsOf("kick"), Over: where.SpansOf("last 2 beats")}, Velocity: 85 * option.Whole / 100},
				Before: "kick X...X...X...X...|X...X...X...X...",
				After:  "kick X...X...X...X...|X...X...X.x.X.x.",
			}
		},
	}
}

// Name implements [Step].
func (*Double) Name() string { return "double" }

// Apply implements [Step].
func (d *Double) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	o.checkNotes(env, in)
	spacings := []option.NoteValue{option.NoteValueOf(1, 8), option.NoteValueOf(1, 16)}
	switch d.Spacing {
	case "1/8":
		spacings = spacings[:1]
	case "1/16":
		spacings = spacings[1:]
	}
	e := in.Edit()
	swing := env.swing()
	for _, p := range env.Parts {
		part := in.Parts[p]
		a := answers{hits: hits{song: in, swing: swing, notes: part.Notes}, loudest: env.loudestOf(part), share: d.Velocity}
		rolled := env.rolledRanges(part.Name)
		for _, r := range env.Ranges {
			if len(in.In(part, r)) == 0 {
				continue
			}
			free := song.Without([]song.Range{r}, rolled)
			if len(free) == 0 {
				o.tell(remark.Remark{Kind: remark.RollStands, Move: d.Name(), Parts: []string{part.Name}})
			}
			for _, piece := range free {
				for _, spacing := range spacings {
					if a.place(e, p, piece.Range, spacing) > 0 {
						break
					}
				}
			}
		}
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(e.Song()), nil
}

// answers places hits after the hits of a part.
type answers struct {
	hits
	loudest uint8
	share   option.Share
}

// place answers the hits of a range on the free places of a spacing; it returns how many it took.
func (a *answers) place(e *song.Edit, part int, r song.Range, spacing option.NoteValue) int {
	tl := a.song.Time()
	ppq := tl.PPQ()
	next, taken := 0, 0 // next: index of the first note after the place
	for bar := tl.BarOf(r.Start); tl.BarStart(bar) < r.End; bar++ {
		line, end := tl.BarStart(bar), min(tl.BarStart(bar+1), r.End)
		for k := 0; line+spacing.Times(k, ppq) < end; k++ {
			straight := line + spacing.Times(k, ppq)
			if straight < r.Start {
				continue
			}
			at := a.swing.late(tl, straight)
			if at >= r.End {
				continue
			}
			next = firstAfter(a.notes, next, at)
			if next == 0 || !a.free(straight, next) {
				continue
			}
			for _, n := range chordBefore(a.notes, next, ppq) {
				length := min(n.End-n.Start, max(spacing.Ticks(ppq), 1))
				e.Place(part, song.Note{Start: at, End: min(at+length, r.End), Key: n.Key, Vel: a.velocity(n, straight, next)})
			}
			taken++
		}
	}
	return taken
}

// free tells whether a place lies less than a quarter note after the hit before it and at least a
// 1/16 from that and the next.
func (a *answers) free(straight song.Tick, next int) bool {
	ppq := a.song.Time().PPQ()
	gap := straight - a.stands(next-1)
	if gap*4 < ppq || gap >= ppq {
		return false
	}
	return next == len(a.notes) || (a.stands(next)-straight)*4 >= ppq
}

// velocity returns the velocity of the answer to a note: the share of that note's velocity, times the ratio
// of the mean level of the hits on either side of the place to the level of the hit before it.
func (a *answers) velocity(n song.Note, straight song.Tick, next int) uint8 {
	before := int(loudestAt(a.notes[:next]))
	after := before
	if ppq := a.song.Time().PPQ(); next < len(a.notes) && a.stands(next)-straight < ppq {
		after = int(loudestAt(a.notes[:chordEnd(a.notes, next)]))
	}
	v := song.HalfUp(int64(n.Vel)*int64(before+after)*int64(a.share), int64(2*before)*int64(option.Whole))
	return uint8(min(max(v, 1), song.Tick(a.loudest)))
}
