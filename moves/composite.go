package moves

import (
	"reflect"
	"slices"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Composer is a move that stands for others: it looks at the song and says which steps answer it, and
// never touches a note itself.
type Composer interface {
	Step
	// Expand returns the steps it stands for, to be carried out in their order on the song it looked at.
	// They name parts and places one by one, and those that choose by chance carry their seed, so that
	// written down they do the same again. None: there is nothing to do. What it tells is all that it
	// changes in env. Call it through [Expand], which finds the parts and ranges that its options name.
	Expand(env *Env, in song.Song) ([]Step, error)
}

// Expand returns the steps that a composite move stands for on a song; see [Composer].
func Expand(env *Env, step Composer, in song.Song) ([]Step, error) {
	if err := env.prepare(step, in); err != nil {
		return nil, err
	}
	return step.Expand(env, in)
}

// inTurn carries out what a composite move stands for: it is the Apply of every one of them.
func (e *Env) inTurn(step Composer, in song.Song) (song.Song, error) {
	steps, err := step.Expand(e, in)
	if err != nil {
		return song.Song{}, err
	}
	for _, s := range steps {
		if in, err = Run(e, s, in); err != nil {
			return song.Song{}, err
		}
	}
	return in, nil
}

// MoveOf returns the move that a step is of; false for a step of somebody else's.
func MoveOf(step Step) (Move, bool) {
	for _, entry := range entries() {
		if m := entry(); reflect.TypeOf(m.New()) == reflect.TypeOf(step) {
			return m, true
		}
	}
	return Move{}, false
}

// sketch is a song on which a composite move tries steps before it asks for them.
type sketch struct {
	env   Env
	song  song.Song
	steps []Step
	asked map[int]bool // what was found out about it

	heard    form.Energy // of the song, or of one that it was made from
	measured bool        // it is of the song
}

// energy measures the song, as far as it differs from the one it was made from. It is empty where it cannot be measured.
func (s *sketch) energy() form.Energy {
	if !s.measured {
		s.heard, _ = s.heard.Again(s.song)
		s.measured = true
	}
	return s.heard
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
func newSketch(env *Env, in song.Song) *sketch {
	s := &sketch{env: *env, song: in, asked: map[int]bool{}}
	s.env.Told, s.env.Warnings, s.env.Changes = nil, nil, nil
	s.env.Ridden, s.env.Rolled = slices.Clip(env.Ridden), slices.Clip(env.Rolled)
	return s
}

// with returns the sketch with more steps carried out on it; false where one of them cannot be done or
// finds nothing to do.
func (s *sketch) with(steps ...Step) (*sketch, bool) {
	out := newSketch(&s.env, s.song)
	out.heard = s.heard
	out.steps = append(slices.Clip(s.steps), steps...)
	for _, step := range steps {
		next, err := Run(&out.env, step, out.song)
		_, targeted := step.(interface{ target() *Target })
		if err != nil || len(out.env.Warnings) > 0 || targeted && (len(out.env.Parts) == 0 || len(out.env.Ranges) == 0) {
			return nil, false
		}
		out.song = next
	}
	return out, true
}
