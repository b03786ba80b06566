package moves

import (
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Env is what a step finds besides the song it changes. Steps only read it; what one leaves for those after
// it is in its [Outcome], see [Env.After].
type Env struct {
	Loop   song.Song      // the loop as it was read and heard
	Cycles []song.Tick    // per track of the loop its own cycle in ticks; 0: the loop's
	Bars   int            // length of the loop in bars; 0: all of Loop
	Loops  []song.Stretch // the loops, where Loop is a tape of several: Cycles and Bars are then theirs, see [lay.Layout]; nil: Loop is one loop
	Plays  [][]lay.Play   // where parts play another of them than the block does, by part of Loop
	Blocks []lay.Block    // the stretches that the loop was laid over; nil: the sections, each counted back from its end, or with no Bars the song as it is
	Full   song.Song      // the loop laid out over the whole length, every part playing, before line-up and moves
	Lined  song.Song      // the song after its line-up and before its moves; unset: Full
	Phrase int            // bars after which something is due to change; 0: 8
	Strict bool           // numbers written in spans must fit; otherwise they are clipped and told
	Seed   uint64         // the step's own seed

	Parts  []int        // what the step's part option names: indices into the song's parts, in order
	Ranges []song.Range // what its over option names: sorted, apart; without what except names

	Ridden []Ridden // controllers ridden so far
	Rolled []Rolled // where a roll stands for a part

	Heard    form.Energy    // of a song that this one was made from, so that what is the same is not measured again; unset: none
	Strikes  *form.Strikes  // of Full, for what composite moves ask of it one after the other; nil: each finds it out
	Preparer *form.Preparer // by the default rule, for what they ask of Lined; nil: each has its own
	Energies Energies       // how strong stretches of the song are to be: composite moves keep them; nil: nobody says

	May   func() bool // asked each time a composite move is about to try steps; false: it tries no more. nil: it always may
	spans int         // how many ranges its over and except came to, before one is cut out of the other
	uncut []int       // of each range of Ranges the index it has where nothing is cut out; nil: its own

	partsFrom int    // which part of the song part 0 of a song of a few of them is
	memo      *memo  // of Loop and Full; nil: nothing is kept
	measured  *swing // of the loop, once it is asked for
}

// Source returns the part of this name as the loop plays it over the whole length, before line-up
// and moves: what generated notes take their keys and pattern from. A part that a move added plays
// nothing there.
func (e *Env) Source(name string) song.Part {
	i := -1
	if e.memo != nil {
		i = index(e.memo.full, name)
	} else {
		i = e.Full.Index(name)
	}
	if i >= 0 {
		return e.Full.Parts[i]
	}
	return song.Part{Name: name}
}

// preparer returns what tells which parts prepare a line.
func (e *Env) preparer() *form.Preparer {
	if e.Preparer != nil {
		return e.Preparer
	}
	return form.NewPreparer(form.DefaultPrepareRule())
}

// phrase returns the phrase in bars.
func (e *Env) phrase() int {
	if e.Phrase > 0 {
		return e.Phrase
	}
	return 8
}

// pass returns the length of the loop in bars; of several that of the first.
func (e *Env) pass() int {
	if len(e.Loops) > 0 {
		return e.Loops[0].Bars
	}
	if e.Bars > 0 {
		return e.Bars
	}
	return e.Loop.Bars()
}

// Passes returns of several loops the length in bars of the one that plays, by bar from the first; nil: there is one.
func (e *Env) Passes() []int {
	if len(e.Loops) < 2 {
		return nil
	}
	var out []int
	for _, b := range e.Blocks {
		out = append(out, slices.Repeat([]int{e.Loops[b.Loop].Bars}, b.Bars)...)
	}
	return out
}

// passTo returns the length in bars of the loop that plays up to the line where a bar starts.
func (e *Env) passTo(bar int) int {
	if len(e.Loops) < 2 {
		return e.pass()
	}
	loop := 0
	for _, b := range e.Blocks {
		if loop = b.Loop; bar-1 <= b.Bars {
			break
		}
		bar -= b.Bars
	}
	return e.Loops[loop].Bars
}

// SpanContext is what the spans and places of a step are resolved on.
func (e *Env) SpanContext(in song.Song) where.SpanContext {
	var laid []int // made when it is asked for
	lengths := []int{e.pass()}
	for i, l := range e.Loops {
		lengths = append(lengths[:i], l.Bars)
	}
	var loops []int // that are played, bar by bar
	return where.SpanContext{Song: in, Strict: e.Strict, Loop: func(bar int) (at, bars int) {
		if lengths[0] < 1 {
			return 0, 0
		}
		if laid == nil {
			blocks := e.blocks(in)
			laid = lay.LoopBars(blocks, lengths...)
			for _, b := range blocks {
				loops = append(loops, slices.Repeat([]int{b.Loop}, b.Bars)...)
			}
		}
		if bar > len(laid) {
			return 0, 0
		}
		return laid[bar-1], lengths[loops[bar-1]]
	}}
}

// cycle returns where a part of the loop repeats: the bars of Loop that it goes through, from 1, both included, for the
// loop, from 0, that is laid over a bar of it.
func (e *Env) cycle(part, loop int) (first, last int) {
	l := song.Stretch{Bar: 1, Bars: e.Bars, Cycles: e.Cycles}
	if len(e.Loops) > 0 {
		l = e.Loops[loop]
	}
	if l.Bars == 0 {
		l.Bars = max(e.Loop.Bars(), 1)
	}
	first, last = l.Bar, l.Bar+l.Bars-1
	if t := e.Loop.Parts[part].Track; t < len(l.Cycles) && l.Cycles[t] > 0 {
		tl := e.Loop.Time()
		last = max(tl.BarOf(tl.BarStart(first)+l.Cycles[t])-1, first)
	}
	return first, last
}

// loopOf returns which loop a bar of Loop is of, from 0.
func (e *Env) loopOf(bar int) int {
	at := 0
	for i, l := range e.Loops {
		if bar >= l.Bar {
			at = i
		}
	}
	return at
}

// blocks returns the stretches that the loop was laid over; past them the loop runs on.
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

// on returns the Env for a song of which nothing else is known: what was unset is taken from the song.
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

// Rolled is a stretch in which a roll stands for a part: what else would shape the part's hits leaves
// it alone.
type Rolled struct {
	Part string
	song.Range
}

// rolledRanges returns where rolls stand for a part.
func (e *Env) rolledRanges(part string) []song.Range {
	var out []song.Range
	for _, r := range e.Rolled {
		if r.Part == part {
			out = append(out, r.Range)
		}
	}
	return out
}

// swing returns the swing of the loop, measured once; of several loops that of the one that most bars play.
func (e *Env) swing() swing {
	if e.measured == nil {
		w := measureSwing(e.Loop, e.mainLoop())
		e.measured = &w
	}
	return *e.measured
}

// mainLoop returns where on the tape the loop is that most bars of the song play, of equals the first; where there is one
// loop, all of it.
func (e *Env) mainLoop() song.Range {
	if len(e.Loops) < 2 {
		return song.Range{End: smf.MaxTicks}
	}
	bars := make([]int, len(e.Loops))
	for _, b := range e.Blocks {
		bars[b.Loop] += b.Bars
	}
	l := e.Loops[slices.Index(bars, slices.Max(bars))]
	return e.Loop.BarRange(l.Bar, l.Bar+l.Bars-1)
}
