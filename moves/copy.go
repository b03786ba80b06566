package moves

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Copy puts bars in other places, in the place of what is there.
type Copy struct {
	Target
	To     where.Places `yaml:"to" doc:"where the copies start" required:"true"`
	Length where.Length `yaml:"length" doc:"how much is replaced from each place: the bars are repeated or cut to it; left out, as much as is copied"`
}

func copyMove() Move {
	return Move{
		Group: Structure,
		Brief: "Put bars in other places, replacing what is there",
		Doc: `What the parts play in the one span of over, which has to be given, is put in each place of to; what they played there goes. With length, the copy repeats from its start until the length is full, or is cut to it. Where another place lies within a copy, the copy ends there; at the end of the song it is cut. All copies are of the song as it was before the step. Times are counted in notes: under another metre a copy runs across the bar lines.

A pitched note ends with its copy, and one that rings into the place ends where the copy begins; drums and fx ring on. Pads, chords, strings and drones that are held into the span are struck at the start of the copy, and those held over its end are struck again where it ends.

Controllers, bend and pressure are copied with the values that are in force where the span begins, and return to what the song has where a copy ends; where other parts share the channel they stay as they are. Bank, program and parameter numbers stay.`,
		New: func() Step { return &Copy{} },
		Example: func() Example {
			return Example{
				Step:   &Copy{Target: Target{Part: where.PartsOf("kick"), Over: where.SpansOf("bar 1")}, To: where.PlacesOf("bar 3")},
				Before: "kick x...x...x...x.x.|x...x...x...x...|x.......x.......\nhat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.",
				After:  "kick x...x...x...x.x.|x...x...x...x...|x...x...x...x.x.\nhat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.",
			}
		},
	}
}

// Name implements [Step].
func (*Copy) Name() string { return "copy" }

// Apply implements [Step].
func (c *Copy) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if c.Over.IsZero() {
		return Outcome{}, &option.Mistake{Option: "over", Found: "nothing", Want: "the span that is copied"}
	}
	if len(env.Ranges) != 1 {
		return Outcome{}, &option.Mistake{Option: "over", Found: fmt.Sprintf("%d spans", len(env.Ranges)), Want: "one span, which is copied"}
	}
	places, err := o.places(env, "to", c.To, in)
	if err != nil {
		return Outcome{}, err
	}
	o.checkNotes(env, in)
	source := env.Ranges[0]
	targets, err := c.targets(&o, in, source, places)
	if err != nil || len(targets) == 0 {
		return o, err
	}
	e := in.Edit()
	for _, p := range env.Parts {
		copyNotes(e, in, p, source, targets)
	}
	for _, parts := range env.channels(in) {
		copyControllers(e, in, in.Parts[parts[0]], source, targets)
	}
	o.changed(in, env.Parts, targets, "")
	return o.with(e.Song()), nil
}

// targets returns the ranges that are replaced.
func (c *Copy) targets(o *Outcome, in song.Song, source song.Range, places []song.Tick) ([]song.Range, error) {
	if err := c.Length.Err(); err != nil {
		return nil, option.Named("length", err)
	}
	var out []song.Range
	for _, at := range places {
		if at >= in.End {
			o.tell(remark.Remark{Kind: remark.NoCopyAtEnd})
			continue
		}
		r := song.Range{Start: at, End: at + source.Len()}
		if !c.Length.IsZero() {
			r.End = c.Length.End(in.Time(), at)
			if r.End <= at {
				return nil, &option.Mistake{Option: "length", Found: c.Length.String(), Want: "at least a tick"}
			}
		}
		r.End = min(r.End, in.End)
		if n := len(out); n > 0 {
			out[n-1].End = min(out[n-1].End, at)
		}
		out = append(out, r)
	}
	if len(out) == 0 {
		o.nothing(remark.Remark{Kind: remark.NothingCopied})
	}
	return out, nil
}

// passes calls f with how far the source is moved for each time it stands in a target, and with the
// stretch it takes there.
func passes(source, target song.Range, f func(by song.Tick, stretch song.Range)) {
	for at := target.Start; at < target.End; at += source.Len() {
		f(at-source.Start, song.Range{Start: at, End: min(at+source.Len(), target.End)})
	}
}

func copyNotes(e *song.Edit, in song.Song, part int, source song.Range, targets []song.Range) {
	p := in.Parts[part]
	notes := notesOver(in, p, []song.Range{source})[0]
	pressure := pressureOver(in, p, source)
	clearSpans(e, in, part, targets)
	for _, target := range targets {
		passes(source, target, func(by song.Tick, stretch song.Range) {
			for _, n := range notes {
				n.Start, n.End = max(n.Start+by, 0), n.End+by
				if !p.RingsOn() {
					n.End = min(n.End, stretch.End)
				}
				if in.Counted(n.Start) < stretch.End {
					e.Place(part, n)
				}
			}
			for _, ev := range pressure {
				if at := ev.Tick + by; at < stretch.End {
					e.Insert(p.Track, ev.At(at))
				}
			}
		})
	}
}

func copyControllers(e *song.Edit, in song.Song, p song.Part, source song.Range, targets []song.Range) {
	for _, id := range usedControllers(in, p) {
		points := in.Points(p.Track, p.Channel, id)
		var sweeps []song.Sweep
		for _, target := range targets {
			s := song.Sweep{Range: target, Home: -1, Hold: target.End >= in.End}
			if v, ok := id.Default(); ok {
				s.Home = v
			}
			passes(source, target, func(by song.Tick, stretch song.Range) {
				s.Points = append(s.Points, copiedPoints(points, id, source, by, stretch)...)
			})
			sweeps = append(sweeps, s)
		}
		e.Control(p.Track, p.Channel, id, sweeps)
	}
}

// copiedPoints returns what sets a controller in the source, moved to a stretch, and before it the
// value in force where the source begins.
func copiedPoints(points song.Points, id song.Controller, source song.Range, by song.Tick, stretch song.Range) []song.Point {
	var out []song.Point
	v, known := points.At(source.Start)
	if !known {
		v, known = id.Default()
	}
	if known {
		out = append(out, song.Point{Tick: stretch.Start, Value: v})
	}
	for _, q := range points {
		if q.Tick > source.Start && q.Tick < source.End && q.Tick+by < stretch.End {
			out = append(out, song.Point{Tick: q.Tick + by, Value: q.Value})
		}
	}
	return out
}

// usedControllers returns the controllers that are set on a part's channel, in order of their
// numbers, without bank and parameter numbers.
func usedControllers(in song.Song, p song.Part) []song.Controller {
	var used [song.Pressure + 1]bool
	for _, ev := range in.Tracks[p.Track].Events {
		if id, _, ok := ev.Of(); ok && ev.Chan() == p.Channel && (id >= song.Bend || !option.ReservedController(int(id))) {
			used[id] = true
		}
	}
	var out []song.Controller
	for id, is := range used {
		if is {
			out = append(out, song.Controller(id))
		}
	}
	return out
}
