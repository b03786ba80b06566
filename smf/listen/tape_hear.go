package listen

import (
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Hear hears the parts of all loops on the tape, as [Hear] does those of one. Each loop was heard by itself: a
// part is what the first loop that has its instrument says, and a kit is split on the keys of all loops, a key
// that only a later loop has going to the part of its role. Overrides speak of the tape, whichever loop plays.
// None may have a cycle of its own.
func (t *Tape) Hear(overrides []Override) (song.Song, Report, error) {
	s, err := song.From(t.File)
	if err != nil {
		return song.Song{}, Report{}, err
	}
	h := newHearing(s, Options{Overrides: overrides})
	for i, o := range overrides {
		if o.Cycle != 0 {
			h.wrong(i, "cycle", bars(o.Cycle), "none: there are several loops, each with its own cycles", "")
		}
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
	if len(h.errs) > 0 {
		return song.Song{}, Report{}, h.errs
	}
	out, r := h.result()
	return out, r, nil
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
					one.take(h, p, groups, t.notesOf(raw, s, k))
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
// of the role that the loop gives them, else to a part of their own.
func (s *sharing) take(h *hearing, p song.Part, groups int, notes []song.Note) {
	var own []*voice // of the loop
	for _, v := range h.voices {
		if v.Track == p.Track && v.Channel == p.Channel {
			own = append(own, v)
		}
	}
	made := len(s.voices) == 0
	if made {
		for _, v := range own {
			keys := v.Keys
			if s.split && keys.All() { // it is the only sound of the kit there
				keys = song.KeySet(song.KeysUsed(v.Notes)...)
			}
			s.add(v, groups, keys)
		}
	}
	for _, n := range notes {
		to := s.of(n)
		if to == nil {
			to = s.make(own, groups, n)
		}
		to.Notes = append(to.Notes, n)
	}
}

// of returns the part that takes a note: first those that take notes at given places.
func (s *sharing) of(n song.Note) *voice {
	for _, v := range s.voices {
		if len(v.at) > 0 && v.Keys.Has(n.Key) && v.standsAt(s.time, n.Start) {
			return v
		}
	}
	for _, v := range s.voices {
		if len(v.at) == 0 && v.Keys.Has(n.Key) {
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
		if len(v.at) == 0 && v.Role == from.Role {
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
