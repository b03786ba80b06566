package song_test

import (
	"testing"

	"loopdraft/smf/song"
)

// A list of notes in a room is written to again only once the song that has it is given up: neither while an edit reads it, nor
// where it was left to whoever has it.
func TestRoomIsUsedAgainOnceItsNotesAreGivenUp(t *testing.T) {
	louder := func(s song.Song) song.Song {
		e := s.Edit()
		e.Map(0, func(n song.Note) (song.Note, bool) {
			n.Vel++
			return n, true
		})
		return e.Song()
	}
	first := func(s song.Song) *song.Note { return &s.Parts[0].Notes[0] }
	s, err := song.ParseGrid("hat x.x.x.x.x.x.x.x.")
	if err != nil {
		t.Fatal(err)
	}
	var room song.Room
	s = s.WithRoom(&room)
	vel := s.Parts[0].Notes[0].Vel
	a := louder(s)
	b := louder(a)
	if first(a) == first(b) || first(a).Vel != vel+1 || first(b).Vel != vel+2 {
		t.Fatalf("velocities %d and %d of lists %p and %p, want %d and %d of two", first(a).Vel, first(b).Vel, first(a), first(b), vel+1, vel+2)
	}
	gone := first(a)
	room.Keep(b)
	c := louder(b)
	if first(c) != gone || first(b).Vel != vel+2 || first(c).Vel != vel+3 {
		t.Errorf("velocities %d and %d, want %d and %d, the second in the list that was given up", first(b).Vel, first(c).Vel, vel+2, vel+3)
	}
	room.Leave()
	room.Keep(song.Song{})
	d := louder(c)
	if first(d) == first(b) || first(d) == first(c) || first(b).Vel != vel+2 || first(c).Vel != vel+3 {
		t.Errorf("a list was written to that was left to whoever has it")
	}
	if e := louder(d.WithRoom(nil)); first(e).Vel != vel+5 || first(s).Vel != vel {
		t.Errorf("velocities %d and %d, want %d and %d", first(s).Vel, first(e).Vel, vel, vel+5)
	}
}
