package moves

import (
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Plain lets parts play what they usually play where they depart from it.
type Plain struct {
	Target
}

func plainMove() Move {
	return Move{
		Group: Structure,
		Brief: "Let parts play what they usually play",
		Doc: `In the bars of its spans in which a part departs from what it usually plays, such as the turnaround at the end of the loop, it plays that. What is usual is worked out on the loop: the shortest pattern of bars from which at most a quarter of the part's bars depart. A rest in a bar that it usually plays is a departure. A part without such a pattern, or one that rests in half of its bars, stays as it is, which is told.

Adjoining bars that depart change together or not at all: where one of them lies outside the spans, even in part, all stay. So do bars in which the part's channel has bends, pressure or controllers, or in whose usual bar it has; bars that an earlier step or the line-up has changed; and those of a pitched part into whose usual bar a note is held.

A pitched part changes a bar only if each pitched part that sounds there has a usual one and does not depart from it, or changes the bar too: chord and bass stay together.`,
		New: func() Step { return &Plain{} },
		Example: func() Example {
			return Example{
				Step:   &Plain{Target: Target{Part: where.PartsOf("kick"), Over: where.SpansOf("bar 4")}},
				Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x.x.x.xxx.x.",
				After:  "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...",
			}
		},
	}
}

// Name implements [Step].
func (*Plain) Name() string { return "plain" }

// Apply implements [Step].
func (m *Plain) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if len(env.Parts) == 0 || len(env.Ranges) == 0 {
		return o, nil
	}
	all := make([]*habitual, len(in.Parts))
	for i := range in.Parts {
		all[i] = newHabitual(env, in, i)
	}
	var without []int
	for _, p := range env.Parts {
		if !all[p].known {
			without = append(without, p)
			continue
		}
		all[p].findDepartures(env, in)
	}
	o.leave(env, in, without, remark.NoHabit)
	keepTogether(in, env.Parts, all)
	e := in.Edit()
	var changed []int
	var bars []song.Range
	for _, p := range env.Parts {
		if len(all[p].goes) > 0 {
			changed = append(changed, p)
			bars = append(bars, all[p].play(e, env, in, p)...)
		}
	}
	if len(changed) == 0 {
		if !o.Idle() {
			o.nothing(remark.Remark{Kind: remark.NothingDeparts, Parts: partNames(in, env.Parts)})
		}
		return o, nil
	}
	o.changed(in, changed, song.Union(bars), "")
	return o.with(e.Song()), nil
}

// habitual is a part with what it usually plays. Bars of the song and of the cycle count from 1.
type habitual struct {
	name   string
	part   int           // index in the loop
	known  bool          // it has a usual bar for each of its cycle in some loop
	free   []bool        // of each bar of the loop, from 0: in it the part plays as it likes, there is no usual bar
	habit  form.Habit    // departures and usual bars, in bars of the loop; empty where the part repeats without any
	places []int         // of each bar of the song the bar of the loop that is laid there; 0: none
	notes  [][]song.Note // of each bar of the loop, from 0, its start taken for tick 0
	busy   []bool        // of each bar of the loop, whether its channel has bends or controllers
	sounds []bool        // of each bar of the song, from 0
	goes   []departure   // the departures that give way
}

// departure is a run of adjoining bars of the song that depart.
type departure struct{ first, last int }

func (d departure) has(bar int) bool { return bar >= d.first && bar <= d.last }

func newHabitual(env *Env, in song.Song, part int) *habitual {
	h := &habitual{name: in.Parts[part].Name, sounds: soundingBars(in, in.Parts[part])}
	i := env.Loop.Index(in.Parts[part].Name)
	if i < 0 {
		return h
	}
	h.part = i
	for loop := range max(len(env.Loops), 1) {
		h.findHabit(env, loop)
	}
	if !h.known {
		return h
	}
	if len(env.Loops) > 0 {
		h.places = env.laid(i)
	} else {
		h.places = lay.LoopBars(env.blocks(in), len(h.notes))
	}
	return h
}

// findHabit finds what the part usually plays in a loop.
func (h *habitual) findHabit(env *Env, loop int) {
	p, pass := env.Loop.Parts[h.part], max(env.pass(), 1)
	if len(env.Loops) > 0 {
		pass = env.Loops[loop].Bars
	}
	first, last := env.cycle(h.part, loop)
	habit := form.HabitFrom(env.Loop, p, first, last-first+1)
	known := habit.Pattern > 0 || last-first+1 < pass // what comes again sooner than the loop is usual all the time
	h.known = h.known || known
	for len(h.free) < last { // bars between loops are none's
		h.free, h.busy = append(h.free, !known), append(h.busy, false)
		h.notes, h.habit.Usual = append(h.notes, nil), append(h.habit.Usual, 0)
	}
	for _, bar := range habit.Departs {
		h.habit.Departs = append(h.habit.Departs, first-1+bar)
	}
	for i, bar := range habit.Usual {
		h.habit.Usual[first-1+i] = first - 1 + bar
	}
	tl := env.Loop.Time()
	for _, n := range p.Notes {
		bar := tl.BarOf(env.Loop.Counted(n.Start))
		n.Start, n.End = n.Start-tl.BarStart(bar), n.End-tl.BarStart(bar)
		if bar == last+1 && n.Start < 0 {
			bar = first // it leads into the first bar of the next pass
		}
		if bar >= first && bar <= last {
			h.notes[bar-1] = append(h.notes[bar-1], n)
		}
	}
	for _, ev := range env.Loop.Tracks[p.Track].Events {
		_, _, controls := ev.Of()
		if bar := tl.BarOf(ev.Tick); ev.Tick > tl.BarStart(first) && bar >= first && bar <= last && ev.Chan() == p.Channel && (controls || ev.Kind() == 0xA0) { // what stands on the first tick sets up
			h.busy[bar-1] = true
		}
	}
}

// soundingBars tells of each bar of a song whether a part sounds in it.
func soundingBars(s song.Song, p song.Part) []bool {
	out, counter := make([]bool, s.Bars()), s.Counter()
	for _, n := range p.Notes {
		last := s.Time().BarOf(max(n.End-1, n.Start))
		for bar := counter.Bar(n.Start); bar <= min(last, len(out)); bar++ {
			out[bar-1] = true
		}
	}
	return out
}

// departs tells whether a bar of the song is one that departs.
func (h *habitual) departs(bar int) bool {
	_, found := slices.BinarySearch(h.habit.Departs, h.places[bar-1])
	return found
}

// findDepartures finds the departures that may give way.
func (h *habitual) findDepartures(env *Env, in song.Song) {
	var runs []departure
	for bar := 1; bar <= min(in.Bars(), len(h.places)); bar++ {
		if !h.departs(bar) {
			continue
		}
		if n := len(runs); n > 0 && runs[n-1].last == bar-1 && h.places[bar-2] == h.places[bar-1]-1 {
			runs[n-1].last = bar
		} else {
			runs = append(runs, departure{bar, bar})
		}
	}
	for _, d := range runs {
		whole := true
		for bar := d.first; bar <= d.last && whole; bar++ {
			whole = h.mayGo(env, in, bar)
		}
		if whole {
			h.goes = append(h.goes, d)
		}
	}
}

// mayGo tells whether a bar of the song lies in the spans, is as the loop has it, and could be played as usual.
func (h *habitual) mayGo(env *Env, in song.Song, bar int) bool {
	place := h.places[bar-1]
	usual := h.habit.Usual[place-1]
	here, there := in.BarRange(bar, bar), env.Loop.BarRange(usual, usual)
	inside := slices.ContainsFunc(env.Ranges, func(r song.Range) bool { return r.Start <= here.Start && here.End <= r.End })
	return inside && here.Len() == there.Len() && !h.busy[place-1] && !h.busy[usual-1] && !h.heldInto(env, usual) && h.untouched(env, in, bar)
}

// heldInto tells whether a pitched part holds a note into a bar of its cycle.
func (h *habitual) heldInto(env *Env, bar int) bool {
	p := env.Loop.Parts[h.part]
	start := env.Loop.Time().BarStart(bar)
	return p.Pitched() && slices.ContainsFunc(p.Notes, func(n song.Note) bool {
		return env.Loop.Counted(n.Start) < start && n.End > start+env.Loop.Time().PPQ()/8
	})
}

// untouched tells whether the part plays a bar as the loop does: neither the line-up nor a step has changed it. Of a bar in
// which the loop rests, the bars beside it in its section tell whether the part is in.
func (h *habitual) untouched(env *Env, in song.Song, bar int) bool {
	same := func(bar int) (is, plays bool) {
		full, own := h.inBar(env.Full, bar), h.inBar(in, bar)
		return slices.EqualFunc(full, own, func(n, m song.Note) bool { return n.Start == m.Start && n.Key == m.Key }), len(full) > 0
	}
	is, plays := same(bar)
	if plays || !is {
		return is
	}
	first, last := 1, in.Bars()
	for _, s := range in.Sections {
		if bar >= s.Bar && bar < s.Bar+s.Bars {
			first, last = s.Bar, s.Bar+s.Bars-1
		}
	}
	for _, way := range []int{-1, 1} {
		for b := bar + way; b >= first && b <= last; b += way {
			if len(h.inBar(env.Full, b)) > 0 {
				return len(h.inBar(in, b)) > 0
			}
		}
	}
	return false
}

// inBar returns the notes of the part in a bar of a song.
func (h *habitual) inBar(s song.Song, bar int) []song.Note {
	if i := s.Index(h.name); i >= 0 {
		return s.In(s.Parts[i], s.BarRange(bar, bar))
	}
	return nil
}

// keepTogether takes a departure of a pitched part off those that give way if in one of its bars another pitched part
// sounds otherwise than it usually does, and goes on to do so. That is repeated until no more are taken off.
func keepTogether(in song.Song, parts []int, all []*habitual) {
	for again := true; again; {
		again = false
		for _, p := range parts {
			if !in.Parts[p].Pitched() {
				continue
			}
			n := len(all[p].goes)
			all[p].goes = slices.DeleteFunc(all[p].goes, func(d departure) bool {
				for bar := d.first; bar <= d.last; bar++ {
					for q, h := range all {
						if q != p && in.Parts[q].Pitched() && h.clashes(bar) {
							return true
						}
					}
				}
				return false
			})
			again = again || len(all[p].goes) < n
		}
	}
}

// clashes tells whether the part sounds in a bar otherwise than it usually does, and goes on to do so.
func (h *habitual) clashes(bar int) bool {
	if bar > len(h.sounds) || !h.sounds[bar-1] {
		return false
	}
	if !h.known || bar > len(h.places) || h.places[bar-1] > 0 && h.free[h.places[bar-1]-1] {
		return true
	}
	return h.departs(bar) && !slices.ContainsFunc(h.goes, func(d departure) bool { return d.has(bar) })
}

// play plays the usual bars in place of the departures, and returns where.
func (h *habitual) play(e *song.Edit, env *Env, in song.Song, part int) []song.Range {
	p := in.Parts[part]
	var bars []song.Range
	for _, d := range h.goes {
		bars = append(bars, in.BarRange(d.first, d.last))
	}
	e.Cut(part, bars, p.RingsOn())
	for _, d := range h.goes {
		for bar := d.first; bar <= d.last; bar++ {
			line := in.BarRange(bar, bar)
			for _, n := range h.notes[h.habit.Usual[h.places[bar-1]-1]-1] {
				n.Start, n.End = max(n.Start+line.Start, 0), n.End+line.Start
				if !p.RingsOn() {
					n.End = min(n.End, line.End)
				}
				e.Place(part, n)
			}
		}
	}
	return bars
}
