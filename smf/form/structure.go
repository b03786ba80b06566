package form

import (
	"math"

	"loopdraft/smf/novelty"
	"loopdraft/smf/song"
)

// Structure is what changes in a song, where, and how much.
type Structure struct {
	Phrase     int            // bars from line to line
	Bars       []Bar          // all bars of the song, a short last one included
	Boundaries []int          // lines, as bars from 1, at which a stretch of its own begins; rising, never the song's first line
	Sections   []song.Section // those of the song, else those its markers tell; never guessed
	Energy     Energy         // of all bars
	Usual      song.Song      // as each part usually plays: what departs from it is told by it
}

// Bar is one bar of a song, and what happens at its start.
type Bar struct {
	Parts     []int        // indices of the song's parts that sound in it, rising
	Strength  float64      // of the change at its start, 0..1, in steps of 0.0001: Foote's novelty
	Line      bool         // a phrase starts with it
	Changes   []LineChange // at a line: what changes there
	Preparing []int        // at a line: the parts that prepare it, rising
}

// StructureOf hears the structure of any song. Lines are as many bars apart as a phrase has, from 1; 0
// takes 8, or 4 where most lines midway begin or end something that comes again. They are counted from
// the start of each section, in a song without sections from the first bar in which anything sounds.
//
// What changes at a line is told by [DefaultLineRule], a phrase being compared with the one before alone,
// since there is no loop to measure them against. What prepares it is told by [DefaultPrepareRule],
// against what each part usually plays: from one line at which it changes to the next, the most frequent
// bars of its pattern.
//
// A boundary is a line that weighs at least 0.36 of what the song's heaviest does, and 0.09. Its weight is
// its strength, 0.3 of the share of the sounding parts that change, 0.3 for each part of the beat or the
// bass that comes in or goes out (in club music the drummed beat withheld and returned is the main sign
// of form: Butler, Unlocking the Groove, 2006, from memory), 0.2 if a part prepares it, and 0.2 if
// a stretch that comes again begins or ends there. The figures were tried on drafts and on tunes whose
// parts are known. Where too few bars are left for more than an accent there is none. Markers say where
// lines are counted from, not which is a boundary.
//
// It takes time linear in the events and in parts times bars. Its errors are those of [EnergyOf].
func StructureOf(s song.Song, phrase int) (Structure, error) {
	e, err := EnergyOf(s)
	if err != nil {
		return Structure{}, err
	}
	out := Structure{Bars: make([]Bar, len(e.Bars)), Sections: s.Sections, Energy: e}
	if len(out.Sections) == 0 {
		out.Sections = s.MarkedSections()
	}
	out.setParts(s)
	h := structuring{s.WithSections(out.Sections), out.features(s), repeats(s), lastStruck(s)}
	if phrase < 1 {
		phrase = h.phrase(&out)
	}
	h.hear(&out, min(phrase, len(out.Bars)))
	return out, nil
}

// phrase returns 8, or 4 where stretches that come again begin or end at two thirds of the lines that lie
// midway, two at least.
func (h structuring) phrase(out *Structure) int {
	out.Phrase = 4
	repeated, midway := 0, 0
	for i, bar := range out.lines() {
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
	song     song.Song
	features features
	repeats  []bool // bars, from 0, at which a stretch that comes again begins or ends
	last     int    // bar in which the last note is struck, 0 for none
}

func lastStruck(s song.Song) int {
	last := 0
	for _, p := range s.Parts {
		if n := len(p.Notes); n > 0 {
			last = max(last, s.Time().BarOf(s.Counted(p.Notes[n-1].Start)))
		}
	}
	return last
}

// hear sets what hangs on the phrase.
func (h structuring) hear(out *Structure, phrase int) {
	out.Phrase = phrase
	lines := out.lines()
	for b, strength := range novelty.Of(len(out.Bars), min(max(phrase/2, 1), widest), h.features.alike) {
		out.Bars[b].Strength = strength
	}
	bare, rule := h.song, DefaultLineRule(phrase)
	bare.Parts = nil
	out.Usual = usually(h.song, phrase, lines, rule.played(h.song, bare, lines))
	changes := rule.ChangesAt(h.song, bare, out.Energy, lines)
	for i, bar := range lines {
		b := &out.Bars[bar-1]
		b.Line, b.Changes = true, changes[i]
		b.Preparing = DefaultPrepareRule().Preparing(h.song, out.Usual, phrase, bar)
	}
	h.setBoundaries(out, lines)
}

// lines returns the bars at which phrases start.
func (out *Structure) lines() []int {
	sections := out.Sections
	if len(sections) == 0 {
		first := out.first()
		sections = []song.Section{{Bar: first, Bars: len(out.Bars) - first + 1}}
	}
	var lines []int
	for _, sec := range sections {
		for bar := sec.Bar; bar < sec.Bar+sec.Bars && bar <= len(out.Bars); bar += out.Phrase {
			lines = append(lines, bar)
		}
	}
	return lines
}

// setBoundaries weighs the lines, in ten-thousandths.
func (h structuring) setBoundaries(out *Structure, lines []int) {
	least := DefaultLineRule(out.Phrase).LeastBars
	weights := make([]int, len(lines))
	heaviest := 0
	for i, bar := range lines {
		if i > 0 && bar+least-1 <= h.last {
			weights[i] = h.weight(out, bar)
			heaviest = max(heaviest, weights[i])
		}
	}
	out.Boundaries = nil
	for i, bar := range lines {
		if 100*weights[i] >= 36*max(heaviest, 2500) {
			out.Boundaries = append(out.Boundaries, bar)
		}
	}
}

func (h structuring) weight(out *Structure, bar int) int {
	b := out.Bars[bar-1]
	weight := int(math.Round(1e4 * b.Strength))
	sounding := map[int]bool{}
	for _, around := range out.Bars[max(bar-1-out.Phrase, 0):min(bar-1+out.Phrase, len(out.Bars))] {
		for _, p := range around.Parts {
			sounding[p] = true
		}
	}
	weight += 3000 * len(b.Changes) / max(len(sounding), 1)
	if len(b.Preparing) > 0 {
		weight += 2000
	}
	if h.repeats[bar-1] {
		weight += 2000
	}
	for _, c := range b.Changes {
		if job := h.song.Parts[c.Part].Job; c.What == "in or out" && (job == song.Beat || job == song.Bass) {
			weight += 3000
		}
	}
	return weight
}
