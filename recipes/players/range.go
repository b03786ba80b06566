package players

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"loopdraft/smf/song"
)

// mostFree is how many parts are tried in every combination; the rest, which are softer, play or rest together.
const mostFree = 12

// inRange finds the players of a section whose units have ranges.
func (f *finder) inRange(i int) []Found {
	out := f.unitByUnit(i, 0)
	if s := f.Sections[i]; s.Kind == song.KindBuild && len(out) > 1 {
		// A part that plays at the start of the loop alone may make a build fall: then its first units are held under
		// the last.
		if first, last := out[0].Power.Sum(), out[len(out)-1].Power.Sum(); last <= first {
			if held := f.unitByUnit(i, last); held[0].Power.Sum() < held[len(held)-1].Power.Sum() {
				out = held
			}
		}
	}
	return out
}

// unitByUnit finds the players of each unit after those before it; those ahead of the last are held under a power, 0 for
// none.
func (f *finder) unitByUnit(i int, under int64) []Found {
	s := f.Sections[i]
	var out []Found
	broke, of := f.inBreaks(i), int64(0)
	if s.Against > 0 {
		of = f.mean(s.Against - 1)
	}
	for k, u := range s.Units {
		c := f.contest(i, k, out, broke, of)
		if k < len(s.Units)-1 {
			c.under = under
		}
		c.search(0, try{power: f.found(u, u.Must).Power, leaving: c.gone, entering: c.new, fresh: c.fresh, notes: c.shared()})
		out = append(out, f.found(u, c.result()))
	}
	return out
}

// group is one part that may play, or several that play and rest together.
type group struct {
	parts []int
	power Power
	had   bool  // it played in the unit before
	new   int   // parts of it that were not heard lately
	fresh tally // of these
	notes int   // of those it plays in the drop that follows
	come  tally // of it what plays in the drop that comes next
	plays int64 // what it costs if it plays
	rests int64 // what it costs if it rests

	strongest leader // of its parts
}

// leader is the strongest of some parts, the first of several.
type leader struct {
	power int64 // -1: there are none
	heard int   // in how many bars it is heard
}

// leaderOf finds the strongest of parts.
func (c *contest) leaderOf(parts []int) leader {
	best, out := -1, leader{power: -1}
	for _, p := range parts {
		if v := c.unit.Powers[p].Sum(); v > out.power {
			best, out.power = p, v
		}
	}
	for _, sounds := range c.unit.Sounds {
		if best >= 0 && sounds[best] {
			out.heard++
		}
	}
	return out
}

// try is a set on its way: the groups up to some place are in or out.
type try struct {
	set               uint32 // the groups that play
	power             Power
	entering, leaving int   // parts, against the unit before
	fresh             tally // what enters, against the bars before
	notes             int   // that the drop which follows plays too
	come              tally // what the drop which comes next brings in
	cost              int64
}

// contest looks for the cheapest set of groups in a unit.
type contest struct {
	f      *finder
	kind   song.Kind
	unit   Unit
	groups []group

	low, high int64 // the range, as powers
	lowest    int   // the same in tenths of a percent of full
	highest   int
	before    *Found // the unit before; nil: nothing is known of it
	lately    []bool // a part: it was heard in the bars before; nil: nothing is known of them
	first     *Found // the first unit of the section; nil: this one is it
	last      bool   // it is the last unit
	ahead     *Power // in a break, of the first unit of the section after it; nil: not known
	under     int64  // it is to be weaker than that; 0: as strong as it may be
	new, gone int    // parts that must enter, and those that cannot play on
	fresh     tally  // of what must enter
	all       int    // sounds of all parts
	teased    Power  // in a groove, of the tune that enters: as a rule only some of its notes are left in

	sounds  []uint32 // a bar: the groups that are heard in it
	must    []int    // a bar: how many are heard in it that must play
	pitched uint32   // the groups that are pitched
	empty   int64    // bars in which nobody is heard whoever plays
	solo    int64    // bars in which fewer than two are

	strongest leader // of those that must play
	needed    int    // pitched parts that a break still lacks
	drop      *Unit  // the first unit of the drop that a groove is measured against; nil: there is none
	plays     []bool // who plays there
	notes     int    // how many notes it has

	own uint32 // the groups with a part that only the loop of the section has; 0: such a part is heard already

	next []bool // who plays in the first unit of the drop that comes next; nil: nothing is known of it
	far  tally  // of parts that play there, but neither may nor must here

	open  []Power // by group, the power of it and of those after it together
	best  uint32
	least int64
	// Powers over and under which no set can be cheaper than the best.
	most, fewest int64
}

// sounds returns how many sounds enter with a part.
func (f *finder) sounds(p int) int { return max(f.Parts[p].Sounds, 1) }

// inBreaks tells of each part whether a break before a section has it.
func (f *finder) inBreaks(section int) []bool {
	out := make([]bool, len(f.Parts))
	for j, line := range f.lines[:section] {
		if line == nil || f.Sections[j].Kind != song.KindBreak {
			continue
		}
		for _, u := range line.Units {
			for p, plays := range u.Plays {
				out[p] = out[p] || plays
			}
		}
	}
	return out
}

// contest prepares the search for the players of unit k; so are those of the units before it in the section, and broke
// tells who plays in the breaks before it; of is the mean power of the section that this one is measured against.
func (f *finder) contest(i, k int, so []Found, broke []bool, of int64) *contest {
	s := f.Sections[i]
	u := s.Units[k]
	c := &contest{f: f, kind: s.Kind, unit: u, last: k == len(s.Units)-1, least: math.MaxInt64, most: math.MaxInt64}
	c.low, c.high = f.limits(s, u, of)
	c.lowest, c.highest = f.Scale.Percent(c.low), f.Scale.Percent(c.high)
	for p := range f.Parts {
		c.all += f.sounds(p)
	}
	if before, ok := f.before(i); k > 0 {
		c.before, c.first = &so[k-1], &so[0]
	} else if ok {
		c.before = &before
	}
	if c.before != nil {
		c.lately = f.lately(i, so, barsBefore)
	}
	if s.Kind == song.KindBreak {
		c.ahead = f.ahead(i)
	}
	if r := f.roll(); s.Kind == song.KindBuild && k == 0 && r >= 0 && c.lately != nil && !c.lately[r] && !u.Must[r] && !slices.Contains(s.May, r) {
		c.fresh = c.fresh.plus(tally{1, f.sounds(r)}) // it rolls from the first bar on
	}
	c.listenTo(s)
	c.lookAhead(i, so)
	c.group(s.May, broke)
	c.own = c.owners(s, so)
	c.count(s.May)
	c.open = make([]Power, len(c.groups)+1)
	for g := len(c.groups) - 1; g >= 0; g-- {
		c.open[g] = c.open[g+1].plus(c.groups[g].power)
	}
	return c
}

// group makes the groups, the most wanted first.
func (c *contest) group(may []int, broke []bool) {
	free := slices.DeleteFunc(slices.Clone(may), func(p int) bool { return c.unit.Must[p] })
	loud := slices.Clone(free)
	slices.SortStableFunc(loud, func(p, q int) int { return cmp.Compare(c.unit.Powers[q].Sum(), c.unit.Powers[p].Sum()) })
	loud = loud[:min(len(loud), mostFree)]
	c.groups = make([]group, 0, len(loud)+1)
	rest := group{}
	for k, p := range free {
		g := group{parts: []int{p}, power: c.unit.Powers[p], had: c.before != nil && c.before.Plays[p], new: c.isNew(p), rests: wanted(k, len(free))}
		if c.kind == song.KindBreak {
			g.plays = c.inBreak(p, broke[p])
		}
		g.notes, g.fresh = c.notesOf(p), tally{g.new, g.new * c.f.sounds(p)}
		if c.next != nil && c.next[p] {
			g.come = tally{1, c.f.sounds(p)}
		}
		if slices.Contains(loud, p) {
			c.groups = append(c.groups, g)
			continue
		}
		rest.parts = append(rest.parts, p)
		rest.power = rest.power.plus(g.power)
		rest.had = rest.had || g.had
		rest.new += g.new
		rest.fresh = rest.fresh.plus(g.fresh)
		rest.notes += g.notes
		rest.come = rest.come.plus(g.come)
		rest.plays += g.plays
		rest.rests += g.rests
	}
	if len(rest.parts) > 0 {
		c.groups = append(c.groups, rest)
	}
}

// owners returns the groups of whom one part is to be heard since only the loop of the section has it, none where one was
// heard in the units before or must play.
func (c *contest) owners(s Section, so []Found) uint32 {
	out := uint32(0)
	for _, p := range s.Own {
		if c.unit.Must[p] && c.unit.strikes(p) {
			return 0
		}
		for k, before := range so {
			if before.Plays[p] && s.Units[k].strikes(p) {
				return 0
			}
		}
		for g, group := range c.groups {
			if slices.Contains(group.parts, p) && c.unit.strikes(p) {
				out |= 1 << g
			}
		}
	}
	return out
}

// lookAhead looks up who the drop brings in that the last unit of a section leads into.
func (c *contest) lookAhead(i int, so []Found) {
	if !c.last || i+1 >= len(c.f.Sections) || c.f.Sections[i+1].Kind != song.KindDrop || c.f.lines[i+1] == nil {
		return
	}
	drop := c.f.Sections[i+1].Units[0]
	c.next = make([]bool, len(c.f.Parts))
	back := barsBefore - len(c.unit.Sounds) // the unit itself is the last of the bars before the drop
	if c.kind == song.KindBuild && len(so) > 0 {
		back = barsBefore // what a build has let go is left to the drop: in its last bars it would take the drop's line
	}
	lately := c.f.lately(i, so, back)
	if c.kind == song.KindBuild {
		if p := c.f.roll(); p >= 0 {
			lately[p] = true
		}
	}
	opens := c.f.lines[i+1].Units[0].Plays
	// A crash is struck on the first beat of a drop, whoever plays there. Common practice, no source.
	if crash := slices.IndexFunc(c.f.Parts, func(p Part) bool { return p.Role == song.RoleCrash }); crash < 0 || !lately[crash] && !opens[crash] {
		c.far = tally{1, 1}
	}
	for p, plays := range opens {
		if !plays || lately[p] || !drop.strikes(p) || c.unit.Must[p] && c.unit.strikes(p) {
			continue
		}
		if c.next[p] = slices.Contains(c.f.Sections[i].May, p) && c.unit.strikes(p); !c.next[p] {
			c.far = c.far.plus(tally{1, c.f.sounds(p)})
		}
	}
}

// listenTo looks up what the drop plays that a groove is measured against.
func (c *contest) listenTo(s Section) {
	if s.Kind != song.KindGroove || s.Against == 0 {
		return
	}
	drop, line := &c.f.Sections[s.Against-1], c.f.lines[s.Against-1]
	if drop.Kind != song.KindDrop || len(line.Units) == 0 || drop.Units[0].Notes == nil {
		return
	}
	c.drop, c.plays = &drop.Units[0], line.Units[0].Plays
	for p := range c.plays {
		c.notes += c.notesOf(p)
	}
}

// notesOf returns how many notes of the drop a part plays.
func (c *contest) notesOf(p int) int {
	if c.drop == nil || !c.plays[p] {
		return 0
	}
	return c.drop.Notes[p]
}

// shared returns how many notes of the drop those play that must play.
func (c *contest) shared() int {
	n := 0
	for p, must := range c.unit.Must {
		if must {
			n += c.notesOf(p)
		}
	}
	return n
}

// wanted returns what it costs that the k-th of n parts is missing.
func wanted(k, n int) int64 { return int64(missing * (3*n - 2*k) / (3 * n)) }

// inBreak returns what it costs that a part plays in a break; broke: a break before it has it.
func (c *contest) inBreak(p int, broke bool) int64 {
	cost := int64(inBreak)
	if drum(c.f.Parts[p].Job) {
		cost += drumInBreak
	}
	if broke {
		cost += heardBefore
	}
	return cost
}

func drum(j song.Job) bool {
	return j == song.JobBeat || j == song.JobBackbeat || j == song.JobTops || j == song.JobPerc
}

// isNew returns 1 for a part that is heard in the unit if it plays and was not heard lately, 0 for another.
func (c *contest) isNew(p int) int {
	if c.lately == nil || c.lately[p] || !c.unit.strikes(p) {
		return 0
	}
	return 1
}

// count prepares what is looked up for each set.
func (c *contest) count(may []int) {
	for p, must := range c.unit.Must {
		had := c.before != nil && c.before.Plays[p]
		switch {
		case must && c.isNew(p) > 0:
			c.new++
			c.fresh = c.fresh.plus(tally{1, c.f.sounds(p)})
			if c.kind == song.KindGroove && c.f.Parts[p].Job == song.JobHook {
				c.teased = c.teased.plus(c.unit.Powers[p])
			}
		case had && !must && !slices.Contains(may, p):
			c.gone++
		}
	}
	c.must, c.sounds = make([]int, len(c.unit.Sounds)), make([]uint32, len(c.unit.Sounds))
	for b, sounds := range c.unit.Sounds {
		for p, must := range c.unit.Must {
			if must && sounds[p] {
				c.must[b]++
			}
		}
		for g, group := range c.groups {
			if slices.ContainsFunc(group.parts, func(p int) bool { return sounds[p] }) {
				c.sounds[b] |= 1 << g
			}
		}
	}
	c.empty, c.solo = c.lacking(math.MaxUint32, 1), c.lacking(math.MaxUint32, 2)
	all := 0
	var must []int
	for p, does := range c.unit.Must {
		if does {
			must = append(must, p)
		}
	}
	c.strongest = c.leaderOf(must)
	for g := range c.groups {
		c.groups[g].strongest = c.leaderOf(c.groups[g].parts)
	}
	for g, group := range c.groups {
		if n := c.pitchedOf(group.parts); n > 0 {
			c.pitched |= 1 << g
			all += n
		}
	}
	c.needed = 0
	if c.kind == song.KindBreak {
		have := 0
		for p, must := range c.unit.Must {
			if must && c.f.Parts[p].Pitched() {
				have++
			}
		}
		if all+have >= 2 {
			c.needed = max(2-have, 0)
		}
	}
}

func (c *contest) pitchedOf(parts []int) int {
	n := 0
	for _, p := range parts {
		if c.f.Parts[p].Pitched() {
			n++
		}
	}
	return n
}

// search tries the groups from one on, each playing and resting. Costs only grow on the way, so that a set that
// is dearer than the best so far need not be finished. Of equal costs the first stands, which has the more wanted.
func (c *contest) search(from int, t try) {
	if t.cost >= c.least || t.power.Sum() > c.most || t.power.Sum()+c.open[from].Sum() < c.fewest {
		return
	}
	so := t.cost + c.change(t)
	if so >= c.least {
		return
	}
	if from == len(c.groups) {
		if so += c.energy(t.power.Sum()); so >= c.least {
			return
		}
		if so += c.cost(t); so < c.least {
			c.best, c.least = t.set, so
			c.narrow()
		}
		return
	}
	g := &c.groups[from]
	in, out := t, t
	in.set |= 1 << from
	in.power = in.power.plus(g.power)
	in.cost += g.plays
	in.notes += g.notes
	out.cost += g.rests
	out.come = out.come.plus(g.come)
	if c.before != nil {
		in.entering += g.new
		in.fresh = in.fresh.plus(g.fresh)
		if g.had {
			out.leaving += len(g.parts)
		}
	}
	c.search(from+1, in)
	c.search(from+1, out)
}

// narrow sets the powers outside which energy alone costs more than the best set does.
func (c *contest) narrow() {
	off := int(c.least/c.outside()) + 1
	if low := c.lowest - off; low > 0 {
		c.fewest = c.f.Scale.Power(low)
	}
	if high := c.highest + off; high < mostPercent {
		c.most = c.f.Scale.Power(high)
	}
}

// mostPercent is the greatest share that powers are looked up by, in tenths of a percent.
const mostPercent = 1500

func (c *contest) outside() int64 {
	if c.kind == song.KindBreak {
		return outsideInBreak
	}
	return outside
}

// tally counts parts, and their sounds.
type tally struct{ parts, sounds int }

func (a tally) plus(b tally) tally { return tally{a.parts + b.parts, a.sounds + b.sounds} }

// entry returns what it costs that so many enter at once, whichever is the greater share of all, that of the parts or that of
// the sounds.
func (c *contest) entry(n tally) int64 {
	return entering * int64(max(max(100*n.sounds/c.all, 100*n.parts/len(c.f.Parts))-freeEntry, 0))
}

// change returns what it costs that parts enter and leave, which only grows on the way to a whole set.
func (c *contest) change(t try) int64 {
	cost := c.entry(t.fresh)
	if c.first == nil || c.unit.Due {
		cost += changing * int64(max(t.entering+t.leaving-2, 0))
	} else {
		cost += restless * int64(t.entering+t.leaving)
	}
	if c.next != nil {
		cost += c.entry(c.far.plus(t.come))
	}
	if c.notes > 0 {
		cost += stale * int64(max(100*t.notes/c.notes-freshDrop, 0))
	}
	switch {
	case c.kind == song.KindDrop && c.first != nil:
		cost += deserting * int64(max(100*t.leaving/len(c.f.Parts)-freeEntry, 0))
	case c.kind == song.KindBuild:
		cost += leaving * int64(t.leaving)
	}
	return cost
}

// energy returns what the power of a whole set costs.
func (c *contest) energy(sum int64) int64 {
	cost := int64(0)
	if sum < c.low || sum > c.high {
		percent := c.f.Scale.Percent(sum)
		cost += c.outside() * int64(max(c.lowest-percent, percent-c.highest, 0))
	}
	if sum == 0 {
		cost += nobody
	}
	if c.under > 0 && sum >= c.under {
		cost += falls
	}
	return cost
}

// cost returns what a whole set costs besides its parts, their change and its power.
func (c *contest) cost(t try) int64 {
	cost := int64(0)
	if c.first != nil && c.unit.Due {
		cost += c.still(t.power.minus(c.teased))
	}
	if c.first == nil && c.before != nil {
		cost += blurred(c.before.Power, t.power.minus(c.teased), c.f.Scale.Full())
	}
	if c.ahead != nil {
		cost += blurred(t.power, *c.ahead, c.f.Scale.Full()) / 2 // the section after it can do its part
	}
	if c.kind == song.KindBreak {
		cost += c.breakCost(t)
	}
	cost += (c.lacking(t.set, 1) - c.empty) * hushed / max(int64(len(c.sounds)), 1)
	if c.rests(t.set) {
		cost += resting
	}
	if c.own != 0 && c.own&t.set == 0 {
		cost += foreign
	}
	return cost
}

// still returns what it costs that a phrase sounds like the one before it.
func (c *contest) still(power Power) int64 {
	switch full := c.f.Scale.Full(); {
	case moves(c.before.Power, power, full, plain):
		return 0
	case moves(c.before.Power, power, full, audible):
		return faintlyMoved
	}
	return unmoved
}

// breakCost returns what a set costs in a break: one that leaves a part alone, and one that does not grow.
func (c *contest) breakCost(t try) int64 {
	cost := alone * (c.lacking(t.set, 2) - c.solo) / max(int64(len(c.sounds)), 1)
	cost += unpitched * int64(max(c.needed-bits.OnesCount32(c.pitched&t.set), 0))
	if c.first != nil && c.last && t.power.Sum() <= c.first.Power.Sum() {
		cost += lower
	}
	return cost
}

// lacking returns in how many bars fewer than so many parts are heard.
func (c *contest) lacking(set uint32, parts int) int64 {
	n := int64(0)
	for b, sounds := range c.sounds {
		if c.must[b]+bits.OnesCount32(sounds&set) < parts {
			n++
		}
	}
	return n
}

// rests tells whether the strongest of a set is heard in less than half of the bars.
func (c *contest) rests(set uint32) bool {
	best := c.strongest
	for g := range c.groups {
		if leader := c.groups[g].strongest; set>>g&1 == 1 && leader.power > best.power {
			best = leader
		}
	}
	return best.power >= 0 && 2*best.heard < len(c.unit.Sounds)
}

// plays returns who plays in the best set.
func (c *contest) result() []bool {
	out := slices.Clone(c.unit.Must)
	for g, group := range c.groups {
		if c.best>>g&1 == 1 {
			for _, p := range group.parts {
				out[p] = true
			}
		}
	}
	return out
}
