// Package players finds who plays in the sections of a track that say how strong they are to be. Of the parts
// that may play, [Find] takes in each unit, the stretch in which a line-up stays as it is, the set that costs
// least: energy outside the range that is asked for costs, and so do a unit that sounds like the one before
// it, many parts that enter at once, and wanted parts that are missing. The costs stand in cost.go.
//
// Powers of parts add up, so that a candidate is one addition. Everything that decides is in whole numbers.
// The package knows neither recipes nor songs: a part is an index.
package players

import (
	"slices"

	"loopdraft/smf/song"
)

// Power is how strong something sounds, as power in three bands: low, middle and high. See package form for
// what the bands are; any unit will do, as long as a track has one.
type Power [3]int64

// Sum returns the power of all bands.
func (p Power) Sum() int64 { return p[0] + p[1] + p[2] }

func (p Power) plus(q Power) Power { return Power{p[0] + q[0], p[1] + q[1], p[2] + q[2]} }

func (p Power) minus(q Power) Power { return Power{p[0] - q[0], p[1] - q[1], p[2] - q[2]} }

// Scale is how power is told: full is 100 %, ten decibels less are half of it.
type Scale interface {
	Full() int64                           // the power of 100 %
	Percent(power int64) int               // in tenths of a percent
	Power(percent int) int64               // of tenths of a percent
	Times(power int64, decibels int) int64 // tenths of a decibel more, or less
}

// Part is what is known of a part besides how strong it is.
type Part struct {
	Role   song.Role
	Job    song.Job
	Sounds int // how many sounds enter with it: the sounds of a kit are heard one by one; 0 counts as 1
}

// Pitched tells whether a part plays music outside bass.
func (p Part) Pitched() bool {
	return (p.Job == song.JobHook || p.Job == song.JobBed || p.Job == song.JobExtra) && p.Role != song.RoleFX
}

// StepsBack tells whether a part steps back where the music does: the bass does too.
func (p Part) StepsBack() bool { return p.Job == song.JobBass || p.Pitched() }

// Course is how the energy of a section goes.
type Course uint8

// The energy of each unit lies within its range; each unit is audibly more than the one before it; less.
const (
	InRange Course = iota
	Rising
	Falling
)

// Unit is a stretch of a section in which the line-up stays as it is.
type Unit struct {
	Powers []Power  // a part: its mean power over the unit's bars if it plays in all of them
	Sounds [][]bool // a bar, then a part: whether it is heard there if it plays
	Must   []bool   // a part: it plays whatever is found
	Notes  []int    // a part: how many notes it plays in the unit if it plays; nil: not known
	Due    bool     // a phrase begins here, so that something is due to change
	Low    int      // the range, in tenths of a percent of full, or of a decibel against another section
	High   int
}

// Section is a section whose players are to be found, or which plays what it plays.
type Section struct {
	Kind    song.Kind
	Course  Course
	Against int   // the section that the ranges are measured against, from 1; 0: they are shares of full
	May     []int // who may play, those that are wanted most first; nil: nobody is asked, and nobody steps back
	Own     []int // those whom only the loop has that the section brings in: one of them is to be heard
	Units   []Unit
	Like    int                     // the section, from 1, on whose players hangs who must play here; 0: none
	Follow  func(like Line) Section // returns this section once that one is found; for a section that is like another
}

// Track is all there is to decide about.
type Track struct {
	Parts    []Part
	Scale    Scale
	Sections []Section // in the order of the track
}

// Found is who plays in a unit and how strong that is.
type Found struct {
	Plays  []bool // a part
	Power  Power  // before anybody steps back
	Played int64  // power as it is played
}

// Line is what was found for a section.
type Line struct {
	Units []Found
	Music int // velocity at which the pitched parts and the bass play, in percent; 100: as they are
	All   int // velocity at which everybody plays, in percent; 100: as they are
}

// finder is how far Find has come.
type finder struct {
	Track
	lines   []*Line // nil: nothing is known yet
	decided []bool  // this time round
}

// found measures a line-up.
func (f *finder) found(u Unit, plays []bool) Found {
	out := Found{Plays: slices.Clone(plays)}
	for p, does := range plays {
		if does {
			out.Power = out.Power.plus(u.Powers[p])
		}
	}
	return out
}

// before returns the unit before a section, and false where it is not known, or where there is none. In a build a drum
// rolls that its line-up does not have: it does not enter with the drop.
func (f *finder) before(i int) (Found, bool) {
	if i == 0 || f.lines[i-1] == nil || len(f.lines[i-1].Units) == 0 {
		return Found{}, false
	}
	units := f.lines[i-1].Units
	last := units[len(units)-1]
	if f.Sections[i-1].Kind == song.KindBuild && f.Sections[i].Kind == song.KindDrop {
		if p := f.roll(); p >= 0 {
			last.Plays = slices.Clone(last.Plays)
			last.Plays[p] = true
		}
	}
	return last, true
}

// ahead returns the power of the first unit after a section; nil where it is not known, or where there is none.
func (f *finder) ahead(i int) *Power {
	if i+1 >= len(f.lines) || f.lines[i+1] == nil || len(f.lines[i+1].Units) == 0 {
		return nil
	}
	return &f.lines[i+1].Units[0].Power
}

// barsBefore is how far back a part may have been heard that does not enter.
const barsBefore = 8

// lately tells who is heard in so many bars before the next unit of a section, so being what was found for it so far, and
// in a drop who rolls before it.
func (f *finder) lately(i int, so []Found, back int) []bool {
	out := make([]bool, len(f.Parts))
	bars := 0
	hear := func(units []Found, of []Unit) {
		for k := len(units) - 1; k >= 0 && bars < back; k-- {
			for p, plays := range units[k].Plays {
				out[p] = out[p] || plays && of[k].strikes(p)
			}
			bars += max(len(of[k].Sounds), 1)
		}
	}
	hear(so, f.Sections[i].Units)
	for j := i - 1; j >= 0 && f.lines[j] != nil && bars < back; j-- {
		if j == i-1 && f.Sections[j].Kind == song.KindBuild && f.Sections[i].Kind == song.KindDrop {
			if p := f.roll(); p >= 0 {
				out[p] = true
			}
		}
		hear(f.lines[j].Units, f.Sections[j].Units)
	}
	return out
}

// strikes tells whether a part plays a note in the unit if it plays.
func (u Unit) strikes(p int) bool { return u.Notes == nil || u.Notes[p] > 0 }

// roll returns the part that rolls in a build; -1 where there is none.
func (f *finder) roll() int {
	for _, job := range []song.Job{song.JobBackbeat, song.JobTops} {
		if p := slices.IndexFunc(f.Parts, func(p Part) bool { return p.Job == job }); p >= 0 {
			return p
		}
	}
	return -1
}

// limits returns the range of a unit as powers; of is the mean power of the section that it is measured against.
func (f *finder) limits(s Section, u Unit, of int64) (low, high int64) {
	if s.Against == 0 {
		return f.Scale.Power(u.Low), f.Scale.Power(u.High)
	}
	return f.Scale.Times(of, u.Low), f.Scale.Times(of, u.High)
}

// mean returns the mean power of a section that is decided, as loud as it is played.
func (f *finder) mean(i int) int64 {
	line, sum := f.lines[i], int64(0)
	for _, u := range line.Units {
		sum += u.Played
	}
	return sum / int64(max(len(line.Units), 1))
}
