package recipes

import (
	"fmt"

	"loopdraft/moves"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// lineUp is where each part plays: by section, then by part, in bars of the section.
type lineUp [][][]where.BarRange

// lineUps reads the line-ups of the sections on the loop's parts and scales them.
func (d *drafter) lineUps() lineUp {
	out := make(lineUp, len(d.r.Sections))
	for i, s := range d.r.Sections {
		plays, told, err := s.Play.Resolve(d.in, s.Bars, !d.r.anyLoop())
		if err != nil {
			path := fmt.Sprintf("sections[%d].play", i+1)
			for _, err := range flatten(err) {
				if d.follows(err) {
					continue
				}
				d.src.optionMistake(err, path, func(item int) spot {
					if item < len(s.atPlay) {
						return s.atPlay[item]
					}
					return s.atName
				})
			}
			continue
		}
		d.tell(told...)
		for p := range plays {
			plays[p] = scaledBars(plays[p], s.Bars, d.plan.sections[i].Bars, d.r.phrase())
		}
		out[i] = plays
	}
	return out
}

// carryOut silences every part where its line-up leaves it out.
func (d *drafter) carryOut(l lineUp) {
	silent := make([][]song.Range, len(d.in.Parts))
	for p := range d.in.Parts {
		var playing []song.Range
		for i, sec := range d.plan.sections {
			next := 1
			for _, r := range l[i][p] {
				silent[p] = appendRange(silent[p], d.barsOf(sec, next, r.First-1))
				playing = append(playing, d.barsOf(sec, r.First, r.Last))
				next = r.Last + 1
			}
			silent[p] = appendRange(silent[p], d.barsOf(sec, next, sec.Bars))
		}
		if len(playing) > 0 {
			d.res.Changes = append(d.res.Changes, song.Change{Step: -1, Move: "line-up", Ranges: playing, Parts: []string{d.in.Parts[p].Name}})
		}
	}
	d.in = moves.Silence(d.in, silent, song.TailsAuto)
}

func appendRange(list []song.Range, r song.Range) []song.Range {
	if r.Len() > 0 {
		list = append(list, r)
	}
	return list
}

// barsOf returns the ticks of bars of a section, both included; an empty range where last is before
// first.
func (d *drafter) barsOf(sec song.Section, first, last int) song.Range {
	return d.in.BarRange(sec.Bar+first-1, sec.Bar+last-1)
}
