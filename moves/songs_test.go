package moves_test

import (
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf/song"
	"loopdraft/smf/song/songtest"
)

// The songs of these tests are made of these.
const (
	q   = songtest.Quarter
	bar = songtest.Bar
)

var (
	loop         = songtest.Song
	fromFile     = songtest.From
	on           = songtest.On
	off          = songtest.Off
	cc           = songtest.Controller
	bend         = songtest.Bend
	note         = songtest.Note
	show         = songtest.Show
	sameWords    = songtest.SameWords
	metaFile     = songtest.MetaFile
	mustGrid     = songtest.Grid
	sortedEvents = songtest.SortedEvents
)

// laid lays a loop out.
func laid(t testing.TB, l lay.Layout) song.Song {
	t.Helper()
	s, _, err := lay.Lay(l)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func runOn(bars int) []lay.Block { return []lay.Block{{Bars: bars, RunOn: true}} }
