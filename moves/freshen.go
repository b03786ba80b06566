package moves

import (
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Freshen changes something at each line where nothing changes.
type Freshen struct {
	Every  where.Bars   `yaml:"every" doc:"how far apart the lines are; left out, the recipe's phrase"`
	Over   where.Spans  `yaml:"over" doc:"where it looks for lines; left out, in all of the song"`
	Except where.Spans  `yaml:"except" doc:"where it changes nothing: no line is looked for there, and no change lasts into it"`
	Part   where.Parts  `yaml:"part" doc:"the parts that may change; left out, all of them"`
	With   option.Words `yaml:"with" words:"hold-back,half,ghosts,octave,out,guest,double,soft" doc:"the changes it may choose from; left out, all of them"`
	Chance
}

func freshenMove() Move {
	return Move{
		Group: Composite,
		Brief: "Change something at each line where nothing changes",
		Doc: `Lines are counted in each section from its first bar, in a song without sections from bar 1. At each one the phrase after it is compared with the phrase before: a line is changed where a part comes in or goes out for half a phrase, plays a third more or fewer onsets, in other places, an octave higher or 3 dB louder; what lasts for less than two bars, or half of a shorter phrase, does not count, nor does what is not heard: the whole or a band of it (under 150 Hz, to 2.5 kHz, above) moves by 1 dB. Lines that are changed are left alone. At the others one change is made that lasts to the next line:

hold-back keeps one of two parts that came in at the line before out until this one; half leaves a top half of its hits, then the bass, the kick or the hook; ghosts adds soft sixteenths to a top, or to the kick; octave adds the hook an octave higher, then the bass; out takes percussion or a top out; guest lets a part in that does not play, half of it; double adds hits between a part's own; soft takes a part down by 4 dB.

The first that fits is taken, in drops those that add before those that take away, at every second line a part or a layer in or out before the others, and at every fourth two of them. Which of several parts it is, is up to chance. The change before and the one before that are not made again as long as there is another. A change begins in the third bar of a drop, not the first. It is not made where it would leave a bar silent or, in a break, one part alone, undo the change or the preparation of another line, or bring kick or bass into a break. Single bars may be silent where nothing else fits, but not in an intro, an outro, or a break of two parts. A line where none fits is left and told. With part, changes are made with its parts alone.`,
		New: func() Step { return &Freshen{} },
		Example: func() Example {
			return Example{
				Step:   &Freshen{Every: 2, Chance: Chance{option.SeedOf(1)}},
				Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
				After:  "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x...x...x...x...|x...x...x...x...",
			}
		},
	}
}

// Name implements [Step].
func (*Freshen) Name() string { return "freshen" }

// Apply implements [Step].
func (f *Freshen) Apply(env *Env, in song.Song) (Outcome, error) { return InTurn(env, f, in) }

// Expand implements [Composer].
func (f *Freshen) Expand(env *Env, in song.Song) (Expansion, error) {
	every := env.phrase()
	if !f.Every.IsZero() {
		every = int(f.Every)
	}
	pieces, told, err := env.pieces(f.Over, f.Except, in)
	if err != nil {
		return Expansion{}, err
	}
	except, _, err := f.Except.Resolve(env.SpanContext(in))
	if err != nil || f.Except.IsZero() {
		except = nil
	}
	told = slices.DeleteFunc(told, func(r remark.Remark) bool { return r.Kind == remark.SpansCut }) // it works at lines
	only, err := f.parts(in)
	if err != nil {
		return Expansion{}, err
	}
	w := freshening{move: f, except: except, only: only, env: env, sketch: newSketch(*env, in), rule: form.DefaultLineRule(every), lines: phraseLines(in, every)}
	w.made = make([][]string, len(w.lines))
	for i, line := range w.lines[:max(len(w.lines)-1, 0)] {
		at := in.Time().BarStart(line.bar)
		if line.bar > 1 && slices.ContainsFunc(pieces, func(p song.Piece) bool { return p.Has(at) }) && !w.changed(w.sketch, i) {
			w.freshen(i)
		}
	}
	return expansion(w.sketch.steps, told, w.left), nil
}

// parts tells of each part of a song whether it may change.
func (f *Freshen) parts(in song.Song) ([]bool, error) {
	out := make([]bool, len(in.Parts))
	if f.Part.IsZero() {
		for i := range out {
			out[i] = true
		}
		return out, nil
	}
	parts, err := f.Part.Resolve(in)
	if err != nil {
		return nil, option.Named("part", err)
	}
	for _, p := range parts {
		out[p] = true
	}
	return out, nil
}

// phraseLine is a line at which something should change.
type phraseLine struct {
	bar    int
	kind   song.Kind // of the section it is in
	starts bool      // the section starts there, and not the song
}

// phraseLines returns the lines of a song, and its end as the last.
func phraseLines(s song.Song, every int) []phraseLine {
	sections := s.Sections
	if len(sections) == 0 {
		sections = []song.Section{{Bar: 1, Bars: s.Bars()}}
	}
	var out []phraseLine
	for _, sec := range sections {
		for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar += every {
			out = append(out, phraseLine{bar, sec.Kind, bar == sec.Bar && bar > 1})
		}
	}
	return append(out, phraseLine{bar: s.Bars() + 1})
}

// freshChange is a change that freshen can make at a line.
type freshChange struct {
	name   string
	before bool                            // it is made in the phrase before the line, not in the one after it
	rests  bool                            // it is made with a part that rests there, not with one that plays
	jobs   func(song.Kind) [][]song.Job    // of the parts it is made with in a kind of section, the better ones first
	ways   func(Target, song.Job) [][]Step // the steps that make it with a part of a job, the softer ways first
}

// changes returns the changes there are. What they are made with is common practice, no source.
func (w *freshening) changes() []freshChange {
	const tops, perc, hook, bass, bed, extra, beat, backbeat = song.JobTops, song.JobPerc, song.JobHook, song.JobBass, song.JobBed, song.JobExtra, song.JobBeat, song.JobBackbeat
	type jobs = []song.Job
	always := func(all ...jobs) func(song.Kind) [][]song.Job {
		return func(song.Kind) [][]song.Job { return all }
	}
	percent := func(n int) option.Share { return option.Share(n) * option.Whole / 100 }
	chance := Chance{option.SeedOf(w.env.Seed)}
	half := func(on Target) Step { return &Thin{Target: on, Keep: KeepShare(percent(50)), Chance: chance} }
	silence := func(on Target, _ song.Job) [][]Step { return [][]Step{{&Mute{Target: on}}} }
	layer := func(on Target, semitones, velocity int) Step {
		return &Layer{Target: on, Interval: Interval{semitones, true}, Velocity: percent(velocity)}
	}
	return []freshChange{
		{name: "hold-back", before: true, ways: silence, jobs: always(jobs{backbeat, tops, perc, bass, hook, bed, extra})},
		{name: "half", ways: func(on Target, _ song.Job) [][]Step { return [][]Step{{half(on)}} },
			jobs: func(kind song.Kind) [][]song.Job {
				if kind == song.KindDrop {
					return [][]song.Job{{tops}, {perc}, {hook}}
				}
				return [][]song.Job{{tops}, {bass}, {beat}, {hook}, {perc}, {extra, bed}, {backbeat}}
			}},
		{name: "ghosts", jobs: always(jobs{tops}, jobs{perc}, jobs{backbeat, beat}),
			ways: func(on Target, job song.Job) (out [][]Step) {
				velocities, density := []int{40, 60, 75}, option.Whole
				if job == beat {
					velocities, density = []int{30, 45}, percent(50)
				}
				for _, v := range velocities {
					out = append(out, []Step{&Ghost{Target: on, Velocity: percent(v), Density: density, Chance: chance}})
				}
				return out
			}},
		{name: "octave", jobs: always(jobs{hook}, jobs{bass}, jobs{extra, bed}),
			ways: func(on Target, _ song.Job) [][]Step { return [][]Step{{layer(on, 12, 60)}, {layer(on, 12, 80)}} }},
		{name: "out", ways: silence, jobs: always(jobs{perc, tops}, jobs{extra})},
		{name: "guest", rests: true, ways: func(on Target, _ song.Job) [][]Step { return [][]Step{{layer(on, 0, 80), half(on)}} },
			jobs: func(kind song.Kind) [][]song.Job {
				switch kind {
				case song.KindIntro, song.KindOutro:
					return [][]song.Job{{tops, perc}, {backbeat}, {extra, hook, bed}, {bass}}
				case song.KindBreak, song.KindBuild:
					return [][]song.Job{{bed, hook, extra}, {tops, perc}, {backbeat}}
				}
				return [][]song.Job{{tops, perc}, {hook, extra, bed}, {backbeat, bass}}
			}},
		{name: "double", jobs: always(jobs{hook, tops, perc}, jobs{bass}, jobs{beat}, jobs{backbeat}),
			ways: func(on Target, _ song.Job) [][]Step {
				return [][]Step{{&Double{Target: on, Velocity: percent(70)}}, {&Double{Target: on, Velocity: percent(85)}}}
			}},
		{name: "soft", jobs: always(jobs{hook, extra, bed}, jobs{tops, perc}, jobs{backbeat, bass}, jobs{beat}),
			ways: func(on Target, _ song.Job) [][]Step {
				return [][]Step{{&Shape{Target: on, From: percent(65), To: percent(65), Curve: Exp}}}
			}},
	}
}

// freshening is the state of a freshen move while it goes from line to line.
type freshening struct {
	move    *Freshen
	except  []song.Range // that no change reaches into
	only    []bool       // which parts may change
	env     *Env
	sketch  *sketch
	rule    form.LineRule
	lines   []phraseLine
	made    [][]string      // the changes made at each line
	lenient bool            // a change may leave single bars silent
	left    []remark.Remark // the lines for which there was none
}

func (w *freshening) changed(s *sketch, line int) bool {
	return s.known(2*line, func() bool { return w.rule.Changed(s.song, w.env.Full, s.energy(), w.lines[line].bar) })
}

func (w *freshening) prepared(s *sketch, line int) bool {
	return s.known(2*line+1, func() bool {
		return form.DefaultPrepareRule().Prepared(s.song, s.env.Lined, w.env.pass(), w.lines[line].bar)
	})
}

// freshen makes a change at a line; at every fourth line it makes two.
func (w *freshening) freshen(line int) {
	bar := w.lines[line].bar
	wanted := 1
	if (bar-1)%(4*w.rule.Phrase) == 0 {
		wanted = 2
	}
	chance := NewRand(w.env.Seed, uint64(bar))
	lately := slices.Concat(w.made[max(line-2, 0):line]...)
	var later []string // changes made lately: they are made again only where no other fits
	for _, names := range w.ladder(line) {
		shuffle(chance, names)
		for _, name := range names {
			switch {
			case slices.Contains(lately, name):
				later = append(later, name)
			case len(w.made[line]) < wanted && w.make(name, line, chance):
				w.made[line] = append(w.made[line], name)
			}
		}
	}
	for _, name := range later {
		if len(w.made[line]) == 0 && w.make(name, line, chance) {
			w.made[line] = append(w.made[line], name)
		}
	}
	if len(w.made[line]) == 0 && w.mayRest(line) {
		w.lenient = true // a bar that is silent is better here than a line at which nothing changes
		for _, name := range slices.Concat(w.ladder(line)...) {
			if len(w.made[line]) == 0 && w.make(name, line, chance) {
				w.made[line] = append(w.made[line], name)
			}
		}
		w.lenient = false
	}
	if len(w.made[line]) == 0 {
		w.left = append(w.left, remark.Remark{Kind: remark.NothingChanges, Bar: bar})
	}
}

// mayRest tells whether a bar after a line may be left silent where no other change fits: not in an intro or an outro,
// and not in a break in which two parts sound.
func (w *freshening) mayRest(line int) bool {
	switch w.lines[line].kind {
	case song.KindIntro, song.KindOutro:
		return false
	case song.KindBreak:
		first, last := w.lines[line].bar, w.lines[line+1].bar-1
		return form.Bareness(w.sketch.song, first, last) > last-first
	}
	return true
}

// ladder returns the changes in the order in which they are tried; which of one rung comes first is up
// to chance. The order is common practice, no source.
func (w *freshening) ladder(line int) [][]string {
	switch {
	case w.lines[line].kind == song.KindDrop:
		return [][]string{{"ghosts", "octave"}, {"guest"}, {"half", "double"}, {"out"}, {"hold-back"}, {"soft"}}
	case (w.lines[line].bar-1)%(2*w.rule.Phrase) == 0:
		return [][]string{{"octave", "out", "guest"}, {"half", "ghosts"}, {"double"}, {"hold-back"}, {"soft"}}
	}
	return [][]string{{"hold-back"}, {"half", "ghosts"}, {"octave"}, {"out"}, {"guest"}, {"double"}, {"soft"}}
}

// make makes a change on the sketch with the first part that will do; false where none will.
func (w *freshening) make(name string, line int, chance *Rand) bool {
	changes := w.changes()
	change := changes[slices.IndexFunc(changes, func(c freshChange) bool { return c.name == name })]
	first, last := w.lines[line].bar, w.lines[line+1].bar-1
	begins := line
	if change.before {
		begins, first, last = line-1, w.lines[line-1].bar, first-1
	}
	if l := w.lines[begins]; l.kind == song.KindDrop && l.starts {
		first += 2
	}
	for _, r := range w.except {
		if first > last {
			break
		}
		if at := w.sketch.song.BarRange(first, last); r.Start < at.End && r.End > at.Start {
			last = w.sketch.song.Time().BarOf(r.Start) - 1
		}
	}
	if change.before && last < w.lines[line].bar-1 { // the part would come in at the line all the same
		return false
	}
	if !w.move.With.Allows(name) || first > last || change.before && first > w.lines[begins].bar {
		return false
	}
	over := where.SpansOf(where.BarsText(first, last))
	for _, jobs := range change.jobs(w.lines[line].kind) {
		parts := w.parts(change, jobs, line, w.sketch.song.BarRange(first, last))
		shuffle(chance, parts)
		for _, part := range parts {
			on, job := Target{Part: where.PartsOf(part), Over: over}, song.Job("")
			if found, err := on.Part.Resolve(w.sketch.song); err == nil {
				job = w.sketch.song.Parts[found[0]].Job
			}
			for _, steps := range change.ways(on, job) {
				next, ok := w.sketch.with(steps...)
				if ok && w.holds(next, line) {
					w.sketch = next
					return true
				}
			}
		}
	}
	return false
}

// parts returns the parts of jobs with which a change can be made over a stretch, as one writes them. A change in
// the phrase before the line takes away what comes in at the line; so it needs a second part that comes in there.
func (w *freshening) parts(change freshChange, jobs []song.Job, line int, over song.Range) []string {
	s := w.sketch.song
	var out []string
	came := 0
	for i, p := range s.Parts[:len(w.env.Full.Parts)] { // of the loop, not added by moves
		plays := len(s.In(p, over)) > 0
		fits := plays != change.rests
		if change.before {
			fits = plays && line > 1 && len(s.In(p, s.BarRange(w.lines[line-2].bar, w.lines[line-1].bar-1))) == 0
		}
		if !fits || !slices.Contains(jobs, p.Job) {
			continue
		}
		came++
		if w.only[i] {
			out = append(out, where.PartText(s, i))
		}
	}
	if change.before && came < 2 {
		return nil
	}
	return out
}

// holds tells whether a line is changed on a sketch, and nothing that held around it is lost.
func (w *freshening) holds(next *sketch, line int) bool {
	if !w.changed(next, line) {
		return false
	}
	for l := max(line-1, 1); l < len(w.lines)-1; l++ {
		if l <= line+1 && w.changed(w.sketch, l) && !w.changed(next, l) {
			return false
		}
		if w.lines[l].bar > w.lines[line+1].bar+w.env.pass() { // what a line is prepared by is compared with the pass before
			break
		}
		if w.lines[l].starts && w.prepared(w.sketch, l) && !w.prepared(next, l) {
			return false
		}
	}
	first, last := w.lines[max(line-1, 0)].bar, w.lines[line+1].bar-1
	if w.lenient {
		return form.SilentPairs(next.song, first, last) <= form.SilentPairs(w.sketch.song, first, last)
	}
	return form.Bareness(next.song, first, last) <= form.Bareness(w.sketch.song, first, last)
}
