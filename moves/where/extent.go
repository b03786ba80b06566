package where

import (
	"fmt"
	"strconv"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Extent is the length of a song: in bars, or as a duration.
type Extent struct {
	Bars   int   // 1 to MaxBars; 0 where a duration is given
	Micros int64 // duration in microseconds; 0 where bars are given
}

// ParseExtent reads a length such as "192 bars", "6m30s", "90s" or "5m".
func ParseExtent(text string) (Extent, error) {
	bad := &option.Mistake{Found: strconv.Quote(text), Want: Extent{}.Want()}
	if number, unit, ok := strings.Cut(text, " "); ok {
		n, isNumber := smf.ParseDigits(number)
		if bars := BarsOfBeats(text); bars > 0 {
			bad.Hint = Bars(bars).Texts()[0]
			return Extent{}, bad
		}
		switch {
		case !isNumber || unit != "bars" && unit != "bar":
			if hint := number + "m"; isNumber && (unit == "minutes" || unit == "min" || unit == "m") && isExtent(hint) {
				bad.Hint = hint
			}
			return Extent{}, bad
		case n < 1 || n > song.MaxBars:
			return Extent{}, bad
		}
		return Extent{Bars: int(n)}, nil
	}
	if _, isNumber := option.ParseInt(text); isNumber {
		if hint := strings.TrimLeft(text, "+-0") + " bars"; isExtent(hint) {
			bad.Hint = hint
		}
		return Extent{}, bad
	}
	seconds, rest := int64(0), text
	if m, after, ok := strings.Cut(rest, "m"); ok {
		n, isNumber := smf.ParseDigits(m)
		if !isNumber || n > 1000 {
			return Extent{}, bad
		}
		seconds, rest = int64(n)*60, after
	}
	if rest != "" {
		s, ok := strings.CutSuffix(rest, "s")
		n, isNumber := smf.ParseDigits(s)
		if !ok || !isNumber || n > 60000 {
			return Extent{}, bad
		}
		seconds += int64(n)
	}
	if seconds == 0 {
		return Extent{}, bad
	}
	return Extent{Micros: seconds * 1_000_000}, nil
}

// BarsOfBeats returns how many bars a text such as "64 beats" or "16 beat" comes to in 4/4, for a hint where a
// length in bars is wanted; 0 for any other text and for what is no number of whole bars up to [song.MaxBars].
func BarsOfBeats(text string) int {
	words := splitWords(text)
	if len(words) != 3 || words[0].kind != plainNumber || !words[1].is("beat") && !words[1].is("beats") {
		return 0
	}
	if beats := words[0].a; beats%4 == 0 && beats/4 <= song.MaxBars {
		return beats / 4
	}
	return 0
}

// Bars is a length in whole bars, 1 to [song.MaxBars].
type Bars int

// ParseBars reads a length such as "8 bars".
func ParseBars(text string) (Bars, error) {
	bad := &option.Mistake{Found: strconv.Quote(text), Want: Bars(0).Want()}
	number, unit, _ := strings.Cut(text, " ")
	n, ok := smf.ParseDigits(number)
	if !ok || n < 1 || n > song.MaxBars {
		return 0, bad
	}
	switch unit {
	case "bar", "bars":
		return Bars(n), nil
	case "":
		bad.Hint = number + " bars"
	}
	if bars := BarsOfBeats(text); bars > 0 {
		bad.Hint = Bars(bars).Texts()[0]
	}
	return 0, bad
}

// UnmarshalTexts reads a length in bars.
func (b *Bars) UnmarshalTexts(texts []string) (err error) {
	*b, err = ParseBars(texts[0])
	return err
}

func (b Bars) Texts() []string { return Extent{Bars: int(b)}.Texts() }
func (b Bars) IsZero() bool    { return b == 0 }
func (b Bars) Want() string {
	return fmt.Sprintf("a length of 1 to %d bars such as 8 bars", song.MaxBars)
}

func isExtent(text string) bool {
	_, err := ParseExtent(text)
	return err == nil
}

// UnmarshalTexts reads a length.
func (x *Extent) UnmarshalTexts(texts []string) (err error) {
	*x, err = ParseExtent(texts[0])
	return err
}

// Texts returns the length as text.
func (x Extent) Texts() []string {
	if x.Bars == 1 {
		return []string{"1 bar"}
	}
	if x.Bars > 0 {
		return []string{fmt.Sprintf("%d bars", x.Bars)}
	}
	return []string{fmt.Sprintf("%dm%ds", x.Micros/60_000_000, x.Micros/1_000_000%60)}
}

// IsZero tells whether no length is given.
func (x Extent) IsZero() bool { return x == Extent{} }

// Want says what a length looks like.
func (x Extent) Want() string {
	return fmt.Sprintf("a length of 1 to %d bars such as 192 bars, or a duration such as 6m30s", song.MaxBars)
}

// InBars returns the length in bars. A duration is the nearest number of whole phrases, at least one,
// of a loop that runs on: its passes have the loop's own tempi, loopBars long.
func (x Extent) InBars(tl *smf.Timeline, loopBars, phrase int) int {
	if x.Bars > 0 {
		return x.Bars
	}
	micros := func(bars int) int64 {
		pass := tl.Micros(tl.BarStart(loopBars + 1))
		return int64(bars/loopBars)*pass + tl.Micros(tl.BarStart(bars%loopBars+1))
	}
	lo, hi := 1, song.MaxBars/phrase // the largest number of phrases that does not last longer, by halving
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if micros(mid*phrase) <= x.Micros {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	if over := micros((lo + 1) * phrase); over-x.Micros <= x.Micros-micros(lo*phrase) && (lo+1)*phrase <= song.MaxBars {
		lo++
	}
	return lo * phrase
}

// Form says what a length in bars looks like.
func (b Bars) Form() option.Form { return BarsForm() }

// Form says what a length looks like.
func (x Extent) Form() option.Form {
	seconds := option.DigitsBetween(1, 60_000) + "s"
	minutes := option.DigitsBetween(1, 1000) + "m(?:" + option.DigitsBetween(0, 60_000) + "s)?"
	return option.Form{Pattern: BarsForm().Pattern + "|" + minutes + "|(?:0+m)?" + seconds}
}
