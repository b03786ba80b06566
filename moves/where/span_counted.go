package where

import (
	"fmt"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

func (s countedSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	of, e := r.of(s.of)
	if e != nil {
		return nil, e
	}
	if s.loop {
		return s.inLoop(r, of)
	}
	one := Length{count: 1, unit: s.unit}
	m := mention{found: s.numbers(), col: s.col, unit: s.unit}
	var out []stretch
	for _, in := range of {
		got := song.Range{
			Start: one.forward(r.tl, in.Start, s.first-1, in.End),
			End:   one.forward(r.tl, in.Start, s.last, in.End),
		}
		fit, there, e := r.fit(in, got, m)
		if e != nil {
			return nil, e
		}
		if there {
			out = append(out, fit)
		}
	}
	return out, nil
}

// inLoop returns where the bars of the loop come in ranges, a range for each time.
func (s countedSpan) inLoop(r *spanResolver, of []stretch) ([]stretch, *option.Mistake) {
	if r.loop == nil {
		return nil, &option.Mistake{Col: s.col, Found: s.numbers(), Want: "a song that was laid out from a loop, to count the loop's bars in"}
	}
	played := s.played(r)
	whole := s.last - s.first + 1
	var out []stretch
	for _, in := range of {
		if e := played.fits(r, s, in); e != nil {
			return nil, e
		}
		at := sort.Search(len(played.runs), func(i int) bool { return played.runs[i].End > in.Start })
		for ; at < len(played.runs) && played.runs[at].Start < in.End; at++ {
			run := played.runs[at]
			got := stretch{Range: song.Range{Start: max(run.Start, in.Start), End: min(run.End, in.End)}}
			got.short = r.count(got, barUnit) < whole // not all of the bars are there
			if out = append(out, got); len(out) > maxStretches {
				return nil, tooMany(s.col, s.numbers())
			}
		}
	}
	return out, nil
}

// playedBars says where the bars of the loop that a span names come in the song.
type playedBars struct {
	runs   []song.Range // without a break, in order
	loops  []int        // for each bar of the song how long the loop is that plays; 0: none
	enough []int        // for each bar of the song the first from it on whose loop has all of the span's bars
}

// played goes through the song once, so that many ranges stay quick. A run ends at a section's line:
// what follows there is another pass.
func (s countedSpan) played(r *spanResolver) playedBars {
	bars := min(r.song.Bars(), song.MaxBars) // nothing is laid out longer than that
	out := playedBars{loops: make([]int, bars), enough: make([]int, bars+1)}
	starts := map[song.Tick]bool{}
	for i := range r.song.Sections {
		starts[r.section(i).Start] = true
	}
	before := 0
	for bar := 1; bar <= bars; bar++ {
		at, length := r.loop(bar)
		out.loops[bar-1] = length
		if at >= s.first && at <= s.last {
			one := r.song.BarRange(bar, bar)
			one.End = min(one.End, r.song.End)
			if before >= s.first && at == before+1 && !starts[one.Start] {
				out.runs[len(out.runs)-1].End = one.End
			} else {
				out.runs = append(out.runs, one)
			}
		}
		before = at
	}
	out.enough[bars] = bars
	for i := bars - 1; i >= 0; i-- {
		out.enough[i] = out.enough[i+1]
		if out.loops[i] >= s.last {
			out.enough[i] = i
		}
	}
	return out
}

// fits refuses, or tells of, numbers past the end of every loop that plays in a range.
func (p playedBars) fits(r *spanResolver, s countedSpan, in stretch) *option.Mistake {
	first, last := r.tl.BarOf(in.Start)-1, r.tl.BarOf(in.End-1)-1 // from 0
	if in.short || first >= len(p.loops) || p.enough[first] <= last {
		return nil
	}
	length := p.loops[first]
	switch {
	case length == 0:
		r.tell(remark.Remark{Kind: remark.NoLoop, Within: r.label(in)})
		return nil
	case r.strict:
		return &option.Mistake{Col: s.col, Found: s.numbers(), Want: fmt.Sprintf("bars within 1-%d (the loop)", length)}
	}
	what := remark.LoopClipped
	if s.first > length {
		what = remark.LoopLeftOut
	}
	r.tell(remark.Remark{Kind: what, Found: s.numbers(), Unit: "bar", Numbers: []int{length}})
	return nil
}
