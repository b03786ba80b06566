package form

import (
	"slices"

	"loopdraft/smf/novelty"
	"loopdraft/smf/song"
)

// features are what each bar sounds like, in whole numbers 0..255, so that no last bit decides.
type features struct {
	parts   [][]uint8 // of each bar, two of each part: its level, as loud as it is against its own loudest bar, and its onsets, against the most it has in a bar
	pitches [][]uint8 // of each bar and pitch class how long it sounds, against the one that sounds longest in the bar
}

const fullFeature = 255

// The likeness of two bars is made of these two, in fifths.
const (
	ofParts   = 4
	ofPitches = 1
)

// features measures each bar.
func (out *Structure) features(s song.Song) features {
	f := features{make([][]uint8, len(out.Bars)), make([][]uint8, len(out.Bars))}
	for b := range f.parts {
		f.parts[b], f.pitches[b] = make([]uint8, 2*len(s.Parts)), make([]uint8, 12)
	}
	for i, p := range s.Parts {
		onsets, levels := onsetsByBar(s, p), out.levels(i)
		most := max(1, slices.Max(onsets))
		for b, n := range onsets {
			f.parts[b][2*i+1] = uint8(fullFeature * n / most)
		}
		for b, bar := range out.Bars {
			if _, sounds := slices.BinarySearch(bar.Parts, i); sounds {
				f.parts[b][2*i] = levels[b]
			}
		}
	}
	for b, classes := range pitchClasses(s, len(f.pitches)) {
		most := int64(1)
		for _, d := range classes {
			most = max(most, d)
		}
		for c, d := range classes {
			f.pitches[b][c] = uint8(fullFeature * d / most)
		}
	}
	return f
}

// alike returns how alike two bars are, 0 to novelty.One. Two silent bars are alike.
func (f features) alike(a, b int) int {
	return (ofParts*novelty.Alike(f.parts[a], f.parts[b]) + ofPitches*novelty.Alike(f.pitches[a], f.pitches[b])) / (ofParts + ofPitches)
}

// levels returns how loud a part is in each bar, against its own loudest bar.
func (out *Structure) levels(part int) []uint8 {
	var loudest Power
	for _, bar := range out.Energy.Parts[part] {
		loudest = max(loudest, bar.Sum())
	}
	of := make([]uint8, len(out.Energy.Parts[part]))
	for b, bar := range out.Energy.Parts[part] {
		of[b] = uint8((fullFeature*bar.Sum().Share(loudest) + 500) / 1000)
	}
	return of
}

// loudness returns how loud each bar is, the loudest being novelty.One.
func (out *Structure) loudness() []int {
	of, loudest := make([]int, len(out.Bars)), out.Energy.Loudest()
	for b, bar := range out.Energy.Bars {
		of[b] = (novelty.One*bar.Sum().Share(loudest) + 500) / 1000
	}
	return of
}

// onsetsByBar returns how many onsets of a part each bar has.
func onsetsByBar(s song.Song, p song.Part) []int {
	out := make([]int, s.Bars())
	tl := s.Time()
	last := song.Tick(-1)
	for _, n := range p.Notes {
		at := s.Counted(n.Start)
		if bar := tl.BarOf(at); bar <= len(out) && at != last {
			out[bar-1]++
			last = at
		}
	}
	return out
}

// pitchClasses returns for how many ticks each pitch class sounds in each bar of those a note starts in.
func pitchClasses(s song.Song, bars int) [][12]int64 {
	out := make([][12]int64, bars)
	tl := s.Time()
	for _, p := range s.Parts {
		if !p.Pitched() {
			continue
		}
		for _, n := range p.Notes {
			at := s.Counted(n.Start)
			if bar := tl.BarOf(at); bar <= bars {
				out[bar-1][n.Key%12] += int64(max(1, min(n.End, tl.BarStart(bar+1))-at))
			}
		}
	}
	return out
}
