package form

import (
	"encoding/binary"
	"slices"
	"sort"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// PrepareRule says what prepares a change. The zero value makes no sense: start from
// [DefaultPrepareRule].
type PrepareRule struct {
	Bars       int // before the line, in which a preparation begins
	DropBars   int // the same before a drop
	Onsets     int // a preparation has at least so many, or lasts a beat
	Level      int // ratio of velocities, in ten-thousandths, from which an onset is another one
	Controller int // steps of 127 by which a controller has moved at the line
}

// DefaultPrepareRule returns the rule with its numbers (common practice, no source).
func DefaultPrepareRule() PrepareRule {
	return PrepareRule{Bars: 4, DropBars: 8, Onsets: 2, Level: 11885, Controller: 24}
}

// Preparer tells by a rule what prepares lines. What it finds out about a line-up it keeps, and the memory that it takes
// for one part and line it takes again for the next ones, so that it is for one goroutine at a time.
type Preparer struct {
	PrepareRule
	lineUps         map[plannedPart]*plan
	played, planned []onset // before the line
	next, nextPlan  []onset // in the bar at the line
	both, after     []slot
	departing       []bool
	bar             []onset // of one bar
	spelling        []byte  // of it
	past, before    pastPass
	own             []song.Range
}

// NewPreparer returns a preparer that goes by a rule.
func NewPreparer(r PrepareRule) *Preparer {
	return &Preparer{PrepareRule: r, lineUps: map[plannedPart]*plan{}}
}

// Preparing returns the parts that prepare the line where a bar starts (counted from 1), rising: each
// departs, in the last bars before it and up to it, from what it played one pass of the loop earlier in
// its section, or from the line-up where there is none. pass is the length of the loop in bars. lined is
// the song after line-up and before moves; for a foreign file it is the song as its parts usually play, see
// [StructureOf], and pass is its phrase; a departure that lasts the whole section before the line is its
// line-up and prepares nothing. What the loop itself does at a place prepares nothing either, nor does the part that
// plays another bar of its loop there. The first bar of a song is prepared by nothing.
func (l *Preparer) Preparing(in, lined song.Song, pass, bar int) []int {
	if bar <= 1 || bar > in.Bars()+1 {
		return nil
	}
	var out []int
	for i, p := range in.Parts {
		if l.PreparedBy(in, lined, pass, bar, i, p) {
			out = append(out, i)
		}
	}
	return out
}

// PreparedBy tells whether part i of a song prepares a line, as [Preparer.Preparing] does, when it plays the notes
// of p. Those are looked at from [PrepareRule.From] on up to the end of the bar at the line.
func (l *Preparer) PreparedBy(in, lined song.Song, pass, bar, i int, p song.Part) bool {
	if bar <= 1 || bar > in.Bars()+1 {
		return false
	}
	w, source := l.window(in, bar), sourceOf(lined, p, i)
	return l.departs(in, lined, p, source, w, pass) || l.controllerDeparts(in, lined, p, source, w)
}

// From returns where the section begins that ends at the line where a bar starts, which is as far back as anything is
// looked for that prepares the line.
func (r PrepareRule) From(in song.Song, bar int) song.Tick { return r.window(in, bar).section.Start }

// Prepared tells whether anything prepares a line; see [Preparer.Preparing].
func (l *Preparer) Prepared(in, lined song.Song, pass, bar int) bool {
	for i, p := range in.Parts {
		if l.PreparedBy(in, lined, pass, bar, i, p) {
			return true
		}
	}
	return false
}

// window is the stretch before a line in which it is prepared.
type window struct {
	song.Range
	line    int        // the bar that starts at its end
	section song.Range // the section it ends, or all before the line
}

func (r PrepareRule) window(in song.Song, bar int) window {
	bars, first := r.Bars, 1
	at := sort.Search(len(in.Sections), func(i int) bool { return in.Sections[i].Bar >= bar })
	if at > 0 {
		first = in.Sections[at-1].Bar
	}
	for ; at < len(in.Sections) && in.Sections[at].Bar == bar; at++ {
		if in.Sections[at].Kind == song.KindDrop {
			bars = r.DropBars
		}
	}
	return window{in.BarRange(max(bar-bars, 1), bar-1), bar, in.BarRange(first, bar-1)}
}

// departs tells whether the notes of a part prepare a line.
func (l *Preparer) departs(in, lined song.Song, p, source song.Part, w window, pass int) bool {
	tl := in.Time()
	grain := tl.PPQ() / 16
	// One window more is looked at, so that what began before the window is seen to.
	over := song.Range{Start: max(w.section.Start, w.Start-w.Len()), End: w.End}
	now, plans := in.In(p, over), lined.In(source, over)
	if alike(now, plans) {
		return false
	}
	l.played, l.planned = onsetsOf(l.played[:0], in, now, over), onsetsOf(l.planned[:0], lined, plans, over)
	l.both = slotsOf(l.both[:0], l.played, l.planned, grain)
	played, planned, both := l.played, l.planned, l.both
	// What is struck in other places or on other keys comes first: levels that have long been on their way do
	// not hide it.
	struck := l.PrepareRule
	struck.Level = anyLevel
	plan := l.planOf(lined, source)
	l.past.gather(l, in, p, plan, w, over, func(bar int) int {
		if pass < 1 {
			return 0
		}
		return bar - pass
	})
	l.before.gather(l, in, p, plan, w, over, func(bar int) int { return w.before(plan, bar) })
	l.own = l.loopBars(l.own[:0], in, p, plan, over, pass)
	l.departing = slices.Grow(l.departing[:0], len(both))[:len(both)]
	departs := l.departing
	for _, rule := range []PrepareRule{struck, l.PrepareRule} {
		now := false
		for i, pl := range both {
			departs[i] = rule.other(pl, played, planned) && !rule.has(&l.past, pl, played) && !within(l.own, pl.at)
			if rule == struck {
				departs[i] = departs[i] && !rule.has(&l.before, pl, played)
			}
			now = now || departs[i]
		}
		lasts := func(pl slot) bool { return rule.other(pl, played, planned) } // the pass before may have rested there too
		if now && rule.leads(tl, both, departs, lasts, over, w) && !l.lastsOn(rule, in, lined, p, source, w, departs, over) && !wholeSection(both, departs, over, w) {
			return true
		}
	}
	return false
}

// anyLevel is greater than every ratio of two velocities: a rule with it tells no levels apart.
const anyLevel = 128 * 10000

// leads tells whether the onsets that depart, some of them, lead up to the line from within the window.
func (r PrepareRule) leads(tl *smf.Timeline, both []slot, departs []bool, lasts func(slot) bool, over song.Range, w window) bool {
	beat, bar := tl.BeatTicks(w.line-1), tl.BarTicks(w.line-1)
	last := len(both) - 1
	for !departs[last] {
		last--
	}
	if !endsAt(over, both, lasts, last, beat) {
		return false
	}
	first, count := last, 1
	for i := last - 1; i >= 0 && !lonely(both, departs, last, beat) && (both[first].at-both[i].at <= bar || i == first-1); i-- {
		if departs[i] && !lonely(both, departs, i, beat) {
			first, count = i, count+1
		}
	}
	start := both[first].at + over.Start
	return start >= w.Start && (count >= r.Onsets || over.End-start >= beat)
}

// lonely tells whether an onset departs by itself, with two that do not on either side and none within a beat: an accent.
func lonely(both []slot, departs []bool, i int, beat song.Tick) bool {
	for k := i - 1; k >= 0 && (k >= i-2 || both[i].at-both[k].at <= beat); k-- {
		if departs[k] {
			return false
		}
	}
	for k := i + 1; k < len(departs) && (k <= i+2 || both[k].at-both[i].at <= beat); k++ {
		if departs[k] {
			return false
		}
	}
	return true
}

// other tells whether a place is not what the line-up has there.
func (r PrepareRule) other(pl slot, played, planned []onset) bool {
	if pl.played < 0 || pl.source < 0 {
		return true
	}
	a, b := played[pl.played], planned[pl.source]
	return a.top != b.top || r.louder(a, b)
}

// endsAt tells whether a departure goes on up to the line: in the last beat nothing follows it that is
// what the line-up has, or it is in that beat.
func endsAt(over song.Range, both []slot, other func(slot) bool, last int, beat song.Tick) bool {
	if over.Len()-both[last].at <= beat {
		return true
	}
	for _, pl := range both[last+1:] {
		if !other(pl) {
			return false
		}
	}
	return true
}

// pastPass is what a part played one pass earlier; there is none before its section.
type pastPass struct {
	onsets []onset      // rising
	known  []song.Range // where it is known, rising and apart
	grain  song.Tick
}

// plannedPart is a part of a line-up: what it plays, and the bars that it plays it in.
type plannedPart struct {
	first *song.Note
	notes int
	time  *smf.Timeline
}

// plan knows in which bars a line-up has a part play the same, so that a loop of any length has them found at once.
type plan struct {
	time *smf.Timeline
	kind []int          // of each bar, from bar 0, which is silent, to the one after the last
	of   map[string]int // the kind of the onsets of a bar, as [spelt] has them
	bars [][]int        // of each kind, rising
}

// planOf returns the plan of a part of a line-up.
func (l *Preparer) planOf(lined song.Song, source song.Part) *plan {
	key := plannedPart{notes: len(source.Notes), time: lined.Time()}
	if key.notes > 0 {
		key.first = &source.Notes[0]
	}
	if known := l.lineUps[key]; known != nil {
		return known
	}
	p := &plan{time: lined.Time(), kind: make([]int, lined.Bars()+2), of: map[string]int{}}
	notes, counter := source.Notes, lined.Counter()
	for bar := range p.kind {
		l.bar = l.bar[:0] // where there is no bar there is silence
		if bar > 0 {
			over, n := lined.BarRange(bar, bar), 0
			for n < len(notes) && counter.Counted(notes[n].Start) < over.End {
				n++
			}
			l.bar = onsetsOf(l.bar, lined, notes[:n], over)
			notes = notes[n:]
		}
		l.spelling = spelt(l.spelling[:0], l.bar)
		kind, known := p.of[string(l.spelling)]
		if !known {
			kind = len(p.bars)
			p.of[string(l.spelling)], p.bars = kind, append(p.bars, nil)
		}
		p.kind[bar], p.bars[kind] = kind, append(p.bars[kind], bar)
	}
	l.lineUps[key] = p
	return p
}

// spelt adds to a list of bytes what [sameOnsets] looks at.
func spelt(out []byte, onsets []onset) []byte {
	for _, o := range onsets {
		out = binary.AppendVarint(out, int64(o.at))
		out = append(out, byte(o.top), byte(o.vel))
	}
	return out
}

// kindOf returns the kind of a bar; those that there are not are silent.
func (p *plan) kindOf(bar int) int {
	if bar < 0 || bar >= len(p.kind) {
		return p.kind[0]
	}
	return p.kind[bar]
}

// last returns the last bar of a kind ahead of another bar; 0 for none.
func (p *plan) last(kind, before int) int {
	bars := p.bars[kind]
	i := sort.SearchInts(bars, before)
	if i == 0 {
		return 0
	}
	return bars[i-1]
}

// gather gathers, for each bar of a stretch, what a part of a song played in another of its section; was tells which.
// plan is what the line-up has it play.
func (e *pastPass) gather(l *Preparer, in song.Song, p song.Part, plan *plan, w window, over song.Range, was func(bar int) int) {
	tl := in.Time()
	first := tl.BarOf(over.Start)
	e.onsets, e.known, e.grain = e.onsets[:0], e.known[:0], tl.PPQ()/16
	for bar := first; bar < w.line; bar++ {
		was := was(bar)
		if was < 1 || tl.BarStart(was) < w.section.Start || plan.kindOf(bar) != plan.kindOf(was) {
			continue
		}
		shift := tl.BarStart(bar) - over.Start
		e.known = append(e.known, song.Range{Start: shift, End: shift + tl.BarTicks(bar)})
		l.bar = onsetsIn(l.bar[:0], in, p, in.BarRange(was, was))
		for _, o := range l.bar {
			o.at += shift
			e.onsets = append(e.onsets, o)
		}
	}
}

// before returns the last bar of the section ahead of the window, and of the bar itself, in which the
// line-up is the same as in it; 0 for none.
func (w window) before(plan *plan, bar int) int {
	tl := plan.time
	if was := plan.last(plan.kindOf(bar), min(bar, tl.BarOf(w.Start))); was >= tl.BarOf(w.section.Start) {
		return was
	}
	return 0
}

// loopBars adds to a list the bars of a stretch, from its start, in which a part plays another bar of its loop, of those
// of one pass: where the loop turns around and the part goes on instead, that prepares nothing.
func (l *Preparer) loopBars(out []song.Range, in song.Song, p song.Part, plan *plan, over song.Range, pass int) []song.Range {
	tl := in.Time()
	for bar := tl.BarOf(over.Start); tl.BarStart(bar) < over.End; bar++ {
		l.bar = onsetsIn(l.bar[:0], in, p, in.BarRange(bar, bar))
		l.spelling = spelt(l.spelling[:0], l.bar)
		kind, known := plan.of[string(l.spelling)]
		if len(l.bar) == 0 || !known || kind == plan.kindOf(bar) {
			continue
		}
		if was := plan.last(kind, bar); was > 0 && was >= bar-pass {
			out = append(out, song.Range{Start: tl.BarStart(bar) - over.Start, End: tl.BarStart(bar+1) - over.Start})
		}
	}
	return out
}

// has tells whether the earlier pass did at a place what is done now.
func (r PrepareRule) has(e *pastPass, pl slot, played []onset) bool {
	if !within(e.known, pl.at) {
		return false
	}
	i := sort.Search(len(e.onsets), func(i int) bool { return e.onsets[i].at > pl.at-e.grain })
	if there := i < len(e.onsets) && e.onsets[i].at < pl.at+e.grain; !there || pl.played < 0 {
		return there == (pl.played >= 0)
	}
	a, b := e.onsets[i], played[pl.played]
	return a.top == b.top && !r.louder(a, b)
}

// within tells whether a tick lies in one of several ranges, which rise and are apart.
func within(ranges []song.Range, t song.Tick) bool {
	i := sort.Search(len(ranges), func(i int) bool { return ranges[i].End > t })
	return i < len(ranges) && ranges[i].Has(t)
}

// louder tells whether the levels of two onsets differ.
func (r PrepareRule) louder(a, b onset) bool {
	return 10000*int(max(a.vel, b.vel)) >= r.Level*int(min(a.vel, b.vel))
}

// lastsOn tells by a rule whether a departure goes on past the line as it was in the bar before it.
func (l *Preparer) lastsOn(r PrepareRule, in, lined song.Song, p, source song.Part, w window, departs []bool, over song.Range) bool {
	if w.line > in.Bars() {
		return false
	}
	tl := in.Time()
	shift := tl.BarStart(w.line-1) - over.Start
	next := in.BarRange(w.line, w.line)
	l.next, l.nextPlan = onsetsIn(l.next[:0], in, p, next), onsetsIn(l.nextPlan[:0], lined, source, next)
	l.after = slotsOf(l.after[:0], l.next, l.nextPlan, tl.PPQ()/16)
	after, k := l.after, 0
	for i, pl := range l.both {
		if pl.at < shift {
			continue
		}
		if k == len(after) || abs(int(after[k].at-(pl.at-shift))) >= int(tl.PPQ()/16) || r.other(after[k], l.next, l.nextPlan) != departs[i] {
			return false
		}
		k++
	}
	return k > 0 && k == len(after)
}

// wholeSection tells whether a part departs all through the section: that is its line-up.
func wholeSection(both []slot, departs []bool, over song.Range, w window) bool {
	if over.Start != w.section.Start || w.Start > w.section.Start {
		return false
	}
	for i, pl := range both {
		if !departs[i] {
			return false
		}
		if pl.played >= 0 && pl.source < 0 {
			return false // it plays something of its own
		}
	}
	return true
}

// controllerDeparts tells whether a controller that is known to be mapped has moved within the window.
func (r PrepareRule) controllerDeparts(in, lined song.Song, p, source song.Part, w window) bool {
	if source.Name == "" {
		return false
	}
	far := func(a, b int, id song.Controller) bool { return 128*abs(a-b) >= r.Controller*(id.Max()+1) }
	for _, id := range mappedOf(lined, p, source) {
		now, plan := in.Points(p.Track, p.Channel, id), lined.Points(source.Track, source.Channel, id)
		at := func(points song.Points, t song.Tick) int {
			if v, ok := points.At(t); ok {
				return v
			}
			v, _ := id.Default()
			return v
		}
		from, to, line := w.Start, w.End-1, w.End
		if far(at(now, to), at(plan, to), id) && !far(at(now, from-1), at(plan, from-1), id) && (line >= in.End || !far(at(now, line), at(plan, line), id)) {
			return true
		}
	}
	return false
}
