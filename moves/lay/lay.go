package lay

import (
	"cmp"
	"fmt"
	"slices"

	"loopdraft/moves/remark"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Block is a stretch of whole bars of a track that is being laid out.
type Block struct {
	Bars  int  // at least 1
	RunOn bool // the loop goes on from where it was; otherwise it is counted back from the block's end
}

// LoopBars returns, for each bar of the song that blocks come to, the bar of a loop of some bars that is
// copied there, from 1. The loop is at least 1 bar long. It is what [Lay] does with the loop itself;
// tracks with a cycle of their own may be in another bar of theirs.
func LoopBars(blocks []Block, bars int) []int {
	var out []int
	pos := 0
	for _, b := range blocks {
		if !b.RunOn {
			pos = b.start(bars)
		}
		for range b.Bars {
			out = append(out, pos+1)
			pos = (pos + 1) % bars
		}
	}
	return out
}

// start returns the bar of a loop, from 0, that a block starts with so that the loop ends with it.
func (b Block) start(bars int) int { return (bars - b.Bars%bars) % bars }

// Layout says how a loop is laid out.
type Layout struct {
	Loop    song.Song
	Bars    int         // length of the loop in bars, at least 1
	Cycles  []song.Tick // per track its own cycle in ticks; 0 or no entry: the loop's
	Blocks  []Block
	Markers bool // keep the markers of the loop (in the first pass)
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
	loop, err := l.segments(l.loopBars())
	if err != nil {
		return song.Song{}, nil, err
	}
	if err := l.wholeBars(loop); err != nil {
		return song.Song{}, nil, err
	}
	end := song.Tick(0)
	if n := len(loop); n > 0 {
		end = loop[n-1].at + loop[n-1].to - loop[n-1].from
	}
	in := withDefaults(l.Loop)
	own := make([][]segment, len(in.Tracks)) // of each track
	for i := range in.Tracks {
		own[i] = loop
		if cycle := l.cycle(i); cycle != l.len() {
			if own[i], err = l.segments(l.cycleBars(cycle)); err != nil {
				return song.Song{}, nil, err
			}
		}
	}
	counts, events := l.count(in, own)
	if events > song.MaxEvents {
		return song.Song{}, nil, l.tooLong(events)
	}
	tracks := make([]*song.Track, len(in.Tracks))
	notes := make([][]song.Note, len(in.Parts))
	var told []remark.Remark
	tell := func(r remark.Remark) { told = remark.Add(told, r) }
	conductor := newConductor(in, loop)
	first := 0
	for i := range in.Tracks {
		last := first
		for last < len(in.Parts) && in.Parts[last].Track == i {
			last++
		}
		t := trackLayer{song: in, track: i, parts: in.Parts[first:last], segs: own[i], cycle: l.cycle(i), end: end, markers: l.Markers, tell: tell}
		for p := first; p < last; p++ {
			notes[p] = t.layNotes(in.Parts[p], counts[p])
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

func (l Layout) len() song.Tick { return l.Loop.Time().BarStart(l.Bars + 1) }

// loopBars returns the lines of the loop's bars: Bars + 1 ticks.
func (l Layout) loopBars() []song.Tick {
	lines := make([]song.Tick, l.Bars+1)
	for i := range lines {
		lines[i] = l.Loop.Time().BarStart(i + 1)
	}
	return lines
}

func (l Layout) cycleBars(cycle song.Tick) []song.Tick {
	var lines []song.Tick
	for b := 1; l.Loop.Time().BarStart(b) <= cycle; b++ {
		lines = append(lines, l.Loop.Time().BarStart(b))
	}
	return lines
}

// segments cuts the blocks into stretches of a cycle with the bar lines given.
func (l Layout) segments(lines []song.Tick) ([]segment, error) {
	bars := len(lines) - 1
	var out []segment
	at, pos := song.Tick(0), 0
	for _, b := range l.Blocks {
		if b.Bars < 1 {
			return nil, fmt.Errorf("found a section of %d bars, want at least 1", b.Bars)
		}
		if !b.RunOn {
			pos = b.start(bars)
		}
		inside := !b.RunOn && pos != 0
		for left := b.Bars; left > 0; {
			n := min(left, bars-pos)
			if len(out) == maxPasses {
				return nil, fmt.Errorf("found more than %d passes of the loop, want at most that many", maxPasses)
			}
			out = append(out, segment{from: lines[pos], to: lines[pos+n], at: at, pass: uint16(2*len(out) + 2), inside: inside})
			at += lines[pos+n] - lines[pos]
			if at > smf.MaxTicks {
				return nil, l.tooLong(0)
			}
			pos = (pos + n) % bars
			left -= n
			inside = false
		}
	}
	return out, nil
}

// tooLong says how many bars are possible; events are those of the length asked for, 0 if it passed
// the limit of ticks.
func (l Layout) tooLong(events int64) error {
	total := 0
	for _, b := range l.Blocks {
		total += b.Bars
	}
	bars := min(int(smf.MaxTicks/l.len()*song.Tick(l.Bars)), maxPasses*l.Bars, song.MaxBars)
	if events > 0 {
		bars = min(bars, int(song.MaxEvents*int64(total)/events))
	}
	return fmt.Errorf("found a length of %d bars, want at most %d bars for this loop (a song holds at most %d ticks and %d events)",
		total, bars, smf.MaxTicks, song.MaxEvents)
}

// cycle returns the cycle a track repeats on.
func (l Layout) cycle(track int) song.Tick {
	if track < len(l.Cycles) && l.Cycles[track] > 0 {
		return l.Cycles[track]
	}
	return l.len()
}

// count returns how many notes each part will have, chords struck again left out, and about how many
// events they are with all others.
func (l Layout) count(in song.Song, own [][]segment) (notes []int, total int64) {
	notes = make([]int, len(in.Parts))
	for p, part := range in.Parts {
		cycle := l.cycle(part.Track)
		early := len(in.In(part, song.Range{Start: cycle, End: cycle + 1}))
		for _, s := range own[part.Track] {
			notes[p] += len(in.In(part, song.Range{Start: s.from, End: s.to}))
			if s.from == 0 {
				notes[p] += early
			}
		}
		total += 2 * int64(notes[p])
	}
	for i, t := range in.Tracks {
		for _, s := range own[i] {
			from, _ := slices.BinarySearchFunc(t.Events, s.from, tickOrder)
			to, _ := slices.BinarySearchFunc(t.Events, s.to, tickOrder)
			total += int64(to - from)
		}
	}
	return notes, total
}

func tickOrder(ev song.Event, at song.Tick) int { return cmp.Compare(ev.Tick, at) }

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
