package moves

import (
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// hits are a part's notes; its methods tell which places between them are free.
type hits struct {
	song  song.Song
	swing swing
	notes []song.Note
	known [2]stood // of two notes next to each other
}

// stood is where a note stands.
type stood struct {
	note int // its index and 1; 0: nobody has asked
	at   song.Tick
}

// stands returns where a note stands in straight time.
func (h *hits) stands(i int) song.Tick {
	k := &h.known[i%2]
	if k.note != i+1 {
		*k = stood{i + 1, h.straight(h.notes[i].Start)}
	}
	return k.at
}

// straight returns where a hit stands in straight time: on the nearest 1/16 if it was meant there.
func (h *hits) straight(t song.Tick) song.Tick {
	tl := h.song.Time()
	ppq := tl.PPQ()
	t = h.swing.straight(tl, t)
	line, _ := tl.BarAround(t)
	grid := line + option.NoteValueOf(1, 16).Times(int(song.HalfUp(4*int64(t-line), int64(ppq))), ppq)
	if abs(t-grid)*16 <= ppq { // within a quarter of a 1/16 it is a hand's inaccuracy (common practice, no source)
		return grid
	}
	return t
}

// ghosts finds the places of a part's ghosts and the notes that stand there.
type ghosts struct {
	song   song.Song
	part   song.Part
	own    []song.Note // as the loop plays it
	voice  voice
	swing  swing
	rolled []song.Range
	room   *[]ghostPlace // for the places of one range after the other
}

// newGhosts looks at a part as the loop and the song play it; false if it never plays.
func newGhosts(env *Env, in song.Song, part int) (ghosts, bool) {
	p := in.Parts[part]
	own := env.Source(p.Name).Notes
	if len(own) == 0 {
		own = p.Notes
	}
	v, ok := env.voiceOf(p)
	return ghosts{song: in, part: p, own: own, voice: v, swing: env.swing(), rolled: env.rolledRanges(p.Name), room: env.roomForPlaces()}, ok
}

// ghostPlace is a free place.
type ghostPlace struct {
	at     song.Tick // with the loop's swing
	slot   int32     // which 1/16 of its bar it is, from 0
	next   int32     // index of the part's first note after it
	before chordAt   // that a part with pitches repeats
}

// chordAt tells which notes of a list are a chord: those from an index up to another.
type chordAt struct{ first, end int32 }

// places returns the free places of a range, until it is asked again.
func (g ghosts) places(r song.Range) []ghostPlace {
	tl := g.song.Time()
	ppq := tl.PPQ()
	sixteenth := option.NoteValueOf(1, 16)
	out := (*g.room)[:0]
	loop := hits{song: g.song, swing: g.swing, notes: g.own}
	now := hits{song: g.song, swing: g.swing, notes: g.part.Notes}
	inLoop, inSong := 0, 0 // indices of the first notes after the place
	for bar := tl.BarOf(r.Start); tl.BarStart(bar) < r.End; bar++ {
		line := g.song.BarRange(bar, bar)
		if len(g.song.In(g.part, song.Range{Start: max(line.Start, r.Start), End: min(line.End, r.End)})) == 0 {
			continue
		}
		for slot := 0; line.Start+sixteenth.Times(slot, ppq) < min(line.End, r.End); slot++ {
			straight := line.Start + sixteenth.Times(slot, ppq)
			at := g.swing.late(tl, straight)
			if straight < r.Start || at >= r.End || g.song.Counted(at) >= line.End || g.rolls(at) {
				continue
			}
			inLoop, inSong = firstAfter(g.own, inLoop, at), firstAfter(g.part.Notes, inSong, at)
			if !loop.apart(straight, inLoop) || !now.apart(straight, inSong) || g.held(at, inSong) {
				continue
			}
			out = append(out, ghostPlace{at, int32(slot), int32(inSong), g.hitBefore(inLoop)})
		}
	}
	*g.room = out
	return out
}

// apart tells whether a place lies at least a 1/16 from the hits around it; next is the index of the
// one after.
func (h *hits) apart(straight song.Tick, next int) bool {
	ppq := h.song.Time().PPQ()
	if next > 0 && (straight-h.stands(next-1))*4 < ppq {
		return false
	}
	return next == len(h.notes) || (h.stands(next)-straight)*4 >= ppq
}

// rolls tells whether a roll stands for the part at a tick.
func (g ghosts) rolls(at song.Tick) bool {
	for _, r := range g.rolled {
		if r.Has(at) {
			return true
		}
	}
	return false
}

// held tells whether the chord before a place, in a part with pitches, sounds over it.
func (g ghosts) held(at song.Tick, next int) bool {
	if !g.part.Pitched() || next == 0 {
		return false
	}
	for _, n := range chordBefore(g.part.Notes, next, g.song.Time().PPQ()) {
		if n.End > at {
			return true
		}
	}
	return false
}

// hitBefore returns the hit of the loop before the index next, or the one there if none is before.
func (g ghosts) hitBefore(next int) chordAt {
	if next == 0 {
		return chordAt{0, int32(chordEnd(g.own, 0))}
	}
	return chordAt{int32(next - len(chordBefore(g.own, next, g.song.Time().PPQ()))), int32(next)}
}

// notes adds the ghost at a place to a list; it ends with the range at the latest; of are the notes of which it repeats a chord.
func (g ghosts) notes(out []song.Note, p ghostPlace, of []song.Note, velocity option.Share, r song.Range) []song.Note {
	level := uint8(min(max(velocity.Of(int(g.voice.median)), 1), int(g.voice.loudest)))
	longest := max(option.NoteValueOf(1, 16).Ticks(g.song.Time().PPQ()), 1)
	if !g.part.Pitched() {
		return append(out, song.Note{Start: p.at, End: min(p.at+min(g.voice.length, longest), r.End), Key: g.voice.key, Vel: level})
	}
	for _, n := range of[p.before.first:p.before.end] {
		out = append(out, song.Note{Start: p.at, End: min(p.at+min(n.End-n.Start, longest), r.End), Key: n.Key, Vel: level})
	}
	return out
}

// sixteenth returns the length of n 1/16 notes in ticks.
func sixteenth(s song.Song, n int) song.Tick {
	return option.NoteValueOf(1, 16).Times(n, s.Time().PPQ())
}
