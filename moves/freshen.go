package moves

import (
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
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

hold-back keeps one of two parts that came in at the line before out until this one; half leaves a top half of its hits, then the bass, the kick or the hook; ghosts adds soft sixteenths to a top, or to the kick; octave adds the hook an octave higher, then the bass; out takes percussion or a top out; guest lets a part in that does not play, half of it; double adds hits between a part's own; soft takes a part down by 3.5 dB, or by 7.5 where that is not heard.

The first that fits is taken, in drops those that add before those that take away, at every second line a part or a layer in or out before the others, and at every fourth two of them. Which of several parts it is, is up to chance. The change before and the one before that are not made again as long as there is another. A change begins in the third bar of a drop, not the first. In the first 8 bars of an intro and the last 8 of an outro no guest has a pitch. It is not made where it would leave a bar silent or, in a break, one part alone, undo the change or the preparation of another line, or bring kick or bass into a break. Single bars may be silent where nothing else fits, but not in an intro, an outro, or a break of two parts. A line where none fits is left and told. With part, changes are made with its parts alone.`,
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
	pieces, _, told, err := env.pieces(f.Over, f.Except, in)
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
	w := newFreshening(f, env, in, every)
	w.except, w.only = except, only
	for i, line := range w.lines[:max(len(w.lines)-1, 0)] {
		at := in.Time().BarStart(line.bar)
		if line.bar > 1 && slices.ContainsFunc(pieces, func(p song.Piece) bool { return p.Has(at) }) && !w.changed(i, nil) {
			w.freshen(i)
		}
	}
	x := expansion(nil, told, w.left)
	for _, d := range w.done {
		x.Steps = append(x.Steps, d.Step)
	}
	x.Done, x.Song, x.Heard = w.done, w.bench.whole(), w.heard
	if w.energy != nil {
		x.Heard = w.energy.Energy(x.Song)
	}
	return x, nil
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
	less   bool                            // it takes notes away, or makes them softer
	cuts   bool                            // notes that stay may end sooner by it
	jobs   func(song.Kind) [][]song.Job    // of the parts it is made with in a kind of section, the better ones first
	ways   func(Target, song.Job) [][]Step // the steps that make it with a part of a job, the softer ways first
}

// freshChanges returns the changes there are; chance is drawn by a seed. What they are made with is common practice, no source.
func freshChanges(seed uint64) []freshChange {
	const tops, perc, hook, bass, bed, extra, beat, backbeat = song.JobTops, song.JobPerc, song.JobHook, song.JobBass, song.JobBed, song.JobExtra, song.JobBeat, song.JobBackbeat
	type jobs = []song.Job
	always := func(all ...jobs) func(song.Kind) [][]song.Job {
		return func(song.Kind) [][]song.Job { return all }
	}
	percent := func(n int) option.Share { return option.Share(n) * option.Whole / 100 }
	chance := Chance{option.SeedOf(seed)}
	half := func(on Target) Step { return &Thin{Target: on, Keep: KeepShare(percent(50)), Chance: chance} }
	silence := func(on Target, _ song.Job) [][]Step { return [][]Step{{&Mute{Target: on}}} }
	layer := func(on Target, semitones, velocity int) Step {
		return &Layer{Target: on, Interval: Interval{semitones, true}, Velocity: percent(velocity)}
	}
	return []freshChange{
		{name: "hold-back", before: true, less: true, cuts: true, ways: silence, jobs: always(jobs{backbeat, tops, perc, bass, hook, bed, extra})},
		{name: "half", less: true, ways: func(on Target, _ song.Job) [][]Step { return [][]Step{{half(on)}} },
			jobs: func(kind song.Kind) [][]song.Job {
				if kind == song.KindDrop {
					return [][]song.Job{{tops}, {perc}, {hook}}
				}
				return [][]song.Job{{tops}, {bass}, {beat}, {hook}, {perc}, {extra, bed}, {backbeat}}
			}},
		{name: "ghosts", cuts: true, jobs: always(jobs{tops}, jobs{perc}, jobs{backbeat, beat}),
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
		{name: "octave", cuts: true, jobs: always(jobs{hook}, jobs{bass}, jobs{extra, bed}),
			ways: func(on Target, _ song.Job) [][]Step { return [][]Step{{layer(on, 12, 60)}, {layer(on, 12, 80)}} }},
		{name: "out", less: true, cuts: true, ways: silence, jobs: always(jobs{perc, tops}, jobs{extra})},
		{name: "guest", rests: true, cuts: true, ways: func(on Target, _ song.Job) [][]Step { return [][]Step{{layer(on, 0, 80), half(on)}} },
			jobs: func(kind song.Kind) [][]song.Job {
				switch kind {
				case song.KindIntro, song.KindOutro:
					return [][]song.Job{{tops, perc}, {backbeat}, {extra, hook, bed}, {bass}}
				case song.KindBreak, song.KindBuild:
					return [][]song.Job{{bed, hook, extra}, {tops, perc}, {backbeat}}
				}
				return [][]song.Job{{tops, perc}, {hook, extra, bed}, {backbeat, bass}}
			}},
		{name: "double", cuts: true, jobs: always(jobs{hook, tops, perc}, jobs{bass}, jobs{beat}, jobs{backbeat}),
			ways: func(on Target, _ song.Job) [][]Step {
				return [][]Step{{&Double{Target: on, Velocity: percent(70)}}, {&Double{Target: on, Velocity: percent(85)}}}
			}},
		{name: "soft", less: true, jobs: always(jobs{hook, extra, bed}, jobs{tops, perc}, jobs{backbeat, bass}, jobs{beat}),
			ways: func(on Target, _ song.Job) (out [][]Step) {
				for _, n := range []int{82, 65} {
					out = append(out, []Step{&Shape{Target: on, From: percent(n), To: percent(n), Curve: Exp}})
				}
				return out
			}},
	}
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
		w.rests = true // a bar that is silent is better here than a line at which nothing changes
		for _, name := range slices.Concat(w.ladder(line)...) {
			if len(w.made[line]) == 0 && w.make(name, line, chance) {
				w.made[line] = append(w.made[line], name)
			}
		}
		w.rests = false
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
		return w.bareness(first, last, nil, 0) > last-first
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
