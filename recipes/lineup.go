package recipes

import (
	"fmt"
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// lineUp is where each part plays: by section, then by part, in ticks of the section.
type lineUp [][][]song.Range

// linedUp is the song after its line-up.
type linedUp struct {
	song     song.Song
	laid     laidLoop
	plays    lineUp
	found    *found        // for the sections that have an energy; nil where none has
	standing []moves.Step  // by which sections step back and parts that stand in are thinned out, ahead of the recipe's moves
	changes  []song.Change // the trace
}

// lineUp carries out the line-ups of the sections.
func (a *order) lineUp(loop foundLoop, l laidLoop) (linedUp, error) {
	out := linedUp{song: l.song, laid: l}
	if len(l.plan.sections) == 0 {
		return out, nil
	}
	a.energyMistakes()
	var others [][]lay.Play
	out.plays, others = a.lineUps(loop, l)
	if a.err() != nil {
		return out, nil // the steps are still looked at for their mistakes
	}
	var err error
	if others != nil {
		if l, err = l.again(loop, others); err != nil {
			return out, err
		}
		out.song, out.laid = l.song, l
	}
	if out.found, err = a.findPlayers(loop, l, out.plays); err != nil || a.err() != nil {
		return out, err
	}
	if a.r.anyLoop() {
		f := filling{order: a, full: l.song, plan: l.plan, plays: out.plays}
		f.fill()
		out.standing, out.changes = f.steps, f.changes
	}
	if out.found != nil {
		out.standing = slices.Concat(out.found.steps, out.standing)
	}
	marked, err := moves.Run(&moves.Env{}, &moves.Mark{}, l.song)
	if err != nil {
		return out, err
	}
	silent, changes := l.silent(out.plays)
	out.song = moves.Silence(marked.Song, silent, song.TailsAuto)
	out.changes = append(append(out.changes, changes...), l.loopChanges(loop)...)
	return out, nil
}

// lineUps reads the line-ups of the sections on the loop's parts. others tells, by part, where it plays from another
// loop than the section does; nil: nowhere.
func (a *order) lineUps(loop foundLoop, l laidLoop) (out lineUp, others [][]lay.Play) {
	out, others = make(lineUp, len(a.r.Sections)), loop.late(l.plan)
	for i, s := range a.r.Sections {
		in := a.sectionContext(l, i)
		in.Loops = loop.loopNames()
		in.Base = a.base(l, in, s)
		plays, told, err := s.lineUp().Resolve(in)
		if err != nil {
			a.lineUpMistakes(i, s, err)
			continue
		}
		a.remark(told...)
		for p := range plays {
			out[i] = append(out[i], where.Ranges(plays[p]))
			for _, play := range plays[p] {
				if k := slices.Index(in.Loops, play.Loop); k >= 0 && len(loop.loops) > 1 {
					if others == nil {
						others = make([][]lay.Play, len(plays))
					}
					start := l.song.SectionRange(l.plan.sections[i]).Start
					others[p] = append(others[p], lay.Play{Range: song.Range{Start: start + play.Start, End: start + play.End}, Loop: k})
				}
			}
		}
	}
	return out, others
}

// lineUp returns who plays by the section itself: beside an energy nobody, unless it says so.
func (s SectionSpec) lineUp() where.LineUp {
	if s.Play.IsZero() && !s.Energy.IsZero() {
		return where.LineUpOf()
	}
	return s.Play
}

// base returns what "same" means in the line-up of a section: the line-up of the section that it is like, on the
// bars of this one. nil where nothing asks for it, or the other has mistakes of its own.
func (a *order) base(l laidLoop, in where.SectionContext, s SectionSpec) [][]where.Play {
	var chain []SectionSpec // each is the base of the one before
	for s.Play.Same() && s.base > 0 {
		s = a.r.Sections[s.base-1]
		chain = append(chain, s)
	}
	var plays [][]where.Play
	for i := len(chain) - 1; i >= 0; i-- {
		in.Base, in.Written = plays, chain[i].playBars()
		var err error
		if plays, _, err = chain[i].lineUp().Resolve(in); err != nil {
			return make([][]where.Play, len(l.song.Parts))
		}
	}
	return plays
}

// sectionContext is what the line-up of a section is resolved in.
func (a *order) sectionContext(l laidLoop, i int) where.SectionContext {
	sec := l.plan.sections[i]
	return where.SectionContext{Song: l.song, Bar: sec.Bar, Bars: sec.Bars, Written: a.r.Sections[i].playBars(), Phrase: a.r.phrase(), Strict: !a.r.anyLoop()}
}

// lineUpMistakes puts the mistakes of a section's line-up in their places.
func (a *order) lineUpMistakes(section int, s SectionSpec, err error) {
	path := fmt.Sprintf("sections[%d].play", section+1)
	for _, err := range flatten(err) {
		if a.follows(err) {
			continue
		}
		a.optionMistake(err, path, func(item int) spot {
			if item < len(s.atPlay) {
				return s.atPlay[item]
			}
			return s.atName
		})
	}
}

// silent returns, for each part, where its line-up leaves it out, and the trace of where it plays.
func (l laidLoop) silent(plays lineUp) ([][]song.Range, []song.Change) {
	out := make([][]song.Range, len(l.song.Parts))
	var changes []song.Change
	for p := range l.song.Parts {
		var playing []song.Range
		for i, sec := range l.plan.sections {
			whole := l.song.SectionRange(sec)
			next := whole.Start
			for _, r := range plays[i][p] {
				r.Start, r.End = whole.Start+r.Start, whole.Start+r.End
				out[p] = appendRange(out[p], song.Range{Start: next, End: r.Start})
				playing = append(playing, r)
				next = r.End
			}
			out[p] = appendRange(out[p], song.Range{Start: next, End: whole.End})
		}
		if len(playing) > 0 {
			changes = append(changes, song.Change{Step: -1, Move: "line-up", Ranges: playing, Parts: []string{l.song.Parts[p].Name}})
		}
	}
	return out, changes
}

func appendRange(list []song.Range, r song.Range) []song.Range {
	if r.Len() > 0 {
		list = append(list, r)
	}
	return list
}

// barsOf returns the ticks of bars of a section, both included; an empty range where last is before
// first.
func barsOf(s song.Song, sec song.Section, first, last int) song.Range {
	return s.BarRange(sec.Bar+first-1, sec.Bar+last-1)
}
