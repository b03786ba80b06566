package moves

import (
	"errors"
	"fmt"
	"slices"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Ride moves a controller of a part along a curve.
type Ride struct {
	Target
	Controller option.ControllerName `yaml:"controller" doc:"what is moved" required:"true"`
	From       option.ControlValue   `yaml:"from" doc:"value where a span starts; shares and steps are of home there"`
	To         option.ControlValue   `yaml:"to" doc:"value where a span ends; shares and steps are of home there" required:"true"`
	Curve      string                `yaml:"curve" words:"linear,exp,s" doc:"even steps, even ratios, or slow at both ends"`
	Hold       bool                  `yaml:"hold" doc:"stay at the last value instead of going home"`
}

func rideMove() Move {
	return Move{
		Group: Automation,
		Brief: "Move a controller, pitch bend or channel pressure along a curve",
		Doc: `Over each span the controller's events on the part's track and channel are replaced: the first stands where the span starts, then one for each changed value, none less than 10 ms after the one before, and the last is at the end value. Where the span ends the controller goes home; with hold, nothing more is written.

Home is what the loop has there, else the home the recipe gives the part, else the controller's default: volume 100, pan 64, expression 127, pedals, modulation and pressure 0, bend in the middle. Where none is known, 64 is taken and told; so is the nearest value the controller has where a share of home, or steps from it, lead past that. Home is also written at bar 1 and where each section starts, except inside a ride and after one that holds, so that playing from the middle sounds right.

By exp, a ride from or to 0 starts or ends at 1 on its way. Most instruments ignore a controller until someone maps it: what has to be mapped is told. A sound that shares its track and channel with others cannot be ridden alone.`,
		New: func() Step { return &Ride{From: option.HomePlus(0), Curve: Linear} },
		Example: func() Example {
			return Example{
				Step:   &Ride{Target: Target{Part: where.PartsOf("bass"), Over: where.SpansOf("bar 2")}, Controller: option.ControllerOf(74), From: option.HomeShare(35 * option.Whole / 100), To: option.HomePlus(0), Curve: Exp},
				Before: "bass ..x-..x-..x-..x-|..x-..x-..x-..x-",
				After:  "bass ..x-..x-..x-..x-|..x-..x-..x-..x-",
			}
		},
	}
}

// Name implements [Step].
func (*Ride) Name() string { return "ride" }

// Apply implements [Step].
func (r *Ride) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	id := r.Controller.ID
	if err := r.checkValues(id); err != nil {
		return Outcome{}, err
	}
	channels, err := wholeChannels(in, env.Parts)
	if err != nil {
		return Outcome{}, err
	}
	for _, parts := range channels { // the first that cannot have the values says enough
		if err := r.pastRange(&o, env, newHoming(env, in, parts, id)); err != nil {
			return Outcome{}, err
		}
	}
	out := in
	for _, parts := range channels {
		out = r.channel(&o, env.Ranges, env, out, parts)
	}
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("%s %s to %s", option.ControllerText(id), r.From.Texts()[0], r.To.Texts()[0]))
	return o.with(out), nil
}

func (r *Ride) checkValues(id song.Controller) error {
	if r.Controller.IsZero() {
		return &option.Mistake{Option: "controller", Found: "nothing", Want: r.Controller.Want()}
	}
	for _, o := range []struct {
		name  string
		value option.ControlValue
	}{{"from", r.From}, {"to", r.To}} {
		if o.value.IsZero() {
			return &option.Mistake{Option: o.name, Found: "nothing", Want: o.value.Want()}
		}
		if v, fixed := o.value.Fixed(); fixed && v > id.Max() {
			return &option.Mistake{Option: o.name, Found: o.value.Texts()[0], Want: fmt.Sprintf("0 to %d for %s", id.Max(), option.ControllerText(id))}
		}
	}
	if home := option.HomePlus(0); r.From == home && r.To == home {
		return &option.Mistake{Option: "to", Found: "home", Want: "another value than from"}
	}
	return nil
}

// pastRange finds steps from home that lead past what the controller has, wherever its home is. Others
// that do so where home is now are told, and the nearest value is taken.
func (r *Ride) pastRange(o *Outcome, env *Env, h *homing) error {
	var out []error
	for _, side := range []struct {
		name  string
		value option.ControlValue
		at    func(song.Range) song.Tick
	}{
		{"from", r.From, func(over song.Range) song.Tick { return over.Start }},
		{"to", r.To, func(over song.Range) song.Tick { return over.End }},
	} {
		for _, over := range env.Ranges {
			home := h.at(side.at(over))
			v, taken := side.value.Exact(home), side.value.Resolve(h.id, home)
			if v == taken {
				continue
			}
			if text := side.value.Texts()[0]; !side.value.Reaches(h.id) {
				out = append(out, &option.Mistake{Option: side.name, Found: fmt.Sprintf("%s, which is %d", text, v),
					Want: fmt.Sprintf("0 to %d for %s (home is %d)", h.id.Max(), option.ControllerText(h.id), home)})
				break
			} else {
				o.tell(remark.Remark{Kind: remark.ValuePast, Found: text, Controller: h.id, Parts: []string{h.part.Name}, Numbers: []int{v, taken}})
			}
		}
	}
	return errors.Join(out...)
}

// channel rides the controller over ranges on the channel of the parts.
func (r *Ride) channel(o *Outcome, ranges []song.Range, env *Env, in song.Song, parts []int) song.Song {
	h := newHoming(env, in, parts, r.Controller.ID)
	var sweeps []song.Sweep
	var rides []ride
	for _, over := range ranges {
		from, to := r.From.Resolve(h.id, h.at(over.Start)), r.To.Resolve(h.id, h.at(over.End))
		points := ridePoints(in.Time(), over, r.Curve, from, to)
		sweeps = append(sweeps, song.Sweep{Range: over, Points: points, Home: h.at(over.End), Force: true, Hold: r.Hold})
		rides = append(rides, ride{Range: over, hold: r.Hold})
	}
	return h.ride(o, env, in, parts, sweeps, rides)
}

// ride carries out sweeps of the controller of parts, which share a channel, and writes home where it belongs.
func (h *homing) ride(o *Outcome, env *Env, in song.Song, parts []int, sweeps []song.Sweep, rides []ride) song.Song {
	e := in.Edit()
	ridden := env.ridden(o, h, in.Parts[parts[0]].Name)
	if replaced, duck := replaces(rides, ridden.rides); replaced {
		kind := remark.RideReplaced
		if duck {
			kind = remark.DuckReplaced
		}
		o.tell(remark.Remark{Kind: kind, Controller: h.id, Parts: partNames(in, parts)})
	}
	h.removeHomes(e, ridden.homes)
	e.Control(h.part.Track, h.part.Channel, h.id, sweeps)
	ridden.rides = append(slices.Clip(ridden.rides), rides...)
	out := e.Song()
	e = e.Then(out)
	ridden.homes = h.writeHomes(e, out, ridden.rides)
	o.Ridden = withRidden(o.Ridden, ridden)
	if !h.known {
		o.tell(remark.Remark{Kind: remark.HomeUnknown, Controller: h.id, Parts: partNames(in, parts), Numbers: []int{guessedHome}})
	}
	return e.Song()
}

// replaces tells whether rides take the place of earlier ones where one or the other ducks, and whether the earlier one
// does. Of two plain rides the later one is the curve that is meant.
func replaces(rides, earlier []ride) (replaced, duck bool) {
	for _, was := range earlier {
		for _, r := range rides {
			if (r.duck || was.duck) && r.Start < was.End && was.Start < r.End {
				return true, was.duck
			}
		}
	}
	return false, false
}

// closest is how near two events of a ride may stand, in microseconds: 10 to 20 ms are heard as
// smooth (common practice, no source).
const closest = 10_000

// ridePoints returns the events of a ride: the first at the start, one for each changed value, the last
// at the end value, all before the end of the range.
func ridePoints(tl *smf.Timeline, r song.Range, curve string, from, to int) []song.Point {
	course := newCourse(curve, from, to)
	value := func(t song.Tick) int { return course.at(t-r.Start, r.Len()) }
	out := []song.Point{{Tick: r.Start, Value: from}}
	for {
		last := out[len(out)-1]
		changed := song.Tick(sort.Search(int(r.End-last.Tick)-1, func(i int) bool { return value(last.Tick+1+song.Tick(i)) != last.Value }))
		next := max(last.Tick+1+changed, soonest(tl, last.Tick))
		if next >= r.End {
			break
		}
		out = append(out, song.Point{Tick: next, Value: value(next)})
	}
	if last := &out[len(out)-1]; last.Value != to {
		if r.End-1 >= soonest(tl, last.Tick) {
			return append(out, song.Point{Tick: r.End - 1, Value: to})
		}
		last.Value = to
	}
	return out
}

// soonest returns the first tick at which an event may follow one at t.
func soonest(tl *smf.Timeline, t song.Tick) song.Tick {
	next := max(tl.TickAtMicros(tl.Micros(t)+closest), t+1)
	for tl.Micros(next)-tl.Micros(t) < closest {
		next++
	}
	return next
}
