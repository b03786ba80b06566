package listen

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/song"
)

// split makes voices of the raw parts: a kit becomes a voice for each of its sounds, anything else
// stays whole. Every voice gets a role with its evidence.
func (h *hearing) split() {
	alone := make([]int, len(h.song.Tracks)) // raw parts a track has
	for i := range h.song.Parts {
		alone[h.song.Parts[i].Track]++
	}
	for i := range h.song.Parts {
		p := h.song.Parts[i]
		title := h.title(p, alone[p.Track] == 1)
		says := nameSays(title)
		v := &voice{Part: p, title: title, cycle: h.cycleOf(p.Track)}
		v.Role, v.Job, v.Name = song.Unknown, song.NoJob, ""
		switch {
		case says.role == song.Trigger, says.role != song.Unknown && !says.role.Drum() && !says.kit:
			h.voices = append(h.voices, h.heardWhole(v, says))
		case h.isKit(p, says):
			h.voices = append(h.voices, h.splitKit(v, says)...)
		default:
			h.voices = append(h.voices, h.heardWhole(v, says))
		}
	}
}

// isKit tells whether a raw part is a kit laid out by the General MIDI percussion map and is to be
// split by it: on channel 10, or elsewhere where its name or its playing says so.
func (h *hearing) isKit(p song.Part, says saying) bool {
	if !p.Keys.All() || h.isSliced(p, says) {
		return false
	}
	keys := keysUsed(p.Notes)
	switch {
	case p.Channel == percussionChannel:
		return true
	case says.kit:
		return laidOutAsKit(keys)
	case says.role == song.Hat || says.role == song.OpenHat:
		return len(keys) > 1 && !slices.ContainsFunc(keys, func(k uint8) bool { return k != 42 && k != 44 && k != 46 })
	case says.role == song.Unknown:
		return h.playsLikeKit(p, keys)
	}
	return false
}

// laidOutAsKit tells whether all keys are in the percussion map, of two roles or more, a kick, snare
// or hat among them.
func laidOutAsKit(keys []uint8) bool {
	var first song.Role
	several, core := false, false
	for _, k := range keys {
		role, ok := percussionRole(k)
		if !ok {
			return false
		}
		core = core || role == song.Kick || role == song.Snare || role == song.Hat
		several = several || first != "" && role != first
		if first == "" {
			first = role
		}
	}
	return several && core
}

// playsLikeKit tells whether a part without a word of its own plays as a kit does: kick, snare or
// clap, and hat keys, hats struck together with the others, four of five keys at 64 or below, short
// notes, and no program. A bass on the same keys plays one at a time.
func (h *hearing) playsLikeKit(p song.Part, keys []uint8) bool {
	if h.time == nil || !laidOutAsKit(keys) {
		return false
	}
	if _, ok := h.program(p); ok {
		return false
	}
	var low, together int
	var kick, back, hat bool
	for i, n := range p.Notes {
		role, _ := percussionRole(n.Key)
		kick = kick || role == song.Kick
		back = back || role == song.Snare || role == song.Clap
		hat = hat || role == song.Hat || role == song.OpenHat
		if n.Key <= 64 {
			low++
		}
		if i > 0 && sameOnset(p.Notes[i-1].Start, n.Start, h.time) {
			together++
		}
	}
	return kick && back && hat && together > 0 && 5*low >= 4*len(p.Notes) && median2(p.Notes) <= h.time.PPQ()
}

// isSliced tells whether a part is a break cut in slices: its name speaks of a break and six keys or
// more play one at a time, or eight keys or more climb by a semitone from slice to slice.
func (h *hearing) isSliced(p song.Part, says saying) bool {
	if says.role != song.Unknown || len(p.Notes) < 6 {
		return false
	}
	keys := keysUsed(p.Notes)
	climbs := 0
	for i := 1; i < len(p.Notes); i++ {
		a, b := p.Notes[i-1], p.Notes[i]
		if sameOnset(a.Start, b.Start, h.time) {
			return false
		}
		if b.Key == a.Key+1 || b.Key == keys[0] && a.Key == keys[len(keys)-1] {
			climbs++
		}
	}
	return says.ofBreak && len(keys) >= 6 || len(keys) >= 8 && 4*climbs >= 3*(len(p.Notes)-1)
}

// splitKit makes a voice of each role's keys in a kit. Where all keys are of one role, or none is
// of the role that the track's name says, the name may know better.
func (h *hearing) splitKit(v *voice, says saying) []*voice {
	var counts [kitSounds]int
	sounds, named := 0, false
	sound := kitTable()
	for _, n := range v.Notes {
		i := sound[n.Key&127]
		if counts[i]++; counts[i] == 1 {
			sounds++
			named = named || song.Roles()[i] == says.role
		}
	}
	if sounds == 1 {
		return []*voice{h.heardSingle(v, says, song.Roles()[sound[v.Notes[0].Key&127]])}
	}
	if says.role != song.Unknown && !named {
		return []*voice{h.heardWhole(v, says)}
	}
	all := make([]song.Note, len(v.Notes))
	var groups [kitSounds][]song.Note
	at := 0
	for i, n := range counts {
		groups[i] = all[at : at : at+n]
		at += n
	}
	for _, n := range v.Notes {
		i := sound[n.Key&127]
		groups[i] = append(groups[i], n)
	}
	var out []*voice
	for i, notes := range groups {
		if len(notes) == 0 {
			continue
		}
		w := *v
		w.Notes, w.title, w.Role = notes, "", song.Roles()[i]
		w.Keys = song.KeySet(keysUsed(notes)...)
		w.keyEvidence()
		out = append(out, &w)
	}
	return out
}

// kitSounds is the number of roles a key of a kit may have: the first of the roles, kick to perc.
const kitSounds = 11

// kitTable returns the index of each key's role among the roles. A key outside the percussion map is
// percussion.
func kitTable() (table [128]uint8) {
	for key := range table {
		role, _ := percussionRole(uint8(key))
		table[key] = uint8(slices.Index(song.Roles(), role))
	}
	return table
}

// keyEvidence notes what the percussion map says of a voice's keys.
func (v *voice) keyEvidence() {
	keys := keysUsed(v.Notes)
	var names []string
	known := false
	for _, k := range keys {
		name := percussionName(k)
		if known = known || name != ""; name == "" {
			name = "none of the map"
		}
		names = append(names, fmt.Sprintf("%d, %s", k, name))
	}
	word := "GM key "
	if len(keys) > 1 {
		word = "GM keys "
	}
	v.evidence = append(v.evidence, word+strings.Join(names, "; "))
	if v.confidence = 90; !known {
		v.confidence = 30
	}
	if v.Channel != percussionChannel {
		v.confidence = min(v.confidence, 80)
	}
	if (v.Role == song.PercR) && v.base == "" {
		v.base = percussionInstrument(keys)
	}
}

// heardSingle gives a voice whose keys are all of one percussion role that role, unless its name says
// another.
func (h *hearing) heardSingle(v *voice, says saying, role song.Role) *voice {
	v.Role = role
	if says.role != song.Unknown {
		v.nameEvidence(says)
		if says.role == role {
			v.keyEvidence()
			v.confidence = 99
		}
		v.base = nameBase(v.title)
		return v
	}
	if !says.kit && !says.generic {
		v.base = nameBase(v.title)
	}
	v.keyEvidence()
	return v
}

func (v *voice) nameEvidence(says saying) {
	v.Role, v.confidence = says.role, 95
	v.evidence = append(v.evidence, "track name "+quoted(v.title)+" says "+string(says.role))
}

// quoted quotes a name, shortened if it is long.
func quoted(name string) string {
	r := []rune(name)
	if len(r) > 40 {
		r = append(r[:37], '.', '.', '.')
	}
	return strconv.Quote(string(r))
}

// heardWhole gives a voice that is not split its role: by its name, else its program, else its
// behaviour.
func (h *hearing) heardWhole(v *voice, says saying) *voice {
	if !says.generic {
		v.base = nameBase(v.title)
	}
	if says.role != song.Unknown {
		v.nameEvidence(says)
		return v
	}
	if h.isSliced(v.Part, says) {
		v.Role, v.whole, v.confidence = song.Unknown, true, 70
		v.evidence = append(v.evidence, "a break in slices, one at a time")
		if v.base == "" {
			v.base = "break"
		}
		return v
	}
	if says.kit {
		v.whole, v.confidence = true, 60
		v.evidence = append(v.evidence, "track name "+quoted(v.title)+" says a kit, its keys are not the GM map's")
		return v
	}
	habits := measure(v.Notes, v.cycle, h.time)
	role, why, confidence := habits.role(says.pitched)
	if program, ok := h.program(v.Part); ok {
		if by, family := programRole(program); by != song.Unknown {
			role, why, confidence = by, fmt.Sprintf("GM program %d, %s", int(program)+1, family), 80
		}
	}
	v.Role, v.confidence = role, confidence
	if why != "" {
		v.evidence = append(v.evidence, why)
	}
	return v
}

// program returns the last program that the part's track sends its channel at or before the part's
// first note; false if there is none. A program is no sound of the map on channel 10.
func (h *hearing) program(p song.Part) (program uint8, ok bool) {
	if p.Channel == percussionChannel || len(p.Notes) == 0 {
		return 0, false
	}
	for _, e := range h.song.Tracks[p.Track].Events {
		if e.Tick > p.Notes[0].Start {
			break
		}
		if e.Kind() == 0xC0 && e.Chan() == p.Channel {
			program, ok = e.Data1(), true
		}
	}
	return program, ok
}

// title returns the name that is a part's own: its track's, if the part is the only one there, else
// the last instrument name (FF 04) that a channel prefix (FF 20) gives its channel.
func (h *hearing) title(p song.Part, alone bool) string {
	t := h.song.Tracks[p.Track]
	if alone && t.Name != "" {
		return t.Name
	}
	name, prefix := "", -1
	for _, e := range t.Events {
		kind, meta := e.MetaType()
		switch {
		case e.IsChannel():
			prefix = -1 // a prefix holds until the next channel event (RP-001 p. 9)
		case !meta:
		case kind == 0x20:
			if b := t.Long(e); len(b) == 1 {
				prefix = int(b[0])
			}
		case kind == 0x04 && (prefix == int(p.Channel) || prefix < 0 && alone):
			name = strings.Trim(string(t.Long(e)), " \x00\t\r\n")
		}
	}
	return name
}
