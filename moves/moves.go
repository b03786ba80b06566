package moves

import (
	"errors"
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Step is a move with its options filled in. Its exported fields are the options: a step of a
// recipe, a Go literal and a row of a test are the same thing. It is a pointer to a struct, so that options
// can be read into it.
type Step interface {
	// Name returns the name of the move, as a recipe has it.
	Name() string
	// Apply returns what the move makes of the song; it never writes to the one it gets, nor to env. Call it
	// through [Run], which finds the parts and ranges that the options name.
	Apply(env *Env, in song.Song) (Outcome, error)
}

// Target holds the options shared by every move that works on parts over spans. [Run] resolves
// them, so that Apply finds its parts and ranges in the Env.
type Target struct {
	Part   where.Parts `yaml:"part" doc:"the parts it works on" required:"true"`
	Over   where.Spans `yaml:"over" doc:"where it works; left out, over all of the song"`
	Except where.Spans `yaml:"except" doc:"what is cut out of over; what is left of a span that is cut is a span of its own"`
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

// Example shows a move at work: tests run it, help and the reference print what it did.
type Example struct {
	Step     Step
	Before   string // a grid, see song.ParseGrid
	Sections string // sections laid over it, such as "intro 1, drop 2", with their bars; "" for none
	After    string // the grid it must give
	Steps    int    // steps a quarter of the grid After; 0: 4
}

// Env is what a step finds besides the song it changes. Steps only read it; what one leaves for those after
// it is in its [Outcome], see [Env.After].
type Env struct {
	Loop   song.Song   // the loop as it was read and heard
	Cycles []song.Tick // per track of the loop its own cycle in ticks; 0: the loop's
	Bars   int         // length of the loop in bars; 0: all of Loop
	Blocks []lay.Block // the stretches that the loop was laid over; nil: the sections, each counted back from its end, or with no Bars the song as it is
	Full   song.Song   // the loop laid out over the whole length, every part playing, before line-up and moves
	Lined  song.Song   // the song after its line-up and before its moves; unset: Full
	Phrase int         // bars after which something is due to change; 0: 8
	Strict bool        // numbers written in spans must fit; otherwise they are clipped and told
	Seed   uint64      // the step's own seed

	Parts  []int        // what the step's part option names: indices into the song's parts, in order
	Ranges []song.Range // what its over option names: sorted, apart; without what except names

	Ridden []Ridden // controllers ridden so far
	Rolled []Rolled // where a roll stands for a part

	uncut []int // of each range of Ranges the index it has where nothing is cut out; nil: its own

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

// same tells whether an entry is of the same controller.
func (r Ridden) same(o Ridden) bool { return r.Part == o.Part && r.Controller == o.Controller }

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

// SpanContext is what the spans and places of a step are resolved on.
func (e *Env) SpanContext(in song.Song) where.SpanContext {
	var laid []int // made when it is asked for
	return where.SpanContext{Song: in, Strict: e.Strict, Loop: func(bar int) (at, bars int) {
		if bars = e.pass(); bars < 1 {
			return 0, 0
		}
		if laid == nil {
			laid = lay.LoopBars(e.blocks(in), bars)
		}
		if bar > len(laid) {
			return 0, 0
		}
		return laid[bar-1], bars
	}}
}

// blocks returns the stretches that the loop was laid over; what is past them, it runs on.
func (e *Env) blocks(in song.Song) []lay.Block {
	blocks, end := slices.Clone(e.Blocks), 0
	if blocks == nil && e.Bars > 0 {
		for _, s := range in.Sections {
			if end >= song.MaxBars { // nothing is laid out longer than that
				break
			}
			if s.Bar-1 > end {
				blocks = append(blocks, lay.Block{Bars: s.Bar - 1 - end, RunOn: true})
			}
			blocks = append(blocks, lay.Block{Bars: s.Bars})
			end = s.Bar - 1 + s.Bars
		}
	}
	end = 0
	for _, b := range blocks {
		end += b.Bars
	}
	if rest := min(in.Bars(), song.MaxBars) - end; rest > 0 {
		blocks = append(blocks, lay.Block{Bars: rest, RunOn: true})
	}
	return blocks
}

// Run carries out a step: it finds the parts and ranges that the step's options name and applies it. A step
// of which no part or no place is there is idle. A mistake in an option is an [*option.Mistake] that names it.
// env is left as it is.
func Run(env *Env, step Step, in song.Song) (Outcome, error) {
	e, found, err := env.prepared(step, in)
	if err != nil {
		return Outcome{}, err
	}
	if i := slices.IndexFunc(found, func(r remark.Remark) bool { return r.Kind == remark.AllExcepted }); i >= 0 {
		return Outcome{Song: in, Remarks: found, Nothing: found[i], Parts: e.Parts}, nil
	}
	o, err := step.Apply(&e, in)
	if err != nil {
		return Outcome{}, err
	}
	if o.Idle() {
		o.tell(o.Nothing)
	}
	o.Remarks = remark.Add(found, o.Remarks...)
	o.Parts, o.Ranges, o.measured = e.Parts, e.Ranges, e.measured
	if why := e.absent(step, in); why != "" {
		o.Nothing = remark.Remark{Kind: why}
	}
	return o, nil
}

// RunAll carries out steps one after the other, each after what the ones before it left. It came to nothing
// only if each of them did; then the first says why.
func RunAll(env *Env, in song.Song, steps ...Step) (Outcome, error) {
	out, e := Outcome{Song: in}, env.on(in)
	for i, s := range steps {
		next, err := Run(&e, s, out.Song)
		if err != nil {
			return Outcome{}, err
		}
		if i == 0 {
			out.Nothing = next.Nothing
		}
		e, out = e.After(next), out.then(next)
	}
	return out, nil
}

// prepared returns what a step finds, with the parts and ranges that its options name, and what is remarked
// on these.
func (e Env) prepared(step Step, in song.Song) (Env, []remark.Remark, error) {
	if in.Time() == nil {
		return e, nil, errors.New("found a file without common bars (format 2 or SMPTE time), want format 0 or 1 in ticks per quarter note")
	}
	e = e.on(in)
	if c, ok := step.(interface{ chance() *Chance }); ok && !c.chance().Seed.IsZero() {
		e.Seed = c.chance().Seed.Value
	}
	e.Parts, e.Ranges, e.uncut = nil, nil, nil
	t, ok := targetOf(step)
	if !ok {
		return e, nil, nil
	}
	var told []remark.Remark
	var err, err2 error
	if e.Parts, err = t.Part.Resolve(in); err != nil {
		err = option.Named("part", err)
	}
	var pieces []where.Piece
	pieces, told, err2 = e.pieces(t.Over, t.Except, in)
	for _, p := range pieces {
		e.Ranges, e.uncut = append(e.Ranges, p.Range), append(e.uncut, p.Of)
	}
	return e, told, errors.Join(err, err2)
}

// pieces resolves an over option and cuts out what an except option names.
func (e *Env) pieces(over, except where.Spans, in song.Song) ([]where.Piece, []remark.Remark, error) {
	ranges, told, err := over.Resolve(e.SpanContext(in))
	if err != nil {
		err = option.Named("over", err)
	}
	if except.IsZero() {
		return where.Without(ranges, nil), told, err
	}
	cut, more, err2 := except.Resolve(e.SpanContext(in))
	if err2 != nil {
		return nil, nil, errors.Join(err, option.Named("except", err2))
	}
	told = remark.Add(told, more...)
	out := where.Without(ranges, cut)
	shorter := slices.ContainsFunc(out, func(p where.Piece) bool { return p.Range != ranges[p.Of] })
	switch {
	case len(ranges) > 0 && len(out) == 0:
		told = remark.Add(told, remark.Remark{Kind: remark.AllExcepted, Found: except.String()})
	case shorter:
		told = remark.Add(told, remark.Remark{Kind: remark.SpansCut, Found: except.String()})
	}
	return out, told, err
}

// number returns the number by which chance is drawn for a range: the index it has where nothing is cut out, so
// that a cut changes nothing elsewhere.
func (e *Env) number(i int) uint64 {
	if i < len(e.uncut) {
		i = e.uncut[i]
	}
	return uint64(i)
}

// on returns the Env with what is unset as it is for a song of which nothing else is known.
func (e Env) on(in song.Song) Env {
	if e.Full.Time() == nil {
		e.Full = in
	}
	if e.Loop.Time() == nil {
		e.Loop = in
	}
	if e.Lined.Time() == nil {
		e.Lined = e.Full
	}
	return e
}

// targetOf returns the parts and spans that a step works on; false for a step that has no such options.
func targetOf(step Step) (*Target, bool) {
	t, ok := step.(interface{ target() *Target })
	if !ok {
		return nil, false
	}
	return t.target(), true
}

// absent returns why a step has nothing to work on: none of its parts, or none of the places of one of its
// options, is there. "" if all are.
func (e *Env) absent(step Step, in song.Song) remark.Kind {
	_, targeted := targetOf(step)
	switch _, composite := step.(Composer); {
	case composite:
		return "" // the steps it stands for say it
	case targeted && len(e.Parts) == 0:
		return remark.NoPart
	case targeted && len(e.Ranges) == 0:
		return remark.NoPlace
	}
	loose := e.SpanContext(in)
	loose.Strict = false
	for name, value := range option.Fields(step) {
		there := true
		switch v := value.(type) {
		case *where.Spans:
			if over := name == "over"; over && !targeted || !over && name != "except" && !v.IsZero() {
				ranges, _, _ := v.Resolve(loose)
				there = len(ranges) > 0
			}
		case *where.Places:
			if !v.IsZero() {
				at, _, _ := v.Resolve(loose)
				there = len(at) > 0
			}
		}
		if !there {
			return remark.NoPlace
		}
	}
	return ""
}

// places resolves an at option.
func (o *Outcome) places(env *Env, name string, p where.Places, in song.Song) ([]song.Tick, error) {
	at, told, err := p.Resolve(env.SpanContext(in))
	if err != nil {
		return nil, option.Named(name, err)
	}
	o.tell(told...)
	return at, nil
}

// over resolves the over option of a step that works on no part.
func (o *Outcome) over(env *Env, s, except where.Spans, in song.Song) ([]song.Range, error) {
	pieces, told, err := env.pieces(s, except, in)
	if err != nil {
		return nil, err
	}
	o.tell(told...)
	var ranges []song.Range
	for _, p := range pieces {
		ranges = append(ranges, p.Range)
	}
	for _, r := range told {
		if r.Kind == remark.AllExcepted {
			o.Nothing = r
		}
	}
	return ranges, nil
}
