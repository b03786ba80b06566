package recipes

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/review"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// stepping carries out the steps of a recipe, one after the other.
type stepping struct {
	*order
	catalogue moves.Catalogue
	env       moves.Env // what the next step finds
	song      song.Song // so far
	room      song.Room // for its notes, but for those that something else has too: env, and what composite moves found out
	done      []doneStep
	remarks   []remark.Remark // of all steps, in order
	changes   []song.Change   // the trace
	equal     map[string]int  // how many steps of a text there were
	spans     int             // how many ranges the spans of the steps came to
	full      form.Energy     // of the loop laid out over the whole length; empty where nobody asked
	known     *review.Known   // what the last mend found out; nil: there was none
}

// doneStep is a step that was carried out, or skipped.
type doneStep struct {
	index   int           // in the recipe's moves, -1: ahead of them
	step    moves.Step    // spelled out; as it was given if it was skipped
	skipped remark.Remark // why; the zero value: it was carried out
}

func newStepping(a *order, l foundLoop, laid laidLoop, lined linedUp) *stepping {
	return &stepping{
		order: a, catalogue: a.r.catalogue(), song: lined.song, room: lined.room, equal: map[string]int{},
		env: moves.Env{Loop: l.song, Cycles: l.loop.Cycles, Bars: l.loop.Bars, Loops: l.loops, Plays: laid.played(), Full: laid.song, Blocks: laid.plan.blocks, Phrase: a.r.phrase(), Strict: !a.r.anyLoop()},
	}
}

// all carries out the steps that are ahead of the recipe's, then the recipe's.
func (s *stepping) all(lined linedUp) {
	s.begin(lined)
	for i, spec := range s.r.Moves {
		if s.step(i, spec); s.spans > mostSpans {
			s.fail(spec.at, Error{Path: stepPath(i, spec), Found: "spans that come to more than " + strconv.Itoa(mostSpans) + " ranges with those of the steps before", Want: "fewer steps, or wider spans"})
			return
		}
	}
}

// begin carries out the steps that are ahead of the recipe's, and measures what comes of them.
func (s *stepping) begin(lined linedUp) {
	for _, step := range lined.standing {
		s.step(-1, StepSpec{Step: step})
	}
	s.room.Leave()
	s.env.Lined, s.env.Strikes, s.env.Preparer = s.song, form.NewStrikes(s.env.Full), form.NewPreparer(form.DefaultPrepareRule())
	if lined.found != nil {
		s.full, _ = lined.laid.layout.energy()
		if heard, err := form.EnergyOf(s.song); err == nil { // else no player was found either
			s.env.Heard, s.env.Energies = heard, lined.found.ranges(heard)
		}
	}
}

// mostSpans is how many ranges the spans of a recipe's steps may come to: thousands of steps over each 1/32 of a song take
// minutes and gigabytes. Five hundred steps over each beat of a thousand bars are fewer.
const mostSpans = 1 << 21

// step carries out one step; index is its place in the recipe, -1 for one that is not the recipe's.
// After a mistake the song stays as it is, so that the mistakes of later steps are found too.
func (s *stepping) step(index int, spec StepSpec) {
	s.env.Seed = s.stepSeed(index, s.text(spec))
	if spec.absent {
		s.leaveOut(index, spec)
		return
	}
	if c, ok := spec.Step.(moves.Composer); ok {
		s.composite(index, spec, c)
		return
	}
	s.primitive(index, spec, "")
}

// text returns a step as the recipe has it.
func (s *stepping) text(spec StepSpec) string {
	if spec.written != "" {
		return spec.written
	}
	return s.shared.moveOf(spec.Step).Text(spec.Step)
}

// composite carries out the steps that a composite move stands for, each as a step of its own.
func (s *stepping) composite(index int, spec StepSpec, c moves.Composer) {
	if m, ok := c.(*review.Mend); ok {
		s.known = new(review.Known)
		c = m.By(s.shared.checks(), s.known)
	}
	s.room.Leave()
	x, err := moves.Expand(&s.env, c, s.song)
	if err != nil {
		s.failed(index, spec, err)
		return
	}
	s.note(index, spec, x.Remarks)
	if len(x.Steps) == 0 {
		s.skip(index, spec, x.Nothing)
	}
	if !s.tried(index, spec, c, x) {
		for _, step := range x.Steps {
			s.primitive(index, StepSpec{Step: step, at: spec.at}, c.Name())
		}
	}
	if len(x.Heard.Bars) > 0 {
		s.env.Heard = x.Heard
	}
}

// tried carries out the steps that a composite move has tried already; false where one of them is to be skipped, so that
// those after it may come to something else.
func (s *stepping) tried(index int, spec StepSpec, c moves.Composer, x moves.Expansion) bool {
	if len(x.Done) == 0 || slices.ContainsFunc(x.Done, func(d moves.Done) bool { return s.whySkip(d).Kind != "" }) {
		return false
	}
	for _, d := range x.Done {
		s.carriedOut(index, StepSpec{Step: d.Step, at: spec.at}, c.Name(), d.Outcome)
		if d.Whole {
			s.song = d.Outcome.Song
		}
	}
	s.song = x.Song
	return true
}

// primitive carries out a step of a move that changes the song itself; within names the composite move
// it is a step of, "" for none.
func (s *stepping) primitive(index int, spec StepSpec, within string) {
	came, err := moves.Run(&s.env, spec.Step, s.song.WithRoom(&s.room))
	if err != nil {
		s.failed(index, spec, err)
		return
	}
	if why := s.whySkip(moves.Done{Step: spec.Step, Outcome: came, Silences: s.r.anyLoop() && moves.Silences(s.song, came)}); why.Kind != "" { // it leaves no trace, such as home values of a ride that is nowhere
		s.skip(index, spec, why)
		s.spans += came.Spans
		return
	}
	s.carriedOut(index, spec, within, came)
	s.song = came.Song.WithRoom(nil)
	s.room.Keep(s.song)
}

// carriedOut notes what a step came to, and what it leaves for those after it but for the song.
func (s *stepping) carriedOut(index int, spec StepSpec, within string, came moves.Outcome) {
	s.done = append(s.done, doneStep{index: index, step: spelledOut(spec.Step, came, s.env, s.song)})
	for _, c := range came.Changes {
		c.Step, c.Move, c.Within = index, spec.Step.Name(), within
		s.changes = append(s.changes, c)
	}
	s.note(index, spec, came.Remarks)
	s.env = s.env.After(came)
	s.spans += came.Spans
}

// whySkip says why a step is skipped that was carried out; the zero value: it is not. A recipe that is
// written for loops it does not know asks for what this one may not have.
func (s *stepping) whySkip(d moves.Done) remark.Remark {
	switch why := d.Outcome.Nothing; {
	case why.Kind == remark.NoPart || why.Kind == remark.NoPlace:
		return why
	case !s.r.anyLoop():
	case d.Outcome.Missed():
		return remark.Remark{Kind: remark.NothingPlays}
	case d.Silences:
		return remark.Remark{Kind: remark.WouldSilence}
	}
	return remark.Remark{}
}

// failed notes that a step could not be carried out.
func (s *stepping) failed(index int, spec StepSpec, err error) {
	if !s.r.anyLoop() {
		s.stepMistakes(index, spec, err)
		return
	}
	// It was written for loops it does not know: what this one cannot do is left out.
	why := remark.Remark{Kind: remark.CannotBeDone, Text: strings.ReplaceAll(err.Error(), "\n", "; ")} // in one line of a comment
	s.tell(spec.Step.Name() + " is left out: " + s.o.Text(why))
	s.done = append(s.done, doneStep{index, spec.Step, why})
}

// leaveOut leaves a step out that names a section which was not chosen. It is told of a recipe for any loop too.
func (s *stepping) leaveOut(index int, spec StepSpec) {
	why := remark.Remark{Kind: remark.NotChosen}
	s.done = append(s.done, doneStep{index, spec.Step, why})
	s.tell(fmt.Sprintf("%s: left out, %s", stepPath(index, spec), s.o.Text(why)))
}

// skip notes that a step has nothing to work on, which is told if none of the remarks so far says it.
func (s *stepping) skip(index int, spec StepSpec, why remark.Remark) {
	s.done = append(s.done, doneStep{index, spec.Step, why})
	if !s.r.anyLoop() && !slices.ContainsFunc(s.remarks, why.Equal) {
		s.tell(fmt.Sprintf("%s: skipped, %s", stepPath(index, spec), s.o.Text(why)))
	}
}

// note keeps what a step remarked. Warnings get its place; a recipe that is written for loops it does not
// know asks for what may not be there, so that it is no reason to warn.
func (s *stepping) note(index int, spec StepSpec, remarks []remark.Remark) {
	var told []remark.Remark
	for _, r := range remarks {
		switch {
		case !r.Kind.Warns():
			told = append(told, r)
		case !s.r.anyLoop():
			e := Error{File: s.file, Line: spec.at.line, Col: spec.at.col}
			s.warn(e.place() + stepPath(index, spec) + ": " + s.o.Text(r))
		}
	}
	s.remarks = remark.Add(s.remarks, told...)
}

// stepSeed returns the seed of a step by its text: of equal steps in the recipe each has another.
func (s *stepping) stepSeed(index int, text string) uint64 {
	nth := 0
	if index >= 0 {
		nth = s.equal[text]
		s.equal[text]++
	}
	return moves.StepSeed(s.seed, text, nth)
}

// stepPath names a step for messages: moves[3].mute is the third.
func stepPath(index int, spec StepSpec) string {
	return fmt.Sprintf("moves[%d].%s", index+1, spec.Step.Name())
}

// stepMistakes puts the mistakes of a step's options in their places.
func (s *stepping) stepMistakes(index int, spec StepSpec, err error) {
	for _, err := range flatten(err) {
		if s.follows(err) {
			continue
		}
		path, place := stepPath(index, spec), func(int) spot { return spec.at }
		var option *option.Mistake
		if errors.As(err, &option) && option.Option != "" {
			path += "." + option.Option
			place = func(item int) spot { return spotOfField(spec.fields, option.Option, item, spec.at) }
		}
		s.optionMistake(err, path, place)
	}
}
