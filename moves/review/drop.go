package review

import (
	"fmt"

	"loopdraft/smf/song"
)

// DropIsFuller finds drops that are no fuller than what comes before them.
type DropIsFuller struct {
	By   int `yaml:"by" range:"0..60" unit:"dB" doc:"a drop is at least so much over the section before it"`
	Bars int `yaml:"bars" range:"1..64" unit:"bars" doc:"of the drop, and before it, that are compared"`
}

func dropRule() Rule {
	return Rule{
		Name: "drop", Group: Form, Level: Warn, Sections: true,
		Brief:  "each drop is fuller than what comes before it",
		Doc:    "The first bars of a drop are held against the last bars before it. A drop that is not fuller than what led into it is heard as no drop.",
		Source: "common practice, no source; that the contrast of a breakdown makes the climax stronger: J. W. Smith, Twentieth-Century Music, 2025",
		New:    func() Check { return &DropIsFuller{By: 1, Bars: 8} },
	}
}

func (r *DropIsFuller) find(s *subject) []Finding {
	var out []Finding
	for _, i := range s.ofKind(song.KindDrop) {
		sec := s.song.Sections[i]
		if i == 0 || s.song.Sections[i-1].Kind == song.KindDrop {
			continue
		}
		before := s.song.Sections[i-1]
		first, end := max(before.Bar, sec.Bar-r.Bars), min(last(sec), sec.Bar+r.Bars-1)
		rise := tenth(s.level(sec.Bar, end) - s.level(first, sec.Bar-1))
		if rise >= float64(r.By) {
			continue
		}
		f := Finding{Level: Warn, First: sec.Bar, Last: last(sec), Found: rise, Limit: float64(r.By), Unit: "dB"}
		f.Text = fmt.Sprintf("%s is no drop: it is %s before it. Take more out before it, or let more come in with it.", upper(s.lineName(sec.Bar)), over(rise, "what comes"))
		f.tries = apart(barsText(first, sec.Bar-1), barsText(sec.Bar, last(sec)))
		out = append(out, f)
	}
	return out
}

// over says by how much something is over something else.
func over(db float64, what string) string {
	switch {
	case db > 0:
		return fmt.Sprintf("only %.1f dB over %s", db, what)
	case db == 0:
		return "as full as " + what
	}
	return fmt.Sprintf("%.1f dB under %s", -db, what)
}

// apart returns what moves two spans apart in level, the smaller changes first.
func apart(quiet, loud string) func() []Steps {
	return func() []Steps { return contrasts(quiet, loud) }
}

func contrasts(quiet, loud string) []Steps {
	var out []Steps
	for _, by := range []string{"20%", "40%", "60%", "80%", "100%"} {
		out = append(out, one("emphasise", "quiet", quiet, "loud", loud, "by", by, "seed", "1"))
	}
	for _, to := range []string{"70%", "50%", "35%"} {
		out = append(out, one("shape", "part", "all", "over", quiet, "from", to, "to", to))
	}
	return out
}
