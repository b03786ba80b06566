package moves

import (
	"fmt"
	"slices"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// LeadIn prepares lines that nothing prepares.
type LeadIn struct {
	At     where.Places `yaml:"at" doc:"the lines to prepare; a section is its start" required:"true"`
	With   option.Words `yaml:"with" words:"kick-out,bass-out,double,fill,roll,swell,ride,gap" doc:"the devices it may choose from; left out, all of them"`
	Length where.Length `yaml:"length" doc:"how long each device lasts before the line, at most as long as the section there; left out, what suits it"`
	Chance
}

func leadInMove() Move {
	return Move{
		Group: Composite,
		Brief: "Prepare the lines that nothing prepares yet",
		Doc: `A line is prepared where, in the last 4 bars before it or the last 8 before a drop, a part departs from its line-up up to the line. Lines that are prepared are left alone; at the others, what follows says how:

Into a break the kick is out for the last bar and the hook's reverb rises over four. Into a build something swells for a bar. Into a drop, as far as the loop goes, a drum rolls for up to 8 bars, the bass is out for one, something swells over two (four from 160 bpm), and all rests for about half a second. Into anything else one of: the kick out for half a bar, the kick doubled, the bass out for a bar, a short fill. Which one is up to chance, none twice in a row as long as there is a choice, and no two fills are alike. Where the loop has nothing for these, one of kick-out, double, bass-out, fill and swell stands in; a line for which there is none is told. No device leaves two bars silent.

kick-out takes the kick out, or where none plays the backbeat, the bass, the hook, the tops or what there is. double adds hits between the kick's. fill and roll are the moves of these names; swell plays a top backwards, else the hook or other music, a drum or the bass; gap takes everything out.`,
		New: func() Step { return &LeadIn{} },
		Example: func() Example {
			return Example{
				Step:     &LeadIn{At: where.PlacesOf("every section")},
				Before:   "kick x...x...x...x...|x...x...x...x...|................\npad  ................|................|x---------------",
				Sections: "groove 2, break 1",
				After:    "kick x...x...x...x...|................|................\npad  ................|................|x---------------",
			}
		},
	}
}

// Name implements [Step].
func (*LeadIn) Name() string { return "lead-in" }

// Apply implements [Step].
func (l *LeadIn) Apply(env *Env, in song.Song) (Outcome, error) { return InTurn(env, l, in) }

// Expand implements [Composer].
func (l *LeadIn) Expand(env *Env, in song.Song) (Expansion, error) {
	at, told, err := l.At.Resolve(env.SpanContext(in))
	if err != nil {
		return Expansion{}, option.Named("at", err)
	}
	tl := in.Time()
	w := leading{move: l, env: env, sketch: newSketch(*env, in), look: env.preparer()}
	for _, t := range at {
		bar := tl.BarOf(t)
		switch {
		case tl.BarStart(bar) != t:
			p := tl.Locate(t)
			return Expansion{}, &option.Mistake{Option: "at", Found: fmt.Sprintf("a place at beat %d of bar %d", p.Beat, p.Bar), Want: "places on bar lines"}
		case bar > 1 && t < in.End:
			if !w.prepared(w.sketch, bar) {
				w.prepare(bar)
			}
			w.before = bar
		}
	}
	x := expansion(w.sketch.steps, told, w.left)
	x.Heard = w.sketch.heard
	if len(w.done) == len(w.sketch.steps) { // no fill holds those before it
		x.Done, x.Song = w.done, w.sketch.song
	}
	return x, nil
}

// leading is a lead-in at work.
type leading struct {
	move   *LeadIn
	env    *Env
	sketch *sketch
	done   []Done // what the steps of the sketch came to
	look   *form.Preparer
	last   string          // the device chosen last
	before int             // the line before, 0 for none
	fills  []string        // the places of the fills so far
	left   []remark.Remark // the lines for which there was nothing
}

func (w *leading) prepared(s *sketch, bar int) bool {
	return w.look.Prepared(s.song, s.env.Lined, w.env.passTo(bar), bar)
}

// prepare leads into the line where a bar starts.
func (w *leading) prepare(bar int) {
	l := ledInto(w.sketch.song, bar)
	chance := NewRand(w.env.Seed, uint64(bar))
	used := 0
	for _, devices := range l.devices() {
		if w.useOne(devices, l, chance, used == 0) {
			used++
		}
	}
	if used == 0 && !w.useOne([]string{"kick-out", "double", "bass-out", "fill", "swell"}, l, chance, true) {
		w.left = append(w.left, remark.Remark{Kind: remark.NothingPrepares, Bar: bar, Within: l.name})
	}
}

// useOne carries out one of several devices, by chance, but not the one before if another will do.
func (w *leading) useOne(devices []string, l lineAhead, chance *Rand, alone bool) bool {
	shuffle(chance, devices)
	if i := slices.Index(devices, w.last); i >= 0 {
		devices = append(slices.Delete(devices, i, i+1), w.last)
	}
	return slices.ContainsFunc(devices, func(d string) bool { return w.move.With.Allows(d) && w.use(d, l, alone) })
}

// use carries a device out on the sketch; false where the loop does not allow it, or where it is to
// prepare the line alone and would not.
func (w *leading) use(device string, l lineAhead, alone bool) bool {
	for _, step := range w.steps(device, l) {
		next, ok := w.sketch.with(step)
		if !ok || alone && !w.prepared(next, l.bar) || !w.keeps(next, l) || !next.keepsEnergy() {
			continue
		}
		if fill, ok := step.(*Fill); ok { // one step holds all fills so far
			w.fills = fill.Over.Texts()
			next.steps = slices.DeleteFunc(next.steps, func(s Step) bool { f, ok := s.(*Fill); return ok && f != fill })
		}
		w.done, next.done = append(w.done, Handed(next.done, w.sketch.song)...), nil
		w.sketch, w.last = next, device
		return true
	}
	return false
}

// keeps tells whether the line before is still prepared on a sketch, if it was, and no bars are silent
// that were not: more than one in a row is too many.
func (w *leading) keeps(next *sketch, l lineAhead) bool {
	if w.before > 0 && w.prepared(w.sketch, w.before) && !w.prepared(next, w.before) {
		return false
	}
	first, last := max(l.from.Bar-1, 1), min(l.bar, l.song.Bars())
	return form.SilentPairs(next.song, first, last) <= form.SilentPairs(w.sketch.song, first, last)
}

// steps returns the ways to carry a device out, the better ones first.
func (w *leading) steps(device string, l lineAhead) []Step {
	over := func(length string) where.Spans {
		if !w.move.Length.IsZero() {
			length = w.move.Length.String()
		}
		if where.LengthOf(length).Start(l.song.Time(), l.at) < l.song.Time().BarStart(l.from.Bar) {
			length = where.LengthInBars(l.from.Bars).String()
		}
		return where.SpansOf(fmt.Sprintf("%s before bar %d", length, l.bar))
	}
	on := func(length, part string) Target { return Target{Part: where.PartsOf(part), Over: over(length)} }
	gap := where.Gap{Auto: l.kind == song.KindDrop && w.move.With.Allows("gap")}
	switch device {
	case "kick-out":
		length := "1/2"
		if l.kind == song.KindBreak {
			length = "1 bar"
		}
		var out []Step
		for _, part := range []string{"beat", "backbeat", "bass", "hook", "tops", "perc", "bed", "extra"} {
			out = append(out, &Mute{Target: on(length, part)})
		}
		return out
	case "bass-out":
		return []Step{&Mute{Target: on("1 bar", "bass")}}
	case "double":
		return []Step{&Double{Target: on("1/2", "beat"), Velocity: 85 * option.Whole / 100}}
	case "fill":
		drums := where.PartsOf("drums")
		if l.from.Kind == song.KindBreak { // no kick in a break
			drums = where.PartsOf("backbeat", "perc", "tops")
		}
		f := &Fill{Target: Target{Part: drums, Over: over("1/2")}, Velocity: option.SharesOf(70*option.Whole/100, 105*option.Whole/100), Chance: Chance{option.SeedOf(w.env.Seed)}}
		f.Over = where.SpansOf(append(slices.Clone(w.fills), f.Over.Texts()...)...)
		return []Step{f}
	case "roll":
		return []Step{&Roll{
			Target: on(l.rollLength(), "snare or clap or tom or tops 1 or beat if any"),
			From:   option.NoteValueOf(1, 4), To: option.NoteValueOf(1, 32), Velocity: option.SharesOf(40*option.Whole/100, 105*option.Whole/100), Gap: gap,
		}}
	case "swell":
		return []Step{&Swell{Target: on(l.swellLength(), "tops 1 or hook or extra or bed or perc or backbeat or bass or beat if any"), Velocity: option.SharesOf(15*option.Whole/100, option.Whole), Gap: gap}}
	case "ride":
		return []Step{&Ride{Target: on("4 bars", "hook"), Controller: option.ControllerOf(91), From: option.HomePlus(0), To: option.HomePlus(40), Curve: Linear}}
	case "gap":
		return []Step{&Mute{Target: on(where.LengthInBeats(gapBeats(w.sketch.song, l.at)).String(), "all")}}
	}
	return nil
}

// lineAhead is a line and what it leads into.
type lineAhead struct {
	song song.Song
	bar  int
	at   song.Tick
	kind song.Kind    // of the section that starts there, NoKind for none
	name string       // of that section
	from song.Section // the section before, or all before
}

func ledInto(s song.Song, bar int) lineAhead {
	l := lineAhead{song: s, bar: bar, at: s.Time().BarStart(bar), from: song.Section{Bar: 1, Bars: bar - 1}}
	i := sort.Search(len(s.Sections), func(i int) bool { return s.Sections[i].Bar >= bar })
	if i > 0 {
		l.from = s.Sections[i-1]
		l.from.Bars = bar - l.from.Bar
	}
	if i < len(s.Sections) && s.Sections[i].Bar == bar {
		l.kind, l.name = s.Sections[i].Kind, s.Sections[i].Name
	}
	return l
}

// devices returns what leads into the line: one of each list, as far as the loop goes. The directions
// are common practice, no source.
func (l lineAhead) devices() [][]string {
	switch l.kind {
	case song.KindBreak:
		return [][]string{{"kick-out"}, {"ride"}}
	case song.KindBuild:
		return [][]string{{"swell"}}
	case song.KindDrop:
		return [][]string{{"roll"}, {"bass-out"}, {"swell"}, {"gap"}}
	}
	return [][]string{{"kick-out", "double", "bass-out", "fill"}}
}

// rollLength returns how long a roll into a drop lasts: all of a build-up to 8 bars, half of a break,
// 2 bars where the groove has gone on before it. Common practice, no source.
func (l lineAhead) rollLength() string {
	bars := 2
	switch l.from.Kind {
	case song.KindBuild:
		bars = 8
	case song.KindBreak:
		bars = 4
	}
	return where.LengthInBars(min(bars, l.from.Bars)).String()
}

// swellLength returns how long a swell lasts: 1 bar, before a drop 2, from 160 bpm 4, at most half of
// the section it ends. Common practice, no source.
func (l lineAhead) swellLength() string {
	bars := 1
	if l.kind == song.KindDrop {
		bars = 2
		if l.song.Time().TempoAt(l.at-1) <= 60_000_000/160 {
			bars = 4
		}
	}
	return where.LengthInBars(min(bars, l.from.Bars/2)).String()
}
