package moves

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Transpose moves pitches up or down.
type Transpose struct {
	Target
	Semitones int `yaml:"semitones" range:"-127..127" unit:"semitones" doc:"how far up, or down with a minus"`
	Octaves   int `yaml:"octaves" range:"-10..10" unit:"octaves" doc:"the same in octaves; both add up"`
}

func transposeMove() Move {
	return Move{
		Group: Pitch,
		Brief: "Move pitches up or down",
		Doc: `The notes that start in a span are raised by semitones and octaves, or lowered; their polyphonic pressure goes with them. A note that rings into the span stays as it is, unless its key is struck there.

Drums, fx and sidechain triggers are not transposed, which is told, nor are key switches: keys under 24 that last a bar or more and lie more than an octave under all other keys of the part from 24 on. A key that would leave 0 to 127 is an error that names the note.`,
		New: func() Step { return &Transpose{} },
		Example: func() Example {
			return Example{
				Step:   &Transpose{Target: Target{Part: where.PartsOf("bass"), Over: where.SpansOf("bar 2")}, Octaves: 1},
				Before: "bass x-..x-..x-..x-..|x-..x-..x-..x-..",
				After:  "bass:48 ................|x-..x-..x-..x-..\nbass:36 x-..x-..x-..x-..|................",
			}
		},
	}
}

// Name implements [Step].
func (*Transpose) Name() string { return "transpose" }

// Apply implements [Step].
func (m *Transpose) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	by, err := m.by()
	if err != nil {
		return Outcome{}, err
	}
	o.checkNotes(env, in)
	e := in.Edit()
	var fixed, moved []int
	for _, p := range env.Parts {
		if !in.Parts[p].Pitched() {
			fixed = append(fixed, p)
			continue
		}
		moved = append(moved, p)
		if err := m.transpose(e, env, in, p, by); err != nil {
			return Outcome{}, err
		}
	}
	o.leave(env, in, fixed, remark.NotTransposed)
	if len(moved) > 0 {
		o.changed(in, moved, env.Ranges, fmt.Sprintf("%+d semitones", by))
	}
	return o.with(e.Song()), nil
}

// by returns the interval in semitones.
func (m *Transpose) by() (int, error) {
	by := m.Semitones + 12*m.Octaves
	if by == 0 {
		return 0, &option.Mistake{Option: m.option(), Found: "an interval of 0", Want: "semitones or octaves up or down"}
	}
	return by, nil
}

// option returns the option that a mistake in the interval is put down to.
func (m *Transpose) option() string {
	if m.Semitones == 0 && m.Octaves != 0 {
		return "octaves"
	}
	return "semitones"
}

func (m *Transpose) transpose(e *song.Edit, env *Env, in song.Song, part, by int) (err error) {
	p := in.Parts[part]
	isSwitch := keySwitches(env, in, p)
	moveNotes(e, in, part, env.Ranges, func(n song.Note, _ song.Range) song.Note {
		if isSwitch(n) || err != nil {
			return n
		}
		raised, e := raisedKey(in, p, n, by)
		if e != nil {
			err = option.Named(m.option(), e)
			return n
		}
		n.Key = raised
		return n
	})
	if err == nil {
		raisePressure(e, in, p, by, func(n song.Note) bool { return counts(in, env.Ranges, n) && !isSwitch(n) })
	}
	return err
}

// raisePressure raises the polyphonic pressure of the notes that moved.
func raisePressure(e *song.Edit, in song.Song, p song.Part, by int, moved func(song.Note) bool) {
	var last [128]song.Note // per key the last note that has started
	notes := p.Notes
	var raised []smf.Event
	mine := func(ev song.Event) bool { return ev.Kind() == 0xA0 && ev.Chan() == p.Channel }
	for _, ev := range in.Tracks[p.Track].Events {
		if mine(ev) {
			raised = append(raised, ev.Event)
		}
	}
	if len(raised) == 0 {
		return
	}
	raised = raised[:0:0]
	e.RemoveEvents(p.Track, func(_ *song.Track, ev song.Event) bool {
		for len(notes) > 0 && notes[0].Start <= ev.Tick {
			last[notes[0].Key&127] = notes[0]
			notes = notes[1:]
		}
		if !mine(ev) {
			return false
		}
		if n := last[ev.Data1()&127]; ev.Tick <= n.End && moved(n) {
			raised = append(raised, smf.Channel(ev.Tick, ev.Status(), byte(int(ev.Data1())+by), ev.Data2()))
			return true
		}
		return false
	})
	for _, ev := range raised {
		e.Insert(p.Track, ev)
	}
}
