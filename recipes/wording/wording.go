// Package wording makes text of remarks. It is the only place that does: another language, or another tone,
// is another function like [Text].
package wording

import (
	"strconv"
	"strings"

	"loopdraft/moves/remark"
)

// Text says a remark in a sentence without a full stop, as a producer reads it.
func Text(r remark.Remark) string {
	number := func(i int) string {
		if i < len(r.Numbers) {
			return strconv.Itoa(r.Numbers[i])
		}
		return ""
	}
	return strings.NewReplacer(
		"{move}", r.Move, "{parts}", Listed(r.Parts), "{sentence}", r.Sentence, "{found}", r.Found, "{within}", r.Within,
		"{bar}", strconv.Itoa(r.Bar), "{beat}", strconv.Itoa(r.Beat), "{number}", number(0), "{second}", number(1),
		"{count}", counted(r), "{controller}", r.Controller.Word(), "{text}", r.Text,
		"{level}", apart(r, 0), "{before}", apart(r, 1),
	).Replace(pattern(r))
}

// All says several remarks, in their order: those that warn, or the others.
func All(list []remark.Remark, warnings bool) []string {
	var out []string
	for _, r := range list {
		if r.Kind.Warns() == warnings {
			out = append(out, Text(r))
		}
	}
	return out
}

// Listed returns names as one says them: a, b and c.
func Listed(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// counted returns the first number with its unit, such as "1 bar" or "8 bars".
func counted(r remark.Remark) string {
	switch {
	case len(r.Numbers) == 0:
		return ""
	case r.Numbers[0] == 1:
		return "1 " + r.Unit
	}
	return strconv.Itoa(r.Numbers[0]) + " " + r.Unit + "s"
}

// apart says by a number of tenths of a dB how far something lies under another, such as "3.2 dB under".
func apart(r remark.Remark, i int) string {
	if i >= len(r.Numbers) {
		return ""
	}
	tenths, side := r.Numbers[i], " dB under"
	if tenths < 0 {
		tenths, side = -tenths, " dB over"
	}
	return strconv.Itoa(tenths/10) + "." + strconv.Itoa(tenths%10) + side
}

// pattern returns the text of a kind of remark, with the names of fields in braces.
func pattern(r remark.Remark) string {
	switch r.Kind {
	case remark.Own, remark.OwnWarning, remark.CannotBeDone, remark.LoopHas:
		return "{text}"

	case remark.SpanClipped:
		return "{sentence}: found {found}, but {within} has only {count}; clipped"
	case remark.SpanLeftOut:
		return "{sentence}: found {found}, but {within} has only {count}; left out"
	case remark.BarClipped:
		return "{sentence}: found {found}, want bars within 1-{number}; clipped"
	case remark.BeatClipped:
		return "{sentence}: found {found}, want beats within 1-{number} in bar {bar}; clipped"
	case remark.TakesNothing:
		return `{sentence}: "but {found}" takes nothing out`
	case remark.NoneAfter:
		return "{sentence}: no {found} after {within}; left out"
	case remark.EndsBefore:
		return "{sentence}: ends where bar {bar} starts; to have bar {bar} in it, write {found}"
	case remark.LineUpClipped:
		return "{sentence}: the section has {number} bars; clipped"
	case remark.LineUpLeftOut:
		return "{sentence}: the section has {number} bars; left out"
	case remark.LineUpBeat:
		return "{sentence}: found {found}, but bar {bar} has only {number} beats; clipped"
	case remark.SpansCut:
		return "what is left beside {found} counts as spans of their own"
	case remark.NoLoop:
		return "{sentence}: no loop plays where {within} starts; nothing is taken"
	case remark.LoopClipped:
		return "{sentence}: found {found}, but the loop has only {count}; clipped"
	case remark.LoopLeftOut:
		return "{sentence}: found {found}, but the loop has only {count}; left out"
	case remark.UnderABar:
		return "{sentence}: {within} is shorter than a bar; all of it is taken"

	case remark.PacketsLeftOut:
		return "a system exclusive message in several packets is left out: no pass holds the whole of it"
	case remark.MarkersLeftOut:
		return "the markers of the loop are left out: the sections are marked"
	case remark.ParameterStays:
		return "channel {number}: a parameter changed by data increment or decrement is not set back"
	case remark.DurationInBars:
		return "{found} is nearest to {number} bars (phrases of {second})"
	case remark.StandsFor:
		return "the loop has no {found}: {parts} takes its place"
	case remark.PlaceOfItsOwn:
		return "the loop has no {found}, and {parts} has a place of its own"
	case remark.NothingNear:
		return "the loop has no {found} and nothing near it"

	case remark.NoteOffsMissing:
		return "{within}: notes without a note-off end where their key starts again or with the loop"
	}
	return moved(r)
}

// moved returns the text of what a move remarks.
func moved(r remark.Remark) string {
	switch r.Kind {
	case remark.NoPart:
		return "no such part"
	case remark.NoPlace:
		return "no such place"
	case remark.NotChosen:
		return "the section it names was not chosen"
	case remark.NothingLeft:
		return "nothing is left to do"
	case remark.WouldSilence:
		return "it would leave two bars silent"

	case remark.NothingPlays:
		if len(r.Parts) == 0 {
			return "nothing plays there"
		}
		return "nothing plays there: no note of {parts} in the span"
	case remark.AllExcepted:
		return "nothing is left: {found} is left out, which is all of it"
	case remark.NothingIn:
		return "nothing plays there: no note in {sentence}"
	case remark.NothingStruck:
		return "nothing is struck: no place within the song"
	case remark.NothingCopied:
		return "nothing is copied: no place within the song"
	case remark.NothingRises:
		return "nothing rises: no key is heard in the loop, or {parts} plays no note"
	case remark.NothingHeld:
		return "nothing is held: no key is heard in the loop; key says what to hold"
	case remark.NothingRolls:
		return "nothing to roll: {parts} plays no note"
	case remark.NothingSwells:
		return "nothing swells: no note of {parts} in the span"
	case remark.NothingFills:
		return "nothing to fill with: {parts} has no drum that plays"
	case remark.NothingLayered:
		return "nothing to layer: {parts} has no note there to copy"
	case remark.NoMarker:
		return "no marker at a place outside every section"

	case remark.NoneOnBeats:
		return "thin: {parts} strikes nothing on {found} and is silent there"

	case remark.ExtendedTo:
		return "extend: {found} is {number} bars"
	case remark.RepeatsOnly:
		return "extend: {parts} repeats bars 1 to {bar} only; what was changed after them is not kept"
	case remark.NewTrack:
		return "{parts} is a new track on channel {number}; put a sound on it"
	case remark.NewTrackProgram:
		return "{parts} is a new track on channel {number} with program {second}"
	case remark.ChannelCleared:
		return "what the loop sets on channel {number}, on which nothing plays, is left out: a new track takes the channel"
	case remark.NewHits:
		return "the loop has no crash, ride or open hat: the hits are on a new track {parts}, channel 10, key {number}; put a sound on it"
	case remark.NoHitAtEnd:
		return "no hit at the end of the song"
	case remark.NoCopyAtEnd:
		return "copy: nothing is put at the end of the song"
	case remark.NotRaised:
		return "rise: {parts} left out: drums, fx and triggers have no pitch"
	case remark.NotTransposed:
		return "transpose: {parts} not transposed: drums, fx and triggers have no pitch"
	case remark.NotLayered:
		return "layer: {parts} not copied at an interval: drums, fx and triggers have no pitch"
	case remark.NoHabit:
		return "plain: {parts} left alone: no bar is the usual one"
	case remark.NothingDeparts:
		return "plain: no bar there in which {parts} departs from what it usually plays and may change"
	case remark.NotHumanised:
		return "humanise: {parts} left alone; anchors: true moves them too"
	case remark.NotVaried:
		return "vary: {parts} left alone; anchors: true varies them too"
	case remark.RollStands:
		return "{move}: left out where a roll stands for {parts}"
	case remark.RisesIn:
		return "rise: the loop is heard in {found}"
	case remark.HeldIn:
		return "drone: the loop is heard in {found}, key {number} is held"
	case remark.FillTooShort:
		return "fill: a span at bar {bar} is shorter than a 1/16 note and left alone"
	case remark.FillsAgain:
		return "fill: every fill there is of {number} sixteenth notes has been played; they begin again"
	case remark.NoMoreVariations:
		return "vary: {parts} has no more variations at this rate; some passes are alike"
	case remark.NoGap:
		return "no gap before bar {bar}: the span is too short for one"
	case remark.StutterSilent:
		return "stutter: {parts} plays nothing in the first {found} of {number} of the spans, the first at bar {bar}, beat {beat}, and is left as it is there"
	case remark.HomeUnknown:
		return "home of {controller} for {parts} is not known: {number} is taken"
	case remark.ValuePast:
		return "{found} of {controller} for {parts} is {number}: {second} is taken"
	case remark.RideReplaced:
		return "duck: it takes the place of an earlier ride of {controller} of {parts} where they meet"
	case remark.DuckReplaced:
		return "{controller}: what comes later takes the place of an earlier duck of {parts} where they meet"
	case remark.DuckInMixer:
		return "duck: {parts} may be ducked better by a compressor in the mixer"
	case remark.NotQuieter:
		return "emphasise: {sentence} is not quieter than {within} to begin with"
	case remark.Emphasised:
		return "emphasise: {sentence} is now {level} {within}, and was {before} it"
	case remark.NothingPrepares:
		if r.Within == "" {
			return "lead-in: nothing the loop has prepares bar {bar}"
		}
		return "lead-in: nothing the loop has prepares {within} at bar {bar}"
	case remark.NothingChanges:
		return "freshen: nothing the loop has changes bar {bar}"
	}
	return string(r.Kind)
}
