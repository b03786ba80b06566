package review

import (
	"fmt"
	"math/bits"
	"slices"

	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// End holds the numbers of what is asked of an end of a song that is to be mixed.
type End struct {
	Bars  int          `yaml:"bars" range:"0..999" unit:"bars" doc:"of beats alone that are asked for"`
	Least int          `yaml:"least" range:"0..999" unit:"bars" doc:"fewer than so many are a warning, fewer than asked for a note"`
	Radio where.Extent `yaml:"radio" doc:"a song that is shorter is not for mixing, nor is one without a steady beat or with verses: what it lacks is a note"`
}

// MixIn finds beginnings that are hard to mix into.
type MixIn struct{ End }

const mixSource = "16 to 64 bars of beats without a pitched hook at either end, none in versions for radio up to 4 minutes: common practice, no source; that the lengths of transitions peak at every multiple of 8 bars: Kim et al., ISMIR 2020"

func mixInRule() Rule {
	return Rule{
		Name: "mix-in", Group: Mixing, Level: Warn,
		Brief:  "the beginning can be mixed into",
		Doc:    "A DJ lays the beginning over the end of another track: for some bars there should be beats, with a kick, and nothing pitched, which would clash in key.",
		Source: mixSource,
		New:    func() Check { return &MixIn{defaultEnd()} },
	}
}

func defaultEnd() End { return End{Bars: 16, Least: 8, Radio: where.Extent{Micros: 4 * 60_000_000}} }

func (r *MixIn) find(s *subject) []Finding {
	return r.End.findAt(s, s.first, min(s.first+r.Bars-1, s.bars), 1, "first", "mix into")
}

// findAt looks at one end of a song: bars first to last, counted from the edge in a direction.
func (r End) findAt(s *subject, first, last, step int, which, what string) []Finding {
	if r.Bars == 0 || s.bars < 2*r.Bars {
		return nil
	}
	level := Warn
	if !s.dances() || s.verses() || r.Radio.Micros > 0 && s.time.Micros(s.song.End) < r.Radio.Micros || s.bars < r.Radio.Bars {
		level = Note
	}
	edge := first
	if step < 0 {
		edge = last
	}
	alone, tonal := 0, []int(nil)
	for bar := edge; bar >= first && bar <= last; bar += step {
		if tonal = s.tonal(bar); tonal != nil {
			break
		}
		alone++
	}
	var out []Finding
	if alone < r.Bars {
		f := Finding{Level: level, First: first, Last: last, Found: float64(alone), Limit: float64(r.Bars), Unit: "bars"}
		if alone >= r.Least {
			f.Level = Note
		}
		names := inWords(s.names(tonal))
		f.Text = fmt.Sprintf("Only the %s %s are beats alone, %d would be easy to %s: %s in bar %d.", which, count(alone, "bar"), r.Bars, what, plural(len(tonal), names+" plays", names+" play"), edge+step*alone)
		if alone == 0 {
			f.Text = fmt.Sprintf("%s in the very %s bar: %s of beats alone would be easy to %s.", upper(plural(len(tonal), names+" plays", names+" play")), which, count(r.Bars, "bar"), what)
		}
		var all []int
		beats := false // something would be left
		for _, i := range s.heard() {
			switch plays := s.playing(i, first, last) > 0; {
			case plays && s.song.Parts[i].Pitched():
				all = append(all, i)
			case plays:
				beats = true
			}
		}
		if beats {
			f.tries = func() []Steps { return r.answers(s, all, first, last, step) }
		}
		if f.Level == Warn && s.loopRests(first, last, func(p song.Part) bool { return !p.Pitched() }) > 0 {
			f.ofLoop()
		}
		out = append(out, f)
	}
	if f, lacks := r.kick(s, first, last, which, what); lacks && (alone > 0 || r.Bars == 0) {
		f.Level = level
		isBeat := func(p song.Part) bool { return slices.Contains(f.Parts, p.Name) }
		if bars := last - first + 1; level == Warn && s.in.Full.Time() != nil && float64(bars-s.loopRests(first, last, isBeat)) < f.Limit {
			f.ofLoop()
		}
		out = append(out, f)
	}
	return out
}

// answers takes pitched parts out of the bars that must be without them, of half as many more, from where they do not
// ring into these, and of all that are asked for.
func (r End) answers(s *subject, parts []int, first, last, step int) (out []Steps) {
	for _, bars := range []int{r.Least, (r.Least + r.Bars) / 2, r.Bars} {
		from, to := first, min(first+bars-1, last)
		if step < 0 {
			from, to = max(last-bars+1, first), last
		}
		if from <= to {
			out = append(out, one("mute", "part", s.partList(parts), "over", barsText(from, to)))
		}
	}
	return out
}

// loopRests returns in how many bars of a stretch no part of a kind sounds in the loop of a draft, all parts playing; 0 of
// other songs.
func (s *subject) loopRests(first, last int, of func(song.Part) bool) int {
	if s.in.Full.Time() == nil {
		return 0
	}
	bars := make([]bool, s.bars)
	for i := range s.in.Full.Parts {
		if p := &s.in.Full.Parts[i]; of(*p) && p.Role != song.RoleTrigger {
			for b, sounds := range s.hear(p).sounds {
				bars[b] = bars[b] || sounds
			}
		}
	}
	n := 0
	for bar := first; bar <= last; bar++ {
		if !bars[bar-1] {
			n++
		}
	}
	return n
}

// tonal returns the pitched parts that sound in a bar.
func (s *subject) tonal(bar int) []int {
	var out []int
	for _, i := range s.heard() {
		if s.song.Parts[i].Pitched() && s.parts[i].sounds[bar-1] {
			out = append(out, i)
		}
	}
	return out
}

// beat returns the parts that hold the beat.
func (s *subject) beat() []int {
	return slices.DeleteFunc(s.heard(), func(i int) bool {
		return s.song.Parts[i].Job != song.JobBeat && s.song.Parts[i].Role != song.RoleKick
	})
}

// verses tells whether a song is marked as one with verses or choruses, which is sung and not mixed.
func (s *subject) verses() bool {
	return s.marked && slices.Contains(s.strict, false)
}

// dances tells whether a song has a beat that another can be laid over: where its kick plays, it strikes three beats of
// four or more, in half of its bars at least. Common practice, no source.
func (s *subject) dances() bool {
	beats := make([]uint16, s.bars) // of each bar, those with a kick
	for _, i := range s.beat() {
		for _, n := range s.song.Parts[i].Notes {
			at := s.time.Locate(s.song.Counted(n.Start))
			if at.Bar <= s.bars && at.Beat <= 16 && 8*at.Tick < s.time.BeatTicks(at.Bar) {
				beats[at.Bar-1] |= 1 << (at.Beat - 1)
			}
		}
	}
	plays, steady := 0, 0
	for b, struck := range beats {
		if struck == 0 {
			continue
		}
		plays++
		if 4*bits.OnesCount16(struck) >= 3*s.time.MetreIn(b+1).Num {
			steady++
		}
	}
	return plays > 0 && 2*steady >= plays
}

// kick tells whether an end lacks a kick in more than half of its bars. A song without any is not held to it.
func (r End) kick(s *subject, first, last int, which, what string) (Finding, bool) {
	bars, beat := 0, s.beat()
	kicks := make([]bool, s.bars) // by bar
	for _, i := range beat {
		for b, sounds := range s.parts[i].sounds {
			kicks[b] = kicks[b] || sounds
		}
	}
	for b := first; b <= last; b++ {
		if kicks[b-1] {
			bars++
		}
	}
	want := (last - first + 2) / 2
	if len(beat) == 0 || bars >= want {
		return Finding{}, false
	}
	f := Finding{First: first, Last: last, Parts: s.names(beat), Found: float64(bars), Limit: float64(want), Unit: "bars"}
	f.Text = fmt.Sprintf("The kick plays in %d of the %s %s: without it they are hard to %s.", bars, which, count(last-first+1, "bar"), what)
	run := 0
	for b, is := range kicks { // the first phrase it plays through
		if run++; !is {
			run = 0
		}
		if run == 8 {
			f.tries = func() []Steps {
				return []Steps{one("copy", "part", s.partList(beat), "over", barsText(b-6, b+1), "to", barsText(first, first), "length", count(last-first+1, "bar"))}
			}
			break
		}
	}
	return f, true
}
