// Package smf reads and writes Standard MIDI Files (RP-001, the SMF 1.0 standard of the MIDI
// Manufacturers Association): [Decode] turns bytes into a [File], [File.Encode] turns it back.
//
// It loses nothing: every event, known or not, every unknown chunk and the order of events at one
// tick survive reading and writing. It trusts nothing: whatever the bytes, Decode returns a file
// or an [*Error] that names track and byte, in memory bounded by the size of the file. What it
// could repair it reports as a [Warning].
//
// Time is in ticks from the start of the file. A [Timeline], from [File.Timeline], knows bars,
// beats and seconds; [Track.Pair] knows which note-off ends which note-on.
//
// An [Event] is two words without pointers; the payloads of meta events and system exclusive
// packets stand in the track, see [Track.Long]. [Track.Message] and [Track.AppendMessage] are the
// seam to the message types of gitlab.com/gomidi/midi/v2.
//
// The package does not interpret music: notes, parts and bars' contents are the business of
// package song. It does not check that known meta events have the payload that the standard
// gives them, and does not complain about overlapping notes: such files are common, and come back
// as they were.
package smf
