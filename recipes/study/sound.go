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

// boundaries returns the lines at which a stretch of its own begins: those that weigh at least a quarter of what
// the heaviest does. A line weighs half its novelty, 0.6 of the steps of the levels, 0.1 each for the beat and
// the bass that come in or go out, 0.1 if one of them rests just before, 0.1 for a crash; a fifth less where it is
// not 16 bars from line to line. The figures were tried on drafts.
func (l *listener) boundaries(h *sound.Heard) []int {
	n := len(l.bars)
	strength := novelty.Of(n, max(l.Phrase/2, 1), h.Alike)
	weights := map[int]float64{}
	heaviest := 0.0
	var lines []int
	first := l.firstLine()
	for bar := first; bar+1 <= n; bar += l.Phrase {
		if bar < 2 {
			continue
		}
		w := strength[bar-1]/2 + .6*l.steps(bar)
		beat, bass := l.across(bar)
		for _, d := range []float64{beat, bass} {
			if d = math.Abs(d); d >= .5 {
				w += .1 * d
			}
		}
		if l.rests(bar - 1) {
			w += .1
		}
		if l.crash(bar) {
			w += .1
		}
		if (bar-first)%16 != 0 {
			w *= .8
		}
		weights[bar] = w
		heaviest = max(heaviest, w)
		lines = append(lines, bar)
	}
	var out []int
	for _, bar := range lines {
		if 4*weights[bar] >= max(heaviest, .2) {
			out = append(out, bar)
		}
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

// firstLine returns the bar, 1 to a phrase, from which lines are counted: the one at whose lines most comes in
// and goes out, bar 1 unless another is clearly better.
func (l *listener) firstLine() int {
	best, most := 1, 0.0
	for first := 1; first <= l.Phrase; first++ {
		sum := 0.0
		for bar := first; bar <= len(l.bars); bar += l.Phrase {
			if bar > 1 {
				beat, bass := l.across(bar)
				sum += beat*beat + bass*bass
			}
		}
		if first == 1 || 4*sum > 5*most && sum > most+1 {
			best, most = first, sum
		}
	}
	return best
}

// across returns by which share of the bars the beat and the bass sound more in the phrase after a line than in
// the one before.
func (l *listener) across(bar int) (beat, bass float64) {
	before := form.StretchOf(l.signs[max(bar-1-l.Phrase, 0) : bar-1])
	after := form.StretchOf(l.signs[bar-1 : min(bar-1+l.Phrase, len(l.signs))])
	return after.Beat - before.Beat, after.Bass - before.Bass
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
	if sec.Kind != song.Build && sec.Kind != song.Break || i+1 == len(l.Sections) {
		return
	}
	if sec.Stretch.Denser >= 1.4 && sec.Kind == song.Build {
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
}
