package review

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/smf/song"
)

// Input is an arrangement. Songs are shared and never written to.
type Input struct {
	Song song.Song // with its parts heard, see listen.Hear

	// Of a draft, what it was made of: the loop laid out over the whole length, the song after its
	// line-up and before its moves, and the length of the loop in bars. All three are left out for a
	// song of which nothing else is known: then form.StructureOf says what changes, what leads in and
	// what a part usually plays.
	Full, Lined song.Song
	LoopBars    int
}

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
// The time it takes is linear in the notes for each rule. Answers are tried on the whole song with its parts
// as they are, the worst findings first, up to 500 of them in a review.
func Review(in Input, o Options) (Result, error) {
	s, err := newSubject(in, o)
	if err != nil {
		return Result{}, err
	}
	r := Result{Findings: s.findAll(), Sections: s.sections()}
	trials := s.mostTrials()
	for i := range r.Findings {
		if f := &r.Findings[i]; !o.Bare && f.Level >= o.Level {
			f.Answer, _ = s.answer(f, r.Findings, &trials)
		}
	}
	r.Verdict, r.Told = verdict(s, r.Findings, o.Level), s.toldOf(trials)
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
	trials := s.mostTrials()
	for i := range first {
		at := slices.IndexFunc(left, func(f Finding) bool { return f.same(first[i]) })
		if at < 0 || left[at].Level < o.Level {
			continue
		}
		f := left[at]
		if steps, after := s.answer(&f, left, &trials); steps != nil {
			f.Answer, s = steps, after
			out, left = append(out, f), s.findAll()
		}
	}
	return out, Result{Findings: left, Sections: s.sections(), Told: s.toldOf(trials), Verdict: verdict(s, left, o.Level)}, nil
}

func (s *subject) mostTrials() int {
	notes := 0
	for _, p := range s.song.Parts {
		notes += len(p.Notes)
	}
	return mostTrials(notes)
}

// mostTrials returns how many answers are tried in a review of so many notes, so that it takes no time out of
// proportion: each is a review of its own. 500, in a song of over 8000 notes so many that 4 million are looked
// at, 8 at least.
func mostTrials(notes int) int { return min(max(4_000_000/max(notes, 1), 8), 500) }

// toldOf returns what could not be looked at; trials is how many are left.
func (s *subject) toldOf(trials int) []string {
	out := append([]string{}, s.told...)
	if trials < 0 {
		out = append(out, fmt.Sprintf("not every answer was tried: in so long a song %s are", count(s.mostTrials(), "trial")))
	}
	return out
}

// answer tries what may answer a finding; nil where nothing does. Where all that comes with an answer are
// changes that nothing leads into, what leads into them is added. after is the subject with the steps
// carried out.
func (s *subject) answer(f *Finding, all []Finding, trials *int) (steps Steps, after *subject) {
	if f.tries == nil {
		return nil, nil
	}
	for _, try := range f.tries() {
		if *trials--; *trials < 0 {
			return nil, nil
		}
		after, err := s.with(try)
		if err != nil {
			continue
		}
		found := after.findAll()
		for gone(found, *f) {
			more := added(all, found)
			if len(more) == 0 {
				return try, after
			}
			rule := unpreparedRule().Name
			if f.Rule == rule || slices.ContainsFunc(more, func(m Finding) bool { return m.Rule != rule }) {
				break
			}
			lead, next := after.answer(&more[0], found, trials)
			if lead == nil {
				break
			}
			try, after = append(slices.Clip(try), lead...), next
			found = after.findAll()
		}
	}
	return nil, nil
}

// gone tells whether a finding is not there any more.
func gone(after []Finding, f Finding) bool { return !slices.ContainsFunc(after, f.same) }

// added returns the findings that were not there before, or not that bad.
func added(before, after []Finding) []Finding {
	return slices.DeleteFunc(slices.Clone(after), func(a Finding) bool {
		return slices.ContainsFunc(before, func(b Finding) bool { return a.same(b) && a.Level <= b.Level })
	})
}

// same tells whether two findings of one rule are about the same things in bars that they share.
func (f Finding) same(g Finding) bool {
	return f.Rule == g.Rule && f.First <= g.Last && g.First <= f.Last && slices.Equal(f.Parts, g.Parts) && f.About == g.About
}

// with returns the subject with steps carried out. They are carried out as a recipe of nothing else
// would on the file that the song is: without sections, and with a song that is all loop.
func (s *subject) with(steps Steps) (*subject, error) {
	out := s.in.Song.WithSections(nil)
	env := moves.Env{Loop: out, Full: out, Lined: out, Strict: true, Seed: 1}
	if slices.Contains(steps, nil) {
		return nil, errors.New("no such step")
	}
	came, err := moves.RunAll(&env, out, steps...)
	if err != nil {
		return nil, err
	}
	in := s.in
	in.Song = came.Song.WithSections(s.in.Song.Sections)
	return newSubject(in, s.o)
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
