package moves

import (
	"cmp"
	"slices"
	"sort"

	"loopdraft/moves/lay"
	"loopdraft/smf/song"
)

// origin finds out where in the loop the notes of a part come from. Notes that were read are found by their
// place in their track; for notes that a move wrote, bars are counted back from the end of their section, as
// the loop is laid out.
type origin struct {
	song, loop song.Song
	notes      []song.Note // the part in the loop, by place in the track
	bars       int         // length of the part's cycle; on a tape of several loops all its bars
	laid       []int       // on a tape: by bar of the song the bar of it that the part plays, from 1; 0: not known
	env        *Env
	part       int // in the loop
}

func newOrigin(env *Env, in song.Song, part int) *origin {
	o := &origin{song: in, loop: env.Loop, bars: env.Bars, env: env}
	if o.bars == 0 {
		o.bars = max(env.Loop.Bars(), 1)
	}
	i := -1
	if env.memo != nil {
		i = index(env.memo.loop, in.Parts[part].Name)
	} else {
		i = env.Loop.Index(in.Parts[part].Name)
	}
	if len(env.Loops) > 0 {
		o.laid, o.bars = env.laid(max(i, 0)), env.Loop.Bars()
	}
	if i < 0 {
		return o
	}
	if o.part = i; len(env.Loops) == 0 {
		_, o.bars = env.cycle(i, 0)
	}
	o.notes = env.Loop.Parts[i].Notes
	bySeq := func(a, b song.Note) int { return cmp.Compare(a.OnSeq, b.OnSeq) }
	if !slices.IsSortedFunc(o.notes, bySeq) {
		o.notes = slices.Clone(o.notes)
		slices.SortFunc(o.notes, bySeq)
	}
	return o
}

// place returns the tick in the loop that a note of the song plays.
func (o *origin) place(n song.Note) song.Tick {
	if !n.Is(song.New) {
		i := sort.Search(len(o.notes), func(i int) bool { return o.notes[i].OnSeq >= n.OnSeq })
		if i < len(o.notes) && o.notes[i].OnSeq == n.OnSeq {
			n, tl := o.notes[i], o.loop.Time()
			first, last := o.env.cycle(o.part, o.env.loopOf(tl.BarOf(n.Start)))
			if o.loop.Counted(n.Start) >= tl.BarStart(last+1) {
				return tl.BarStart(first) + n.Start - tl.BarStart(last+1) // an early note of the loop's first bar
			}
			return n.Start
		}
	}
	at := o.song.Counted(n.Start)
	bar := o.song.Time().BarOf(at)
	return o.loop.Time().BarStart(o.counted(bar)+1) + at - o.song.Time().BarStart(bar)
}

// counted returns which bar of the cycle, from 0, a bar of the song is by counting.
func (o *origin) counted(bar int) int {
	if bar <= len(o.laid) && o.laid[bar-1] > 0 {
		return o.laid[bar-1] - 1
	}
	inLoop := (bar - 1) % o.bars
	sections := o.song.Sections
	i := sort.Search(len(sections), func(i int) bool { return bar < sections[i].Bar+sections[i].Bars })
	if i < len(sections) && bar >= sections[i].Bar {
		left := sections[i].Bar + sections[i].Bars - bar // bars to its end, this one included
		inLoop = (o.bars - left%o.bars) % o.bars
	}
	return inLoop
}

// laid returns, by bar of the song, the bar of a tape that a part of it plays, from 1; nil where the blocks are not known.
func (e *Env) laid(part int) []int {
	if e.memo != nil {
		if bars, known := e.memo.laid[part]; known {
			return bars
		}
	}
	bars, err := lay.Layout{Loop: e.Loop, Loops: e.Loops, Plays: e.Plays, Blocks: e.Blocks}.PartBars(part)
	if err != nil {
		bars = nil // it was laid so before
	}
	if e.memo != nil {
		e.memo.laid[part] = bars
	}
	return bars
}
