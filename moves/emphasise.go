package moves

import (
	"cmp"
	"errors"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Emphasise widens the contrast between two sections.
type Emphasise struct {
	Quiet where.Spans  `yaml:"quiet" doc:"what is made quieter" required:"true"`
	Loud  where.Spans  `yaml:"loud" doc:"what is made louder, apart from quiet" required:"true"`
	By    option.Share `yaml:"by" range:"1%..100%" doc:"how far they are moved apart"`
	Chance
}

func emphasiseMove() Move {
	return Move{
		Group: Composite,
		Brief: "Widen the contrast between two sections",
		Doc: `Level, density and number of parts move apart, by steps of other moves. Velocities fall by half the share in quiet, at the least by 1 for the loudest, and rise by half of it in loud, up to each part's own loudest in the loop. Tops and perc lose the share of their onsets in quiet, a hook of its bars, and tops get the share of theirs more in loud, as ghosts: all in steps of 5%. From 25% on, the share of the parts that play in both leaves quiet, kick and bass first, then backbeat, perc, tops and extra; in loud the hook, else the bass, is doubled an octave up in the whole bars in which it plays.

Bed and hook never leave. No bar falls silent: a part leaves, or loses bars by getting thinner, only if in each of its bars another that stays sounds. Where a roll stands for it in quiet it does neither. A part that is alone in quiet or in loud changes its level and nothing else. What the loop has no part for is left out; how far quiet lies under loud then, and before, is told, as General MIDI sounds would play it. With one seed, a greater share never makes a smaller difference.`,
		New: func() Step { return &Emphasise{By: 20 * option.Whole / 100} },
		Example: func() Example {
			return Example{
				Step:     &Emphasise{Quiet: where.SpansOf("break 1"), Loud: where.SpansOf("drop 1"), By: 50 * option.Whole / 100},
				Sections: "break 1, drop 1",
				Before:   "kick x...x...x...x...|x...x...x...x...\nhat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.\nbass ..x-..x-..x-..x-|..x-..x-..x-..x-\nstab x--..x--..x-....|x--..x--..x-....",
				After:    "kick ................|x...x...x...x...\nhat  o...o...o...o...|xox.x.xoxox.xox.\nbass ................|..x-..x-..x-..x-\nstab:72 ................|x--..x--..x-....\nstab:60 o--..o--..o-....|x--..x--..x-....",
			}
		},
	}
}

// densityStep is the share by which density changes at a time, partsFrom the share from which on parts
// come and go (common practice, no source).
const (
	densityStep = 5 * option.Whole / 100
	partsFrom   = 25 * option.Whole / 100
)

// Name implements [Step].
func (*Emphasise) Name() string { return "emphasise" }

// Apply implements [Step].
func (m *Emphasise) Apply(env *Env, in song.Song) (Outcome, error) { return InTurn(env, m, in) }

// Expand implements [Composer].
func (m *Emphasise) Expand(env *Env, in song.Song) (Expansion, error) {
	if m.By < option.Whole/100 || m.By > option.Whole {
		return Expansion{}, &option.Mistake{Option: "by", Found: m.By.String(), Want: emphasiseMove().Want("by")}
	}
	quiet, told, err := env.given("quiet", m.Quiet, in)
	loud, more, err2 := env.given("loud", m.Loud, in)
	if err := errors.Join(err, err2); err != nil {
		return Expansion{}, err
	}
	if len(song.Intersect(quiet, loud)) > 0 {
		return Expansion{}, &option.Mistake{Option: "loud", Found: m.Loud.String(), Want: "a span that shares nothing with quiet, which is " + m.Quiet.String()}
	}
	c := &contrast{sketch: newSketch(*env, in), by: m.By, chance: Chance{option.SeedOf(env.Seed)}}
	c.quiet, c.loud = side{m.Quiet, quiet, -1}, side{m.Loud, loud, 1}
	c.env.swing() // measured once for all sketches
	odd, notQuieter, plays := c.compare()
	before := c.under()
	if plays {
		c.alone = len(c.playing(c.quiet)) == 1
		c.findSpare()
		c.leave()
		c.level(c.quiet)
		c.thin()
		c.level(c.loud)
		c.ghost()
		c.layer()
	}
	x := Expansion{Steps: c.steps, Remarks: remark.Add(told, slices.Concat(more, odd)...)}
	switch after := c.under(); {
	case len(c.steps) == 0 && notQuieter:
		x.Nothing = remark.Remark{Kind: remark.NotQuieter, Sentence: m.Quiet.String(), Within: m.Loud.String()}
		x.Remarks = remark.Add(x.Remarks, x.Nothing)
	case len(c.steps) > 0 && before != nil && after != nil:
		x.Remarks = remark.Add(x.Remarks, remark.Remark{Kind: remark.Emphasised, Sentence: m.Quiet.String(), Within: m.Loud.String(), Numbers: []int{*after, *before}})
	}
	return x, nil
}

// under returns by how many tenths of a dB quiet lies under loud, as the bars sound that the two have; nil where one
// of them is silent.
func (c *contrast) under() *int {
	var heard [2]form.Power
	for i, s := range []side{c.quiet, c.loud} {
		var bars []form.Powers
		for _, r := range s.ranges {
			for bar := c.song.Time().BarOf(r.Start); c.song.Time().BarStart(bar) < r.End && bar <= len(c.energy().Bars); bar++ {
				bars = append(bars, c.energy().Bars[bar-1])
			}
		}
		heard[i] = form.Mean(bars).Sum()
		if heard[i].Silent() {
			return nil
		}
	}
	tenths := heard[1].Level(heard[0])
	return &tenths
}

// side is one of the two sections.
type side struct {
	spans  where.Spans
	ranges []song.Range
	sign   int64 // 1: it gets louder; -1: quieter
}

// contrast is the state of an emphasise move while it makes two sections differ more.
type contrast struct {
	*sketch
	quiet, loud side
	by          option.Share
	chance      Chance // every step's: its own choices are told apart by part and range
	alone       bool   // a single part plays in quiet
	spare       []int  // parts that quiet can do without, in the order in which they leave
}

// given resolves an option of spans that has to be given.
func (e *Env) given(name string, s where.Spans, in song.Song) ([]song.Range, []remark.Remark, error) {
	if s.IsZero() {
		return nil, nil, &option.Mistake{Option: name, Found: "nothing", Want: s.Want()}
	}
	ranges, told, err := s.Resolve(e.SpanContext(in))
	if err != nil {
		return nil, nil, option.Named(name, err)
	}
	return ranges, told, nil
}

// compare tells what is odd about the sections, whether quiet is not quieter, and whether one of them plays.
func (c *contrast) compare() (odd []remark.Remark, notQuieter, plays bool) {
	var weight, length [2]int64
	for i, s := range []side{c.quiet, c.loud} {
		for _, r := range s.ranges {
			length[i] += int64(r.Len())
		}
		for _, p := range c.playing(s) {
			weight[i] += s.weight(c.song, p)
		}
		if weight[i] == 0 {
			odd = append(odd, remark.Remark{Kind: remark.NothingIn, Sentence: s.spans.String()})
		}
	}
	notQuieter = weight[1] > 0 && weight[0]*length[1] >= weight[1]*length[0]
	return odd, notQuieter, weight[0] > 0 || weight[1] > 0
}

// playing returns the parts that have a note in a section, but for triggers, which do not sound.
func (c *contrast) playing(s side) []int {
	var out []int
	for i, p := range c.song.Parts {
		if p.Role != song.RoleTrigger && s.weight(c.song, i) > 0 {
			out = append(out, i)
		}
	}
	return out
}

// weight returns the sum of the velocities of a part's notes: their mean times their number.
func (s side) weight(in song.Song, part int) int64 {
	sum := int64(0)
	for _, r := range s.ranges {
		for _, n := range in.In(in.Parts[part], r) {
			sum += int64(n.Vel)
		}
	}
	return sum
}

// target names parts one by one.
func (c *contrast) target(over where.Spans, parts ...int) Target {
	var texts []string
	for _, p := range parts {
		texts = append(texts, where.PartText(c.song, p))
	}
	return Target{Part: where.PartsOf(texts...), Over: over}
}

// furthest carries out the one of several steps that changes a part's weight in a section most, the last
// of several; it tells whether any step changes it. A greater share tries the steps of all smaller shares
// too, so it never makes a smaller difference, though more hits that go may be softer ones.
func (c *contrast) furthest(s side, part int, steps ...Step) bool {
	best := c.sketch
	for _, step := range slices.Backward(steps) {
		if next, ok := c.with(step); ok && c.sounds(next.song, part) && s.sign*s.weight(next.song, part) > s.sign*s.weight(best.song, part) {
			best = next
		}
	}
	moved := best != c.sketch
	c.sketch = best
	return moved
}

// sounds tells whether a part of quiet that is needed there still sounds in each of its bars.
func (c *contrast) sounds(next song.Song, part int) bool {
	bars := func(s song.Song) int { return len(form.SoundingBars(s, s.Parts[part], c.quiet.ranges)) }
	return slices.Contains(c.spare, part) || bars(next) == bars(c.song)
}

// findSpare finds the parts that quiet can do without: in each of their bars another part sounds that
// stays. Bass and bass drum go first (Solberg, Waiting for the
// Bass to Drop, Dancecult 6(1), 2014), drums before the rest (J. W. Smith, Twentieth-Century Music, 2025);
// the order otherwise is common practice, no source.
func (c *contrast) findSpare() {
	bars, heard := make([][]int, len(c.song.Parts)), map[int]int{} // heard: parts left, by bar
	var leaving []int
	for i, p := range c.song.Parts {
		if p.Role == song.RoleTrigger {
			continue
		}
		bars[i] = form.SoundingBars(c.song, p, c.quiet.ranges)
		for _, bar := range bars[i] {
			heard[bar]++
		}
		if leavesAs(p) >= 0 && !c.rolled(p) {
			leaving = append(leaving, i)
		}
	}
	slices.SortStableFunc(leaving, func(a, b int) int {
		p, q := c.song.Parts[a], c.song.Parts[b]
		return cmp.Or(cmp.Compare(leavesAs(p), leavesAs(q)), cmp.Compare(song.RankOf(q.Role), song.RankOf(p.Role)))
	})
	c.spare = slices.DeleteFunc(leaving, func(i int) bool {
		if slices.ContainsFunc(bars[i], func(bar int) bool { return heard[bar] == 1 }) {
			return true
		}
		for _, bar := range bars[i] {
			heard[bar]--
		}
		return false
	})
}

// rolled tells whether a roll stands for a part in quiet.
func (c *contrast) rolled(p song.Part) bool {
	return len(song.Intersect(song.Union(c.env.rolledRanges(p.Name)), c.quiet.ranges)) > 0
}

// leavesAs returns the place of a part's job in the order in which emphasise takes parts out of a quiet stretch; -1 for a
// bed.
func leavesAs(p song.Part) int {
	return slices.Index([]song.Job{song.JobBeat, song.JobBass, song.JobBackbeat, song.JobPerc, song.JobTops, song.JobExtra, song.JobHook}, p.Job)
}

// leave silences parts in quiet.
func (c *contrast) leave() {
	both := slices.DeleteFunc(c.playing(c.loud), func(p int) bool { return c.quiet.weight(c.song, p) == 0 })
	gone := slices.DeleteFunc(slices.Clone(c.spare), func(p int) bool {
		return c.song.Parts[p].Job == song.JobHook || !slices.Contains(both, p)
	})
	gone = gone[:min(len(gone), c.by.Of(len(both)))]
	if c.by < partsFrom {
		return
	}
	if next, ok := c.with(&Mute{Target: c.target(c.quiet.spans, gone...)}); ok {
		c.sketch = next
	}
}

// level makes what plays in a section softer or louder.
func (c *contrast) level(s side) {
	parts := c.playing(s)
	step := func(parts []int, to option.Share) Step {
		return &Shape{Target: c.target(s.spans, parts...), From: to, To: to, Curve: Linear}
	}
	to := option.Whole + c.by/2
	if s.sign < 0 {
		to = min(option.Whole-c.by/2, c.justSofter(parts))
	}
	tried, ok := c.with(step(parts, to))
	if !ok {
		return
	}
	parts = slices.DeleteFunc(parts, func(p int) bool { return s.weight(tried.song, p) == s.weight(c.song, p) })
	if next, ok := c.with(step(parts, to)); ok {
		c.sketch = next
	}
}

// justSofter returns the greatest share that makes the loudest note of quiet softer.
func (c *contrast) justSofter(parts []int) option.Share {
	var top uint8 = 1
	for _, p := range parts {
		for _, r := range c.quiet.ranges {
			top = max(top, loudest(c.song.In(c.song.Parts[p], r)))
		}
	}
	return (option.Whole*option.Share(2*int(top)-1) - 1) / option.Share(2*int(top))
}

// thin thins parts in quiet.
func (c *contrast) thin() {
	for _, p := range c.playing(c.quiet) {
		part := c.song.Parts[p]
		if c.alone || c.rolled(part) || !slices.Contains([]song.Job{song.JobTops, song.JobPerc, song.JobHook}, part.Job) {
			continue
		}
		var steps []Step
		for by := densityStep; by <= c.by && by < option.Whole; by += densityStep {
			steps = append(steps, &Thin{Target: c.target(c.quiet.spans, p), Chance: c.chance, Keep: KeepShare(c.keep(p, by))})
		}
		c.furthest(c.quiet, p, steps...)
	}
}

// keep returns the share of its onsets that a part keeps in quiet. A hook loses whole bars: it keeps as
// many of them as come nearest to that without losing more than the share.
func (c *contrast) keep(part int, by option.Share) option.Share {
	if c.song.Parts[part].Job != song.JobHook {
		return option.Whole - by
	}
	bars := c.song.Bars()
	for _, r := range c.quiet.ranges {
		if n := len(playedBars(c.song, part, r)); n > 0 {
			bars = min(bars, n)
		}
	}
	return (option.Whole*option.Share(bars-by.Floor(bars)) + option.Share(bars) - 1) / option.Share(bars)
}

// ghost adds ghosts to the tops of loud.
func (c *contrast) ghost() {
	parts := c.playing(c.loud)
	for _, p := range parts {
		h, ok := newGhosts(&c.env, c.song, p)
		if !ok || len(parts) == 1 || c.song.Parts[p].Job != song.JobTops {
			continue
		}
		hits, places := 0, 0
		for _, r := range c.loud.ranges {
			hits += len(c.song.In(c.song.Parts[p], r))
			places += len(h.places(r))
		}
		var steps []Step
		for by := densityStep; by <= c.by && places > 0; by += densityStep {
			density := min(option.Share(song.HalfUp(int64(by)*int64(hits), int64(places))), option.Whole)
			steps = append(steps, &Ghost{Target: c.target(c.loud.spans, p), Chance: c.chance, Velocity: ghostMove().New().(*Ghost).Velocity, Density: density})
		}
		c.furthest(c.loud, p, steps...)
	}
}

// layer adds an octave to the hook of loud, else to its bass.
func (c *contrast) layer() {
	parts := c.playing(c.loud)
	if c.by < partsFrom || len(parts) == 1 {
		return
	}
	for _, job := range []song.Job{song.JobHook, song.JobBass} {
		for _, p := range parts {
			if c.song.Parts[p].Job != job {
				continue
			}
			step := layerMove().New().(*Layer)
			step.Target = c.target(c.unmuted(p), p)
			if !step.Over.IsZero() && c.furthest(c.loud, p, step) {
				return
			}
		}
	}
}

// unmuted returns the whole bars of loud in which a part may be layered. Where the part rests although the
// loop plays there, a layer would bring it back: these bars are left out.
func (c *contrast) unmuted(part int) where.Spans {
	tl, p := c.song.Time(), c.song.Parts[part]
	own := c.env.Source(p.Name)
	var bars []string
	add := func(first, last int) {
		if first <= last {
			bars = append(bars, where.BarsText(first, last))
		}
	}
	for _, r := range c.loud.ranges {
		first := tl.BarOf(r.Start)
		if tl.BarStart(first) < r.Start {
			first++
		}
		bar := first
		for ; tl.BarStart(bar+1) <= r.End; bar++ {
			here := c.song.BarRange(bar, bar)
			if len(c.song.In(own, here)) > 0 && len(c.song.In(p, here)) == 0 {
				add(first, bar-1)
				first = bar + 1
			}
		}
		add(first, bar-1)
	}
	if len(bars) == 0 {
		return where.Spans{}
	}
	return where.SpansOf(bars...)
}
