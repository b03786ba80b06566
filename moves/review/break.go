package review

import (
	"fmt"
	"slices"

	"loopdraft/smf/song"
)

// BreakLetsGo finds breaks that keep the bass or are as full as their neighbours.
type BreakLetsGo struct {
	By   int `yaml:"by" range:"0..60" unit:"dB" doc:"a break is at least so much under the louder of the sections around it"`
	Most int `yaml:"most" range:"1..99" unit:"dB" doc:"and 8 bars of it at most so much under the drop after it"`
	Bass int `yaml:"bass" range:"0..100" unit:"percent of its bars" doc:"in which the bass may play, under key 48"`
}

func breakRule() Rule {
	return Rule{
		Name: "break", Group: Form, Level: Warn, Sections: true,
		Brief:  "each break lets go: without the bass, and quieter than its neighbours",
		Doc:    "In a break many layers are taken out, so that their return counts. It is held against the section before it and the first after it that is no break or build. Where little is left for 8 bars the floor is lost as well: those are held against the drop that follows. The bass counts under key 48 only (130.8 Hz): an octave up it is another voice. Nor does it where it is all the music there is. Of a section that a marker calls a bridge or an interlude it is a note that it keeps the bass or is as full; of one that is heard, not marked, that it is as full.",
		Source: "breakdown as many layers taken out: J. W. Smith, Twentieth-Century Music, 2025; bass and bass drum removed, then brought back: Solberg, Dancecult 6(1), 2014; the numbers: common practice, no source",
		New:    func() Check { return &BreakLetsGo{By: 3, Most: 18, Bass: 25} },
	}
}

func (r *BreakLetsGo) find(s *subject) []Finding {
	var out []Finding
	for _, i := range s.ofKind(song.KindBreak) {
		out = append(out, r.low(s, i)...)
		if f, full := r.asFull(s, i); full {
			out = append(out, f)
		}
		if f, empty := r.tooEmpty(s, i); empty {
			out = append(out, f)
		}
	}
	return out
}

// low finds the basses that play low for too long in a break.
func (r *BreakLetsGo) low(s *subject, i int) []Finding {
	sec := s.song.Sections[i]
	var out []Finding
	for p, part := range s.song.Parts {
		bars := 0
		if part.Job == song.JobBass && s.otherMusic(p) {
			bars = s.lowBars(p, sec.Bar, last(sec))
		}
		if 100*bars <= r.Bass*sec.Bars {
			continue
		}
		f := Finding{Level: Note, First: sec.Bar, Last: last(sec), Parts: []string{part.Name}, Found: float64(bars), Limit: tenth(float64(r.Bass*sec.Bars) / 100), Unit: "bars"}
		if s.strict[i] {
			f.Level = Warn
		}
		f.Text = fmt.Sprintf("%s plays low in %d of the %d bars of %s: without the bass its return is an event.", upper(part.Name), bars, sec.Bars, s.lineName(sec.Bar))
		f.tries = func() []Steps {
			return []Steps{one("transpose", "part", s.part(p), "over", barsText(sec.Bar, last(sec)), "octaves", "1")}
		}
		out = append(out, f)
	}
	return out
}

// otherMusic tells whether a pitched part of another job sounds in the song.
func (s *subject) otherMusic(part int) bool {
	return slices.ContainsFunc(s.heard(), func(i int) bool {
		return s.song.Parts[i].Pitched() && s.song.Parts[i].Job != s.song.Parts[part].Job
	})
}

// asFull tells whether a break is as full as its neighbours.
func (r *BreakLetsGo) asFull(s *subject, i int) (Finding, bool) {
	sec := s.song.Sections[i]
	loud := -1
	for _, n := range []int{i - 1, s.afterBuilds(i)} {
		if n < 0 || s.song.Sections[n].Bars < 1 || s.song.Sections[n].Kind == song.KindBreak {
			continue
		}
		if loud < 0 || s.sectionLevel(n) > s.sectionLevel(loud) {
			loud = n
		}
	}
	if loud < 0 {
		return Finding{}, false
	}
	under := tenth(s.sectionLevel(loud) - s.sectionLevel(i))
	f := Finding{Level: s.contrast(i), First: sec.Bar, Last: last(sec), Found: under, Limit: float64(r.By), Unit: "dB"}
	f.Text = fmt.Sprintf("%s is as full as what is around it, %.1f dB under it: take drums and bass out.", upper(s.lineName(sec.Bar)), under)
	n := s.song.Sections[loud]
	f.tries = apart(barsText(sec.Bar, last(sec)), barsText(n.Bar, last(n)), float64(r.By)-under)
	return f, under < float64(r.By)
}

// emptyBars is how long a stretch of a break is that may be too empty. Common practice, no source.
const emptyBars = 8

// tooEmpty finds the emptiest stretch of a break, if it lies too far under the drop after it.
func (r *BreakLetsGo) tooEmpty(s *subject, i int) (Finding, bool) {
	sec, next := s.song.Sections[i], s.afterBuilds(i)
	if next < 0 || s.song.Sections[next].Kind != song.KindDrop || s.song.Sections[next].Bars < 1 {
		return Finding{}, false
	}
	loud := s.sectionLevel(next)
	f := Finding{Level: Warn, Limit: float64(r.Most), Unit: "dB"}
	for bar := max(sec.Bar, s.first); bar+emptyBars-1 <= last(sec); bar++ {
		if under := tenth(loud - s.level(bar, bar+emptyBars-1)); under > f.Found {
			f.Found, f.First, f.Last = under, bar, bar+emptyBars-1
		}
	}
	f.Text = fmt.Sprintf("%s is nearly empty in %s, %.1f dB under %s: leave a pad, a lead or some tops in.", upper(s.lineName(sec.Bar)), barsText(f.First, f.Last), f.Found, s.lineName(s.song.Sections[next].Bar))
	return f, f.Found > float64(r.Most)
}

func (s *subject) sectionLevel(i int) float64 {
	return s.level(s.song.Sections[i].Bar, last(s.song.Sections[i]))
}

// afterBuilds returns the first section after one that is no break or build, or -1.
func (s *subject) afterBuilds(i int) int {
	for n := i + 1; n < len(s.song.Sections); n++ {
		if k := s.song.Sections[n].Kind; k != song.KindBreak && k != song.KindBuild {
			return n
		}
	}
	return -1
}

// lowKey is the lowest key that is not low: 48 is 130.8 Hz at equal temperament with A = 440.
const lowKey = 48

// lowBars counts the bars first to last in which a part strikes a low key.
func (s *subject) lowBars(part, first, last int) int {
	n, before := 0, 0
	for _, note := range s.song.In(s.song.Parts[part], s.song.BarRange(first, last)) {
		if bar := s.barAt(note.Start); note.Key < lowKey && bar > before {
			n, before = n+1, bar
		}
	}
	return n
}
