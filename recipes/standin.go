package recipes

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// standIn is a way to fill a silent stretch: the parts of a job, whole or, where they play in every
// bar of it, thinned out.
type standIn struct {
	job  song.Job
	thin func(d *drafter, part string, bars string) StepSpec // nil: as they are
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
func halfBars(_ *drafter, part, bars string) StepSpec {
	return standInStep("thin", "part", part, "over", bars, "keep", "50%", "by", "bars")
}

// firstBeats keeps the first beat of every bar.
func firstBeats(d *drafter, part, bars string) StepSpec {
	beats := d.in.Time().MetreIn(1).Num
	if beats < 2 {
		return StepSpec{}
	}
	return standInStep("mute", "part", part, "over", fmt.Sprintf("beat 2-%d of every bar of %s", beats, bars))
}

// standInStep makes a step of a move's name and its options by name and text. The options are
// constant but for parts and bars, so that a mistake would show in every test of a built-in recipe.
func standInStep(move string, options ...string) StepSpec {
	m, ok := moves.Lookup(move)
	if !ok {
		return StepSpec{}
	}
	spec := StepSpec{Move: move, Step: m.New()}
	for i := 0; i+1 < len(options); i += 2 {
		if m.Set(spec.Step, options[i], options[i+1:i+2], false) != nil {
			return StepSpec{}
		}
	}
	return spec
}

// fillSilence lets parts stand in wherever a section's line-up leaves more than a bar of silence. It
// adds them to the line-up and returns the steps that thin them out.
func (d *drafter) fillSilence(l lineUp) []StepSpec {
	var steps []StepSpec
	sounding := d.soundingBars(l)
	for i, sec := range d.plan.sections {
		for _, run := range silentRuns(sounding[sec.Bar-1 : sec.Bar-1+sec.Bars]) {
			steps = append(steps, d.fillRun(l, i, run)...)
		}
	}
	return steps
}

// fillRun lets stand-ins into a silent stretch of a section until no two bars in a row are silent.
func (d *drafter) fillRun(l lineUp, section int, run barRun) []StepSpec {
	var steps []StepSpec
	plays, sec := l[section], d.plan.sections[section]
	r := d.barsOf(sec, run.first, run.last)
	start := d.in.SectionRange(sec).Start
	inSection := song.Range{Start: r.Start - start, End: r.End - start}
	for _, s := range standIns() {
		var names []string
		for p, part := range d.in.Parts {
			if part.Job != s.job || part.Role == song.Trigger || len(d.in.In(d.env.Full.Parts[p], r)) == 0 {
				continue
			}
			names = append(names, part.Name)
			plays[p] = withRange(plays[p], inSection)
			bars := fmt.Sprintf("bars %d-%d", sec.Bar+run.first-1, sec.Bar+run.last-1)
			if s.thin != nil && d.playsEveryBar(p, sec, run) {
				if spec := s.thin(d, where.PartText(d.in, p), bars); spec.Step != nil {
					steps = append(steps, spec)
				}
			}
		}
		if len(names) == 0 {
			continue
		}
		text := fmt.Sprintf("nothing else would play in %s, bars %d-%d", sec.Name, sec.Bar+run.first-1, sec.Bar+run.last-1)
		d.res.Changes = append(d.res.Changes, song.Change{Step: -1, Move: "stand-in", Ranges: []song.Range{r}, Parts: names, Text: text})
		d.tell(fmt.Sprintf("%s: stand-in %s", text, strings.Join(names, ", ")))
		if len(silentRuns(d.soundingBars(l)[sec.Bar+run.first-2:sec.Bar+run.last-1])) == 0 {
			break
		}
	}
	d.triggersFollow(plays)
	return steps
}

// playsEveryBar tells whether a part has an onset in every bar of a stretch, so that half of it leaves
// no two bars silent.
func (d *drafter) playsEveryBar(part int, sec song.Section, run barRun) bool {
	for bar := run.first; bar <= run.last; bar++ {
		if len(d.in.In(d.env.Full.Parts[part], d.barsOf(sec, bar, bar))) == 0 {
			return false
		}
	}
	return true
}

// triggersFollow lets triggers play where parts have come to stand in.
func (d *drafter) triggersFollow(plays [][]song.Range) {
	for p, part := range d.in.Parts {
		if part.Role != song.Trigger {
			continue
		}
		for q := range plays {
			if d.in.Parts[q].Role != song.Trigger {
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
func (d *drafter) soundingBars(l lineUp) []bool {
	out := make([]bool, d.plan.bars)
	tl := d.in.Time()
	for p, part := range d.env.Full.Parts {
		if part.Role == song.Trigger {
			continue
		}
		plays := d.barsWith(l, p, len(out))
		for _, n := range part.Notes {
			first := tl.BarOf(d.in.Counted(n.Start)) - 1
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
func (d *drafter) barsWith(l lineUp, part, bars int) []bool {
	out := make([]bool, bars)
	tl := d.in.Time()
	for i, sec := range d.plan.sections {
		start := tl.BarStart(sec.Bar)
		for _, r := range l[i][part] {
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
