package listen

import (
	"slices"
	"strings"

	"loopdraft/smf/song"
)

// kitlike is how much a part plays as a kit does, and why.
type kitlike struct {
	points int
	why    []string
}

// A part with clearKit points plays as a kit. In a loop without any such part unclearKit points are enough.
const (
	clearKit   = 4
	unclearKit = 3
)

// String returns the reasons in words.
func (k kitlike) String() string { return "plays as a kit: " + strings.Join(k.why, ", ") }

// score adds a point for each of the limits that n of so many reach, in percent.
func (k *kitlike) score(n, of int, why string, limits ...int) {
	before := k.points
	for _, limit := range limits {
		if of > 0 && 100*n >= limit*of {
			k.points++
		}
	}
	if k.points > before {
		k.why = append(k.why, why)
	}
}

// playsLikeKit tells how much a part without a word or program of its own plays as a kit does. Notes of
// a kit are no longer than two beats, and all but one in twenty are in the percussion map.
//
// For a kit speak that most keys are those of kick, snare, hats and cymbals, that the same keys come at the
// same places from bar to bar, that keys struck together clash as few chords do, that kick, snare and cymbals are
// all there, that the snare falls on even beats or on the third (half time), and then that the kick falls on odd
// ones. Against a kit speak that no keys are struck together, as in a bass (less so with a backbeat, or where the
// keys lie an octave and a fifth apart, and least where most are cymbals: a hat plays alone), that most onsets are
// bare fifths, as of a guitar, and chords of three pitches. The limits are common practice, no source.
func (h *hearing) playsLikeKit(p song.Part) kitlike {
	var k kitlike
	keys, outside := keysInMap(p.Notes)
	if h.time == nil || 20*outside > len(p.Notes) || !laidOutAsKit(keys) {
		return k
	}
	if program, ok := h.program(p); ok {
		if role, _ := programRole(program); role != song.RoleUnknown {
			return k
		}
	}
	cycle := h.cycleOf(p.Track)
	m := measure(p.Notes, cycle, h.time)
	if m.length2 > 4*h.time.PPQ() {
		return k
	}
	hits := h.kitHits(p.Notes, cycle)
	k.score(hits.kicks+hits.snares+hits.cymbals, len(p.Notes), "keys of kick, snare and hats", 60, 80, 95)
	k.score(m.again, m.either, "the same keys at the same places of each bar", 40, 60)
	k.score(m.clashes, m.onsets, "keys together that make no chord", 10, 30)
	k.score(min(hits.kicks, hits.snares, hits.cymbals), len(p.Notes), "kick, snare and cymbals all there", 5)
	backbeat := false
	if hits.snares >= 2 {
		before := k.points
		if hits.third > hits.even {
			k.score(hits.third, hits.snares, "snare on the third beats", 75)
		} else {
			k.score(hits.even, hits.snares, "snare on even beats", 75)
		}
		if backbeat = k.points > before; backbeat && hits.kicks >= 2 {
			k.score(hits.odd, hits.kicks, "kick on odd beats", 75)
		}
	}
	single := m.single()
	switch cymbals := 5*hits.cymbals >= 3*len(p.Notes); {
	case single && cymbals:
		k.points--
	case single && (backbeat || m.top-m.bottom >= 19):
		k.points -= 2
	case single:
		k.points -= 3
	case 2*m.fifths >= m.onsets:
		k.points -= 3
	}
	if 5*m.triads >= m.onsets {
		k.points--
	}
	return k
}

// keysInMap returns the keys of notes that are in the percussion map, and how many notes are outside it.
func keysInMap(notes []song.Note) (keys []uint8, outside int) {
	for _, n := range notes {
		if _, ok := PercussionRole(n.Key); !ok {
			outside++
		}
	}
	return slices.DeleteFunc(song.KeysUsed(notes), func(k uint8) bool { _, ok := PercussionRole(k); return !ok }), outside
}

// kitHits counts hits of a kit.
type kitHits struct {
	kicks, snares, cymbals int
	odd, even, third       int // kicks on odd beats, snares on even ones and on the third
}

func (h *hearing) kitHits(notes []song.Note, cycle song.Tick) kitHits {
	var hits kitHits
	for _, n := range notes {
		_, beat, on := beatNear(h.time, n.Start, cycle)
		switch role, _ := PercussionRole(n.Key); role {
		case song.RoleKick:
			hits.kicks++
			if on && beat%2 == 1 {
				hits.odd++
			}
		case song.RoleSnare, song.RoleClap, song.RoleRim:
			hits.snares++
			switch {
			case on && beat%2 == 0:
				hits.even++
			case on && beat == 3:
				hits.third++
			}
		case song.RoleHat, song.RoleOpenHat, song.RoleCrash, song.RoleRide:
			hits.cymbals++
		}
	}
	return hits
}
