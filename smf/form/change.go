package form

import (
	"cmp"
	"slices"

	"loopdraft/smf/song"
)

// LineRule says how much is a change at a line. The zero value makes no sense: start from
// [DefaultLineRule]. Ratios are in ten-thousandths.
type LineRule struct {
	Phrase     int // bars compared on either side of the line, from 1
	LeastBars  int // what departs for fewer bars is an accent and does not count
	Quiet      int // a part below this ratio of the loudest velocity is not heard
	Onsets     int // ratio of the smaller number of onsets by which they differ
	PerBar     int // and by how many onsets a bar
	Level      int // ratio of the louder to the softer mean velocity
	Positions  int // ratio of the union of the onsets' places that only one side has
	Register   int // semitones between the means of the highest key of each onset
	Controller int // steps of 127 between the means of a controller
	DB         int // tenths of a dB by which the whole or a band moves, 0 to 99
}

// DefaultLineRule returns the rule for phrases of a length in bars. An accent lasts less than 2 bars, in phrases
// under 4 bars less than half of one. 24 dB are a velocity ratio of 0.2512 and 3 dB of 1.1885, since gain is
// (velocity/127)^2 (DLS Level 1, RP-016). 1 dB is about the least change of level that is heard (common practice,
// no source); the other numbers are common practice, no source.
func DefaultLineRule(phrase int) LineRule {
	return LineRule{
		Phrase: phrase, LeastBars: min(2, phrase/2), Quiet: 2512, Onsets: 3333, PerBar: 2, Level: 11885,
		Positions: 2500, Register: 7, Controller: 24, DB: 10,
	}
}

// LineChange is what changes at a line in a part.
type LineChange struct {
	Part int    // index into the song's parts
	What string // "in or out", "onsets", "level", "places", "register" or "controller"
}

// Changes returns what changes at the line where a bar starts (counted from 1), by part: the phrase
// from it is compared with the phrase before. full is the loop laid out over the whole length, every
// part playing: where the two phrases are not the same stretch of the loop, each is measured against
// it and the differences are compared. A line with less than a bar on either side does not change;
// less than a phrase is compared over the bars there are. Of a song without a loop, full is the song without
// its parts: there the two phrases are compared with each other alone, and controllers only where mapped.
//
// What changes must be heard: where neither the whole song nor one of its bands moves by r.DB from phrase to phrase,
// nothing does but controllers, of which the energy hears volume and expression alone. e is the energy of the song;
// without one (the zero value) all is taken as heard.
func (r LineRule) Changes(in, full song.Song, e Energy, bar int) []LineChange {
	return r.ChangesAt(in, full, e, []int{bar})[0]
}

// ChangesAt returns for each of several lines what [LineRule.Changes] returns for one. Rising lines a phrase
// apart take half the time together: each phrase is looked at once.
func (r LineRule) ChangesAt(in, full song.Song, e Energy, lines []int) [][]LineChange {
	return NewStrikes(full).ChangesAt(r, in, e, lines)
}

// ChangesAt returns what [LineRule.ChangesAt] does for a song that was made of the loop.
func (l *Strikes) ChangesAt(r LineRule, in song.Song, e Energy, lines []int) [][]LineChange {
	return r.heardOf(r.played(in, l, lines), e, lines)
}

// heardOf returns what is heard of changes at lines.
func (r LineRule) heardOf(out [][]LineChange, e Energy, lines []int) [][]LineChange {
	for i, bar := range lines {
		if len(out[i]) > 0 && !r.heard(e, bar) {
			out[i] = slices.DeleteFunc(out[i], func(c LineChange) bool { return c.What != "controller" })
		}
	}
	return out
}

// bandUnder is by how many tenths of a dB a band lies under the whole on both sides of a line if it is not heard.
// Common practice, no source.
const bandUnder = 400

// heard tells whether the whole or a band moves by r.DB at the line where a bar starts, in the mean of the phrases on
// both sides. It is true where there is no energy to tell by, and false where there is less than a bar on either side.
func (r LineRule) heard(e Energy, bar int) bool {
	if len(e.Bars) == 0 {
		return true
	}
	bars := min(r.Phrase, bar-1, len(e.Bars)-bar+1)
	if bars < 1 {
		return false
	}
	return r.Heard(e.Mean(bar-bars, bar-1), e.Mean(bar, bar+bars-1))
}

// Heard tells whether the whole or a band moves by r.DB from the mean powers of one phrase to those of the next.
func (r LineRule) Heard(before, after Powers) bool {
	whole := max(before.Sum(), after.Sum())
	if whole.Silent() || before.Sum().Apart(after.Sum(), r.DB) {
		return !whole.Silent()
	}
	for band := range before {
		if max(before[band], after[band]).Level(whole) > -bandUnder && before[band].Apart(after[band], r.DB) {
			return true
		}
	}
	return false
}

// MayBeHeard tells whether [LineRule.Heard] may hold of two phrases of which it is known how weak and how strong each is at
// least and at most, band by band.
func (r LineRule) MayBeHeard(least, most [2]Powers) bool {
	whole := max(least[0].Sum(), least[1].Sum())
	if whole.Silent() {
		return true
	}
	for k := range least { // one as weak as it may be, the other as strong
		weak, strong := least[k], most[1-k]
		if weak.Sum().Apart(strong.Sum(), r.DB) {
			return true
		}
		for band := range weak {
			if max(most[0][band], most[1][band]).Level(whole) > -bandUnder && weak[band].Apart(strong[band], r.DB) {
				return true
			}
		}
	}
	return false
}

// played returns what changes at each of several lines in what the parts play.
func (r LineRule) played(in song.Song, loop *Strikes, lines []int) [][]LineChange {
	out := make([][]LineChange, len(lines))
	curves := make([][]curve, len(in.Parts))
	for i, p := range in.Parts {
		curves[i] = curvesOf(in, loop.full, p, sourceOf(loop.full, p, i))
	}
	var known song.Range // that the sides before are of
	a, b := &loop.sides[0], &loop.sides[1]
	for i, bar := range lines {
		bars := min(r.Phrase, bar-1, in.Bars()-bar+1)
		if bars < 1 {
			continue
		}
		before, after := in.BarRange(bar-bars, bar-1), in.BarRange(bar, bar+bars-1)
		if before != known {
			a.look(r, in, loop, before)
		}
		b.look(r, in, loop, after)
		loudest := 0
		for k := range a.of {
			loudest = max(loudest, a.of[k].level, b.of[k].level)
		}
		for k := range a.of {
			if max(a.of[k].level, b.of[k].level)*10000 < loudest*r.Quiet {
				continue
			}
			if what := r.compare(&a.of[k], &b.of[k], bars, in.Time().PPQ()/16); what != "" {
				out[i] = append(out[i], LineChange{k, what})
			} else if r.controllerMoves(curves[k], before, after) {
				out[i] = append(out[i], LineChange{k, "controller"})
			}
		}
		known, a, b = after, b, a
	}
	return out
}

// sides are all parts in the phrase on one side of a line.
type sides struct {
	of     []side
	onsets []onset // where they do not strike what the loop does
}

// look turns to a phrase.
func (s *sides) look(r LineRule, in song.Song, loop *Strikes, over song.Range) {
	s.of, s.onsets = s.of[:0], s.onsets[:0]
	for i, p := range in.Parts {
		s.of = append(s.of, r.side(in, loop, i, p, over, &s.onsets))
	}
}

// Changed tells whether anything changes at a line; see [LineRule.Changes].
func (r LineRule) Changed(in, full song.Song, e Energy, bar int) bool {
	return len(r.Changes(in, full, e, bar)) > 0
}

// sourceOf returns the part of the loop that has the name of part i of a song: most often it is in the same place.
func sourceOf(full song.Song, p song.Part, i int) song.Part {
	if i < len(full.Parts) && full.Parts[i].Name == p.Name {
		return full.Parts[i]
	}
	if i := full.Index(p.Name); i >= 0 {
		return full.Parts[i]
	}
	return song.Part{}
}

// onset is a time at which a part strikes; a chord is one.
type onset struct {
	at, end  song.Tick // from the start of the phrase; end of its longest note
	top, vel int32     // highest key; loudest velocity
}

// side is a part in the phrase on one side of a line, and the loop there.
type side struct {
	played, source []onset
	bars, loopBars int // in which it sounds
	level          int // mean velocity in hundredths
}

// Strikes knows what the parts of a loop strike, phrase by phrase, once it was asked for. It is for one goroutine at a
// time.
type Strikes struct {
	full     song.Song
	phrases  map[phraseOf]struck
	latest   map[int][]onset // of the phrase of each part that was asked for last
	onsets   []onset         // of phrases
	slots    []slot          // these are lent to one comparison after the other
	restored []bool
	sides    [2]sides
	with     []onset // accents
	room     []onset
}

// phraseOf is a stretch of a part of a song.
type phraseOf struct {
	part int
	name string
	over song.Range
}

// struck is what a part of the loop strikes in a stretch, and how long a note sounds in it that was struck before.
type struck struct {
	notes  []song.Note
	onsets []onset
	held   song.Tick
}

// NewStrikes returns what a loop strikes, laid out over the whole length.
func NewStrikes(full song.Song) *Strikes {
	return &Strikes{full: full, phrases: map[phraseOf]struck{}, latest: map[int][]onset{}}
}

// in returns what a part of the loop strikes in a stretch; it is the source of part i of a song, p.
func (l *Strikes) in(i int, p, source song.Part, over song.Range) struck {
	at := phraseOf{i, p.Name, over}
	s, known := l.phrases[at]
	if !known {
		s.notes = l.full.In(source, over)
		if cap(l.onsets)-len(l.onsets) < len(s.notes) {
			l.onsets = make([]onset, 0, max(len(s.notes), 1024)) // those that are known stay where they are
		}
		begin := len(l.onsets)
		l.onsets = onsetsOf(l.onsets, l.full, s.notes, over)
		s.onsets, s.held = slices.Clip(l.onsets[begin:]), heldInto(l.full, source, over)
		if same := l.latest[i]; slices.Equal(same, s.onsets) { // the loop comes again
			l.onsets, s.onsets = l.onsets[:begin], same
		}
		l.latest[i] = s.onsets
		l.phrases[at] = s
	}
	return s
}

// side compares part i of a song with the loop, when it plays the notes of p. Onsets that the loop does not have are added
// to room.
func (r LineRule) side(in song.Song, loop *Strikes, i int, p song.Part, over song.Range, room *[]onset) side {
	grain, source := in.Time().PPQ()/16, sourceOf(loop.full, p, i)
	barTicks := in.Time().BarTicks(in.Time().BarOf(over.Start))
	of := loop.in(i, p, source, over)
	s := side{played: of.onsets, source: of.onsets}
	if notes := in.In(p, over); !alike(notes, of.notes) {
		loop.with = onsetsOf(loop.with[:0], in, notes, over)
		begin := len(*room)
		*room = loop.withoutAccents(*room, loop.with, s.source, grain, song.Tick(r.LeastBars)*barTicks, over.Len())
		s.played = slices.Clip((*room)[begin:])
	}
	s.level = mean(s.played, func(o onset) int { return 100 * int(o.vel) })
	s.bars = soundingBars(s.played, barTicks, over.Len(), heldInto(in, p, over))
	s.loopBars = soundingBars(s.source, barTicks, over.Len(), of.held)
	return s
}

// heldInto returns how long a note struck before a range sounds in it. It is looked for among the 128
// before the range: as many as there are keys.
func heldInto(s song.Song, p song.Part, over song.Range) song.Tick {
	before := s.Before(p.Notes, over.Start)
	end := over.Start
	for _, n := range p.Notes[max(before-128, 0):before] {
		end = max(end, n.End)
	}
	return min(end, over.End) - over.Start
}

// alike tells whether two lists of notes sound the same.
func alike(a, b []song.Note) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if p, q := &a[i], &b[i]; p.Start != q.Start || p.End != q.End || p.Key != q.Key || p.Vel != q.Vel {
			return false
		}
	}
	return true
}

// onsetsIn adds the onsets of a part that count to a range to a list of others.
func onsetsIn(out []onset, s song.Song, p song.Part, over song.Range) []onset {
	return onsetsOf(out, s, s.In(p, over), over)
}

// onsetsOf adds the onsets of notes that count to a range to a list of others.
func onsetsOf(out []onset, s song.Song, notes []song.Note, over song.Range) []onset {
	grain := s.Time().PPQ() / 16
	if len(notes) == 0 {
		return out
	}
	begin, counter := len(out), s.Counter()
	out = slices.Grow(out, len(notes))
	for _, n := range notes {
		at := counter.Counted(n.Start) - over.Start
		o := onset{at, max(n.End-over.Start, at+1), int32(n.Key), int32(n.Vel)}
		if k := len(out) - 1; k >= begin && at-out[k].at < grain {
			out[k].end, out[k].top, out[k].vel = max(out[k].end, o.end), max(out[k].top, o.top), max(out[k].vel, o.vel)
			continue
		}
		out = append(out, o)
	}
	return out
}

// slot is a place at which one of two sides has an onset, or both have.
type slot struct {
	at, end        song.Tick
	played, source int // indices, -1: not there
}

// slotsOf brings the onsets of two sides together in a list that is empty; those less than a grain apart are one place.
func slotsOf(out []slot, a, b []onset, grain song.Tick) []slot {
	out = slices.Grow(out, len(a)+len(b))
	for i, j := 0, 0; i < len(a) || j < len(b); {
		switch first, both := firstOf(a[i:], b[j:], grain); {
		case both:
			out = append(out, slot{min(a[i].at, b[j].at), max(a[i].end, b[j].end), i, j})
			i, j = i+1, j+1
		case first:
			out = append(out, slot{a[i].at, a[i].end, i, -1})
			i++
		default:
			out = append(out, slot{b[j].at, b[j].end, -1, j})
			j++
		}
	}
	return out
}

// firstOf tells whether the next place is one of both sides, and if not, whether it is the first side's.
func firstOf(a, b []onset, grain song.Tick) (first, both bool) {
	switch {
	case len(b) == 0 || len(a) > 0 && a[0].at+grain <= b[0].at:
		return true, false
	case len(a) == 0 || b[0].at+grain <= a[0].at:
		return false, false
	}
	return false, true
}

// places counts the places at which two sides have onsets, and those at which only one has.
func places(a, b []onset, grain song.Tick) (departed, all int) {
	for ; len(a) > 0 || len(b) > 0; all++ {
		first, both := firstOf(a, b, grain)
		if !both {
			departed++
		}
		if both || first {
			a = a[1:]
		}
		if both || !first {
			b = b[1:]
		}
	}
	return departed, all
}

// withoutAccents adds to a list the onsets as they would be without accents: fills, single hits and gaps. What
// departs from the loop for less than the least length is as the loop has it. A part that plays for less
// than that while its loop goes on has no onsets.
func (l *Strikes) withoutAccents(out, played, source []onset, grain, least, length song.Tick) []onset {
	l.slots = slotsOf(l.slots[:0], played, source, grain)
	both := l.slots
	l.restored = slices.Grow(l.restored[:0], len(both))[:len(both)]
	restored := l.restored // to what the loop has there
	clear(restored)
	for i := 0; i < len(both); {
		if both[i].played >= 0 && both[i].source >= 0 {
			i++
			continue
		}
		last, end := i, both[i].end
		for k := i + 1; k < len(both) && both[k].at-both[last].at <= least; k++ {
			if both[k].played < 0 || both[k].source < 0 {
				last, end = k, max(end, both[k].end)
			}
		}
		if last > i { // several last until the part goes on as the loop does
			end = max(end, length)
			if last+1 < len(both) {
				end = both[last+1].at
			}
		}
		if end-both[i].at < least {
			for k := i; k <= last; k++ {
				restored[k] = true
			}
		}
		i = last + 1
	}
	begin := len(out)
	for i, p := range both {
		switch {
		case restored[i] && p.source >= 0:
			out = append(out, source[p.source])
		case restored[i]:
		case p.played >= 0:
			out = append(out, played[p.played])
		}
	}
	if own := out[begin:]; len(own) > 0 && len(own) < len(source) && own[len(own)-1].at-own[0].at < least && span(own) < least {
		return out[:begin]
	}
	return out
}

// span returns how long onsets sound from the first on.
func span(onsets []onset) song.Tick {
	end := onsets[0].end
	for _, o := range onsets {
		end = max(end, o.end)
	}
	return end - onsets[0].at
}

// soundingBars counts the bars of a phrase in which a note sounds; one is held into it for as long as held.
func soundingBars(onsets []onset, barTicks, length, held song.Tick) int {
	next := (held + barTicks - 1) / barTicks // first bar not counted yet
	count := int(next)
	for _, o := range onsets {
		if end := min(o.end, length); end > next*barTicks {
			last := (end - 1) / barTicks
			count += int(last - max(o.at/barTicks, next) + 1)
			next = last + 1
		}
	}
	return count
}

func mean(onsets []onset, f func(onset) int) int {
	if len(onsets) == 0 {
		return 0
	}
	sum := 0
	for _, o := range onsets {
		sum += f(o)
	}
	return sum / len(onsets)
}

// compare returns what changes between two sides, "" for nothing.
func (r LineRule) compare(a, b *side, bars int, grain song.Tick) string {
	same := sameOnsets(a.source, b.source)
	base := func(x, y int) (int, int) { // of the loop, where the two phrases are other stretches of it
		if same {
			return 0, 0
		}
		return x, y
	}
	la, lb := base(a.loopBars, b.loopBars)
	if 2*abs((b.bars-lb)-(a.bars-la)) >= bars && (a.bars != a.loopBars || b.bars != b.loopBars || same) {
		return "in or out"
	}
	na, nb := base(len(a.source), len(b.source))
	differ := abs((len(b.played) - nb) - (len(a.played) - na))
	if differ >= r.PerBar*bars && differ*10000 >= r.Onsets*min(len(a.played), len(b.played)) {
		return "onsets"
	}
	if r.placesDiffer(a, b, same, grain) {
		return "places"
	}
	if len(a.played) == 0 || len(b.played) == 0 {
		return ""
	}
	va, vb := int64(a.level), int64(b.level)
	if !same { // what each is of its loop
		va, vb = va*int64(mean(b.source, velocity)), vb*int64(mean(a.source, velocity))
	}
	if max(va, vb)*10000 >= min(va, vb)*int64(r.Level) {
		return "level"
	}
	ta, tb := mean(a.played, height), mean(b.played, height)
	if !same {
		ta, tb = ta-mean(a.source, height), tb-mean(b.source, height)
	}
	if abs(tb-ta) >= 100*r.Register {
		return "register"
	}
	return ""
}

func velocity(o onset) int { return int(o.vel) }
func height(o onset) int   { return 100 * int(o.top) }

// placesDiffer tells whether enough of the places are on one side only; of different stretches of the
// loop, whether the shares that depart from it are that far apart.
func (r LineRule) placesDiffer(a, b *side, same bool, grain song.Tick) bool {
	if same {
		departed, all := places(a.played, b.played, grain)
		return departed > 1 && 10000*departed >= r.Positions*all
	}
	x, allX := places(a.played, a.source, grain)
	y, allY := places(b.played, b.source, grain)
	if allX == 0 || allY == 0 {
		return false
	}
	return 10000*int64(abs(x*allY-y*allX)) >= int64(r.Positions)*int64(allX)*int64(allY)
}

func sameOnsets(a, b []onset) bool {
	return slices.EqualFunc(a, b, func(x, y onset) bool { return x.at == y.at && x.top == y.top && x.vel == y.vel })
}

func abs(n int) int { return max(n, -n) }

// curve is the course of a controller that is known to be mapped.
type curve struct {
	id     song.Controller
	points song.Points
}

func curvesOf(in, full song.Song, p, source song.Part) []curve {
	var out []curve
	for _, id := range mappedOf(full, p, source) {
		out = append(out, curve{id, in.Points(p.Track, p.Channel, id)})
	}
	return out
}

// controllerMoves tells whether the mean of a controller moves.
func (r LineRule) controllerMoves(curves []curve, before, after song.Range) bool {
	for _, c := range curves {
		a, ok1 := meanValue(c.points, before)
		b, ok2 := meanValue(c.points, after)
		if ok1 && ok2 && 128*abs(b-a) >= 100*r.Controller*(c.id.Max()+1) {
			return true
		}
	}
	return false
}

// mappedOf returns the controllers of a part that are known to be mapped: those said to be, and those
// the loop itself moves.
func mappedOf(full song.Song, p, source song.Part) []song.Controller {
	out := slices.Clone(p.Mapped)
	if source.Name == "" {
		return out
	}
	for _, ev := range full.Tracks[source.Track].Events {
		if id, _, ok := ev.Of(); ok && ev.Chan() == source.Channel && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	slices.SortFunc(out, func(a, b song.Controller) int { return cmp.Compare(a, b) })
	return out
}

// meanValue returns a hundred times the mean of a controller over a range, false where it is not set.
func meanValue(points song.Points, over song.Range) (int, bool) {
	value, known := points.At(over.Start)
	if !known || over.Len() <= 0 {
		return 0, false
	}
	sum, at := int64(0), over.Start
	for _, p := range points {
		if p.Tick <= over.Start || p.Tick >= over.End {
			continue
		}
		sum += int64(value) * int64(p.Tick-at)
		value, at = p.Value, p.Tick
	}
	sum += int64(value) * int64(over.End-at)
	return int(100 * sum / int64(over.Len())), true
}
