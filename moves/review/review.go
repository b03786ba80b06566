package review

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Input is an arrangement. Songs are shared and never written to.
type Input struct {
	Song song.Song // with its parts heard, see listen.Hear

	// These say what a draft was made of: the loop laid out over the whole length, the song after its
	// line-up and before its moves, and the length of the loop in bars. All three are left out for a
	// song of which nothing else is known: then form.StructureOf says what changes, what leads in and
	// what a part usually plays.
	Full, Lined song.Song
	LoopBars    int
	Passes      []int          // of several loops the length of the one that plays, by bar from the first; nil: LoopBars
	Energies    moves.Energies // that its recipe asks for; nil: it asks for none

	// So that what is the same is not looked at again:
	Heard form.Energy // of the song, or of one that it was made from; unset: none
	Known *Known      // what was found out about it, or about one that it was made from; nil: nothing

	strikes  *form.Strikes  // of Full; nil: not known yet
	preparer *form.Preparer // for all songs that come of the first; nil: there is none yet
}

// Known is what was found out about a song, for a review of one that was made from it.
type Known struct{ subject *subject }

// Options say what is looked for. The zero value looks by every rule, with its numbers as they are.
type Options struct {
	Checks []Check // rules with their options, see [Rule].New; nil: every rule of the catalogue
	Level  Level   // findings from this level up stand in the way of a release, and are answered
	Bare   bool    // no answers are looked for, which takes most of the time
}

// Level is how much a finding matters.
type Level int

// The levels, rising: worth knowing; likely not meant; broken.
const (
	Note Level = iota
	Warn
	Fault
)

var levelWords = [...]string{"note", "warn", "fault"}

func (l Level) String() string { return levelWords[l] }

// MarshalText writes a level as its word.
func (l Level) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// Levels returns the words of the levels, rising.
func Levels() []string { return slices.Clone(levelWords[:]) }

// ParseLevel reads a level: note, warn or fault.
func ParseLevel(text string) (Level, error) {
	if i := slices.Index(levelWords[:], text); i >= 0 {
		return Level(i), nil
	}
	return 0, fmt.Errorf("found level %q, want one of %s", text, strings.Join(levelWords[:], ", "))
}

// Finding is something that a rule found.
type Finding struct {
	Rule    string   `json:"rule"`
	Level   Level    `json:"level"`
	First   int      `json:"first"`   // bar it starts in
	Last    int      `json:"last"`    // and ends in, both included
	Section string   `json:"section"` // that bar First is in, numbered where several have its name
	Parts   []string `json:"parts"`   // that it is about, by name
	About   string   `json:"about"`   // the controller, marker or track that it is about
	Found   float64  `json:"found"`   // what was measured, in Unit, at most one decimal
	Limit   float64  `json:"limit"`   // what it was measured against
	Unit    string   `json:"unit"`
	Text    string   `json:"text"`   // in a producer's words
	Answer  Steps    `json:"answer"` // the moves that answer it, tried; nil: there are none

	tries func() []Steps // answers that may do, the better ones first; nil: none
	loops bool           // of a draft: the loop itself has it, so that no move is to blame
}

// ofLoop makes a finding a remark on the loop.
func (f *Finding) ofLoop() {
	f.Level, f.loops = Note, true
	f.Text = "The loop itself has it: " + f.Text
}

// Steps are steps of a recipe, in order.
type Steps []moves.Step

// Texts returns the steps as a recipe writes them.
func (s Steps) Texts() []string {
	var out []string
	all := moves.All()
	for _, step := range s {
		out = append(out, all.Of(step).Text(step))
	}
	return out
}

// MarshalJSON writes the steps as the texts they have in a recipe.
func (s Steps) MarshalJSON() ([]byte, error) { return json.Marshal(append([]string{}, s.Texts()...)) }

// Result is what a review found.
type Result struct {
	Findings []Finding `json:"findings"` // the worst level first, then by bar, then as the catalogue lists the rules
	Sections []Section `json:"sections"` // it was looked at by
	Told     []string  `json:"told"`     // what could not be looked at, and why
	Verdict  Verdict   `json:"verdict"`
}

// Review looks at an arrangement by rules. A song without common bars (format 2, SMPTE time) or without
// any bar is an error.
//
// The time it takes is linear in the notes, and in parts times bars, for each rule. Answers are tried on the whole
// song with its parts as they are, the worst findings first, as many as [mostWork] allows: a count, so that the
// same is tried on every machine.
func Review(in Input, o Options) (Result, error) {
	s, err := newSubject(in, o)
	if err != nil {
		return Result{}, err
	}
	r := Result{Findings: s.findAll(), Sections: s.sections()}
	t := s.newTrials()
	for i := range r.Findings {
		if f := &r.Findings[i]; !o.Bare && f.Level >= o.Level {
			t.next()
			f.Answer, _, _ = s.answer(f, r.Findings, t)
		}
	}
	r.Verdict, r.Told = verdict(s, r.Findings, o.Level), t.told(s.told)
	return r, nil
}

// Answers answers as many findings that stand in the way as can be answered, each after the ones before it:
// the answers one after the other make one recipe. It returns what was answered, and what is left to find
// after all of them.
func Answers(in Input, o Options) ([]Finding, Result, error) {
	s, err := newSubject(in, o)
	if err != nil {
		return nil, Result{}, err
	}
	var out []Finding
	first := s.findAll()
	left := first
	t := s.newTrials()
	for i := range first {
		at := slices.IndexFunc(left, func(f Finding) bool { return f.same(first[i]) })
		if at < 0 || left[at].Level < o.Level {
			continue
		}
		f := left[at]
		t.next()
		if steps, after, found := s.answer(&f, left, t); steps != nil {
			f.Answer, s = steps, after
			out, left = append(out, f), found
		}
	}
	return out, Result{Findings: left, Sections: s.sections(), Told: t.told(s.told), Verdict: verdict(s, left, o.Level)}, nil
}

// mostWork is how much is looked at when answers are tried, in notes and quarters of a part's bar: about a second
// (measured). One finding takes a quarter of it at most. mostTries is how many answers are tried for one finding.
const (
	mostWork  = 1_600_000
	mostTries = 16
)

// trials keep count of the answers that are tried in a review.
type trials struct {
	look    int // what it takes to look at the song once by a rule or by all of them, about the same
	left    int // of mostWork
	until   int // what has to be left after the finding that is answered
	tried   int
	out     bool // the finding that is answered got no more work
	stopped bool // some finding got no more work
	cut     bool // an answer was not tried of a finding that has more than mostTries
}

// next turns to the next finding.
func (t *trials) next() { t.until, t.out = max(t.left-mostWork/4, 0), false }

func (s *subject) newTrials() *trials {
	look := 1
	if s.measured {
		look = 4 * s.bars * len(s.song.Parts)
	}
	for _, p := range s.song.Parts {
		look += len(p.Notes)
	}
	return &trials{look: look, left: mostWork}
}

// may takes so much of the work that is left for the finding; false where too little is.
func (t *trials) may(work int) bool {
	if t.left-work < t.until {
		t.out, t.stopped = true, true
		return false
	}
	t.left -= work
	return true
}

// told adds to what could not be looked at which answers were not tried.
func (t *trials) told(before []string) []string {
	out := append([]string{}, before...)
	if t.stopped {
		out = append(out, fmt.Sprintf("not every answer was tried: the song is too long to try more than the %d that were, the worst findings first", t.tried))
	}
	if t.cut {
		out = append(out, fmt.Sprintf("not every answer was tried: of a finding only the first %d", mostTries))
	}
	return out
}

// answer tries what may answer a finding; nil where nothing does. Where all that comes with an answer are
// changes that nothing leads into, what leads into them is added. after is the subject with the steps
// carried out, and found what is found in it.
func (s *subject) answer(f *Finding, all []Finding, t *trials) (steps Steps, after *subject, found []Finding) {
	if f.tries == nil {
		return nil, nil, nil
	}
	for i, try := range f.tries() {
		if t.cut = t.cut || i == mostTries; i == mostTries || !t.may(t.look) {
			break
		}
		t.tried++
		after, err := s.with(try, t)
		if t.out {
			break // what a composite move did not get to try may be what a recipe would
		}
		if err != nil || !s.gone(after.find(f.Rule), *f) || s.silences(after) {
			continue
		}
		if !t.may(t.look) {
			break
		}
		found := after.findAll()
		for s.gone(found, *f) {
			more := added(all, found)
			if len(more) == 0 {
				return try, after, found
			}
			rule := unpreparedRule().Name
			if f.Rule == rule || slices.ContainsFunc(more, func(m Finding) bool { return m.Rule != rule }) {
				break
			}
			lead, next, then := after.answer(&more[0], found, t)
			if lead == nil {
				break
			}
			try, after, found = append(slices.Clip(try), lead...), next, then
		}
	}
	return nil, nil, nil
}

// gone tells whether a finding is not there any more, or not at the level from which on it is asked for.
func (s *subject) gone(after []Finding, f Finding) bool {
	return !slices.ContainsFunc(after, func(g Finding) bool { return f.same(g) && g.Level >= s.o.Level })
}

// added returns the findings that were not there before, or not that bad.
func added(before, after []Finding) []Finding {
	was := map[string][]Finding{} // by rule and what it is about
	for _, b := range before {
		was[b.Rule+"\x00"+b.About] = append(was[b.Rule+"\x00"+b.About], b)
	}
	var out []Finding
	for _, a := range after {
		if !slices.ContainsFunc(was[a.Rule+"\x00"+a.About], func(b Finding) bool { return a.same(b) && a.Level <= b.Level }) {
			out = append(out, a)
		}
	}
	return out
}

// same tells whether two findings of one rule are about the same things in bars that they share.
func (f Finding) same(g Finding) bool {
	return f.Rule == g.Rule && f.First <= g.Last && g.First <= f.Last && slices.Equal(f.Parts, g.Parts) && f.About == g.About
}

// with returns the subject with steps carried out. They are carried out as a recipe of nothing else
// would on the file that the song is: without sections, and with a song that is all loop.
func (s *subject) with(steps Steps, t *trials) (*subject, error) {
	out := s.in.Song.WithSections(nil)
	env := moves.Env{Loop: s.file, Full: s.file, Lined: s.file, Strict: true, Seed: 1, May: func() bool { return t.may(t.look / 8) }}
	if slices.Contains(steps, nil) {
		return nil, errors.New("no such step")
	}
	came, err := moves.RunAll(&env, out, steps...)
	if err != nil {
		return nil, err
	}
	return s.changed(came.Song)
}

// step makes a step from names of options and their values as a recipe writes them, an item of a list
// after a semicolon; nil where they do not make one.
func step(move string, options ...string) moves.Step {
	m, ok := moves.All().Lookup(move)
	if !ok {
		return nil
	}
	out := m.New()
	for i := 0; i+1 < len(options); i += 2 {
		texts := strings.Split(options[i+1], "; ")
		if err := m.Set(out, options[i], texts, len(texts) > 1); err != nil {
			return nil
		}
	}
	return out
}

// one is an answer of one step.
func one(move string, options ...string) Steps { return Steps{step(move, options...)} }
