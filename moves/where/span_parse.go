package where

import (
	"fmt"
	"strings"

	"loopdraft/moves/option"
)

// phraseParser reads one sentence from left to right, deciding at each word what it must be: no
// sentence has two readings, so there is no going back.
type phraseParser struct {
	words []word
	at    int
	could []follower // what could have followed at noted, for the error message
	noted int
}

// follower is what could have followed a word: a word, or something that text tells.
type follower struct {
	text string
	word bool
}

func (f follower) String() string {
	if f.word {
		return `"` + f.text + `"`
	}
	return f.text
}

func (p *phraseParser) peek() word { return p.words[p.at] }

func (p *phraseParser) second() word {
	if p.at+1 < len(p.words) {
		return p.words[p.at+1]
	}
	return p.words[p.at]
}

func (p *phraseParser) take() word {
	w := p.words[p.at]
	if w.kind != endOfText {
		p.at++
	}
	return w
}

// accept takes the next word if it is the given one.
func (p *phraseParser) accept(text string) bool {
	if p.peek().is(text) {
		p.at++
		return true
	}
	p.mayFollow(text, true)
	return false
}

func (p *phraseParser) acceptDash() bool {
	if p.peek().kind == dashWord {
		p.at++
		return true
	}
	p.mayFollow("-", false)
	return false
}

func (p *phraseParser) acceptNumber() (word, bool) {
	if w := p.peek(); w.kind == plainNumber {
		p.at++
		return w, true
	}
	return word{}, false
}

func (p *phraseParser) mayFollow(text string, word bool) {
	if p.noted != p.at {
		p.noted, p.could = p.at, p.could[:0]
	}
	p.could = append(p.could, follower{text, word})
}

func (p *phraseParser) fail(want string) *option.Mistake {
	w := p.peek()
	if w.kind == oddWord && numeric(w.text) {
		want = fmt.Sprintf("numbers from 1 to %d", maxNumber)
	}
	return &option.Mistake{Col: w.col, Found: w.text, Want: want}
}

func (p *phraseParser) expect(text string) *option.Mistake {
	if p.accept(text) {
		return nil
	}
	return p.fail(`"` + text + `"`)
}

func (p *phraseParser) expectNumber() (word, *option.Mistake) {
	if n, ok := p.acceptNumber(); ok {
		return n, nil
	}
	return word{}, p.fail("a number from 1")
}

// end fails unless the sentence is over, with what could have followed.
func (p *phraseParser) end() *option.Mistake {
	if p.peek().kind == endOfText {
		return nil
	}
	want := "the end"
	if p.noted == p.at && len(p.could) > 0 {
		var could []string
		for _, f := range p.could {
			could = append(could, f.String())
		}
		want = strings.Join(could, ", ") + " or the end"
	}
	return p.fail(want)
}

// spanAlone reads a span of an option, which may have an except beside it but none inside.
func (p *phraseParser) spanAlone() (spanNode, *option.Mistake) {
	got, e := p.span()
	if e == nil && p.peek().text == "except" {
		e = p.end()
		e.Want += ", and what is cut out in an option beside it, such as except: drop"
	}
	return got, e
}

// readWords reads the words of a whole sentence by one rule of the grammar.
func readWords[T any](words []word, rule func(*phraseParser) (T, *option.Mistake)) (T, *option.Mistake) {
	var none T
	if len(words) > maxWords {
		w := words[maxWords]
		return none, &option.Mistake{Col: w.col, Found: w.text, Want: "at most 256 words"}
	}
	p := &phraseParser{words: words, noted: -1, could: make([]follower, 0, 4)}
	got, e := rule(p)
	if e == nil {
		e = p.end()
	}
	if e != nil {
		return none, e
	}
	return got, nil
}

// readSentence reads a text by one rule of the grammar; a mistake carries the nearest valid text.
func readSentence[T phrase](text string, index int, rule func(*phraseParser) (T, *option.Mistake), rewrites []rewrite) (T, *option.Mistake) {
	words := splitWords(text)
	got, e := readWords(words, rule)
	if e == nil {
		return got, nil
	}
	if len(words) <= maxWords {
		e = suggest(words, e, func(ws []word) (string, *option.Mistake) {
			fixed, e := readWords(ws, rule)
			if e != nil {
				return "", e
			}
			return fixed.text(), nil
		}, rewrites)
	}
	e.Text, e.Item = text, index
	return got, e
}

// readSentences reads every text of a list; the mistakes come back in the list's order.
func readSentences[T phrase](texts []string, rule func(*phraseParser) (T, *option.Mistake), rewrites []rewrite) ([]T, []*option.Mistake) {
	var out []T
	var mistakes []*option.Mistake
	for i, text := range texts {
		got, e := readSentence(text, i, rule, rewrites)
		if e != nil {
			if len(texts) > 1 { // it stands in a list, which holds no other
				e.Hint = strings.Trim(e.Hint, "[]")
			}
			mistakes = append(mistakes, e)
			continue
		}
		out = append(out, got)
	}
	return out, mistakes
}

const (
	wantSpan = "a span such as all, bars 9-16, drop 2, last 2 bars of drop, 2 bars before drop, " +
		"every 16 bars of drop, from intro to drop or 17.3-18.1"
	wantPlace = "a place such as drop 2, bar 17, every 16 bars, start of drop, end of drop, 17.3 or end"
)

// span reads the rule of the same name.
func (p *phraseParser) span() (spanNode, *option.Mistake) {
	w := p.peek()
	switch {
	case w.kind == posWord:
		return p.posSpan()
	case w.kind == plainNumber, w.kind == noteWord, w.is("beats"):
		return p.besideSpan()
	case w.is("all"):
		p.take()
		return allSpan{}, nil
	case w.is("bar"), w.is("bars"), w.is("beat"):
		if p.second().kind == plainNumber {
			return p.countedSpan()
		}
		return p.besideSpan()
	case w.is("from"):
		return p.fromSpan()
	case p.atPortion():
		return p.portionSpan()
	case w.is("first"), w.is("last"):
		return p.outerSpan()
	case w.is("loop") && (p.second().is("bar") || p.second().is("bars")):
		return p.loopSpan()
	case w.is("every"):
		return p.everySpan()
	case w.isName():
		return p.sectionSpan()
	}
	return nil, p.fail(wantSpan)
}

// of reads an optional "of" span.
func (p *phraseParser) of() (spanNode, *option.Mistake) {
	if !p.accept("of") {
		return nil, nil
	}
	return p.span()
}

func (p *phraseParser) posSpan() (spanNode, *option.Mistake) {
	from := p.take()
	if !p.acceptDash() {
		return nil, p.fail("- and the place where it ends (" + from.text + " by itself is an instant)")
	}
	to := p.peek()
	if to.kind != posWord {
		return nil, p.fail("a place such as 18.1")
	}
	if to.a < from.a || to.a == from.a && to.b <= from.b {
		return nil, p.fail("a place after " + from.text)
	}
	p.take()
	return posSpan{posOf(from), posOf(to)}, nil
}

func posOf(w word) pos { return pos{bar: w.a, beat: w.b, col: w.col} }

// countedSpan reads "bar" N, "bars" N-M and "beat" N or N-M.
func (p *phraseParser) countedSpan() (spanNode, *option.Mistake) {
	unit := p.take()
	first := p.take()
	s := countedSpan{unit: barUnit, first: first.a, last: first.a, col: first.col}
	if unit.is("beat") {
		s.unit = beatUnit
	}
	if !unit.is("bar") {
		if p.acceptDash() {
			last, e := p.expectNumber()
			if e != nil {
				return nil, e
			}
			if last.a < first.a {
				p.at--
				return nil, p.fail("a number from " + first.text)
			}
			s.last, s.ranged = last.a, true
		} else if unit.is("bars") {
			return nil, p.fail("- and the last bar")
		}
	}
	if s.unit == beatUnit {
		if e := p.expect("of"); e != nil {
			return nil, e
		}
		of, e := p.span()
		s.of = of
		return s, e
	}
	of, e := p.of()
	s.of = of
	return s, e
}

func (p *phraseParser) fromSpan() (spanNode, *option.Mistake) {
	p.take()
	from, e := p.place()
	if e != nil {
		return nil, e
	}
	if e := p.expect("to"); e != nil {
		return nil, e
	}
	to, e := p.place()
	return fromSpan{from, to}, e
}

// outerSpan reads "first" and "last".
func (p *phraseParser) outerSpan() (spanNode, *option.Mistake) {
	s := outerSpan{last: p.take().is("last")}
	var e *option.Mistake
	if s.length, e = p.length(); e != nil {
		if e.Want == wantLength {
			e.Want = `"half", "third", "quarter" or ` + wantLength
		}
		return nil, e
	}
	s.of, e = p.of()
	return s, e
}

func (p *phraseParser) portionSpan() (spanNode, *option.Mistake) {
	var s portionSpan
	var e *option.Mistake
	if s.portion, e = p.portion(); e != nil {
		return nil, e
	}
	if e = p.expect("of"); e != nil {
		return nil, e
	}
	s.of, e = p.span()
	return s, e
}

// loopSpan reads "loop" "bar" N and "loop" "bars" N-M.
func (p *phraseParser) loopSpan() (spanNode, *option.Mistake) {
	p.take()
	if p.second().kind != plainNumber {
		p.take()
		return nil, p.fail("a number from 1")
	}
	s, e := p.countedSpan()
	if e != nil {
		return nil, e
	}
	counted := s.(countedSpan)
	counted.loop = true
	return counted, nil
}

// besideSpan reads length "before" place and length "after" place.
func (p *phraseParser) besideSpan() (spanNode, *option.Mistake) {
	length, e := p.length()
	if e != nil {
		return nil, e
	}
	s := besideSpan{length: length}
	if !p.accept("before") {
		if !p.accept("after") {
			return nil, p.fail(`"before" or "after"`)
		}
		s.after = true
	}
	s.place, e = p.place()
	return s, e
}

func (p *phraseParser) everySpan() (spanNode, *option.Mistake) {
	p.take()
	switch w := p.peek(); {
	case w.is("section"):
		p.take()
		return p.but(sectionSpan{every: true, col: w.col})
	case w.isName():
		p.take()
		return p.but(sectionSpan{every: true, named: named{name: w.text, col: w.col}, col: w.col})
	}
	s := everySpan{other: p.accept("other")}
	if !s.other && !startsLength(p.peek()) {
		return nil, p.fail(`"section", "other", a section's name or ` + wantLength)
	}
	var e *option.Mistake
	if s.length, e = p.length(); e != nil {
		return nil, e
	}
	s.of, e = p.of()
	return s, e
}

func startsLength(w word) bool {
	return w.kind == plainNumber || w.kind == noteWord || w.is("bar") || w.is("bars") || w.is("beat") || w.is("beats")
}

func (p *phraseParser) sectionSpan() (spanNode, *option.Mistake) {
	n := p.named()
	return p.but(sectionSpan{named: n, col: n.col})
}

// named reads NAME [N]; the caller has seen that a name is next.
func (p *phraseParser) named() named {
	w := p.take()
	n := named{name: w.text, col: w.col}
	if number, ok := p.acceptNumber(); ok {
		n.n = number.a
	} else {
		p.mayFollow("a number", false)
	}
	return n
}

// butList reads ["but" NAME [N] {"and" NAME [N]}].
func (p *phraseParser) butList(isName func(word) bool, want string) ([]named, *option.Mistake) {
	if !p.accept("but") {
		return nil, nil
	}
	var out []named
	for {
		if !isName(p.peek()) {
			return nil, p.fail(want)
		}
		out = append(out, p.named())
		if !p.accept("and") {
			return out, nil
		}
	}
}

func (p *phraseParser) but(s sectionSpan) (spanNode, *option.Mistake) {
	var e *option.Mistake
	s.but, e = p.butList(word.isName, "a section's name")
	return s, e
}

// place reads the rule of the same name; a span stands for its start (its end after "after").
func (p *phraseParser) place() (place, *option.Mistake) {
	w := p.peek()
	at := place{col: w.col}
	switch {
	case w.is("start"):
		at.edge = startOfEdge
		p.take()
		if e := p.expect("of"); e != nil {
			return at, e
		}
	case w.is("end"):
		p.take()
		if !p.accept("of") {
			at.edge = endEdge
			return at, nil
		}
		at.edge = endOfEdge
	case w.kind == posWord && p.second().kind != dashWord:
		at.edge, at.pos = posEdge, posOf(w)
		p.take()
		p.mayFollow("-", false)
		return at, nil
	}
	var e *option.Mistake
	if at.span, e = p.span(); e != nil && e.Want == wantSpan && at.edge == noEdge {
		e.Want = wantPlace
	}
	return at, e
}

// length reads the rule of the same name.
func (p *phraseParser) length() (Length, *option.Mistake) {
	w := p.peek()
	if w.kind == noteWord {
		p.take()
		return Length{count: w.a, unit: noteUnit, note: w.b, col: w.col}, nil
	}
	l := Length{count: 1, col: w.col}
	if n, ok := p.acceptNumber(); ok {
		l.count = n.a
	}
	switch unit := p.peek(); {
	case unit.is("bar"), unit.is("bars"):
		l.unit = barUnit
	case unit.is("beat"), unit.is("beats"):
		l.unit = beatUnit
	case p.at > 0 && p.words[p.at-1].kind == plainNumber && p.words[p.at-1].col == l.col:
		return l, p.fail(`one of "bar", "bars", "beat", "beats"`)
	default:
		return l, p.fail(wantLength)
	}
	p.take()
	return l, nil
}

// atPortion tells whether a portion is next: "first half" is one, "first 1/2" a length.
func (p *phraseParser) atPortion() bool {
	outer, size := p.peek(), p.second()
	if outer.is("second") {
		return size.is("half")
	}
	return (outer.is("first") || outer.is("last")) && size.kind == plainWord && isPortionSize(size.text)
}

// portion reads the rule of the same name.
func (p *phraseParser) portion() (portion, *option.Mistake) {
	if p.atPortion() {
		outer := p.take()
		return portion{outer: outer.text, size: p.take().text, col: outer.col}, nil
	}
	switch w := p.peek(); {
	case w.is("second"):
		p.take()
		return portion{}, p.fail(`"half"`)
	case w.is("first"), w.is("last"):
		p.take()
		return portion{}, p.fail(`"half", "third" or "quarter"`)
	}
	return portion{}, p.fail(wantPortion)
}
