package moves

import (
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// ridden returns the entry of a controller as this step or one before left it, or a new one.
func (e *Env) ridden(o *Outcome, h *homing, part string) Ridden {
	out := Ridden{Part: part, Controller: h.id, Home: h.at(0), Mapped: h.mapped}
	for _, r := range slices.Concat(e.Ridden, o.Ridden) {
		if r.same(out) {
			out = r
		}
	}
	return out
}

// homing knows where a controller of a channel is at home.
type homing struct {
	id     song.Controller
	part   song.Part // as the song has it
	loop   song.Song // what the loop has there
	source song.Part // the part in it
	points song.Points
	given  int  // home where the loop has nothing
	known  bool // it is more than a guess
	mapped bool // the instrument is known to listen
}

// guessedHome is taken where no home is known. Common practice, no source: the middle.
const guessedHome = 64

func newHoming(env *Env, in song.Song, parts []int, id song.Controller) *homing {
	h := &homing{id: id, part: in.Parts[parts[0]], loop: env.Full}
	if i := env.Full.Index(h.part.Name); i >= 0 {
		h.source = env.Full.Parts[i]
	} else { // a part that a move added
		h.loop, h.source = in, h.part
	}
	h.points = h.loop.Points(h.source.Track, h.source.Channel, id)
	h.given, h.known = id.Default()
	if !h.known {
		h.given = guessedHome
	}
	for _, p := range slices.Backward(parts) { // the first part's word counts
		for _, home := range in.Parts[p].Home {
			if home.Controller == id {
				h.given, h.known = home.Value, true
			}
		}
		h.mapped = h.mapped || slices.Contains(in.Parts[p].Mapped, id)
	}
	uses := h.uses()
	h.known = h.known || uses
	h.mapped = h.mapped || uses || id == 7 || id == 10 || id == song.Bend
	return h
}

func (h *homing) uses() bool { return len(h.points) > 0 }

// at returns home at a tick.
func (h *homing) at(t song.Tick) int {
	if v, ok := h.points.At(t); ok {
		return v
	}
	return h.given
}

// is tells whether an event sets the controller.
func (h *homing) is(ev song.Event) bool {
	id, _, ok := ev.Of()
	return ok && id == h.id && ev.Chan() == h.part.Channel
}

// removeHomes takes out what writeHomes wrote before.
func (h *homing) removeHomes(e *song.Edit, homes []song.Tick) {
	if len(homes) == 0 {
		return
	}
	e.RemoveEvents(h.part.Track, func(_ *song.Track, ev song.Event) bool {
		if !ev.New || !h.is(ev) {
			return false
		}
		_, is := slices.BinarySearch(homes, ev.Tick) // they rise, as the sections do
		return is
	})
}

// writeHomes writes home at bar 1 and the starts of sections, except inside a ride, after one that
// holds, and where the controller is set anyway; it returns where.
func (h *homing) writeHomes(e *song.Edit, out song.Song, rides []ride) []song.Tick {
	places := []song.Tick{0}
	for _, s := range out.Sections {
		places = append(places, out.SectionRange(s).Start)
	}
	var set []song.Tick
	for _, ev := range out.Tracks[h.part.Track].Events {
		if h.is(ev) {
			set = append(set, ev.Tick)
		}
	}
	var homes []song.Tick
	for _, t := range slices.Compact(places) {
		if _, there := slices.BinarySearch(set, t); there || t >= out.End || !free(rides, t) {
			continue
		}
		if _, ok := h.points.At(t); !ok && h.uses() {
			continue // the loop's own first value is still to come
		}
		e.Insert(h.part.Track, controlEvent(h.part.Channel, h.id, t, h.at(t)))
		homes = append(homes, t)
	}
	return homes
}

// free tells whether home may stand at a tick: no ride moves or holds the controller there.
func free(rides []ride, t song.Tick) bool {
	var last ride // the one that started last before t, the later carried out of two
	for _, r := range rides {
		if r.Start <= t && r.Start >= last.Start {
			last = r
		}
	}
	return last.Len() == 0 || !last.Has(t) && !last.hold
}

func controlEvent(channel uint8, id song.Controller, at song.Tick, value int) smf.Event {
	switch id {
	case song.Bend:
		return smf.Channel(at, 0xE0|channel, byte(value&0x7F), byte(value>>7))
	case song.Pressure:
		return smf.Channel(at, 0xD0|channel, byte(value), 0)
	}
	return smf.Channel(at, 0xB0|channel, byte(id), byte(value))
}
