package listen

import (
	"cmp"
	"fmt"
	"math/bits"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// habits are measures of how a voice plays. Onsets less than a 1/64 note apart are one; keys an octave
// apart are one pitch.
type habits struct {
	notes   int
	onsets  int       // chords count once
	chords  int       // onsets of two pitches or more
	clashes int       // of these, with a second, a tritone or a seventh among them
	triads  int       // of the others, of three pitches or more
	fifths  int       // of the rest, a fifth or a fourth
	keys    int       // distinct keys
	tops    int       // distinct highest keys of onsets
	bottom  int       // lowest key
	top     int       // highest key
	sum     int       // of all keys, for their mean
	median  uint8     // median key
	length2 song.Tick // twice the median length of its notes, so that it is a whole number
	beats   int       // onsets on a beat
	backs   int       // onsets on an even beat: 2 and 4 of four
	offs    int       // onsets in the middle of a beat
	ones    int       // onsets on the first beat of a bar
	bars    int       // bars with an onset
	again   int       // keys at places of the bar that were struck in the bar before it too
	either  int       // keys at places of the bar that were struck in one of the two
	span    song.Tick // ticks its onsets are spread over: its cycle, or the loop
	bar     song.Tick // length of the first bar in ticks; 0 without common bars
	beat    song.Tick // length of a beat in ticks; 0 without common bars
}

// measure listens to notes, in order of onset, that repeat after span ticks.
func measure(notes []song.Note, span song.Tick, tl *smf.Timeline) habits {
	h := habits{notes: len(notes), span: max(span, 1)}
	if tl != nil {
		h.bar, h.beat = tl.BarTicks(1), tl.BeatTicks(1)
	}
	var counts [128]int
	var tops song.Keys
	var bars strikes
	for i := 0; i < len(notes); {
		first, pitches, top := notes[i].Start, uint(0), uint8(0)
		bar, place := 0, 0
		if tl != nil {
			bar, place = placeOf(tl, first)
		}
		for ; i < len(notes) && (pitches == 0 || sameOnset(first, notes[i].Start, tl)); i++ {
			key := notes[i].Key & 127
			counts[key]++
			pitches, top = pitches|1<<(key%12), max(top, key)
			if tl != nil {
				bars.add(bar, place, key)
			}
		}
		tops[top>>6] |= 1 << (top & 63)
		h.onset(first, pitches, tl)
	}
	h.tops = len(tops.List())
	bars.add(-1, 0, 0)
	h.bars, h.again, h.either = bars.bars, bars.again, bars.either
	h.keyFigures(&counts)
	h.length2 = median2(notes)
	return h
}

// onset counts an onset; pitches has a bit for each of its pitch classes.
func (h *habits) onset(at song.Tick, pitches uint, tl *smf.Timeline) {
	h.onsets++
	if pitches&(pitches-1) != 0 {
		h.chords++
		twice := pitches | pitches<<12
		switch {
		case pitches&(twice>>1|twice>>2|twice>>6) != 0:
			h.clashes++
		case bits.OnesCount(pitches) >= 3:
			h.triads++
		case pitches&(twice>>5) != 0:
			h.fifths++
		}
	}
	if tl == nil {
		return
	}
	if _, beat, on := beatNear(tl, at, h.span); on {
		h.beats++
		if beat == 1 {
			h.ones++
		}
		if beat%2 == 0 {
			h.backs++
		}
	} else if p := tl.Locate(at); nearly(2*p.Tick, h.beat, tl) {
		h.offs++
	}
}

// placeOf returns the bar that an onset stands in, and the nearest 1/16 note in it, from 0.
func placeOf(tl *smf.Timeline, t song.Tick) (bar, place int) {
	bar = tl.BarOf(t)
	place = int(((t-tl.BarStart(bar))*8 + tl.PPQ()) / (2 * tl.PPQ()))
	if song.Tick(place)*tl.PPQ() >= 4*tl.BarTicks(bar) {
		return bar + 1, 0
	}
	return bar, place
}

// strikes compares the keys and places of each bar with those of the bar before, of the bars that are
// struck in.
type strikes struct {
	bar           int // the one being gathered, from 1; 0: none yet
	before, now   []int
	bars          int // bars that were struck in
	again, either int
}

// add adds a key at a place of a bar; bars come in order, and another one ends the one before.
func (s *strikes) add(bar, place int, key uint8) {
	if bar != s.bar {
		s.end()
		s.bar = bar
	}
	s.now = append(s.now, place<<7|int(key))
}

// end compares a bar with the one before it.
func (s *strikes) end() {
	if len(s.now) > 0 {
		s.bars++
	}
	slices.Sort(s.now)
	s.now = slices.Compact(s.now)
	if len(s.before) > 0 && len(s.now) > 0 {
		both := 0
		for i, j := 0, 0; i < len(s.before) && j < len(s.now); {
			switch c := cmp.Compare(s.before[i], s.now[j]); {
			case c < 0:
				i++
			case c > 0:
				j++
			default:
				i, j, both = i+1, j+1, both+1
			}
		}
		s.again, s.either = s.again+both, s.either+len(s.before)+len(s.now)-both
	}
	s.before, s.now = s.now, s.before[:0]
}

func (h *habits) keyFigures(counts *[128]int) {
	seen := 0
	for key, n := range counts {
		if n == 0 {
			continue
		}
		if h.keys++; h.keys == 1 {
			h.bottom = key
		}
		h.top = key
		h.sum += key * n
		if 2*seen < h.notes && 2*(seen+n) >= h.notes {
			h.median = uint8(key)
		}
		seen += n
	}
}

// median2 returns twice the median length of the notes: of an even number the mean of the middle
// two counts.
func median2(notes []song.Note) song.Tick {
	if len(notes) == 0 {
		return 0
	}
	lengths := make([]song.Tick, len(notes))
	for i, n := range notes {
		lengths[i] = n.End - n.Start
	}
	slices.Sort(lengths)
	return lengths[(len(lengths)-1)/2] + lengths[len(lengths)/2]
}

// sameOnset tells whether two onsets are one chord: less than a 1/64 note apart, or at one tick
// where there are no beats.
func sameOnset(a, b song.Tick, tl *smf.Timeline) bool {
	if tl == nil {
		return a == b
	}
	return (b-a)*16 < tl.PPQ()
}

// nearly tells whether twice a position and a length are less than a 1/16 note apart, that is, the
// position less than a 1/32 note from half the length.
func nearly(twice, length song.Tick, tl *smf.Timeline) bool {
	d := twice - length
	return max(d, -d)*4 < tl.PPQ()
}

// beatNear returns the beat less than a 1/32 note away from t, as bar and beat from 1; a beat that
// would be the first after the span of the loop is its first. The last result is false where no
// beat is that near.
func beatNear(tl *smf.Timeline, t, span song.Tick) (bar, beat int, ok bool) {
	p := tl.Locate(t)
	if p.Tick*8 < tl.PPQ() {
		return p.Bar, p.Beat, true
	}
	next := smf.Position{Bar: p.Bar, Beat: p.Beat + 1}
	if p.Beat >= tl.MetreIn(p.Bar).Num {
		next = smf.Position{Bar: p.Bar + 1, Beat: 1}
	}
	at := min(tl.TickOf(next), tl.BarStart(p.Bar+1))
	if (at-t)*8 >= tl.PPQ() {
		return 0, 0, false
	}
	if at >= span {
		at = 0
	}
	p = tl.Locate(at)
	return p.Bar, p.Beat, true
}

// evidence returns what a voice's behaviour says, all for one role or for none; pitched: its name says
// that it is no drum; kit: the jobs that the kits beside it do already. The thresholds and weights are common
// practice, no source.
func (h habits) evidence(pitched bool, kit []song.Job, r register) []Evidence {
	if h.onsets == 0 || h.beat == 0 {
		return nil
	}
	if e := h.struck(kit); e != nil && !pitched {
		return e
	}
	return h.pitched(r)
}

// struck returns what makes it one sound of a kit, nil if nothing does; kit: as in evidence.
func (h habits) struck(kit []song.Job) []Evidence {
	if !h.drumlike() || h.onsets == 0 || h.beat == 0 {
		return nil
	}
	e := h.drum()
	if e != nil && slices.Contains(kit, e[0].Says.Job()) && !h.besideKit(e[0].Says) {
		return nil
	}
	return e
}

// besideKit tells whether one key that is struck as a sound of a kit may be a drum where a kit has such a
// sound already: it is the key of that sound in the percussion map (and percussion comes again from bar to bar),
// or middle C, on which a sample plays as it was recorded. A pulse on another key is more likely one pitch. Common
// practice, no source.
func (h habits) besideKit(role song.Role) bool {
	mapped, ok := PercussionRole(h.median)
	return h.median == middleC || ok && mapped.Job() == role.Job() && (role != song.RolePerc || h.again > 0)
}

// drumlike tells whether it plays one key, half a beat (played, an eighth of that longer) or shorter.
func (h habits) drumlike() bool { return h.keys == 1 && 8*h.length2 <= 9*h.beat }

// drum tells one sound of a kit by where in the bar it is struck.
func (h habits) drum() []Evidence {
	key := func(role song.Role, weight int, where string) []Evidence {
		return []Evidence{{role, 30, "one short key"}, {role, weight, where}}
	}
	high := h.median >= 48
	switch {
	case h.share(h.backs, 60):
		return key(song.RoleSnare, 30, "on even beats")
	case high && h.onsets >= 5*h.bars && !h.share(h.beats, 60):
		return key(song.RoleHat, 30, "all the time, between the beats too")
	case high && h.share(h.offs, 60):
		return key(song.RoleOpenHat, 30, "between the beats")
	case high && h.bars >= 2 && 2*h.onsets < 3*h.bars && h.share(h.ones, 60) && song.Tick(3*h.bars)*h.bar <= h.span:
		return key(song.RoleCrash, 20, "once in a while, on the first beat")
	case 2*h.onsets >= 3*h.bars && h.share(h.beats, 60) && 2*h.ones >= h.bars:
		return key(song.RoleKick, 40, "on the beats, the first one too")
	case high:
		return key(song.RolePerc, 15, "here and there")
	}
	return nil
}

// register tells where a part lies among the pitched parts.
type register struct {
	lowest bool // no pitched part is lower
	alone  bool // no other may be the bass
	above  bool // it is another that is the bass: it lies an octave below, or plays twice as much, or moves while this one holds
}

// pitched tells pitched parts by register, polyphony, length and density.
func (h habits) pitched(r register) []Evidence {
	short := h.length2 <= h.beat // half a beat or less
	some := func(role song.Role, w1 int, t1 string, w2 int, t2 string) []Evidence {
		return []Evidence{{role, w1, t1}, {role, w2, t2}}
	}
	switch {
	case h.sparse():
		return []Evidence{{song.RoleUnknown, 0, "too few notes to tell by"}}
	case !r.above && (h.low() || h.lowEnough() && r.lowest):
		e := some(song.RoleBass, 45, fmt.Sprintf("low (median key %d)", h.median), 25, "one note at a time")
		if r.lowest {
			e = append(e, Evidence{song.RoleBass, 20, "nothing pitched is lower"})
		}
		return e
	case h.line() && h.median <= lowE && r.lowest && r.alone && 4*(h.triads+h.clashes) <= h.onsets:
		return some(song.RoleBass, 45, fmt.Sprintf("low (median key %d)", h.median), 20, "nothing pitched is lower")
	case r.above && h.low() && !h.held():
		return []Evidence{{song.RoleUnknown, 0, fmt.Sprintf("low (median key %d), but another is the bass", h.median)}}
	case h.keys <= 2 && h.held():
		return some(song.RoleDrone, 30, "one or two keys", 30, "held two bars or longer")
	case h.notes < 3 && h.length2 < 2*h.bar:
		return []Evidence{{song.RoleUnknown, 0, "too few notes to tell by"}}
	case 2*h.chords >= h.onsets && h.length2 >= 4*h.beat:
		return some(song.RolePad, 30, "chords", 45, "long notes")
	case 2*h.chords >= h.onsets && short:
		return some(song.RoleStab, 30, "chords", 30, "short notes")
	case 2*h.chords >= h.onsets:
		return some(song.RoleChords, 30, "chords", 30, "neither short nor long")
	case h.single() && h.perBar(8) && h.keys >= 3:
		return some(song.RoleArp, 25, "one note at a time", 25, "eight a bar or more")
	case h.single():
		return []Evidence{{song.RoleLead, 40, "one note at a time"}}
	}
	return []Evidence{{song.RoleUnknown, 0, "now one note, now chords"}}
}

// Registers of a bass: at lowE, the lowest open string of a guitar in standard tuning (E2), or below,
// by itself; up to lowEnough (the E above middle C's octave below) where nothing plays lower.
const (
	lowE      = 40
	lowEnough = 52
	middleC   = 60
)

// single tells whether it plays one note at a time: chords in a tenth of the onsets at most.
func (h habits) single() bool { return h.chords*10 <= h.onsets }

// low tells whether it is as low as a bass: a line of three octaves at most, around lowE or lower, with
// chords in a quarter of the onsets at most.
func (h habits) low() bool { return h.line() && h.median <= lowE && h.chords*4 <= h.onsets }

// lowEnough tells whether it may be the bass if nothing is lower.
func (h habits) lowEnough() bool { return h.line() && h.median <= lowEnough && h.single() }

func (h habits) line() bool { return h.top-h.bottom <= 36 }

// held tells whether its notes last two bars or longer.
func (h habits) held() bool { return h.length2 >= 4*h.bar }

// sparse tells whether it hardly plays: an onset in two bars or fewer, and sound in less than a quarter
// of the time.
func (h habits) sparse() bool {
	return 2*song.Tick(h.onsets)*h.bar < h.span && 2*song.Tick(h.onsets)*h.length2 < h.span
}

// share tells whether so many of the onsets are at least that share of them, in percent.
func (h habits) share(onsets, percent int) bool { return 100*onsets >= percent*h.onsets }

// lower tells whether the mean key of h is lower than other's, by more than so many quarter tones.
func (h habits) lower(other habits, by int) bool {
	return (2*h.sum+by*h.notes)*other.notes < 2*other.sum*h.notes
}

// compareKeys compares mean keys.
func (h habits) compareKeys(other habits) int {
	return cmp.Compare(h.sum*other.notes, other.sum*h.notes)
}

// perBar tells whether there are n onsets a bar or more.
func (h habits) perBar(n int) bool {
	return h.bar > 0 && song.Tick(h.onsets)*h.bar >= song.Tick(n)*h.span
}

// busier tells whether h has more onsets a bar than other.
func (h habits) busier(other habits) bool {
	return song.Tick(h.onsets)*other.span > song.Tick(other.onsets)*h.span
}

// twiceAs tells whether h has more than twice the onsets a bar of other.
func (h habits) twiceAs(other habits) bool {
	return song.Tick(h.onsets)*other.span > 2*song.Tick(other.onsets)*h.span
}
