package players

import (
	"cmp"
	"slices"

	"loopdraft/smf/song"
)

// mostJoin is how many parts may join at one unit of a rising section.
const mostJoin = 3

// mixable is for how many bars, in whole units, an intro and an outro are drums alone at the end of the track, as far as
// these sound in each bar: another track is laid over them. Common practice, no source.
const mixable = 8

// mostTogether is how many parts are tried together, the strongest; of more, each is tried alone as well.
const mostTogether = 24

// joinShare is the share of all parts, in percent, that may join at one unit, at least one part.
const joinShare = 35

// course finds the players of a section that rises, unit by unit from the first, or falls: the same from the
// last. Each unit is the smallest addition that moves a band audibly.
func (f *finder) course(i int) []Found {
	s := f.Sections[i]
	units := slices.Clone(s.Units)
	if s.Course == Falling {
		slices.Reverse(units)
	}
	all := f.courseOrder(s)
	drums := slices.DeleteFunc(slices.Clone(all), func(p int) bool { return !drum(f.Parts[p].Job) })
	var out []Found
	bars := 0 // from the end of the track
	for k, u := range units {
		may := all
		if (s.Kind == song.KindIntro || s.Kind == song.KindOutro) && bars < mixable {
			may = drums
		}
		bars += len(u.Sounds)
		must := slices.Clone(u.Must)
		if k == 0 && (s.Kind == song.KindIntro || s.Kind == song.KindOutro) {
			for _, p := range f.tooRare(units, may) {
				must[p] = true
			}
		}
		if k > 0 {
			for p, plays := range out[k-1].Plays {
				must[p] = must[p] || plays
			}
		}
		here := f.found(u, must)
		if k > 0 {
			var next *Power // what the last unit is held against
			if k == len(units)-1 {
				next = f.beside(i)
			}
			here = f.join(u, out[k-1], here, f.joining(s, k, may), next)
		}
		here = f.unsilent(u, f.unsilent(u, here, may), all)
		out = append(out, here)
	}
	if s.Course == Falling {
		slices.Reverse(out)
	}
	return out
}

// tooRare returns those of the beat who may play, if they would be heard in less than half of the bars that another track
// is laid over, were they to join with the second unit of an end: a beat that rests by itself is not held back as well.
func (f *finder) tooRare(units []Unit, may []int) []int {
	beat := slices.DeleteFunc(slices.Clone(may), func(p int) bool { return f.Parts[p].Job != song.JobBeat })
	heard, bars := 0, 0
	for k, u := range units {
		for _, sounds := range u.Sounds {
			if bars == 2*mixable {
				break
			}
			bars++
			if k > 0 && slices.ContainsFunc(beat, func(p int) bool { return sounds[p] }) {
				heard++
			}
		}
	}
	if len(units) < 2 || 2*heard >= bars {
		return nil
	}
	return beat
}

// beside returns the power beside the strongest end of a course: after it where it rises, before it where it falls; nil
// where it is not known.
func (f *finder) beside(i int) *Power {
	if f.Sections[i].Course == Rising {
		return f.ahead(i)
	}
	if before, ok := f.before(i); ok {
		return &before.Power
	}
	return nil
}

// courseOrder returns who may join, in the order in which they are tried: drums in the order in which they are wanted,
// then music from the softest on; the bass does not join an intro.
func (f *finder) courseOrder(s Section) []int {
	may := slices.DeleteFunc(slices.Clone(s.May), func(p int) bool { return s.Kind == song.KindIntro && f.Parts[p].Job == song.JobBass })
	soft := func(p int) int64 {
		if drum(f.Parts[p].Job) {
			return -1
		}
		return s.Units[0].Powers[p].Sum()
	}
	slices.SortStableFunc(may, func(p, q int) int { return cmp.Compare(soft(p), soft(q)) })
	return may
}

// joining returns those of may who may join unit k: music does not join the first half of an intro, which is to be
// mixed into, nor is it left in the second half of an outro.
func (f *finder) joining(s Section, k int, may []int) []int {
	if 2*k >= len(s.Units) || s.Kind != song.KindIntro && s.Kind != song.KindOutro {
		return may
	}
	return slices.DeleteFunc(slices.Clone(may), func(p int) bool { return f.Parts[p].StepsBack() })
}

// unsilent lets those who may join, the first of them, into a unit until somebody sounds in all of its bars, or
// nobody is left who would in more.
func (f *finder) unsilent(u Unit, here Found, may []int) Found {
	for _, p := range may {
		silent := silentBars(u, here.Plays)
		if silent == 0 && here.Power.Sum() > 0 {
			break
		}
		plays := slices.Clone(here.Plays)
		plays[p] = true
		if silentBars(u, plays) < silent || here.Power.Sum() == 0 && u.Powers[p].Sum() > 0 {
			here = f.found(u, plays)
		}
	}
	return here
}

// silentBars returns in how many bars of a unit nobody is heard.
func silentBars(u Unit, plays []bool) int {
	n := 0
	for _, sounds := range u.Sounds {
		heard := false
		for p, does := range plays {
			heard = heard || does && sounds[p]
		}
		if !heard {
			n++
		}
	}
	return n
}

// join returns the cheapest addition to a unit that moves a band against the one before; here is the unit if
// nobody joins; next is what is heard beside the section's end, nil for nothing.
func (f *finder) join(u Unit, before, here Found, may []int, next *Power) Found {
	rest := slices.DeleteFunc(slices.Clone(may), func(p int) bool { return here.Plays[p] })
	most := min(max(len(f.Parts)*joinShare/100, 1), mostJoin)
	together := strongest(u, rest)
	var with, best []int // turns
	quiet := func() int64 {
		plays := slices.Clone(here.Plays)
		for _, k := range with {
			plays[rest[k]] = true
		}
		cost := hushed * int64(silentBars(u, plays)) / int64(max(len(u.Sounds), 1))
		if isBeat := func(p int) bool { return f.Parts[p].Job == song.JobBeat }; slices.ContainsFunc(may, isBeat) {
			if !slices.ContainsFunc(may, func(p int) bool { return isBeat(p) && plays[p] }) {
				cost += beatless
			}
		}
		return cost
	}
	line := func(power Power) int64 {
		if next == nil {
			return 0
		}
		return blurred(power, *next, f.Scale.Full())
	}
	least := f.joinCost(before, here.Power, 0, 0, len(rest)) + quiet() + line(here.Power)
	var try func(from, turns int, power Power)
	try = func(from, turns int, power Power) {
		for k := from; k < len(rest); k++ {
			if len(with) > 0 && !together[k] {
				continue
			}
			with = append(with, k)
			sum := power.plus(u.Powers[rest[k]])
			cost := f.joinCost(before, sum, len(with), turns+k, len(rest)) + line(sum)
			if cost < least { // what is dearer to work out only adds to it
				if cost += quiet(); cost < least {
					best, least = slices.Clone(with), cost
				}
			}
			if len(with) < most && together[k] {
				try(k+1, turns+k, sum)
			}
			with = with[:len(with)-1]
		}
	}
	try(0, 0, here.Power)
	if len(best) == 0 {
		return here
	}
	plays := slices.Clone(here.Plays)
	for _, k := range best {
		plays[rest[k]] = true
	}
	return f.found(u, plays)
}

// strongest tells of each of several parts whether it is one of the [mostTogether] strongest of them in a unit.
func strongest(u Unit, parts []int) []bool {
	turns := make([]int, len(parts))
	for k := range turns {
		turns[k] = k
	}
	slices.SortStableFunc(turns, func(a, b int) int { return cmp.Compare(u.Powers[parts[b]].Sum(), u.Powers[parts[a]].Sum()) })
	out := make([]bool, len(parts))
	for _, k := range turns[:min(len(turns), mostTogether)] {
		out[k] = true
	}
	return out
}

// joinCost returns what it costs that some parts join; turns is the sum of their places among the n that may.
func (f *finder) joinCost(before Found, power Power, count, turns, n int) int64 {
	cost := int64(800*count + 1000*turns/max(n, 1))
	if count == 0 && n > 0 {
		cost += idle
	}
	if !moves(before.Power, power, f.Scale.Full(), rises) {
		cost += 5000
	}
	percent := f.Scale.Percent(power.Sum())
	cost += faint * int64(max(leastInCourse-percent, 0))
	return cost + 30*int64(max(percent-900, 0))
}
