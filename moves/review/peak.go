package review

import (
	"fmt"
	"slices"
)

// PeakIsLate finds songs whose fullest stretch comes too early, or that have none.
type PeakIsLate struct {
	Phrase int `yaml:"phrase" range:"1..64" unit:"bars" doc:"length of a stretch"`
	From   int `yaml:"from" range:"0..100" unit:"percent of the song" doc:"the last of the fullest stretches ends at least so far in"`
	By     int `yaml:"by" range:"0..60" unit:"dB" doc:"a stretch so little under the fullest is as full; a song in which all but a quarter are has no peak"`
}

func peakRule() Rule {
	return Rule{
		Name: "peak", Group: Form, Level: Warn,
		Brief:  "there is a fullest stretch, and it comes late",
		Doc:    "The song is cut into phrases. If the fullest of them lie in its first part, it has said all it has before the middle; if all but a quarter of them are as full as the fullest, it has no peak. Songs of fewer than eight phrases are not looked at.",
		Source: "common practice, no source",
		New:    func() Check { return &PeakIsLate{Phrase: 8, From: 50, By: 1} },
	}
}

func (r *PeakIsLate) find(s *subject) []Finding {
	n := s.bars / r.Phrase
	if n < 8 {
		return nil
	}
	levels := make([]float64, n)
	for i := range levels {
		levels[i] = s.level(1+i*r.Phrase, (i+1)*r.Phrase)
	}
	fullest := slices.Max(levels)
	peak := 0 // the last phrase as full as the fullest
	for i, l := range levels {
		if l > fullest-float64(r.By) {
			peak = i
		}
	}
	sorted := slices.Sorted(slices.Values(levels))
	over := tenth(fullest - sorted[n/4])
	at := 100 * (peak + 1) * r.Phrase / s.bars
	loud := r.later(s, levels)
	switch {
	case over < float64(r.By):
		f := Finding{Level: Warn, First: 1, Last: s.bars, Found: over, Limit: float64(r.By), Unit: "dB"}
		f.Text = fmt.Sprintf("There is no peak: the fullest %s are only %.1f dB over all but the quietest quarter. Let everything play in one place only, late.", count(r.Phrase, "bar"), over)
		f.tries = apart(barsText(1, loud-1), barsText(loud, loud+r.Phrase-1), float64(r.By)-over)
		return []Finding{f}
	case at < r.From:
		first := 1 + peak*r.Phrase
		f := Finding{Level: Warn, First: first, Last: first + r.Phrase - 1, Found: float64(at), Limit: float64(r.From), Unit: "percent"}
		f.Text = fmt.Sprintf("The fullest stretch, %s, is over after %d %% of the song: keep something back for later.", barsText(f.First, f.Last), at)
		f.tries = apart(barsText(1, f.Last), barsText(loud, loud+r.Phrase-1), fullest-levels[(loud-1)/r.Phrase])
		return []Finding{f}
	}
	return nil
}

// later returns the first bar of the fullest phrase between two thirds and five sixths of the song.
func (r *PeakIsLate) later(s *subject, levels []float64) int {
	n := len(levels)
	best := 2 * n / 3
	for i := best; i < max(5*n/6, best+1); i++ {
		if levels[i] > levels[best] {
			best = i
		}
	}
	return 1 + best*r.Phrase
}
