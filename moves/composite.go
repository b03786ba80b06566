package moves

import (
	"slices"

	"loopdraft/moves/remark"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Silences tells whether a step that came to an outcome on a song leaves bars silent that were not, two in a row.
func Silences(in song.Song, came Outcome) bool {
	tl := in.Time()
	for _, r := range came.Ranges {
		first, last := max(tl.BarOf(r.Start)-1, 1), min(tl.BarOf(r.End-1)+1, in.Bars())
		if !form.Quieter(in, came.Song, first, last) {
			continue
		}
		if form.SilentPairs(came.Song, first, last) > form.SilentPairs(in, first, last) {
			return true
		}
	}
	return false
}

// expansion returns what a composite move stands for that has told something and has left some of what it
// was to answer.
func expansion(steps []Step, told, left []remark.Remark) Expansion {
	x := Expansion{Steps: steps, Remarks: remark.Add(told, left...)}
	if len(left) > 0 {
		x.Nothing = left[len(left)-1]
	}
	return x
}

// Expand returns the steps that a composite move stands for on a song; see [Composer].
func Expand(env *Env, step Composer, in song.Song) (Expansion, error) {
	e, found, err := env.prepared(step, in)
	if err != nil {
		return Expansion{}, err
	}
	x, err := step.Expand(&e, in)
	if err != nil {
		return Expansion{}, err
	}
	x.Remarks = remark.Add(found, x.Remarks...)
	switch {
	case len(x.Steps) > 0:
		x.Nothing = remark.Remark{}
	case x.Nothing.Kind == "":
		x.Nothing.Kind = remark.NothingLeft
	}
	return x, nil
}

// InTurn carries out the steps that a composite move stands for, one after the other.
func InTurn(env *Env, step Composer, in song.Song) (Outcome, error) {
	x, err := Expand(env, step, in)
	if err != nil {
		return Outcome{}, err
	}
	out, err := RunAll(env, in, x.Steps...)
	if err != nil {
		return Outcome{}, err
	}
	out.Remarks = remark.Add(x.Remarks, out.Remarks...)
	if len(x.Steps) == 0 {
		out.Nothing = x.Nothing
	}
	return out, nil
}

// sketch is a song on which a composite move tries steps before it asks for them.
type sketch struct {
	env   Env
	song  song.Song
	steps []Step
	done  []Done
	asked map[int]bool // what was found out about it

	heard    form.Energy // of the song, or of one that it was made from
	measured bool        // heard is of this song and of no earlier one
	offs     []int       // how far each stretch of env.Energies lay off it in the song that the composite move found
}

// keepsEnergy tells whether a sketch takes no stretch out of the energy that it is to have.
func (s *sketch) keepsEnergy() bool {
	return len(s.env.Energies) == 0 || s.env.Energies.keeps(s.offs, s.energy().Mean)
}

// energy measures the song, as far as it differs from the one it was made from. It is empty where it cannot be measured.
func (s *sketch) energy() form.Energy {
	if !s.measured {
		s.heard, _ = s.heard.Again(s.song)
		s.measured = true
	}
	return s.heard
}

// hand has an expansion tell what carrying out the steps of the sketch came to; the sketch began with a song.
func (s *sketch) hand(x *Expansion, in song.Song) {
	x.Done, x.Song = Handed(s.done, in), s.song
}

// Handed returns what steps came to that were tried on the whole of a song, one after the other, for [Expansion.Done].
func Handed(done []Done, in song.Song) []Done {
	out := slices.Clone(done)
	for i := range out {
		out[i].Whole, out[i].Silences = true, Silences(in, out[i].Outcome)
		in = out[i].Outcome.Song
	}
	return out
}

// known answers a question about the sketch, which it works out the first time it is asked.
func (s *sketch) known(question int, answer func() bool) bool {
	got, ok := s.asked[question]
	if !ok {
		got = answer()
		s.asked[question] = got
	}
	return got
}

// newSketch returns a sketch that starts from a song; what is done on it leaves env alone.
func newSketch(env Env, in song.Song) *sketch {
	env.swing() // measured once for all that come of it
	s := &sketch{env: env, song: in, asked: map[int]bool{}, heard: env.Heard}
	if len(env.Energies) > 0 {
		s.offs = env.Energies.offs(s.energy().Mean)
	}
	return s
}

// with returns the sketch with more steps carried out on it; false where one of them cannot be done or
// has nothing to do, or no more may be tried.
func (s *sketch) with(steps ...Step) (*sketch, bool) {
	if s.env.May != nil && !s.env.May() {
		return nil, false
	}
	return s.after(steps...)
}

// after is [sketch.with] where it was asked already whether more may be tried.
func (s *sketch) after(steps ...Step) (*sketch, bool) {
	out := &sketch{env: s.env, song: s.song, asked: map[int]bool{}, heard: s.heard, offs: s.offs}
	out.steps, out.done = append(slices.Clip(s.steps), steps...), slices.Clip(s.done)
	for _, step := range steps {
		next, err := Run(&out.env, step, out.song)
		if err != nil || next.Idle() {
			return nil, false
		}
		out.done = append(out.done, Done{Step: step, Outcome: next})
		out.env, out.song = out.env.After(next), next.Song
	}
	return out, true
}
