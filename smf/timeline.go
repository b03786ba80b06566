package smf

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"sort"
)

const (
	defaultMicros = 500_000 // 120 beats a minute (RP-001 p. 5)
	maxMicros     = 0xFFFFFF
)

// defaultMetre counts where a file has no time signature (RP-001 p. 5).
func defaultMetre() Metre { return Metre{4, 4} }

// Metre is a time signature: Num beats a bar, Den beats a whole note. A beat is the denominator's
// note value.
type Metre struct{ Num, Den int }

// String returns the metre as it is written, such as "6/8".
func (m Metre) String() string { return fmt.Sprintf("%d/%d", m.Num, m.Den) }

// Position is a place in music: bar and beat, both from 1, and the ticks after that beat.
type Position struct {
	Bar, Beat int
	Tick      Tick
}

// TempoAt is a tempo from a tick on, in microseconds per quarter note, 1..16777215.
type TempoAt struct {
	Tick   Tick
	Micros uint32
}

// MetreAt is a metre from a tick on.
type MetreAt struct {
	Tick  Tick
	Metre Metre
}

// Timeline turns ticks into bars and beats and into seconds, and back. Bars count from 1; a
// metre's bars start at the tick of the metre, so that a change in mid-bar cuts that bar short
// and starts a new one. Ticks before 0 count as 0, bars and beats before 1 as 1. Results past
// what an int64 holds stay at its largest value. A Timeline is never changed once made.
//
// Each method takes time logarithmic in the number of changes.
type Timeline struct {
	ppq    Tick
	tempi  []TempoAt // from tick 0, ascending, neighbours differ
	passed []int64   // ticks x microseconds per quarter up to each of tempi
	metres []MetreAt // from tick 0, ascending, neighbours differ
	bars   []int     // number of the first bar of each of metres
	full   []Tick    // length of a full bar of each of metres
}

// NewTimeline makes a timeline of ppq ticks a quarter note, 1..32767. The changes may stand in
// any order and are copied; of several at one tick the last in the list wins. Before the first
// there are 120 beats a minute and 4/4 (RP-001 p. 5). Values that make no sense count as the
// value before: a tempo of 0 or over 16777215; a metre whose beats a bar are not 1..255, whose
// denominator is none of 1, 2, 4 .. 64, or whose bar is no whole number of ticks. Changes before
// tick 0 count as at 0; a ppq outside its range counts as the nearest inside.
func NewTimeline(ppq Tick, tempi []TempoAt, metres []MetreAt) *Timeline {
	l := &Timeline{ppq: min(max(ppq, 1), 32767)}

	tempi = slices.Clone(tempi)
	slices.SortStableFunc(tempi, func(a, b TempoAt) int { return cmp.Compare(a.Tick, b.Tick) })
	l.tempi = append(make([]TempoAt, 0, len(tempi)+1), TempoAt{0, defaultMicros})
	for _, c := range tempi {
		if c.Micros == 0 || c.Micros > maxMicros {
			continue
		}
		c.Tick = max(c.Tick, 0)
		n := len(l.tempi) - 1
		if l.tempi[n].Tick == c.Tick {
			l.tempi[n].Micros = c.Micros
		} else {
			l.tempi = append(l.tempi, c)
		}
	}
	l.tempi = slices.CompactFunc(l.tempi, func(a, b TempoAt) bool { return a.Micros == b.Micros })
	l.passed = make([]int64, len(l.tempi))
	for i := 1; i < len(l.tempi); i++ {
		a := l.tempi[i-1]
		l.passed[i] = addSat(l.passed[i-1], mulSat(int64(l.tempi[i].Tick-a.Tick), int64(a.Micros)))
	}

	metres = slices.Clone(metres)
	slices.SortStableFunc(metres, func(a, b MetreAt) int { return cmp.Compare(a.Tick, b.Tick) })
	l.metres = append(make([]MetreAt, 0, len(metres)+1), MetreAt{0, defaultMetre()})
	for _, c := range metres {
		if metreFault(c.Metre, l.ppq) != "" {
			continue
		}
		c.Tick = max(c.Tick, 0)
		n := len(l.metres) - 1
		if l.metres[n].Tick == c.Tick {
			l.metres[n].Metre = c.Metre
		} else {
			l.metres = append(l.metres, c)
		}
	}
	l.metres = slices.CompactFunc(l.metres, func(a, b MetreAt) bool { return a.Metre == b.Metre })
	l.bars = make([]int, len(l.metres))
	l.bars[0] = 1
	for _, m := range l.metres {
		l.full = append(l.full, barTicks(m.Metre, l.ppq))
	}
	for i := 1; i < len(l.metres); i++ {
		a := l.metres[i-1]
		bar := barTicks(a.Metre, l.ppq)
		length := l.metres[i].Tick - a.Tick
		n := length / bar
		if length%bar != 0 {
			n++
		}
		l.bars[i] = addBars(l.bars[i-1], n)
	}
	return l
}

// Timeline gathers the tempi (FF 51) and time signatures (FF 58) of all tracks; at one tick the
// later in its track wins, then the later track. Values that make no sense stay in the file and
// count as the value before (see [NewTimeline]; a payload that is too short is such a value),
// with a warning each, see [File.Unsound]. Surplus bytes of a payload are ignored (RP-001 p. 7).
//
// Format 2 and time code divisions are an error: there are no common bars.
func (f *File) Timeline() (*Timeline, []Warning, error) {
	ppq, metrical := f.Division.PPQ()
	switch {
	case !metrical:
		return nil, nil, errors.New("no common bars: the file counts time in frames, not in beats")
	case ppq == 0:
		return nil, nil, errors.New("no common bars: division 0")
	case f.Format == 2:
		return nil, nil, errors.New("no common bars: the tracks of format 2 are separate pieces")
	}
	var tempi []TempoAt
	var metres []MetreAt
	for i := range f.Tracks {
		t := &f.Tracks[i]
		for _, e := range t.Events {
			switch typ, _ := e.MetaType(); {
			case !e.IsMeta():
			case typ == MetaTempo:
				if micros, fault := tempo(t.Long(e)); fault == "" {
					tempi = append(tempi, TempoAt{e.Tick, micros})
				}
			case typ == MetaMetre:
				if m, fault := metre(t.Long(e), ppq); fault == "" {
					metres = append(metres, MetreAt{e.Tick, m})
				}
			}
		}
	}
	return NewTimeline(ppq, tempi, metres), f.Unsound(), nil
}

// Unsound returns a warning for each tempo (FF 51), time signature (FF 58) and key signature (FF 59)
// whose value makes no sense. Such a value stays in the file and counts as the value before. At most
// 100 are returned; a last one counts the others.
func (f *File) Unsound() []Warning {
	ppq, metrical := f.Division.PPQ()
	if !metrical {
		ppq = 0 // a bar is no number of ticks at all
	}
	var warnings []Warning
	unsaid := 0
	for i := range f.Tracks {
		t := &f.Tracks[i]
		for _, e := range t.Events {
			var fault, what string
			switch typ, _ := e.MetaType(); {
			case !e.IsMeta():
			case typ == MetaTempo:
				_, fault = tempo(t.Long(e))
				what = "tempo"
			case typ == MetaMetre:
				_, fault = metre(t.Long(e), ppq)
				what = "metre"
			case typ == MetaKey:
				fault, what = keyFault(t.Long(e)), "key"
			}
			switch {
			case fault == "":
			case len(warnings) == maxWarnings:
				unsaid++
			default:
				warnings = append(warnings, Warning{i + 1, -1, fmt.Sprintf("tick %d: %s; the %s before counts", e.Tick, fault, what)})
			}
		}
	}
	if unsaid > 0 {
		warnings = append(warnings, Warning{Offset: -1, Text: fmt.Sprintf("%d more tempi, metres and keys that make no sense", unsaid)})
	}
	return warnings
}

// tempo reads the payload of FF 51 (RP-001 p. 9), or says what is wrong with it.
func tempo(data []byte) (uint32, string) {
	if len(data) < 3 {
		return 0, "a tempo of " + bytesText(len(data))
	}
	micros := uint32(data[0])<<16 | uint32(data[1])<<8 | uint32(data[2])
	if micros == 0 {
		return 0, "tempo 0"
	}
	return micros, ""
}

// metre reads the payload of FF 58 (RP-001 p. 10), or says what is wrong with it. Of its four
// bytes the last two concern clicks and notation only, yet an event without them is no whole one.
func metre(data []byte, ppq Tick) (Metre, string) {
	if len(data) < 4 {
		return Metre{}, "a time signature of " + bytesText(len(data))
	}
	if data[1] > 6 {
		return Metre{}, fmt.Sprintf("metre %d/2^%d, a denominator over 64", data[0], data[1])
	}
	m := Metre{int(data[0]), 1 << data[1]}
	return m, metreFault(m, ppq)
}

// keyFault says what is wrong with the payload of FF 59, nothing if it is a key: sharps, less than 0
// for flats, -7 to 7, and 0 for major or 1 for minor (RP-001 p. 11).
func keyFault(data []byte) string {
	if len(data) < 2 {
		return "a key signature of " + bytesText(len(data))
	}
	switch sharps := int(int8(data[0])); {
	case sharps > 7:
		return fmt.Sprintf("a key of %d sharps, not 7 at most", sharps)
	case sharps < -7:
		return fmt.Sprintf("a key of %d flats, not 7 at most", -sharps)
	case data[1] > 1:
		return fmt.Sprintf("a key of mode %d, neither 0 (major) nor 1 (minor)", data[1])
	}
	return ""
}

func bytesText(n int) string {
	if n == 1 {
		return "1 byte"
	}
	return fmt.Sprintf("%d bytes", n)
}

// ValidTempo tells whether the payload of FF 51 is a tempo that counts, see [File.Timeline].
func ValidTempo(data []byte) bool {
	_, fault := tempo(data)
	return fault == ""
}

// ValidMetre tells whether the payload of FF 58 is a metre that counts at a resolution in ticks a
// quarter note, see [File.Timeline].
func ValidMetre(data []byte, ppq Tick) bool {
	_, fault := metre(data, ppq)
	return fault == ""
}

// ValidKey tells whether the payload of FF 59 is a key signature that counts, see [File.Unsound].
func ValidKey(data []byte) bool { return keyFault(data) == "" }

// metreFault says why a metre cannot count bars, nothing if it can.
func metreFault(m Metre, ppq Tick) string {
	switch {
	case m.Num < 1 || m.Num > 255:
		return fmt.Sprintf("metre %s, not 1 to 255 beats a bar", m)
	case m.Den < 1 || m.Den > 64 || m.Den&(m.Den-1) != 0:
		return fmt.Sprintf("metre %s, a denominator that is none of 1, 2, 4 .. 64", m)
	case 4*ppq*Tick(m.Num)%Tick(m.Den) != 0:
		return fmt.Sprintf("metre %s, a bar that is no whole number of ticks", m)
	}
	return ""
}

// barTicks is the length of a full bar.
func barTicks(m Metre, ppq Tick) Tick { return 4 * ppq * Tick(m.Num) / Tick(m.Den) }

// beatStart is where beat n of a bar, from 0, starts: rounded half up from the bar's start, never
// summed.
func beatStart(m Metre, ppq Tick, n int) Tick {
	return Tick(addSat(mulSat(int64(8*ppq), int64(n)), int64(m.Den)) / int64(2*m.Den))
}

// PPQ returns the ticks per quarter note.
func (l *Timeline) PPQ() Tick { return l.ppq }

// Tempi returns a copy of the tempo changes, from tick 0 on, each other than the one before.
func (l *Timeline) Tempi() []TempoAt { return slices.Clone(l.tempi) }

// Metres returns a copy of the metre changes, from tick 0 on, each other than the one before.
func (l *Timeline) Metres() []MetreAt { return slices.Clone(l.metres) }

// metreAtTick returns the index of the metre that counts at t.
func (l *Timeline) metreAtTick(t Tick) int {
	if len(l.metres) == 1 { // nearly every song
		return 0
	}
	return max(0, sort.Search(len(l.metres), func(i int) bool { return l.metres[i].Tick > t })-1)
}

// metreAtBar returns the index of the metre that counts in a bar.
func (l *Timeline) metreAtBar(bar int) int {
	if len(l.bars) == 1 {
		return 0
	}
	return max(0, sort.Search(len(l.bars), func(i int) bool { return l.bars[i] > bar })-1)
}

// MetreIn returns the metre of a bar.
func (l *Timeline) MetreIn(bar int) Metre { return l.metres[l.metreAtBar(bar)].Metre }

// BarStart returns the tick at which a bar starts, also for bars past the end of the music.
func (l *Timeline) BarStart(bar int) Tick {
	bar = max(bar, 1)
	i := l.metreAtBar(bar)
	return Tick(addSat(int64(l.metres[i].Tick), mulSat(int64(bar-l.bars[i]), int64(l.full[i]))))
}

// BarTicks returns the length of a bar in ticks: the metre's, or less where the next metre cuts
// the bar short.
func (l *Timeline) BarTicks(bar int) Tick {
	bar = max(bar, 1)
	i := l.metreAtBar(bar)
	if i+1 < len(l.metres) {
		return min(l.full[i], l.metres[i+1].Tick-l.BarStart(bar))
	}
	return l.full[i]
}

// BeatTicks returns the length of a beat (the denominator's note value) in a bar's metre, rounded
// half up where it is no whole number of ticks, at least 1.
func (l *Timeline) BeatTicks(bar int) Tick { return max(1, beatStart(l.MetreIn(bar), l.ppq, 1)) }

// BarOf returns the bar in which a tick lies; a bar line belongs to the bar that it starts.
func (l *Timeline) BarOf(t Tick) int {
	t = max(t, 0)
	i := l.metreAtTick(t)
	return addBars(l.bars[i], (t-l.metres[i].Tick)/l.full[i])
}

// BarAround returns the bar line at or before a tick, and the next one.
func (l *Timeline) BarAround(t Tick) (start, end Tick) {
	t = max(t, 0)
	i := l.metreAtTick(t)
	start = t - (t-l.metres[i].Tick)%l.full[i]
	end = Tick(addSat(int64(start), int64(l.full[i])))
	if i+1 < len(l.metres) {
		end = min(end, l.metres[i+1].Tick)
	}
	return start, end
}

// IsBarLine tells whether a bar starts at a tick.
func (l *Timeline) IsBarLine(t Tick) bool { return t >= 0 && l.BarStart(l.BarOf(t)) == t }

// Locate returns the bar, beat and rest of a tick; [Timeline.TickOf] undoes it.
func (l *Timeline) Locate(t Tick) Position {
	t = max(t, 0)
	i := l.metreAtTick(t)
	m := l.metres[i].Metre
	bar := l.BarOf(t)
	rest := (t - l.metres[i].Tick) % barTicks(m, l.ppq)
	beat := min(int(rest*Tick(m.Den)/(4*l.ppq))+1, m.Num-1)
	// Rounded beats may start a tick later than that, and where beats are shorter than a tick
	// several start at one.
	for beat > 0 {
		start := beatStart(m, l.ppq, beat)
		if start <= rest && beatStart(m, l.ppq, beat-1) < start {
			break
		}
		beat--
	}
	return Position{bar, beat + 1, rest - beatStart(m, l.ppq, beat)}
}

// TickOf returns the tick of a position. Beats past the bar count on in its metre.
func (l *Timeline) TickOf(p Position) Tick {
	start := l.BarStart(p.Bar)
	beat := beatStart(l.MetreIn(p.Bar), l.ppq, max(p.Beat, 1)-1)
	return max(0, Tick(addSat(addSat(int64(start), int64(beat)), int64(p.Tick))))
}

// tempoAt returns the index of the tempo that counts at t.
func (l *Timeline) tempoAt(t Tick) int {
	if len(l.tempi) == 1 { // nearly every song
		return 0
	}
	return max(0, sort.Search(len(l.tempi), func(i int) bool { return l.tempi[i].Tick > t })-1)
}

// TempoAt returns the tempo at a tick in microseconds per quarter note.
func (l *Timeline) TempoAt(t Tick) uint32 { return l.tempi[l.tempoAt(t)].Micros }

// Elapsed returns the time from the start to a tick as a sum of ticks times microseconds per
// quarter note, which is exact: divided by [Timeline.PPQ] it is microseconds.
func (l *Timeline) Elapsed(t Tick) int64 {
	t = max(t, 0)
	i := l.tempoAt(t)
	c := l.tempi[i]
	return addSat(l.passed[i], mulSat(int64(t-c.Tick), int64(c.Micros)))
}

// Micros returns the time from the start to a tick in microseconds, rounded half up.
func (l *Timeline) Micros(t Tick) int64 { return divRound(l.Elapsed(t), int64(l.ppq)) }

// Seconds returns the time from the start to a tick in seconds.
func (l *Timeline) Seconds(t Tick) float64 {
	return float64(l.Elapsed(t)) / (float64(l.ppq) * 1e6)
}

// TickAtMicros returns the tick nearest to a time in microseconds from the start, rounded half
// up; it undoes [Timeline.Micros] wherever a tick lasts longer than a microsecond.
func (l *Timeline) TickAtMicros(us int64) Tick {
	want := mulSat(max(us, 0), int64(l.ppq))
	i := max(0, sort.Search(len(l.passed), func(i int) bool { return l.passed[i] > want })-1)
	c := l.tempi[i]
	return Tick(addSat(int64(c.Tick), divRound(want-l.passed[i], int64(c.Micros))))
}

// MicrosPerQuarter turns beats (quarter notes) per minute, given in thousandths, into microseconds
// per quarter note, the value of a tempo event, rounded half up: 126000 (126 bpm) gives 476190.
// What a tempo event cannot hold becomes the nearest that it can, 1..16777215.
func MicrosPerQuarter(bpmThousandths int64) uint32 {
	if bpmThousandths <= 0 {
		return maxMicros
	}
	return uint32(min(max(divRound(60_000_000_000, bpmThousandths), 1), maxMicros))
}

// divRound divides non-negative numbers, rounding half up.
func divRound(a, b int64) int64 {
	q, r := a/b, a%b
	if r >= b-r {
		q++
	}
	return q
}

// addSat adds b to a, which is not negative, and mulSat multiplies numbers that are not negative;
// both stop at the largest int64.
func addSat(a, b int64) int64 {
	if b > math.MaxInt64-a {
		return math.MaxInt64
	}
	return a + b
}

func mulSat(a, b int64) int64 {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	if hi != 0 || lo > math.MaxInt64 {
		return math.MaxInt64
	}
	return int64(lo)
}

func addBars(bar int, more Tick) int {
	if int64(more) > int64(math.MaxInt-bar) {
		return math.MaxInt
	}
	return bar + int(more)
}
