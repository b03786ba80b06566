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

// segment is a stretch of the loop, or of a track's own cycle, copied to one place of the song.
type segment struct {
	from, to song.Tick // in the loop
	at       song.Tick // in the song
	pass     uint16    // 2, 4, 6 ...; the early notes of a pass have the odd number before
	inside   bool      // starts a block in the middle of the loop
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

// trackLayer lays one track.
type trackLayer struct {
	song    song.Song
	track   int
	parts   []song.Part
	segs    []segment // of the track's own cycle
	cycle   song.Tick
	end     song.Tick
	markers bool
	tell    func(remark.Remark)
	rings   bool // a note that was put may sound where another pass starts its key
}

// layNotes copies the notes of a part. An onset just before a bar line goes with the bar after it:
// the ones before the loop's end belong to its first bar.
func (t *trackLayer) layNotes(p song.Part, count int) []song.Note {
	src, early := t.cycleNotes(p)
	out := make([]song.Note, 0, count)
	var held map[song.Tick][]song.Note
	if p.Restrikes() {
		held = t.heldAt(src)
	}
	for _, s := range t.segs {
		if s.inside {
			out = t.restrike(out, held[s.from], s)
		}
		if s.from == 0 {
			before := s // an early note comes before all of its pass
			before.pass--
			for _, n := range early {
				out = t.put(out, n, before, n.Start-t.cycle)
			}
		}
		for _, n := range t.song.In(song.Part{Notes: src}, song.Range{Start: s.from, End: s.to}) {
			out = t.put(out, n, s, n.Start-s.from)
		}
	}
	if !slices.IsSortedFunc(out, song.CompareNotes) {
		slices.SortStableFunc(out, song.CompareNotes)
	}
	return out
}

// cycleNotes returns the notes that start in the track's cycle, closed and at least a tick long, and
// apart from them those that count to its first bar.
func (t *trackLayer) cycleNotes(p song.Part) (notes, early []song.Note) {
	open := false
	for _, n := range p.Notes {
		if n.Start >= t.cycle {
			break
		}
		if n.Is(song.Open) {
			open = true
			n.End = min(n.End, t.cycle)
			n.Flags = n.Flags&^song.Open | song.NewEnd
			n.OffVel = 64
		}
		if n.End <= n.Start {
			n.End = n.Start + 1
			n.Flags = n.Flags&^song.OffAsOn | song.NewEnd
			n.OffVel = 64
		}
		if t.song.Counted(n.Start) >= t.cycle {
			early = append(early, n)
		} else {
			notes = append(notes, n)
		}
	}
	if open {
		t.tell(remark.Remark{Kind: remark.NoteOffsMissing, Within: t.name(p)})
	}
	return notes, early
}

func (t *trackLayer) name(p song.Part) string {
	if p.Name != "" {
		return p.Name
	}
	return fmt.Sprintf("track %d, channel %d", t.track+1, p.Channel+1)
}

// put copies a note to a segment, offset ticks from its start.
func (t *trackLayer) put(out []song.Note, n song.Note, s segment, offset song.Tick) []song.Note {
	length := n.End - n.Start
	start := s.at + offset
	end := start + length
	if start < 0 { // before the song: it sounds at its start
		start, end = 0, max(end, 1)
	}
	if start >= t.end {
		return out
	}
	t.rings = t.rings || offset < 0 || end > s.at+s.to-s.from
	if end > t.end {
		end = t.end
		n.Flags = n.Flags&^song.OffAsOn | song.NewEnd
		n.OffVel = 64
	}
	n.Start, n.End, n.OnPass, n.OffPass = start, end, s.pass, s.pass
	return append(out, n)
}

// heldAt returns the notes that are held where blocks begin inside the loop, found in one walk.
func (t *trackLayer) heldAt(src []song.Note) map[song.Tick][]song.Note {
	at := map[song.Tick][]song.Note{}
	for _, from := range t.entries() {
		for len(src) > 0 && t.song.Counted(src[0].Start) < from {
			at[0] = append(at[0], src[0]) // what sounds so far
			src = src[1:]
		}
		at[0] = slices.DeleteFunc(at[0], func(n song.Note) bool { return n.End <= from })
		at[from] = slices.Clone(at[0])
	}
	return at
}

// entries returns the places of the cycle at which blocks begin inside it, in order.
func (t *trackLayer) entries() []song.Tick {
	var out []song.Tick
	for _, s := range t.segs {
		if s.inside {
			out = append(out, s.from)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// restrike strikes held notes again where a segment begins.
func (t *trackLayer) restrike(out []song.Note, held []song.Note, s segment) []song.Note {
	for _, n := range held {
		if WorthRestriking(t.song, n.End-s.from) {
			t.rings = true
			out = append(out, song.Note{Start: s.at, End: min(s.at+n.End-s.from, t.end), Key: n.Key, Vel: n.Vel, OffVel: 64, Flags: song.New | song.NewEnd, OnPass: s.pass, OffPass: s.pass})
		}
	}
	return out
}

// WorthRestriking tells whether the rest of a held note is long enough to be struck again: a 1/64
// note, the same measure that makes an onset early.
func WorthRestriking(s song.Song, rest song.Tick) bool { return rest*16 >= s.Time().PPQ() }

// cutRestruck ends notes of one pass where a later pass starts their key again, per channel of the
// track. Notes of one pass keep their overlaps.
func cutRestruck(parts []song.Part, notes [][]song.Note) {
	for c := range uint8(16) {
		var voices []int
		for i, p := range parts {
			if p.Channel == c && len(notes[i]) > 0 {
				voices = append(voices, i)
			}
		}
		if len(voices) > 0 {
			cutChannel(voices, notes)
		}
	}
}

type noteAt struct{ voice, note int }

func cutChannel(voices []int, notes [][]song.Note) {
	var sounding [128][]noteAt
	at := make([]int, len(notes))
	gone := false
	for {
		v := -1
		for _, i := range voices {
			if at[i] < len(notes[i]) && (v < 0 || song.CompareNotes(notes[i][at[i]], notes[v][at[v]]) < 0) {
				v = i
			}
		}
		if v < 0 {
			break
		}
		n := &notes[v][at[v]]
		live := sounding[n.Key][:0]
		for _, w := range sounding[n.Key] {
			m := &notes[w.voice][w.note]
			if m.End <= n.Start {
				continue
			}
			ahead := n.Start == 0 && n.OnPass%2 == 1 // both came early, before the song
			if m.OnPass == n.OnPass && !m.Is(song.New) && !n.Is(song.New) && !ahead {
				live = append(live, w)
				continue
			}
			if m.Start == n.Start { // the loop's own note stays: the other came early, before the song, or is struck again
				gone = true
				if n.Is(song.New) {
					n.End = n.Start
					live = append(live, w)
				} else {
					m.End = m.Start
				}
				continue
			}
			m.End, m.OffVel = n.Start, 64
			m.Flags = m.Flags&^song.OffAsOn | song.NewEnd
		}
		if n.End > n.Start {
			live = append(live, noteAt{v, at[v]})
		}
		sounding[n.Key] = live
		at[v]++
	}
	if gone {
		for _, i := range voices {
			notes[i] = slices.DeleteFunc(notes[i], func(n song.Note) bool { return n.End <= n.Start })
		}
	}
}
