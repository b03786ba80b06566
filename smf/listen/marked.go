package listen

import (
	"fmt"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Marked returns the stretches into which markers on bar lines cut a file, as [song.Song.MarkedSections] reads them:
// bars before the first marker have no name. Tempo and metre of a file that has none are those that [FindLoop] takes.
// Files of format 2 or in SMPTE time are an error.
func Marked(f *smf.File, o LoopOptions) ([]song.Section, error) {
	if _, _, err := f.Timeline(); err != nil {
		return nil, o.failed(err)
	}
	c := &cutting{file: copyFile(f), opts: o}
	if err := c.assume(); err != nil {
		return nil, o.failed(err)
	}
	s, err := song.From(c.file)
	if err != nil {
		return nil, o.failed(err)
	}
	return s.MarkedSections(), nil
}

// BarsError says that a loop lies past the end of its file, or where there is no note.
type BarsError struct {
	First, Last int // the bars that were asked for, from 1
	Bars        int // how many there are; 0: they are there, and no note is
}

// Error implements error.
func (e *BarsError) Error() string {
	if e.Bars == 0 {
		return fmt.Sprintf("found no note in bars %d-%d, want a loop", e.First, e.Last)
	}
	return fmt.Sprintf("found bars %d-%d, want bars within the %s there are", e.First, e.Last, bars(e.Bars))
}

// SameNotes tells whether two loops have the same notes on the same channels, whatever their resolutions and tracks.
func SameNotes(a, b Looped) bool {
	s, err := song.From(a.File)
	t, err2 := song.From(b.File)
	ppqA, okA := a.File.Division.PPQ()
	ppqB, okB := b.File.Division.PPQ()
	return err == nil && err2 == nil && okA && okB && sameNotes(s, ppqB, t, ppqA)
}
