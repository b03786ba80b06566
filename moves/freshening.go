package moves

import (
	"slices"

	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// freshening is the state of a freshen move while it goes from line to line.
//
// Most changes are tried on a bench, on the bars that they are made in, and what is asked of the song then is asked of
// the part that they are made with; the answers for all other parts are kept. So a trial takes as long as
// a part plays in a few phrases, and a mute of a part with a pedal, bend or pressure as long as its track has events. A
// change that reaches further is tried on the whole song.
type freshening struct {
	move   *Freshen
	except []song.Range // that no change reaches into
	only   []bool       // which parts may change
	env    *Env
	rule   form.LineRule
	lines  []phraseLine
	made   [][]string      // the changes made at each line
	rests  bool            // a change may leave single bars silent
	left   []remark.Remark // the lines for which there was none
	texts  []string        // the parts, as one writes them; "" where it was not asked for
	done   []Done

	changes []freshChange // that it can make

	bench  *bench
	energy *form.Running // of the song; nil: there is none, or it cannot be tried
	mute   bool          // there is none
	sketch *sketch       // of the whole song; nil: it is made when it is asked for
	heard  form.Energy   // of a whole song before it
	offs   []int         // how far each stretch of env.Energies lay off it in the song that freshen found

	// What is known of the song as it is.
	strikes  *form.Strikes // of the loop
	look     *form.Preparer
	curves   []form.Curves // of the parts; nil: not known
	at       map[int]*form.Line
	prepares map[int]*preparing
	sounds   heardBars
}

// preparing tells which parts prepare a line, and how many.
type preparing struct {
	parts []bool
	count int
}

// heardBars is how many parts sound in each of some bars.
type heardBars struct {
	first, last int
	parts       []int
}

func newFreshening(f *Freshen, env *Env, in song.Song, every int) *freshening {
	w := &freshening{move: f, env: env, rule: form.DefaultLineRule(every), lines: phraseLines(in, every), texts: make([]string, len(in.Parts))}
	w.changes = freshChanges(env.Seed)
	w.made = make([][]string, len(w.lines))
	w.look = env.preparer()
	if w.strikes = env.Strikes; w.strikes == nil {
		w.strikes = form.NewStrikes(env.Full)
	}
	w.load(newSketch(*env, in))
	w.offs = env.Energies.offs(w.heard.Mean)
	return w
}

// load goes on with the song of a sketch.
func (w *freshening) load(s *sketch) {
	w.sketch, w.heard = s, s.energy()
	w.mute = len(w.heard.Bars) == 0
	w.energy = w.heard.Running()
	w.bench = newBench(s.env, s.song)
	w.curves, w.at, w.prepares, w.sounds = nil, map[int]*form.Line{}, map[int]*preparing{}, heardBars{}
}

// whole returns a sketch of the whole song.
func (w *freshening) whole() *sketch {
	if w.sketch == nil {
		w.sketch = newSketch(w.bench.env, w.bench.whole())
		w.sketch.heard = w.heard
	}
	return w.sketch
}

// mostRule is the longest phrase, in bars, that is compared bar by bar while it is tried.
const mostRule = 256

// localLines tells whether lines can be looked at a part at a time.
func (w *freshening) localLines() bool {
	return (w.energy != nil || w.mute) && w.rule.Phrase <= mostRule
}

// freshTrial is a change that is tried.
type freshTrial struct {
	*trial
	part   int         // that plays something else; -1: none does
	tried  *form.Tried // its energy; nil: not measured yet
	far    bool        // it reaches further than it was looked at
	track  *song.Track // of the part, with other events; nil: it has those that it had
	curves form.Curves // of the part on this track
}

// line returns what the parts do at a line.
func (w *freshening) line(line int) *form.Line {
	if l := w.at[line]; l != nil {
		return l
	}
	s := w.bench.song
	if w.curves == nil {
		w.curves = make([]form.Curves, len(s.Parts))
		for i := range s.Parts {
			w.curves[i] = form.CurvesOf(s, w.env.Full, i)
		}
	}
	parts := make([]form.PartLine, len(s.Parts))
	for i := range parts {
		parts[i] = w.partLine(line, i, nil)
	}
	l := form.NewLine(w.rule, parts)
	w.at[line] = l
	return l
}

// partLine returns what a part does at a line, in a trial or as it is.
func (w *freshening) partLine(line, i int, t *freshTrial) form.PartLine {
	bar, tl := w.lines[line].bar, w.bench.song.Time()
	p := w.part(i, t, tl.BarStart(bar-w.rule.Phrase-1), tl.BarStart(bar+w.rule.Phrase+1))
	curves := w.curves[i]
	if t != nil && t.part == i && t.track != nil {
		curves = t.curves
	}
	return w.rule.PartAt(w.bench.song, w.strikes, i, p, curves, bar)
}

// part returns a part with its notes that sound from one tick to another, in a trial or as they are, until it is asked again.
func (w *freshening) part(i int, t *freshTrial, from, to song.Tick) song.Part {
	from -= w.bench.parts[i].longest
	if t != nil && t.part == i {
		return t.trial.part(i, len(t.steps), from, to)
	}
	p := w.bench.song.Parts[i]
	p.Notes = w.bench.look(i, from, to)
	return p
}

// song returns the song with the events of the track of a part in a trial. Its notes are those that the bench began with.
func (w *freshening) song(i int, t *freshTrial) song.Song {
	s := w.bench.song
	if t != nil && t.part == i && t.track != nil {
		s.Tracks = slices.Clone(s.Tracks)
		s.Tracks[s.Parts[i].Track] = t.track
	}
	return s
}

// changed tells whether a line is changed, in a trial or as it is.
func (w *freshening) changed(line int, t *freshTrial) bool {
	if !w.localLines() {
		s := w.whole()
		return s.known(2*line, func() bool { return w.rule.Changed(s.song, w.env.Full, s.energy(), w.lines[line].bar) })
	}
	l := w.line(line)
	notes, controllers := l.Changes()
	if t != nil && t.part >= 0 {
		if t.track == nil && !controllers && !w.heardAt(line, w.measured(t)) { // whatever the part plays, it is not heard
			return false
		}
		notes, controllers = l.With(t.part, w.partLine(line, t.part, t))
	}
	return controllers || notes && w.heardAt(line, w.measured(t))
}

// heardAt tells whether the energy moves at a line, with parts tried otherwise.
func (w *freshening) heardAt(line int, tried ...form.Tried) bool {
	if w.mute {
		return true
	}
	bar := w.lines[line].bar
	bars := min(w.rule.Phrase, bar-1, w.energy.Bars()-bar+1)
	if bars < 1 {
		return false
	}
	return w.rule.Heard(w.energy.Mean(bar-bars, bar-1, tried...), w.energy.Mean(bar, bar+bars-1, tried...))
}

// measured returns the energy of what is tried.
func (w *freshening) measured(t *freshTrial) form.Tried {
	if t == nil || t.part < 0 || w.energy == nil {
		return form.Tried{}
	}
	if t.tried == nil {
		tried := w.measuredOf(t, t.part)
		t.tried = &tried
	}
	return *t.tried
}

// measuredOf returns the energy of one of the parts of what is tried.
func (w *freshening) measuredOf(t *freshTrial, part int) form.Tried {
	tried, ok := w.energy.Try(part, t.track, t.before(part), t.after(part), func(from, to song.Tick) []song.Note {
		return t.trial.part(part, len(t.steps), from-w.bench.parts[part].longest, to).Notes
	})
	t.far = t.far || !ok
	return tried
}

// prepared tells whether a line is prepared, in a trial or as it is.
func (w *freshening) prepared(line int, t *freshTrial) bool {
	p := w.prepares[line]
	if p == nil {
		p = &preparing{parts: make([]bool, len(w.bench.song.Parts))}
		for i := range p.parts {
			p.set(i, w.partPrepares(line, i, nil))
		}
		w.prepares[line] = p
	}
	if t == nil || t.part < 0 {
		return p.count > 0
	}
	others := p.count
	if p.parts[t.part] {
		others--
	}
	return others > 0 || w.partPrepares(line, t.part, t)
}

func (p *preparing) set(i int, prepares bool) {
	if p.parts[i] != prepares {
		p.parts[i] = prepares
		if p.count--; prepares {
			p.count += 2
		}
	}
}

func (w *freshening) partPrepares(line, i int, t *freshTrial) bool {
	s, bar := w.song(i, t), w.lines[line].bar
	p := w.part(i, t, w.look.From(s, bar)-s.Time().BarTicks(max(bar-1, 1)), s.Time().BarStart(bar+2))
	return w.look.PreparedBy(s, w.env.Lined, w.env.passTo(bar), bar, i, p)
}

// soundsIn returns the bars of first to last in which a part sounds, in a trial after so many of its steps, or as it is.
func (w *freshening) soundsIn(i, first, last int, t *freshTrial, steps int) []int {
	s := w.bench.song
	if s.Parts[i].Role == song.RoleTrigger {
		return nil
	}
	over := s.BarRange(first, last)
	from, to := s.Time().BarStart(max(first-1, 1))-w.bench.parts[i].longest, s.Time().BarStart(last+2)
	p := s.Parts[i]
	if t != nil {
		p = t.trial.part(i, steps, from, to)
	} else {
		p.Notes = w.bench.look(i, from, to)
	}
	return form.SoundingBars(s, p, []song.Range{over})
}

// sounding counts the parts that sound in each of the bars first to last, in a trial after so many of its steps, or as
// the song is.
func (w *freshening) sounding(first, last int, t *freshTrial, steps int) []int {
	if w.sounds.parts == nil || w.sounds.first != first || w.sounds.last != last {
		w.sounds = heardBars{first, last, make([]int, max(last-first+1, 0))}
		for i := range w.bench.song.Parts {
			for _, bar := range w.soundsIn(i, first, last, nil, 0) {
				w.sounds.parts[bar-first]++
			}
		}
	}
	sounds := w.sounds.parts
	if t != nil && t.part >= 0 {
		sounds = slices.Clone(sounds)
		for _, bar := range w.soundsIn(t.part, first, last, nil, 0) {
			sounds[bar-first]--
		}
		for _, bar := range w.soundsIn(t.part, first, last, t, steps) {
			sounds[bar-first]++
		}
	}
	return sounds
}

// silentPairs counts the bars of first to last that are silent as those before them are, see [form.SilentPairs].
func (w *freshening) silentPairs(first, last int, t *freshTrial, steps int) int {
	sounds, pairs := w.sounding(first, last, t, steps), 0
	for i := 1; i < len(sounds); i++ {
		if sounds[i] == 0 && sounds[i-1] == 0 {
			pairs++
		}
	}
	return pairs
}

// bareness returns how many parts are missing in the bars first to last, see [form.Bareness].
func (w *freshening) bareness(first, last int, t *freshTrial, steps int) int {
	return form.BarenessOf(w.bench.song.Sections, w.sounding(first, last, t, steps), first)
}

// mostAsked is with how many parts a change is tried at a line, in a song of n parts. One of a hundred parts is hardly heard
// among the others: without a limit each of them would be tried with every change at every line, in vain. Of more than
// 32 parts fewer are tried the more there are, so that a line takes no longer.
func mostAsked(n int) int { return min(max(512/max(n, 1), 4), 16) }

// make makes a change with the first part that will do; false where none will.
func (w *freshening) make(name string, line int, chance *Rand) bool {
	change := w.changes[slices.IndexFunc(w.changes, func(c freshChange) bool { return c.name == name })]
	first, last := w.lines[line].bar, w.lines[line+1].bar-1
	begins := line
	if change.before {
		begins, first, last = line-1, w.lines[line-1].bar, first-1
	}
	if l := w.lines[begins]; l.kind == song.KindDrop && l.starts {
		first += 2
	}
	s := w.bench.song
	for _, r := range w.except {
		if first > last {
			break
		}
		if at := s.BarRange(first, last); r.Start < at.End && r.End > at.Start {
			last = s.Time().BarOf(r.Start) - 1
		}
	}
	if change.before && last < w.lines[line].bar-1 { // it would come in at the line all the same
		return false
	}
	if !w.move.With.Allows(name) || first > last || change.before && first > w.lines[begins].bar {
		return false
	}
	over := where.SpansOf(where.BarsText(first, last))
	asked, most := 0, mostAsked(len(s.Parts))
	for _, jobs := range change.jobs(w.lines[line].kind) {
		if change.rests && w.mixed(first, last, w.lines[line].kind) {
			jobs = slices.DeleteFunc(slices.Clone(jobs), pitchedJob)
		}
		parts := w.parts(change, jobs, line, s.BarRange(first, last))
		shuffle(chance, parts)
		for _, part := range parts {
			if asked++; asked > most {
				return false
			}
			on := Target{Part: where.PartsOf(w.text(part)), Over: over}
			ways := change.ways(on, s.Parts[part].Job)
			if w.inVain(change, part, first, last, line, ways) {
				continue
			}
			for _, steps := range ways {
				if w.try(part, first, last, line, steps) {
					return true
				}
			}
		}
	}
	return false
}

// mixable is for how many bars at the ends of a song that has an intro and an outro no music is let in: another track is
// laid over them. Common practice, no source.
const mixable = 8

// mixed tells whether another track is laid over some of the bars.
func (w *freshening) mixed(first, last int, kind song.Kind) bool {
	return kind == song.KindIntro && first <= mixable || kind == song.KindOutro && last > w.bench.song.Bars()-mixable
}

func pitchedJob(j song.Job) bool {
	return j == song.JobHook || j == song.JobBed || j == song.JobExtra || j == song.JobBass
}

// text returns a part as one writes it.
func (w *freshening) text(part int) string {
	if w.texts[part] == "" {
		w.texts[part] = where.PartText(w.bench.song, part)
	}
	return w.texts[part]
}

// parts returns the parts of jobs with which a change can be made over a stretch. A change in
// the phrase before the line needs two parts that come in there: the other one still does.
func (w *freshening) parts(change freshChange, jobs []song.Job, line int, over song.Range) []int {
	s := w.bench.song
	var out []int
	came := 0
	for i, p := range s.Parts[:len(w.env.Full.Parts)] { // of the loop, not added by moves
		if !slices.Contains(jobs, p.Job) {
			continue
		}
		plays := w.plays(i, over)
		fits := plays != change.rests
		if change.before {
			fits = plays && line > 1 && !w.plays(i, s.BarRange(w.lines[line-2].bar, w.lines[line-1].bar-1))
		}
		if !fits {
			continue
		}
		came++
		if w.only[i] {
			out = append(out, i)
		}
	}
	if change.before && came < 2 {
		return nil
	}
	return out
}

// plays tells whether a note of a part counts to a range.
func (w *freshening) plays(i int, over song.Range) bool {
	tl := w.bench.song.Time()
	p := song.Part{Notes: w.bench.look(i, over.Start-tl.BarTicks(tl.BarOf(over.Start)), over.End)}
	return len(w.bench.song.In(p, over)) > 0
}

// try makes a change with a part in bars if it holds what freshen promises of it.
func (w *freshening) try(part, first, last, line int, steps []Step) bool {
	if w.env.May != nil && !w.env.May() {
		return false
	}
	if w.localLines() {
		if made, local := w.tryHere(part, first, last, line, steps); local {
			return made
		}
	}
	now := w.whole()
	next, ok := now.after(steps...)
	if !ok || !w.holdsWhole(now, next, line) {
		return false
	}
	w.done = append(w.done, Handed(next.done[len(now.done):], now.song)...)
	w.load(next)
	return true
}

// inVain tells whether a change with a part would not be heard at a line in any of its ways.
func (w *freshening) inVain(change freshChange, part, first, last, line int, ways [][]Step) bool {
	l, bar := w.lines[line], w.bench.song.BarRange
	if w.energy == nil || !w.localLines() || w.bench.group(part).rests || change.cuts && !w.bench.song.Parts[part].Kit {
		return false // of a drum it does not matter when its notes end
	}
	if _, controllers := w.line(line).Changes(); controllers {
		return false
	}
	if over := bar(max(first-1, 1), last); change.less && w.energy.Lasts(part, len(w.bench.look(part, over.Start, over.End))) {
		bars := min(w.rule.Phrase, l.bar-1, w.energy.Bars()-l.bar+1)
		means := func(mean func(first, last int) form.Powers) [2]form.Powers {
			return [2]form.Powers{mean(l.bar-bars, l.bar-1), mean(l.bar, l.bar+bars-1)}
		}
		most := means(func(first, last int) form.Powers { return w.energy.Mean(first, last, form.Tried{}) })
		if !w.rule.MayBeHeard(means(func(first, last int) form.Powers { return w.energy.Without(part, first, last) }), most) {
			return true
		}
	}
	if len(ways) == 1 || w.heardAt(line) {
		return false
	}
	// Where the way that goes furthest is not heard, those on the way to it are not.
	trial, done, _ := w.bench.try(part, first, last, ways[len(ways)-1]...)
	if !done {
		return false
	}
	touched := trial.touched()
	if len(touched) != 1 || trial.events() != nil {
		return false
	}
	t := &freshTrial{trial: trial, part: touched[0]}
	return !w.heardAt(line, w.measured(t)) && !t.far
}

// tryHere is try where a change does not reach further than its bars; local is false where it does.
func (w *freshening) tryHere(part, first, last, line int, steps []Step) (made, local bool) {
	trial, done, local := w.bench.try(part, first, last, steps...)
	if !done {
		return false, local
	}
	t := &freshTrial{trial: trial, part: -1, track: trial.events()}
	switch touched := trial.touched(); {
	case len(touched) == 1:
		t.part = touched[0]
	case len(touched) > 1 && t.track == nil:
		return false, !w.heardOf(t, touched, line) && !t.far
	case len(touched) > 1 || t.track != nil: // events are those of a part that plays something else
		return false, false
	}
	if t.track != nil {
		t.curves = form.CurvesOf(w.song(t.part, t), w.env.Full, t.part)
	}
	holds := w.holds(t, line)
	if holds {
		w.measured(t) // it is asked for where the change is made
	}
	if t.far {
		return false, false
	}
	if holds {
		w.take(t, first, last, line)
	}
	return holds, true
}

// heardOf tells whether a line may change by notes of several parts.
func (w *freshening) heardOf(t *freshTrial, parts []int, line int) bool {
	if _, controllers := w.line(line).Changes(); controllers || w.energy == nil {
		return true
	}
	var tried []form.Tried
	for _, i := range parts {
		tried = append(tried, w.measuredOf(t, i))
	}
	return w.heardAt(line, tried...)
}

// take makes a change that was tried.
func (w *freshening) take(t *freshTrial, first, last, line int) {
	first, last = max(first-1, 1), min(last+1, w.bench.song.Bars())
	pairs := w.silentPairs(first, last, nil, 0)
	for k, o := range t.done {
		next := w.silentPairs(first, last, t, k+1)
		o.Song = song.Song{} // it was of a few bars
		w.done = append(w.done, Done{Step: t.steps[k], Outcome: o, Silences: next > pairs})
		pairs = next
	}
	tried := w.measured(t)
	w.bench.take(t.trial)
	w.sketch, w.sounds = nil, heardBars{}
	if t.part < 0 {
		return
	}
	if t.track != nil && w.curves != nil {
		w.curves[t.part] = t.curves
	}
	if w.energy != nil {
		w.energy.Take(tried)
	}
	for l, known := range w.at {
		if l < line-1 { // nobody asks any more
			delete(w.at, l)
			continue
		}
		known.Set(t.part, w.partLine(l, t.part, nil))
	}
	for l, p := range w.prepares {
		if l < line-1 {
			delete(w.prepares, l)
			continue
		}
		p.set(t.part, w.partPrepares(l, t.part, nil))
	}
}

// holds tells whether a line is changed in a trial, and nothing that held around it is lost.
func (w *freshening) holds(t *freshTrial, line int) bool {
	if !w.changed(line, t) || !w.keepsEnergy(t) {
		return false
	}
	return w.keeps(line, func(l int) bool { return !w.changed(l, nil) || w.changed(l, t) },
		func(l int) bool { return !w.prepared(l, nil) || w.prepared(l, t) },
		func(first, last int) bool {
			if w.rests {
				return w.silentPairs(first, last, t, len(t.steps)) <= w.silentPairs(first, last, nil, 0)
			}
			return w.bareness(first, last, t, len(t.steps)) <= w.bareness(first, last, nil, 0)
		})
}

// keepsEnergy tells whether a trial takes no stretch out of the energy that it is to have.
func (w *freshening) keepsEnergy(t *freshTrial) bool {
	if w.mute || len(w.offs) == 0 {
		return true
	}
	tried := w.measured(t)
	return w.env.Energies.keeps(w.offs, func(first, last int) form.Powers { return w.energy.Mean(first, last, tried) })
}

// holdsWhole is holds of whole songs.
func (w *freshening) holdsWhole(now, next *sketch, line int) bool {
	changed := func(s *sketch, l int) bool {
		return s.known(2*l, func() bool { return w.rule.Changed(s.song, w.env.Full, s.energy(), w.lines[l].bar) })
	}
	prepared := func(s *sketch, l int) bool {
		return s.known(2*l+1, func() bool {
			return w.look.Prepared(s.song, s.env.Lined, w.env.passTo(w.lines[l].bar), w.lines[l].bar)
		})
	}
	if !changed(next, line) || !w.mute && !w.env.Energies.keeps(w.offs, next.energy().Mean) {
		return false
	}
	return w.keeps(line, func(l int) bool { return !changed(now, l) || changed(next, l) },
		func(l int) bool { return !prepared(now, l) || prepared(next, l) },
		func(first, last int) bool {
			if w.rests {
				return form.SilentPairs(next.song, first, last) <= form.SilentPairs(now.song, first, last)
			}
			return form.Bareness(next.song, first, last) <= form.Bareness(now.song, first, last)
		})
}

// keeps tells whether the lines around one are still changed and prepared, if they were, and no bars are bare that were
// not.
func (w *freshening) keeps(line int, changed, prepared func(line int) bool, silence func(first, last int) bool) bool {
	for l := max(line-1, 1); l < len(w.lines)-1; l++ {
		if l <= line+1 && !changed(l) {
			return false
		}
		if w.lines[l].bar > w.lines[line+1].bar+w.env.passTo(w.lines[l].bar) { // what a line is prepared by is compared with the pass before
			break
		}
		if w.lines[l].starts && !prepared(l) {
			return false
		}
	}
	return silence(w.lines[max(line-1, 0)].bar, w.lines[line+1].bar-1)
}
