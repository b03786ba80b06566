package recipes

import (
	"loopdraft/moves/lay"
	"loopdraft/smf/song"
)

// laidLoop is the loop over the length of the track, every part playing.
type laidLoop struct {
	song song.Song
	plan plan
	laid bool // it was laid out; otherwise it is as it was found
}

// layOut lays the loop out over the length, if the recipe or the options say one.
func (a *order) layOut(l foundLoop) (laidLoop, error) {
	out := laidLoop{song: l.song}
	if !l.sought || !a.hasLength() && a.extends() {
		return out, nil
	}
	p := planner{a.r, a.o, l.song.Time(), l.loop.Bars, &a.mistakes}
	var err error
	if out.plan, err = p.plan(); err != nil {
		return out, err
	}
	a.remark(out.plan.told...)
	laid, told, err := lay.Lay(lay.Layout{Loop: l.song, Bars: l.loop.Bars, Cycles: l.loop.Cycles, Blocks: out.plan.blocks, Markers: len(out.plan.sections) == 0})
	if err != nil {
		return out, err
	}
	a.remark(told...)
	out.song, out.laid = laid.WithSections(out.plan.sections), true
	return out, nil
}
