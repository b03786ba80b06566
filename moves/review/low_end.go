package review

import (
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
	for _, p := range r.pairs(s, s.song, s.low) {
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
		loop = r.pairs(s, s.in.Full, s.loopLow)
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

// pairs returns the parts that are low at once in a song, as they meet. What it finds is kept in known.
func (r *LowEnd) pairs(s *subject, in song.Song, known map[int][]pair) []pair {
	out, is := known[r.Key]
	if !is {
		out = r.findPairs(s, in)
		known[r.Key] = out
	}
	return out
}

// mayBeLow tells whether the notes of a part count where they are low.
func mayBeLow(p *song.Part) bool { return p.Pitched() && p.Role != song.RoleTrigger }

func (r *LowEnd) findPairs(s *subject, in song.Song) []pair {
	var next lowNotes
	for i := range in.Parts {
		if p := &in.Parts[i]; mayBeLow(p) {
			next = next.and(lowPart{i, r.fromLow(p.Notes)})
		}
	}
	if len(next) < 2 {
		return nil
	}
	type low struct {
		song.Note
		part int
	}
	grain := s.time.PPQ() / 2 // what meets for less than a 1/8 note passes
	var sounding []low        // of each part the last
	var out []pair
	index := map[[2]int]int{}
	for len(next) > 0 {
		n := low{next[0].notes[0], next[0].part}
		next = next.without(r)
		sounding = slices.DeleteFunc(sounding, func(m low) bool { return m.part == n.part || m.End <= n.Start })
		for _, m := range sounding {
			if min(m.End, n.End)-n.Start < grain || !r.blur(int(min(m.Key, n.Key)), int(max(m.Key, n.Key))) {
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

// lowPart is what is left of a part, from a low note on.
type lowPart struct {
	part  int
	notes []song.Note
}

// fromLow leaves notes out up to the first that is low.
func (r *LowEnd) fromLow(notes []song.Note) []song.Note {
	for len(notes) > 0 && int(notes[0].Key) >= r.Key+len(lowLimits) {
		notes = notes[1:]
	}
	return notes
}

// lowNotes are parts with their low notes, as a heap: the first one's is the next of all, of those at one tick that of the first
// part.
type lowNotes []lowPart

func (h lowNotes) less(i, j int) bool {
	a, b := h[i].notes[0].Start, h[j].notes[0].Start
	return a < b || a == b && h[i].part < h[j].part
}

// and adds a part that has low notes.
func (h lowNotes) and(p lowPart) lowNotes {
	if len(p.notes) == 0 {
		return h
	}
	h = append(h, p)
	for i := len(h) - 1; i > 0 && h.less(i, (i-1)/2); i = (i - 1) / 2 {
		h[i], h[(i-1)/2] = h[(i-1)/2], h[i]
	}
	return h
}

// without leaves the next note out.
func (h lowNotes) without(r *LowEnd) lowNotes {
	if h[0].notes = r.fromLow(h[0].notes[1:]); len(h[0].notes) == 0 {
		h[0] = h[len(h)-1]
		h = h[:len(h)-1]
	}
	for i := 0; ; {
		least := i
		for _, child := range [2]int{2*i + 1, 2*i + 2} {
			if child < len(h) && h.less(child, least) {
				least = child
			}
		}
		if least == i {
			return h
		}
		h[i], h[least] = h[least], h[i]
		i = least
	}
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
