package moves

import (
	"fmt"
	"slices"

	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Extend repeats the loop until the song has a length.
type Extend struct {
	To where.Extent `yaml:"to" doc:"the song's length" required:"true"`
}

func extendMove() Move {
	return Move{
		Group: Structure,
		Brief: "Repeat the loop until the song has a length",
		Doc: `The loop runs on from its first bar; the last pass is cut at the song's end, where held pedals are released. A duration is the nearest number of whole phrases at the loop's tempo.

Notes, controllers, programs, bends, tempo, metre and key repeat, and what a pass leaves elsewhere is set back at the start of the next; names, texts, markers and system exclusive messages stand once. A note that rings over the end of a pass rings on until its key starts again.

In a recipe with sections these give the length, and extend is an error.`,
		New: func() Step { return &Extend{} },
		Example: func() Example {
			return Example{
				Step:   &Extend{To: where.Extent{Bars: 3}},
				Before: "kick x...x...x...x..x\nbass ..x---..X-..x---",
				After:  "kick x...x...x...x..x|x...x...x...x..x|x...x...x...x..x\nbass ..x---..X-..x---|..x---..X-..x---|..x---..X-..x---",
			}
		},
	}
}

// Name implements [Step].
func (*Extend) Name() string { return "extend" }

// Apply implements [Step].
func (x *Extend) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if len(in.Sections) > 0 {
		return Outcome{}, &option.Mistake{Option: "to", Found: "a song with sections", Want: "no extend: the sections give the length"}
	}
	if in.End <= 0 {
		return Outcome{}, &option.Mistake{Option: "to", Found: "a song without bars", Want: "at least one bar"}
	}
	loopBars, cycles := env.Bars, env.Cycles
	if loopBars == 0 || in.End != env.Loop.End { // it was extended before: all of it is the loop now
		loopBars, cycles = in.Bars(), nil
	}
	o.Remarks = env.lost(in, cycles)
	bars := x.To.InBars(in.Time(), loopBars, env.phrase())
	if x.To.Micros > 0 {
		o.tell(remark.Remark{Kind: remark.ExtendedTo, Found: x.To.Texts()[0], Numbers: []int{bars}})
	}
	lay := func(loop song.Song) (song.Song, []remark.Remark, error) {
		return lay.Lay(lay.Layout{Loop: loop, Bars: loopBars, Cycles: cycles, Blocks: []lay.Block{{Bars: bars, RunOn: true}}, Markers: true})
	}
	out, told, err := lay(in)
	if err != nil {
		return Outcome{}, fmt.Errorf("to: %w", err)
	}
	o.tell(told...)
	if o.Full, _, err = lay(env.Full); err != nil {
		return Outcome{}, fmt.Errorf("to: %w", err)
	}
	o.changed(out, nil, []song.Range{{End: out.End}}, fmt.Sprintf("%d bars", bars))
	return o.with(out), nil
}

// lost tells of parts that moves have changed past the cycle their track repeats on: only the cycle is
// repeated.
func (e *Env) lost(in song.Song, cycles []song.Tick) []remark.Remark {
	var out []remark.Remark
	for i, p := range in.Parts {
		if p.Track >= len(cycles) || cycles[p.Track] == 0 || i >= len(e.Loop.Parts) {
			continue
		}
		past := song.Range{Start: cycles[p.Track], End: in.End}
		if !slices.Equal(in.In(p, past), e.Loop.In(e.Loop.Parts[i], past)) {
			out = append(out, remark.Remark{Kind: remark.RepeatsOnly, Parts: []string{p.Name}, Bar: in.Time().BarOf(past.Start - 1)})
		}
	}
	return out
}
