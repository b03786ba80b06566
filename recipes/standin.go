package recipes

import (
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
func (d *drafter) fillRun(l lineUp, section int, run where.BarRange) []StepSpec {
	var steps []StepSpec
	plays, sec := l[section], d.plan.sections[section]
	for _, s := range standIns() {
		var names []string
		for p, part := range d.in.Parts {
			if part.Job != s.job || part.Role == song.Trigger || len(d.in.In(d.env.Full.Parts[p], d.barsOf(sec, run.First, run.Last))) == 0 {
				continue
			}
			names = append(names, part.Name)
			plays[p] = withBars(plays[p], run)
			bars := fmt.Sprintf("bars %d-%d", sec.Bar+run.First-1, sec.Bar+run.Last-1)
			if s.thin != nil && d.playsEveryBar(p, sec, run) {
				if spec := s.thin(d, where.PartText(d.in, p), bars); spec.Step != nil {
					steps = append(steps, spec)
				}
			}
		}
		if len(names) == 0 {
			continue
		}
		r := d.barsOf(sec, run.First, run.Last)
		text := fmt.Sprintf("nothing else would play in %s, bars %d-%d", sec.Name, sec.Bar+run.First-1, sec.Bar+run.Last-1)
		d.res.Changes = append(d.res.Changes, song.Change{Step: -1, Move: "stand-in", Ranges: []song.Range{r}, Parts: names, Text: text})
		d.tell(fmt.Sprintf("%s: stand-in %s", text, strings.Join(names, ", ")))
		if len(silentRuns(d.soundingBars(l)[sec.Bar+run.First-2:sec.Bar+run.Last-1])) == 0 {
			break
		}
	}
	d.triggersFollow(plays)
	return steps
}

// playsEveryBar tells whether a part has an onset in every bar of a stretch, so that half of it leaves
// no two bars silent.
func (d *drafter) playsEveryBar(part int, sec song.Section, run where.BarRange) bool {
	for bar := run.First; bar <= run.Last; bar++ {
		if len(d.in.In(d.env.Full.Parts[part], d.barsOf(sec, bar, bar))) == 0 {
			return false
		}
	}
	return true
}

// triggersFollow lets triggers play where parts have come to stand in.
func (d *drafter) triggersFollow(plays [][]where.BarRange) {
	for p, part := range d.in.Parts {
		if part.Role != song.Trigger {
			continue
		}
		for q := range plays {
			if d.in.Parts[q].Role != song.Trigger {
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
func (d *drafter) soundingBars(l lineUp) []bool {
	out := make([]bool, d.plan.bars)
	tl := d.in.Time()
	for p, part := range d.env.Full.Parts {
		if part.Role == song.Trigger {
			continue
		}
		plays := l.barsOf(p, d.plan.sections, len(out))
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
