package form

import (
	"math"
	"slices"
	"sort"

	"loopdraft/smf/song"
)

// channels is how many channels a port has.
const channels = 16

// lane is a channel of a track.
type lane struct {
	track   int
	channel uint8
}

// mixer is what a channel is set to as time goes by.
type mixer struct {
	program, volume, expression, pedal song.Points
	gains                              []gain // made of volume and expression
	borrows                            bool   // the pedal is that of all tracks
}

// gain is a gain of power that holds from a time in seconds on, and its integral up to there.
type gain struct{ at, value, before float64 }

// same tells whether two mixers are set alike at all times.
func (x *mixer) same(y *mixer) bool {
	return slices.Equal(x.program, y.program) && slices.Equal(x.volume, y.volume) && slices.Equal(x.expression, y.expression) && slices.Equal(x.pedal, y.pedal) && x.borrows == y.borrows
}

// take notes what an event sets.
func (x *mixer) take(e song.Event) {
	set := func(p *song.Points, v int) { *p = append(*p, song.Point{Tick: e.Tick, Value: v}) }
	switch id, v, _ := e.Of(); {
	case e.Kind() == 0xC0:
		set(&x.program, int(e.Data1()))
	case e.Kind() == 0xB0 && e.Data1() == 121: // reset all controllers, MMA RP-015: volume stays
		set(&x.expression, 127)
		set(&x.pedal, 0)
	case e.Kind() != 0xB0:
	case id == 7:
		set(&x.volume, v)
	case id == 11:
		set(&x.expression, v)
	case id == 64:
		set(&x.pedal, v)
	}
}

func (x *mixer) settings() [4]*song.Points {
	return [4]*song.Points{&x.program, &x.volume, &x.expression, &x.pedal}
}

// setGains merges volume and expression.
func (x *mixer) setGains(s song.Song) {
	volume, _ := song.Controller(7).Default()
	expression, _ := song.Controller(11).Default()
	value := func() float64 { return fourth(float64(volume*expression) / (127 * 127)) }
	x.gains = []gain{{value: value()}}
	for v, e := x.volume, x.expression; len(v)+len(e) > 0; {
		var tick song.Tick
		if len(e) == 0 || len(v) > 0 && v[0].Tick <= e[0].Tick {
			tick, volume, v = v[0].Tick, v[0].Value, v[1:]
		} else {
			tick, expression, e = e[0].Tick, e[0].Value, e[1:]
		}
		at, last := s.Time().Seconds(tick), x.gains[len(x.gains)-1]
		x.gains = append(x.gains, gain{at, value(), last.upTo(at)})
	}
}

// upTo returns the integral of the gains up to a time at which this one holds.
func (g gain) upTo(t float64) float64 { return g.before + float64(g.value*(t-g.at)) }

// gain returns the mean gain of power from one time to another, in seconds.
func (x *mixer) gain(from, to float64) float64 {
	i := x.holding(from)
	if i+1 == len(x.gains) || x.gains[i+1].at >= to {
		return x.gains[i].value
	}
	return (x.gains[x.holding(to)].upTo(to) - x.gains[i].upTo(from)) / (to - from)
}

// holding returns the index of the gain that holds at a time.
func (x *mixer) holding(t float64) int {
	if len(x.gains) == 1 { // most parts
		return 0
	}
	return max(0, sort.Search(len(x.gains), func(i int) bool { return x.gains[i].at > t })-1)
}

// letGo returns the tick at which a note that ends at a tick is let go: then, or where the sustain
// pedal, down at that tick, comes up (64 to 127 is down: MIDI 1.0 table 3).
func (x *mixer) letGo(end song.Tick) song.Tick {
	if len(x.pedal) == 0 { // most parts
		return end
	}
	if v, _ := x.pedal.At(end); v < 64 {
		return end
	}
	for i := sort.Search(len(x.pedal), func(i int) bool { return x.pedal[i].Tick > end }); i < len(x.pedal); i++ {
		if x.pedal[i].Value < 64 {
			return x.pedal[i].Tick
		}
	}
	return math.MaxInt64
}

func fourth(x float64) float64 {
	x = float64(x * x)
	return float64(x * x)
}
