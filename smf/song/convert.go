package song

import (
	"fmt"
	"strings"

	"loopdraft/smf"
)

// MaxEvents is the largest number of events a song may hold.
const MaxEvents = 50_000_000

// From makes a song of a file: one raw part for each track and channel that has notes, without a
// name or a role of its own (package listen gives them). [Song.File] gives back the file, event
// for event. Format 2 and SMPTE files make a song without common bars: [Song.Time] is nil.
//
// A file of more than [MaxEvents] events or past [smf.MaxTicks] is an error.
func From(f *smf.File) (Song, error) {
	if err := Fits(f); err != nil {
		return Song{}, err
	}
	s := Song{Format: f.Format, Division: f.Division, Chunks: f.Chunks[:len(f.Chunks):len(f.Chunks)]}
	for _, t := range f.Tracks {
		s.End = max(s.End, t.End)
	}
	if tl, _, err := f.Timeline(); err == nil {
		s.time = tl
	}
	s.Tracks = make([]*Track, len(f.Tracks))
	for i := range f.Tracks {
		s.readTrack(i, &f.Tracks[i])
	}
	return s, nil
}

// Fits tells why a file is no song by its size: more than [MaxEvents] events, or a track that ends past
// [smf.MaxTicks]. It is nil for a file that [From] takes.
func Fits(f *smf.File) error {
	events := 0
	for i, t := range f.Tracks {
		events += len(t.Events)
		if t.End > smf.MaxTicks {
			return fmt.Errorf("track %d ends at tick %d, want at most %d", i+1, t.End, smf.MaxTicks)
		}
	}
	if events > MaxEvents {
		return fmt.Errorf("found %d events, want at most %d", events, MaxEvents)
	}
	return nil
}

// readTrack splits a track into its non-note events and one part a channel. Notes are paired first
// on, first off, per channel and key.
func (s *Song) readTrack(index int, t *smf.Track) {
	ons := 0
	var perChannel [16]int
	for _, e := range t.Events {
		if e.IsOn() {
			ons++
			perChannel[e.Chan()]++
		}
	}
	out := &Track{End: t.End, store: t.LongStore()}
	s.Tracks[index] = out
	out.Events = make([]Event, 0, max(0, len(t.Events)-2*ons))
	var notes [16][]Note
	all := make([]Note, ons)
	at := 0
	for c := range notes {
		notes[c] = all[at : at : at+perChannel[c]]
		at += perChannel[c]
	}
	// Per channel and key a queue of open notes: the first, the last, and the chain between.
	type queue struct{ first, last int32 }
	var open [16 * 128]queue
	chain := make([]int32, ons) // index+1 of the next open note of the key, in the channel's notes
	var base [16]int
	for c := 1; c < 16; c++ {
		base[c] = base[c-1] + perChannel[c-1]
	}
	port := uint8(0)
	var ports [16]uint8
	for i, e := range t.Events {
		switch {
		case e.IsOn():
			c := e.Chan()
			if len(notes[c]) == 0 {
				ports[c] = port
			}
			n := int32(len(notes[c]) + 1)
			notes[c] = append(notes[c], Note{Start: e.Tick, OnSeq: uint32(i), Key: e.Data1(), Vel: e.Data2(), Flags: Open})
			q := &open[int(c)<<7|int(e.Data1())]
			if q.first == 0 {
				q.first = n
			} else {
				chain[base[c]+int(q.last)-1] = n
			}
			q.last = n
		case e.IsOff():
			c := e.Chan()
			q := &open[int(c)<<7|int(e.Data1())]
			if q.first == 0 { // a loose note-off: kept as it stands
				out.Events = append(out.Events, Event{Event: e, Seq: uint32(i)})
				continue
			}
			n := &notes[c][q.first-1]
			n.End, n.OffSeq, n.OffVel, n.Flags = e.Tick, uint32(i), e.Data2(), 0
			if e.Kind() == 0x90 {
				n.Flags = OffAsOn
			}
			q.first = chain[base[c]+int(q.first)-1]
		default:
			if kind, meta := e.MetaType(); meta {
				switch b := t.Long(e); {
				case kind == 0x03 && out.Name == "":
					out.Name = strings.Trim(string(b), " \x00\t\r\n")
				case kind == 0x21 && len(b) == 1:
					port = b[0]
				}
			}
			out.Events = append(out.Events, Event{Event: e, Seq: uint32(i)})
		}
	}
	for k := range open { // unclosed notes end at the next on of their key, else with the track
		c := k >> 7
		for n := open[k].first; n != 0; {
			next := chain[base[c]+int(n)-1]
			notes[c][n-1].End = t.End
			if next != 0 {
				notes[c][n-1].End = notes[c][next-1].Start
			}
			n = next
		}
	}
	for c := range notes {
		if len(notes[c]) > 0 {
			s.Parts = append(s.Parts, Part{Role: RoleUnknown, Track: index, Channel: uint8(c), Port: ports[c], Notes: notes[c]})
		}
	}
}

// File returns the song as a file. Events at one tick stand in the song's total order: note-offs
// that moves inserted, other inserted events, untouched events by pass and place in the loop,
// inserted note-ons.
func (s Song) File() *smf.File {
	f := &smf.File{Format: s.Format, Division: s.Division, Chunks: s.Chunks}
	if f.Format == 0 && len(s.Tracks) > 1 {
		f.Format = 1
	}
	f.Tracks = make([]smf.Track, len(s.Tracks))
	first := 0
	for i, t := range s.Tracks {
		last := first
		for last < len(s.Parts) && s.Parts[last].Track == i {
			last++
		}
		f.Tracks[i] = smf.TrackFromStore(mergeTrack(t, s.Parts[first:last]), t.End, t.store)
		first = last
	}
	return f
}

// rank is the place of an event among those of its tick: class, pass and place in the loop.
type rank uint64

const (
	insertedOff rank = iota << 62
	insertedEvent
	untouched
	insertedOn
)

func untouchedAt(pass uint16, seq uint32) rank { return untouched | rank(pass)<<32 | rank(seq) }

func (e Event) rank() rank {
	if e.New {
		return insertedEvent | rank(e.Pass)<<32 | rank(e.Seq)
	}
	return untouchedAt(e.Pass, e.Seq)
}

func (n Note) onRank() rank {
	if n.Is(New) {
		return insertedOn | rank(n.Key)
	}
	return untouchedAt(n.OnPass, n.OnSeq)
}

func (n Note) offRank() rank {
	if n.Is(NewEnd) {
		if n.End <= n.Start { // an off before its own on would be no note at all
			return insertedOn | 1<<40
		}
		return insertedOff | rank(n.Key)
	}
	return untouchedAt(n.OffPass, n.OffSeq)
}

// before is the song's total order.
func before(t1 Tick, r1 rank, t2 Tick, r2 rank) bool { return t1 < t2 || t1 == t2 && r1 < r2 }

// off is a note-off that is due.
type off struct {
	tick  Tick
	rank  rank
	event smf.Event
}

// offs is a heap of the note-offs due, earliest first. It holds only the notes that sound at one
// time, so that merging a track costs its events times the depth of a small heap.
type offs []off

func (h *offs) push(o off) {
	*h = append(*h, o)
	a := *h
	for i := len(a) - 1; i > 0; {
		up := (i - 1) / 2
		if !before(a[i].tick, a[i].rank, a[up].tick, a[up].rank) {
			return
		}
		a[i], a[up] = a[up], a[i]
		i = up
	}
}

func (h *offs) pop() off {
	a := *h
	top := a[0]
	last := len(a) - 1
	a[0] = a[last]
	a = a[:last]
	*h = a
	for i := 0; ; {
		c := 2*i + 1
		if c >= last {
			return top
		}
		if c+1 < last && before(a[c+1].tick, a[c+1].rank, a[c].tick, a[c].rank) {
			c++
		}
		if !before(a[c].tick, a[c].rank, a[i].tick, a[i].rank) {
			return top
		}
		a[c], a[i] = a[i], a[c]
		i = c
	}
}

// mergeTrack brings a track's events and the notes of its parts into one list.
func mergeTrack(t *Track, parts []Part) []smf.Event {
	n := len(t.Events)
	for i := range parts {
		n += 2 * len(parts[i].Notes)
	}
	out := make([]smf.Event, 0, n)
	const never = Tick(1) << 62
	at := make([]int, len(parts))
	var due offs
	events := t.Events
	for {
		from, tick, r := -1, never, rank(0) // -1: nothing left; 0: an off; 1: an event; 2+i: part i
		if len(due) > 0 {
			from, tick, r = 0, due[0].tick, due[0].rank
		}
		if len(events) > 0 {
			if er := events[0].rank(); from < 0 || before(events[0].Tick, er, tick, r) {
				from, tick, r = 1, events[0].Tick, er
			}
		}
		for i := range parts {
			if at[i] < len(parts[i].Notes) {
				n := &parts[i].Notes[at[i]]
				if n.Start > tick {
					continue
				}
				if nr := n.onRank(); from < 0 || before(n.Start, nr, tick, r) {
					from, tick, r = 2+i, n.Start, nr
				}
			}
		}
		switch {
		case from < 0:
			return out
		case from == 0:
			out = append(out, due.pop().event)
		case from == 1:
			out = append(out, events[0].Event)
			events = events[1:]
		default:
			p := &parts[from-2]
			n := p.Notes[at[from-2]]
			at[from-2]++
			out = append(out, smf.Channel(n.Start, 0x90|p.Channel, n.Key, n.Vel))
			switch {
			case n.Is(Open):
			case n.Is(OffAsOn):
				due.push(off{n.End, n.offRank(), smf.Channel(n.End, 0x90|p.Channel, n.Key, 0)})
			default:
				due.push(off{n.End, n.offRank(), smf.Channel(n.End, 0x80|p.Channel, n.Key, n.OffVel)})
			}
		}
	}
}
