package form

import (
	"slices"

	"loopdraft/smf/song"
)

// SoundingBars returns the bars, counted from 1 and rising, in which a part sounds within ranges, which
// are sorted and apart. A drum sounds where it is struck, anything else, held fx included, as long as it is held. A note
// held into a range is looked for among the 128 before it: as many as there are keys.
func SoundingBars(s song.Song, p song.Part, ranges []song.Range) []int {
	var out []int
	tl, counter, held := s.Time(), s.Counter(), p.Pitched() || p.Role == song.RoleFX && !p.Kit
	last, line := 0, song.Tick(0) // the last bar that sounds, and the line at its end
	for _, r := range ranges {
		for _, n := range soundingIn(s, p, r) {
			at := counter.Counted(n.Start)
			end := at + 1
			if held {
				end = max(n.End, end)
			}
			if end <= r.Start || end <= line {
				continue
			}
			to := tl.BarOf(min(end, r.End) - 1)
			for bar := max(tl.BarOf(max(at, r.Start)), last+1); bar <= to; bar++ {
				out, last, line = append(out, bar), bar, tl.BarStart(bar+1)
			}
		}
	}
	return out
}

// soundingIn returns the notes of a part that may sound in a range.
func soundingIn(s song.Song, p song.Part, r song.Range) []song.Note {
	first := s.Before(p.Notes, r.Start)
	end := first + s.Before(p.Notes[first:], r.End)
	if p.Pitched() {
		first = max(first-128, 0)
	}
	return p.Notes[first:max(first, end)]
}

// lastAlike tells whether two lists of notes begin and end at the same times.
func lastAlike(a, b []song.Note) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i].Start != b[i].Start || a[i].End != b[i].End {
			return false
		}
	}
	return true
}

// SilentPairs counts the bars, of first to last (from 1), that are silent as the bar before each of them
// is. Triggers do not sound.
func SilentPairs(s song.Song, first, last int) int {
	heard, pairs := partsHeard(s, first, last), 0
	for i := 1; i < len(heard); i++ {
		if heard[i] == 0 && heard[i-1] == 0 {
			pairs++
		}
	}
	return pairs
}

// Quieter tells whether a part of a song rests in a bar, of first to last (from 1), in which it sounded before. It is
// true where the songs have other parts.
func Quieter(was, is song.Song, first, last int) bool {
	if len(was.Parts) != len(is.Parts) {
		return true
	}
	over := []song.Range{is.BarRange(first, last)}
	for i, p := range is.Parts {
		if sameNotes(was.Parts[i].Notes, p.Notes) || lastAlike(soundingIn(was, was.Parts[i], over[0]), soundingIn(is, p, over[0])) {
			continue
		}
		sounds := SoundingBars(is, p, over)
		for _, bar := range SoundingBars(was, was.Parts[i], over) {
			if _, still := slices.BinarySearch(sounds, bar); !still {
				return true
			}
		}
	}
	return false
}

// Bareness returns how many parts are missing in the bars first to last (from 1) for one part to sound in each of them,
// and two in breaks. Triggers do not sound.
func Bareness(s song.Song, first, last int) int {
	return BarenessOf(s.Sections, partsHeard(s, first, last), first)
}

// BarenessOf is [Bareness] of bars of which it is known how many parts sound in each, from the bar first on.
func BarenessOf(sections []song.Section, heard []int, first int) int {
	missing := 0
	for _, n := range heard {
		missing += max(1-n, 0)
	}
	for _, sec := range sections {
		if sec.Kind != song.KindBreak {
			continue
		}
		for bar := max(sec.Bar, first); bar <= min(sec.Bar+sec.Bars, first+len(heard))-1; bar++ {
			missing += min(max(2-heard[bar-first], 0), 1)
		}
	}
	return missing
}

// partsHeard returns how many parts sound in each bar from first to last.
func partsHeard(s song.Song, first, last int) []int {
	heard := make([]int, max(last-first+1, 0))
	for _, p := range s.Parts {
		if p.Role == song.RoleTrigger {
			continue
		}
		for _, bar := range SoundingBars(s, p, []song.Range{s.BarRange(first, last)}) {
			heard[bar-first]++
		}
	}
	return heard
}
