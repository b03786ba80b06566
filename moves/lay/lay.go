package lay

import (
	"fmt"

	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

// Block is a stretch of whole bars of a track that is being laid out.
type Block struct {
	Bars  int  // at least 1
	RunOn bool // the loop goes on from where it last stopped; otherwise it is counted back from the block's end
	Loop  int  // which of the loops on a tape it plays, from 0
}

// LoopBars returns, for each bar of the song that blocks come to, the bar of the loop that is copied there, from 1.
// bars are the lengths of the loops, each at least 1. It is what [Lay] does with the loops of the blocks
// themselves; tracks with a cycle of their own may be in another bar of theirs.
func LoopBars(blocks []Block, bars ...int) []int {
	var out []int
	pos := make([]int, len(bars))
	for _, b := range blocks {
		at, n := &pos[b.Loop], bars[b.Loop]
		if !b.RunOn {
			*at = b.start(n)
		}
		for range b.Bars {
			out = append(out, *at+1)
			*at = (*at + 1) % n
		}
	}
	return out
}

// start returns the bar of a loop, from 0, that a block starts with so that the loop ends with it.
func (b Block) start(bars int) int { return (bars - b.Bars%bars) % bars }

// Layout says how a loop, or several on one tape, are laid out.
type Layout struct {
	Loop    song.Song
	Bars    int            // length of the loop in bars, at least 1
	Cycles  []song.Tick    // per track its own cycle in ticks; 0 or no entry: the loop's
	Loops   []song.Stretch // the loops, where Loop is a tape of one metre, in their order on it; Bars and Cycles are then theirs. nil: Loop is one loop
	Blocks  []Block
	Plays   [][]Play // on a tape, by part: where it plays another loop than the block does, in rising order, apart; nil: nowhere
	Markers bool     // keep the markers of the loop (in the first pass)
}

// Play is where in the song, in ticks, a part plays a loop.
type Play struct {
	song.Range
	Loop int // from 0
}

// maxPasses is the most passes an event's place in the song's order can count, with the early notes
// of each apart.
const maxPasses = 1<<15 - 2

// Lay copies the loop over the blocks, and says what it left out. What repeats and what does not is
// the table of the package documentation.
//
// A song that would pass [smf.MaxTicks] or [song.MaxEvents] is an error that names the largest
// number of bars possible.
func Lay(l Layout) (song.Song, []remark.Remark, error) {
	if l.Loop.Time() == nil {
		return song.Song{}, nil, fmt.Errorf("found a file without common bars (format 2 or SMPTE time), want format 0 or 1 in ticks per quarter note")
	}
	c := newCourses(l)
	blocks, err := c.ofBlocks()
	if err != nil {
		return song.Song{}, nil, err
	}
	if err := l.wholeBars(blocks); err != nil {
		return song.Song{}, nil, err
	}
	end := song.Tick(0)
	if n := len(blocks); n > 0 {
		end = blocks[n-1].ends()
	}
	in := withDefaults(l.Loop)
	own := make([][]segment, len(in.Parts))
	for i := range in.Parts {
		if own[i], err = c.ofPart(i); err != nil {
			return song.Song{}, nil, err
		}
	}
	rest := make([][]segment, len(in.Tracks)) // of what is no part's
	for i := range in.Tracks {
		if rest[i], err = c.of(i, nil); err != nil {
			return song.Song{}, nil, err
		}
	}
	counts, events := c.count(in, own, rest)
	if events > song.MaxEvents {
		return song.Song{}, nil, c.tooLong(events)
	}
	tracks := make([]*song.Track, len(in.Tracks))
	notes := make([][]song.Note, len(in.Parts))
	var told []remark.Remark
	tell := func(r remark.Remark) { told = remark.Add(told, r) }
	conductor := newConductor(in, blocks)
	first := 0
	for i := range in.Tracks {
		last := first
		for last < len(in.Parts) && in.Parts[last].Track == i {
			last++
		}
		t := trackLayer{song: in, track: i, parts: in.Parts[first:last], own: own[first:last], rest: rest[i], loops: c.loops, end: end, markers: l.Markers, tell: tell}
		for p := first; p < last; p++ {
			notes[p] = t.layNotes(in.Parts[p], own[p], counts[p])
		}
		if t.rings {
			cutRestruck(in.Parts[first:last], notes[first:last])
		}
		tracks[i] = in.Tracks[i].With(t.layEvents(conductor), end)
		first = last
	}
	if in.Format > 2 {
		in.Format = 1 // an unknown format may be read as 1 (RP-001 p. 5), and is one now
	}
	return in.Laid(tracks, notes, end), told, nil
}

// PartBars returns, for each bar of the song that the blocks come to, the bar of Loop that a part plays there, from 1,
// in its track's cycle; 0 for bars in which it goes from one loop to another. Errors are those of [Lay].
func (l Layout) PartBars(part int) ([]int, error) { return newCourses(l).barsOf(part) }

// AllBars returns what [Layout.PartBars] returns, by part.
func (l Layout) AllBars() ([][]int, error) {
	c, out := newCourses(l), make([][]int, len(l.Loop.Parts))
	for p := range out {
		var err error
		if out[p], err = c.barsOf(p); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (c *courses) barsOf(part int) ([]int, error) {
	segs, err := c.ofPart(part)
	if err != nil {
		return nil, err
	}
	tl := c.time
	var out []int
	at := song.Tick(0)
	for i := 0; i < len(segs); {
		from := segs[i].from + at - segs[i].at
		bar := tl.BarOf(from)
		at += tl.BarTicks(bar)
		if at > segs[i].ends() {
			bar = 0
		}
		out = append(out, bar)
		for i < len(segs) && at >= segs[i].ends() {
			i++
		}
	}
	return out, nil
}

// wholeBars finds a pass that ends on a bar which a metre change of the loop cuts short: after it no
// bar line would stand where the next pass begins.
func (l Layout) wholeBars(segs []segment) error {
	tl := l.Loop.Time()
	for _, s := range segs {
		last := tl.BarOf(s.to - 1)
		m := tl.MetreIn(last)
		if full := 4 * tl.PPQ() * song.Tick(m.Num) / song.Tick(m.Den); tl.BarTicks(last) < full {
			return fmt.Errorf("found bar %d of the loop cut short by a change of metre, want passes to end on a whole bar", last)
		}
	}
	return nil
}
