package moves

import (
	"cmp"
	"slices"
	"sort"

	"loopdraft/smf/song"
)

// origin finds out where in the loop the notes of a part come from. Notes that were read are found by their
// place in their track; for notes that a move wrote, bars are counted back from the end of their section, as
// the loop is laid out.
type origin struct {
	song, loop song.Song
	notes      []song.Note // the part in the loop, by place in the track
	bars       int         // length of the part's cycle
}

func newOrigin(env *Env, in song.Song, part int) *origin {
	o := &origin{song: in, loop: env.Loop, bars: env.Bars}
	if o.bars == 0 {
		o.bars = max(env.Loop.Bars(), 1)
	}
	i := env.Loop.Index(in.Parts[part].Name)
	if i < 0 {
		return o
	}
	if t := env.Loop.Parts[i].Track; t < len(env.Cycles) && env.Cycles[t] > 0 {
		o.bars = max(env.Loop.Time().BarOf(env.Cycles[t])-1, 1)
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
			if n := o.notes[i]; o.loop.Counted(n.Start) >= o.loop.Time().BarStart(o.bars+1) {
				return n.Start - o.loop.Time().BarStart(o.bars+1) // an early note of the loop's first bar
			}
			return o.notes[i].Start
		}
	}
	at := o.song.Counted(n.Start)
	bar := o.song.Time().BarOf(at)
	return o.loop.Time().BarStart(o.counted(bar)+1) + at - o.song.Time().BarStart(bar)
}

// counted returns which bar of the cycle, from 0, a bar of the song is by counting.
func (o *origin) counted(bar int) int {
	inLoop := (bar - 1) % o.bars
	for _, s := range o.song.Sections {
		if bar >= s.Bar && bar < s.Bar+s.Bars {
			left := s.Bar + s.Bars - bar // bars to its end, this one included
			inLoop = (o.bars - left%o.bars) % o.bars
		}
	}
	return inLoop
}
