package moves

import (
	"fmt"
	"strconv"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Shift moves a part's notes in time.
type Shift struct {
	Target
	By    Offset `yaml:"by" doc:"how far: later, or earlier with a minus" required:"true"`
	Edges string `yaml:"edges" words:"wrap,clip" doc:"what becomes of a note that would leave its span: it comes in at the other end (wrap), or goes (clip)"`
}

// Offset is a distance in time, later or, below 0, earlier: a note value or a number of ticks.
type Offset struct {
	Value   option.NoteValue // in note values; the zero value where Ticks counts
	Earlier bool             // of Value
	Ticks   int              // -100000 to 100000; below 0: earlier
}

const mostOffsetTicks = 100_000

// UnmarshalTexts reads an offset such as 1/16, -1/32, 10 ticks or -1 tick.
func (o *Offset) UnmarshalTexts(texts []string) error {
	bad := &option.Mistake{Found: strconv.Quote(texts[0]), Want: o.Want()}
	text, earlier := strings.CutPrefix(texts[0], "-")
	if number, unit, ok := strings.Cut(text, " "); ok {
		n, isNumber := smf.ParseDigits(number)
		if !isNumber || unit != "ticks" && unit != "tick" || n < 1 || n > mostOffsetTicks {
			return bad
		}
		*o = Offset{Ticks: int(n)}
		if earlier {
			o.Ticks = -o.Ticks
		}
		return nil
	}
	var v option.NoteValue
	if v.UnmarshalTexts([]string{text}) != nil {
		if n, ok := option.ParseInt(texts[0]); ok && n != 0 {
			bad.Hint = texts[0] + " ticks"
		}
		return bad
	}
	*o = Offset{Value: v, Earlier: earlier}
	return nil
}

// Texts returns the offset as text.
func (o Offset) Texts() []string {
	switch {
	case o.Value.IsZero() && (o.Ticks == 1 || o.Ticks == -1):
		return []string{fmt.Sprintf("%d tick", o.Ticks)}
	case o.Value.IsZero():
		return []string{fmt.Sprintf("%d ticks", o.Ticks)}
	case o.Earlier:
		return []string{"-" + o.Value.Texts()[0]}
	}
	return o.Value.Texts()
}

// IsZero tells whether no offset is given.
func (o Offset) IsZero() bool { return o == Offset{} }

// Want says what an offset looks like.
func (o Offset) Want() string {
	return fmt.Sprintf("a note value such as 1/16 or -1/16, or 1 to %d ticks such as 10 ticks or -10 ticks", mostOffsetTicks)
}

// in returns the offset in ticks at a resolution in ticks a quarter note, rounded half away from 0.
func (o Offset) in(ppq song.Tick) song.Tick {
	switch {
	case o.Value.IsZero():
		return song.Tick(o.Ticks)
	case o.Earlier:
		return -o.Value.Ticks(ppq)
	}
	return o.Value.Ticks(ppq)
}

func shiftMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Move a part's notes later or earlier within each span",
		Doc: `The notes that start in a span move by a note value or by ticks, later or earlier, with their lengths and their polyphonic pressure. A note that would leave the span comes in at its other end, so that a pattern turns round; with clip, it goes. An onset less than a 1/64 before a bar line where the span starts is still in it; at the start of the song it sounds at once, and no note leaves the song.

A note that rings into the span stays as it is; a note that rings past its end rings on. Either ends where its key is struck again. Controllers stay as they are.`,
		New: func() Step { return &Shift{Edges: "wrap"} },
		Example: func() Example {
			return Example{
				Step:   &Shift{Target: Target{Part: where.PartsOf("clap"), Over: where.SpansOf("bar 2")}, By: Offset{Value: option.NoteValueOf(1, 8)}, Edges: "wrap"},
				Before: "clap ....x.......x...|....x.......x.o.",
				After:  "clap ....x.......x...|o.....x.......x.",
			}
		},
	}
}

// Name implements [Step].
func (*Shift) Name() string { return "shift" }

// Apply implements [Step].
func (s *Shift) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	by := s.By.in(in.Time().PPQ())
	if by == 0 {
		found := "nothing"
		if !s.By.IsZero() {
			found = s.By.Texts()[0]
		}
		return Outcome{}, &option.Mistake{Option: "by", Found: found, Want: "at least a tick: " + s.By.Want()}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		s.shiftNotes(e, env, in, p, by)
		s.shiftPressure(e, env, in, in.Parts[p], by)
	}
	o.changed(in, env.Parts, env.Ranges, s.By.Texts()[0])
	return o.with(e.Song()), nil
}

func (s *Shift) shiftNotes(e *song.Edit, env *Env, in song.Song, part int, by song.Tick) {
	i := 0
	e.Map(part, func(n song.Note) (song.Note, bool) {
		at := in.Counted(n.Start)
		for i < len(env.Ranges) && env.Ranges[i].End <= at {
			i++
		}
		if i == len(env.Ranges) || !env.Ranges[i].Has(at) {
			return n, true
		}
		if to, ok := s.moved(in, env.Ranges[i], n.Start, by); ok {
			n.Start, n.End = to, n.End-n.Start+to
			e.Place(part, n)
		}
		return n, false
	})
}

// moved returns where an onset of a range comes to lie, and false if it goes.
func (s *Shift) moved(in song.Song, r song.Range, at, by song.Tick) (song.Tick, bool) {
	to := at + by%r.Len()
	counted := func() song.Tick {
		if to < 0 && -to*16 < in.Time().PPQ() {
			return 0
		}
		return in.Counted(max(to, 0)) + min(to, 0)
	}
	if s.Edges == "clip" {
		to = at + by
		if !r.Has(counted()) {
			return 0, false
		}
		return max(to, 0), true
	}
	if counted() >= r.End {
		to -= r.Len()
	}
	if counted() < r.Start {
		to += r.Len()
	}
	return inside(in, r, max(to, 0)), true
}

// shiftPressure moves the polyphonic pressure of the ranges like an onset where it stands.
func (s *Shift) shiftPressure(e *song.Edit, env *Env, in song.Song, p song.Part, by song.Tick) {
	var moved []smf.Event
	for _, r := range env.Ranges {
		for _, ev := range pressureOver(in, p, r) {
			if to, ok := s.moved(in, r, ev.Tick, by); ok {
				moved = append(moved, ev.At(to))
			}
		}
	}
	dropPressure(e, in, p, env.Ranges)
	for _, ev := range moved {
		e.Insert(p.Track, ev)
	}
}

// Form says what an offset looks like.
func (o Offset) Form() option.Form {
	return option.Form{Pattern: "-?" + option.DigitsBetween(1, mostOffsetTicks) + " ticks?|-?" + option.NoteValue{}.Form().Pattern}
}
