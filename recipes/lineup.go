package recipes

import (
	"fmt"
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/recipes/wording"
	"loopdraft/smf/song"
)

// lineUp is where each part plays: by section, then by part, in ticks of the section.
type lineUp [][][]song.Range

// linedUp is the song after its line-up.
type linedUp struct {
	song     song.Song
	room     song.Room // that has its notes, which nobody else needs
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
	lines := a.lineUps(l)
	a.checkAddOf(l)
	if a.err() != nil {
		return out, nil // the steps are still looked at for their mistakes
	}
	out.plays = lines.all()
	var err error
	others := lines.others(loop)
	a.unplayed(loop, l.plan, others)
	lines.tellEmpty(loop)
	if others != nil {
		if l, err = l.again(a.shared, loop, others); err != nil {
			return out, err
		}
		out.song, out.laid, lines.laid = l.song, l, l
	}
	if out.found, err = a.findPlayers(loop, lines, out.plays); err != nil || a.err() != nil {
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
	if len(l.others) > 0 { // now that it is known who plays, the others stay with their section's loop
		if l, err = l.again(a.shared, loop, l.othersHeard(out.plays)); err != nil {
			return out, err
		}
		out.laid = l
	}
	marked, err := moves.Run(&moves.Env{}, &moves.Mark{}, l.song)
	if err != nil {
		return out, err
	}
	silent, changes := l.silent(out.plays)
	out.song = moves.Silence(marked.Song.WithRoom(&out.room), silent, song.TailsAuto).WithRoom(nil)
	out.changes = append(append(out.changes, changes...), out.laid.loopChanges(loop, out.plays)...)
	return out, nil
}

// lineUps works out the line-ups of sections, each after the one that it is like.
type lineUps struct {
	*order
	laid  laidLoop
	plays [][][]where.Play // by section, then by part, as the line-up says; nil: not yet, or it has mistakes
	found [][][]song.Range // by section, then by part, where those play besides that were found for its energy; nil: none
}

// lineUps reads the line-ups of the sections on the loop's parts.
func (a *order) lineUps(l laidLoop) *lineUps {
	n := len(a.r.Sections)
	out := &lineUps{order: a, laid: l, plays: make([][][]where.Play, n), found: make([][][]song.Range, n)}
	for i, s := range a.r.Sections {
		_, told, err := out.resolve(i)
		if err != nil {
			a.lineUpMistakes(i, s, err)
			continue
		}
		a.remark(told...)
	}
	return out
}

// others returns, by part, where it plays from another loop than the section does; nil: nowhere.
func (u *lineUps) others(loop foundLoop) [][]lay.Play {
	if len(loop.loops) < 2 {
		return nil
	}
	out := loop.late(u.laid.plan)
	for i, plays := range u.plays {
		start := u.laid.song.SectionRange(u.laid.plan.sections[i]).Start
		for p := range plays {
			for _, play := range plays[p] {
				k := slices.Index(u.laid.names, play.Loop)
				if k < 0 {
					continue
				}
				if out == nil {
					out = make([][]lay.Play, len(loop.song.Parts))
				}
				out[p] = append(out[p], lay.Play{Range: song.Range{Start: start + play.Start, End: start + play.End}, Loop: k})
			}
		}
		for p, added := range u.addedOf(i) {
			if len(added) > 0 && out == nil {
				out = make([][]lay.Play, len(loop.song.Parts))
			}
			if len(added) > 0 {
				out[p] = append(out[p], added...)
			}
		}
	}
	return out
}

// tellEmpty tells which parts are to play a loop in which they have no note: there they are silent.
func (u *lineUps) tellEmpty(loop foundLoop) {
	for i, section := range sectionTexts(u.r.Sections) {
		for k, name := range loop.loopNames() {
			var empty []string
			for p, plays := range u.plays[i] {
				asked := slices.ContainsFunc(plays, func(play where.Play) bool { return play.Loop == name && name != "" })
				if asked && !loop.plays(p, k) {
					empty = append(empty, u.laid.song.Parts[p].Name)
				}
			}
			if len(empty) > 0 {
				u.tell(fmt.Sprintf("%s: %s has no notes of %s: silent there", section, name, wording.Listed(empty)))
			}
		}
	}
}

// resolve works out the line-up of a section, and returns what "same" means in it; nil where it is like no other.
func (u *lineUps) resolve(i int) (base [][]where.Play, told []remark.Remark, err error) {
	in := u.sectionContext(u.laid, i)
	base = u.base(i)
	in.Base = base
	u.plays[i], told, err = u.r.Sections[i].lineUp().Resolve(in)
	return base, told, err
}

// all returns where the parts of each section play.
func (u *lineUps) all() lineUp {
	var out lineUp
	for i := range u.plays {
		out = append(out, u.ranges(i))
	}
	return out
}

// ranges returns where the parts of a section play.
func (u *lineUps) ranges(i int) [][]song.Range {
	out := make([][]song.Range, len(u.plays[i]))
	for p, plays := range u.plays[i] {
		out[p] = where.Ranges(plays)
	}
	return out
}

// base returns what "same" means in the line-up of a section: the line-up of the section that it is like, those
// found for its energy included, on the bars of this one. nil where nothing asks for it. A section whose bars are
// those of this one is taken as it was worked out; only others are worked out again.
func (u *lineUps) base(i int) [][]where.Play {
	s := u.r.Sections[i]
	if !s.Play.Same() || s.base == 0 {
		return nil
	}
	none := make([][]where.Play, len(u.laid.song.Parts))
	last := s.base - 1
	chain := []int{last} // each is the base of the one before
	for !u.alike(i, last) && u.r.Sections[last].Play.Same() && u.r.Sections[last].base > 0 {
		last = u.r.Sections[last].base - 1
		chain = append(chain, last)
	}
	var plays [][]where.Play
	for k, j := range slices.Backward(chain) {
		switch {
		case u.plays[j] == nil:
			return none // its mistakes are told in their place
		case k == len(chain)-1 && u.alike(i, j):
			plays = slices.Clone(u.plays[j])
		default:
			in := u.sectionContext(u.laid, i)
			in.Base, in.Written = plays, u.r.Sections[j].playBars()
			var err error
			if plays, _, err = u.r.Sections[j].lineUp().Resolve(in); err != nil {
				return none
			}
		}
		for p, found := range u.foundOn(i, j) {
			for _, r := range found {
				plays[p] = append(slices.Clip(plays[p]), where.Play{Range: r})
			}
		}
	}
	return plays
}

// alike tells whether the bars of two sections are as many and as long.
func (u *lineUps) alike(i, j int) bool {
	a, b, tl := u.laid.plan.sections[i], u.laid.plan.sections[j], u.laid.song.Time()
	if a.Bars != b.Bars {
		return false
	}
	for bar := 1; bar <= a.Bars; bar++ {
		if tl.BarStart(a.Bar+bar)-tl.BarStart(a.Bar) != tl.BarStart(b.Bar+bar)-tl.BarStart(b.Bar) {
			return false
		}
	}
	return true
}

// foundOn returns who was found for the energy of section j, on the bars of section i.
func (u *lineUps) foundOn(i, j int) [][]song.Range {
	if u.found[j] == nil || u.alike(i, j) {
		return u.found[j]
	}
	from, to := u.sectionContext(u.laid, j), u.sectionContext(u.laid, i)
	to.Written, to.Strict = from.Bars, false
	out := make([][]song.Range, len(u.found[j]))
	for p, ranges := range u.found[j] {
		for _, r := range ranges {
			plays, _, err := where.LineUpOf(from.Item(where.PartText(u.laid.song, p), r)).Resolve(to)
			if err == nil {
				out[p] = append(out[p], where.Ranges(plays[p])...)
			}
		}
	}
	return out
}

// lineUp returns who plays by the section itself: beside an energy nobody, unless it says so.
func (s SectionSpec) lineUp() where.LineUp {
	if s.Play.IsZero() && !s.Energy.IsZero() {
		return where.LineUpOf()
	}
	return s.Play
}

// sectionContext is what the line-up of a section is resolved in.
func (a *order) sectionContext(l laidLoop, i int) where.SectionContext {
	sec := l.plan.sections[i]
	return where.SectionContext{Song: l.song, Bar: sec.Bar, Bars: sec.Bars, Written: a.r.Sections[i].playBars(), Phrase: a.r.phrase(), Strict: !a.r.anyLoop(), Loops: l.names}
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
