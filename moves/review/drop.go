package review

import (
	"fmt"
	"math"
	"slices"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// DropIsFuller finds drops that are no fuller than what comes before them.
type DropIsFuller struct {
	By   int `yaml:"by" range:"0..60" unit:"dB" doc:"a drop is at least so much over the section before it"`
	Bars int `yaml:"bars" range:"1..64" unit:"bars" doc:"of the drop, and before it, that are compared"`
	Rest int `yaml:"rest" range:"1..64" unit:"bars" doc:"for which the beat or the bass may not be gone in a row"`
}

func dropRule() Rule {
	return Rule{
		Name: "drop", Group: Form, Level: Warn, Sections: true,
		Brief:  "each drop is fuller than what comes before it, keeps beat and bass, and is not the end",
		Doc:    "The first bars of a drop are held against the last bars before it. A drop that is not fuller than what led into it is heard as no drop. Over its whole length the beat and the bass play on: that is looked at where they play in half of the bars of a drop or a groove, this one or one before it. A song does not stop in a drop: something comes after it. Of a section that a marker calls a chorus or a refrain, and of one that is heard, not marked, it is a note that it is no fuller.",
		Source: "common practice, no source; that the contrast of a breakdown makes the climax stronger: J. W. Smith, Twentieth-Century Music, 2025",
		New:    func() Check { return &DropIsFuller{By: 1, Bars: 8, Rest: 8} },
	}
}

func (r *DropIsFuller) find(s *subject) []Finding {
	var out []Finding
	for _, job := range []song.Job{song.JobBeat, song.JobBass} {
		out = append(out, r.losses(s, job)...)
	}
	if f, ends := r.ends(s); ends {
		out = append(out, f)
	}
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
		f := Finding{Level: s.contrast(i), First: sec.Bar, Last: last(sec), Found: rise, Limit: float64(r.By), Unit: "dB"}
		f.Text = fmt.Sprintf("%s is no drop: it is %s before it. Take more out before it, or let more come in with it.", upper(s.lineName(sec.Bar)), over(rise, "what comes"))
		f.tries = apart(barsText(first, sec.Bar-1), barsText(sec.Bar, last(sec)), float64(r.By)-rise)
		out = append(out, f)
	}
	return out
}

// endedBars is the length from which on a song is asked for an end; what is shorter is a sketch. Common practice, no source.
const endedBars = 40

// ends tells whether the song ends in a drop.
func (r *DropIsFuller) ends(s *subject) (Finding, bool) {
	i := len(s.song.Sections) - 1
	sec := s.song.Sections[i]
	if sec.Kind != song.KindDrop || i == 0 || sec.Bars < r.Rest || s.bars < endedBars {
		return Finding{}, false
	}
	first := max(sec.Bar, last(sec)-r.Bars+1)
	f := Finding{Level: s.contrast(i), First: first, Last: last(sec), About: "end", Found: 0, Limit: float64(r.Rest), Unit: "bars"}
	f.Text = fmt.Sprintf("The song stops in %s, with nothing after it: take parts out before the end.", s.lineName(sec.Bar))
	return f, true
}

// full tells whether a section is one in which everything may play, and has a bar.
func (s *subject) full(sec song.Section) bool {
	return sec.Bars > 0 && min(last(sec), s.bars) >= sec.Bar && (sec.Kind == song.KindDrop || sec.Kind == song.KindGroove)
}

// losses finds drops in which a job rests too long that drops or grooves have.
func (r *DropIsFuller) losses(s *subject, job song.Job) []Finding {
	heard := s.heard()
	plays := make([]int, s.bars+1) // in how many bars up to each
	for bar := 1; bar <= s.bars; bar++ {
		plays[bar] = plays[bar-1]
		if slices.ContainsFunc(heard, func(i int) bool { return s.song.Parts[i].Job == job && s.parts[i].sounds[bar-1] }) {
			plays[bar]++
		}
	}
	var out []Finding
	var has []int // the sections that have it
	for i, sec := range s.song.Sections {
		if end := min(last(sec), s.bars); s.full(sec) && 2*(plays[end]-plays[sec.Bar-1]) >= sec.Bars {
			has = append(has, i)
		}
	}
	for i, sec := range s.song.Sections {
		end := min(last(sec), s.bars)
		if len(has) == 0 || !s.full(sec) || sec.Kind != song.KindDrop {
			continue
		}
		run, longest, until := 0, 0, 0
		for bar := sec.Bar; bar <= end; bar++ {
			run++
			if plays[bar] > plays[bar-1] {
				run = 0
			}
			if run > longest {
				longest, until = run, bar
			}
		}
		if longest < r.Rest {
			continue
		}
		f := Finding{Level: Warn, First: until - longest + 1, Last: until, About: string(job), Found: float64(longest), Limit: float64(r.Rest), Unit: "bars"}
		where := "the rest of it"
		if !slices.Contains(has, i) {
			before, _ := slices.BinarySearch(has, i) // the one before it, else the first after it
			where = s.lineName(s.song.Sections[has[max(before-1, 0)]].Bar)
		}
		f.Text = fmt.Sprintf("%s is without the %s for %s from bar %d, which %s has: bring it back.", upper(s.lineName(sec.Bar)), job, count(longest, "bar"), f.First, where)
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

// apart returns what moves two spans apart in level by so many dB at the least, the smaller changes first.
func apart(quiet, loud string, by float64) func() []Steps {
	return func() []Steps { return contrasts(quiet, loud, int(math.Ceil(10*by))+1) }
}

func contrasts(quiet, loud string, tenths int) []Steps {
	level := func(over string, percent int) Steps {
		to := fmt.Sprintf("%d%%", percent)
		return one("shape", "part", "all", "over", over, "from", to, "to", to)
	}
	softer, louder := velocity(-tenths), velocity(tenths)
	return []Steps{
		level(quiet, softer), level(loud, louder), append(level(quiet, softer), level(loud, louder)...),
		one("emphasise", "quiet", quiet, "loud", loud, "by", "20%", "seed", "1"),
		level(quiet, 80), level(quiet, 70), level(quiet, 50), level(quiet, 35),
	}
}

// velocity returns the share of its velocity, in percent, at which what plays is so many tenths of a dB stronger or
// weaker at the least: power goes with the fourth power of velocity (gain (v/127)^2, DLS Level 1, RP-016). It goes from 20
// to 200.
func velocity(tenths int) int {
	power := func(percent int) form.Power {
		p := form.Held / 16
		for range 4 {
			p = p / 100 * form.Power(percent)
		}
		return p
	}
	percent, want := 100, (form.Held / 16).Times(tenths)
	for tenths > 0 && percent < 200 && power(percent) < want {
		percent++
	}
	for tenths < 0 && percent > 20 && power(percent) > want {
		percent--
	}
	return percent
}
