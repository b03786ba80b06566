package form

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Energy is how strong a song sounds, bar by bar. It is shared by all who hold it and never written to.
type Energy struct {
	Bars  []Powers   // of all parts together: the sum of theirs
	Parts [][]Powers // of each of the song's parts in each bar

	song   song.Song // that was measured
	at     []float64 // seconds at which each bar starts; last, the end of the song
	mixers map[lane]*mixer
	plays  []instruments // of each part
}

// EnergyOf measures the energy of a song. There is one model of it, for all that speaks of energy.
//
// A note's power is (velocity x volume x expression / 127^3)^4, the square of the gain of General MIDI
// (Level 1 Developer Guidelines p. 9: the level is 40 log10) and DLS Level 1 (RP-016), times the level
// of its instrument. From the onset on it falls as that instrument falls, and it rings a little after
// its end, which the sustain pedal puts off; a drum rings as long as it will, however long its note. All
// powers are added, and averaged over the bar. A short last bar is averaged over what there is of it.
//
// The instrument is that of the program; where there is none, that of the role, and so it is where all programs are
// piano, which exporters send when they mean none. In a kit it is that of the key, or of the part's role, where the
// part does not keep to the General MIDI map. A trigger is silent. Program, volume, expression and pedal are those of
// the part's channel in its own track; what that never sets, those of the channel in all tracks. How
// a sound was programmed, filters, sends and compression are not heard.
//
// What a note gives to a bar is worked out with + - * / and rounded to a whole number of units; all that follows
// is in whole numbers. So energies are the same on every processor and in every order, and what is measured part
// by part is what is measured together.
//
// It takes time linear in the events and in parts times bars. Its errors are a song without common bars,
// one without bars, and one of far more bars than its notes need.
func EnergyOf(s song.Song) (Energy, error) { return Energy{}.Again(s) }

// Again measures a song that was made from the one that was measured, as [EnergyOf] does: parts whose notes,
// instruments and mixer settings are the same are not measured again, and parts with other notes only in the bars
// in which these sound.
func (e Energy) Again(s song.Song) (Energy, error) {
	bars, err := measurable(s)
	if err != nil {
		return Energy{}, err
	}
	out := Energy{song: s, Bars: make([]Powers, bars), Parts: make([][]Powers, len(s.Parts)), plays: make([]instruments, len(s.Parts))}
	lasts := e.song.Time() == s.Time() && e.song.End == s.End
	if !lasts {
		e = Energy{}
	}
	if out.at = e.at; !lasts {
		out.at = barLines(s, bars)
	}
	out.mixers = e.mixersFor(s)
	others := otherPrograms(s, out.mixers)
	m := newMeter(s, out.at)
	changed := stretch{bars, -1}
	for i := range s.Parts {
		p := &s.Parts[i]
		x, was := out.mixers[lane{p.Track, p.Channel}], e.partLike(p, i)
		var in instruments
		if was >= 0 && sameNotes(e.song.Parts[was].Notes, p.Notes) && e.song.Parts[was].Role == p.Role && e.song.Parts[was].Kit == p.Kit {
			in = e.plays[was]
		} else {
			in = instrumentsOf(p)
		}
		in.piano = others && len(x.program) > 0
		m.next(x, in)
		over := []stretch{{0, bars - 1}}
		if was >= 0 && e.mixers[lane{p.Track, p.Channel}] == x && e.plays[was] == in {
			over = m.differing(e.song.Parts[was].Notes, p.Notes)
		}
		out.plays[i] = in
		switch {
		case len(over) == 0:
			out.Parts[i] = e.Parts[was]
			continue
		case was >= 0:
			out.Parts[i] = slices.Clone(e.Parts[was])
		default:
			out.Parts[i] = make([]Powers, bars)
		}
		for _, s := range over {
			m.measure(p, out.Parts[i], s)
		}
		changed = changed.spanning(hull(over))
	}
	if gone := len(e.song.Parts) > 0 && len(e.song.Parts) != len(s.Parts); gone || !lasts {
		changed = stretch{0, bars - 1}
	}
	copy(out.Bars, e.Bars)
	for b := changed.first; b <= changed.last; b++ {
		out.Bars[b] = Powers{}
		for i := range out.Parts {
			out.Bars[b].add(&out.Parts[i][b])
		}
	}
	return out, nil
}

// otherPrograms tells whether a pitched part of a song is set to another program than piano. What moves add, effects
// and drones, does not count: a step is not to change what the loop's own programs mean.
func otherPrograms(s song.Song, mixers map[lane]*mixer) bool {
	return slices.ContainsFunc(s.Parts, func(p song.Part) bool {
		if p.Kit || p.Channel == listen.PercussionChannel || p.Role == song.RoleFX || p.Role == song.RoleDrone {
			return false
		}
		return slices.ContainsFunc(mixers[lane{p.Track, p.Channel}].program, func(set song.Point) bool { return set.Value != 0 })
	})
}

// partLike returns the index of the part that was measured where one like it stands now, -1 for none.
func (e Energy) partLike(p *song.Part, i int) int {
	if i >= len(e.song.Parts) || e.song.Parts[i].Name != p.Name {
		i = e.song.Index(p.Name)
	}
	if i < 0 || e.song.Parts[i].Track != p.Track || e.song.Parts[i].Channel != p.Channel {
		return -1
	}
	return i
}

// FullPhrase is the phrase, in bars, of which the loudest is what sections are told against.
const FullPhrase = 8

// Full returns the mean power of all parts in the loudest phrase. Phrases are counted from the first bar that
// sounds; a short one at the end counts where there is no other. Of a loop it is what levels and shares are told
// against: 0 dB, 100 %.
func (e Energy) Full(phrase int) Power {
	var loudest Power
	begin := max(0, slices.IndexFunc(e.Bars, func(bar Powers) bool { return !bar.Sum().Silent() }))
	for first := begin; first < len(e.Bars); first += phrase {
		if end := min(first+phrase, len(e.Bars)); end-first == phrase || first == begin {
			loudest = max(loudest, Mean(e.Bars[first:end]).Sum())
		}
	}
	return loudest
}

// Mean returns the mean powers of bars first to last, counted from 1; bars that the song has not are left out.
func (e Energy) Mean(first, last int) Powers {
	first, last = max(first, 1), min(last, len(e.Bars))
	if first > last {
		return Powers{}
	}
	return Mean(e.Bars[first-1 : last])
}

// Told is how loud a stretch is on the scale of sections: against the loudest phrase of a loop, all parts playing, or of
// a song. That is how General MIDI sounds would play it.
type Told struct {
	OfFull float64 // 1: as loud; 10 dB less is half as loud
	DB     float64 // of power, 0: as strong; SilenceLevel/10 for silence
}

// Tell tells how loud a section is against a full power.
func (e Energy) Tell(sec song.Section, full Power) Told {
	mean := e.Mean(sec.Bar, sec.Bar+sec.Bars-1).Sum()
	return Told{float64(mean.Share(full)) / 1000, float64(mean.Level(full)) / 10}
}

// Loudest returns the whole power of the loudest bar.
func (e Energy) Loudest() Power {
	var loudest Power
	for _, bar := range e.Bars {
		loudest = max(loudest, bar.Sum())
	}
	return loudest
}

// How many cells may be measured, a cell being a bar of a part: so many, and some more for each note, so
// that a few bytes which claim to be hours take no memory. A bar costs some cells itself.
const (
	freeCells    = 1 << 21
	cellsPerNote = 4
	cellsPerBar  = 32
)

// measurable returns the number of bars of a song, or why it has no energy.
func measurable(s song.Song) (bars int, err error) {
	if s.Time() == nil {
		return 0, errors.New("no common bars (format 2 or SMPTE time), so there is no energy to measure")
	}
	if bars = s.Bars(); bars == 0 {
		return 0, errors.New("no bars, so there is no energy to measure")
	}
	notes := 0
	for i := range s.Parts {
		notes += len(s.Parts[i].Notes)
	}
	if most := (freeCells + cellsPerNote*notes) / (cellsPerBar + len(s.Parts)); bars > most {
		return 0, fmt.Errorf("found %d bars, want at most %d to measure the energy of %d parts with %d notes", bars, most, len(s.Parts), notes)
	}
	return bars, nil
}

// barLines returns the seconds at which bars start, and the end.
func barLines(s song.Song, bars int) []float64 {
	at, tl := make([]float64, bars+1), s.Time()
	for b := range bars {
		at[b] = tl.Seconds(tl.BarStart(b + 1))
	}
	at[bars] = tl.Seconds(s.End)
	return at
}

// mixersFor returns what the channels of the parts of a song are set to, each by its own track, and where that sets
// nothing, by all. Those that are set as they were are the ones that were known.
func (e Energy) mixersFor(s song.Song) map[lane]*mixer {
	if slices.Equal(e.song.Tracks, s.Tracks) && !slices.ContainsFunc(s.Parts, func(p song.Part) bool { return e.mixers[lane{p.Track, p.Channel}] == nil }) {
		return e.mixers
	}
	own, all := map[lane]*mixer{}, [channels]mixer{}
	for _, p := range s.Parts {
		own[lane{p.Track, p.Channel}] = &mixer{}
	}
	for i, t := range s.Tracks {
		for _, ev := range t.Events {
			if !ev.IsChannel() {
				continue
			}
			if x := own[lane{i, ev.Chan()}]; x != nil {
				x.take(ev)
			}
			all[ev.Chan()].take(ev)
		}
	}
	for c := range all {
		for _, points := range all[c].settings() {
			slices.SortStableFunc(*points, func(a, b song.Point) int { return cmp.Compare(a.Tick, b.Tick) })
		}
	}
	for at, x := range own {
		rest := all[at.channel].settings()
		x.borrows = len(x.pedal) == 0
		for i, points := range x.settings() {
			if len(*points) == 0 {
				*points = *rest[i]
			}
		}
		if was := e.mixers[at]; was != nil && was.same(x) {
			own[at] = was
		} else {
			x.setGains(s)
		}
	}
	return own
}
