package form

import (
	"slices"

	"loopdraft/smf/novelty"
	"loopdraft/smf/song"
)

// StructureOf hears the structure of any song.
//
// A boundary is where a section of its own begins; it may be any bar. Every bar has a weight, in which these count:
//
//   - 1: how new what follows is, over half a phrase on either side: its strength
//   - 0.3: the share of the parts that come in or go out there, over as many bars
//   - 0.4: the beat or the bass comes in or goes out there, over as many bars
//   - 1.7: how far the loudness of the song is another, over a phrase on either side
//   - 0.2: a stretch that comes again begins or ends there
//
// The boundaries are what [novelty.Choice] cuts, which counts phrases anew from each of them. That is done twice:
// first for all that may be one, which weighs 0.15 of the heaviest, since lines are counted from there and
// what prepares a line is known only then; the second time only lines are choices, 0.2 is added where a part
// prepares one, and it must weigh 0.3 of the heaviest. The figures were tried on songs whose makers marked their
// sections, on drafts and on tunes whose parts are known.
//
// Lines are as many bars apart as a phrase has, from 1. With 0 a phrase is 8 bars, or 4 where most lines midway
// begin or end something that comes again. In a song with sections they are counted from the start of each, and
// the boundaries are among them: markers say where lines are counted from, not which is a boundary. In a song
// without sections they are counted from the first bar in which anything sounds and from each boundary found.
//
// What changes at a line is told by [DefaultLineRule], a phrase being compared with the one before alone,
// since there is no loop to measure them against. What prepares it is told by [DefaultPrepareRule],
// against what each part usually plays: from one line at which it changes to the next, the most frequent
// bars of its pattern.
//
// It takes time linear in the events and in parts times bars. Its errors are those of [EnergyOf].
func StructureOf(s song.Song, phrase int) (Structure, error) {
	e, err := EnergyOf(s)
	if err != nil {
		return Structure{}, err
	}
	return StructureBy(s, e, phrase), nil
}

// StructureBy hears the structure of a song whose energy is known, as [StructureOf] does.
func StructureBy(s song.Song, e Energy, phrase int) Structure {
	out := Structure{Bars: make([]Bar, len(e.Bars)), Sections: s.Sections, Energy: e}
	if len(out.Sections) == 0 {
		out.Sections = s.MarkedSections()
	}
	out.setParts(s)
	h := structuring{song: s.WithSections(out.Sections), repeats: repeats(s), last: lastStruck(s)}
	if phrase < 1 {
		phrase = h.phrase(&out)
	}
	h.hear(&out, min(phrase, len(out.Bars)))
	return out
}

// phrase returns 8, or 4 where stretches that come again begin or end at two thirds of the lines that lie
// midway, two at least.
func (h structuring) phrase(out *Structure) int {
	out.Phrase = 4
	repeated, midway := 0, 0
	for i, bar := range out.lines(nil) {
		if i%2 == 1 && bar <= h.last {
			midway++
			if h.repeats[bar-1] {
				repeated++
			}
		}
	}
	if repeated > 1 && 3*repeated >= 2*midway {
		return 4
	}
	return 8
}

// setParts finds the parts of which a note starts or is held in a bar for a 1/64 note or more, and that
// have a level there: what is turned down to nothing does not sound.
func (out *Structure) setParts(s song.Song) {
	tl := s.Time()
	for i, p := range s.Parts {
		next := 1 // bar that is not looked at yet
		for _, n := range p.Notes {
			first := tl.BarOf(s.Counted(n.Start))
			last := min(max(first, tl.BarOf(max(n.End-max(tl.PPQ()/16, 1), n.Start))), len(out.Bars))
			for bar := max(first, next); bar <= last; bar++ {
				if !out.Energy.Parts[i][bar-1].Sum().Silent() {
					out.Bars[bar-1].Parts = append(out.Bars[bar-1].Parts, i)
				}
			}
			next = max(next, last+1)
		}
	}
}

// widest is how many bars on either side of a line its strength is measured over at most; else half a phrase.
const widest = 16

// structuring is a song whose structure is being heard.
type structuring struct {
	song    song.Song
	repeats []bool // bars, from 0, at which a stretch that comes again begins or ends
	last    int    // bar in which the last note is struck, 0 for none
}

// lastStruck returns the bar of the last note; one just before the end of the song, which would count to the bar
// after, is in the last bar.
func lastStruck(s song.Song) int {
	last := 0
	for _, p := range s.Parts {
		if n := len(p.Notes); n > 0 {
			last = max(last, s.Time().BarOf(s.Counted(p.Notes[n-1].Start)))
		}
	}
	return min(last, s.Bars())
}

// hear sets what hangs on the phrase.
func (h structuring) hear(out *Structure, phrase int) {
	out.Phrase = phrase
	weights := h.weights(out)
	var found []int
	if len(out.Sections) == 0 {
		found = h.cut(out, weights, mayBe)
	}
	lines := out.lines(found)
	bare, rule := h.song, DefaultLineRule(phrase)
	bare.Parts = nil
	changes := rule.played(h.song, NewStrikes(bare), lines)
	out.Usual = usually(h.song, phrase, lines, changes)
	changes = rule.heardOf(changes, out.Energy, lines)
	atLines := make([]int, len(weights))
	for i, bar := range lines {
		b := &out.Bars[bar-1]
		b.Line, b.Changes = true, changes[i]
		b.Preparing = DefaultPrepareRule().Preparing(h.song, out.Usual, phrase, bar)
		atLines[bar-1] = weights[bar-1]
		if len(b.Preparing) > 0 {
			atLines[bar-1] += prepared
		}
	}
	out.Boundaries = h.cut(out, atLines, surely)
}

// lines returns the bars at which phrases start.
func (out *Structure) lines(found []int) []int {
	sections := out.Sections
	if len(sections) == 0 {
		sections = between(out.first(), found, len(out.Bars))
	}
	var lines []int
	for _, sec := range sections {
		for bar := sec.Bar; bar < sec.Bar+sec.Bars && bar <= len(out.Bars); bar += out.Phrase {
			if bar >= out.first() || len(out.Sections) > 0 {
				lines = append(lines, bar)
			}
		}
	}
	return lines
}

// What weighs at the start of a bar, in ten-thousandths, beside what is new: see [StructureOf]. floor is what
// the heaviest bar of a song weighs at the least; mayBe and surely are hundredths of the heaviest.
const (
	partsMove  = 3000
	coreMoves  = 4000
	levelMoves = 17000
	comesAgain = 2000
	prepared   = 2000
	floor      = 3300
	mayBe      = 15
	surely     = 30
)

// weights returns what each bar weighs as a boundary, and sets its strength. What is silent before the first
// sound is no part of the song.
func (h structuring) weights(out *Structure) []int {
	before := out.first() - 1
	n := len(out.Bars) - before
	half := min(max(out.Phrase/2, 1), widest)
	f := out.features(h.song)
	row := novelty.Of(n, half, func(a, b int) int { return f.alike(before+a, before+b) })
	for b, strength := range row {
		out.Bars[before+b].Strength = float64(strength) / novelty.One
	}
	moved := make([]int, n)
	core := map[song.Job][]int{song.JobBeat: make([]int, n), song.JobBass: make([]int, n)} // where any part of the job plays
	for i, p := range h.song.Parts {
		plays := make([]int, n)
		for b, bar := range out.Bars[before:] {
			if _, sounds := slices.BinarySearch(bar.Parts, i); sounds {
				plays[b] = novelty.One
				if job := core[p.Job]; job != nil {
					job[b] = novelty.One
				}
			}
		}
		for b, step := range novelty.Step(plays, half) {
			moved[b] += step
		}
	}
	louder := novelty.Step(out.loudness()[before:], out.Phrase)
	beat, bass := novelty.Step(core[song.JobBeat], half), novelty.Step(core[song.JobBass], half)
	for b := range row {
		row[b] += coreMoves * max(beat[b], bass[b]) / novelty.One
		row[b] += partsMove*moved[b]/max(len(h.song.Parts), 1)/novelty.One + levelMoves*louder[b]/novelty.One
		if h.repeats[before+b] {
			row[b] += comesAgain
		}
	}
	return append(make([]int, before), row...)
}

// cut returns the bars at which the song is best cut. None of them lies before the song sounds, or where less than
// an accent or half a phrase is left.
func (h structuring) cut(out *Structure, weights []int, least int) []int {
	first := out.first()
	if h.last <= first {
		return nil
	}
	c := novelty.Choice{Phrase: out.Phrase, Least: least, Floor: floor}
	var bars []int
	for _, at := range c.Cut(weights[first-1 : h.last]) {
		bars = append(bars, first+at)
	}
	return bars
}
