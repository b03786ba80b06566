package review

import "fmt"

// EmptyTrack finds tracks without a note.
type EmptyTrack struct{}

func emptyTrackRule() Rule {
	return Rule{
		Name: "empty-track", Group: Broken, Level: Note,
		Brief:  "every track plays",
		Doc:    "A track without a note is a leftover, or a part that went missing. The first track of several is not meant: it may hold tempo and markers alone.",
		Source: "the first track as the tempo map: Standard MIDI Files 1.0 (RP-001), p. 5",
		New:    func() Check { return &EmptyTrack{} },
	}
}

func (r *EmptyTrack) find(s *subject) []Finding {
	plays := make([]bool, len(s.song.Tracks))
	for _, p := range s.song.Parts {
		plays[p.Track] = plays[p.Track] || len(p.Notes) > 0
	}
	var out []Finding
	for i, t := range s.song.Tracks {
		if plays[i] || i == 0 && len(plays) > 1 {
			continue
		}
		name := fmt.Sprintf("Track %d", i+1)
		if t.Name != "" {
			name += fmt.Sprintf(" %q", t.Name)
		}
		out = append(out, Finding{Level: Note, First: 1, Last: s.bars, About: name, Found: 0, Limit: 1, Unit: "notes",
			Text: name + " has no note: leave it out, or find out what went missing."})
	}
	return out
}
