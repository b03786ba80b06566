package moves

import (
	"fmt"
	"iter"
	"slices"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Vary plays no two passes of a part exactly alike.
type Vary struct {
	Target
	Chance
	Rate    option.Share `yaml:"rate" range:"0.01%..100%" doc:"share of the onsets of each pass that is altered, at least one of them"`
	Anchors bool         `yaml:"anchors" doc:"also kick, backbeat, bass and bar 1 of the song, which are otherwise left alone"`
}

func varyMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Play no two passes of a part exactly alike, by chance",
		Doc: `In each pass of the loop, or of the part's own cycle, some onsets are altered, spread over the pass: a weak one is left out, a soft one is added after one, or one is louder or softer. A span that cuts a pass has a pass of its own. No two passes in the spans are alike as long as there are others; that they no longer differ is told.

What stands on a beat is not left out, nor is the first onset of a bar, nor what overlaps another note of a pitched part. Soft hits stand where ghost would put them, with 35 to 40% of the part's median velocity, but not under a note of their key; a pitched part repeats the keys that it plays before them, if the loop has them. An accent is at most a quarter louder or softer, and all of them change the level of a pass by 8% at most; none is louder than the part's own loudest hit. Of fewer than 10 onsets no more are left out or added than the rate makes whole ones. At the default rate it changes no line.

Kick, backbeat, bass and bar 1 of the song are left alone, which is told of parts; with anchors they are varied too. Rolls and passes in which the part does not play stay as they are.`,
		New: func() Step { return &Vary{Rate: 5 * option.Whole / 100} },
		Example: func() Example {
			return Example{
				Step:   &Vary{Target: Target{Part: where.PartsOf("hat"), Over: where.SpansOf("every 1 bar of bars 2-4")}, Rate: 5 * option.Whole / 100, Chance: Chance{option.SeedOf(12)}},
				Before: "hat x.xxx.xxX.xxx.xx|x.xxx.xxX.xxx.xx|x.xxx.xxX.xxx.xx|x.xxx.xxX.xxx.xx",
				After:  "hat x.xxx.xxX.xxx.xx|x.xxx.xxX.xxxoxx|x.xxx.XxX.xxx.xx|x.xxx.xxX..xx.xx",
			}
		},
	}
}

// Sizes of alterations (common practice, no source). Level and onsets keep to what is no change of a
// line: 3 dB are a ratio of 1.1885, more than 108 to 92; where at most a tenth of the onsets is left
// out or added on both sides of a line, less than a quarter of the places differ.
const (
	ghostFrom   = 35                      // percent of the median velocity that a ghost has at the least, where ghosts have to differ
	ghostTo     = 40                      // the same at the most, and of a ghost that need not differ
	mostAccent  = 25 * option.Whole / 100 // of an onset's velocity
	mostLevel   = 8 * option.Whole / 100  // of the velocities of a pass
	fewOnsets   = 10                      // in a pass of which one is more than a tenth
	mostRedraws = 64
	leftOut     = 128 // stands for an onset that is left out, in the place of steps of velocity
)

// Name implements [Step].
func (*Vary) Name() string { return "vary" }

// Apply implements [Step].
func (m *Vary) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if m.Rate <= 0 || m.Rate > option.Whole {
		return Outcome{}, &option.Mistake{Option: "rate", Found: m.Rate.String(), Want: varyMove().Want("rate")}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	var left, altered []int
	for _, p := range env.Parts {
		if anchor(in.Parts[p]) && !m.Anchors {
			left = append(left, p)
			continue
		}
		altered = append(altered, p)
		m.vary(&o, e, env, in, p)
	}
	o.leave(env, in, left, remark.NotVaried)
	if len(altered) > 0 {
		o.changed(in, altered, env.Ranges, fmt.Sprintf("rate %s", m.Rate))
	}
	return o.with(e.Song()), nil
}

// vary alters a part.
func (m *Vary) vary(o *Outcome, e *song.Edit, env *Env, in song.Song, part int) {
	h, ok := newGhosts(env, in, part)
	if !ok {
		return
	}
	v := varied{ghosts: h, rate: m.Rate, weights: weights{in.Time(), h.swing}, top: int(loudest(h.own)), used: map[uint64]bool{}}
	if !m.Anchors {
		v.from = in.Time().BarStart(2)
	}
	v.hear()
	cycle := newCycle(env, in, part)
	for i, r := range env.Ranges {
		chance := NewRand(env.Seed, env.number(i), env.partNumber(part))
		hits, places := v.hits(r), v.freePlaces(r)
		for _, pass := range cycle.passes(r) {
			n := sort.Search(len(hits), func(k int) bool { return hits[k].at >= pass.End })
			k := sort.Search(len(places), func(k int) bool { return places[k].at >= pass.End })
			v.alter(e, part, pass, hits[:n], places[:k], chance)
			hits, places = hits[n:], places[k:]
		}
	}
	if v.alike {
		o.tell(remark.Remark{Kind: remark.NoMoreVariations, Parts: []string{h.part.Name}})
	}
	i := -1
	e.Map(part, func(n song.Note) (song.Note, bool) {
		i++
		if v.steps[i] == leftOut {
			return n, false
		}
		n.Vel = uint8(int(n.Vel) + int(v.steps[i]))
		return n, true
	})
}

// varied is a part that is altered.
type varied struct {
	ghosts
	weights
	rate  option.Share
	from  song.Tick // what counts before it is left alone
	top   int       // velocity of the part's loudest hit in the loop
	keys  [128]bool // the loop's
	held  []song.Tick
	steps []int16         // per note by how much its velocity changes, or leftOut
	used  map[uint64]bool // the passes so far, by their sums
	alike bool            // two passes are

	found []hit // of one range after the other

	free []hit // these three are of one pass after the other
	cut  []portion
	room []hit // of the portions
}

// hear finds the keys of the loop and, before each note of the part, when the notes end that a ghost
// must not touch: all of a pitched part, else those of its key.
func (v *varied) hear() {
	for _, n := range v.own {
		v.keys[n.Key&127] = true
	}
	notes := v.part.Notes
	v.steps, v.held = make([]int16, len(notes)), make([]song.Tick, len(notes)+1)
	for i, n := range notes {
		v.held[i+1] = v.held[i]
		if v.part.Pitched() || n.Key == v.voice.key {
			v.held[i+1] = max(v.held[i], n.End)
		}
	}
}

// hit is an onset: its notes start within a 1/64 note of the first.
type hit struct {
	first, end int       // indices of its notes
	at         song.Tick // where it counts
	loose      bool      // may be left out
	min, max   int       // velocities
}

// hits returns the onsets of a range, until it is asked again.
func (v *varied) hits(r song.Range) []hit {
	notes, tl := v.part.Notes, v.song.Time()
	first, end := v.song.Before(notes, r.Start), v.song.Before(notes, r.End)
	out := slices.Grow(v.found[:0], max(end-first, 0))
	counter := v.song.Counter()
	for i := first; i < end; i++ {
		n := notes[i]
		if k := len(out) - 1; k >= 0 && (n.Start-notes[out[k].first].Start)*16 < tl.PPQ() {
			h := &out[k]
			h.end, h.min, h.max = i+1, min(h.min, int(n.Vel)), max(h.max, int(n.Vel))
			continue
		}
		h := hit{first: i, end: i + 1, at: counter.Counted(n.Start), min: int(n.Vel), max: int(n.Vel)}
		h.loose = i > 0 && tl.BarOf(v.song.Counted(notes[i-1].Start)) == tl.BarOf(h.at) && v.offBeat(n.Start)
		out = append(out, h)
	}
	for i := range out {
		h := &out[i]
		h.loose = h.loose && !(v.part.Pitched() && (v.overlaps(h.first) || v.overlaps(h.end)))
	}
	v.found = out
	return out
}

// overlaps tells whether a note starts while one before it sounds.
func (v *varied) overlaps(i int) bool {
	return i < len(v.part.Notes) && v.held[i] > v.part.Notes[i].Start
}

// freePlaces returns the places of a range at which a ghost can stand, each with what it repeats.
func (v *varied) freePlaces(r song.Range) []ghostPlace {
	all := v.places(r)
	out := all[:0]
	for _, p := range all {
		if p.next == 0 || v.held[p.next] > p.at {
			continue
		}
		chord := chordBefore(v.part.Notes, int(p.next), v.song.Time().PPQ())
		p.before = chordAt{p.next - int32(len(chord)), p.next}
		known := true
		for _, n := range chord {
			known = known && v.keys[n.Key&127]
		}
		if known || !v.part.Pitched() {
			out = append(out, p)
		}
	}
	return out
}

// alter alters a pass.
func (v *varied) alter(e *song.Edit, part int, pass song.Range, hits []hit, places []ghostPlace, chance *Rand) {
	if len(hits) == 0 {
		return
	}
	sum, level := uint64(0), 0
	free := v.free[:0]
	for _, h := range hits {
		sum += v.sum(pass, h, 0)
		level += h.max
		if h.at >= v.from && !v.rolls(h.at) {
			free = append(free, h)
		}
	}
	v.free = free
	if len(free) == 0 {
		v.used[sum] = true
		return
	}
	for _, a := range v.vary(pass, free, places, sum, level, chance) {
		for _, n := range a.ghosts {
			e.Place(part, n)
		}
		for i := a.hit.first; i < a.hit.end; i++ {
			v.steps[i] = int16(a.by)
		}
	}
}

// vary returns the alterations of a pass: as many as the rate makes, or more where otherwise it were
// like one before.
func (v *varied) vary(pass song.Range, hits []hit, places []ghostPlace, sum uint64, level int, chance *Rand) []alteration {
	most := max(v.rate.Of(len(hits)), 1)
	moved := most // onsets that are left out or added
	if len(hits) < fewOnsets {
		moved = v.rate.Floor(len(hits))
	}
	for count := most; ; count *= 2 {
		count = min(count, len(hits))
		out, ok := v.choose(pass, v.portions(pass, hits, places, count, moved, level), sum, chance)
		if ok {
			return out
		}
		if count == len(hits) {
			v.alike = true
			return out
		}
	}
}

// alteration is what is done to an onset.
type alteration struct {
	hit    hit // the zero value for a ghost
	by     int // steps of velocity, or leftOut
	ghosts []song.Note
}

// sum returns a number that depends on all notes of an onset, as they are after steps of velocity. Two
// passes of which these numbers add up to different sums do not sound the same.
func (v *varied) sum(pass song.Range, h hit, by int) uint64 {
	sum := uint64(0)
	if by == leftOut {
		return sum
	}
	for _, n := range v.part.Notes[h.first:h.end] {
		n.Vel = uint8(int(n.Vel) + by)
		sum += noteSum(pass, n)
	}
	return sum
}

func noteSum(pass song.Range, n song.Note) uint64 {
	return mix(0x9E3779B97F4A7C15 + (uint64(n.Start-pass.Start)<<16 | uint64(n.Key)<<8 | uint64(n.Vel)))
}

// change returns what an alteration adds to the sum of a pass.
func (v *varied) change(pass song.Range, a alteration) uint64 {
	sum := v.sum(pass, a.hit, a.by) - v.sum(pass, a.hit, 0)
	for _, n := range a.ghosts {
		sum += noteSum(pass, n)
	}
	return sum
}

// portion is a stretch of a pass in which one onset is altered.
type portion struct {
	v       *varied
	pass    song.Range
	loose   []hit
	places  []ghostPlace
	accents []hit
	most    int // steps of an accent
}

// portions cuts a pass into as many portions as onsets are altered, with about as many onsets each; in
// the first so many of them one may be left out or added. Those of which nothing can be altered are left
// out.
func (v *varied) portions(pass song.Range, hits []hit, places []ghostPlace, count, moved, level int) []portion {
	n := len(hits)
	most := max(mostLevel.Floor(level)/count, 1)
	v.cut, v.room = v.cut[:0], v.room[:0]
	which := func(of []hit, fits func(hit) bool) []hit {
		begin := len(v.room)
		for _, h := range of {
			if fits(h) {
				v.room = append(v.room, h)
			}
		}
		return v.room[begin:]
	}
	for k := range count {
		own := hits[k*n/count : (k+1)*n/count]
		s := portion{v: v, pass: pass, most: most}
		s.accents = which(own, func(h hit) bool {
			low, high := s.steps(h)
			return low < 0 || high > 0
		})
		end := pass.End
		if k+1 < count {
			end = hits[(k+1)*n/count].at
		}
		if k < moved {
			s.loose = which(own, func(h hit) bool { return h.loose })
			from := sort.Search(len(places), func(i int) bool { return places[i].at > own[0].at })
			to := max(sort.Search(len(places), func(i int) bool { return places[i].at >= end }), from)
			s.places, places = places[from:to], places[to:]
		}
		if len(s.accents)+len(s.loose)+len(s.places) > 0 {
			v.cut = append(v.cut, s)
		}
	}
	return v.cut
}

// steps returns by how many steps an onset can be softer and louder.
func (s portion) steps(h hit) (low, high int) {
	most := min(max(mostAccent.Floor(h.max), 1), s.most)
	return -min(most, h.min-1), max(min(most, s.v.top-h.max), 0)
}

// draw alters an onset by chance.
func (s portion) draw(chance *Rand) alteration {
	for way := chance.Intn(3); ; way = (way + 1) % 3 {
		switch {
		case way == 0 && len(s.loose) > 0:
			return alteration{hit: s.loose[chance.Intn(len(s.loose))], by: leftOut}
		case way == 1 && len(s.places) > 0:
			return s.ghost(s.places[chance.Intn(len(s.places))], ghostTo)
		case way == 2 && len(s.accents) > 0:
			h := s.accents[chance.Intn(len(s.accents))]
			low, high := s.steps(h)
			if 2*high < -low || 2*-low >= high && chance.Intn(2) == 0 { // half of the way or less would hardly be heard
				return alteration{hit: h, by: low + chance.Intn(-low/2+1)}
			}
			return alteration{hit: h, by: high - chance.Intn(high/2+1)}
		}
	}
}

func (s portion) ghost(p ghostPlace, percent int) alteration {
	r := s.pass
	if int(p.next) < len(s.v.part.Notes) {
		r.End = min(r.End, s.v.part.Notes[p.next].Start)
	}
	return alteration{ghosts: s.v.notes(nil, p, s.v.part.Notes, option.Share(percent)*option.Whole/100, r)}
}

// all goes through everything that can be done.
func (s portion) all() iter.Seq[alteration] {
	return func(yield func(alteration) bool) {
		for _, h := range s.accents {
			low, high := s.steps(h)
			for by := low; by <= high; by++ {
				if by != 0 && !yield(alteration{hit: h, by: by}) {
					return
				}
			}
		}
		for _, h := range s.loose {
			if !yield(alteration{hit: h, by: leftOut}) {
				return
			}
		}
		for _, p := range s.places {
			for percent := ghostFrom; percent <= ghostTo; percent++ {
				if !yield(s.ghost(p, percent)) {
					return
				}
			}
		}
	}
}

// choose returns an alteration for each portion of a pass, and whether it is unlike all before. Where
// chance does not find one that is, each portion goes through all there is.
func (v *varied) choose(pass song.Range, portions []portion, sum uint64, chance *Rand) ([]alteration, bool) {
	out := make([]alteration, len(portions))
	total := sum
	for range mostRedraws {
		total = sum
		for i, s := range portions {
			out[i] = s.draw(chance)
			total += v.change(pass, out[i])
		}
		if !v.used[total] {
			v.used[total] = true
			return out, true
		}
	}
	for i, s := range portions {
		rest := total - v.change(pass, out[i])
		for a := range s.all() {
			if now := rest + v.change(pass, a); !v.used[now] {
				v.used[now], out[i] = true, a
				return out, true
			}
		}
	}
	return out, false
}

// cycle finds out where the cycle of a part begins again in a song.
type cycle struct {
	*origin
	own song.Part // as the loop plays it over the whole length
}

func newCycle(env *Env, in song.Song, part int) cycle {
	name := in.Parts[part].Name
	if i := env.Full.Index(name); i >= 0 {
		return cycle{newOrigin(env, env.Full, i), env.Full.Parts[i]}
	}
	return cycle{origin: newOrigin(env, in, part)}
}

// bar returns which bar of the cycle, from 0, stands in a bar of the song.
func (c cycle) bar(bar int) int {
	tl := c.loop.Time()
	for _, n := range c.song.In(c.own, c.song.BarRange(bar, bar)) {
		if !n.Is(song.New) { // struck again where a section begins
			return (tl.BarOf(c.loop.Counted(max(c.place(n), 0))) - 1) % c.bars
		}
	}
	return c.counted(bar)
}

// passes cuts a range where the cycle begins again.
func (c cycle) passes(r song.Range) []song.Range {
	tl := c.song.Time()
	var out []song.Range
	last := -1
	for bar := tl.BarOf(r.Start); tl.BarStart(bar) < r.End; bar++ {
		at := c.bar(bar)
		if n := len(out); n > 0 && at == last+1 {
			out[n-1].End = min(tl.BarStart(bar+1), r.End)
		} else {
			out = append(out, song.Range{Start: max(tl.BarStart(bar), r.Start), End: min(tl.BarStart(bar+1), r.End)})
		}
		last = at
	}
	return out
}
