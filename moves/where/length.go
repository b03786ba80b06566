package where

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Length is a length in bars, beats or a note value such as 3/16, written "4 bars", "1 beat",
// "3/16". Bars and beats are counted along bar lines through metre changes; a note value p/q is
// 4p/q quarter notes in any metre. The zero value is no length.
type Length struct {
	count int // bars, beats, or the note value's p
	unit  lengthUnit
	note  int // the note value's q
	col   int // where it stands in its sentence
	bad   *option.Mistake
}

type lengthUnit uint8

const (
	noUnit lengthUnit = iota
	barUnit
	beatUnit
	noteUnit
)

func (u lengthUnit) String() string {
	switch u {
	case barUnit:
		return "bars"
	case beatUnit:
		return "beats"
	}
	return "note values"
}

const wantLength = "a length such as 8 bars, 2 beats or 1/16"

// LengthInBars returns a length of n bars, 1 to 999999.
func LengthInBars(n int) Length { return Length{count: min(max(n, 1), maxNumber), unit: barUnit} }

// LengthInBeats returns a length of n beats, 1 to 999999.
func LengthInBeats(n int) Length { return Length{count: min(max(n, 1), maxNumber), unit: beatUnit} }

// Err returns the mistake in the text the length was made of, or nil.
func (l Length) Err() error {
	if l.bad == nil {
		return nil
	}
	return l.bad
}

// IsZero tells whether no length was given.
func (l Length) IsZero() bool { return l.unit == noUnit && l.bad == nil }

// Equal tells whether two lengths read the same.
func (l Length) Equal(m Length) bool { return l.String() == m.String() }

// Texts returns the length as a list of one text; nil for no length.
func (l Length) Texts() []string {
	if s := l.String(); s != "" {
		return []string{s}
	}
	return nil
}

// String returns the length in the words of the language; "" for no length.
func (l Length) String() string {
	one := ""
	switch {
	case l.bad != nil:
		return l.bad.Text
	case l.unit == noUnit:
		return ""
	case l.unit == noteUnit:
		return fmt.Sprintf("%d/%d", l.count, l.note)
	case l.count > 1:
		one = "s"
	}
	if l.unit == barUnit {
		return fmt.Sprintf("%d bar%s", l.count, one)
	}
	return fmt.Sprintf("%d beat%s", l.count, one)
}

func (l Length) text() string { return l.String() }

// End returns the tick where a stretch of this length ends that starts at start. It may lie past
// the end of a song. A note value's end is rounded half up.
func (l Length) End(tl *smf.Timeline, start song.Tick) song.Tick {
	return l.forward(tl, start, 1, smf.MaxTicks)
}

// Start returns the tick where a stretch of this length starts that ends at end, at least 0. A
// note value's start is rounded half up.
func (l Length) Start(tl *smf.Timeline, end song.Tick) song.Tick {
	return max(l.backward(tl, end), 0)
}

// forward returns the tick times lengths after start. Counting stops after the bar that
// stop lies in: the result is then past that bar's end, but not exact.
func (l Length) forward(tl *smf.Timeline, start song.Tick, times int, stop song.Tick) song.Tick {
	switch l.unit {
	case barUnit:
		bar := tl.BarOf(start)
		return inBar(tl, bar+times*l.count, start-tl.BarStart(bar))
	case beatUnit:
		return beatsAfter(tl, start, times*l.count, stop)
	case noteUnit:
		return start + song.HalfUp(int64(times)*l.quarters(tl), int64(l.note))
	}
	return start
}

// backward returns the tick one length before end, below 0 if that lies before the song.
func (l Length) backward(tl *smf.Timeline, end song.Tick) song.Tick {
	switch l.unit {
	case barUnit:
		bar := tl.BarOf(end)
		if bar-l.count < 1 {
			return -1
		}
		return inBar(tl, bar-l.count, end-tl.BarStart(bar))
	case beatUnit:
		return beatsBefore(tl, end, l.count)
	case noteUnit:
		return end + song.HalfUp(-l.quarters(tl), int64(l.note))
	}
	return end
}

// quarters returns the ticks of the note value times its denominator.
func (l Length) quarters(tl *smf.Timeline) int64 { return 4 * int64(l.count) * int64(tl.PPQ()) }

// underTick tells whether the length is a note value shorter than a tick.
func (l Length) underTick(tl *smf.Timeline) bool {
	return l.unit == noteUnit && l.quarters(tl) < int64(l.note)
}

// lineAfter returns t if it stands on a line of the unit, else the next bar or beat line.
func (u lengthUnit) lineAfter(tl *smf.Timeline, t song.Tick) song.Tick {
	bar := tl.BarOf(t)
	switch {
	case u == barUnit && tl.BarStart(bar) != t:
		return tl.BarStart(bar + 1)
	case u == beatUnit:
		if over := (t - tl.BarStart(bar)) % tl.BeatTicks(bar); over != 0 {
			return min(t-over+tl.BeatTicks(bar), tl.BarStart(bar+1))
		}
	}
	return t
}

// inBar returns the tick at offset within the bar, at most the bar's end.
func inBar(tl *smf.Timeline, bar int, offset song.Tick) song.Tick {
	return min(tl.BarStart(bar)+offset, tl.BarStart(bar+1))
}

// beatsIn returns the beats of a bar; a bar cut short by a metre change may end in part of a beat.
func beatsIn(tl *smf.Timeline, bar int) int {
	beat := tl.BeatTicks(bar)
	return int((tl.BarStart(bar+1) - tl.BarStart(bar) + beat - 1) / beat)
}

// beatsAfter walks bar by bar, since the number of beats in each may differ.
func beatsAfter(tl *smf.Timeline, start song.Tick, beats int, stop song.Tick) song.Tick {
	bar := tl.BarOf(start)
	beat, over := beatOf(tl, bar, start)
	for beats += beat; ; bar++ {
		have := beatsIn(tl, bar)
		if beats < have {
			return inBeat(tl, bar, beats, over)
		}
		beats -= have
		if next := tl.BarStart(bar + 1); next > stop && beats > 0 {
			return next + 1
		}
	}
}

// beatsBefore returns a tick below 0 if the beats lie before the song.
func beatsBefore(tl *smf.Timeline, end song.Tick, beats int) song.Tick {
	bar := tl.BarOf(end)
	beat, over := beatOf(tl, bar, end)
	for beats > beat {
		beats -= beat
		if bar--; bar < 1 {
			return -1
		}
		beat = beatsIn(tl, bar)
	}
	return inBeat(tl, bar, beat-beats, over)
}

// beatOf returns the beats of the bar before t and the ticks after the last of them.
func beatOf(tl *smf.Timeline, bar int, t song.Tick) (beat int, over song.Tick) {
	in := t - tl.BarStart(bar)
	return int(in / tl.BeatTicks(bar)), in % tl.BeatTicks(bar)
}

func inBeat(tl *smf.Timeline, bar, beat int, over song.Tick) song.Tick {
	return inBar(tl, bar, song.Tick(beat)*tl.BeatTicks(bar)+over)
}

// Form says what a length looks like.
func (l Length) Form() option.Form { return option.Form{Name: "length", Pattern: sentence("LENGTH")} }
