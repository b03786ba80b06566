package moves

import (
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/smf/song"
)

// Silence silences each part over its ranges, which need not be sorted: the line-up of a section is
// carried out by it as the mute move is. tails overrules the parts' own unless it is TailsAuto.
func Silence(in song.Song, ranges [][]song.Range, tails song.Tails) song.Song {
	e := in.Edit()
	for i, p := range in.Parts {
		rs := song.Union(ranges[i])
		if len(rs) == 0 {
			continue
		}
		if tails != song.TailsAuto {
			p.Tails = tails
		}
		ring := p.RingsOn()
		e.Cut(i, rs, ring)
		if p.Restrikes() {
			restrikeAfter(e, in, i, rs, ring)
		}
		dropPressure(e, in, p, rs)
	}
	restChannels(e, in, ranges)
	return e.Song()
}

// restrikeAfter strikes the notes again that are held where a silence ends.
func restrikeAfter(e *song.Edit, in song.Song, part int, ranges []song.Range, ring bool) {
	i := 0
	for _, n := range in.Parts[part].Notes {
		at := in.Counted(n.Start)
		for i < len(ranges) && ranges[i].End <= at {
			i++
		}
		for k, r := range ranges[i:] { // as many as the note lasts
			if r.Start >= n.End {
				break
			}
			silenced := r.Has(at) || !ring && at < r.Start
			if silenced && n.End > r.End && r.End < in.End && lay.WorthRestriking(in, n.End-r.End) {
				held := n
				held.Start = r.End
				if next := i + k + 1; next < len(ranges) {
					held.End = min(held.End, ranges[next].Start)
				}
				e.Place(part, held)
			}
		}
	}
}

// dropPressure removes the polyphonic pressure of silenced notes.
func dropPressure(e *song.Edit, in song.Song, p song.Part, ranges []song.Range) {
	mine := func(ev song.Event) bool {
		return ev.Kind() == 0xA0 && ev.Chan() == p.Channel && p.Keys.Has(ev.Data1())
	}
	if !slices.ContainsFunc(in.Tracks[p.Track].Events, mine) {
		return
	}
	i := 0
	e.RemoveEvents(p.Track, func(_ *song.Track, ev song.Event) bool {
		for i < len(ranges) && ranges[i].End <= ev.Tick {
			i++
		}
		return mine(ev) && i < len(ranges) && ranges[i].Has(ev.Tick)
	})
}

// restChannels puts pedals, bend and pressure to rest wherever every part of a channel is silenced.
func restChannels(e *song.Edit, in song.Song, ranges [][]song.Range) {
	type channel struct {
		track int
		ch    uint8
	}
	var seen []channel
	for i, p := range in.Parts {
		c := channel{p.Track, p.Channel}
		if len(ranges[i]) == 0 || slices.Contains(seen, c) {
			continue
		}
		seen = append(seen, c)
		silent := song.Union(ranges[i])
		for j, q := range in.Parts {
			if j != i && q.Track == p.Track && q.Channel == p.Channel {
				silent = song.Intersect(silent, song.Union(ranges[j]))
			}
		}
		if len(silent) == 0 {
			continue
		}
		for _, id := range []song.Controller{64, 66, 67, 69, song.Bend, song.Pressure} {
			if points := in.Points(p.Track, p.Channel, id); len(points) > 0 {
				e.Control(p.Track, p.Channel, id, resting(points, id, silent, in.End))
			}
		}
	}
}

// resting returns sweeps that hold a controller at rest.
func resting(points song.Points, id song.Controller, silent []song.Range, end song.Tick) []song.Sweep {
	rest := 0
	if id == song.Bend {
		rest = 8192
	}
	var out []song.Sweep
	for _, r := range silent {
		s := song.Sweep{Range: r, Home: -1}
		if v, known := points.At(r.Start - 1); known && v != rest { // what stands on the first tick is replaced
			s.Points = []song.Point{{Tick: r.Start, Value: rest}}
		}
		if v, known := points.At(r.End); !known || v == rest || r.End >= end {
			s.Hold = true // it is at rest there anyway, or nothing comes after
		}
		out = append(out, s)
	}
	return out
}
