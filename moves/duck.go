package moves

import (
	"fmt"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Duck lowers a part's expression at each hit of another.
type Duck struct {
	Target
	By     where.Parts      `yaml:"by" doc:"the parts whose hits it gives way to" required:"true"`
	To     option.Share     `yaml:"to" range:"0%..99%" zero:"0%" doc:"share of its home to which expression falls"`
	Length option.NoteValue `yaml:"length" doc:"how long it takes to come back"`
}

func duckMove() Move {
	return Move{
		Group: Automation,
		Brief: "Lower a part at each hit of another",
		Doc: `At each hit of the parts in by that sounds in the spans, the expression (controller 11) of the part's track and channel falls to the share of its home, and rises evenly to home within the length, unless the next hit comes sooner. No event comes less than 10 ms after the one before. Home is the ride's, and is written where it writes it.

All of the controller's events in the spans are replaced: where a ride of expression and a duck meet, the later of the two stands, which is told. So is that a compressor in the mixer, fed by the same hits, may do it better: a duck is for where there is none. A sound that shares its track and channel with others cannot be ducked alone. Where nothing in by sounds, nothing is done, with a warning.`,
		New: func() Step { return &Duck{To: 40 * option.Whole / 100, Length: option.NoteValueOf(1, 8)} },
		Example: func() Example {
			return Example{
				Step:   &Duck{Target: Target{Part: where.PartsOf("bass"), Over: where.SpansOf("bar 2")}, By: where.PartsOf("kick"), To: 40 * option.Whole / 100, Length: option.NoteValueOf(1, 8)},
				Before: "kick x...x...x...x...|x...x...x...x...\nbass x---------------|x---------------",
				After:  "kick x...x...x...x...|x...x...x...x...\nbass x---------------|x---------------",
			}
		},
	}
}

// expression is the controller that ducks: it is there to lower a part for a while (MIDI 1.0 Detailed Specification,
// table 3; General MIDI Level 1 has every instrument listen to it).
const expression song.Controller = 11

// Name implements [Step].
func (*Duck) Name() string { return "duck" }

// Apply implements [Step].
func (d *Duck) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if err := d.check(); err != nil {
		return Outcome{}, err
	}
	by, err := d.By.Resolve(in)
	if err != nil {
		return Outcome{}, option.Named("by", err)
	}
	channels, err := wholeChannels(in, env.Parts)
	if err != nil {
		return Outcome{}, err
	}
	o.checkNotes(env, in)
	hits, any := d.hits(env, in, by)
	switch {
	case len(env.Parts) == 0 || len(env.Ranges) == 0:
		return o, nil
	case len(by) == 0:
		o.nothing(remark.Remark{Kind: remark.NoPart})
		return o, nil
	case !any:
		o.nothing(remark.Remark{Kind: remark.NothingPlays, Parts: partNames(in, by)})
		return o, nil
	}
	out := in
	for _, parts := range channels {
		out = d.channel(&o, env, out, parts, hits)
	}
	o.tell(remark.Remark{Kind: remark.DuckInMixer, Parts: partNames(in, env.Parts)})
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("by %s to %s", namesText(partNames(in, by)), d.To))
	return o.with(out), nil
}

func (d *Duck) check() error {
	switch {
	case d.By.IsZero():
		return &option.Mistake{Option: "by", Found: "nothing", Want: d.By.Want()}
	case d.To < 0 || d.To > 99*option.Whole/100:
		return &option.Mistake{Option: "to", Found: d.To.String(), Want: duckMove().Want("to")}
	case d.Length.IsZero():
		return &option.Mistake{Option: "length", Found: "nothing", Want: d.Length.Want()}
	}
	return nil
}

// hits returns per span the ticks at which the parts strike, rising, and whether there are any.
func (d *Duck) hits(env *Env, in song.Song, by []int) (hits [][]song.Tick, any bool) {
	hits = make([][]song.Tick, len(env.Ranges))
	for i, r := range env.Ranges {
		for _, p := range by {
			for _, n := range in.In(in.Parts[p], r) {
				hits[i] = append(hits[i], max(n.Start, r.Start))
			}
		}
		slices.Sort(hits[i])
		any = any || len(hits[i]) > 0
	}
	return hits, any
}

// channel ducks the channel of the parts.
func (d *Duck) channel(o *Outcome, env *Env, in song.Song, parts []int, hits [][]song.Tick) song.Song {
	h := newHoming(env, in, parts, expression)
	length := max(d.Length.Ticks(in.Time().PPQ()), 1)
	var sweeps []song.Sweep
	var rides []ride
	for i, over := range env.Ranges {
		if len(hits[i]) == 0 {
			continue
		}
		var points []song.Point
		if hits[i][0] > over.Start {
			points = []song.Point{{Tick: over.Start, Value: h.at(over.Start)}}
		}
		for k, at := range hits[i] {
			next := over.End
			if k+1 < len(hits[i]) {
				next = hits[i][k+1]
			}
			home := h.at(at)
			for _, p := range ridePoints(in.Time(), song.Range{Start: at, End: at + length}, Linear, d.To.Of(home), home) {
				if p.Tick < next {
					points = append(points, p)
				}
			}
		}
		sweeps = append(sweeps, song.Sweep{Range: over, Points: points, Home: h.at(over.End), Force: true})
		rides = append(rides, ride{Range: over, duck: true})
	}
	return h.ride(o, env, in, parts, sweeps, rides)
}
