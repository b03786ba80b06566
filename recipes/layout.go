package recipes

import (
	"loopdraft/moves/lay"
	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

// laidLoop is the loop over the length of the track, every part playing.
type laidLoop struct {
	song   song.Song
	plan   plan
	names  []string     // of the loops; nil where nobody names the one there is
	over   [][]lay.Play // of several loops, by part: where it plays on from the one its section's is laid over
	others [][]lay.Play // and where the line-up lets it play from another
	layout *layout      // that song is laid out by; nil: it is as it was found
}

// layOut lays the loop out over the length, if the recipe or the options say one.
func (a *order) layOut(l foundLoop) (laidLoop, error) {
	out := laidLoop{song: l.song, names: l.loopNames()}
	if !l.sought || !a.hasLength() && a.extends() {
		return out, nil
	}
	loops, err := a.sectionLoops(l)
	if err != nil {
		return out, err
	}
	p := planner{a.r, a.o, l.song.Time(), l.loop.Bars, loops, &a.mistakes}
	if out.plan, err = p.plan(); err != nil {
		return out, err
	}
	a.remark(out.plan.told...)
	out.over = l.over(out.plan)
	told, err := out.lay(a.shared, l)
	a.remark(told...)
	return out, err
}

// layout is how the loop is laid out.
func (l foundLoop) layout(out laidLoop) lay.Layout {
	return lay.Layout{Loop: l.song, Bars: l.loop.Bars, Cycles: l.loop.Cycles, Loops: l.loops, Blocks: out.plan.blocks, Plays: out.played(), Markers: len(out.plan.sections) == 0}
}

// played returns where parts play another loop than their section's, by part.
func (l laidLoop) played() [][]lay.Play { return withOthers(l.over, l.others) }

// again lays the loops out anew once the line-ups have said which of them parts play from.
func (l laidLoop) again(s *shared, loop foundLoop, others [][]lay.Play) (laidLoop, error) {
	l.others = others
	_, err := l.lay(s, loop)
	return l, err
}

// lay lays the loops out and returns what is to be told of it.
func (l *laidLoop) lay(s *shared, loop foundLoop) ([]remark.Remark, error) {
	how := s.layout(loop.layout(*l))
	laid, err := how.lay()
	if err != nil {
		return nil, err
	}
	l.song, l.layout = laid.WithSections(l.plan.sections), how
	return laid.told, nil
}
