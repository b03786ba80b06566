package movetest

import (
	"slices"

	"loopdraft/smf/song"
)

// spare is the room behind the ends of a song's slices, filled with a mark: what a move appends to a
// slice it was given shows there.
type spare struct {
	notes    [][]song.Note
	events   [][]song.Event
	parts    []song.Part
	sections []song.Section
}

// room is how many elements stand behind the end.
const room = 4

func markNote() song.Note { return song.Note{Start: -7777, Key: 77} }

// withSpare returns the song with room behind the notes of its parts, its events, parts and sections.
func withSpare(s song.Song) (song.Song, *spare) {
	sp := &spare{}
	s.Parts, sp.parts = spacious(s.Parts, song.Part{Name: "spare"})
	for i := range s.Parts {
		var behind []song.Note
		s.Parts[i].Notes, behind = spacious(s.Parts[i].Notes, markNote())
		sp.notes = append(sp.notes, behind)
	}
	s.Tracks = slices.Clone(s.Tracks)
	for i, t := range s.Tracks {
		track := *t
		var behind []song.Event
		track.Events, behind = spacious(t.Events, song.Event{Seq: 7777})
		sp.events = append(sp.events, behind)
		s.Tracks[i] = &track
	}
	s.Sections, sp.sections = spacious(s.Sections, song.Section{Name: "spare"})
	return s, sp
}

// spacious copies a slice to one with room behind its end; it returns the room too. An empty slice is
// left as it is.
func spacious[T any](in []T, mark T) (out, behind []T) {
	if len(in) == 0 {
		return in, nil
	}
	all := slices.Grow(slices.Clone(in), room)
	for range room {
		all = append(all, mark)
	}
	return all[:len(in)], all[len(in):]
}

// touched says in what the mark is gone, or "".
func (sp *spare) touched() string {
	for _, notes := range sp.notes {
		for _, n := range notes {
			if n != markNote() {
				return "the notes"
			}
		}
	}
	for _, events := range sp.events {
		for _, ev := range events {
			if ev != (song.Event{Seq: 7777}) {
				return "the events"
			}
		}
	}
	for _, p := range sp.parts {
		if p.Name != "spare" {
			return "the parts"
		}
	}
	for _, s := range sp.sections {
		if s.Name != "spare" {
			return "the sections"
		}
	}
	return ""
}

// clone copies a song so that nothing of it is shared but what has no exported way in.
func clone(s song.Song) song.Song {
	s.Parts = slices.Clone(s.Parts)
	for i := range s.Parts {
		s.Parts[i].Notes = slices.Clone(s.Parts[i].Notes)
		s.Parts[i].Home = slices.Clone(s.Parts[i].Home)
		s.Parts[i].Mapped = slices.Clone(s.Parts[i].Mapped)
	}
	s.Tracks = slices.Clone(s.Tracks)
	for i, t := range s.Tracks {
		track := *t
		track.Events = slices.Clone(t.Events)
		s.Tracks[i] = &track
	}
	s.Sections = slices.Clone(s.Sections)
	return s
}
