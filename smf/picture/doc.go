// Package picture draws a song as a map: a row for each part, a column for each phrase or for the
// bars, beats or steps inside it, sections and times above. Start with [Text], the map for a
// terminal or a text file, with [SVG] and [PNG], the same as a picture, or with [HTML], a page that
// shows the picture and plays the song.
//
// Positions are ticks, bars count from 1. Every drawing shares one layout, so that a place looks
// the same in all of them. What a cell shows comes from the notes alone:
// volume, expression and filters are not in it. The energy below a picture, the changes and the sections
// are those of [form.StructureOf]. What a recipe asks of the energy of sections is handed in.
//
// A picture is laid out once, as marks in tenths of a pixel, and written by one of two writers; the
// page holds what the first of them wrote.
package picture
