package moves

import (
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// accentKicks makes the first kick after a gap, on one of the lines, as loud as the part's loudest.
func accentKicks(e *song.Edit, env *Env, in song.Song, lines []song.Tick) {
	if len(lines) == 0 {
		return
	}
	for i, p := range in.Parts {
		if p.Role != song.RoleKick && p.Job != song.JobBeat {
			continue
		}
		top := loudest(env.Source(p.Name).Notes)
		e.Map(i, func(n song.Note) (song.Note, bool) {
			if n.Vel < top {
				if _, on := slices.BinarySearch(lines, in.Counted(n.Start)); on {
					n.Vel = top
				}
			}
			return n, true
		})
	}
}

// gapBefore returns where the gap before the end of a range begins.
func (e *Env) gapBefore(o *Outcome, g where.Gap, in song.Song, over song.Range) (song.Tick, error) {
	if g.IsZero() {
		return over.End, nil
	}
	if !g.Auto {
		at := g.Length.Start(in.Time(), over.End)
		if at <= over.Start {
			return 0, &option.Mistake{Option: "gap", Found: g.Texts()[0], Want: "less than the span it ends"}
		}
		return at, nil
	}
	beats := gapBeats(in, over.End)
	before := func(beats int) song.Tick { return where.LengthInBeats(beats).Start(in.Time(), over.End) }
	at := before(beats)
	if isSecondDrop(in, over.End) {
		// A rest of a whole bar would take the bar that leads into the drop, and whatever rolls in it.
		if twice := before(2 * beats); twice > in.Time().BarStart(in.Time().BarOf(over.End-1)) {
			at = twice
		}
	}
	if at <= over.Start {
		o.tell(remark.Remark{Kind: remark.NoGap, Bar: in.Time().BarOf(over.End)})
		return over.End, nil
	}
	return at, nil
}

// gapBeats returns the number of beats before a line that is nearest to half a second, compared as
// ratios: 1 below about 170 bpm, 2 above. (Common practice, no source.)
func gapBeats(in song.Song, line song.Tick) int {
	tl := in.Time()
	at := max(line-1, 0)
	beat := int64(tl.TempoAt(at)) * int64(tl.BeatTicks(tl.BarOf(at))) / int64(tl.PPQ())
	const half = 500_000 // microseconds
	n := int64(1)
	for n < 16 && n*(n+1)*beat*beat < half*half {
		n++
	}
	return int(n)
}

// isSecondDrop tells whether the second drop starts at a tick.
func isSecondDrop(s song.Song, at song.Tick) bool {
	drops := 0
	for _, sec := range s.Sections {
		if sec.Kind == song.KindDrop {
			if drops++; drops == 2 {
				return s.SectionRange(sec).Start == at
			}
		}
	}
	return false
}
