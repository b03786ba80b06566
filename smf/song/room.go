package song

import "slices"

// Room is room for notes. Edits of a song that has one, and of what they make of it, take their lists of notes from it,
// and lists of which nobody needs the notes any more are written to again: see [Room.Keep] and [Room.Leave]. It is for one
// goroutine at a time. The zero value is empty room.
type Room struct {
	lent [][]Note // lists that edits have taken
	free [][]Note // whole lists: as long as they have room
}

// WithRoom returns the song; edits of it take their lists of notes from a room. With nil each list is made anew.
func (s Song) WithRoom(r *Room) Song {
	s.room = r
	return s
}

// Keep says that of all that edits have made in the room since [Room.Leave] only the notes of one song are needed from here
// on, of a song that these edits came to.
func (r *Room) Keep(s Song) {
	r.lent = slices.DeleteFunc(r.lent, func(list []Note) bool {
		if slices.ContainsFunc(s.Parts, func(p Part) bool { return len(p.Notes) > 0 && &p.Notes[0] == &list[0] }) {
			return false
		}
		r.free = append(r.free, list)
		return true
	})
}

// Leave says that all that edits have made in the room so far may be needed by anybody.
func (r *Room) Leave() { r.lent = nil }

// list returns an empty list with room for at least n notes: of those that are free the one with the least room.
func (r *Room) list(n int) []Note {
	if r == nil {
		return make([]Note, 0, n)
	}
	best := -1
	for i, list := range r.free {
		if len(list) >= n && (best < 0 || len(list) < len(r.free[best])) {
			best = i
		}
	}
	if best < 0 {
		best = len(r.free)
		r.free = append(r.free, make([]Note, n+n/32+8)) // the next edit may add some
	}
	list, last := r.free[best], len(r.free)-1
	r.free[best] = r.free[last]
	r.free = r.free[:last]
	r.lent = append(r.lent, list)
	return list[:0]
}
