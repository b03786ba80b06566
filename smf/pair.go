package smf

// NotePair is a note as the places of its two events in [Track.Events].
type NotePair struct {
	On  int
	Off int // -1: the note is never closed
}

// Pairing is how a track's note-ons and note-offs belong together.
type Pairing struct {
	Notes []NotePair // in order of onset
	Loose []int      // note-offs that close no note, in order
}

// Pair finds the notes of a track: within a channel and key the first note-on goes with the first
// note-off. What a receiver does with a key struck twice is not defined, but a sender owes one
// off to each on (Complete MIDI 1.0 p. A-4). A note-on with velocity 0 is a note-off. The order
// of events decides, also within a tick: an off before an on of the same tick closes an earlier
// note. It takes time linear in the events.
func (t *Track) Pair() Pairing {
	ons := 0
	for _, e := range t.Events {
		if e.IsOn() {
			ons++
		}
	}
	var p Pairing
	if ons > 0 {
		p.Notes = make([]NotePair, 0, ons)
	}
	// For each channel and key the open notes in a chain: the first and the last, from 1 so that
	// 0 is none, and behind each note the next one.
	var first, last [16 * 128]int32
	after := make([]int32, ons+1)
	for i, e := range t.Events {
		if !e.IsOn() && !e.IsOff() {
			continue
		}
		key := int(e.Chan())<<7 | int(e.Data1()&0x7F)
		if e.IsOn() {
			p.Notes = append(p.Notes, NotePair{i, -1})
			note := int32(len(p.Notes))
			if first[key] == 0 {
				first[key] = note
			} else {
				after[last[key]] = note
			}
			last[key] = note
			continue
		}
		note := first[key]
		if note == 0 {
			p.Loose = append(p.Loose, i)
			continue
		}
		p.Notes[note-1].Off = i
		first[key] = after[note]
	}
	return p
}
