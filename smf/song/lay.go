package song

// CompareNotes orders notes by onset, then by the song's total order at one tick.
func CompareNotes(a, b Note) int { return compareNotes(a, b) }

// CompareEvents orders events by tick, then by the song's total order at one tick.
func CompareEvents(a, b Event) int { return compareEvents(a, b) }

// With returns a track with other events, in the song's total order, and another end; their long
// events are places in the bytes of t.
func (t *Track) With(events []Event, end Tick) *Track {
	u := *t
	u.Events, u.End, u.store = clip(events), end, clip(t.store)
	return &u
}

// Laid returns the song with its tracks and the notes of its parts replaced, for moves that write
// the whole song anew; notes and events are in the song's total order.
func (s Song) Laid(tracks []*Track, notes [][]Note, end Tick) Song {
	out := s
	out.Tracks, out.End = clip(tracks), end
	out.Parts = make([]Part, len(s.Parts))
	for i, p := range s.Parts {
		p.Notes = clip(notes[i])
		out.Parts[i] = p
	}
	out.time = timelineOf(out)
	return out
}

// WithSections returns the song with these sections.
func (s Song) WithSections(sections []Section) Song {
	s.Sections = clip(sections)
	return s
}
