// Package song is the music of a file: bars, parts, notes and sections.
//
// [From] makes a [Song] of a file and [Song.File] gives the file back, event for event. Everything is
// in ticks from the start; bars and beats count from 1; ranges are half-open. A song is a value that
// shares what it points to and is never written to: a change goes through [Song.Edit], which gives
// few tools (place a note, cut, replace a controller over a span and put it back, make a new part)
// and keeps one total order of events. [Song.Check] finds what breaks the invariants.
//
// Grids ([ParseGrid], [Grid]) are songs as text, for tests and help.
//
// The package knows nothing of what a part is for: package listen names parts and gives roles.
package song
