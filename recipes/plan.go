package recipes

import (
	"fmt"
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// plan is how long everything is.
type plan struct {
	blocks   []lay.Block
	sections []song.Section // as laid out; nil without sections
	bars     int
	lines    []string // what scaling did to each section; nil where nothing was scaled
	told     []remark.Remark
}

// planner works the plan out.
type planner struct {
	r        *Recipe
	o        Options
	time     *smf.Timeline // of the loop
	loopBars int
	bad      *mistakes
}

// plan returns the lengths of a draft that is laid out.
func (p *planner) plan() (plan, error) {
	if len(p.r.Sections) == 0 {
		return p.withoutSections(), nil
	}
	lengths := make([]int, len(p.r.Sections))
	for i, s := range p.r.Sections {
		lengths[i] = s.Bars
	}
	var out plan
	sum, phrase := p.r.bars(), p.r.phrase()
	target := sum
	switch {
	case p.o.Bars > 0:
		target = p.o.Bars
	case p.o.Micros > 0:
		target = p.nearest(p.o.Micros, p.scaledBlocks)
		out.told = append(out.told, p.durationIn(p.o.Micros, target))
	case p.r.Length.Micros > 0:
		target = p.nearest(p.r.Length.Micros, func(bars int) ([]lay.Block, error) { return p.scaledBlocks(bars) })
		if target != sum {
			p.bad.fail(p.r.at.length, Error{Path: "length", Found: fmt.Sprintf("%s, which is %d bars", p.r.Length.Texts()[0], target),
				Want: fmt.Sprintf("the %d bars that the sections add up to", sum)})
			target = sum // so that the mistakes of the moves are found too
		}
		out.told = append(out.told, p.durationIn(p.r.Length.Micros, target))
	}
	if target != sum {
		var err error
		if lengths, err = scaled(p.r.Sections, target, phrase); err != nil {
			return plan{}, err
		}
		out.lines = planLines(p.r.Sections, lengths)
	}
	out.blocks = p.blocks(lengths)
	bar := 1
	for i, s := range p.r.Sections {
		out.sections = append(out.sections, song.Section{Name: s.Name, Kind: s.kind(), Bar: bar, Bars: lengths[i]})
		bar += lengths[i]
	}
	out.bars = target
	return out, nil
}

func (p *planner) withoutSections() plan {
	run := func(bars int) ([]lay.Block, error) { return []lay.Block{{Bars: bars, RunOn: true}}, nil }
	var out plan
	micros := p.o.Micros
	switch {
	case p.o.Bars > 0:
		out.bars = p.o.Bars
	case micros == 0 && p.r.Length.Bars > 0:
		out.bars = p.r.Length.Bars
	case micros == 0:
		micros = p.r.Length.Micros
	}
	if out.bars == 0 && micros > 0 {
		out.bars = p.nearest(micros, run)
		out.told = append(out.told, p.durationIn(micros, out.bars))
	}
	if out.bars == 0 {
		out.bars = p.loopBars
	}
	out.blocks, _ = run(out.bars)
	return out
}

// durationIn says how many bars a duration comes to.
func (p *planner) durationIn(micros int64, bars int) remark.Remark {
	return remark.Remark{Kind: remark.DurationInBars, Found: where.Extent{Micros: micros}.Texts()[0], Numbers: []int{bars, p.r.phrase()}}
}

// blocks returns the sections as stretches to lay out.
func (p *planner) blocks(lengths []int) []lay.Block {
	out := make([]lay.Block, len(lengths))
	for i, s := range p.r.Sections {
		out[i] = lay.Block{Bars: lengths[i], RunOn: s.RunOn}
	}
	return out
}

func (p *planner) scaledBlocks(bars int) ([]lay.Block, error) {
	lengths, err := scaled(p.r.Sections, bars, p.r.phrase())
	if err != nil {
		return nil, err
	}
	return p.blocks(lengths), nil
}

// nearest returns the number of bars, in whole phrases, that lasts nearest to a duration; of two
// equally near the longer.
func (p *planner) nearest(micros int64, blocks func(bars int) ([]lay.Block, error)) int {
	best, off := 0, int64(0)
	for bars := p.r.phrase(); bars <= song.MaxBars; bars += p.r.phrase() {
		b, err := blocks(bars)
		if err != nil {
			continue
		}
		lasts := p.micros(b)
		if d := max(lasts-micros, micros-lasts); best == 0 || d <= off {
			best, off = bars, d
		} else if lasts > micros {
			break
		}
	}
	return max(best, p.r.phrase())
}

// micros returns how long stretches last, each pass of the loop in its own tempi.
func (p *planner) micros(blocks []lay.Block) int64 {
	upTo := func(bar int) int64 { return p.time.Elapsed(p.time.BarStart(bar + 1)) } // the loop's first bars
	sum, at := int64(0), 0
	for _, b := range blocks {
		if !b.RunOn {
			at = (p.loopBars - b.Bars%p.loopBars) % p.loopBars
		}
		end := at + b.Bars
		sum += int64(end/p.loopBars)*upTo(p.loopBars) + upTo(end%p.loopBars) - upTo(at)
		at = end % p.loopBars
	}
	ppq := int64(p.time.PPQ())
	return (sum + ppq/2) / ppq
}

// scaled returns lengths for the sections that add up to a number of bars: whole phrases, in
// proportion to their own lengths, none under its least.
func scaled(sections []SectionSpec, bars, phrase int) ([]int, error) {
	least := make([]int, len(sections)) // in phrases
	sum, floor := 0, 0
	for i, s := range sections {
		least[i] = (s.least() + phrase - 1) / phrase
		sum += s.Bars
		floor += least[i]
	}
	switch {
	case bars%phrase != 0:
		near := max((bars+phrase/2)/phrase, floor)
		if near*phrase > song.MaxBars {
			near = song.MaxBars / phrase
		}
		return nil, fmt.Errorf("found a length of %d bars, want whole phrases of %d bars: the nearest is %d bars", bars, phrase, near*phrase)
	case bars/phrase < floor:
		return nil, fmt.Errorf("found a length of %d bars, too short for %d sections: the nearest is %d bars", bars, len(sections), floor*phrase)
	}
	shares := largestRemainder(sections, bars/phrase, sum)
	raise(sections, shares, least)
	for i := range shares {
		shares[i] *= phrase
	}
	return shares, nil
}

// largestRemainder shares out whole phrases: each section gets the whole part of its share, those
// with the largest rests one more; of equal rests the earlier.
func largestRemainder(sections []SectionSpec, phrases, sum int) []int {
	shares := make([]int, len(sections))
	order := make([]int, len(sections))
	rest := make([]int64, len(sections))
	left := phrases
	for i, s := range sections {
		share := int64(s.Bars) * int64(phrases)
		shares[i], rest[i], order[i] = int(share/int64(sum)), share%int64(sum), i
		left -= shares[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case rest[a] > rest[b]:
			return -1
		case rest[a] < rest[b]:
			return 1
		}
		return 0
	})
	for _, i := range order[:left] {
		shares[i]++
	}
	return shares
}

// raise lifts sections to their least. The phrases come one by one from the longest of the first
// and last section, then from the longest break, then from any, never from one at its least.
func raise(sections []SectionSpec, shares, least []int) {
	longest := func(is func(i int) bool) int {
		best := -1
		for i := range shares {
			if is(i) && shares[i] > least[i] && (best < 0 || shares[i] > shares[best]) {
				best = i
			}
		}
		return best
	}
	for i := range shares {
		for shares[i] < least[i] {
			from := longest(func(j int) bool { return j == 0 || j == len(shares)-1 })
			if from < 0 {
				from = longest(func(j int) bool { return sections[j].kind() == song.KindBreak })
			}
			if from < 0 {
				from = longest(func(int) bool { return true })
			}
			shares[from]--
			shares[i]++
		}
	}
}

func planLines(sections []SectionSpec, lengths []int) []string {
	var out []string
	bar := 1
	for i, s := range sections {
		line := fmt.Sprintf("%s: bars %d-%d", s.Name, bar, bar+lengths[i]-1)
		if lengths[i] != s.Bars {
			line += fmt.Sprintf(" (%d bars, written as %d)", lengths[i], s.Bars)
		}
		out = append(out, line)
		bar += lengths[i]
	}
	return out
}
