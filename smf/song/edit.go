package song

import (
	"cmp"
	"slices"
	"sort"

	"loopdraft/smf"
)

// Edit collects changes to a song; the moves change songs only through it. The song it was made
// from is never written to: what is not touched is shared, what is touched is copied once.
type Edit struct {
	in, out Song
	parts   []partEdit
	tracks  []trackEdit
	placed  uint32 // events inserted so far
	time    bool   // tempo or metre changed
}

type partEdit struct {
	owned bool   // the notes are this edit's own copy
	added []Note // placed, not merged yet
}

type trackEdit struct {
	owned bool
	added []Event
}

// Edit starts a change.
func (s Song) Edit() *Edit {
	e := &Edit{in: s, out: s}
	e.out.Parts = slices.Clone(s.Parts)
	e.out.Tracks = slices.Clone(s.Tracks)
	e.parts = make([]partEdit, len(s.Parts))
	e.tracks = make([]trackEdit, len(s.Tracks))
	return e
}

// Then starts another change, of the song that this one came to: of events at one tick, those that it inserts stand after
// those that this one did.
func (e *Edit) Then(s Song) *Edit {
	next := s.Edit()
	next.placed = e.placed
	return next
}

// Place adds a note to a part. It is kept inside the song, lasts at least a tick, and yields to
// the notes of its key that are there: an earlier one is cut where it starts, it ends where a later
// one starts, and where one starts at the same tick, that one stays and this is dropped. Velocities
// are kept within 1..127. A key that was not the part's becomes one of its keys. It tells whether the
// note is inside the song.
func (e *Edit) Place(part int, n Note) bool {
	if n.Start < 0 || n.Start >= e.out.End || n.Key > 127 {
		return false
	}
	n.End = min(max(n.End, n.Start+1), e.out.End)
	n.Vel = min(max(n.Vel, 1), 127)
	n.OffVel = 64 // the value for keyboards that do not sense it, MIDI 1.0 table 2
	n.Flags = New | NewEnd
	if p := &e.out.Parts[part]; !p.Keys.Has(n.Key) {
		p.Keys[n.Key>>6] |= 1 << (n.Key & 63)
	}
	added := &e.parts[part].added
	if len(*added) == cap(*added) {
		*added = append(e.in.room.list(2*len(*added)+8), *added...)
	}
	*added = append(*added, n)
	return true
}

// Map calls f for every note of a part, in order: it returns the note to keep in its place (onset
// and key unchanged) and whether to keep it. A changed end must be past the onset.
func (e *Edit) Map(part int, f func(Note) (Note, bool)) {
	e.mapSome(part, 0, len(e.out.Parts[part].Notes), f)
}

// MapIn is [Edit.Map] for the notes whose onsets count to a range; the others stay.
func (e *Edit) MapIn(part int, r Range, f func(Note) (Note, bool)) {
	notes := e.out.Parts[part].Notes
	from := e.in.Before(notes, r.Start)
	e.mapSome(part, from, max(from, e.in.Before(notes, r.End)), f)
}

// mapSome maps the notes from one index up to another.
func (e *Edit) mapSome(part, from, to int, f func(Note) (Note, bool)) {
	p := &e.out.Parts[part]
	var out []Note // nil until the first change
	for i := from; i < to; i++ {
		n := p.Notes[i]
		m, keep := f(n)
		if keep && m == n {
			if out != nil {
				out = append(out, n)
			}
			continue
		}
		if out == nil {
			if e.parts[part].owned {
				out = p.Notes[:i]
			} else {
				out = append(e.in.room.list(len(p.Notes)), p.Notes[:i]...)
			}
		}
		if !keep {
			continue
		}
		if m.End != n.End {
			m.setEnd(max(m.End, m.Start+1))
		}
		out = append(out, m)
	}
	if out != nil {
		p.Notes = append(out, p.Notes[to:]...)
		e.parts[part].owned = true
	}
}

// setEnd gives a note an end that a move chose.
func (n *Note) setEnd(t Tick) {
	n.End, n.OffVel = t, 64 // the release velocity of keyboards that do not sense it, MIDI 1.0 table 2
	n.Flags = n.Flags&^(Open|OffAsOn) | NewEnd
}

// Cut silences a part over ranges, which are sorted and apart: the notes whose onsets count to one
// go, and a note that rings into one is cut at its start unless the part's tails ring.
func (e *Edit) Cut(part int, ranges []Range, ring bool) {
	if len(ranges) == 0 {
		return
	}
	p := &e.out.Parts[part]
	early := e.in.time.PPQ()/16 + 1 // an onset less than this before an edge may count to the bar after
	var out []Note                  // nil until the first change
	i, r := 0, ranges[0]
	for k := range p.Notes {
		n := p.Notes[k]
		at := n.Start
		if at < r.Start && at+early >= r.Start || at+early >= r.End {
			at = e.in.Counted(at)
			for at >= r.End {
				if i++; i == len(ranges) {
					if out != nil {
						p.Notes, e.parts[part].owned = append(out, p.Notes[k:]...), true
					}
					return
				}
				r = ranges[i]
			}
		}
		gone := r.Has(at)
		cut := !ring && n.End > r.Start && n.Start < r.Start
		if out == nil {
			if !gone && !cut {
				continue
			}
			if e.parts[part].owned {
				out = p.Notes[:k]
			} else {
				out = append(e.in.room.list(e.kept(p.Notes, ranges)), p.Notes[:k]...)
			}
		}
		if gone {
			continue
		}
		if cut {
			n.setEnd(r.Start)
		}
		out = append(out, n)
	}
	if out != nil {
		p.Notes, e.parts[part].owned = out, true
	}
}

// kept returns how many notes of a part do not count to ranges, which are sorted and apart.
func (e *Edit) kept(notes []Note, ranges []Range) int {
	n := len(notes)
	for _, r := range ranges {
		n -= e.in.Before(notes, r.End) - e.in.Before(notes, r.Start)
	}
	return n
}

// Point is a controller value at a tick.
type Point struct {
	Tick  Tick
	Value int
}

// Sweep is what becomes of a controller over a range: its events in the range are replaced by the
// points; at the range's end it returns to what the song has there, to Home where the song has
// nothing, or, with Hold, stays.
type Sweep struct {
	Range
	Points []Point
	Home   int  // -1: none
	Force  bool // Home overrules what the song has in force at the end (an event of the song exactly there still stands)
	Hold   bool
}

// Control replaces a controller on a track and channel over sweeps, which are sorted and apart.
func (e *Edit) Control(track int, channel uint8, c Controller, sweeps []Sweep) {
	if len(sweeps) == 0 {
		return
	}
	t := e.ownTrack(track)
	kept := t.Events[:0]
	state, i := -1, 0
	finish := func(next Tick, set bool) { // close the sweeps that end by next; set: an event of the song stands at next
		for i < len(sweeps) && sweeps[i].End <= next {
			s := sweeps[i]
			home := state
			if s.Force && s.Home >= 0 || home < 0 {
				home = s.Home
			}
			touching := i+1 < len(sweeps) && sweeps[i+1].Start == s.End
			if !s.Hold && home >= 0 && !(set && s.End == next) && !touching {
				e.insertControl(track, channel, c, Point{s.End, home})
			}
			i++
		}
	}
	for _, ev := range t.Events {
		id, value, ok := ev.Of()
		if !ok || id != c || ev.Chan() != channel {
			kept = append(kept, ev)
			continue
		}
		finish(ev.Tick, true)
		state = value
		if i < len(sweeps) && sweeps[i].Has(ev.Tick) {
			continue
		}
		kept = append(kept, ev)
	}
	finish(Tick(1)<<62, false)
	t.Events = kept
	for _, s := range sweeps {
		for _, p := range s.Points {
			e.insertControl(track, channel, c, p)
		}
	}
}

// Points are the values a controller is set to, by tick.
type Points []Point

// Points returns what sets a controller on a track and channel, in order. It walks the track once;
// ask the points for values.
func (s Song) Points(track int, channel uint8, c Controller) Points {
	var out Points
	for _, ev := range s.Tracks[track].Events {
		if id, v, ok := ev.Of(); ok && id == c && ev.Chan() == channel {
			out = append(out, Point{ev.Tick, v})
		}
	}
	return out
}

// At returns the value in force at a tick (one set at the tick itself included), and false if
// nothing has set it. It takes logarithmic time.
func (p Points) At(t Tick) (int, bool) {
	i := sort.Search(len(p), func(i int) bool { return p[i].Tick > t })
	if i == 0 {
		return 0, false
	}
	return p[i-1].Value, true
}

func (e *Edit) insertControl(track int, channel uint8, c Controller, p Point) {
	v := min(max(p.Value, 0), c.Max())
	switch c {
	case Bend:
		e.Insert(track, smf.Channel(p.Tick, 0xE0|channel, byte(v&0x7F), byte(v>>7)))
	case Pressure:
		e.Insert(track, smf.Channel(p.Tick, 0xD0|channel, byte(v), 0))
	default:
		e.Insert(track, smf.Channel(p.Tick, 0xB0|channel, byte(c), byte(v)))
	}
}

// Insert adds a channel event that is no note to a track; it stands before the untouched events of
// its tick. Events outside [0, end of the song] are left out.
func (e *Edit) Insert(track int, ev smf.Event) {
	if ev.Tick < 0 || ev.Tick > e.out.End {
		return
	}
	e.placed++
	e.tracks[track].added = append(e.tracks[track].added, Event{Event: ev, Seq: e.placed, New: true})
}

// InsertMeta adds a meta event (type 0..127) to a track, like [Edit.Insert].
func (e *Edit) InsertMeta(track int, at Tick, kind byte, data []byte) {
	t := e.ownTrack(track)
	var ev smf.Event
	t.store, ev = smf.AppendLong(t.store, at, 0xFF, kind, data)
	if kind == smf.MetaTempo || kind == smf.MetaMetre {
		e.time = true
	}
	e.Insert(track, ev)
}

// RemoveEvents drops the events of a track for which drop says so.
func (e *Edit) RemoveEvents(track int, drop func(t *Track, ev Event) bool) {
	t := e.ownTrack(track)
	view := *t
	kept := t.Events[:0]
	for _, ev := range t.Events {
		if !drop(&view, ev) {
			kept = append(kept, ev)
			continue
		}
		if kind, ok := ev.MetaType(); ok && (kind == smf.MetaTempo || kind == smf.MetaMetre) {
			e.time = true
		}
	}
	t.Events = kept
}

// NewPart adds an empty part on a new track that carries its name and ends with the song; it
// returns the index of the part. The part's track index is set here.
func (e *Edit) NewPart(p Part) int {
	p.Track = len(e.out.Tracks)
	p.Notes = nil
	e.out.Tracks = append(e.out.Tracks, &Track{Name: p.Name, End: e.out.End})
	e.tracks = append(e.tracks, trackEdit{owned: true})
	e.out.Parts = append(e.out.Parts, p)
	e.parts = append(e.parts, partEdit{owned: true})
	e.InsertMeta(p.Track, 0, 0x03, []byte(p.Name))
	return len(e.out.Parts) - 1
}

// FreeChannel returns a channel that no part has, and false if there is none. One of which no event speaks either
// comes before one that a track sets up and does not play on. Channel 10 (index 9) is not given out: it is the
// drums' in General MIDI.
func (s Song) FreeChannel() (uint8, bool) {
	played := [16]bool{9: true}
	for _, p := range s.Parts {
		played[p.Channel] = true
	}
	named := played
	for _, t := range s.Tracks {
		for _, ev := range t.Events {
			if ev.IsChannel() {
				named[ev.Chan()] = true
			}
		}
	}
	for _, used := range [][16]bool{named, played} {
		if c := slices.Index(used[:], false); c >= 0 {
			return uint8(c), true
		}
	}
	return 0, false
}

// Clear drops what the song says of a channel that no part has, and tells whether there was anything.
func (e *Edit) Clear(channel uint8) bool {
	on := func(ev Event) bool { return ev.IsChannel() && ev.Chan() == channel }
	found := false
	for i, t := range e.out.Tracks {
		if slices.ContainsFunc(t.Events, on) {
			e.RemoveEvents(i, func(_ *Track, ev Event) bool { return on(ev) })
			found = true
		}
	}
	return found
}

func (e *Edit) ownTrack(i int) *Track {
	if !e.tracks[i].owned {
		t := *e.out.Tracks[i]
		t.Events = slices.Clone(t.Events)
		t.store = clip(t.store) // so that appending copies
		e.out.Tracks[i] = &t
		e.tracks[i].owned = true
	}
	return e.out.Tracks[i]
}

// Song returns the changed song. The edit is over.
func (e *Edit) Song() Song {
	for i := range e.tracks {
		if len(e.tracks[i].added) > 0 {
			t := e.ownTrack(i)
			t.Events = mergeEvents(t.Events, e.tracks[i].added)
			t.End = max(t.End, t.Events[len(t.Events)-1].Tick)
			e.tracks[i].added = nil
		}
	}
	for i := range e.parts {
		if added := e.parts[i].added; len(added) > 0 {
			end := slices.MaxFunc(added, func(a, b Note) int { return cmp.Compare(a.End, b.End) }).End
			if track := e.out.Parts[i].Track; end > e.out.Tracks[track].End { // a track may end before the song
				e.ownTrack(track).End = end
			}
			e.dropLooseOffs(e.out.Parts[i], added)
		}
	}
	for i := range e.parts {
		if len(e.parts[i].added) > 0 {
			e.mergeChannel(e.out.Parts[i].Track, e.out.Parts[i].Channel)
		}
	}
	for i := range e.out.Parts {
		e.out.Parts[i].Notes = clip(e.out.Parts[i].Notes)
	}
	out := e.out
	out.Parts = clip(out.Parts)
	out.Tracks = clip(out.Tracks)
	if e.time {
		out.time = timelineOf(out)
	}
	return out
}

func timelineOf(s Song) *smf.Timeline {
	f := smf.File{Format: s.Format, Division: s.Division, Tracks: make([]smf.Track, len(s.Tracks))}
	for i, t := range s.Tracks {
		var events []smf.Event
		for _, ev := range t.Events {
			if kind, ok := ev.MetaType(); ok && (kind == smf.MetaTempo || kind == smf.MetaMetre) {
				events = append(events, ev.Event)
			}
		}
		f.Tracks[i] = smf.TrackFromStore(events, t.End, t.store)
	}
	tl, _, err := f.Timeline()
	if err != nil {
		return nil
	}
	return tl
}

func mergeEvents(events, added []Event) []Event {
	slices.SortStableFunc(added, compareEvents)
	out := make([]Event, 0, len(events)+len(added))
	for len(added) > 0 {
		a := added[0]
		for len(events) > 0 && before(events[0].Tick, events[0].rank(), a.Tick, a.rank()) {
			out = append(out, events[0])
			events = events[1:]
		}
		out = append(out, a)
		added = added[1:]
	}
	return append(out, events...)
}

func compareEvents(a, b Event) int {
	if a.Tick != b.Tick {
		return cmp.Compare(a.Tick, b.Tick)
	}
	return cmp.Compare(a.rank(), b.rank())
}

func compareNotes(a, b Note) int {
	if a.Start != b.Start {
		return cmp.Compare(a.Start, b.Start)
	}
	return cmp.Compare(a.onRank(), b.onRank())
}

// dropLooseOffs drops note-offs without a note where a placed note of their key sounds: they would
// end it.
func (e *Edit) dropLooseOffs(p Part, added []Note) {
	loose := func(ev Event) bool { return ev.IsOff() && ev.Chan() == p.Channel }
	if !slices.ContainsFunc(e.out.Tracks[p.Track].Events, loose) {
		return
	}
	e.RemoveEvents(p.Track, func(_ *Track, ev Event) bool {
		return loose(ev) && slices.ContainsFunc(added, func(n Note) bool {
			return n.Key == ev.Data1() && n.Start < ev.Tick && ev.Tick < n.End
		})
	})
}

// mergeChannel brings the placed notes of all parts of a track and channel in among the others,
// so that no placed note overlaps another of its key.
func (e *Edit) mergeChannel(track int, channel uint8) {
	var keys Keys // that notes are placed on: no other key is looked at
	for i, p := range e.out.Parts {
		if p.Track == track && p.Channel == channel {
			for _, n := range e.parts[i].added {
				keys[n.Key>>6] |= 1 << (n.Key & 63)
			}
		}
	}
	var voices []int
	for i, p := range e.out.Parts {
		if p.Track != track || p.Channel != channel || !p.Keys.meets(keys) {
			continue
		}
		voices = append(voices, i)
		if pe := &e.parts[i]; len(pe.added) > 0 {
			if !slices.IsSortedFunc(pe.added, compareNotes) {
				slices.SortStableFunc(pe.added, compareNotes)
			}
			e.out.Parts[i].Notes = mergeNotes(e.in.room.list(len(p.Notes)+len(pe.added)), p.Notes, pe.added)
			pe.added, pe.owned = nil, true
		}
	}
	if e.partVoices(voices, keys) {
		for _, i := range voices {
			if e.parts[i].owned {
				notes := &e.out.Parts[i].Notes
				*notes = slices.DeleteFunc(*notes, func(n Note) bool { return n.Is(New) && n.End <= n.Start })
			}
		}
	}
}

// meets tells whether two sets share a key; the empty set stands for every key in k only.
func (k Keys) meets(l Keys) bool { return k.All() || k[0]&l[0] != 0 || k[1]&l[1] != 0 }

// noteAt is a note by its place.
type noteAt struct{ part, note int }

// note returns a note to be written to.
func (e *Edit) note(at noteAt) *Note {
	if !e.parts[at.part].owned {
		notes := e.out.Parts[at.part].Notes
		e.out.Parts[at.part].Notes = append(e.in.room.list(len(notes)), notes...)
		e.parts[at.part].owned = true
	}
	return &e.out.Parts[at.part].Notes[at.note]
}

// partVoices goes once over the notes of a channel on some keys and keeps placed notes from
// overlapping others; it tells whether notes have to go, which it leaves without length.
func (e *Edit) partVoices(voices []int, keys Keys) (gone bool) {
	var sounding [128][]noteAt // per key the notes that still sound
	at := make([]int, len(voices))
	for {
		v := -1
		for i, p := range voices {
			notes := e.out.Parts[p].Notes
			for at[i] < len(notes) && !keys.Has(notes[at[i]].Key) {
				at[i]++
			}
			if at[i] < len(notes) && (v < 0 || compareNotes(notes[at[i]], e.out.Parts[voices[v]].Notes[at[v]]) < 0) {
				v = i
			}
		}
		if v < 0 {
			return gone
		}
		here := noteAt{voices[v], at[v]}
		at[v]++
		n := e.out.Parts[here.part].Notes[here.note]
		live := sounding[n.Key][:0]
		for _, w := range sounding[n.Key] {
			m := e.out.Parts[w.part].Notes[w.note]
			switch {
			case m.End <= n.Start && m.Start < n.Start:
			case !n.Is(New) && !m.Is(New): // both were there: as they were
				live = append(live, w)
			case m.Start < n.Start:
				e.note(w).setEnd(n.Start)
			case n.Is(New): // where a note starts, the one that was there stays
				n.End, gone = n.Start, true
				e.note(here).End = n.Start
				live = append(live, w)
			default:
				e.note(w).End, gone = m.Start, true
			}
		}
		if n.End > n.Start || !n.Is(New) {
			live = append(live, here)
		}
		sounding[n.Key] = live
	}
}

// mergeNotes adds notes, and those that are added to them, to a list.
func mergeNotes(out, notes, added []Note) []Note {
	for len(added) > 0 {
		for len(notes) > 0 && compareNotes(notes[0], added[0]) <= 0 {
			out = append(out, notes[0])
			notes = notes[1:]
		}
		out = append(out, added[0])
		added = added[1:]
	}
	return append(out, notes...)
}

func clip[T any](s []T) []T { return s[:len(s):len(s)] }

// Blank returns a song of one empty track with the tempi and metres given, without parts: for
// tests and for building songs from nothing. Times are as in [smf.NewTimeline].
func Blank(ppq Tick, tempi []smf.TempoAt, metres []smf.MetreAt, end Tick, sections ...Section) Song {
	return Song{
		Format: 1, Division: smf.Division(ppq), End: end, Sections: sections,
		Tracks: []*Track{{End: end}},
		time:   smf.NewTimeline(ppq, tempi, metres),
	}
}
