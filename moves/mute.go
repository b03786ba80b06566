package moves

import (
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Mute silences parts over spans.
type Mute struct {
	Target
	Tails string `yaml:"tails" words:"cut,ring" doc:"what becomes of a note that rings into the span; left out, pitched parts are cut, drums and fx ring"`
}

func muteMove() Move {
	return Move{
		Group: Structure,
		Brief: "Silence parts over spans",
		Doc: `The notes that start in a span go. A pitched note that rings into it ends where it begins; drums and fx ring on. Where a part has its channel to itself, its pedals, bend and pressure rest for the span and then return to what the loop has there.

Where a span ends under a held note, pads, chords, strings and drones are struck again for the rest of it; other parts wait for their next onset.`,
		New: func() Step { return &Mute{} },
		Example: func() Example {
			return Example{
				Step:   &Mute{Target: Target{Part: where.PartsOf("bass"), Over: where.SpansOf("last 1 bar")}},
				Before: "kick x...x...x...x...|x...x...x...x...\nbass ..x-..x-..x-..x-|--x-..x-..x-..x-",
				After:  "kick x...x...x...x...|x...x...x...x...\nbass ..x-..x-..x-..x-|................",
			}
		},
	}
}

// Name implements [Step].
func (*Mute) Name() string { return "mute" }

// Apply implements [Step].
func (m *Mute) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	tails := song.TailsAuto
	switch m.Tails {
	case "cut":
		tails = song.TailsCut
	case "ring":
		tails = song.TailsRing
	}
	ranges := make([][]song.Range, len(in.Parts))
	for _, p := range env.Parts {
		ranges[p] = env.Ranges
	}
	out := Silence(in, ranges, tails)
	if !slices.ContainsFunc(env.Parts, func(p int) bool { return !slices.Equal(in.Parts[p].Notes, out.Parts[p].Notes) }) {
		o.checkNotes(env, in) // a note that rings into a span is cut there, though none starts in it
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(out), nil
}

// Silence silences each part over its ranges, which need not be sorted: the line-up of a section is
// carried out by it as the mute move is. tails overrules the parts' own unless it is TailsAuto.
func Silence(in song.Song, ranges [][]song.Range, tails song.Tails) song.Song {
	e := in.Edit()
	for i, p := range in.Parts {
		rs := union(ranges[i])
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

// union returns the ranges sorted, with overlapping and touching ones as one.
func union(ranges []song.Range) []song.Range {
	sorted := slices.Clone(ranges)
	slices.SortFunc(sorted, func(a, b song.Range) int { return int(a.Start - b.Start) })
	var out []song.Range
	for _, r := range sorted {
		switch n := len(out); {
		case r.Len() <= 0:
		case n > 0 && r.Start <= out[n-1].End:
			out[n-1].End = max(out[n-1].End, r.End)
		default:
			out = append(out, r)
		}
	}
	return out
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
		silent := union(ranges[i])
		for j, q := range in.Parts {
			if j != i && q.Track == p.Track && q.Channel == p.Channel {
				silent = intersect(silent, union(ranges[j]))
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

// intersect returns the stretches two sorted lists of ranges share.
func intersect(a, b []song.Range) []song.Range {
	var out []song.Range
	for len(a) > 0 && len(b) > 0 {
		r := song.Range{Start: max(a[0].Start, b[0].Start), End: min(a[0].End, b[0].End)}
		if r.Len() > 0 {
			out = append(out, r)
		}
		if a[0].End < b[0].End {
			a = a[1:]
		} else {
			b = b[1:]
		}
	}
	return out
}
