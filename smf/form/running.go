package form

import (
	"maps"
	"slices"

	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Running is the energy of a song of which a few bars of a part at a time are tried otherwise. Trying takes time
// linear in the notes of these bars and of those that ring into them, whatever else there is in the song.
type Running struct {
	song   song.Song
	at     []float64
	mixers map[lane]*mixer
	plays  []instruments
	bars   []Powers   // of all parts
	parts  [][]Powers // those of a part that has changed are its own copy
	own    []bool
	pedals map[*mixer]song.Tick
	mapped []int // of each part of a kit: how many of its notes have a key that General MIDI gives its role
	meter  *meter
	out    []Powers // what the meter writes to
}

// Running returns the energy of the song that was measured, to be tried otherwise. It is nil where there is none, and
// where powers are so great that sums of them are cut.
func (e Energy) Running() *Running {
	if len(e.Bars) == 0 || slices.ContainsFunc(e.Bars, Powers.great) {
		return nil
	}
	r := &Running{
		song: e.song, at: e.at, mixers: maps.Clone(e.mixers), plays: e.plays, bars: slices.Clone(e.Bars), parts: slices.Clone(e.Parts),
		own: make([]bool, len(e.Parts)), mapped: make([]int, len(e.Parts)), meter: newMeter(e.song, e.at), pedals: map[*mixer]song.Tick{}, out: make([]Powers, len(e.Bars)),
	}
	for i, p := range e.song.Parts {
		r.mapped[i] = r.countMapped(i, p.Notes)
	}
	return r
}

// great tells whether powers are so great that a sum of those of 256 bars may be cut.
func (p Powers) great() bool { return slices.Max(p[:]) > mostPower>>8 }

// countMapped counts the notes of a part by which it is told whether its keys are those of General MIDI.
func (r *Running) countMapped(part int, notes []song.Note) int {
	if in := r.plays[part]; !in.kit || in.role == song.RoleUnknown {
		return 0
	}
	n := 0
	for _, note := range notes {
		if role, ok := listen.PercussionRole(note.Key); ok && role == r.plays[part].role {
			n++
		}
	}
	return n
}

// Tried is the energy of a part in the bars in which it is tried otherwise.
type Tried struct {
	Part   int
	first  int // bar, from 0
	bars   []Powers
	mapped int
	mixer  *mixer // nil: the part's channel is set as it was
}

// Try measures part i with other notes: was and is are all those that differ, with or without some that do not, in
// order, and notes returns all that it is tried with that start from one tick to another, and those before that sound on
// there. Where its track is tried with another sustain pedal, track is that track; otherwise it may be nil. It is false
// where the change reaches further: where the part of a kit is another one by its keys, or other tracks go by the
// pedal.
func (r *Running) Try(i int, track *song.Track, was, is []song.Note, notes func(from, to song.Tick) []song.Note) (Tried, bool) {
	p := r.song.Parts[i]
	x := r.mixers[lane{p.Track, p.Channel}]
	y, ok := r.pedalled(i, track)
	if !ok {
		return Tried{}, false
	}
	t := Tried{Part: i, mapped: r.mapped[i] - r.countMapped(i, was) + r.countMapped(i, is)}
	if (t.mapped > 0) != (r.mapped[i] > 0) {
		return Tried{}, false
	}
	r.meter.next(x, r.plays[i])
	over := hull(r.meter.differing(was, is))
	held := r.held(x)
	if y != x {
		t.mixer, held = y, max(held, y.longestPedal(r.song.End))
		r.meter.next(y, r.plays[i])
		over = over.spanning(hull(r.meter.differing(was, is))).spanning(r.meter.pedalling(x, y))
	}
	if over.empty() {
		return t, true
	}
	p.Notes = notes(r.meter.fadedBy(over.first)-held, r.song.Time().BarStart(over.last+2))
	r.meter.measure(&p, r.out, over)
	t.first, t.bars = over.first, slices.Clone(r.out[over.first:over.last+1])
	return t, !slices.ContainsFunc(t.bars, Powers.great)
}

// pedalled returns what the channel of a part is set to when its track is another one that differs in pedals alone. It
// is false where another track of the channel has no pedal of its own, and goes by this one.
func (r *Running) pedalled(i int, track *song.Track) (*mixer, bool) {
	own := lane{r.song.Parts[i].Track, r.song.Parts[i].Channel}
	x := r.mixers[own]
	if track == nil {
		return x, true
	}
	var set mixer
	for _, ev := range track.Events {
		if ev.IsChannel() && ev.Chan() == own.channel {
			set.take(ev)
		}
	}
	switch {
	case len(set.pedal) == 0: // that of all tracks counts
		return x, x.borrows
	case slices.Equal(set.pedal, x.pedal) && !x.borrows:
		return x, true
	}
	for k, q := range r.song.Parts { // a drum rings on whatever its pedal does
		at := lane{q.Track, q.Channel}
		if at != own && at.channel == own.channel && !r.plays[k].kit && r.mixers[at].borrows {
			return nil, false
		}
	}
	y := *x
	y.pedal, y.borrows = set.pedal, false
	return &y, true
}

// held returns the longest time for which a pedal of the channel is down, to the end of the song where it stays down.
func (r *Running) held(x *mixer) song.Tick {
	longest, known := r.pedals[x]
	if !known {
		longest = x.longestPedal(r.song.End)
		r.pedals[x] = longest
	}
	return longest
}

func (x *mixer) longestPedal(end song.Tick) song.Tick {
	longest, down := song.Tick(0), song.Tick(-1)
	for _, p := range append(x.pedal[:len(x.pedal):len(x.pedal)], song.Point{Tick: end}) {
		switch {
		case p.Value >= 64 && down < 0:
			down = p.Tick
		case p.Value < 64 && down >= 0:
			longest, down = max(longest, p.Tick-down), -1
		}
	}
	return longest
}

// Mean returns the mean powers of bars first to last, from 1, with parts tried otherwise; of those that the song has.
func (r *Running) Mean(first, last int, tried ...Tried) Powers {
	first, last = max(first, 1), min(last, len(r.bars))
	var sum Powers
	for b := first - 1; b < last; b++ {
		sum.add(&r.bars[b])
		for _, t := range tried {
			if k := b - t.first; k >= 0 && k < len(t.bars) {
				sum = sum.more(r.parts[t.Part][b], -1)
				sum.add(&t.bars[k])
			}
		}
	}
	for band := range sum {
		sum[band] /= Power(max(last-first+1, 1))
	}
	return sum
}

// Without returns the mean powers of bars first to last, from 1, with one part silent; of those that the song has.
func (r *Running) Without(part, first, last int) Powers {
	first, last = max(first, 1), min(last, len(r.bars))
	return r.Mean(first, last, Tried{Part: part, first: first - 1, bars: make([]Powers, max(last-first+1, 0))})
}

// Lasts tells whether a part stays the instrument that it is if so many of its notes go: that of a kit may be told by
// its keys.
func (r *Running) Lasts(part, notes int) bool { return r.mapped[part] == 0 || r.mapped[part] > notes }

// Energy returns the energy of the song with all that was taken, which is the song given.
func (r *Running) Energy(of song.Song) Energy {
	return Energy{Bars: r.bars, Parts: r.parts, song: of, at: r.at, mixers: r.mixers, plays: r.plays}
}

// Bars returns how many bars the song has.
func (r *Running) Bars() int { return len(r.bars) }

// Take has a part play what was tried.
func (r *Running) Take(t Tried) {
	i := t.Part
	if !r.own[i] {
		r.parts[i], r.own[i] = slices.Clone(r.parts[i]), true
	}
	for k, is := range t.bars {
		b := t.first + k
		r.bars[b] = r.bars[b].more(r.parts[i][b], -1).Plus(is)
		r.parts[i][b] = is
	}
	r.mapped[i] = t.mapped
	if t.mixer != nil {
		p := r.song.Parts[i]
		delete(r.pedals, r.mixers[lane{p.Track, p.Channel}])
		r.mixers[lane{p.Track, p.Channel}] = t.mixer
	}
}
