package form

import (
	"math"
	"sort"

	"loopdraft/smf/song"
)

// stretch is bars first to last, counted from 0; one that ends before it begins is empty.
type stretch struct{ first, last int }

func (s stretch) empty() bool { return s.last < s.first }

// spanning returns the shortest stretch that holds both.
func (s stretch) spanning(t stretch) stretch {
	if s.empty() {
		return t
	}
	return stretch{min(s.first, t.first), max(s.last, t.last)}
}

// hull returns the shortest stretch that holds several, which rise; an empty one for none.
func hull(of []stretch) stretch {
	if len(of) == 0 {
		return stretch{0, -1}
	}
	return of[0].spanning(of[len(of)-1])
}

// meter measures one part after the other.
//
// What a note gives to a bar hangs on no other note, and is rounded there. Notes that hold their level are the
// exception, since they may be many and last for the whole song: their powers are rounded, added where they begin to
// fill bars and taken off where they end, which is exact in whole numbers.
type meter struct {
	song    song.Song
	at      []float64       // seconds at which each bar starts; last, the end of the song
	plays   instruments     // of the part
	known   [128]instrument // of the part, by key, those that were asked for since the program was set
	asked   [128]bool
	program uint8
	mixer   *mixer   // of the part
	over    stretch  // that is measured
	out     []Powers // of the part, by bar
	held    []Powers // by bar: what notes that hold fill more of than of the bar before; may be negative
	bar     int      // in which the note starts
}

func newMeter(s song.Song, at []float64) *meter {
	return &meter{song: s, at: at}
}

// farthest is how many bars a note that falls may ring into after the one it starts in. Where bars last an eighth of
// a second or more, all of them have faded by then.
const farthest = 128

// faded is the number of halvings after which less than one unit of power is left of a sound. It is enough for any
// instrument, since all have less than 8 times the power of [Held], which is 2^40 units.
const faded = 44

// measure measures a part over a stretch.
func (m *meter) measure(p *song.Part, out []Powers, over stretch) {
	m.out, m.over, m.bar = out, over, 0
	clear(out[over.first : over.last+1])
	if p.Role == song.RoleTrigger {
		return
	}
	if m.held == nil {
		m.held = make([]Powers, len(out))
	}
	tl := m.song.Time()
	end := tl.BarStart(over.last + 2)
	over.last = min(over.last, len(out)-1)
	past := m.fadedBy(over.first)
	notes := p.Notes[:sort.Search(len(p.Notes), func(i int) bool { return p.Notes[i].Start >= end })]
	if m.plays.kit { // a drum that was struck before has faded, however long it is held
		notes = notes[sort.Search(len(notes), func(i int) bool { return notes[i].Start >= past }):]
	}
	for i := range notes {
		n := &notes[i]
		if n.Start < past && m.mixer.letGo(n.End) < past {
			continue
		}
		m.note(n.Vel, tl.Seconds(n.Start), tl.Seconds(m.mixer.letGo(n.End)), m.playing(n))
	}
	m.goOn()
}

// next has the meter measure another part.
func (m *meter) next(x *mixer, in instruments) {
	m.mixer, m.plays, m.asked = x, in, [128]bool{}
}

// playing returns the instrument that plays a note of the part.
func (m *meter) playing(n *song.Note) *instrument {
	program := 0
	if len(m.mixer.program) > 0 {
		program, _ = m.mixer.program.At(n.Start)
	}
	if uint8(program) != m.program {
		m.program, m.asked = uint8(program), [128]bool{}
	}
	in := &m.known[n.Key&127]
	if !m.asked[n.Key&127] {
		*in, m.asked[n.Key&127] = m.plays.playing(n.Key, m.program), true
	}
	return in
}

// fadedBy returns the tick up to which all that has ended, or was struck if it is a drum, has faded by the start of
// a bar.
func (m *meter) fadedBy(bar int) song.Tick {
	longest := faded / slow.halvings()
	return m.song.Time().TickAtMicros(int64(1e6 * max(0, m.at[bar]-longest-1)))
}

// note adds a note between two times in seconds. Notes come in the order of their onsets.
func (m *meter) note(velocity uint8, from, to float64, in *instrument) {
	last := len(m.at) - 2
	for m.bar < last && m.at[m.bar+1] <= from {
		m.bar++
	}
	power := in.power.times(fourth(float64(velocity) / 127))
	switch {
	case from >= m.at[last+1]:
		return
	case in.drum:
		m.fall(&power, in.fall, m.bar, from, math.Inf(1))
		return
	case in.fall == holds:
		m.hold(&power, m.bar, from, to)
	default:
		m.fall(&power, in.fall, m.bar, from, to)
	}
	if to < m.at[last+1] {
		left := power.times(in.fall.left(to - from))
		m.fall(&left, in.ring, m.barAt(to, m.bar), to, math.Inf(1))
	}
}

// barAt returns the bar in which a time lies, which is in the bar given or a later one; one more than there are for
// what is past the end.
func (m *meter) barAt(t float64, bar int) int {
	if t < m.at[bar+1] {
		return bar
	}
	return bar + sort.Search(len(m.at)-1-bar, func(i int) bool { return m.at[bar+i+1] > t })
}

// fall adds a power that falls at a rate from one time to another, in seconds; the first lies in the bar given. Volume
// and expression count while 95 % of the energy of a bar is spent, 3 nepers.
func (m *meter) fall(power *bands, r rate, bar int, from, to float64) {
	whole, left, nepers := float64(power.sum()*float64(Held)), 1.0, r.nepers()
	last, most := min(m.over.last, bar+farthest), 3/nepers
	if bar < m.over.first {
		bar = m.over.first
		left = r.left(m.at[bar] - from)
	}
	for ; bar <= last && m.at[bar] < to && float64(whole*left) >= .5; bar++ {
		start, end := max(from, m.at[bar]), min(to, m.at[bar+1])
		next := r.left(end - from)
		m.add(bar, power, (left-next)/nepers, start, min(end, start+most))
		left = next
	}
}

// hold adds a power that stays from one time to another, in seconds; the first lies in the bar given.
func (m *meter) hold(power *bands, bar int, from, to float64) {
	end := min(to, m.at[bar+1])
	m.add(bar, power, end-from, from, end)
	last := m.barAt(to, bar)
	if last == bar {
		return
	}
	if first := max(bar+1, m.over.first); first < last && first <= m.over.last {
		p := power.whole(1)
		m.held[first] = m.held[first].more(p, 1)
		if last <= m.over.last {
			m.held[last] = m.held[last].more(p, -1)
		}
	}
	if last < len(m.out) && m.at[last] < to {
		m.add(last, power, to-m.at[last], m.at[last], to)
	}
}

// add adds the energy that a power spends in a bar, the power being 1 for so many seconds. Of volume and expression
// the mean between two times counts.
func (m *meter) add(bar int, power *bands, seconds, from, to float64) {
	length := m.at[bar+1] - m.at[bar]
	if bar < m.over.first || bar > m.over.last || !(length > 0) {
		return
	}
	by, out := float64(seconds/length*m.mixer.gain(from, to)*float64(Held)), &m.out[bar]
	for band, p := range power {
		out[band] = min(out[band]+Power(float64(p*by)+.5), mostPower)
	}
}

// goOn adds the notes that fill bars.
func (m *meter) goOn() {
	var fill Powers
	for b := m.over.first; b <= m.over.last; b++ {
		fill = fill.more(m.held[b], 1)
		m.held[b] = Powers{}
		if fill == (Powers{}) || !(m.at[b+1] > m.at[b]) {
			continue
		}
		by := m.mixer.gain(m.at[b], m.at[b+1])
		var add Powers
		for band, p := range fill {
			add[band] = Power(float64(float64(max(p, 0))*by) + .5)
		}
		m.out[b] = m.out[b].Plus(add)
	}
}

// more adds other powers, or takes them off by -1. What is taken off has been added before.
func (p Powers) more(q Powers, by Power) Powers {
	return Powers{p[0] + by*q[0], p[1] + by*q[1], p[2] + by*q[2]}
}

// sameNotes tells whether two lists are one, which is never written to.
func sameNotes(was, is []song.Note) bool {
	return len(was) == len(is) && (len(is) == 0 || &was[0] == &is[0])
}

// Stretches of which fewer bars lie between are measured as one, since what rings into a stretch is measured anew; and
// there are only so many, since each goes over all notes of the part.
const (
	leastApart    = 4
	mostStretches = 16
)

// differing returns the bars in which the notes sound that two lists have not in common: stretches that rise and are
// apart.
func (m *meter) differing(was, is []song.Note) []stretch {
	if sameNotes(was, is) {
		return nil
	}
	var out []stretch
	first, end := 0, len(m.at)-1
	sounds := func(n *song.Note) {
		from, to := m.sounds(n)
		if from >= m.at[end] {
			return
		}
		first = m.barAt(from, first)
		last := min(end-1, m.barAt(to, first))
		if k := len(out) - 1; k >= 0 && (first < out[k].last+leastApart || len(out) == mostStretches) {
			out[k].last = max(out[k].last, last)
		} else {
			out = append(out, stretch{first, last})
		}
	}
	for len(was) > 0 || len(is) > 0 {
		if len(was) > 0 && len(is) > 0 && was[0].Start == is[0].Start && was[0].End == is[0].End && was[0].Key == is[0].Key && was[0].Vel == is[0].Vel {
			was, is = was[1:], is[1:]
			continue
		}
		gone := len(is) == 0 || len(was) > 0 && was[0].Start <= is[0].Start
		came := len(was) == 0 || len(is) > 0 && is[0].Start <= was[0].Start
		if gone {
			sounds(&was[0])
			was = was[1:]
		}
		if came {
			sounds(&is[0])
			is = is[1:]
		}
	}
	return out
}

// sounds returns the times in seconds from which a note sounds and at which it has faded, or a little later.
func (m *meter) sounds(n *song.Note) (from, to float64) {
	tl := m.song.Time()
	from = tl.Seconds(n.Start)
	in := m.playing(n)
	if in.drum {
		return from, from + faded/in.fall.halvings()
	}
	return from, tl.Seconds(m.mixer.letGo(n.End)) + faded/in.ring.halvings()
}

// pedalling returns the bars in which notes may sound otherwise where two mixers differ in their pedals.
func (m *meter) pedalling(x, y *mixer) stretch {
	a, b := x.pedal, y.pedal
	for len(a) > 0 && len(b) > 0 && a[0] == b[0] {
		a, b = a[1:], b[1:]
	}
	from, to := m.song.End, m.song.End
	for _, p := range [][]song.Point{a, b} {
		if len(p) > 0 {
			from = min(from, p[0].Tick)
		}
	}
	for len(a) > 0 && len(b) > 0 && a[len(a)-1] == b[len(b)-1] {
		to = a[len(a)-1].Tick
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	tl := m.song.Time()
	last := tl.Seconds(max(x.letGo(to), y.letGo(to))) + faded/slow.halvings()
	first := min(m.barAt(tl.Seconds(from), 0), len(m.at)-2)
	return stretch{first, min(len(m.at)-2, m.barAt(last, first))}
}
