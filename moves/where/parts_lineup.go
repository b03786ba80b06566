package where

import (
	"cmp"
	"fmt"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

// LineUp says which parts play in a section, and from which to which of its bars. The zero value is
// the line-up that was left out: everything plays. A line-up of no texts is silence.
//
//	item = (NAME [N] | "all" ["but" NAME [N] {"and" NAME [N]}]) ["if any"] ["from" BAR] ["to" BAR]
//
// Bars count inside the section, from 1; both are included. Items add up, except that the narrower
// word overrules the wider for the parts it means: a part (by name or number), a role, a job, a
// group, all.
type LineUp struct {
	given bool
	items []lineItem
	bad   error
}

// BarRange is a stretch of bars, First to Last, both included, counted from 1.
type BarRange struct{ First, Last int }

// ParseLineUp reads the texts of a line-up; none at all is silence. The error is a [*option.Mistake];
// of several mistakes, what [errors.Join] makes of them.
func ParseLineUp(texts ...string) (LineUp, error) {
	items, mistakes := readSentences(texts, (*phraseParser).lineItem, lineRewrites())
	if err := joinErrors(mistakes); err != nil {
		return LineUp{given: true, bad: err}, err
	}
	return LineUp{given: true, items: items}, nil
}

// LineUpOf is [ParseLineUp] for literals: the error is kept and returned by Resolve.
func LineUpOf(texts ...string) LineUp {
	l, _ := ParseLineUp(texts...)
	return l
}

// UnmarshalTexts sets the line-up from a list of texts; see [ParseLineUp].
func (l *LineUp) UnmarshalTexts(texts []string) error {
	got, err := ParseLineUp(texts...)
	*l = got
	return err
}

// Texts returns each item in the words of the language; [ParseLineUp] of it gives the same line-up,
// except that the zero value has no text.
func (l LineUp) Texts() []string { return phraseTexts(l.items) }

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

// MapBars returns the line-up with each bar number written after "from" or "to" replaced by what f
// makes of it; isTo tells the two apart. A result below 1 counts as 1, a "to" before its "from" as
// the "from".
func (l LineUp) MapBars(f func(bar int, isTo bool) int) LineUp {
	l.items = slices.Clone(l.items)
	for i := range l.items {
		it := &l.items[i]
		if it.from > 0 {
			it.from = max(f(it.from, false), 1)
		}
		if it.to > 0 {
			it.to = max(f(it.to, true), it.from, 1)
		}
	}
	return l
}

// Resolve returns, for each part of the song by index, the bars of the section in which it plays:
// in rising order, neither overlapping nor touching, empty for a silent part. bars is the length of
// the section. Bar numbers past it are an error where strict, else clipped and told. A part or role
// that is not there is an error unless written "if any"; a job or group may be empty. A trigger
// plays wherever anything plays, unless an item names it. Errors are as in [Parts.Resolve].
func (l LineUp) Resolve(s song.Song, bars int, strict bool) (plays [][]BarRange, told []remark.Remark, err error) {
	if l.bad != nil {
		return nil, nil, l.bad
	}
	items := l.items
	if !l.given {
		items = []lineItem{{item: partItem{all: true}}}
	}
	claims := make([]claim, len(s.Parts))
	var mistakes []*option.Mistake
	for i, it := range items {
		e := it.claim(s, bars, strict, claims, &told)
		if e != nil {
			e.Text, e.Item = it.text(), i
			mistakes = append(mistakes, e)
		}
	}
	if len(mistakes) > 0 {
		return nil, nil, joinErrors(mistakes)
	}
	plays = make([][]BarRange, len(s.Parts))
	var any []BarRange
	for i, c := range claims {
		plays[i] = joinedBars(c.bars)
		any = append(any, plays[i]...)
	}
	any = joinedBars(any)
	for i, c := range claims {
		if s.Parts[i].Role == song.Trigger && !c.made {
			plays[i] = slices.Clone(any)
		}
	}
	return plays, told, nil
}

// claim is what the narrowest words so far say about a part.
type claim struct {
	made    bool
	breadth breadth
	bars    []BarRange
}

func (c *claim) add(b breadth, bars []BarRange) {
	switch {
	case !c.made || b < c.breadth:
		*c = claim{true, b, bars}
	case b == c.breadth:
		c.bars = slices.Concat(c.bars, bars)
	}
}

// joinedBars sorts ranges and joins those that overlap or touch.
func joinedBars(in []BarRange) []BarRange {
	in = slices.Clone(in)
	slices.SortFunc(in, func(a, b BarRange) int {
		return cmp.Or(cmp.Compare(a.First, b.First), cmp.Compare(a.Last, b.Last))
	})
	var out []BarRange
	for _, r := range in {
		if n := len(out) - 1; n >= 0 && r.First <= out[n].Last+1 {
			out[n].Last = max(out[n].Last, r.Last)
			continue
		}
		out = append(out, r)
	}
	return out
}

type lineItem struct {
	item           partItem
	ifAny          bool
	from, to       int // 0 where left out
	fromCol, toCol int
}

func (l lineItem) text() string {
	text := l.item.text() + ifAnyText(l.ifAny)
	if l.from > 0 {
		text += fmt.Sprintf(" from %d", l.from)
	}
	if l.to > 0 {
		text += fmt.Sprintf(" to %d", l.to)
	}
	return text
}

func (p *phraseParser) lineItem() (lineItem, *option.Mistake) {
	var l lineItem
	var e *option.Mistake
	if l.item, e = p.partItem(); e != nil {
		return l, e
	}
	if l.ifAny, e = p.ifAny(); e != nil {
		return l, e
	}
	if p.accept("from") {
		bar, e := p.expectNumber()
		if e != nil {
			return l, e
		}
		l.from, l.fromCol = bar.a, bar.col
	}
	if p.accept("to") {
		bar, e := p.expectNumber()
		if e != nil {
			return l, e
		}
		if bar.a < l.from {
			p.at--
			return l, p.fail(fmt.Sprintf("a bar from %d", l.from))
		}
		l.to, l.toCol = bar.a, bar.col
	}
	return l, nil
}

// claim adds what the item says to the parts it means.
func (l lineItem) claim(s song.Song, bars int, strict bool, claims []claim, told *[]remark.Remark) *option.Mistake {
	found, e := l.item.find(s, l.ifAny)
	if e != nil {
		if found.lacking { // which stands behind all that is left out
			l.ifAny = true
			e.Hint = l.text()
		}
		return e
	}
	plays, e := l.bars(bars, strict, told)
	if e != nil {
		return e
	}
	for _, i := range found.indices {
		claims[i].add(found.breadth, plays)
	}
	return nil
}

// bars returns the bars the item says, at most the section's.
func (l lineItem) bars(bars int, strict bool, told *[]remark.Remark) ([]BarRange, *option.Mistake) {
	r := BarRange{1, bars}
	if l.from > 0 {
		r.First = l.from
	}
	if l.to > 0 {
		r.Last = l.to
	}
	over, col := 0, 0
	switch {
	case r.First > bars && l.from > 0:
		over, col = l.from, l.fromCol
	case r.Last > bars:
		over, col = l.to, l.toCol
	default:
		return []BarRange{r}, nil
	}
	if strict {
		return nil, &option.Mistake{Col: col, Found: fmt.Sprint(over), Want: fmt.Sprintf("bars within 1-%d (the section)", bars)}
	}
	if r.First > bars {
		*told = append(*told, remark.Remark{Kind: remark.LineUpLeftOut, Sentence: l.text(), Numbers: []int{bars}})
		return nil, nil
	}
	*told = append(*told, remark.Remark{Kind: remark.LineUpClipped, Sentence: l.text(), Numbers: []int{bars}})
	return []BarRange{{r.First, bars}}, nil
}

func lineRewrites() []rewrite {
	return []rewrite{lowerCase, splitNumbers, synonyms, ifThere, allOf, withoutUnits, barSpan, lastIfAny, toThenFrom, orIfAny}
}

// withoutUnits reads from bar 9 as from 9.
func withoutUnits(ws []string) []string { return without(ws, "bar", "bars") }

// barSpan reads hat 9-24 and hat from 9-24 as hat from 9 to 24.
func barSpan(ws []string) []string {
	for i := 1; i+2 < len(ws); i++ {
		if !isNumber(ws[i]) || ws[i+1] != "-" || !isNumber(ws[i+2]) {
			continue
		}
		ws[i+1] = "to"
		if ws[i-1] != "from" {
			ws = slices.Insert(ws, i, "from")
		}
		return ws
	}
	return nil
}

// lastIfAny reads perc from 9 if any as perc if any from 9.
func lastIfAny(ws []string) []string {
	n := len(ws) - 2
	if n < 1 || ws[n] != "if" || ws[n+1] != "any" {
		return nil
	}
	at := slices.IndexFunc(ws, func(w string) bool { return w == "from" || w == "to" })
	if at < 0 {
		return nil
	}
	return slices.Concat(ws[:at], []string{"if", "any"}, ws[at:n])
}

// toThenFrom reads hat to 24 from 9 as hat from 9 to 24.
func toThenFrom(ws []string) []string {
	to, from := slices.Index(ws, "to"), slices.Index(ws, "from")
	if to < 0 || from < to {
		return nil
	}
	return slices.Concat(ws[:to], ws[from:], ws[to:from])
}

// orIfAny makes a list of snare or clap, since everything in a line-up plays.
func orIfAny(ws []string) []string {
	if !slices.Contains(ws, "or") {
		return nil
	}
	bars := slices.IndexFunc(ws, func(w string) bool { return w == "if" || w == "from" || w == "to" })
	if bars < 0 {
		bars = len(ws)
	}
	rest := ws[bars:]
	if len(rest) > 1 && rest[0] == "if" {
		rest = rest[2:]
	}
	var out []string
	for _, w := range append(slices.Clone(ws[:bars]), "or") {
		if w == "or" {
			out = append(append(append(out, "if", "any"), rest...), "or")
			continue
		}
		out = append(out, w)
	}
	return out[:len(out)-1]
}

// Form says what an item of a line-up looks like.
func (l LineUp) Form() option.Form {
	return option.Form{Name: "line-up", Pattern: sentence(`ITEM(?: if any)?(?: from NUM)?(?: to NUM)?`)}
}
