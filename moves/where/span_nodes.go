package where

import (
	"fmt"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// phrase is what a sentence of the language is read into; text writes it back.
type phrase interface{ text() string }

// phraseTexts writes each item back.
func phraseTexts[T phrase](items []T) []string {
	var out []string
	for _, it := range items {
		out = append(out, it.text())
	}
	return out
}

// spanNode is a span as it was read.
type spanNode interface {
	phrase
	// stretches returns the span's ranges in the order of what it is made of, not yet merged.
	stretches(r *spanResolver) ([]stretch, *option.Mistake)
}

// pos is bar.beat, both from 1.
type pos struct{ bar, beat, col int }

func (p pos) text() string { return fmt.Sprintf("%d.%d", p.bar, p.beat) }

// named is NAME [N]; n is 0 where no number stands.
type named struct {
	name   string
	n, col int
}

func (n named) text() string {
	if n.n == 0 {
		return n.name
	}
	return fmt.Sprintf("%s %d", n.name, n.n)
}

func butText(but []named) string {
	if len(but) == 0 {
		return ""
	}
	texts := phraseTexts(but)
	return " but " + strings.Join(texts, " and ")
}

func ofText(of spanNode) string {
	if of == nil {
		return ""
	}
	return " of " + of.text()
}

type edge uint8

const (
	noEdge      edge = iota // the span itself
	startOfEdge             // start of span
	endOfEdge               // end of span
	posEdge                 // 17.3
	endEdge                 // end
)

type place struct {
	edge edge
	span spanNode
	pos  pos
	col  int
}

func (p place) text() string {
	switch p.edge {
	case startOfEdge:
		return "start of " + p.span.text()
	case endOfEdge:
		return "end of " + p.span.text()
	case posEdge:
		return p.pos.text()
	case endEdge:
		return "end"
	}
	return p.span.text()
}

type (
	allSpan struct{}

	// countedSpan is bar N, bars N-M, beat N and beat N-M, and the bars of the loop.
	countedSpan struct {
		loop        bool       // bars of the loop
		unit        lengthUnit // barUnit, beatUnit
		first, last int
		ranged      bool
		of          spanNode // nil: the song
		col         int      // of the first number
	}

	posSpan struct{ from, to pos }

	sectionSpan struct {
		every bool
		named named // name "": every section
		but   []named
		col   int
	}

	fromSpan struct{ from, to place }

	// outerSpan is first and last.
	outerSpan struct {
		last   bool
		length Length
		of     spanNode // nil: the song
	}

	portionSpan struct {
		portion portion
		of      spanNode
	}

	// besideSpan is before and after.
	besideSpan struct {
		length Length
		after  bool
		place  place
	}

	everySpan struct {
		other  bool
		length Length
		of     spanNode // nil: each section
	}
)

func (allSpan) text() string { return "all" }

func (s countedSpan) text() string {
	word := "beat "
	if s.unit == barUnit {
		word = "bar "
		if s.ranged {
			word = "bars "
		}
	}
	if s.loop {
		word = "loop " + word
	}
	return word + s.numbers() + ofText(s.of)
}

// numbers returns N-M, or N.
func (s countedSpan) numbers() string {
	if !s.ranged {
		return fmt.Sprint(s.first)
	}
	return fmt.Sprintf("%d-%d", s.first, s.last)
}

func (s posSpan) text() string { return s.from.text() + "-" + s.to.text() }

func (s sectionSpan) text() string {
	switch {
	case !s.every:
		return s.named.text() + butText(s.but)
	case s.named.name == "":
		return "every section" + butText(s.but)
	}
	return "every " + s.named.text() + butText(s.but)
}

func (s fromSpan) text() string { return "from " + s.from.text() + " to " + s.to.text() }

func (s outerSpan) text() string {
	word := "first "
	if s.last {
		word = "last "
	}
	return word + s.length.text() + ofText(s.of)
}

func (s portionSpan) text() string { return s.portion.text() + ofText(s.of) }

func (s besideSpan) text() string {
	word := " before "
	if s.after {
		word = " after "
	}
	return s.length.text() + word + s.place.text()
}

func (s everySpan) text() string {
	word := "every "
	if s.other {
		word = "every other "
	}
	return word + s.length.text() + ofText(s.of)
}

// SpanContext is what spans and places are resolved on.
type SpanContext struct {
	Song   song.Song
	Strict bool // written numbers that do not fit are errors; otherwise clipped and told

	// Loop says which bar of its loop a bar of the song plays, both from 1, and how many bars that
	// loop has; 0, 0 where none plays. It is asked about "loop bar 8" alone. nil: no loop is known, and
	// such a span is an error.
	Loop func(bar int) (at, bars int)
}

// stretch is a range on its way through a sentence. A short one was clipped where it was derived:
// numbers counted inside it that do not fit are clipped too, and that is not told.
type stretch struct {
	song.Range
	short bool
}

type spanResolver struct {
	song   song.Song
	tl     *smf.Timeline
	strict bool
	loop   func(bar int) (at, bars int)
	text   string // the sentence being resolved
	told   []remark.Remark
}
