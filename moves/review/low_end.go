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
		Doc:    "Two pitched parts that lie close together down low blur each other: the ear does not part them, and their sum swings in level. How low is too low depends on the interval: a third blurs where a fifth is still clear. Unisons and octaves double and are not meant. The kick is not counted. Two basses are layered on purpose: that is a note, and so is what the loop of a draft has low at once itself.",
		Source: "low interval limits as handbooks of arranging list them: sweetwater.com/insync/low-interval-limit (its C3 is key 60); key 48 is 130.8 Hz (equal temperament, A = 440); the number of bars: common practice, no source",
		New:    func() Check { return &LowEnd{Key: lowKey, Bars: 8} },
	}
}

// pair is two parts that are low at once, and where.
type pair struct{ a, b, bars, first, last int }

func (r *LowEnd) find(s *subject) []Finding {
	var crowds [][]pair // of parts that meet, each with one of the others
	for _, p := range r.pairs(s, s.song) {
		if p.bars <= r.Bars || 4*p.bars <= s.together(p) {
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

// together counts the bars in which both of two parts sound.
func (s *subject) together(p pair) int {
	n := 0
	for bar, sounds := range s.parts[p.a].sounds {
		if sounds && s.parts[p.b].sounds[bar] {
			n++
		}
	}
	return n
}

// mostLow is how many low parts are looked at at once; a part more than that is let go.
const mostLow = 16

// pairs returns the parts that are low at once, as they meet.
func (r *LowEnd) pairs(s *subject, in song.Song) []pair {
	type low struct {
		start, end song.Tick
		part, at   int32 // at: which of the part's notes it is
		key        uint8
	}
	var notes []low
	for i, p := range in.Parts {
		if p.Pitched() && p.Role != song.RoleTrigger {
			for k, n := range p.Notes {
				if int(n.Key) < r.Key+len(lowLimits) {
					notes = append(notes, low{n.Start, n.End, int32(i), int32(k), n.Key})
				}
			}
		}
	}
	if len(notes) == 0 || notes[0].part == notes[len(notes)-1].part {
		return nil
	}
	slices.SortFunc(notes, func(a, b low) int {
		return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.part, b.part), cmp.Compare(a.at, b.at))
	})
	grain := s.time.PPQ() / 2 // what meets for less than a 1/8 note passes
	var sounding []low        // of each part the last
	var out []pair
	index := map[[2]int]int{}
	for _, n := range notes {
		sounding = slices.DeleteFunc(sounding, func(m low) bool { return m.part == n.part || m.end <= n.start })
		for _, m := range sounding {
			if min(m.end, n.end)-n.start < grain || !r.blur(int(min(m.key, n.key)), int(max(m.key, n.key))) {
				continue
			}
			key, bar := [2]int{int(min(m.part, n.part)), int(max(m.part, n.part))}, s.barAt(n.start)
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

// lowLimits holds, by the semitones between two notes, the lowest key at which the lower of them is still clear: from a
// minor second to a major seventh. The source is that of the rule. Unisons and octaves are clear at any key.
var lowLimits = [12]int{0, 52, 51, 48, 47, 45, 35, 37, 41, 41, 41, 41}

// blur tells whether two keys blur each other.
func (r *LowEnd) blur(low, high int) bool {
	return low < r.Key && high-low < len(lowLimits) && low < lowLimits[high-low]
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
	f.Text = fmt.Sprintf("%s and %s are close together under key %d in %s: take %s an octave up, or out.", upper(strings.Join(f.Parts[:last], ", ")), f.Parts[last], r.Key,
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
