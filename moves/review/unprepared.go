package review

import (
	"fmt"
	"math"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Unprepared finds changes of section that nothing leads into.
type Unprepared struct {
	Parts int `yaml:"parts" range:"1..99" unit:"parts" doc:"a change is big where so many parts come in or go out"`
	DB    int `yaml:"db" range:"1..60" unit:"dB" doc:"or the level moves so far; a big one unprepared is a warning, a small one a note"`
}

func unpreparedRule() Rule {
	return Rule{
		Name: "unprepared", Group: Movement, Level: Warn, Sections: true,
		Brief:  "changes of section are prepared",
		Doc:    "In the last 4 bars before a section, 8 before a drop, a part should depart from what it plays, up to the line: a fill, a roll, a rest. Dancers and DJs hear the change coming. Of a draft, what a part plays is its line-up; of other songs it is what it plays most often from one line at which it changes to the next.",
		Source: "common practice, no source; that build-ups lead into drops by rolls, rising sounds and the bass and bass drum taken out: Solberg, Dancecult 6(1), 2014",
		New:    func() Check { return &Unprepared{Parts: 2, DB: 3} },
	}
}

func (r *Unprepared) find(s *subject) []Finding {
	var out []Finding
	for _, sec := range s.song.Sections {
		bar := sec.Bar
		if bar <= s.first || bar > s.bars {
			continue
		}
		changes := s.changes(preparedPhrase, bar)
		if len(changes) == 0 || len(s.preparing(bar)) > 0 {
			continue
		}
		out = append(out, r.finding(s, sec, changes))
	}
	return out
}

func (r *Unprepared) finding(s *subject, sec song.Section, changes []form.LineChange) Finding {
	bar, moved := sec.Bar, 0
	for _, c := range changes {
		if c.What == "in or out" {
			moved++
		}
	}
	rise := tenth(s.level(bar, min(bar+3, s.bars)) - s.level(max(bar-4, 1), bar-1))
	f := Finding{Level: Note, First: bar, Last: bar, Found: float64(moved), Limit: float64(r.Parts), Unit: "parts"}
	switch louder := math.Abs(rise) >= float64(r.DB); {
	case moved >= r.Parts:
		f.Level = Warn
	case louder: // then that is what makes it big
		f.Level, f.Found, f.Limit, f.Unit = Warn, math.Abs(rise), float64(r.DB), "dB"
	}
	what := fmt.Sprintf("the level moves by %.1f dB", rise)
	if moved > 0 {
		what = plural(moved, "1 part comes in or out", fmt.Sprintf("%d parts come in or out", moved)) + " and " + what
	}
	f.Text = fmt.Sprintf("Nothing leads into %s, where %s: %s.", s.lineName(bar), what, leads(sec.Kind))
	f.tries = func() []Steps { return leadIns(sec.Kind, bar, s) }
	return f
}

// leads says in words what leads into a kind of section. Common practice, no source.
func leads(kind song.Kind) string {
	switch kind {
	case song.KindDrop:
		return "a roll and a rest before it would"
	case song.KindBreak:
		return "the kick out in the bar before would"
	case song.KindBuild:
		return "a swell in the bar before would"
	}
	return "a short fill, or the kick out or doubled before it, would"
}

// leadIns returns what leads into a kind of section, the better ones first; what a loop has no part for
// is left out by the trial. Common practice, no source.
func leadIns(kind song.Kind, bar int, s *subject) []Steps {
	before := func(length string) string { return fmt.Sprintf("%s before bar %d", length, bar) }
	const drum = "snare or clap or tom or tops 1 or beat if any"
	roll := func(length string) Steps {
		return one("roll", "part", drum, "over", before(length), "to", "1/32", "gap", "auto")
	}
	out := func(part, length string) Steps { return one("mute", "part", part, "over", before(length)) }
	swell := one("swell", "part", "tops 1 or hook or backbeat or beat or bass if any", "over", before("1 bar"))
	var tries []Steps
	switch kind {
	case song.KindDrop:
		tries = []Steps{roll("8 bars"), roll("4 bars"), roll("2 bars"), out("bass", "1 bar")}
	case song.KindBreak:
		tries = []Steps{out("beat", "1 bar")}
	case song.KindBuild:
		tries = []Steps{swell}
	}
	tries = append(tries,
		out("beat", "1/2"), one("fill", "part", "drums", "over", before("1/2"), "seed", "1"),
		one("double", "part", "beat", "over", before("1/2")), out("bass", "1 bar"), swell)
	heard := s.heard()
	for _, i := range heard[:min(len(heard), mostTries)] {
		tries = append(tries, out(s.part(i), "1 bar"))
	}
	return tries
}

// lineName names the line where a bar starts.
func (s *subject) lineName(bar int) string {
	if name := s.sectionName(bar); name != "" {
		return fmt.Sprintf("%s at bar %d", name, bar)
	}
	return fmt.Sprintf("bar %d", bar)
}
