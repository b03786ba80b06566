package where

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Spans says where a move works: a span such as "last 2 bars of drop", or several. The zero value
// stands for all of the song.
//
// The language of spans, places and lengths:
//
//	span    = "all" | ["loop"] "bar" N ["of" span] | ["loop"] "bars" N "-" M ["of" span]
//	        | "beat" N ["-" M] "of" span | POS "-" POS | section | "from" place "to" place
//	        | ("first" | "last") length ["of" span] | portion "of" span
//	        | length "before" place | length "after" (span | edge) | "every" ["other"] length ["of" span]
//	section = (NAME [N] | "every" NAME | "every section") ["but" NAME [N] {"and" NAME [N]}]
//	portion = ("first" | "last") ("half" | "third" | "quarter") | "second" "half"
//	edge    = "start of" span | "end of" span | POS | "end"
//	place   = span (its start) | edge
//	length  = [number] ("bar" | "bars" | "beat" | "beats") | note value such as 1/16 or 3/16
//
// A POS is bar.beat, both from 1, such as 17.3: the instant where that beat starts. Bars N-M
// include both. A portion is cut at the bar nearest to it, halves up, counted from the start of its
// span, and has at least one bar; so the two halves of five bars have three and two. A loop bar is
// counted in the loop that plays there, whichever bar of the section it comes in, and each pass of
// the loop gives a range of its own.
//
// The words loop, second, half, third and quarter are words of the language only where the grammar
// awaits them: a section may bear any of these names, and so may one called in, out, turn or same.
type Spans struct{ sentences[spanNode] }

// Places says at which instants a move works: a place such as "every drop" (where each starts) or
// "end of intro", or several. The zero value is no place. For the language see [Spans].
type Places struct{ sentences[place] }

// SpansOf reads a list of spans, at least one. A mistake in them is kept and returned by Resolve.
func SpansOf(texts ...string) Spans {
	return Spans{read(texts, (*phraseParser).spanAlone, spanRewrites(), wantSpan)}
}

// PlacesOf reads a list of places, at least one. A mistake in them is kept and returned by Resolve.
func PlacesOf(texts ...string) Places {
	return Places{read(texts, (*phraseParser).place, placeRewrites(), wantPlace)}
}

// UnmarshalTexts sets the spans from a list of texts. The error is a [*option.Mistake]; of several
// mistakes, what [errors.Join] makes of them.
func (s *Spans) UnmarshalTexts(texts []string) error {
	*s = SpansOf(texts...)
	return s.bad
}

// UnmarshalTexts sets the places from a list of texts. The error is as for [Spans].
func (p *Places) UnmarshalTexts(texts []string) error {
	*p = PlacesOf(texts...)
	return p.bad
}

// Equal tells whether two values read the same.
func (s Spans) Equal(t Spans) bool { return s.String() == t.String() }

// Equal tells whether two values read the same.
func (p Places) Equal(q Places) bool { return p.String() == q.String() }

// OneByOne returns each span of the list alone.
func (s Spans) OneByOne() []Spans {
	var out []Spans
	for _, one := range s.each() {
		out = append(out, Spans{one})
	}
	return out
}

// OneByOne returns each place of the list alone.
func (p Places) OneByOne() []Places {
	var out []Places
	for _, one := range p.each() {
		out = append(out, Places{one})
	}
	return out
}

// RangeText writes a range inside a song as a span, which stands for it to the tick: as whole bars or beats where
// it is that, else as a note value beside a beat, such as "3/16 after 8.4", or from one place to another.
func RangeText(s song.Song, r song.Range) string {
	tl := s.Time()
	if tl.IsBarLine(r.Start) && tl.IsBarLine(r.End) {
		return BarsText(tl.BarOf(r.Start), tl.BarOf(r.End)-1)
	}
	from, afterFrom := beatBefore(tl, r.Start)
	to, afterTo := beatBefore(tl, r.End)
	length, short := ticksText(tl, r.Len())
	switch {
	case afterFrom == 0 && afterTo == 0:
		return from.text() + "-" + to.text()
	case afterFrom == 0 && short:
		return length + " after " + from.text()
	case afterTo == 0 && short:
		return length + " before " + to.text()
	}
	return "from " + PlaceText(s, r.Start) + " to " + PlaceText(s, r.End)
}

// PlaceText writes a tick inside a song, or its end, as a place: bar.beat, or how much of a note comes after that, such as
// "end of 1/32 after 8.4".
func PlaceText(s song.Song, t song.Tick) string {
	p, after := beatBefore(s.Time(), t)
	if after == 0 {
		return p.text()
	}
	length, _ := ticksText(s.Time(), after) // less than a beat
	return "end of " + length + " after " + p.text()
}

// beatBefore returns the last beat up to a tick, and how many ticks after it that is.
func beatBefore(tl *smf.Timeline, t song.Tick) (pos, song.Tick) {
	bar := tl.BarOf(t)
	beat, after := beatOf(tl, bar, t)
	return pos{bar: bar, beat: beat + 1}, after
}

// ticksText writes ticks as a note value; false where its numbers are larger than a sentence may have.
func ticksText(tl *smf.Timeline, ticks song.Tick) (string, bool) {
	whole := 4 * tl.PPQ()
	a, b := ticks, whole
	for b > 0 {
		a, b = b, a%b
	}
	count, note := ticks/a, whole/a
	return fmt.Sprintf("%d/%d", count, note), count <= maxNumber && note <= maxNumber
}

// BarsText writes bars as a span, both included.
func BarsText(first, last int) string {
	if first == last {
		return fmt.Sprintf("bar %d", first)
	}
	return fmt.Sprintf("bars %d-%d", first, last)
}

// Form says what spans look like.
func (s Spans) Form() option.Form { return option.Form{Name: "span", Pattern: sentence("SPAN")} }

// Form says what places look like.
func (p Places) Form() option.Form {
	return option.Form{Name: "place", Pattern: sentence("PLACE"), Position: true}
}
