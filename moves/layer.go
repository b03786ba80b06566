package moves

import (
	"cmp"
	"slices"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Layer adds a copy of a part at an interval.
type Layer struct {
	Target
	Interval Interval     `yaml:"interval" doc:"how far above the part the copy lies"`
	As       string       `yaml:"as" doc:"name of a new part on a track of its own that plays the copy; left out, the part itself plays it"`
	Channel  int          `yaml:"channel" range:"1..16" doc:"channel of the new part; left out, a free one"`
	Program  int          `yaml:"program" range:"1..128" doc:"program of the new part; left out, none is written"`
	Velocity option.Share `yaml:"velocity" doc:"share of the velocity of each note, at most the part's own loudest"`
}

// Interval is a distance in semitones.
type Interval struct {
	Semitones int // -127..127
	Set       bool
}

// UnmarshalTexts reads an interval.
func (i *Interval) UnmarshalTexts(texts []string) error {
	n, ok := option.ParseInt(texts[0])
	if !ok || n < -127 || n > 127 {
		return &option.Mistake{Found: strconv.Quote(texts[0]), Want: i.Want()}
	}
	*i = Interval{n, true}
	return nil
}

func (i Interval) Texts() []string { return []string{strconv.Itoa(i.Semitones)} }
func (i Interval) IsZero() bool    { return !i.Set }
func (i Interval) Want() string    { return "-127 to 127 semitones" }

func layerMove() Move {
	return Move{
		Group: Pitch,
		Brief: "Add a copy of a part at an interval",
		Doc: `The notes the part has in the loop over each span, muted or not, are played once more at the interval, with a share of their velocity. A copy lasts as long as its note, at most to the end of the span; a note that rings into the span is not copied. Where the part strikes the copy's key itself, its own note stands. By an interval of 0 a part comes in where it is silent.

With as, the copy is a part of its own on a new track; a later layer of that name plays there too. No free channel is an error: channel then says which one to share.

Drums, fx and key switches are copied as they are, by an interval of 0, or not at all, which is told for the parts. A key that would leave 0 to 127 is an error that names the note.`,
		New: func() Step { return &Layer{Interval: Interval{12, true}, Velocity: 80 * option.Whole / 100} },
		Example: func() Example {
			return Example{
				Step:   &Layer{Target: Target{Part: where.PartsOf("bass"), Over: where.SpansOf("bar 2")}, Interval: Interval{12, true}, Velocity: option.Whole},
				Before: "bass x-..x-..x-..x-..|x-..x-..x-..x-..",
				After:  "bass:48 ................|x-..x-..x-..x-..\nbass:36 x-..x-..x-..x-..|x-..x-..x-..x-..",
			}
		},
	}
}

// Name implements [Step].
func (*Layer) Name() string { return "layer" }

// Apply implements [Step].
func (l *Layer) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if err := l.check(); err != nil {
		return Outcome{}, err
	}
	var parts, fixed []int
	for _, p := range env.Parts {
		if in.Parts[p].Pitched() || l.Interval.Semitones == 0 {
			parts = append(parts, p)
		} else {
			fixed = append(fixed, p)
		}
	}
	o.leave(env, in, fixed, remark.NotLayered)
	if len(parts) == 0 {
		return o, nil
	}
	e := in.Edit()
	copies := 0
	for _, p := range parts {
		notes, err := l.copies(env, in, in.Parts[p])
		if err != nil {
			return Outcome{}, err
		}
		to := p
		if l.As != "" && len(notes) > 0 {
			if to, err = l.part(in.Parts[parts[0]]).in(&o, env, in, e); err != nil {
				return Outcome{}, err
			}
			in = e.Song()
			e = e.Then(in)
		}
		for _, n := range notes {
			if l.Interval.Semitones == 0 && strikes(in.Parts[to], n) {
				continue
			}
			e.Place(to, n)
			copies++
		}
	}
	if copies == 0 {
		o.nothing(remark.Remark{Kind: remark.NothingLayered, Parts: partNames(in, parts)})
		return o, nil
	}
	out := e.Song()
	if l.As != "" {
		parts = []int{out.Index(l.As)}
	}
	o.changed(out, parts, env.Ranges, "")
	return o.with(out), nil
}

// strikes tells whether a part has a note of a key that starts where another does.
func strikes(p song.Part, n song.Note) bool {
	i, _ := slices.BinarySearchFunc(p.Notes, n.Start, func(m song.Note, t song.Tick) int { return cmp.Compare(m.Start, t) })
	for ; i < len(p.Notes) && p.Notes[i].Start == n.Start; i++ {
		if p.Notes[i].Key == n.Key {
			return true
		}
	}
	return false
}

func (l *Layer) check() error {
	if l.As == "" {
		for _, o := range []struct {
			name  string
			value int
		}{{"channel", l.Channel}, {"program", l.Program}} {
			if o.value != 0 {
				return &option.Mistake{Option: o.name, Found: strconv.Itoa(o.value), Want: "as to name the new part that has it"}
			}
		}
		return nil
	}
	if err := where.CheckSectionName(l.As); err != nil { // a part's name keeps the rules of a section's
		return option.Named("as", err)
	}
	return nil
}

// part is the part that plays the copies of another.
func (l *Layer) part(of song.Part) added {
	p := song.Part{Name: l.As, Role: of.Role, Job: of.Job, Kit: of.Kit, Tails: of.Tails, Entry: of.Entry}
	return added{part: p, option: "as", channel: l.Channel, program: l.Program}
}

// copies returns the notes of a part over the ranges, at the interval.
func (l *Layer) copies(env *Env, in song.Song, p song.Part) ([]song.Note, error) {
	own, s := env.Source(p.Name), env.Full
	if len(own.Notes) == 0 {
		own, s = p, in
	}
	isSwitch := keySwitches(env, in, p)
	top := env.loudestOf(p)
	by := l.Interval.Semitones
	var out []song.Note
	for _, r := range env.Ranges {
		notes := s.In(own, r)
		out = slices.Grow(out, len(notes))
		for _, n := range notes {
			if isSwitch(n) && by != 0 {
				continue
			}
			key, err := raisedKey(in, p, n, by)
			if err != nil {
				return nil, option.Named("interval", err)
			}
			level := min(max(l.Velocity.Of(int(n.Vel)), 1), int(top))
			out = append(out, song.Note{Start: n.Start, End: min(n.End, r.End), Key: key, Vel: uint8(level)})
		}
	}
	return out, nil
}

// Form says what an interval looks like.
func (i Interval) Form() option.Form {
	return option.Form{Numbers: []option.Numbers{{Low: -127, High: 127}}}
}
