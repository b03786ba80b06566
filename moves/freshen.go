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

The first that fits is taken, in drops those that add before those that take away, at every second line a part or a layer in or out before the others, and at every fourth two of them. Which of several parts it is, is up to chance. The change before and the one before that are not made again as long as there is another. A change begins in the third bar of a drop, not the first. It is not made where it would leave two bars silent, undo the change or the preparation of another line, or bring kick or bass into a break. A line where none fits is left and told. With part, changes are made with its parts alone.`,
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

// freshening is a freshen at work.
type freshening struct {
	move   *Freshen
	except []song.Range // that no change reaches into
	only   []bool       // which parts may change
	env    *Env
	sketch *sketch
	rule   form.LineRule
	lines  []phraseLine
	made   [][]string      // the changes made at each line
	left   []remark.Remark // the lines for which there was none
}

func (w *freshening) changed(s *sketch, line int) bool {
	return s.known(2*line, func() bool { return w.rule.Changed(s.song, w.env.Full, s.energy(), w.lines[line].bar) })
}

func (w *freshening) prepared(s *sketch, line int) bool {
	return s.known(2*line+1, func() bool {
		return form.DefaultPrepareRule().Prepared(s.song, s.env.Lined, w.env.pass(), w.lines[line].bar)
	})
}

// freshen makes a change at a line, at every fourth two.
func (w *freshening) freshen(line int) {
	bar := w.lines[line].bar
	wanted := 1
	if (bar-1)%(4*w.rule.Phrase) == 0 {
		wanted = 2
	}
	chance := NewRand(w.env.Seed, uint64(bar))
	lately := slices.Concat(w.made[max(line-2, 0):line]...)
	var later []string // rather these than none
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
	if len(w.made[line]) == 0 {
		w.left = append(w.left, remark.Remark{Kind: remark.NothingChanges, Bar: bar})
	}
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
	first, last := w.lines[line].bar, w.lines[line+1].bar-1
	begins := line
	if name == "hold-back" {
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
	if name == "hold-back" && last < w.lines[line].bar-1 { // it would come in at the line all the same
		return false
	}
	if !w.move.With.Allows(name) || first > last || name == "hold-back" && first > w.lines[begins].bar {
		return false
	}
	for _, jobs := range w.jobs(name, line) {
		parts := w.parts(name, jobs, line, w.sketch.song.BarRange(first, last))
		shuffle(chance, parts)
		for _, part := range parts {
			for _, steps := range w.steps(name, part, where.BarsText(first, last)) {
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

// jobs returns what a change is made with, the better ones first. Common practice, no source.
func (w *freshening) jobs(name string, line int) [][]song.Job {
	kind := w.lines[line].kind
	switch name {
	case "hold-back":
		return [][]song.Job{{song.JobBackbeat, song.JobTops, song.JobPerc, song.JobBass, song.JobHook, song.JobBed, song.JobExtra}}
	case "half":
		if kind == song.KindDrop {
			return [][]song.Job{{song.JobTops}, {song.JobPerc}, {song.JobHook}}
		}
		return [][]song.Job{{song.JobTops}, {song.JobBass}, {song.JobBeat}, {song.JobHook}, {song.JobPerc}, {song.JobExtra, song.JobBed}, {song.JobBackbeat}}
	case "ghosts":
		return [][]song.Job{{song.JobTops}, {song.JobPerc}, {song.JobBackbeat, song.JobBeat}}
	case "octave":
		return [][]song.Job{{song.JobHook}, {song.JobBass}, {song.JobExtra, song.JobBed}}
	case "out":
		return [][]song.Job{{song.JobPerc, song.JobTops}, {song.JobExtra}}
	case "double":
		return [][]song.Job{{song.JobHook, song.JobTops, song.JobPerc}, {song.JobBass}, {song.JobBeat}, {song.JobBackbeat}}
	case "soft":
		return [][]song.Job{{song.JobHook, song.JobExtra, song.JobBed}, {song.JobTops, song.JobPerc}, {song.JobBackbeat, song.JobBass}, {song.JobBeat}}
	}
	switch kind { // a guest
	case song.KindIntro, song.KindOutro:
		return [][]song.Job{{song.JobTops, song.JobPerc}, {song.JobBackbeat}, {song.JobExtra, song.JobHook, song.JobBed}, {song.JobBass}}
	case song.KindBreak, song.KindBuild:
		return [][]song.Job{{song.JobBed, song.JobHook, song.JobExtra}, {song.JobTops, song.JobPerc}, {song.JobBackbeat}}
	}
	return [][]song.Job{{song.JobTops, song.JobPerc}, {song.JobHook, song.JobExtra, song.JobBed}, {song.JobBackbeat, song.JobBass}}
}

// parts returns the parts of jobs with which a change can be made over a stretch, as one writes them.
func (w *freshening) parts(name string, jobs []song.Job, line int, over song.Range) []string {
	s := w.sketch.song
	var out []string
	came := 0
	for i, p := range s.Parts[:len(w.env.Full.Parts)] { // of the loop, not added by moves
		plays := len(s.In(p, over)) > 0
		fits := plays != (name == "guest")
		if name == "hold-back" {
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
	if name == "hold-back" && came < 2 {
		return nil
	}
	return out
}

// steps returns the steps that make a change with a part, the softer ways to make it first.
func (w *freshening) steps(name, part, over string) [][]Step {
	on := Target{Part: where.PartsOf(part), Over: where.SpansOf(over)}
	half := &Thin{Target: on, Keep: KeepShare(50 * option.Whole / 100), Chance: Chance{option.SeedOf(w.env.Seed)}}
	switch name {
	case "half":
		return [][]Step{{half}}
	case "ghosts":
		velocities, density := []option.Share{40, 60, 75}, option.Whole
		if i, err := on.Part.Resolve(w.sketch.song); err == nil && w.sketch.song.Parts[i[0]].Job == song.JobBeat {
			velocities, density = []option.Share{30, 45}, 50*option.Whole/100
		}
		var out [][]Step
		for _, v := range velocities {
			out = append(out, []Step{&Ghost{Target: on, Velocity: v * option.Whole / 100, Density: density, Chance: Chance{option.SeedOf(w.env.Seed)}}})
		}
		return out
	case "octave":
		return [][]Step{{&Layer{Target: on, Interval: Interval{12, true}, Velocity: 60 * option.Whole / 100}}, {&Layer{Target: on, Interval: Interval{12, true}, Velocity: 80 * option.Whole / 100}}}
	case "guest":
		return [][]Step{{&Layer{Target: on, Interval: Interval{0, true}, Velocity: 80 * option.Whole / 100}, half}}
	case "soft":
		return [][]Step{{&Shape{Target: on, From: 65 * option.Whole / 100, To: 65 * option.Whole / 100, Curve: Exp}}}
	case "double":
		return [][]Step{{&Double{Target: on, Velocity: 70 * option.Whole / 100}}, {&Double{Target: on, Velocity: 85 * option.Whole / 100}}}
	}
	return [][]Step{{&Mute{Target: on}}} // hold-back, out
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
	return form.SilentPairs(next.song, first, last) <= form.SilentPairs(w.sketch.song, first, last)
}
