package lay

import (
	"bytes"
	"cmp"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// conductor lays tempo, metre and key signature: they follow the loop on whatever track they stand.
type conductor struct {
	song   song.Song
	segs   []segment
	events [3][]conductorEvent // tempo, metre, key, each by tick
}

type conductorEvent struct {
	song.Event
	track int
	none  bool // its value is not valid: it stands in the first pass only, and what was before it counts
}

// ConductorKind returns 0 for a tempo, 1 for a metre, 2 for a key signature, -1 for other events.
func ConductorKind(ev song.Event) int {
	if kind, ok := ev.MetaType(); ok {
		switch kind {
		case smf.MetaTempo:
			return 0
		case smf.MetaMetre:
			return 1
		case smf.MetaKey:
			return 2
		}
	}
	return -1
}

// withDefaults gives a loop that sets tempo or metre only after its start the values that hold
// until then: 120 bpm and 4/4 (RP-001 p. 5).
func withDefaults(s song.Song) song.Song {
	var atStart, later [3]bool
	for _, t := range s.Tracks {
		for _, ev := range t.Events {
			if k := ConductorKind(ev); k >= 0 && valid(s, t, ev) {
				atStart[k] = atStart[k] || ev.Tick == 0
				later[k] = later[k] || ev.Tick > 0
			}
		}
	}
	e := s.Edit()
	if later[0] && !atStart[0] {
		e.InsertMeta(0, 0, smf.MetaTempo, []byte{0x07, 0xA1, 0x20})
	}
	if later[1] && !atStart[1] {
		e.InsertMeta(0, 0, smf.MetaMetre, []byte{4, 2, 24, 8})
	}
	return e.Song()
}

func newConductor(s song.Song, segs []segment) *conductor {
	c := &conductor{song: s, segs: segs}
	for i, t := range s.Tracks {
		for _, ev := range t.Events {
			if k := ConductorKind(ev); k >= 0 {
				c.events[k] = append(c.events[k], conductorEvent{ev, i, !valid(s, t, ev)})
			}
		}
	}
	for k := range c.events {
		slices.SortStableFunc(c.events[k], func(a, b conductorEvent) int { return cmp.Compare(a.Tick, b.Tick) })
	}
	return c
}

// lay adds the conductor events of one track that are not set-up: those that repeat, and what holds
// at the start of a segment where the one before ended on something else. inside: the song begins
// inside the loop, so that set-up was not written.
func (c *conductor) lay(out []song.Event, track int, inside bool, setup func(song.Event) bool) []song.Event {
	for kind, events := range c.events {
		if len(events) == 0 {
			continue
		}
		for k, s := range c.segs {
			if ev, ok := c.resend(kind, k); ok && ev.track == track {
				e := ev.Event
				e.Tick, e.Pass, e.New, e.Seq = s.at, s.pass, true, uint32(kind)
				out = append(out, e)
			}
			for i, _ := slices.BinarySearchFunc(events, s.from, compareTick); i < len(events) && events[i].Tick < s.to; i++ {
				ev := events[i].Event
				if events[i].track != track || ev.Tick == 0 || k == 0 && !inside && setup(ev) || k > 0 && events[i].none {
					continue
				}
				ev.Tick += s.at - s.from
				ev.Pass = s.pass
				out = append(out, ev)
			}
		}
	}
	return out
}

func compareTick(ev conductorEvent, at song.Tick) int { return cmp.Compare(ev.Tick, at) }

// resend returns the event that has to be sent again at the start of segment k: always inside the
// loop, otherwise where the segment before ended on another value.
func (c *conductor) resend(kind, k int) (conductorEvent, bool) {
	s := c.segs[k]
	want, ok := c.inForce(kind, s.from)
	if !ok || k == 0 && !s.inside {
		return want, false
	}
	if i, here := slices.BinarySearchFunc(c.events[kind], s.from, compareTick); here && s.from > 0 && !c.events[kind][i].none {
		return want, false // the loop sets it right there
	}
	if s.inside {
		return want, true
	}
	had, _ := c.inForce(kind, c.segs[k-1].to)
	return want, !bytes.Equal(c.bytes(had), c.bytes(want))
}

func (c *conductor) bytes(ev conductorEvent) []byte { return c.song.Tracks[ev.track].Long(ev.Event) }

// inForce returns the last event of a kind before a tick of the loop, or on its first tick.
func (c *conductor) inForce(kind int, at song.Tick) (conductorEvent, bool) {
	i, _ := slices.BinarySearchFunc(c.events[kind], max(at, 1), compareTick)
	for i--; i >= 0; i-- {
		if !c.events[kind][i].none {
			return c.events[kind][i], true
		}
	}
	return conductorEvent{}, false
}

// valid tells whether a tempo, metre or key signature is valid.
func valid(s song.Song, t *song.Track, ev song.Event) bool {
	switch ConductorKind(ev) {
	case 0:
		return smf.ValidTempo(t.Long(ev))
	case 1:
		return smf.ValidMetre(t.Long(ev), s.Time().PPQ())
	case 2:
		return smf.ValidKey(t.Long(ev))
	}
	return true
}
