package lay

import (
	"cmp"
	"fmt"
	"slices"

	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

// trackLayer lays one track.
type trackLayer struct {
	song    song.Song
	track   int
	parts   []song.Part
	own     [][]segment // by part
	rest    []segment   // of what is no part's
	loops   []stretch
	end     song.Tick
	markers bool
	tell    func(remark.Remark)
	rings   bool // a note that was put may sound where another pass starts its key
}

// layNotes copies the notes of a part. An onset just before a bar line goes with the bar after it:
// the ones before the loop's end belong to its first bar.
func (t *trackLayer) layNotes(p song.Part, segs []segment, count int) []song.Note {
	src, early := make([][]song.Note, len(t.loops)), make([][]song.Note, len(t.loops))
	for k, l := range t.loops {
		src[k], early[k] = t.cycleNotes(p, l)
	}
	out := make([]song.Note, 0, count)
	held := map[song.Tick][]song.Note{}
	if p.Restrikes() {
		for k, notes := range src {
			t.holdAt(held, notes, entries(segs, k))
		}
	}
	for _, s := range segs {
		if s.inside {
			out = t.restrike(out, held[s.from], s)
		}
		if l := t.loops[s.loop]; s.from == l.start {
			before := s // an early note comes before all of its pass
			before.pass--
			for _, n := range early[s.loop] {
				out = t.put(out, n, before, n.Start-l.start-l.cycle(t.track))
			}
		}
		for _, n := range t.song.In(song.Part{Notes: src[s.loop]}, song.Range{Start: s.from, End: s.to}) {
			out = t.put(out, n, s, n.Start-s.from)
		}
	}
	if !slices.IsSortedFunc(out, song.CompareNotes) {
		slices.SortStableFunc(out, song.CompareNotes)
	}
	return out
}

// cycleNotes returns the notes that start in the track's cycle of a loop, closed and at least a tick long, and
// apart from them those that count to its first bar.
func (t *trackLayer) cycleNotes(p song.Part, l stretch) (notes, early []song.Note) {
	open := false
	end := l.start + l.cycle(t.track)
	starts := func(n song.Note, at song.Tick) int { return cmp.Compare(n.Start, at) }
	first, _ := slices.BinarySearchFunc(p.Notes, l.start, starts)
	last, _ := slices.BinarySearchFunc(p.Notes, end, starts)
	notes = make([]song.Note, 0, max(last-first, 0))
	for _, n := range p.Notes[min(first, last):last] {
		if n.Is(song.Open) {
			open = true
			n.End = min(n.End, end)
			n.Flags = n.Flags&^song.Open | song.NewEnd
			n.OffVel = 64
		}
		if n.End <= n.Start {
			n.End = n.Start + 1
			n.Flags = n.Flags&^song.OffAsOn | song.NewEnd
			n.OffVel = 64
		}
		if t.song.Counted(n.Start) >= end {
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

// holdAt notes which notes are held where segments begin inside the loop, found in one walk.
func (t *trackLayer) holdAt(held map[song.Tick][]song.Note, src []song.Note, entries []song.Tick) {
	var sounding []song.Note
	for _, from := range entries {
		for len(src) > 0 && t.song.Counted(src[0].Start) < from {
			sounding = append(sounding, src[0])
			src = src[1:]
		}
		sounding = slices.DeleteFunc(sounding, func(n song.Note) bool { return n.End <= from })
		held[from] = slices.Clone(sounding)
	}
}

// entries returns the places of a loop at which all that is in force there has to be sent, in order.
func entries(segs []segment, loop int) []song.Tick {
	var out []song.Tick
	for _, s := range segs {
		if s.loop == loop && s.fresh() {
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
