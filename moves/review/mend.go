package review

import (
	"errors"
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Moves returns the moves that answer what a review finds.
func Moves() moves.Catalogue { return moves.Catalogue{mendMove()} }

// Mend answers what a review would warn of.
type Mend struct {
	Rules  option.Words `yaml:"rules" words:"stands-still,unprepared,wrong-way,drop,break,build,peak,energy,everything,mix-in,mix-out,low-end,hung,overlap,too-short,past-end,controller" doc:"the rules whose warnings it answers; left out, all by which the recipe is reviewed"`
	Over   where.Spans  `yaml:"over" doc:"where it may change something; left out, in all of the song"`
	Except where.Spans  `yaml:"except" doc:"where it changes nothing"`

	checks []Check // the rules as the recipe has them; nil: as they are
	known  *Known  // what it finds out is left there; nil: nowhere
}

func mendMove() moves.Move {
	return moves.Move{
		Group: moves.Composite,
		Brief: "Answer what the review would warn of",
		Doc: `The song is held against the recipe's rules, see "review:", and each warning is answered once, the worst first, as the review answers it: three answers are tried at the most, the mildest first, and 24 in all. An answer is taken only if fewer warnings are left with it, every line that was changed or prepared still is, no section leaves the energy it is to have, and no part falls silent for a whole section. Nothing goes further than an octave. Notes of the review are left alone. What the loop has itself, such as two basses layered, is told and left as it is.

It looks at the song as it is when its turn comes: as a rule it is the last move. With over and except an answer is taken only if it changes nothing elsewhere.`,
		New: func() moves.Step { return &Mend{} },
		Example: func() moves.Example {
			return moves.Example{
				Step:     &Mend{Rules: option.Words{"break"}},
				Sections: "groove 1, break 1, drop 1",
				Before:   "kick x...x...x...x...|................|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|................|x.x.x.x.x.x.x.x.\nbass:40 x---x---x---x---|x---x---x---x---|x---x---x---x---\npad o---------------|o---------------|o---------------",
				After:    "kick x...x...x...x...|................|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|................|x.x.x.x.x.x.x.x.\nbass:52 ................|x---x---x---x---|................\nbass:40 x---x---x---x---|................|x---x---x---x---\npad o---------------|o---------------|o---------------",
			}
		},
	}
}

// Name implements [moves.Step].
func (*Mend) Name() string { return "mend" }

// Apply implements [moves.Step].
func (m *Mend) Apply(env *moves.Env, in song.Song) (moves.Outcome, error) {
	return moves.InTurn(env, m, in)
}

// By returns the step with the rules of a recipe. What it finds out about the song that it leaves is put into known, unless
// that is nil.
func (m *Mend) By(checks []Check, known *Known) *Mend {
	out := *m
	out.checks, out.known = checks, known
	return &out
}

// How much is tried at the most: answers of a finding, and answers in all.
const (
	mostMends  = 3
	mostTrials = 24
)

// Expand implements [moves.Composer].
func (m *Mend) Expand(env *moves.Env, in song.Song) (moves.Expansion, error) {
	within, told, err := m.within(env, in)
	if err != nil {
		return moves.Expansion{}, err
	}
	input := Input{Song: in, Heard: env.Heard}
	if env.Bars > 0 {
		input.Full, input.Lined, input.LoopBars, input.Passes, input.Energies, input.strikes, input.preparer = env.Full, env.Lined, env.Bars, env.Passes(), env.Energies, env.Strikes, env.Preparer
	}
	checks := m.checks
	if checks == nil {
		checks = asTheyAre()
	}
	s, err := newSubject(input, Options{Checks: warning(checks), Level: Warn})
	if err != nil {
		return moves.Expansion{}, err
	}
	w := mending{within: within, env: *env, now: s, found: s.findAll(), energy: s.energy}
	x := moves.Expansion{Remarks: told}
	var open []Finding
	var loops []remark.Remark
	for _, f := range w.found {
		switch {
		case f.loops:
			loops = append(loops, remark.Remark{Kind: remark.LoopHas, Text: f.Text, Parts: f.Parts})
		case f.Level >= Warn && m.Rules.Allows(f.Rule):
			open = append(open, f)
		}
	}
	x.Remarks = remark.Add(x.Remarks, loops...)
	for _, f := range open {
		w.answer(f)
	}
	for _, d := range w.done {
		x.Steps = append(x.Steps, d.Step)
	}
	if m.known != nil {
		m.known.subject = w.now
	}
	x.Done, x.Song, x.Heard = moves.Handed(w.done, in), w.now.in.Song, w.now.energy
	return x, nil
}

// within returns where something may change.
func (m *Mend) within(env *moves.Env, in song.Song) ([]song.Range, []remark.Remark, error) {
	over, told, err := m.Over.Resolve(env.SpanContext(in))
	if err != nil {
		return nil, nil, option.Named("over", err)
	}
	if m.Except.IsZero() {
		return over, told, nil
	}
	except, more, err := m.Except.Resolve(env.SpanContext(in))
	if err != nil {
		return nil, nil, option.Named("except", err)
	}
	var out []song.Range
	for _, p := range song.Without(over, except) {
		out = append(out, p.Range)
	}
	return out, remark.Add(told, more...), nil
}

// warning returns the checks of rules that warn.
func warning(checks []Check) []Check {
	return slices.DeleteFunc(slices.Clone(checks), func(c Check) bool {
		rule, _ := ruleOf(c)
		return rule.Level < Warn
	})
}

// mending is a mend at work.
type mending struct {
	within []song.Range
	env    moves.Env
	energy form.Energy // of the song that it found
	now    *subject
	found  []Finding
	done   []moves.Done
	tried  int
}

// answer tries the answers of a finding that is still there, and takes the first that will do.
func (w *mending) answer(f Finding) {
	at := slices.IndexFunc(w.found, func(g Finding) bool { return g.same(f) && g.Level >= Warn })
	if at < 0 || w.found[at].tries == nil {
		return
	}
	tries := w.found[at].tries()
	for _, try := range tries[:min(len(tries), mostMends)] {
		if w.tried == mostTrials {
			return
		}
		w.tried++
		done, env, next, err := w.with(try)
		if err != nil || !next.gone(next.find(f.Rule), w.found[at]) || !w.keeps(next) { // the rule that it answers is asked first: most answers fail there
			continue
		}
		if found := next.findAll(); len(added(w.found, warnings(found))) == 0 {
			w.done, w.env, w.now, w.found = append(w.done, done...), env, next, found
			return
		}
	}
}

// warnings returns the findings that stand in the way.
func warnings(found []Finding) []Finding {
	return slices.DeleteFunc(slices.Clone(found), func(f Finding) bool { return f.Level < Warn })
}

// errNoStep is why an answer cannot be tried.
var errNoStep = errors.New("no such step")

// with carries out an answer as the runner of a recipe does, and returns the steps that it comes to, and what they come to.
func (w *mending) with(try Steps) ([]moves.Done, moves.Env, *subject, error) {
	env, in := w.env, w.now.in.Song
	var out []moves.Done
	run := func(steps ...moves.Step) error {
		for _, step := range steps {
			came, err := moves.Run(&env, step, in)
			if err != nil {
				return err
			}
			if came.Idle() {
				return errNoStep
			}
			out, env, in = append(out, moves.Done{Step: step, Outcome: came}), env.After(came), came.Song
		}
		return nil
	}
	for _, step := range try {
		if step == nil {
			return nil, env, nil, errNoStep
		}
		steps := []moves.Step{step}
		if c, ok := step.(moves.Composer); ok {
			x, err := moves.Expand(&env, c, in)
			if err != nil {
				return nil, env, nil, err
			}
			steps = x.Steps
		}
		if err := run(steps...); err != nil {
			return nil, env, nil, err
		}
	}
	if len(out) == 0 {
		return nil, env, nil, errNoStep
	}
	next, err := w.now.changed(in)
	return out, env, next, err
}

// keeps tells whether nothing is lost with an answer: lines that are changed or prepared, energies, and parts in whole
// sections.
func (w *mending) keeps(next *subject) bool {
	if !w.inside(next) || w.now.silences(next) || !w.env.Energies.Keeps(w.energy, next.energy) {
		return false
	}
	phrase := max(w.env.Phrase, 0)
	if phrase == 0 {
		phrase = preparedPhrase
	}
	for _, bar := range w.now.lines(phrase) {
		if bar > w.now.first && bar <= w.now.bars && len(w.now.changes(phrase, bar)) > 0 && len(next.changes(phrase, bar)) == 0 {
			return false
		}
	}
	for _, sec := range w.now.song.Sections {
		if sec.Bar > w.now.first && sec.Bar <= w.now.bars && w.now.prepared(sec.Bar) && !next.prepared(sec.Bar) {
			return false
		}
	}
	return true
}

// inside tells whether an answer changes nothing but where something may change.
func (w *mending) inside(next *subject) bool {
	if len(w.within) == 1 && w.within[0].Start <= 0 && w.within[0].End >= w.now.song.End {
		return true
	}
	for i := range next.song.Parts {
		p := &next.song.Parts[i]
		var was []song.Note
		if at := w.now.song.Index(p.Name); at >= 0 {
			was = w.now.song.Parts[at].Notes
		}
		if sameNotes(was, p.Notes) {
			continue
		}
		if r := apartIn(was, p.Notes); r.Len() > 0 && !slices.ContainsFunc(w.within, func(in song.Range) bool { return in.Start <= r.Start && r.End <= in.End }) {
			return false
		}
	}
	return true
}

// silences tells whether a part that sounds in a section does not sound in it any more.
func (s *subject) silences(next *subject) bool {
	for _, sec := range s.song.Sections {
		for _, i := range s.heard() {
			at := i
			if at >= len(next.song.Parts) || next.song.Parts[at].Name != s.song.Parts[i].Name {
				at = next.song.Index(s.song.Parts[i].Name)
			}
			if at >= 0 && sharesSounds(s.parts[i], next.parts[at]) {
				continue
			}
			if s.playing(i, sec.Bar, last(sec)) > 0 && (at < 0 || next.playing(at, sec.Bar, last(sec)) == 0) {
				return true
			}
		}
	}
	return false
}

// sharesSounds tells whether two parts are one and the same.
func sharesSounds(a, b heardPart) bool {
	return len(a.sounds) == len(b.sounds) && (len(a.sounds) == 0 || &a.sounds[0] == &b.sounds[0])
}
