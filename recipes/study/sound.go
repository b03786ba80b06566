package study

import (
	"fmt"
	"math"
	"slices"

	"loopdraft/smf/form"
	"loopdraft/smf/novelty"
	"loopdraft/smf/song"
	"loopdraft/smf/sound"
)

// OfSound studies a recording. What plays is told in layers: the kick in or out, the low end, the middle and
// the top. phrase is in bars; 0: 8.
func OfSound(h *sound.Heard, beatsPerBar, phrase int) *Study {
	if phrase < 1 {
		phrase = 8
	}
	if beatsPerBar < 1 {
		beatsPerBar = 4
	}
	out := &Study{Bars: len(h.Bars), Seconds: h.Seconds, BPM: h.Bpm, TempoSure: h.BpmConfidence, Metre: metreOf(beatsPerBar), Phrase: phrase, Full: "the recording's loudest phrase", Told: slices.Clone(h.Warnings)}
	l := listener{Study: out, bars: h.Bars, signs: signsOf(h.Bars), loudest: math.Inf(-1)}
	for _, b := range h.Bars {
		l.loudest = max(l.loudest, b.Level)
	}
	l.setLayers()
	bar := 60 / h.Bpm * float64(beatsPerBar)
	starts := append([]int{1}, l.boundaries(h)...)
	var sections []form.HeardSection
	for i, first := range starts {
		next := out.Bars + 1
		if i+1 < len(starts) {
			next = starts[i+1]
		}
		sections = append(sections, form.HeardSection{Section: song.Section{Bar: first, Bars: next - first}, Found: true})
	}
	var stretches []form.Stretch
	for i := range sections {
		sec := &sections[i]
		sec.Stretch = form.StretchOf(l.signs[sec.Bar-1 : sec.Bar-1+sec.Bars])
		stretches = append(stretches, sec.Stretch)
	}
	for i, guess := range form.KindsOf(stretches) {
		sections[i].Kind, sections[i].Name, sections[i].Sure, sections[i].Signs = guess.Kind, string(guess.Kind), guess.Sure, guess.Signs
	}
	out.setSections(sections, func(b int) float64 { return max(h.Offset+float64(b-1)*bar, 0) })
	full := quietest
	for first := 0; first < len(h.Bars); first += form.FullPhrase {
		if end := min(first+form.FullPhrase, len(h.Bars)); end-first == form.FullPhrase || first == 0 {
			full = max(full, meanLevel(h.Bars[first:end]))
		}
	}
	for i := range out.Sections {
		sec := &out.Sections[i]
		level := meanLevel(h.Bars[sec.Bar-1 : sec.Bar-1+sec.Bars])
		sec.Told = form.Told{OfFull: form.Loudness(level-full, 0), DB: max(math.Round(10*(level-full))/10, quietest)}
		l.leaving(i)
		l.growing(i)
		l.lineUp(i)
	}
	return out
}

// quietest is the level of silence in dB.
const quietest = form.SilenceLevel / 10.0

// meanLevel returns the level of the mean power of bars in dB.
func meanLevel(bars []sound.Bar) float64 {
	sum := 0.0
	for _, b := range bars {
		sum += math.Pow(10, b.Level/10)
	}
	return max(quietest, 10*math.Log10(sum/float64(max(len(bars), 1))))
}

// metreOf writes the metre of a recording, of which nothing but the beats of a bar is known.
func metreOf(beats int) string {
	if beats == 4 {
		return "4/4"
	}
	return fmt.Sprintf("%d beats a bar", beats)
}

// listener reads a recording into a study.
type listener struct {
	*Study
	bars   []sound.Bar
	signs  []form.Signs
	layers []layer

	loudest float64 // level of the loudest bar in dB
}

// layer is what a recording is told apart in, and the jobs that make it.
type layer struct {
	name  string
	jobs  []string
	plays []bool // for each bar, from 0; what leaves before a line for a bar or two plays on
}

func signsOf(bars []sound.Bar) []form.Signs {
	loudest := math.Inf(-1)
	for _, b := range bars {
		loudest = max(loudest, b.Level)
	}
	out := make([]form.Signs, len(bars))
	for i, b := range bars {
		out[i] = form.Signs{Beat: b.Kick, Bass: b.Low, Drums: float64(b.Onsets), Loudness: form.Loudness(b.Level, loudest)}
	}
	return out
}

// A layer sounds in a bar that is at most so many dB below its nine-tenths level; where no layer does, a bar that
// is at most so many dB below the loudest is no silence. Common practice, no source.
const (
	layerDB   = 15
	softestDB = 50
)

func (l *listener) setLayers() {
	add := func(name string, sounds func(b sound.Bar) bool, jobs ...string) {
		plays := make([]bool, len(l.bars))
		for i, b := range l.bars {
			plays[i] = sounds(b)
		}
		l.layers = append(l.layers, layer{name, jobs, plays})
		l.Lines = append(l.Lines, Line{Word: name, Playing: slices.Clone(plays)})
	}
	above := func(bands ...sound.Band) func(sound.Bar) bool {
		level := func(b sound.Bar) float64 {
			sum := 0.0
			for _, band := range bands {
				sum += math.Pow(10, b.Bands[band]/10)
			}
			return 10 * math.Log10(max(sum, 1e-10))
		}
		var levels []float64
		for _, b := range l.bars {
			levels = append(levels, level(b))
		}
		slices.Sort(levels)
		usual := -100.0
		if n := len(levels); n > 0 {
			usual = levels[9*(n-1)/10]
		}
		return func(b sound.Bar) bool { return level(b) >= max(usual-layerDB, -80) }
	}
	add("kick", func(b sound.Bar) bool { return b.Kick }, "beat")
	add("low", func(b sound.Bar) bool { return b.Low }, "bass")
	add("mid", above(sound.LowMid, sound.Mid), "hook", "bed", "extra")
	add("high", above(sound.High), "backbeat", "tops", "perc")
	// What is soft in all layers, and not silence, is the music left alone.
	for i, b := range l.bars {
		alone := !slices.ContainsFunc(l.layers, func(v layer) bool { return v.plays[i] })
		if alone && l.signs[i].Loudness > 0 && b.Level >= l.loudest-softestDB {
			l.layers[2].plays[i], l.Lines[2].Playing[i] = true, true
		}
	}
}

// What weighs at the start of a bar, in ten-thousandths, beside what is new: see [listener.boundaries]. floor is what
// the heaviest bar weighs at the least; surely is in hundredths of the heaviest.
const (
	levelsMove = 5000
	leadsIn    = 500
	crashes    = 500
	floor      = 1000
	surely     = 20
)

// boundaries returns the bars at which a stretch of its own begins, as [novelty.Choice] cuts them: phrases are
// counted anew from each. A bar weighs its novelty over half a phrase on either side, half of the steps of the
// levels, 0.05 if the kick or the low end rests just before, and 0.05 for a crash. The figures were tried on
// drafts and on songs whose makers marked their sections.
func (l *listener) boundaries(h *sound.Heard) []int {
	weights := novelty.Of(len(l.bars), max(l.Phrase/2, 1), h.Alike)
	for bar := 2; bar <= len(l.bars); bar++ {
		w := int(math.Round(levelsMove * l.steps(bar)))
		if l.rests(bar - 1) {
			w += leadsIn
		}
		if l.crash(bar) {
			w += crashes
		}
		weights[bar-1] += w
	}
	var out []int
	c := novelty.Choice{Phrase: l.Phrase, Least: surely, Floor: floor}
	for _, at := range c.Cut(weights) {
		out = append(out, at+1)
	}
	return out
}

// rests tells whether the kick or the low end is out in a bar and was in two bars before.
func (l *listener) rests(bar int) bool {
	if bar < 3 {
		return false
	}
	now, was := l.bars[bar-1], l.bars[bar-3]
	return was.Kick && !now.Kick || was.Low && !now.Low
}

// crash tells whether a bar has 1.5 dB more at the top than either of the two after it.
func (l *listener) crash(bar int) bool {
	if bar+1 >= len(l.bars) {
		return false
	}
	top := l.bars[bar-1].Bands[sound.High] - 1.5
	return top >= l.bars[bar].Bands[sound.High] && top >= l.bars[bar+1].Bands[sound.High]
}

// steps returns by how much the levels of the bands differ in the phrases on either side of a line, 0..1: the mean
// of the bands, of which each counts 10 dB at most.
func (l *listener) steps(bar int) float64 {
	before, after := l.bars[max(bar-1-l.Phrase, 0):bar-1], l.bars[bar-1:min(bar-1+l.Phrase, len(l.bars))]
	sum := 0.0
	for band := range sound.Bands {
		sum += min(math.Abs(meanOf(after, band)-meanOf(before, band)), 10)
	}
	return sum / 10 / sound.Bands
}

// meanOf returns the mean level of a band in dB.
func meanOf(bars []sound.Bar, band int) float64 {
	sum := 0.0
	for _, b := range bars {
		sum += b.Bands[band]
	}
	return sum / float64(max(len(bars), 1))
}

// leaving finds the kick or the low end out for a bar or two before a section ends.
func (l *listener) leaving(i int) {
	sec := &l.Sections[i]
	line := sec.Bar + sec.Bars
	if line > l.Bars {
		return
	}
	for k := range l.layers[:2] {
		v := &l.layers[k]
		bars := 0
		for bars < 2 && 2*(bars+1) < sec.Bars && !v.plays[line-2-bars] {
			bars++
		}
		if bars == 0 || !v.plays[line-2-bars] {
			continue
		}
		for b := line - bars; b < line; b++ {
			v.plays[b-1] = true
		}
		sec.Moves = append(sec.Moves, Move{Heard: v.name + " out", Name: "mute", Options: []Option{{"part", v.jobs[0]}, {"over", fmt.Sprintf("last %s of %s", Bars(bars), sec.Ref)}}})
	}
}

// growing finds what gets denser and brighter towards the end of a section.
func (l *listener) growing(i int) {
	sec := &l.Sections[i]
	if sec.Kind != song.KindBuild && sec.Kind != song.KindBreak || i+1 == len(l.Sections) {
		return
	}
	if sec.Stretch.Denser >= 1.4 && sec.Kind == song.KindBuild {
		bars := min(sec.Bars, 8)
		sec.Moves = append(sec.Moves, Move{Heard: "strokes get denser", Name: "roll", Options: []Option{{"part", "snare or clap or tops 1 or beat if any"}, {"over", fmt.Sprintf("last %s of %s", Bars(bars), sec.Ref)}}})
	}
	quarter := max(sec.Bars/4, 1)
	from, to := l.bars[sec.Bar-1:sec.Bar-1+quarter], l.bars[sec.Bar-1+sec.Bars-quarter:sec.Bar-1+sec.Bars]
	if a, b := brightness(from), brightness(to); a > 0 && b >= 1.5*a {
		sec.Moves = append(sec.Moves, Move{Heard: "gets brighter", Name: "ride", Options: []Option{{"part", "music"}, {"controller", "cutoff"}, {"over", sec.Ref}, {"from", "35%"}, {"to", "home"}, {"curve", "exp"}}})
	}
}

func brightness(bars []sound.Bar) float64 {
	sum := 0.0
	for _, b := range bars {
		sum += b.Brightness / float64(len(bars))
	}
	return sum
}

// lineUp writes the jobs of each layer where it sounds; rests of a bar are left out.
func (l *listener) lineUp(i int) {
	sec := &l.Sections[i]
	for _, v := range l.layers {
		played := voice{lined: slices.Clone(v.plays)}
		for b := 1; b+1 < len(played.lined); b++ {
			played.lined[b] = played.lined[b] || v.plays[b-1] && v.plays[b+1]
		}
		runs := played.runs(*sec)
		if len(runs) > mostRuns {
			runs = []run{{runs[0].first, runs[len(runs)-1].last}}
		}
		for _, run := range runs {
			for _, job := range v.jobs {
				sec.Plays = append(sec.Plays, job+run.text(sec.Bars))
			}
		}
	}
	sec.LineUp = sec.Plays
}
