package review

import (
	"fmt"
	"math"
	"slices"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// BuildRises finds build-ups that do not rise.
type BuildRises struct {
	By int `yaml:"by" range:"0..60" unit:"dB" doc:"the end of a build-up is at least so much over its start; what is less is a note; no rise at all is a warning, and so is one that is its first 4 bars again, unless a part climbs"`
}

func buildRule() Rule {
	return Rule{
		Name: "build", Group: Form, Level: Warn, Sections: true,
		Brief:  "each build-up rises",
		Doc:    "The fullest bar of the last quarter of a build-up, for there may be a rest before the drop, is held against its first quarter. What does not rise builds nothing up. Where a part climbs by 7 semitones it builds up all the same, and what is said of its level is a note.",
		Source: "rolls, uplifters and large changes of frequency as what a build-up is made of: Solberg, Dancecult 6(1), 2014; the number: common practice, no source",
		New:    func() Check { return &BuildRises{By: 1} },
	}
}

func (r *BuildRises) find(s *subject) []Finding {
	var out []Finding
	for _, i := range s.ofKind(song.KindBuild) {
		sec := s.song.Sections[i]
		quarter := (sec.Bars + 3) / 4
		if sec.Bars < 2 {
			continue
		}
		end := s.level(last(sec), last(sec))
		for bar := last(sec) - quarter + 1; bar < last(sec); bar++ {
			end = max(end, s.level(bar, bar))
		}
		rise := tenth(end - s.level(sec.Bar, sec.Bar+quarter-1))
		repeats := s.repeats(sec.Bar, last(sec))
		if repeats { // then a bar is held against the same bar
			rise = tenth(s.level(last(sec)-repeatedBars+1, last(sec)) - s.level(sec.Bar, sec.Bar+repeatedBars-1))
		}
		if rise >= float64(r.By) {
			continue
		}
		limit := float64(r.By) // that takes something of it away
		f := Finding{Level: Note, First: sec.Bar, Last: last(sec), Found: rise, Limit: float64(r.By), Unit: "dB"}
		switch {
		case repeats:
			f.Level = s.contrast(i)
		case rise <= 0 && !s.climbs(sec.Bar, last(sec), quarter):
			f.Level, limit = s.contrast(i), 0
		}
		f.Text = fmt.Sprintf("%s does not rise: its end is %s.", upper(s.lineName(sec.Bar)), over(rise, "its start"))
		f.tries = func() (out []Steps) {
			start := func(limit float64) int { return velocity(-int(math.Ceil(13*(limit-rise))) - 2) } // a third more: the first quarter has begun to rise
			for _, from := range slices.Compact([]int{start(float64(r.By)), start(limit), 70, 50, 35, 20}) {
				out = append(out, one("shape", "part", "all", "over", barsText(sec.Bar, last(sec)), "from", fmt.Sprintf("%d%%", from), "to", "100%"))
			}
			return out
		}
		out = append(out, f)
	}
	return out
}

// repeatedBars is the stretch that a build-up should not be made of. Common practice, no source.
const repeatedBars = 4

// repeats tells whether a stretch of more than four bars is its first four bars over and over, but for one bar of a part
// in twenty.
func (s *subject) repeats(first, last int) bool {
	same, all := 0, 0
	for _, i := range s.heard() {
		content := s.parts[i].content
		for bar := first + repeatedBars; bar <= min(last, s.bars); bar++ {
			now, was := content[bar-1], content[bar-1-repeatedBars]
			if now == 0 && was == 0 {
				continue
			}
			if all++; now == was {
				same++
			}
		}
	}
	return all > 0 && 20*same >= 19*all
}

// climbs tells whether a pitched part lies higher in the last quarter of a stretch than in the first, by what
// [form.LineRule] takes for another register.
func (s *subject) climbs(first, last, quarter int) bool {
	for _, i := range s.heard() {
		p := s.song.Parts[i]
		before, n := meanKey(s.song.In(p, s.song.BarRange(first, first+quarter-1)))
		after, m := meanKey(s.song.In(p, s.song.BarRange(last-quarter+1, last)))
		if p.Pitched() && n > 0 && m > 0 && after-before >= 100*form.DefaultLineRule(preparedPhrase).Register {
			return true
		}
	}
	return false
}

// meanKey returns a hundred times the mean key of notes, and how many there are.
func meanKey(notes []song.Note) (mean, n int) {
	for _, note := range notes {
		mean += 100 * int(note.Key)
	}
	return mean / max(len(notes), 1), len(notes)
}
