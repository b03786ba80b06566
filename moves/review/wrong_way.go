package review

import (
	"fmt"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// WrongWay finds rolls that lead into sections which let go.
type WrongWay struct {
	Beats int `yaml:"beats" range:"2..64" unit:"beats" doc:"a roll is one drum struck at least twice as often as usual for so many beats up to the line, denser or louder towards it"`
}

func wrongWayRule() Rule {
	return Rule{
		Name: "wrong-way", Group: Movement, Level: Warn, Sections: true,
		Brief:  "no roll leads into a break",
		Doc:    "A roll promises that something bigger comes. Into a break or an outro it raises what the section then takes away.",
		Source: "common practice, no source; the roll as a sign of a build-up: Solberg, Dancecult 6(1), 2014",
		New:    func() Check { return &WrongWay{Beats: 4} },
	}
}

func (r *WrongWay) find(s *subject) []Finding {
	var out []Finding
	for _, sec := range s.song.Sections {
		if sec.Kind != song.KindBreak && sec.Kind != song.KindOutro || sec.Bar <= s.first || sec.Bar > s.bars {
			continue
		}
		for _, i := range s.heard() {
			if !s.song.Parts[i].InGroup("drums") {
				continue
			}
			if beats := s.rolling(i, sec.Bar, r.Beats); beats >= r.Beats {
				out = append(out, r.finding(s, i, sec.Bar, beats))
			}
		}
	}
	return out
}

// longestGap is how many beats may rest between a roll and the line.
const longestGap = 2

// rolling returns for how many beats up to a line a part rolls: it is struck more than once a beat, at
// least twice as often as is usual for it there, and gets denser or louder.
func (s *subject) rolling(part, line, beats int) int {
	window := max(line-4-(beats+longestGap)/4, 1)
	var struck, levels []int // by beat, from the line back: onsets, and the mean of their velocities
	rests, often := 0, 0     // often: onsets that are usual in the beats so far
	for bar := line - 1; bar >= window; bar-- {
		for beat := s.time.MetreIn(bar).Num; beat >= 1; beat-- {
			over := s.beatRange(bar, beat)
			now, usual := s.song.In(s.song.Parts[part], over), len(s.usual(part, over))
			total := len(now)
			for _, n := range struck {
				total += n
			}
			switch {
			case len(now) >= 2 && total >= 2*(often+usual):
				often += usual
				sum := 0
				for _, n := range now {
					sum += int(n.Vel)
				}
				struck, levels = append(struck, len(now)), append(levels, sum/len(now))
			case len(struck) == 0 && len(now) == 0 && rests < longestGap:
				rests++
			default:
				return rising(struck, levels)
			}
		}
	}
	return rising(struck, levels)
}

// rising returns the length of a run of beats, counted from its end, whose last half is half as dense
// again as its first, or 6 dB louder (a velocity ratio of 1.4125); 0 for others.
func rising(struck, levels []int) int {
	half := len(struck) / 2
	if half == 0 {
		return 0
	}
	sum := func(of []int) (n int) {
		for _, x := range of {
			n += x
		}
		return n
	}
	denser := 2*sum(struck[:half]) >= 3*sum(struck[len(struck)-half:])
	louder := 10000*sum(levels[:half]) >= 14125*sum(levels[len(levels)-half:])
	if denser || louder {
		return len(struck)
	}
	return 0
}

// beatRange returns a beat of a bar.
func (s *subject) beatRange(bar, beat int) song.Range {
	return song.Range{Start: s.time.TickOf(smf.Position{Bar: bar, Beat: beat}), End: s.time.TickOf(smf.Position{Bar: bar, Beat: beat + 1})}
}

// asUsual returns the last bar before another one, of those the part sounds in, in which it plays as it
// usually does in that bar; 0 for none.
func (s *subject) asUsual(part, bar int) int {
	start := s.time.BarStart(bar)
	usual := s.usual(part, s.song.BarRange(bar, bar))
	for from := bar - 1; from >= 1 && len(usual) > 0; from-- {
		shift := start - s.time.BarStart(from)
		if slices.EqualFunc(usual, s.song.In(s.song.Parts[part], s.song.BarRange(from, from)), func(u, n song.Note) bool { return u.Start == n.Start+shift && u.Key == n.Key }) {
			return from
		}
	}
	return 0
}

func (r *WrongWay) finding(s *subject, part, line, beats int) Finding {
	bars := 1
	for sum := s.time.MetreIn(line - 1).Num; sum < beats && bars < line-1; bars++ {
		sum += s.time.MetreIn(line - 1 - bars).Num
	}
	first, name := line-bars, s.song.Parts[part].Name
	f := Finding{Level: Warn, First: first, Last: line - 1, Parts: []string{name}, Found: float64(beats), Limit: float64(r.Beats), Unit: "beats"}
	f.Text = fmt.Sprintf("%s rolls up to %s, which takes back what a roll promises: let something leave instead.", upper(name), s.lineName(line))
	f.tries = func() (out []Steps) {
		if from := s.asUsual(part, first); from > 0 {
			out = append(out, one("copy", "part", s.part(part), "over", barsText(from, from), "to", barsText(first, first), "length", count(bars, "bar")))
		}
		rest := func(over string) Steps { return one("mute", "part", s.part(part), "over", over) }
		// What plays nothing else in its section keeps the beginning of the roll.
		return append(out, rest(barsText(first, line-1)), rest(fmt.Sprintf("%d beats before bar %d", longestGap+1, line)))
	}
	return f
}
