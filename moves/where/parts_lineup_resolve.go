package where

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// SectionContext is the section that a line-up is resolved in.
type SectionContext struct {
	Song    song.Song // its parts, and its bars, laid out
	Bar     int       // the first bar of the section in Song, from 1; 0: 1
	Bars    int       // its length
	Written int       // the length it has where the line-up is written, which the numbers have to fit; 0: Bars
	Phrase  int       // bars of a phrase; 0: 8
	Strict  bool      // written numbers that do not fit are errors; otherwise clipped and told
	Base    [][]Play  // what "same" means, by part of Song, in ticks of this section; nil: it is like no other
	Loops   []string  // the loops that parts may be "of"; none: there is one loop, and "of" is an error
}

// Play is a stretch in which a part plays, in ticks from the section's start; half-open.
type Play struct {
	song.Range
	Loop string // the loop it plays from, by an item "of LOOP"; "": the section's own
}

// Ranges returns when a part plays, whichever loop it plays from: in rising order, apart.
func Ranges(plays []Play) []song.Range {
	ranges := make([]song.Range, len(plays))
	for i, p := range plays {
		ranges[i] = p.Range
	}
	return song.Union(ranges)
}

// Resolve returns, for each part of the song by index, when it plays: in rising order, not
// overlapping, and touching only where the loop changes; empty for a silent part. told says what
// was left out or clipped. Bars past the section's written length and beats past their bar are an
// error where strict, else clipped and told. A part or role that is not there is an error unless
// written "if any"; a job or group may be empty. A trigger plays wherever anything plays, unless an
// item names it. Errors are as in [Parts.Resolve].
func (l LineUp) Resolve(c SectionContext) (plays [][]Play, told []remark.Remark, err error) {
	if l.bad != nil {
		return nil, nil, l.bad
	}
	r, err := newSectionResolver(c)
	if err != nil {
		return nil, nil, err
	}
	items := l.items
	if !l.given {
		items = []lineItem{{item: partItem{all: true}}}
	}
	claims := make([]claim, len(c.Song.Parts))
	var mistakes []*option.Mistake
	for i, it := range items {
		e := r.claim(it, claims)
		if e != nil {
			e.Text, e.Item = it.text(), i
			mistakes = append(mistakes, e)
		}
	}
	if len(mistakes) > 0 {
		return nil, nil, joinErrors(mistakes)
	}
	plays = make([][]Play, len(c.Song.Parts))
	var any []Play
	for i, cl := range claims {
		plays[i] = joinedPlays(cl.plays)
		any = append(any, plays[i]...)
	}
	var anywhere []Play // of the section's own loop
	for _, r := range Ranges(any) {
		anywhere = append(anywhere, Play{Range: r})
	}
	for i, cl := range claims {
		if c.Song.Parts[i].Role == song.RoleTrigger && !cl.made {
			plays[i] = slices.Clone(anywhere)
		}
	}
	return plays, r.told, nil
}

// claim is what the narrowest words so far say about a part.
type claim struct {
	made    bool
	breadth breadth
	plays   []Play
}

// add takes what an item says. Of two loops at once the later counts.
func (c *claim) add(b breadth, plays []Play) {
	switch {
	case !c.made || b < c.breadth:
		*c = claim{true, b, plays}
	case b == c.breadth:
		var kept []Play
		for _, old := range c.plays {
			var over []song.Range
			for _, p := range plays {
				if p.Loop != old.Loop {
					over = append(over, p.Range)
				}
			}
			for _, piece := range song.Without([]song.Range{old.Range}, over) {
				kept = append(kept, Play{piece.Range, old.Loop})
			}
		}
		c.plays = slices.Concat(kept, plays)
	}
}

// joinedPlays sorts stretches and joins those of one loop that overlap or touch.
func joinedPlays(in []Play) []Play {
	in = slices.Clone(in)
	slices.SortFunc(in, func(a, b Play) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End), cmp.Compare(a.Loop, b.Loop))
	})
	var out []Play
	for _, p := range in {
		if n := len(out) - 1; n >= 0 && p.Start <= out[n].End && p.Loop == out[n].Loop {
			out[n].End = max(out[n].End, p.End)
			continue
		}
		out = append(out, p)
	}
	return out
}

// sectionResolver is a line-up's section with everything known.
type sectionResolver struct {
	SectionContext
	tl    *smf.Timeline
	start song.Tick // of the section
	end   song.Tick // of the section, from its start
	told  []remark.Remark
}

func newSectionResolver(c SectionContext) (*sectionResolver, error) {
	if c.Song.Time() == nil {
		return nil, errNoBars
	}
	c.Bar = max(c.Bar, 1)
	if c.Written == 0 {
		c.Written = c.Bars
	}
	if c.Phrase == 0 {
		c.Phrase = 8
	}
	r := &sectionResolver{SectionContext: c, tl: c.Song.Time()}
	r.start = r.tl.BarStart(c.Bar)
	r.end = r.line(c.Bars)
	return r, nil
}

// line returns the tick, from the section's start, of the line after a number of bars.
func (r *sectionResolver) line(bars int) song.Tick { return r.tl.BarStart(r.Bar+bars) - r.start }

// beat returns the tick of the line after a number of beats of a bar, at most its end. The bar
// counts from 0.
func (r *sectionResolver) beat(bar, beats int) song.Tick {
	return inBeat(r.tl, r.Bar+bar, beats, 0) - r.start
}

// claim adds what an item says to the parts it means.
func (r *sectionResolver) claim(it lineItem, claims []claim) *option.Mistake {
	if it.same {
		return r.claimSame(it, claims)
	}
	if e := r.knowsLoop(it); e != nil {
		return e
	}
	found, e := it.item.find(r.Song, it.ifAny)
	if e != nil {
		if found.lacking { // "if any", which stands behind all that is left out
			it.ifAny = true
			e.Hint = it.text()
		}
		return e
	}
	in, there, e := r.when(it)
	if e != nil {
		return e
	}
	parts := inOrder(r.Song, it.item.named.name, found.indices)
	for i, p := range parts {
		var plays []Play
		if got := r.inTurn(it.turn, in, i, len(parts)); there && got.Len() > 0 {
			plays = []Play{{got, it.loop.name}}
		}
		claims[p].add(found.breadth, plays)
	}
	return nil
}

// claimSame lets the parts play what they play in the section that this one is like. Triggers follow
// what plays here.
func (r *sectionResolver) claimSame(it lineItem, claims []claim) *option.Mistake {
	if r.Base == nil {
		e := &option.Mistake{Col: it.col, Found: "same", Want: "a section that is like another, such as like: drop 1"}
		if r.Song.Index("same") >= 0 {
			e.Hint = "same 1"
		}
		return e
	}
	in, there, e := r.when(it)
	if e != nil {
		return e
	}
	for p := range claims {
		if r.Song.Parts[p].Role == song.RoleTrigger || p >= len(r.Base) {
			continue
		}
		var plays []Play
		for _, was := range r.Base[p] {
			was.Start, was.End = max(was.Start, in.Start), min(was.End, in.End)
			if there && was.Len() > 0 {
				plays = append(plays, was)
			}
		}
		claims[p].add(sameBreadth, plays)
	}
	return nil
}

// knowsLoop refuses a loop that is not there.
func (r *sectionResolver) knowsLoop(it lineItem) *option.Mistake {
	name := it.loop.name
	if name == "" || slices.Contains(r.Loops, name) {
		return nil
	}
	e := &option.Mistake{Col: it.loop.col, Found: "of " + name, Want: `no "of": there is one loop only`}
	if len(r.Loops) == 0 {
		it.loop = named{}
		e.Hint = it.text()
		return e
	}
	e.Want = "one of the loops " + strings.Join(r.Loops, ", ")
	if near := song.Nearest(name, r.Loops); near != "" {
		it.loop.name = near
		e.Hint = it.text()
	}
	return e
}

// when returns the stretch that an item says; false where it lies past the section.
func (r *sectionResolver) when(it lineItem) (song.Range, bool, *option.Mistake) {
	if (it.portion != portion{}) {
		from, to := it.portion.cut(r.Bars)
		return song.Range{Start: r.line(from), End: r.line(to)}, true, nil
	}
	if e := r.fits(&it); e != nil {
		return song.Range{}, false, e
	}
	if it.from.bar > r.Written {
		return song.Range{}, false, nil
	}
	first, last := max(it.from.bar, 1), r.Written
	if it.to.bar > 0 {
		last = it.to.bar
	}
	start, end := r.scaled(first, last)
	out := song.Range{Start: r.line(start), End: r.line(end)}
	var e *option.Mistake
	if it.from.beat > 0 {
		if out.Start, e = r.point(it, it.from, it.from.beat-1); e != nil {
			return out, false, e
		}
	}
	if it.to.beat > 0 {
		if out.End, e = r.point(it, it.to, it.to.beat); e != nil {
			return out, false, e
		}
	}
	if out.End <= out.Start { // two beats that came into one bar
		out.End = min(r.tl.BarStart(r.tl.BarOf(r.start+out.Start)+1)-r.start, r.end)
	}
	return out, out.Start < out.End, nil
}

// fits refuses, or tells of and clips, bars past the section.
func (r *sectionResolver) fits(it *lineItem) *option.Mistake {
	over := it.to
	if it.from.bar > r.Written {
		over = it.from
	}
	switch {
	case over.bar <= r.Written:
		return nil
	case r.Strict:
		return &option.Mistake{Col: over.col, Found: over.pointText(), Want: fmt.Sprintf("bars within 1-%d (the section)", r.Written)}
	case over == it.from:
		r.tell(remark.Remark{Kind: remark.LineUpLeftOut, Sentence: it.text(), Numbers: []int{r.Written}})
		return nil
	}
	r.tell(remark.Remark{Kind: remark.LineUpClipped, Sentence: it.text(), Numbers: []int{r.Written}})
	it.to = pos{}
	return nil
}

// point returns the tick of the line after some beats of the bar of a point, wherever that bar came
// to lie. A beat past its bar is refused, or told and clipped to the bar's end.
func (r *sectionResolver) point(it lineItem, p pos, beats int) (song.Tick, *option.Mistake) {
	bar := min(r.place(p.bar-1), r.Bars-1)
	have := beatsIn(r.tl, r.Bar+bar)
	if p.beat <= have {
		return r.beat(bar, beats), nil
	}
	if r.Strict {
		return 0, &option.Mistake{Col: p.col, Found: p.text(), Want: fmt.Sprintf("beats within 1-%d in bar %d", have, p.bar)}
	}
	r.tell(remark.Remark{Kind: remark.LineUpBeat, Sentence: it.text(), Found: p.text(), Bar: p.bar, Numbers: []int{have}})
	return r.beat(bar, have), nil
}

func (r *sectionResolver) tell(what remark.Remark) { r.told = append(r.told, what) }

// scaled returns the bars before the first and up to the last of some whole bars, moved to a section
// of another length. What stood on a phrase line stays on one, the rest goes to the nearest bar; no
// range becomes empty.
func (r *sectionResolver) scaled(first, last int) (start, end int) {
	if r.Written == r.Bars {
		return first - 1, last
	}
	size := 1
	if (first-1)%r.Phrase == 0 {
		size = min(r.Phrase, r.Bars)
	}
	start, end = r.place(first-1), r.Bars
	if last < r.Written {
		end = r.place(last)
	}
	if end <= start {
		if last == r.Written || start == r.Bars {
			start = max(end-size, 0)
		}
		end = min(max(end, start+size), r.Bars)
	}
	return start, end
}

// place returns where a line moves: the number of bars before it.
func (r *sectionResolver) place(line int) int {
	unit := 1
	if line%r.Phrase == 0 && r.Bars%r.Phrase == 0 {
		unit = r.Phrase
	}
	return nearestMultiple(line, r.Bars, r.Written, unit)
}

// nearestMultiple returns line * to / from as the nearest multiple of unit, halves up.
func nearestMultiple(line, to, from, unit int) int {
	return int((2*int64(line)*int64(to)+int64(from)*int64(unit))/(2*int64(from)*int64(unit))) * unit
}

// inTurn returns when the part i of n plays, from 0, of those that come in or leave in turn within a
// stretch.
func (r *sectionResolver) inTurn(t turn, in song.Range, i, n int) song.Range {
	if t == atOnce || in.Len() <= 0 {
		return in
	}
	lines := []song.Tick{in.Start}
	for bar := r.Phrase; bar < r.Bars; bar += r.Phrase {
		if at := r.line(bar); at > in.Start && at < in.End {
			lines = append(lines, at)
		}
	}
	if t == inTurn {
		return song.Range{Start: lines[i*len(lines)/n], End: in.End}
	}
	return song.Range{End: lines[(n-1-i)*len(lines)/n]}
}

// Item writes that a part, by a word that means it alone such as [PartText] gives, plays in a
// stretch of the section that starts and ends on beats: as an item of a line-up of this length.
func (c SectionContext) Item(part string, play song.Range) string {
	tl := c.Song.Time()
	first := max(c.Bar, 1)
	start := tl.BarStart(first)
	text := part
	if play.Start > 0 {
		at := tl.Locate(start + play.Start)
		text += " from " + pos{bar: at.Bar - first + 1, beat: beatUnlessFirst(at.Beat)}.pointText()
	}
	if end := start + play.End; end < tl.BarStart(first+c.Bars) {
		to := pos{bar: tl.BarOf(end) - first}
		if !tl.IsBarLine(end) {
			beats, _ := beatOf(tl, tl.BarOf(end), end)
			to.bar, to.beat = to.bar+1, beats
		}
		text += " to " + to.pointText()
	}
	return text
}

// beatUnlessFirst returns 0 for the first beat, with which a bar begins.
func beatUnlessFirst(beat int) int {
	if beat == 1 {
		return 0
	}
	return beat
}
