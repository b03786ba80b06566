package where

import (
	"fmt"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// LineUp says which parts play in a section, and in which of its bars and beats. The zero value is
// the line-up that was left out: everything plays. A line-up of no texts is silence.
//
//	item    = (NAME [N] ["of" LOOP] | "all" ["but" NAME [N] {"and" NAME [N]}]) ["if any"] ["in turn" | "out in turn"] [when]
//	        | "same" [when]
//	when    = "in" portion | "from" POINT ["to" POINT] | "to" POINT
//	portion = ("first" | "last") ("half" | "third" | "quarter") | "second" "half"
//	POINT   = BAR | BAR.BEAT
//
// Bars count inside the section, from 1. "from 8.3" starts on beat 3 of bar 8; "to 8" includes bar
// 8, and "to 8.3" beat 3. In a section of another length than the one written the bars move in
// proportion, what stood on a phrase line to a phrase line, and a beat stays that beat of its bar.
// A portion is cut of the length that the section comes to have, at the nearest bar.
//
// In turn, the parts come in one after another: the k lines are where the item starts and each line
// of a phrase after it, and the part i of n, counted from 0 in the order NAME 1, NAME 2 ..., comes
// in at line i*k/n, rounded down. Out in turn, they play from the section's first bar and leave at
// the same lines in the reverse order, so that the first of them leaves last.
//
// Items add up, except that the narrower word overrules the wider for the parts it means: a part
// (by name or number), a role, a job, a group, all, same. "of LOOP" says which loop the parts play
// from; where two items as narrow as each other name different loops, the later counts. "same" is
// what the line-up of the section that this one is like came to.
//
// The words in, out, turn, same, second, half, third and quarter are words of the language only
// where the grammar awaits them: parts may bear these names. A part called same is "same 1" here.
type LineUp struct {
	sentences[lineItem]
	given bool
}

// ParseLineUp reads the texts of a line-up; none at all is silence. The error is a [*option.Mistake];
// of several mistakes, what [errors.Join] makes of them.
func ParseLineUp(texts ...string) (LineUp, error) {
	l := LineUpOf(texts...)
	return l, l.bad
}

// LineUpOf is [ParseLineUp] for literals: the error is kept and returned by Resolve.
func LineUpOf(texts ...string) LineUp {
	return LineUp{read(texts, (*phraseParser).lineItem, lineRewrites(), ""), true}
}

// UnmarshalTexts sets the line-up from a list of texts; see [ParseLineUp].
func (l *LineUp) UnmarshalTexts(texts []string) error {
	*l = LineUpOf(texts...)
	return l.bad
}

// String returns the line-up as a list in brackets; "" for the zero value.
func (l LineUp) String() string {
	texts := l.Texts()
	switch {
	case !l.given:
		return ""
	case len(texts) == 1:
		return "[" + texts[0] + "]"
	}
	return bracketed(texts)
}

// IsZero tells whether the line-up was left out.
func (l LineUp) IsZero() bool { return !l.given }

// Equal tells whether two line-ups read the same.
func (l LineUp) Equal(m LineUp) bool { return l.String() == m.String() }

// Same tells whether an item is "same", so that [SectionContext] needs its Base.
func (l LineUp) Same() bool {
	return slices.ContainsFunc(l.items, func(it lineItem) bool { return it.same })
}

// Names returns the indices of the parts that items speak of, also behind "but": rising, each once. Those that are
// spoken of because "same" stands for them are not among them.
func (l LineUp) Names(s song.Song) []int {
	var out []int
	for _, it := range l.items {
		if it.same {
			continue
		}
		found, _ := it.item.find(s, true)
		out = append(out, found.indices...)
		for _, b := range it.item.but {
			out = append(out, findPart(s, b).indices...)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// lineItem is an item of a line-up as it was read.
type lineItem struct {
	same     bool
	item     partItem // unless same
	loop     named    // "of LOOP"; name "": the section's own
	ifAny    bool
	turn     turn
	portion  portion // zero: from and to count
	from, to pos     // the bar is 0 where it is left out, the beat 0 where it is a whole bar
	col      int
}

type turn uint8

const (
	atOnce turn = iota
	inTurn
	outInTurn
)

func (t turn) text() string { return [...]string{"", " in turn", " out in turn"}[t] }

func (l lineItem) text() string {
	text := "same"
	if !l.same {
		text = l.item.text()
	}
	if l.loop.name != "" {
		text += " of " + l.loop.name
	}
	text += ifAnyText(l.ifAny) + l.turn.text()
	switch {
	case l.portion != portion{}:
		return text + " in " + l.portion.text()
	case l.from.bar > 0:
		text += " from " + l.from.pointText()
	}
	if l.to.bar > 0 {
		text += " to " + l.to.pointText()
	}
	return text
}

// pointText writes a bar, or a beat of it.
func (p pos) pointText() string {
	if p.beat == 0 {
		return fmt.Sprint(p.bar)
	}
	return p.text()
}

const wantPlays = wantPart + `, or "same"`

func (p *phraseParser) lineItem() (lineItem, *option.Mistake) {
	l := lineItem{col: p.peek().col}
	if p.peek().is("same") && p.second().kind != plainNumber {
		p.take()
		l.same = true
		e := p.when(&l)
		return l, e
	}
	var e *option.Mistake
	if l.item, e = p.partItem(); e != nil {
		if e.Want == wantPart {
			e.Want = wantPlays
		}
		return l, e
	}
	if l.loop, e = p.ofLoop(l.item); e != nil {
		return l, e
	}
	if l.ifAny, e = p.ifAny(); e != nil {
		return l, e
	}
	if l.turn, e = p.turn(); e != nil {
		return l, e
	}
	e = p.when(&l)
	return l, e
}

// ofLoop reads ["of" LOOP].
func (p *phraseParser) ofLoop(of partItem) (named, *option.Mistake) {
	if of.all {
		if p.peek().is("of") {
			return named{}, p.fail(`no "of": a loop stands behind a single name, such as lead of b`)
		}
		return named{}, nil
	}
	col := p.peek().col
	if !p.accept("of") {
		return named{}, nil
	}
	if !p.peek().isName() {
		return named{}, p.fail("a loop's name")
	}
	return named{name: p.take().text, col: col}, nil
}

// turn reads ["in turn" | "out in turn"].
func (p *phraseParser) turn() (turn, *option.Mistake) {
	if p.peek().is("in") && p.second().is("turn") {
		p.take()
		p.take()
		return inTurn, nil
	}
	p.mayFollow("in turn", true)
	if !p.accept("out") {
		return atOnce, nil
	}
	if e := p.expect("in"); e != nil {
		return atOnce, e
	}
	return outInTurn, p.expect("turn")
}

// when reads the rule of the same name, which may be left out.
func (p *phraseParser) when(l *lineItem) *option.Mistake {
	var e *option.Mistake
	if p.accept("in") {
		if l.portion, e = p.portion(); e != nil && e.Want == wantPortion && !l.same && l.turn == atOnce {
			e.Want = `"turn", ` + wantPortion
		}
		return e
	}
	if p.accept("from") {
		if l.from, e = p.point(); e != nil {
			return e
		}
	}
	if !p.accept("to") {
		return nil
	}
	if l.to, e = p.point(); e != nil {
		return e
	}
	switch {
	case l.to.bar < l.from.bar:
		p.at--
		return p.fail("a bar from " + fmt.Sprint(l.from.bar))
	case l.to.bar == l.from.bar && l.to.beat > 0 && l.to.beat < l.from.beat:
		p.at--
		return p.fail("a beat from " + l.from.pointText())
	}
	return nil
}

// point reads BAR or BAR.BEAT.
func (p *phraseParser) point() (pos, *option.Mistake) {
	switch w := p.peek(); w.kind {
	case posWord:
		return posOf(p.take()), nil
	case plainNumber:
		p.take()
		return pos{bar: w.a, col: w.col}, nil
	}
	return pos{}, p.fail("a bar such as 9, or a beat such as 8.3")
}

// Form says what an item of a line-up looks like.
func (l LineUp) Form() option.Form {
	return option.Form{Name: "line-up", Pattern: sentence(`LINED(?: if any)?(?: (?:out )?in turn)?(?: in PORTION|(?: from POINT)?(?: to POINT)?)`)}
}

// PartOfLoopPattern is a pattern of a part that plays a loop, such as "lead of b".
func PartOfLoopPattern() string { return sentence(`NAMED of NAME(?: if any)?`) }

// Parts returns the parts that each item names, without where they play; none of "same".
func (l LineUp) Parts() []Parts {
	var out []Parts
	for _, it := range l.items {
		if !it.same {
			out = append(out, Parts{sentences[partChoice]{items: []partChoice{{items: []partItem{it.item}, ifAny: it.ifAny}}}})
		}
	}
	return out
}
