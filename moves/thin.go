package moves

import (
	"fmt"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Thin leaves some of a part's notes out.
type Thin struct {
	Target
	Chance
	Keep Keep   `yaml:"keep" doc:"share of the onsets that stays, or the beats of each bar on which they stay" required:"true"`
	By   string `yaml:"by" words:"weight,even,bars,chance" doc:"which go first: the metrically weakest (weight); so that the rest is spread evenly (even); whole bars, of each two the first (bars); by chance; left out, bars for hooks and weight for other parts; not beside beats"`
}

func thinMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Leave some of a part's notes out",
		Doc: `The notes of a chord go or stay together: they are one onset. The choice is made on the loop, so that every pass over the spans leaves out the same notes; what stays is left as it is.

By weight, the onsets that are weakest in the metre go first: in 4/4 the off-beat sixteenths, then the off-beat eighths, then beats 2 and 4, then beat 3; onsets of one weight go evenly spread. By bars, the bars of a span in which the part plays are counted and, at 50%, the second of each two stays; if none would, the last one does. At least one onset stays.

With beats, such as beat 1 or beats 1 and 3, the onsets less than a 1/32 note from these beats of their bar stay and all others go, however many these are. A part that strikes nothing there is silent, with a warning; a beat that no bar of the spans has is an error. A part that plays nothing in the spans is left as it is, with a warning.`,
		New: func() Step { return &Thin{} },
		Example: func() Example {
			return Example{
				Step:   &Thin{Target: Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2")}, Keep: KeepShare(50 * option.Whole / 100)},
				Before: "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx",
				After:  "hat xxxxxxxxxxxxxxxx|x.x.x.x.x.x.x.x.",
			}
		},
	}
}

// Name implements [Step].
func (*Thin) Name() string { return "thin" }

// Apply implements [Step].
func (m *Thin) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if err := m.check(env, in); err != nil {
		return Outcome{}, err
	}
	o.checkNotes(env, in)
	e := in.Edit()
	if len(m.Keep.beatList()) > 0 {
		m.onBeats(&o, e, env, in)
		o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("keep %s", m.Keep))
		return o.with(e.Song()), nil
	}
	w := weights{env.Loop.Time(), env.swing()}
	for _, p := range env.Parts {
		if by := m.by(in.Parts[p]); by == "bars" {
			thinBars(e, in, p, env.Ranges, m.Keep.Share)
		} else {
			m.thin(e, env, in, p, by, w)
		}
	}
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("keep %s", m.Keep))
	return o.with(e.Song()), nil
}

// check finds what is wrong with what stays.
func (m *Thin) check(env *Env, in song.Song) error {
	beats := m.Keep.beatList()
	switch {
	case len(beats) == 0 && (m.Keep.Share < leastKept || m.Keep.Share > option.Whole):
		return &option.Mistake{Option: "keep", Found: m.Keep.Share.String(), Want: thinMove().Want("keep")}
	case len(beats) == 0:
		return nil
	case m.By != "":
		return &option.Mistake{Option: "by", Found: m.By, Want: "no by beside beats: keep says which onsets stay"}
	}
	most := 0
	for _, r := range env.Ranges {
		for bar := in.Time().BarOf(r.Start); in.Time().BarStart(bar) < r.End; bar++ {
			most = max(most, in.Time().MetreIn(bar).Num)
		}
	}
	if most > 0 && beats[len(beats)-1] > most {
		return &option.Mistake{Option: "keep", Found: m.Keep.String(), Want: fmt.Sprintf("beats within 1 to %d, which the bars there have", most)}
	}
	return nil
}

// onBeats leaves the onsets on beats.
func (m *Thin) onBeats(o *Outcome, e *song.Edit, env *Env, in song.Song) {
	for _, p := range env.Parts {
		struck, stays := false, false
		dropNotes(e, in, p, env.Ranges, func(n song.Note) bool {
			on := m.Keep.on(in, n)
			struck, stays = true, stays || on
			return !on
		})
		if struck && !stays {
			o.tell(remark.Remark{Kind: remark.NoneOnBeats, Parts: []string{in.Parts[p].Name}, Found: m.Keep.String()})
		}
	}
}

func (m *Thin) by(p song.Part) string {
	switch {
	case m.By != "":
		return m.By
	case p.Job == song.JobHook:
		return "bars"
	}
	return "weight"
}

// thin chooses among the onsets of the loop that the spans hold.
func (m *Thin) thin(e *song.Edit, env *Env, in song.Song, part int, by string, w weights) {
	o := newOrigin(env, in, part)
	var places []song.Tick
	for _, r := range env.Ranges {
		for _, n := range in.In(in.Parts[part], r) {
			places = append(places, o.place(n))
		}
	}
	if len(places) == 0 {
		return
	}
	onsets := onsetsOf(places, env.Loop.Time().PPQ())
	count := max(1, int(song.HalfUp(int64(len(onsets))*int64(m.Keep.Share), int64(option.Whole))))
	var kept []bool
	switch by {
	case "even":
		kept = Bjorklund(count, len(onsets))
	case "chance":
		kept = chosen(count, len(onsets), NewRand(env.Seed, env.partNumber(part)))
	default:
		kept = heaviest(count, onsets, w)
	}
	dropNotes(e, in, part, env.Ranges, func(n song.Note) bool {
		at := o.place(n)
		return !kept[sort.Search(len(onsets), func(i int) bool { return onsets[i] > at })-1]
	})
}

// dropNotes removes the notes in the ranges for which drop says so.
func dropNotes(e *song.Edit, in song.Song, part int, ranges []song.Range, drop func(song.Note) bool) {
	shapeNotes(e, in, part, ranges, func(n song.Note, _ song.Tick, _ song.Range) (song.Note, bool) { return n, !drop(n) })
}

// heaviest tells which onsets stay if the weakest go first; among those of one weight the ones that
// stay are spread evenly.
func heaviest(count int, onsets []song.Tick, w weights) []bool {
	byWeight := [][]int{}
	for i, at := range onsets {
		class := -w.at(at)
		for len(byWeight) <= class {
			byWeight = append(byWeight, nil)
		}
		byWeight[class] = append(byWeight[class], i)
	}
	kept := make([]bool, len(onsets))
	for _, class := range byWeight {
		stay := Bjorklund(min(count, len(class)), len(class))
		for i, onset := range class {
			kept[onset] = stay[i]
		}
		count = max(0, count-len(class))
	}
	return kept
}

// thinBars keeps whole bars of those in which the part plays.
func thinBars(e *song.Edit, in song.Song, part int, ranges []song.Range, keep option.Share) {
	var silent []song.Range
	for _, r := range ranges {
		bars := playedBars(in, part, r)
		kept := 0
		for i, bar := range bars {
			if keep.Floor(i+1) > keep.Floor(i) || kept == 0 && i == len(bars)-1 {
				kept++
				continue
			}
			line := in.BarRange(bar, bar)
			silent = append(silent, song.Range{Start: max(line.Start, r.Start), End: min(line.End, r.End)})
		}
	}
	i := 0
	dropNotes(e, in, part, ranges, func(n song.Note) bool {
		at := in.Counted(n.Start)
		for i < len(silent) && silent[i].End <= at {
			i++
		}
		return i < len(silent) && silent[i].Has(at)
	})
}
