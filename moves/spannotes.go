package moves

import (
	"loopdraft/moves/lay"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// notesOver returns per range, which are sorted and apart, the notes of a part that a move rewrites
// there: those that count to the range, in order, and before them, if the part is struck again where
// it comes in, those held into it, from its start on. Unless the part's tails ring, they end with the
// range.
func notesOver(in song.Song, p song.Part, ranges []song.Range) [][]song.Note {
	out := make([][]song.Note, len(ranges))
	if p.Restrikes() {
		holdInto(out, in, p, ranges)
	}
	for i, r := range ranges {
		for _, n := range in.In(p, r) {
			if !p.RingsOn() {
				n.End = min(n.End, r.End)
			}
			out[i] = append(out[i], n)
		}
	}
	return out
}

// holdInto adds the notes held into each range.
func holdInto(out [][]song.Note, in song.Song, p song.Part, ranges []song.Range) {
	i := 0
	for _, n := range p.Notes {
		for at := in.Counted(n.Start); i < len(ranges) && ranges[i].Start <= at; {
			i++
		}
		for k := i; k < len(ranges) && ranges[k].Start < n.End; k++ { // as many as the note lasts
			r := ranges[k]
			if !lay.WorthRestriking(in, n.End-r.Start) {
				continue
			}
			held := n
			held.Start = r.Start
			if !p.RingsOn() {
				held.End = min(held.End, r.End)
			}
			out[k] = append(out[k], held)
		}
	}
}

// clearSpans takes a part's notes and their polyphonic pressure out of the ranges, as mute does: what rings into
// one is cut unless the part's tails ring, and what is held over its end is struck again if the part is one
// that is struck again where it comes in.
func clearSpans(e *song.Edit, in song.Song, part int, ranges []song.Range) {
	p := in.Parts[part]
	merged := song.Union(ranges)
	e.Cut(part, merged, p.RingsOn())
	dropPressure(e, in, p, merged)
	if p.Restrikes() {
		restrikeAfter(e, in, part, merged, p.RingsOn())
	}
}

// inside returns an onset or, where that would count to the bar after the range, the last one that
// counts to it.
func inside(in song.Song, r song.Range, at song.Tick) song.Tick {
	if in.Counted(at) < r.End {
		return at
	}
	early := (in.Time().PPQ() + 15) / 16 // a 1/64 note, from which on an onset counts to its own bar
	return max(min(at, r.End-early), r.Start)
}

// pressureOver returns the polyphonic pressure of a part's keys in a range.
func pressureOver(in song.Song, p song.Part, r song.Range) []smf.Event {
	var out []smf.Event
	for _, ev := range in.Tracks[p.Track].Events {
		if ev.Kind() == 0xA0 && ev.Chan() == p.Channel && p.Keys.Has(ev.Data1()) && r.Has(ev.Tick) {
			out = append(out, ev.Event)
		}
	}
	return out
}
