package moves

import (
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

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

// ride is a stretch in which a controller was ridden.
type ride struct {
	song.Range
	hold bool
	duck bool // it is made of dips
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

// wholeChannels groups parts by track and channel. A channel of which a part is missing is an error:
// its controllers are everybody's.
func wholeChannels(in song.Song, parts []int) ([][]int, error) {
	var out [][]int
	for i, p := range parts {
		first := slices.IndexFunc(parts[:i], func(q int) bool { return sameChannel(in.Parts[q], in.Parts[p]) })
		if first >= 0 {
			continue
		}
		var all []int
		for j := range in.Parts {
			if sameChannel(in.Parts[j], in.Parts[p]) {
				all = append(all, j)
			}
		}
		for _, j := range all {
			if !slices.Contains(parts, j) {
				return nil, &option.Mistake{
					Option: "part", Found: in.Parts[p].Name,
					Want: "all that share its track and channel: " + namesText(partNames(in, all)),
					Hint: groupOf(in, all),
				}
			}
		}
		out = append(out, all)
	}
	return out, nil
}

// namesText returns names as one says them: a, b and c.
func namesText(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

func sameChannel(p, q song.Part) bool { return p.Track == q.Track && p.Channel == q.Channel }

// groupOf returns the job or group that holds the parts and no others, else a list of them.
func groupOf(s song.Song, parts []int) string {
	var words []string
	for _, j := range song.Jobs() {
		words = append(words, string(j))
	}
	for _, word := range append(words, song.Groups()...) {
		if slices.Equal(where.PartsMeant(s, word), parts) {
			return word
		}
	}
	var names []string
	for _, p := range parts {
		names = append(names, where.PartText(s, p))
	}
	return "[" + strings.Join(names, ", ") + "]"
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

// ridden returns the entry of a controller as this step or one before left it, or a new one.
func (e *Env) ridden(o *Outcome, h *homing, part string) Ridden {
	out := Ridden{Part: part, Controller: h.id, Home: h.at(0), Mapped: h.mapped}
	for _, r := range slices.Concat(e.Ridden, o.Ridden) {
		if r.same(out) {
			out = r
		}
	}
	return out
}

// homing knows where a controller of a channel is at home.
type homing struct {
	id     song.Controller
	part   song.Part // as the song has it
	loop   song.Song // what the loop has there
	source song.Part // the part in it
	points song.Points
	given  int  // home where the loop has nothing
	known  bool // it is more than a guess
	mapped bool // the instrument is known to listen
}

// guessedHome is taken where no home is known. Common practice, no source: the middle.
const guessedHome = 64

func newHoming(env *Env, in song.Song, parts []int, id song.Controller) *homing {
	h := &homing{id: id, part: in.Parts[parts[0]], loop: env.Full}
	if i := env.Full.Index(h.part.Name); i >= 0 {
		h.source = env.Full.Parts[i]
	} else { // a part that a move added
		h.loop, h.source = in, h.part
	}
	h.points = h.loop.Points(h.source.Track, h.source.Channel, id)
	h.given, h.known = id.Default()
	if !h.known {
		h.given = guessedHome
	}
	for _, p := range slices.Backward(parts) { // the first part's word counts
		for _, home := range in.Parts[p].Home {
			if home.Controller == id {
				h.given, h.known = home.Value, true
			}
		}
		h.mapped = h.mapped || slices.Contains(in.Parts[p].Mapped, id)
	}
	uses := h.uses()
	h.known = h.known || uses
	h.mapped = h.mapped || uses || id == 7 || id == 10 || id == song.Bend
	return h
}

func (h *homing) uses() bool { return len(h.points) > 0 }

// at returns home at a tick.
func (h *homing) at(t song.Tick) int {
	if v, ok := h.points.At(t); ok {
		return v
	}
	return h.given
}

// is tells whether an event sets the controller.
func (h *homing) is(ev song.Event) bool {
	id, _, ok := ev.Of()
	return ok && id == h.id && ev.Chan() == h.part.Channel
}

// removeHomes takes out what writeHomes wrote before.
func (h *homing) removeHomes(e *song.Edit, homes []song.Tick) {
	if len(homes) == 0 {
		return
	}
	e.RemoveEvents(h.part.Track, func(_ *song.Track, ev song.Event) bool {
		return ev.New && h.is(ev) && slices.Contains(homes, ev.Tick)
	})
}

// writeHomes writes home at bar 1 and the starts of sections, except inside a ride, after one that
// holds, and where the controller is set anyway; it returns where.
func (h *homing) writeHomes(e *song.Edit, out song.Song, rides []ride) []song.Tick {
	places := []song.Tick{0}
	for _, s := range out.Sections {
		places = append(places, out.SectionRange(s).Start)
	}
	var set []song.Tick
	for _, ev := range out.Tracks[h.part.Track].Events {
		if h.is(ev) {
			set = append(set, ev.Tick)
		}
	}
	var homes []song.Tick
	for _, t := range slices.Compact(places) {
		if _, there := slices.BinarySearch(set, t); there || t >= out.End || !free(rides, t) {
			continue
		}
		if _, ok := h.points.At(t); !ok && h.uses() {
			continue // the loop's own first value is still to come
		}
		e.Insert(h.part.Track, controlEvent(h.part.Channel, h.id, t, h.at(t)))
		homes = append(homes, t)
	}
	return homes
}

// free tells whether home may stand at a tick: no ride moves or holds the controller there.
func free(rides []ride, t song.Tick) bool {
	var last ride // the one that started last before t, the later carried out of two
	for _, r := range rides {
		if r.Start <= t && r.Start >= last.Start {
			last = r
		}
	}
	return last.Len() == 0 || !last.Has(t) && !last.hold
}

func controlEvent(channel uint8, id song.Controller, at song.Tick, value int) smf.Event {
	switch id {
	case song.Bend:
		return smf.Channel(at, 0xE0|channel, byte(value&0x7F), byte(value>>7))
	case song.Pressure:
		return smf.Channel(at, 0xD0|channel, byte(value), 0)
	}
	return smf.Channel(at, 0xB0|channel, byte(id), byte(value))
}

// closest is how near two events of a ride may stand, in microseconds: 10 to 20 ms are heard as
// smooth (common practice, no source).
const closest = 10_000

// ridePoints returns the events of a ride: the first at the start, one for each changed value, the last
// at the end value, all before the end of the range.
func ridePoints(tl *smf.Timeline, r song.Range, curve string, from, to int) []song.Point {
	value := func(t song.Tick) int { return curveAt(curve, from, to, t-r.Start, r.Len()) }
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
