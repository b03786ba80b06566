package moves

import (
	"errors"
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Step is a move with its options filled in. Its exported fields are the options: a step of a
// recipe, a Go literal and a row of a test are the same thing.
type Step interface {
	// Apply returns the song with the move carried out; it never writes to the one it gets. Call it
	// through [Run], which finds the parts and ranges that the options name.
	Apply(env *Env, in song.Song) (song.Song, error)
}

// Target holds the options shared by every move that works on parts over spans. [Run] resolves
// them, so that Apply finds its parts and ranges in the Env.
type Target struct {
	Part where.Parts `yaml:"part" doc:"the parts it works on" required:"true"`
	Over where.Spans `yaml:"over" doc:"where it works; left out, over all of the song"`
}

func (t *Target) target() *Target { return t }

// Chance holds the option shared by every move that chooses by chance.
type Chance struct {
	Seed option.Seed `yaml:"seed" doc:"seed of its choices; left out, it follows from the recipe's seed and the step"`
}

func (c *Chance) chance() *Chance { return c }

// The groups of moves, in the order they are listed.
const (
	Structure  = "structure"
	Rhythm     = "rhythm"
	Pitch      = "pitch"
	Dynamics   = "length, dynamics"
	Automation = "automation"
	Accents    = "accents"
	Composite  = "composite"
)

// Groups returns the groups of moves in the order they are listed.
func Groups() []string {
	return []string{Structure, Rhythm, Pitch, Dynamics, Automation, Accents, Composite}
}

// Move is an entry of the catalogue.
type Move struct {
	Name    string
	Group   string
	Brief   string         // one line that starts with a verb, without a full stop
	Doc     string         // what it does and what happens at the edges
	New     func() Step    // with its defaults, which live here and nowhere else
	Example func() Example // made when asked for: few runs need it
}

// Example shows a move at work: tests run it, help and the reference print what it did.
type Example struct {
	Step     Step
	Before   string // a grid, see song.ParseGrid
	Sections string // sections laid over it, such as "intro 1, drop 2", with their bars; "" for none
	After    string // the grid it must give
	Steps    int    // steps a quarter of the grid After; 0: 4
}

// entries are the moves in the order they are listed: by group, then as a producer meets them.
func entries() []func() Move {
	return []func() Move{
		extendMove, markMove, muteMove, soloMove, copyMove,
		doubleMove, thinMove, rollMove, fillMove, ghostMove, stutterMove, stretchMove, reverseMove, shiftMove,
		swingMove, humaniseMove, varyMove,
		transposeMove, layerMove, riseMove, droneMove,
		gateMove, shapeMove, echoMove,
		rideMove, tempoMove,
		hitMove, swellMove,
		leadInMove, freshenMove, emphasiseMove,
	}
}

// Catalogue returns the moves in the order they are listed.
func Catalogue() []Move {
	var out []Move
	for _, entry := range entries() {
		out = append(out, entry())
	}
	return out
}

// Lookup returns the move of this name, and false if there is none.
func Lookup(name string) (Move, bool) {
	for _, entry := range entries() {
		if m := entry(); m.Name == name {
			return m, true
		}
	}
	return Move{}, false
}

// Env is what a step finds besides the song it changes.
type Env struct {
	Loop   song.Song   // the loop as it was read and heard
	Cycles []song.Tick // per track of the loop its own cycle in ticks; 0: the loop's
	Bars   int         // length of the loop in bars; 0: all of Loop
	Full   song.Song   // the loop laid out over the whole length, every part playing, before line-up and moves
	Lined  song.Song   // the song after its line-up and before its moves; unset: Full
	Phrase int         // bars after which something is due to change; 0: 8
	Strict bool        // numbers written in spans must fit; otherwise they are clipped and told
	Seed   uint64      // the step's own seed

	Parts  []int        // what the step's part option names: indices into the song's parts, in order
	Ranges []song.Range // what its over option names: sorted, apart

	Told     []string      // what was assumed, skipped or left to the producer, in order
	Warnings []string      // what is likely not meant
	Changes  []song.Change // the trace
	Ridden   []Ridden      // controllers ridden so far
	Rolled   []Rolled      // where a roll stands for a part

	measured *swing // of the loop, once it is asked for
}

// Ridden is a controller of a part that some ride has moved.
type Ridden struct {
	Part       string // the first on its track and channel
	Controller song.Controller
	Home       int
	Mapped     bool // the instrument is known to listen; otherwise somebody has to map it

	rides []ride      // in the order they were carried out
	homes []song.Tick // where home was written besides
}

// Tell notes something the producer should know.
func (e *Env) Tell(format string, args ...any) {
	e.Told = appendNew(e.Told, fmt.Sprintf(format, args...))
}

// Warn notes something that is likely not meant.
func (e *Env) Warn(format string, args ...any) {
	e.Warnings = appendNew(e.Warnings, fmt.Sprintf(format, args...))
}

func appendNew(list []string, s string) []string {
	for _, have := range list {
		if have == s {
			return list
		}
	}
	return append(list, s)
}

// Source returns the part of this name as the loop plays it over the whole length, before line-up
// and moves: what generated notes take their keys and pattern from. A part that a move added plays
// nothing there.
func (e *Env) Source(name string) song.Part {
	if i := e.Full.Index(name); i >= 0 {
		return e.Full.Parts[i]
	}
	return song.Part{Name: name}
}

// phrase returns the phrase in bars.
func (e *Env) phrase() int {
	if e.Phrase > 0 {
		return e.Phrase
	}
	return 8
}

// pass returns the length of the loop in bars.
func (e *Env) pass() int {
	if e.Bars > 0 {
		return e.Bars
	}
	return e.Loop.Bars()
}

// Run carries out a step: it finds the parts and ranges that the step's options name and applies it.
// A mistake in an option is an [*option.Mistake] that names it.
func Run(env *Env, step Step, in song.Song) (song.Song, error) {
	if err := env.prepare(step, in); err != nil {
		return song.Song{}, err
	}
	return step.Apply(env, in)
}

// prepare finds what a step's options name.
func (e *Env) prepare(step Step, in song.Song) error {
	if in.Time() == nil {
		return errors.New("found a file without common bars (format 2 or SMPTE time), want format 0 or 1 in ticks per quarter note")
	}
	if e.Full.Time() == nil {
		e.Full = in
	}
	if e.Loop.Time() == nil {
		e.Loop = in
	}
	if e.Lined.Time() == nil {
		e.Lined = e.Full
	}
	e.Parts, e.Ranges = nil, nil
	if t, ok := step.(interface{ target() *Target }); ok {
		if err := e.resolve(t.target(), in); err != nil {
			return err
		}
	}
	if c, ok := step.(interface{ chance() *Chance }); ok && c.chance().Seed.Set {
		e.Seed = c.chance().Seed.Value
	}
	return nil
}

func (e *Env) resolve(t *Target, in song.Song) error {
	var mistakes []error
	parts, err := t.Part.Resolve(in)
	if err != nil {
		mistakes = append(mistakes, option.Named("part", err))
	}
	ranges, told := []song.Range{{End: in.End}}, []string(nil)
	if !t.Over.IsZero() {
		if ranges, told, err = t.Over.Resolve(where.SpanContext{Song: in, Strict: e.Strict}); err != nil {
			mistakes = append(mistakes, option.Named("over", err))
		}
	}
	if len(mistakes) > 0 {
		return errors.Join(mistakes...)
	}
	e.Parts = parts
	for _, s := range told {
		e.Tell("%s", s)
	}
	e.Ranges = ranges
	return nil
}

// places resolves an at option.
func (e *Env) places(name string, p where.Places, in song.Song) ([]song.Tick, error) {
	at, told, err := p.Resolve(where.SpanContext{Song: in, Strict: e.Strict})
	if err != nil {
		return nil, option.Named(name, err)
	}
	for _, s := range told {
		e.Tell("%s", s)
	}
	return at, nil
}

// spans resolves an option of spans other than over, which has to be given.
func (e *Env) spans(name string, s where.Spans, in song.Song) ([]song.Range, error) {
	if s.IsZero() {
		return nil, &option.Mistake{Option: name, Found: "nothing", Want: s.Want()}
	}
	ranges, told, err := s.Resolve(where.SpanContext{Song: in, Strict: e.Strict})
	if err != nil {
		return nil, option.Named(name, err)
	}
	for _, t := range told {
		e.Tell("%s", t)
	}
	return ranges, nil
}

// changed adds an entry to the trace; the runner fills in the step and the move.
func (e *Env) changed(in song.Song, parts []int, ranges []song.Range, text string) {
	var names []string
	for _, p := range parts {
		names = append(names, in.Parts[p].Name)
	}
	e.Changes = append(e.Changes, song.Change{Ranges: ranges, Parts: names, Text: text})
}
