package lay

import (
	"fmt"
	"slices"

	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

// segment is a stretch of the loop, or of a track's own cycle, copied to one place of the song.
type segment struct {
	from, to song.Tick // in the loop
	at       song.Tick // in the song
	pass     uint16    // 2, 4, 6 ...; the early notes of a pass have the odd number before
	inside   bool      // starts a block in the middle of the loop
}

// trackLayer lays one track.
type trackLayer struct {
	song    song.Song
	track   int
	parts   []song.Part
	segs    []segment // of the track's own cycle
	cycle   song.Tick
	end     song.Tick
	markers bool
	tell    func(remark.Remark)
	rings   bool // a note that was put may sound where another pass starts its key
}

// layNotes copies the notes of a part. An onset just before a bar line goes with the bar after it:
// the ones before the loop's end belong to its first bar.
func (t *trackLayer) layNotes(p song.Part, count int) []song.Note {
	src, early := t.cycleNotes(p)
	out := make([]song.Note, 0, count)
	var held map[song.Tick][]song.Note
	if p.Restrikes() {
		held = t.heldAt(src)
	}
	for _, s := range t.segs {
		if s.inside {
			out = t.restrike(out, held[s.from], s)
		}
		if s.from == 0 {
			before := s // an early note comes before all of its pass
			before.pass--
			for _, n := range early {
				out = t.put(out, n, before, n.Start-t.cycle)
			}
		}
		for _, n := range t.song.In(song.Part{Notes: src}, song.Range{Start: s.from, End: s.to}) {
			out = t.put(out, n, s, n.Start-s.from)
		}
	}
	if !slices.IsSortedFunc(out, song.CompareNotes) {
		slices.SortStableFunc(out, song.CompareNotes)
	}
	return out
}

// cycleNotes returns the notes that start in the track's cycle, closed and at least a tick long, and
// apart from them those that count to its first bar.
func (t *trackLayer) cycleNotes(p song.Part) (notes, early []song.Note) {
	open := false
	for _, n := range p.Notes {
		if n.Start >= t.cycle {
			break
		}
		if n.Is(song.Open) {
			open = true
			n.End = min(n.End, t.cycle)
			n.Flags = n.Flags&^song.Open | song.NewEnd
			n.OffVel = 64
		}
		if n.End <= n.Start {
			n.End = n.Start + 1
			n.Flags = n.Flags&^song.OffAsOn | song.NewEnd
			n.OffVel = 64
		}
		if t.song.Counted(n.Start) >= t.cycle {
			early = append(early, n)
		} else {
			notes = append(notes, n)
		}
	}
	if open {
		t.tell(remark.Remark{Kind: remark.NoteOffsMissing, Within: t.name(p)})
	}
	return notes, early
}

func (t *trackLayer) name(p song.Part) string {
	if p.Name != "" {
		return p.Name
	}
	return fmt.Sprintf("track %d, channel %d", t.track+1, p.Channel+1)
}

// put copies a note to a segment, offset ticks from its start.
func (t *trackLayer) put(out []song.Note, n song.Note, s segment, offset song.Tick) []song.Note {
	length := n.End - n.Start
	start := s.at + offset
	end := start + length
	if start < 0 { // before the song: it sounds at its start
		start, end = 0, max(end, 1)
	}
	if start >= t.end {
		return out
	}
	t.rings = t.rings || offset < 0 || end > s.at+s.to-s.from
	if end > t.end {
		end = t.end
		n.Flags = n.Flags&^song.OffAsOn | song.NewEnd
		n.OffVel = 64
	}
	n.Start, n.End, n.OnPass, n.OffPass = start, end, s.pass, s.pass
	return append(out, n)
}

// heldAt returns the notes that are held where blocks begin inside the loop, found in one walk.
func (t *trackLayer) heldAt(src []song.Note) map[song.Tick][]song.Note {
	at := map[song.Tick][]song.Note{}
	for _, from := range t.entries() {
		for len(src) > 0 && t.song.Counted(src[0].Start) < from {
			at[0] = append(at[0], src[0]) // what sounds so far
			src = src[1:]
		}
		at[0] = slices.DeleteFunc(at[0], func(n song.Note) bool { return n.End <= from })
		at[from] = slices.Clone(at[0])
	}
	return at
}

// entries returns the places of the cycle at which blocks begin inside it, in order.
func (t *trackLayer) entries() []song.Tick {
	var out []song.Tick
	for _, s := range t.segs {
		if s.inside {
			out = append(out, s.from)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// restrike strikes held notes again where a segment begins.
func (t *trackLayer) restrike(out []song.Note, held []song.Note, s segment) []song.Note {
	for _, n := range held {
		if WorthRestriking(t.song, n.End-s.from) {
			t.rings = true
			out = append(out, song.Note{Start: s.at, End: min(s.at+n.End-s.from, t.end), Key: n.Key, Vel: n.Vel, OffVel: 64, Flags: song.New | song.NewEnd, OnPass: s.pass, OffPass: s.pass})
		}
	}
	return out
}

// WorthRestriking tells whether the rest of a held note is long enough to be struck again: a 1/64
// note, the same measure that makes an onset early.
func WorthRestriking(s song.Song, rest song.Tick) bool { return rest*16 >= s.Time().PPQ() }

// cutRestruck ends notes of one pass where a later pass starts their key again, per channel of the
// track. Notes of one pass keep their overlaps.
func cutRestruck(parts []song.Part, notes [][]song.Note) {
	for c := range uint8(16) {
		var voices []int
		for i, p := range parts {
			if p.Channel == c && len(notes[i]) > 0 {
				voices = append(voices, i)
			}
		}
		if len(voices) > 0 {
			cutChannel(voices, notes)
		}
	}
}

type noteAt struct{ voice, note int }

func cutChannel(voices []int, notes [][]song.Note) {
	var sounding [128][]noteAt
	at := make([]int, len(notes))
	gone := false
	for {
		v := -1
		for _, i := range voices {
			if at[i] < len(notes[i]) && (v < 0 || song.CompareNotes(notes[i][at[i]], notes[v][at[v]]) < 0) {
				v = i
			}
		}
		if v < 0 {
			break
		}
		n := &notes[v][at[v]]
		live := sounding[n.Key][:0]
		for _, w := range sounding[n.Key] {
			m := &notes[w.voice][w.note]
			if m.End <= n.Start {
				continue
			}
			ahead := n.Start == 0 && n.OnPass%2 == 1 // both came early, before the song
			if m.OnPass == n.OnPass && !m.Is(song.New) && !n.Is(song.New) && !ahead {
				live = append(live, w)
				continue
			}
			if m.Start == n.Start { // the loop's own note stays: the other came early, before the song, or is struck again
				gone = true
				if n.Is(song.New) {
					n.End = n.Start
					live = append(live, w)
				} else {
					m.End = m.Start
				}
				continue
			}
			m.End, m.OffVel = n.Start, 64
			m.Flags = m.Flags&^song.OffAsOn | song.NewEnd
		}
		if n.End > n.Start {
			live = append(live, noteAt{v, at[v]})
		}
		sounding[n.Key] = live
		at[v]++
	}
	if gone {
		for _, i := range voices {
			notes[i] = slices.DeleteFunc(notes[i], func(n song.Note) bool { return n.End <= n.Start })
		}
	}
}
