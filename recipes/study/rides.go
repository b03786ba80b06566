package study

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// levels finds the voices that come up or down in a section. A level is the velocity that nine of ten onsets of a
// phrase do not exceed, or of half a section that is no longer than a phrase and a half; 3 dB, a ratio of velocities
// of 1.19, are told. A part that is as soft all the time is none: how loud a section is its energy says.
func (r *reader) levels(i int, known []Move) {
	const softer = .84
	sec := r.Sections[i]
	last := min(sec.Bar+sec.Bars-1, r.Bars)
	part := r.Phrase
	if 2*sec.Bars < 3*r.Phrase {
		part = max(sec.Bars/2, 1)
	}
	for k := range r.voices {
		v := &r.voices[k]
		runs := v.runs(sec)
		if v.apart || len(runs) == 0 || v.Job == song.JobBeat || told(known, v) {
			continue
		}
		first, end := sec.Bar+runs[0].first-1, sec.Bar+runs[len(runs)-1].last-1
		from := r.level(v, first, min(first+part-1, last))
		to := r.level(v, max(end-part+1, sec.Bar), end)
		if from == 0 || to == 0 {
			continue
		}
		if from, to = min(from/v.full, 1), min(to/v.full, 1); min(from, to) < softer*max(from, to) {
			r.add(i, "level of "+v.word, "shape", Option{"part", v.ifAny()}, Option{"over", sec.Ref}, Option{"from", percent(from)}, Option{"to", percent(to)})
		}
	}
}

// level returns how loud a voice is over bars, 0 where it strikes next to nothing.
func (r *reader) level(v *voice, first, last int) float64 {
	in := r.song.In(v.Part, r.song.BarRange(first, last))
	if len(in) < 4 {
		return 0
	}
	return upperVel(in)
}

// told tells whether one of the moves already says how loud a voice is.
func told(known []Move, v *voice) bool {
	return slices.ContainsFunc(known, func(m Move) bool {
		return (m.Name == "roll" || m.Name == "swell") && m.Options[0].Value == v.ifAny()
	})
}

// upperVel returns the velocity that nine of ten onsets do not exceed, of what is struck at once the
// loudest: soft hits between others do not lower it.
func upperVel(notes []song.Note) float64 {
	var onsets []int
	loudest := 0
	for i, n := range notes {
		if loudest = max(loudest, int(n.Vel)); i+1 == len(notes) || notes[i+1].Start > n.Start {
			onsets, loudest = append(onsets, loudest), 0
		}
	}
	slices.Sort(onsets)
	return float64(onsets[9*(len(onsets)-1)/10])
}

func percent(share float64) string { return fmt.Sprintf("%d%%", max(int(100*share+.5), 1)) }

// leastRide is by how many steps of 127 a controller moves in a ride.
const leastRide = 24

// rides finds where controllers of the voices move one way for a bar or longer. Where two voices share a
// track and channel nobody can ride one alone: it is told and left out.
func (r *reader) rides() {
	type lane struct {
		track   int
		channel uint8
	}
	sharing := map[lane][]string{}
	for k := range r.voices {
		l := lane{r.voices[k].Track, r.voices[k].Channel}
		sharing[l] = append(sharing[l], r.voices[k].word)
	}
	for k := range r.voices {
		v := &r.voices[k]
		l := lane{v.Track, v.Channel}
		if words := sharing[l]; len(words) > 1 {
			for _, id := range r.controllers(v) {
				if words[0] == v.word && len(r.rare(r.ramps(r.song.Points(v.Track, v.Channel, id), id))) > 0 {
					r.Told = append(r.Told, fmt.Sprintf("rides of %s on %s are left out: they share a track and channel", option.ControllerText(id), strings.Join(words, ", ")))
				}
			}
			continue
		}
		for _, id := range r.controllers(v) {
			for _, ramp := range r.rare(r.ramps(r.song.Points(v.Track, v.Channel, id), id)) {
				r.ride(v, id, ramp)
			}
		}
	}
}

// controllers returns what is set on the track and channel of a voice and a ride can move.
func (r *reader) controllers(v *voice) []song.Controller {
	var out []song.Controller
	for _, ev := range r.song.Tracks[v.Track].Events {
		id, _, ok := ev.Of()
		if !ok || ev.Chan() != v.Channel || slices.Contains(out, id) {
			continue
		}
		if _, err := option.ParseController(option.ControllerText(id)); err == nil {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// ramp is a stretch in which a controller moves one way.
type ramp []song.Point

// ramps returns the stretches in which values rise or fall by at least a fifth of what there is, in four
// steps or more that are less than a bar apart.
func (r *reader) ramps(points song.Points, id song.Controller) []ramp {
	var out []ramp
	tl := r.song.Time()
	for a := 0; a < len(points); {
		b, way := a, 0
		for b+1 < len(points) {
			d := points[b+1].Value - points[b].Value
			if points[b+1].Tick-points[b].Tick > tl.BarTicks(tl.BarOf(points[b].Tick)) || d == 0 && b == a || way*d < 0 {
				break
			}
			if d != 0 {
				way = d
			}
			b++
		}
		for b > a && points[b-1].Value == points[b].Value {
			b--
		}
		moved := points[b].Value - points[a].Value
		if b-a >= 4 && 128*max(moved, -moved) >= leastRide*(id.Max()+1) && points[b].Tick-points[a].Tick >= tl.BarTicks(tl.BarOf(points[a].Tick))*3/4 {
			out = append(out, ramp(points[a:b+1]))
		}
		a = max(b, a+1)
	}
	return out
}

// rare leaves out ramps that come again and again, from and to the same values over the same time: those are
// the part's own pattern.
func (r *reader) rare(ramps []ramp) []ramp {
	type shape struct {
		from, to int
		length   song.Tick
	}
	of := func(p ramp) shape { return shape{p[0].Value, p[len(p)-1].Value, p[len(p)-1].Tick - p[0].Tick} }
	count := map[shape]int{}
	for _, p := range ramps {
		count[of(p)]++
	}
	return slices.DeleteFunc(ramps, func(p ramp) bool { return count[of(p)] > 3 })
}

// ride adds a ride to the section in which it starts.
func (r *reader) ride(v *voice, id song.Controller, p ramp) {
	tl := r.song.Time()
	first, end := p[0], p[len(p)-1]
	from := tl.BarOf(first.Tick)
	to := tl.BarOf(end.Tick)
	if end.Tick == tl.BarStart(to) && to > from {
		to--
	}
	i, j := r.sectionAt(from), r.sectionAt(min(to, r.Bars))
	if i < 0 || j < 0 {
		return
	}
	before := r.Sections[0].Bar - 1
	over := barsText(from-before, to-before)
	switch a, b := r.Sections[i], r.Sections[j]; {
	case i == j && from == a.Bar && to == a.Bar+a.Bars-1:
		over = a.Ref
	case i == j:
		over = barsText(from-a.Bar+1, to-a.Bar+1) + " of " + a.Ref
	case from == a.Bar && to == b.Bar+b.Bars-1:
		over = "from " + a.Ref + " to " + r.Sections[min(j+1, len(r.Sections)-1)].Ref
		if j+1 == len(r.Sections) {
			over = barsText(from-before, to-before)
		}
	}
	middle, _ := song.Points(p).At((first.Tick + end.Tick) / 2)
	r.add(i, fmt.Sprintf("ride of %s on %s", option.ControllerText(id), v.word), "ride",
		Option{"part", v.ifAny()}, Option{"controller", option.ControllerText(id)}, Option{"over", over},
		Option{"from", fmt.Sprint(first.Value)}, Option{"to", fmt.Sprint(end.Value)}, Option{"curve", curveOf(first.Value, middle, end.Value)})
}

// curveOf tells a curve by its middle: even in value, or even in dB.
func curveOf(from, middle, to int) string {
	straight := (from + to) / 2
	if d := middle - straight; max(d, -d)*8 > max(to-from, from-to) && d < 0 {
		return "exp"
	}
	return "linear"
}

// drones holds a drone where one sounds.
func (r *reader) drones() {
	for k := range r.voices {
		v := &r.voices[k]
		if v.Role != song.RoleDrone {
			continue
		}
		for i, sec := range r.Sections {
			for _, run := range v.runs(sec) {
				over := sec.Ref
				if run.first > 1 || run.last < sec.Bars {
					over = barsText(run.first, run.last) + " of " + sec.Ref
				}
				r.add(i, "drone", "drone", Option{"over", over})
			}
		}
	}
}

// crashes strikes crashes where they are struck: at the starts of sections and of other bars.
func (r *reader) crashes() {
	tl := r.song.Time()
	for k := range r.voices {
		v := &r.voices[k]
		if !v.apart || v.Role != song.RoleCrash {
			continue
		}
		at := map[int][]string{}
		for _, n := range v.Notes {
			bar := tl.BarOf(r.song.Counted(n.Start))
			i := r.sectionAt(bar)
			if i < 0 || r.song.Counted(n.Start) != tl.BarStart(bar) {
				continue
			}
			place := r.Sections[i].Ref
			if bar > r.Sections[i].Bar {
				place = fmt.Sprintf("bar %d of %s", bar-r.Sections[i].Bar+1, place)
			}
			if !slices.Contains(at[i], place) {
				at[i] = append(at[i], place)
			}
		}
		for i := range r.Sections {
			if places := at[i]; len(places) > 0 {
				r.add(i, "crash", "hit", Option{"sound", "crash"}, Option{"at", listText(places)})
			}
		}
	}
}
