package recipes

import (
	"cmp"
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
		{song.JobBed, nil}, {song.JobHook, halfBars}, {song.JobExtra, nil}, {song.JobTops, nil}, {song.JobBackbeat, nil}, {song.JobPerc, nil},
		{song.JobBass, halfBars}, {song.JobBeat, firstBeats},
	}
}

// halfBars keeps every second bar.
func halfBars(part, bars string, _ int) moves.Step {
	return &moves.Thin{Target: moves.Target{Part: where.PartsOf(part), Over: where.SpansOf(bars)}, Keep: moves.KeepShare(50 * option.Whole / 100), By: "bars"}
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
func (f *filling) fillRun(section int, run barRun) {
	sec := f.plan.sections[section]
	r := barsOf(f.full, sec, run.first, run.last)
	for _, s := range standIns() {
		names := f.letIn(section, run, s)
		if len(names) == 0 {
			continue
		}
		text := fmt.Sprintf("nothing else would play in %s, bars %d-%d", sec.Name, sec.Bar+run.first-1, sec.Bar+run.last-1)
		f.changes = append(f.changes, song.Change{Step: -1, Move: "stand-in", Ranges: []song.Range{r}, Parts: names, Text: text})
		f.tell(fmt.Sprintf("%s: stand-in %s", text, strings.Join(names, ", ")))
		if len(silentRuns(f.soundingBars()[sec.Bar+run.first-2:sec.Bar+run.last-1])) == 0 {
			break
		}
	}
	triggersFollow(f.full, f.plays[section])
}

// letIn lets the parts of a job into a silent stretch of a section; it returns their names.
func (f *filling) letIn(section int, run barRun, s standIn) []string {
	var names []string
	plays, sec := f.plays[section], f.plan.sections[section]
	inSection := barsOf(f.full, sec, run.first, run.last)
	start := f.full.SectionRange(sec).Start
	inSection.Start, inSection.End = inSection.Start-start, inSection.End-start
	for p, part := range f.full.Parts {
		if part.Job != s.job || part.Role == song.RoleTrigger || len(f.full.In(part, barsOf(f.full, sec, run.first, run.last))) == 0 {
			continue
		}
		names = append(names, part.Name)
		plays[p] = withRange(plays[p], inSection)
		if s.thin == nil || !f.playsEveryBar(p, sec, run) {
			continue
		}
		bars := fmt.Sprintf("bars %d-%d", sec.Bar+run.first-1, sec.Bar+run.last-1)
		if step := s.thin(where.PartText(f.full, p), bars, f.full.Time().MetreIn(1).Num); step != nil {
			f.steps = append(f.steps, step)
		}
	}
	return names
}

// playsEveryBar tells whether a part has an onset in every bar of a stretch, so that half of it leaves
// no two bars silent.
func (f *filling) playsEveryBar(part int, sec song.Section, run barRun) bool {
	for bar := run.first; bar <= run.last; bar++ {
		if len(f.full.In(f.full.Parts[part], barsOf(f.full, sec, bar, bar))) == 0 {
			return false
		}
	}
	return true
}

// triggersFollow lets triggers play where parts have come to play.
func triggersFollow(in song.Song, plays [][]song.Range) {
	for p, part := range in.Parts {
		if part.Role != song.RoleTrigger {
			continue
		}
		for q := range plays {
			if in.Parts[q].Role != song.RoleTrigger {
				for _, r := range plays[q] {
					plays[p] = withRange(plays[p], r)
				}
			}
		}
	}
}

// withRange adds a range to those in which a part plays.
func withRange(ranges []song.Range, add song.Range) []song.Range {
	var out []song.Range
	for _, r := range ranges {
		if r.End < add.Start || add.End < r.Start {
			out = append(out, r)
			continue
		}
		add = song.Range{Start: min(add.Start, r.Start), End: max(add.End, r.End)}
	}
	out = append(out, add)
	slices.SortFunc(out, func(a, b song.Range) int { return cmp.Compare(a.Start, b.Start) })
	return out
}

// soundingBars tells for each bar of the song, from 0, whether a part that plays sounds in it.
func (f *filling) soundingBars() []bool {
	out := make([]bool, f.plan.bars)
	tl := f.full.Time()
	for p, part := range f.full.Parts {
		if part.Role == song.RoleTrigger {
			continue
		}
		plays, counter := f.barsWith(p, len(out)), f.full.Counter()
		for _, n := range part.Notes {
			first := counter.Bar(n.Start) - 1
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

// barsWith tells for each bar of the song, from 0, whether a part plays in it, or in some beats of it.
func (f *filling) barsWith(part, bars int) []bool {
	out := make([]bool, bars)
	tl := f.full.Time()
	for i, sec := range f.plan.sections {
		start := tl.BarStart(sec.Bar)
		for _, r := range f.plays[i][part] {
			for bar := tl.BarOf(start + r.Start); tl.BarStart(bar) < start+r.End; bar++ {
				out[bar-1] = true
			}
		}
	}
	return out
}

// barRun is a stretch of bars, both included, counted from 1.
type barRun struct{ first, last int }

// silentRuns returns the stretches of two silent bars or more.
func silentRuns(sounding []bool) []barRun {
	var out []barRun
	start := 0
	for bar := 0; bar <= len(sounding); bar++ {
		if bar < len(sounding) && !sounding[bar] {
			continue
		}
		if bar-start >= 2 {
			out = append(out, barRun{start + 1, bar})
		}
		start = bar + 1
	}
	return out
}
