package listen

import (
	"fmt"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// habits are measures of how a voice plays. Onsets less than a 1/64 note apart are one chord.
type habits struct {
	notes   int
	onsets  int       // chords count once
	chords  int       // onsets of two notes or more
	keys    int       // distinct keys
	median  uint8     // median key
	length2 song.Tick // twice the median length of its notes, so that it is a whole number
	beats   int       // onsets on a beat
	backs   int       // onsets on an even beat: 2 and 4 of four
	offs    int       // onsets in the middle of a beat
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
	first, size := song.Tick(0), 0 // the chord being heard
	for _, n := range notes {
		counts[n.Key&127]++
		if size > 0 && sameOnset(first, n.Start, tl) {
			if size++; size == 2 {
				h.chords++
			}
			continue
		}
		first, size = n.Start, 1
		h.onsets++
		if tl == nil {
			continue
		}
		if _, beat, on := beatNear(tl, n.Start, span); on {
			h.beats++
			if beat%2 == 0 {
				h.backs++
			}
		} else if p := tl.Locate(n.Start); nearly(2*p.Tick, h.beat, tl) {
			h.offs++
		}
	}
	h.keyFigures(&counts)
	h.length2 = median2(notes)
	return h
}

func (h *habits) keyFigures(counts *[128]int) {
	seen := 0
	for key, n := range counts {
		if n == 0 {
			continue
		}
		h.keys++
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

// role guesses a role from behaviour alone, with the evidence in words and a confidence in
// percent; pitched: its name says that it is no drum. The thresholds are common practice, no source.
func (h habits) role(pitched bool) (song.Role, string, int) {
	if h.onsets == 0 || h.beat == 0 {
		return song.Unknown, "", 0
	}
	short := h.length2 <= h.beat // half a beat or less
	if h.keys == 1 && short && !pitched {
		switch {
		case h.beats*10 >= h.onsets*9 && h.perBar(2) && h.backs == h.beats:
			return song.Snare, "one short key, on even beats only", 50
		case h.beats*10 >= h.onsets*9 && h.perBar(2):
			return song.Kick, "one short key, on the beats", 60
		case h.median >= 48 && h.offs*10 >= h.onsets*9:
			return song.OpenHat, "one short key, between the beats", 50
		case h.median >= 48 && h.perBar(7):
			return song.Hat, "one short key, seven times a bar or more", 50
		case h.median >= 48:
			return song.PercR, "one short key", 40
		}
	}
	single := h.chords*10 <= h.onsets
	switch {
	case h.median <= 50 && single:
		return song.BassR, fmt.Sprintf("low (median key %d), one note at a time", h.median), 60
	case h.keys <= 2 && h.length2 >= 4*h.bar:
		return song.Drone, "one or two keys, held two bars or longer", 50
	case 2*h.chords >= h.onsets && h.length2 >= 4*h.beat:
		return song.Pad, "chords, long notes", 60
	case 2*h.chords >= h.onsets && short:
		return song.Stab, "chords, short notes", 50
	case 2*h.chords >= h.onsets:
		return song.Chords, "chords", 50
	case single && h.perBar(8) && h.keys >= 3:
		return song.Arp, "one note at a time, eight a bar or more", 40
	case single:
		return song.Lead, "one note at a time", 40
	}
	return song.Unknown, "", 0
}

// perBar tells whether there are n onsets a bar or more.
func (h habits) perBar(n int) bool {
	return h.bar > 0 && song.Tick(h.onsets)*h.bar >= song.Tick(n)*h.span
}

// busier tells whether h has more onsets a bar than other.
func (h habits) busier(other habits) bool {
	return song.Tick(h.onsets)*other.span > song.Tick(other.onsets)*h.span
}
