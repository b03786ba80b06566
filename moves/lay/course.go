package lay

import (
	"cmp"
	"fmt"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// segment is a stretch of a loop, or of a track's own cycle of it, copied to one place of the song.
type segment struct {
	loop     int
	from, to song.Tick // in the loop, or on the tape
	at       song.Tick // in the song
	pass     uint16    // 2, 4, 6 ...; the early notes of a pass have the odd number before
	inside   bool      // starts in the middle of the loop where the one before did not lead there
	entered  bool      // the one before was of another loop
}

// fresh tells whether all that is in force has to be sent where the segment begins.
func (s segment) fresh() bool { return s.inside || s.entered }

// ends returns the tick of the song at which it ends.
func (s segment) ends() song.Tick { return s.at + s.to - s.from }

// stretch is a loop with its place in ticks.
type stretch struct {
	song.Stretch
	start, end song.Tick
}

// cycle returns the length after which a track of the loop repeats; track -1 for the loop itself.
func (s stretch) cycle(track int) song.Tick {
	if track >= 0 && track < len(s.Cycles) && s.Cycles[track] > 0 {
		return s.Cycles[track]
	}
	return s.end - s.start
}

// courses works out which stretches of the loops are copied where, for the blocks, for tracks and for parts.
type courses struct {
	Layout
	time  *smf.Timeline
	loops []stretch
	lie   []song.Range // by block: where it lies in the song; on a tape alone, whose bars are of one length
	here  [][]bool     // by block, by loop: it plays there
	known map[ofCycle][]segment
}

// ofCycle is a cycle of a loop.
type ofCycle struct {
	loop   int
	length song.Tick
}

func newCourses(l Layout) *courses {
	c := &courses{Layout: l, time: l.Loop.Time(), known: map[ofCycle][]segment{}}
	loops := l.Loops
	if loops == nil {
		loops = []song.Stretch{{Bar: 1, Bars: l.Bars, Cycles: l.Cycles}}
	}
	for _, s := range loops {
		c.loops = append(c.loops, stretch{s, c.time.BarStart(s.Bar), c.time.BarStart(s.Bar + s.Bars)})
	}
	at := song.Tick(0)
	for _, b := range l.Blocks {
		here := make([]bool, len(loops))
		here[b.Loop] = true
		end := at + song.Tick(b.Bars)*c.time.BarTicks(1)
		c.here, c.lie, at = append(c.here, here), append(c.lie, song.Range{Start: at, End: end}), end
	}
	for _, plays := range l.Plays {
		for _, p := range plays {
			for i, r := range c.lie {
				c.here[i][p.Loop] = c.here[i][p.Loop] || p.Start < r.End && r.Start < p.End
			}
		}
	}
	return c
}

// ofBlocks returns what the blocks play.
func (c *courses) ofBlocks() ([]segment, error) { return c.of(-1, nil) }

// ofPart returns what a part plays.
func (c *courses) ofPart(part int) ([]segment, error) {
	var plays []Play
	if part < len(c.Plays) {
		plays = c.Plays[part]
	}
	return c.of(c.Loop.Parts[part].Track, plays)
}

// of returns what a track plays in its own cycles, -1 for the loops themselves: the loops of the blocks, but for
// where it plays others.
func (c *courses) of(track int, plays []Play) ([]segment, error) {
	if len(c.loops) == 1 {
		return c.segments(0, c.loops[0].cycle(track))
	}
	var out []segment
	for loop, s := range c.loops {
		segs, err := c.segments(loop, s.cycle(track))
		if err != nil {
			return nil, err
		}
		for _, where := range c.where(loop, plays) {
			out = append(out, clipped(segs, where)...)
		}
	}
	slices.SortStableFunc(out, func(a, b segment) int { return cmp.Compare(a.at, b.at) })
	for i := range out {
		before := 0 // the first loop is what the set-up of the song is
		if i > 0 {
			before = out[i-1].loop
		}
		if s := &out[i]; s.loop != before {
			s.entered = true
			s.inside = s.inside || s.from != c.loops[s.loop].start
		}
	}
	return out, nil
}

// where returns where a loop plays.
func (c *courses) where(loop int, plays []Play) []song.Range {
	var blocks, others, out []song.Range
	for i, b := range c.Blocks {
		if b.Loop == loop {
			blocks = append(blocks, c.lie[i])
		}
	}
	for _, p := range plays {
		others = append(others, p.Range)
		if p.Loop == loop {
			out = append(out, p.Range)
		}
	}
	for _, piece := range song.Without(blocks, song.Union(others)) {
		out = append(out, piece.Range)
	}
	return out
}

// clipped returns segments as far as they lie in a range of the song.
func clipped(segs []segment, in song.Range) []segment {
	var out []segment
	first, _ := slices.BinarySearchFunc(segs, in.Start, func(s segment, at song.Tick) int { return cmp.Compare(s.ends(), at+1) })
	for _, s := range segs[first:] {
		if s.at >= in.End {
			break
		}
		if before := in.Start - s.at; before > 0 {
			s.from, s.at, s.inside = s.from+before, in.Start, true
		}
		s.to = min(s.to, s.from+in.End-s.at)
		if s.from < s.to {
			out = append(out, s)
		}
	}
	return out
}

// segments cuts the blocks that a loop plays in into stretches of a cycle of it.
func (c *courses) segments(loop int, cycle song.Tick) ([]segment, error) {
	if segs, ok := c.known[ofCycle{loop, cycle}]; ok {
		return segs, nil
	}
	lines := c.lines(c.loops[loop], cycle)
	bars := len(lines) - 1
	var out []segment
	at, pos, sum := song.Tick(0), 0, 0
	for i, b := range c.Blocks {
		if b.Bars < 1 {
			return nil, fmt.Errorf("found a section of %d bars, want at least 1", b.Bars)
		}
		if !c.here[i][loop] {
			at, sum = at+song.Tick(b.Bars)*c.time.BarTicks(1), sum+b.Bars
			continue
		}
		if !b.RunOn {
			pos = b.start(bars)
		}
		inside := !b.RunOn && pos != 0
		for left := b.Bars; left > 0; {
			n := min(left, bars-pos)
			pass := len(out)
			if len(c.loops) > 1 {
				pass = sum // those of all loops have an order
			}
			if pass >= maxPasses {
				return nil, fmt.Errorf("found more than %d passes of the loop, want at most that many", maxPasses)
			}
			out = append(out, segment{loop: loop, from: lines[pos], to: lines[pos+n], at: at, pass: uint16(2*pass + 2), inside: inside})
			at += lines[pos+n] - lines[pos]
			if at > smf.MaxTicks {
				return nil, c.tooLong(0)
			}
			pos = (pos + n) % bars
			left -= n
			sum += n
			inside = false
		}
	}
	c.known[ofCycle{loop, cycle}] = out
	return out, nil
}

// lines returns the lines of the bars of a cycle, one more than it has bars.
func (c *courses) lines(s stretch, cycle song.Tick) []song.Tick {
	var lines []song.Tick
	for b := s.Bar; c.time.BarStart(b) <= s.start+cycle; b++ {
		lines = append(lines, c.time.BarStart(b))
	}
	return lines
}

// tooLong says how many bars are possible; events are those of the length asked for, 0 if it passed
// the limit of ticks.
func (c *courses) tooLong(events int64) error {
	total := 0
	for _, b := range c.Blocks {
		total += b.Bars
	}
	first := c.loops[0]
	bars := min(int(smf.MaxTicks/(first.end-first.start)*song.Tick(first.Bars)), maxPasses*first.Bars, song.MaxBars)
	if events > 0 {
		bars = min(bars, int(song.MaxEvents*int64(total)/events))
	}
	return fmt.Errorf("found a length of %d bars, want at most %d bars for this loop (a song holds at most %d ticks and %d events)",
		total, bars, smf.MaxTicks, song.MaxEvents)
}

// count returns how many notes each part will have, chords struck again left out, and about how many
// events they are with all others.
func (c *courses) count(in song.Song, own, rest [][]segment) (notes []int, total int64) {
	notes = make([]int, len(in.Parts))
	for p, part := range in.Parts {
		early := make([]int, len(c.loops))
		for k, s := range c.loops {
			end := s.start + s.cycle(part.Track)
			early[k] = len(in.In(part, song.Range{Start: end, End: end + 1}))
		}
		for _, s := range own[p] {
			notes[p] += len(in.In(part, song.Range{Start: s.from, End: s.to}))
			if s.from == c.loops[s.loop].start {
				notes[p] += early[s.loop]
			}
		}
		total += 2 * int64(notes[p])
	}
	for i, t := range in.Tracks {
		for _, s := range rest[i] {
			from, _ := slices.BinarySearchFunc(t.Events, s.from, tickOrder)
			to, _ := slices.BinarySearchFunc(t.Events, s.to, tickOrder)
			total += int64(to - from)
		}
	}
	return notes, total
}

func tickOrder(ev song.Event, at song.Tick) int { return cmp.Compare(ev.Tick, at) }
