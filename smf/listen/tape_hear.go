package listen

import (
	"fmt"
	"slices"
	"strconv"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Hear hears the parts of all loops on the tape, as [Hear] does those of one. Each loop was heard by itself: a
// part is what the first loop that has its instrument says, and a kit is split on the keys of all loops, a key
// that only a later loop has going to the part of its role. A drum to whose key a later loop gives another role is a
// part of its own there. Overrides speak of the tape, whichever loop plays, but where they name one.
func (t *Tape) Hear(overrides []Override) (song.Song, Report, error) {
	s, err := song.From(t.File)
	if err != nil {
		return song.Song{}, Report{}, err
	}
	h := newHearing(s, Options{Overrides: overrides})
	for _, l := range t.Loops {
		l.Cycles = slices.Clone(l.Cycles)
		h.loops = append(h.loops, l)
	}
	for _, own := range t.heard {
		h.groups += own.groups
	}
	h.voices = t.voices(s)
	for _, v := range h.voices {
		h.first = append(h.first, *v)
	}
	h.override()
	h.sort()
	h.jobs()
	h.names()
	h.adjust()
	h.jobs()
	h.keys()
	h.giveCycles()
	if len(h.errs) > 0 {
		return song.Song{}, Report{}, h.errs
	}
	out, r := h.result()
	return out, r, nil
}

// giveCycles gives the loops on a tape the cycles that overrides ask for: of every track that a part of theirs is on.
// What lies past a cycle is not reached any more, which is told.
func (h *hearing) giveCycles() {
	type trackOf struct{ loop, track int }
	by := map[trackOf]int{} // the override, from 0, that gave a track its cycle
	for i, o := range h.opts.Overrides {
		asked := o.Cycles
		if o.Cycle > 0 {
			for _, l := range h.loops {
				if o.Cycle <= l.Bars && (o.Loop == "" || o.Loop == l.Name) {
					asked = append(asked, LoopCycle{l.Name, o.Cycle})
				}
			}
			if len(asked) == 0 {
				longest := 0
				for _, l := range h.loops {
					if o.Loop == "" || o.Loop == l.Name {
						longest = max(longest, l.Bars)
					}
				}
				h.wrong(i, "cycle", bars(o.Cycle), fmt.Sprintf("1 to %d", longest), "")
			}
		}
		for _, c := range asked {
			k := h.loopCalled(c.Loop)
			if k < 0 {
				continue // which is told
			}
			plays := false
			for _, v := range h.voices {
				if !slices.Contains(v.from, i) || !h.playsIn(v, k) {
					continue
				}
				plays = true
				at := trackOf{k, v.Track}
				if b, given := by[at]; given && h.loops[k].Cycles[v.Track] != h.cycleTicks(k, c.Bars) {
					h.wrong(i, "cycle", bars(c.Bars), "that of parts."+h.opts.Overrides[b].Name+", which is on the same track", "")
					continue
				}
				h.giveCycleIn(k, v.Track, c.Bars)
				by[at] = i
			}
			if !plays && o.Cycle == 0 {
				h.wrong(i, "cycle", strconv.Quote(c.Loop), "a loop in which it plays", "")
			}
		}
	}
}

// playsIn tells whether a voice has a note in a loop on the tape.
func (h *hearing) playsIn(v *voice, loop int) bool {
	i, _ := slices.BinarySearchFunc(v.Notes, h.time.BarStart(h.loops[loop].Bar), startsAt)
	if i == len(v.Notes) {
		return false
	}
	k, _ := h.loopAt(v.Notes[i].Start)
	return k == loop
}

// cycleTicks returns the length of a cycle of so many bars of a loop; 0: it is the loop's.
func (h *hearing) cycleTicks(loop, bars int) song.Tick {
	if bars == h.loops[loop].Bars {
		return 0
	}
	return h.time.BarStart(bars + 1)
}

func (h *hearing) giveCycleIn(loop, track, length int) {
	l := &h.loops[loop]
	cycle := h.cycleTicks(loop, length)
	was := l.Cycles[track]
	if l.Cycles[track] = cycle; cycle == was || cycle == 0 {
		return
	}
	start := h.time.BarStart(l.Bar)
	past := 0
	for _, p := range h.song.Parts {
		if p.Track != track {
			continue
		}
		for _, n := range p.Notes {
			if k, _ := h.loopAt(n.Start); k == loop && n.Start >= start+cycle && (was == 0 || n.Start < start+was) {
				past++
			}
		}
	}
	if past > 0 {
		text := "track " + strconv.Itoa(track+1)
		if name := h.song.Tracks[track].Name; name != "" {
			text += " " + quoted(name)
		}
		h.told = append(h.told, fmt.Sprintf("%s: %s: what lies past bar %d is not played: %s", l.Name, text, length, counted(past, "note")))
	}
}

// cyclesOf returns the loops on the tape in which a voice plays and its track repeats before their end.
func (h *hearing) cyclesOf(v *voice) []LoopCycle {
	var out []LoopCycle
	for k, l := range h.loops {
		if c := l.Cycles[v.Track]; c > 0 && h.playsIn(v, k) {
			out = append(out, LoopCycle{l.Name, h.time.BarOf(c) - 1})
		}
	}
	return out
}

// voices returns the parts of the loops with their notes on the tape.
func (t *Tape) voices(s song.Song) []*voice {
	var out []*voice
	for _, raw := range s.Parts {
		at := slices.IndexFunc(t.instruments, func(in instrument) bool { return in.track == raw.Track && in.channel == raw.Channel })
		if at < 0 {
			continue // every raw part of the tape is an instrument's
		}
		one := sharing{raw: raw, time: s.Time(), split: t.splits(at)}
		groups := 0 // of the loops before
		for k, h := range t.heard {
			for i, p := range h.song.Parts {
				if t.players[k][i] == at {
					one.loop = k
					one.take(h, p, groups, t.notesOf(raw, s, k), t.Loops[k].Name)
				}
			}
			groups += h.groups
		}
		out = append(out, one.voices...)
	}
	return slices.DeleteFunc(out, func(v *voice) bool { return len(v.Notes) == 0 })
}

// splits tells whether an instrument is split by its keys in some loop.
func (t *Tape) splits(instrument int) bool {
	for k, h := range t.heard {
		for i, p := range h.song.Parts {
			if t.players[k][i] == instrument && slices.ContainsFunc(h.voices, func(v *voice) bool {
				return v.Track == p.Track && v.Channel == p.Channel && !v.Keys.All()
			}) {
				return true
			}
		}
	}
	return false
}

// notesOf returns the notes of a part of the tape that are a loop's.
func (t *Tape) notesOf(raw song.Part, s song.Song, loop int) []song.Note {
	from := s.Time().BarStart(t.Loops[loop].Bar)
	to := smf.Tick(smf.MaxTicks)
	if loop+1 < len(t.Loops) {
		to = s.Time().BarStart(t.Loops[loop+1].Bar)
	}
	first, _ := slices.BinarySearchFunc(raw.Notes, from, startsAt)
	last, _ := slices.BinarySearchFunc(raw.Notes, to, startsAt)
	return raw.Notes[first:last]
}

func startsAt(n song.Note, at song.Tick) int { return int(n.Start - at) }

// sharing is an instrument of the tape on its way to the parts that share it.
type sharing struct {
	raw    song.Part
	time   *smf.Timeline
	loop   int  // whose notes it takes
	split  bool // by keys, in some loop
	voices []*voice
}

// take takes the notes that a loop has on the instrument: to the parts that take them already, else to the part
// of the role that the loop gives them, else to a part of their own. name is the loop's.
func (s *sharing) take(h *hearing, p song.Part, groups int, notes []song.Note, name string) {
	var own []*voice // of the loop
	for _, v := range h.voices {
		if v.Track == p.Track && v.Channel == p.Channel {
			own = append(own, v)
		}
	}
	if len(s.voices) == 0 {
		for _, v := range own {
			keys := v.Keys
			if s.split && keys.All() { // it is the only sound of the kit there
				keys = song.KeySet(song.KeysUsed(v.Notes)...)
			}
			s.add(v, groups, keys)
		}
	} else {
		s.otherwise(own, groups, name)
	}
	for _, n := range notes {
		to := s.of(n, name)
		if to == nil {
			to = s.make(own, groups, n)
		}
		to.Notes = append(to.Notes, n)
	}
}

// otherwise adds a part for each drum of a loop that the loops before hear as another, by keys: it is that in this loop
// alone.
func (s *sharing) otherwise(own []*voice, groups int, name string) {
	for _, v := range own {
		var keys []uint8
		for _, key := range song.KeysUsed(v.Notes) {
			i := slices.IndexFunc(s.voices, func(w *voice) bool { return w.within == "" && w.Keys.Has(key) })
			at := slices.ContainsFunc(s.voices, func(w *voice) bool { return len(w.at) > 0 && w.Keys.Has(key) })
			if i >= 0 && !at && len(v.at) == 0 && drumOfItsOwn(v) && drumOfItsOwn(s.voices[i]) && s.voices[i].Role != v.Role {
				keys = append(keys, key)
			}
		}
		if len(keys) > 0 {
			s.add(v, groups, song.KeySet(keys...)).within = name
		}
	}
}

// drumOfItsOwn tells whether a voice is one drum, and not percussion that may be any.
func drumOfItsOwn(v *voice) bool {
	return v.Role.Drum() && v.Role != song.RolePerc && !v.whole && !v.guessed
}

// of returns the part that takes a note of a loop: first those that take its notes alone, then those that take notes at
// given places.
func (s *sharing) of(n song.Note, loop string) *voice {
	for _, v := range s.voices {
		if v.within == loop && v.Keys.Has(n.Key) {
			return v
		}
	}
	for _, v := range s.voices {
		if len(v.at) > 0 && v.Keys.Has(n.Key) && v.standsAt(s.time, n.Start) {
			return v
		}
	}
	for _, v := range s.voices {
		if len(v.at) == 0 && v.within == "" && v.Keys.Has(n.Key) {
			return v
		}
	}
	return nil
}

// standsAt tells whether an onset stands at the places of a voice that has some.
func (v *voice) standsAt(tl *smf.Timeline, at song.Tick) bool {
	var h hearing
	h.time, h.length = tl, smf.MaxTicks
	var places []place
	bars := 1
	for _, text := range v.at {
		p, _ := h.readPlace(text)
		places, bars = append(places, p), max(bars, p.bar)
	}
	return standsAt(tl, at, places, bars, smf.MaxTicks)
}

// make finds the part for a key that none has yet.
func (s *sharing) make(own []*voice, groups int, n song.Note) *voice {
	from := own[0]
	for _, v := range own {
		if len(v.at) == 0 && v.Keys.Has(n.Key) {
			from = v
		}
	}
	for _, v := range s.voices {
		if len(v.at) == 0 && v.within == "" && v.Role == from.Role {
			key := song.KeySet(n.Key)
			v.Keys[0], v.Keys[1] = v.Keys[0]|key[0], v.Keys[1]|key[1]
			return v
		}
	}
	return s.add(from, groups, song.KeySet(n.Key))
}

// add adds a part like one of a loop, with no notes yet.
func (s *sharing) add(like *voice, groups int, keys song.Keys) *voice {
	v := *like
	v.Track, v.Channel, v.Port = s.raw.Track, s.raw.Channel, s.raw.Port
	v.Keys, v.Notes, v.from, v.owner, v.rank, v.jobFixed = keys, nil, nil, 0, 0, true
	v.evidence, v.loop = slices.Clone(like.evidence), s.loop
	if v.group > 0 {
		v.group += groups
	}
	s.voices = append(s.voices, &v)
	return &v
}
