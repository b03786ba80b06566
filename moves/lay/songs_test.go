package lay_test

import (
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
	prog         = songtest.Program
	bend         = songtest.Bend
	note         = songtest.Note
	show         = songtest.Show
	sameWords    = songtest.SameWords
	metaFile     = songtest.MetaFile
	mustGrid     = songtest.Grid
	sortedEvents = songtest.SortedEvents
	violations   = songtest.Violations
)
