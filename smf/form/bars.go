package form

import (
	"slices"

	"loopdraft/smf/song"
)

// Structure is what changes in a song, where, and how much.
type Structure struct {
	Phrase     int            // bars from line to line
	Bars       []Bar          // all bars of the song, a short last one included
	Boundaries []int          // lines, as bars from 1, at which a stretch of its own begins; rising, never the song's first line
	Sections   []song.Section // those of the song, else those its markers tell; never guessed
	Energy     Energy         // of all bars
	Usual      song.Song      // as each part usually plays: what departs from it is told by it
}

// Bar is one bar of a song, and what happens at its start.
type Bar struct {
	Parts     []int        // indices of the song's parts that sound in it, rising
	Strength  float64      // of the change at its start, 0..1, in steps of 0.0001: Foote's novelty
	Line      bool         // a phrase starts with it
	Changes   []LineChange // at a line: what changes there
	Preparing []int        // at a line: the parts that prepare it, rising
}

// first returns the bar in which the music begins; 1 where nothing sounds.
func (st Structure) first() int {
	return 1 + max(0, slices.IndexFunc(st.Bars, func(b Bar) bool { return len(b.Parts) > 0 }))
}

// between returns the stretches from a bar to the first boundary, and from boundary to boundary, as sections without
// a name.
func between(first int, boundaries []int, bars int) []song.Section {
	out := make([]song.Section, 0, len(boundaries)+1)
	for i := range len(boundaries) + 1 {
		next := bars + 1
		if i < len(boundaries) {
			next = boundaries[i]
		}
		if next > first {
			out = append(out, song.Section{Bar: first, Bars: next - first})
			first = next
		}
	}
	return out
}
