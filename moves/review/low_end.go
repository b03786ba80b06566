package review

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf/song"
)

// LowEnd finds parts that crowd each other in the low end.
type LowEnd struct {
	Key  int `yaml:"key" range:"0..127" unit:"(key)" doc:"under it is the low end"`
	Bars int `yaml:"bars" range:"0..999" unit:"bars" doc:"in which two parts may be there at once"`
}

func lowEndRule() Rule {
	return Rule{
		Name: "low-end", Group: Mixing, Level: Warn,
		Brief:  "one part at a time has the low end",
		Doc:    "Two pitched parts with low notes of different names at once blur each other: the ear does not part them, and their sum swings in level. One that doubles the other in unison or octaves is not meant. The kick is not counted. Two basses are layered on purpose: that is a note, and so is what the loop of a draft has low at once itself.",
		Source: "key 48 is 130.8 Hz (equal temperament, A = 440); the rest is common practice, no source",
		New:    func() Check { return &LowEnd{Key: lowKey, Bars: 8} },
	}
}

// pair is two parts that are low at once, and where.
type pair struct{ a, b, bars, first, last int }

func (r *LowEnd) find(s *subject) []Finding {
	var crowds [][]pair // of parts that meet, each with one of the others
	for _, p := range r.pairs(s, s.song) {
		if p.bars <= r.Bars {
			continue
		}
		crowd := []pair{p}
		crowds = slices.DeleteFunc(crowds, func(c []pair) bool {
			meets := slices.ContainsFunc(c, func(q pair) bool { return q.a == p.a || q.a == p.b || q.b == p.a || q.b == p.b })
			if meets {
				crowd = append(c, crowd...)
			}
			return meets
		})
		crowds = append(crowds, crowd)
	}
	var out []Finding
	var loop []pair // of a draft: the parts that its loop has low at once
	if len(crowds) > 0 && s.in.Full.Time() != nil {
		loop = r.pairs(s, s.in.Full)
	}
	for _, c := range crowds {
		f := r.finding(s, c)
		if !slices.ContainsFunc(c, func(p pair) bool {
			return !slices.ContainsFunc(loop, func(q pair) bool { return p.a == q.a && p.b == q.b })
		}) {
			f.ofLoop()
		}
		out = append(out, f)
	}
	return out
}

// mostLow is how many low parts are looked at at once; a part more than that is let go.
const mostLow = 16

// pairs returns the parts that are low at once, as they meet.
func (r *LowEnd) pairs(s *subject, in song.Song) []pair {
	type low struct {
		song.Note
		part int
	}
	var notes []low
	for i, p := range in.Parts {
		if p.Pitched() && p.Role != song.RoleTrigger {
			for _, n := range p.Notes {
				if int(n.Key) < r.Key {
					notes = append(notes, low{n, i})
				}
			}
		}
	}
	slices.SortStableFunc(notes, func(a, b low) int { return cmp.Compare(a.Start, b.Start) })
	grain := s.time.PPQ() / 8 // what meets for less than a 1/32 note is not heard to
	var sounding []low        // of each part the last
	var out []pair
	index := map[[2]int]int{}
	for _, n := range notes {
		sounding = slices.DeleteFunc(sounding, func(m low) bool { return m.part == n.part || m.End <= n.Start })
		for _, m := range sounding {
			if min(m.End, n.End)-n.Start < grain || (n.Key+120-m.Key)%12 == 0 {
				continue
			}
			key, bar := [2]int{min(m.part, n.part), max(m.part, n.part)}, s.barAt(n.Start)
			at, known := index[key]
			if !known {
				at = len(out)
				index[key], out = at, append(out, pair{a: key[0], b: key[1], first: bar})
			}
			if p := &out[at]; p.last < bar {
				p.bars, p.last = p.bars+1, bar
			}
		}
		sounding = append(sounding[max(len(sounding)-mostLow+1, 0):], n)
	}
	return out
}

func (r *LowEnd) finding(s *subject, crowd []pair) Finding {
	f := Finding{Level: Warn, First: crowd[0].first, Limit: float64(r.Bars), Unit: "bars"}
	var parts, ups []int // ups: all but the bass, else but the one that lies lowest
	for _, p := range crowd {
		f.First, f.Last, f.Found = min(f.First, p.first), max(f.Last, p.last), max(f.Found, float64(p.bars))
		parts, ups = append(parts, p.a, p.b), append(ups, r.up(s, p))
	}
	for _, list := range []*[]int{&parts, &ups} {
		slices.Sort(*list)
		*list = slices.Compact(*list)
	}
	f.Parts = s.names(parts)
	last := len(f.Parts) - 1
	f.Text = fmt.Sprintf("%s and %s are under key %d at once in %s: take %s an octave up, or out.", upper(strings.Join(f.Parts[:last], ", ")), f.Parts[last], r.Key,
		count(int(f.Found), "bar"), plural(last, "one of them", "all but one of them"))
	if !slices.ContainsFunc(parts, func(p int) bool { return s.song.Parts[p].Job != song.JobBass }) {
		f.Level = Note
		f.Text = fmt.Sprintf("%s and %s are layered under key %d in %s, on other notes: hear that they do not blur each other.", upper(strings.Join(f.Parts[:last], ", ")), f.Parts[last], r.Key, count(int(f.Found), "bar"))
		return f
	}
	f.tries = func() []Steps {
		var steps Steps
		for _, up := range ups {
			steps = append(steps, one("transpose", "part", s.part(up), "over", barsText(f.First, f.Last), "octaves", "1")...)
		}
		return []Steps{steps}
	}
	return f
}

// up returns which of two parts goes up: the one that is not the bass, else the one that lies higher.
func (r *LowEnd) up(s *subject, p pair) int {
	if s.song.Parts[p.a].Job == song.JobBass && (s.song.Parts[p.b].Job != song.JobBass || lowest(s.song.Parts[p.b]) >= lowest(s.song.Parts[p.a])) {
		return p.b
	}
	return p.a
}

func lowest(p song.Part) uint8 {
	key := uint8(127)
	for _, n := range p.Notes {
		key = min(key, n.Key)
	}
	return key
}
