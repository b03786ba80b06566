package review

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/song"
)

// StandsStill finds stretches in which nothing changes.
type StandsStill struct {
	Phrase int `yaml:"phrase" range:"1..64" unit:"bars" doc:"something is due to change this often"`
	Warn   int `yaml:"warn" range:"1..999" unit:"bars" doc:"a longer stretch without a change is a warning, a shorter one a note"`
}

func standsStillRule() Rule {
	return Rule{
		Name: "stands-still", Group: Movement, Level: Warn,
		Brief:  "something changes at every phrase",
		Doc:    "At each line of a phrase, counted in each section, the phrase after it is compared with the phrase before. What changes has to be heard: the whole or a band of it (under 150 Hz, to 2.5 kHz, above) moves by 1 dB, or a mapped controller moves; or, where nothing but a file is known, a pitched part plays music that it has not played since the last change: less than half of its notes stand in any one phrase before. Where in a stretch longer than a phrase no line is changed, listeners have heard all there is.",
		Source: "the rate of one change in 8 bars, 16 in hypnotic styles: common practice, no source; what is a change: listen.LineRule",
		New:    func() Check { return &StandsStill{Phrase: 8, Warn: 16} },
	}
}

func (r *StandsStill) find(s *subject) []Finding {
	var out []Finding
	from := s.first
	var still []int // lines since from
	stop := func(bar int) {
		if len(still) > 0 {
			out = append(out, r.finding(s, from, bar-1, still))
		}
		from, still = bar, nil
	}
	for _, bar := range s.lines(r.Phrase) {
		switch {
		case bar <= s.first:
		case len(s.changes(r.Phrase, bar)) > 0 || s.in.Full.Time() == nil && s.newMusic(r.Phrase, from, bar):
			stop(bar)
		default:
			still = append(still, bar)
		}
	}
	stop(s.bars + 1)
	return out
}

func (r *StandsStill) finding(s *subject, first, last int, lines []int) Finding {
	n := last - first + 1
	f := Finding{Level: Note, First: first, Last: last, Found: float64(n), Limit: float64(r.Phrase), Unit: "bars"}
	if n > r.Warn {
		f.Level = Warn
	}
	f.Text = fmt.Sprintf("Nothing changes for %s: let a part in or out, or play one of them differently, at %s %s.", count(n, "bar"), plural(len(lines), "bar", "bars"), listOf(lines))
	f.tries = func() []Steps { return r.answers(s, first, last, lines) }
	return f
}

// answers lets the loop change something at each line, else plays one part at half in every other phrase.
func (r *StandsStill) answers(s *subject, first, last int, lines []int) []Steps {
	out := []Steps{one("freshen", "every", count(r.Phrase, "bar"), "over", barsText(lines[0], last), "seed", "1")}
	var spans []string // every other phrase, so that each line is one
	for i := 0; i < len(lines); i += 2 {
		end := last
		if i+1 < len(lines) {
			end = lines[i+1] - 1
		}
		spans = append(spans, barsText(lines[i], end))
	}
	over := strings.Join(spans, "; ")
	for _, i := range s.heard() {
		if s.playing(i, first, last) > 0 {
			out = append(out, one("thin", "part", s.part(i), "over", over, "keep", "50%", "seed", "1"))
		}
	}
	return out
}

// Numbers of what is new music; common practice, no source.
const (
	newNotes   = 8 // a phrase of fewer notes of a part is not looked at
	heardLines = 8 // so many phrases before it are
)

// newMusic tells whether in the phrase from a bar on a pitched part plays what it has not played in any phrase before it,
// back to the bar from.
func (s *subject) newMusic(phrase, from, bar int) bool {
	end := bar + phrase - 1
	if end > s.bars {
		return false
	}
	return slices.ContainsFunc(s.heard(), func(i int) bool {
		p := s.song.Parts[i]
		if !p.Pitched() {
			return false
		}
		now, n := s.places(p, bar, end)
		if n < newNotes {
			return false
		}
		for before := bar - phrase; before >= from && before >= bar-heardLines*phrase; before -= phrase {
			was, m := s.places(p, before, before+phrase-1)
			again := 0
			for at, k := range now {
				again += min(k, was[at])
			}
			if m < newNotes || 2*again >= n {
				return false
			}
		}
		return true
	})
}

// place is where in a phrase a key is struck.
type place struct {
	step song.Tick // in sixteenths of a whole note from its start
	key  uint8
}

// places counts what a part strikes in bars first to last, and how much it is together.
func (s *subject) places(p song.Part, first, last int) (map[place]int, int) {
	over := s.song.BarRange(first, last)
	notes := s.song.In(p, over)
	out := make(map[place]int, len(notes))
	step := s.time.PPQ() / 4
	for _, n := range notes {
		out[place{(n.Start - over.Start + step/2) / max(step, 1), n.Key}]++
	}
	return out, len(notes)
}

// listOf writes numbers in a sentence, of many the first ones.
func listOf(numbers []int) string {
	const most = 4
	var words []string
	for _, n := range numbers[:min(len(numbers), most)] {
		words = append(words, strconv.Itoa(n))
	}
	if len(numbers) > most {
		return strings.Join(words, ", ") + " and so on"
	}
	return inWords(words)
}
