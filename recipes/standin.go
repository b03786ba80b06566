package recipes

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// standIn is a way to fill a silent stretch: the parts of a job, whole or, where they play in every
// bar of it, thinned out.
type standIn struct {
	job  song.Job
	thin func(part, bars string, beats int) moves.Step // in a metre of so many beats; nil, or where it makes none: as they are
}

// standIns are the parts that may stand in, the first that the loop has. The order is common
// practice, no source.
func standIns() []standIn {
	return []standIn{
		{song.Bed, nil}, {song.Hook, halfBars}, {song.Extra, nil}, {song.Tops, nil}, {song.Backbeat, nil}, {song.Perc, nil},
		{song.Bass, halfBars}, {song.Beat, firstBeats},
	}
}

// halfBars keeps every second bar.
func halfBars(part, bars string, _ int) moves.Step {
	return &moves.Thin{Target: moves.Target{Part: where.PartsOf(part), Over: where.SpansOf(bars)}, Keep: 50 * option.Whole / 100, By: "bars"}
}

// firstBeats keeps the first beat of every bar.
func firstBeats(part, bars string, beats int) moves.Step {
	if beats < 2 {
		return nil
	}
	return &moves.Mute{Target: moves.Target{Part: where.PartsOf(part), Over: where.SpansOf(fmt.Sprintf("beat 2-%d of every bar of %s", beats, bars))}}
}

// filling lets parts stand in wherever a section's line-up leaves more than a bar of silence.
type filling struct {
	*order
	full    song.Song // every part playing
	plan    plan
	plays   lineUp        // to which stand-ins are added
	steps   []moves.Step  // that thin them out
	changes []song.Change // the trace
}

func (f *filling) fill() {
	sounding := f.soundingBars()
	for i, sec := range f.plan.sections {
		for _, run := range silentRuns(sounding[sec.Bar-1 : sec.Bar-1+sec.Bars]) {
			f.fillRun(i, run)
		}
	}
}

// fillRun lets stand-ins into a silent stretch of a section until no two bars in a row are silent.
func (f *filling) fillRun(section int, run where.BarRange) {
	sec := f.plan.sections[section]
	r := barsOf(f.full, sec, run.First, run.Last)
	for _, s := range standIns() {
		names := f.letIn(section, run, s)
		if len(names) == 0 {
			continue
		}
		text := fmt.Sprintf("nothing else would play in %s, bars %d-%d", sec.Name, sec.Bar+run.First-1, sec.Bar+run.Last-1)
		f.changes = append(f.changes, song.Change{Step: -1, Move: "stand-in", Ranges: []song.Range{r}, Parts: names, Text: text})
		f.tell(fmt.Sprintf("%s: stand-in %s", text, strings.Join(names, ", ")))
		if len(silentRuns(f.soundingBars()[sec.Bar+run.First-2:sec.Bar+run.Last-1])) == 0 {
			break
		}
	}
	f.triggersFollow(f.plays[section])
}

// letIn lets the parts of a job into a silent stretch of a section; it returns their names.
func (f *filling) letIn(section int, run where.BarRange, s standIn) []string {
	var names []string
	plays, sec := f.plays[section], f.plan.sections[section]
	for p, part := range f.full.Parts {
		if part.Job != s.job || part.Role == song.Trigger || len(f.full.In(part, barsOf(f.full, sec, run.First, run.Last))) == 0 {
			continue
		}
		names = append(names, part.Name)
		plays[p] = withBars(plays[p], run)
		if s.thin == nil || !f.playsEveryBar(p, sec, run) {
			continue
		}
		bars := fmt.Sprintf("bars %d-%d", sec.Bar+run.First-1, sec.Bar+run.Last-1)
		if step := s.thin(where.PartText(f.full, p), bars, f.full.Time().MetreIn(1).Num); step != nil {
			f.steps = append(f.steps, step)
		}
	}
	return names
}

// playsEveryBar tells whether a part has an onset in every bar of a stretch, so that half of it leaves
// no two bars silent.
func (f *filling) playsEveryBar(part int, sec song.Section, run where.BarRange) bool {
	for bar := run.First; bar <= run.Last; bar++ {
		if len(f.full.In(f.full.Parts[part], barsOf(f.full, sec, bar, bar))) == 0 {
			return false
		}
	}
	return true
}

// triggersFollow lets triggers play where parts have come to stand in.
func (f *filling) triggersFollow(plays [][]where.BarRange) {
	for p, part := range f.full.Parts {
		if part.Role != song.Trigger {
			continue
		}
		for q := range plays {
			if f.full.Parts[q].Role != song.Trigger {
				for _, r := range plays[q] {
					plays[p] = withBars(plays[p], r)
				}
			}
		}
	}
}

// withBars adds bars to those in which a part plays.
func withBars(ranges []where.BarRange, add where.BarRange) []where.BarRange {
	var out []where.BarRange
	for _, r := range ranges {
		if r.Last+1 < add.First || add.Last+1 < r.First {
			out = append(out, r)
			continue
		}
		add = where.BarRange{First: min(add.First, r.First), Last: max(add.Last, r.Last)}
	}
	out = append(out, add)
	slices.SortFunc(out, func(a, b where.BarRange) int { return a.First - b.First })
	return out
}

// soundingBars tells for each bar of the song, from 0, whether a part that plays sounds in it.
func (f *filling) soundingBars() []bool {
	out := make([]bool, f.plan.bars)
	tl := f.full.Time()
	for p, part := range f.full.Parts {
		if part.Role == song.Trigger {
			continue
		}
		plays := f.plays.barsOf(p, f.plan.sections, len(out))
		for _, n := range part.Notes {
			first := tl.BarOf(f.full.Counted(n.Start)) - 1
			if first >= len(out) || !plays[first] && !part.Restrikes() {
				continue
			}
			for bar := first; bar < len(out) && (bar == first || tl.BarStart(bar+1) < n.End); bar++ {
				out[bar] = out[bar] || plays[bar]
			}
		}
	}
	return out
}

// barsOf tells for each bar of the song, from 0, whether a part plays in it.
func (l lineUp) barsOf(part int, sections []song.Section, bars int) []bool {
	out := make([]bool, bars)
	for i, sec := range sections {
		for _, r := range l[i][part] {
			for bar := r.First; bar <= r.Last; bar++ {
				out[sec.Bar+bar-2] = true
			}
		}
	}
	return out
}

// silentRuns returns the stretches of two silent bars or more.
func silentRuns(sounding []bool) []where.BarRange {
	var out []where.BarRange
	start := 0
	for bar := 0; bar <= len(sounding); bar++ {
		if bar < len(sounding) && !sounding[bar] {
			continue
		}
		if bar-start >= 2 {
			out = append(out, where.BarRange{First: start + 1, Last: bar})
		}
		start = bar + 1
	}
	return out
}
