package listen

import (
	"fmt"
	"slices"
	"strconv"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// skeleton finds the beat where the kick does not carry it: where, in the bars it plays in, the kick
// falls on fewer than three quarters of the beats, the skeleton of the break (kick on 1 and the main
// snares) is the beat, the rest of the kick's and the snare's notes is backbeat. A kit's snare that would go
// into the skeleton as a whole is the backbeat instead, and its kick the beat: a kit does not lose its snare.
func (h *hearing) skeleton() {
	kicks, snares := h.open(song.RoleKick), h.open(song.RoleSnare)
	if len(snares) == 0 {
		snares = h.open(song.RoleClap) // where no snare is, the clap is the main one
	}
	if h.time == nil || len(kicks) == 0 {
		return
	}
	if h.beatGiven(append(slices.Clone(kicks), snares...)) {
		return
	}
	falls, beats := h.beatsOf(kicks)
	if beats == 0 || 4*falls >= 3*beats {
		return
	}
	main := h.mainBeats(snares)
	places := []place{{1, 1}}
	for _, b := range main {
		places = append(places, place{1, b})
	}
	why := fmt.Sprintf("the kick falls on %d of %d beats", falls, beats)
	h.takeSkeleton(kicks, snares, places, why)
}

// open returns the voices of a role whose job and places no recipe gave.
func (h *hearing) open(role song.Role) []*voice {
	var out []*voice
	for _, v := range h.voices {
		if v.Role == role && !v.jobGiven && !v.whole && len(v.at) == 0 {
			out = append(out, v)
		}
	}
	return out
}

// beatGiven tells whether a recipe says what the beat is. Where it took places out of a kit, what it
// left of the kit's kick and snare is backbeat.
func (h *hearing) beatGiven(rest []*voice) bool {
	found := false
	for _, g := range h.voices {
		if !g.jobGiven || g.Job != song.JobBeat {
			continue
		}
		found = true
		for _, v := range rest {
			if len(g.at) > 0 && v.Track == g.Track && v.Channel == g.Channel {
				v.Job, v.jobFixed = song.JobBackbeat, true
			}
		}
	}
	return found
}

// beatsOf counts the beats that kicks fall on, and all beats of the bars they play in. An onset falls on a beat
// that is less than a 1/32 note away.
func (h *hearing) beatsOf(kicks []*voice) (falls, beats int) {
	type fall struct{ bar, beat int }
	var on []fall
	var bars []int
	for _, v := range kicks {
		for _, n := range v.Notes {
			bar, beat, ok := beatNear(h.time, n.Start, v.cycle)
			if ok {
				on = append(on, fall{bar, beat})
			} else {
				bar = h.time.BarOf(n.Start)
			}
			bars = append(bars, bar)
		}
	}
	slices.SortFunc(on, func(a, b fall) int {
		if a.bar != b.bar {
			return a.bar - b.bar
		}
		return a.beat - b.beat
	})
	slices.Sort(bars)
	for _, bar := range slices.Compact(bars) {
		beats += h.time.MetreIn(bar).Num
	}
	return len(slices.Compact(on)), beats
}

// mainBeats returns the beats, not the first, that a snare hits in half of its bars or more, at half
// the velocity of its loudest hit or more: ghost notes are no main snares.
func (h *hearing) mainBeats(snares []*voice) []int {
	loudest := 0
	for _, v := range snares {
		for _, n := range v.Notes {
			loudest = max(loudest, int(n.Vel))
		}
	}
	var hits [256][]int // bars, by beat
	var bars []int
	for _, v := range snares {
		for _, n := range v.Notes {
			bar, beat, ok := beatNear(h.time, n.Start, v.cycle)
			if ok && beat > 1 && beat < len(hits) && 2*int(n.Vel) >= loudest {
				hits[beat] = append(hits[beat], bar)
			}
			bars = append(bars, h.time.BarOf(n.Start))
		}
	}
	slices.Sort(bars)
	total := len(slices.Compact(bars))
	var out []int
	for beat := range hits {
		slices.Sort(hits[beat])
		if n := len(slices.Compact(hits[beat])); n > 0 && 2*n >= total {
			out = append(out, beat)
		}
	}
	return out
}

// takeSkeleton moves the notes at the places out of kick and snare voices. A kit's kick and snare
// that share a track and channel give one skeleton; on tracks of their own the kick gives its ones
// and the snare its main hits. Voices all of whose notes are at the places stay as they are and are
// the beat. Where nothing stands at the places, nothing changes.
func (h *hearing) takeSkeleton(kicks, snares []*voice, places []place, why string) {
	groups := shared(kicks, snares)
	halves := make([]parted, len(groups))
	found := false
	for i, group := range groups {
		halves[i] = h.part(group, places)
		found = found || halves[i].taken > 0 && !halves[i].snareless
	}
	if !found {
		return
	}
	for i, group := range groups {
		if halves[i].snareless {
			continue
		}
		for _, v := range group {
			v.jobFixed, v.Job = true, song.JobBackbeat
			if halves[i].left == 0 {
				v.Job = song.JobBeat
			}
			v.note(song.RoleUnknown, 0, why)
		}
		if halves[i].taken > 0 && halves[i].left > 0 {
			h.voices = append(h.voices, skeletonOf(group, halves[i], why))
		}
	}
	h.voices = slices.DeleteFunc(h.voices, func(v *voice) bool { return len(v.Notes) == 0 })
}

// parted are the notes of a group of voices, those at the places of the skeleton and the others apart.
type parted struct {
	at          []place
	notes, rest [][]song.Note // by voice
	taken, left int
	snareless   bool // a kit, and no note of its snare is left
}

func (h *hearing) part(group []*voice, places []place) parted {
	kicks := 0
	for _, v := range group {
		if v.Role == song.RoleKick {
			kicks++
		}
	}
	b := parted{at: places}
	switch kicks {
	case 0:
		b.at = places[1:]
	case len(group):
		b.at = places[:1]
	}
	snares := 0
	for _, v := range group {
		var notes, rest []song.Note
		for _, n := range v.Notes {
			if standsAt(h.time, n.Start, b.at, 1, v.cycle) {
				notes = append(notes, n)
			} else {
				rest = append(rest, n)
			}
		}
		b.notes, b.rest = append(b.notes, notes), append(b.rest, rest)
		b.taken += len(notes)
		b.left += len(rest)
		if v.Role != song.RoleKick {
			snares += len(rest)
		}
	}
	b.snareless = kicks > 0 && kicks < len(group) && snares == 0
	return b
}

// skeletonOf makes a voice of the notes at the places and leaves the group's voices the rest.
func skeletonOf(group []*voice, b parted, why string) *voice {
	s := &voice{Part: group[0].Part, cycle: group[0].cycle, confidence: 70, jobFixed: true, base: "skeleton"}
	s.Notes, s.Job, s.Keys = nil, song.JobBeat, song.Keys{}
	s.note(song.RoleUnknown, 0, why+", so this is the skeleton of the break")
	keys, all := song.Keys{}, false
	for i, v := range group {
		s.Notes = append(s.Notes, b.notes[i]...)
		s.from = append(s.from, v.from...)
		keys[0], keys[1], all = keys[0]|v.Keys[0], keys[1]|v.Keys[1], all || v.Keys.All()
		v.Notes = b.rest[i]
		if _, plain := song.RoleWord(v.base); (v.base == "" || plain) && !v.nameGiven {
			v.base = "break-" + string(v.Role)
		}
	}
	if !all {
		s.Keys = keys
	}
	slices.SortStableFunc(s.Notes, song.CompareNotes)
	for _, p := range b.at {
		s.at = append(s.at, p.String())
	}
	return s
}

// shared groups voices by track and channel, in the order they come in.
func shared(kicks, snares []*voice) [][]*voice {
	var out [][]*voice
	for _, v := range append(slices.Clone(kicks), snares...) {
		i := slices.IndexFunc(out, func(g []*voice) bool {
			return g[0].Track == v.Track && g[0].Channel == v.Channel
		})
		if i < 0 {
			out = append(out, nil)
			i = len(out) - 1
		}
		out[i] = append(out[i], v)
	}
	return out
}

// place is a beat of a pattern of bars, both from 1.
type place struct{ bar, beat int }

// String returns the place as a recipe writes it, such as "1.3".
func (p place) String() string { return strconv.Itoa(p.bar) + "." + strconv.Itoa(p.beat) }

// standsAt tells whether an onset is less than a 1/32 note from one of the places of a pattern of so
// many bars, which repeats from bar 1 on; at the end of the cycle, in ticks, its start comes again.
func standsAt(tl *smf.Timeline, t song.Tick, places []place, bars int, cycle song.Tick) bool {
	bar, beat, ok := beatNear(tl, t, cycle)
	return ok && slices.Contains(places, place{(bar-1)%bars + 1, beat})
}
