package listen

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/song"
)

// rawPart is a raw part before it is given a role.
type rawPart struct {
	*voice
	says   saying
	kit    bool    // to be split by the percussion map
	drums  kitlike // how much it plays as a kit, where nothing else says that it is one
	plays  string  // how, where that made it one
	habits habits  // where it is no kit
}

// split makes voices of the raw parts: a kit becomes a voice for each of its sounds, anything else
// stays whole. Every voice gets a role with its evidence.
func (h *hearing) split() {
	alone := make([]int, len(h.song.Tracks)) // raw parts a track has
	for i := range h.song.Parts {
		alone[h.song.Parts[i].Track]++
	}
	raw := make([]rawPart, len(h.song.Parts))
	for i := range h.song.Parts {
		raw[i] = h.rawPart(h.song.Parts[i], alone[h.song.Parts[i].Track] == 1)
	}
	h.guessKits(raw)
	h.shareInstruments(raw)
	h.findLowest(raw)
	for _, r := range raw {
		if r.kit {
			h.voices = append(h.voices, h.splitKit(r)...)
		} else {
			h.voices = append(h.voices, h.heardWhole(r))
		}
	}
	h.triggers()
}

// findLowest finds the lowest of the pitched raw parts, and of those that may be the bass the lowest and the
// busiest.
func (h *hearing) findLowest(raw []rawPart) {
	for i := range raw {
		if r := &raw[i]; h.pitched(r) && (h.lowest == nil || r.habits.lower(*h.lowest, 0)) {
			h.lowest = &r.habits
		}
	}
	for i := range raw {
		if r := &raw[i]; h.mayBeBass(r) && (h.ground == nil || r.habits.lower(*h.ground, 0)) {
			h.ground = &r.habits
		}
	}
	for i := range raw {
		if r := &raw[i]; h.mayBeBass(r) && !h.ground.lower(r.habits, octave) && (h.busiest == nil || r.habits.busier(*h.busiest)) {
			h.busiest = &r.habits
		}
	}
}

// mayBeBass tells whether a raw part is as low as a bass, does more than hardly play, and moves.
func (h *hearing) mayBeBass(r *rawPart) bool {
	return h.pitched(r) && r.habits.low() && !r.habits.sparse() && !r.habits.held()
}

// registerOf tells where a raw part lies.
func (h *hearing) registerOf(r *rawPart) register {
	if !h.pitched(r) {
		return register{}
	}
	out := register{lowest: !h.lowest.lower(r.habits, 1), alone: h.ground == nil}
	if h.ground != nil {
		out.above = h.ground.lower(r.habits, octave) || r.habits.held() || h.busiest.twiceAs(r.habits)
	}
	return out
}

// octave is the distance in quarter tones above the bass, of mean keys, from which on a part is another
// voice: an octave, less what single notes may shift the mean.
const octave = 23

func (h *hearing) rawPart(p song.Part, alone bool) rawPart {
	title := h.title(p, alone)
	r := rawPart{voice: &voice{Part: p, title: title, cycle: h.cycleOf(p.Track)}, says: nameSays(title)}
	r.Role, r.Job, r.Name = song.RoleUnknown, song.NoJob, ""
	role := r.says.role
	if role != song.RoleTrigger && (role == song.RoleUnknown || role.Drum() || r.says.kit) {
		r.kit, r.drums = h.isKit(p, r.says)
	}
	return r
}

// guessKits makes kits of the raw parts that play as one, and measures what is none. One kit is what
// most loops have, so where there is one, or a part that clearly plays as one, others must do so as
// clearly.
func (h *hearing) guessKits(raw []rawPart) {
	enough := unclearKit
	for _, r := range raw {
		if r.kit || r.drums.points >= clearKit {
			enough = clearKit
		}
	}
	for i := range raw {
		r := &raw[i]
		if !r.kit && r.drums.points >= enough {
			r.kit, r.plays = true, r.drums.String()
		}
		if !r.kit {
			r.habits = measure(r.Notes, r.cycle, h.time)
			continue
		}
		for _, key := range song.KeysUsed(r.Notes) {
			if role, ok := PercussionRole(key); ok && !slices.Contains(h.kits, role.Job()) {
				h.kits = append(h.kits, role.Job())
			}
		}
	}
}

// pitched tells whether a raw part may well have pitches: it is no kit, and neither its name nor its
// playing makes it a drum.
func (h *hearing) pitched(r *rawPart) bool {
	role := r.says.role
	if role == song.RoleUnknown {
		return !r.kit && !r.says.kit && (r.says.pitched || r.habits.struck(h.kits) == nil)
	}
	return !r.kit && !role.Drum() && role != song.RoleTrigger && role != song.RoleFX && role != song.RoleVocal
}

// isKit tells whether a raw part is a kit laid out by the General MIDI percussion map and is to be
// split by it: on channel 10, or elsewhere where its name says so; else how much it plays as one.
func (h *hearing) isKit(p song.Part, says saying) (kit bool, plays kitlike) {
	if !p.Keys.All() || h.isSliced(p, says) {
		return false, kitlike{}
	}
	keys := song.KeysUsed(p.Notes)
	switch {
	case p.Channel == PercussionChannel:
		return true, kitlike{}
	case says.kit:
		return laidOutAsKit(keys), kitlike{}
	case says.role == song.RoleHat || says.role == song.RoleOpenHat:
		return len(keys) > 1 && !slices.ContainsFunc(keys, func(k uint8) bool { return k != 42 && k != 44 && k != 46 }), kitlike{}
	case says.role == song.RoleUnknown && !says.pitched:
		return false, h.playsLikeKit(p)
	}
	return false, kitlike{}
}

// laidOutAsKit tells whether all keys are in the percussion map, of two roles or more, a kick, snare
// or hat among them.
func laidOutAsKit(keys []uint8) bool {
	var first song.Role
	several, core := false, false
	for _, k := range keys {
		role, ok := PercussionRole(k)
		if !ok {
			return false
		}
		core = core || role == song.RoleKick || role == song.RoleSnare || role == song.RoleHat
		several = several || first != "" && role != first
		if first == "" {
			first = role
		}
	}
	return several && core
}

// isSliced tells whether a part is a break cut in slices: its name speaks of a break and six keys or
// more play one at a time, or eight keys or more climb by a semitone from slice to slice.
func (h *hearing) isSliced(p song.Part, says saying) bool {
	if says.role != song.RoleUnknown || len(p.Notes) < 6 {
		return false
	}
	keys := song.KeysUsed(p.Notes)
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
// of the role that the track's name says, the name may know better; but a kit is often named percussion.
func (h *hearing) splitKit(r rawPart) []*voice {
	v, says := r.voice, r.says
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
	if says.role != song.RoleUnknown && !named && !(says.role == song.RolePerc && laidOutAsKit(song.KeysUsed(v.Notes))) {
		r.habits = measure(v.Notes, v.cycle, h.time)
		return []*voice{h.heardWhole(r)}
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
		w.Keys = song.KeySet(song.KeysUsed(notes)...)
		if r.plays == "" {
			w.keyEvidence(w.Role, keyWeight)
		} else {
			w.keyEvidence(w.Role, guessedWeight)
			w.note(song.RoleUnknown, 0, r.plays)
		}
		w.decide()
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
		role, _ := PercussionRole(uint8(key))
		table[key] = uint8(slices.Index(song.Roles(), role))
	}
	return table
}

// keyEvidence notes what the percussion map says of a voice's keys, all of one role; weight: on channel 10.
func (v *voice) keyEvidence(role song.Role, weight int) {
	keys := song.KeysUsed(v.Notes)
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
	switch {
	case !known:
		weight = outsideWeight
	case v.Channel != PercussionChannel:
		weight = min(weight, elsewhereWeight)
	}
	v.note(role, weight, word+strings.Join(names, "; "))
	if role == song.RolePerc && v.base == "" {
		v.base = percussionInstrument(keys)
	}
}

// heardSingle gives a voice whose keys are all of one percussion role that role, unless its name says
// another.
func (h *hearing) heardSingle(v *voice, says saying, role song.Role) *voice {
	v.nameEvidence(says)
	if says.role != song.RoleUnknown || !says.kit && !says.generic {
		v.base = nameBase(v.title)
	}
	if says.role == song.RoleUnknown || says.role == role {
		v.keyEvidence(role, keyWeight)
	}
	v.decide()
	return v
}

// nameEvidence notes what the track's name says.
func (v *voice) nameEvidence(says saying) {
	v.named = says.tune
	if says.role == song.RoleUnknown {
		return
	}
	weight := nameWeight
	if says.instrument {
		weight = instrumentWeight
	}
	v.note(says.role, weight, "track name "+quoted(v.title)+" says "+string(says.role))
}

// quoted quotes a name, shortened if it is long.
func quoted(name string) string {
	r := []rune(name)
	if len(r) > 40 {
		r = append(r[:37], '.', '.', '.')
	}
	return strconv.Quote(string(r))
}

// heardWhole gives a voice that is not split its role: by its name, its program and its behaviour.
func (h *hearing) heardWhole(r rawPart) *voice {
	v, says := r.voice, r.says
	if !says.generic {
		v.base = nameBase(v.title)
	}
	v.nameEvidence(says)
	switch {
	case says.role != song.RoleUnknown:
	case h.isSliced(v.Part, says):
		v.whole, v.confidence = true, 70
		v.note(song.RoleUnknown, 0, "a break in slices, one at a time")
		if v.base == "" {
			v.base = "break"
		}
		return v
	case says.kit:
		v.whole, v.confidence = true, 60
		v.note(song.RoleUnknown, 0, "track name "+quoted(v.title)+" says a kit, its keys are not the GM map's")
		return v
	}
	written := h.programEvidence(v) || says.role != song.RoleUnknown
	v.evidence = append(v.evidence, r.habits.evidence(says.pitched, h.kits, h.registerOf(&r))...)
	v.decide()
	v.guessed = !written && v.Role != song.RoleUnknown
	return v
}

// programEvidence notes what a voice's program says, and tells whether it says anything.
func (h *hearing) programEvidence(v *voice) bool {
	program, ok := h.program(v.Part)
	if !ok {
		return false
	}
	role, family := programRole(program)
	if role == song.RoleUnknown {
		return false
	}
	weight := familyWeight
	if role == song.RoleBass || role == song.RolePad || role == song.RoleStrings {
		weight = programWeight
	}
	v.note(role, weight, fmt.Sprintf("GM program %d, %s", int(program)+1, family))
	return true
}

// triggers tells a sidechain trigger from the kick: one key on every beat, all of one velocity, that
// nothing but its playing calls a kick, beside a kick that is known by its name or key.
func (h *hearing) triggers() {
	if !slices.ContainsFunc(h.voices, func(v *voice) bool { return v.Role == song.RoleKick && !v.guessed }) {
		return
	}
	for _, v := range h.voices {
		if v.Role != song.RoleKick || !v.guessed {
			continue
		}
		even := !slices.ContainsFunc(v.Notes, func(n song.Note) bool { return n.Vel != v.Notes[0].Vel })
		if falls, beats := h.beatsOf([]*voice{v}); even && falls == beats && falls == len(v.Notes) {
			v.evidence = []Evidence{{song.RoleTrigger, 50, "one key on every beat, all of one velocity, beside the kick"}}
			v.decide()
		}
	}
}

// program returns the last program that the part's track sends its channel at or before the part's
// first note; false if there is none. A program is no sound of the map on channel 10.
func (h *hearing) program(p song.Part) (program uint8, ok bool) {
	if p.Channel == PercussionChannel || len(p.Notes) == 0 {
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
