package recipes

import (
	"fmt"

	"loopdraft/moves"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// lineUp is where each part plays: by section, then by part, in ticks of the section.
type lineUp [][][]song.Range

// lineUps reads the line-ups of the sections on the loop's parts.
func (d *drafter) lineUps() lineUp {
	out := make(lineUp, len(d.r.Sections))
	for i, s := range d.r.Sections {
		in := d.sectionContext(i)
		plays, told, err := s.Play.Resolve(in)
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
			out[i] = append(out[i], where.Ranges(plays[p]))
		}
	}
	return out
}

// sectionContext is what the line-up of a section is resolved in.
func (d *drafter) sectionContext(i int) where.SectionContext {
	sec := d.plan.sections[i]
	return where.SectionContext{Song: d.in, Bar: sec.Bar, Bars: sec.Bars, Written: d.r.Sections[i].Bars, Phrase: d.r.phrase(), Strict: !d.r.anyLoop()}
}

// carryOut silences every part where its line-up leaves it out.
func (d *drafter) carryOut(l lineUp) {
	silent := make([][]song.Range, len(d.in.Parts))
	for p := range d.in.Parts {
		var playing []song.Range
		for i, sec := range d.plan.sections {
			whole := d.in.SectionRange(sec)
			next := whole.Start
			for _, r := range l[i][p] {
				r.Start, r.End = whole.Start+r.Start, whole.Start+r.End
				silent[p] = appendRange(silent[p], song.Range{Start: next, End: r.Start})
				playing = append(playing, r)
				next = r.End
			}
			silent[p] = appendRange(silent[p], song.Range{Start: next, End: whole.End})
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
