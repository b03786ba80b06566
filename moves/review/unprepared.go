package review

import (
	"fmt"
	"maps"
	"math"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Unprepared finds changes of section that nothing leads into.
type Unprepared struct {
	Parts int `yaml:"parts" range:"1..99" unit:"parts" doc:"a change is big where so many parts come in or go out"`
	DB    int `yaml:"db" range:"1..60" unit:"dB" doc:"or the level moves so far; a big one unprepared is a warning, a small one a note"`
	Least int `yaml:"least" range:"0..60" unit:"dB" doc:"where few parts of many come or go, a change is big only if the level moves at least so far"`
}

func unpreparedRule() Rule {
	return Rule{
		Name: "unprepared", Group: Movement, Level: Warn, Sections: true,
		Brief:  "changes of section are prepared",
		Doc:    "In the last 4 bars before a section, 8 before a drop, a part should depart from what it plays, up to the line: a fill, a roll, a rest. Dancers and DJs hear the change coming. Before an ending of less than a phrase there is none to be heard: that is a note. Of a draft, what a part plays is its line-up; of other songs it is what it plays most often from one line at which it changes to the next, and drums that turn round in the bar before the line lead in too, though they do so in many phrases.",
		Source: "common practice, no source; that build-ups lead into drops by rolls, rising sounds and the bass and bass drum taken out: Solberg, Dancecult 6(1), 2014",
		New:    func() Check { return &Unprepared{Parts: 2, DB: 3, Least: 1} },
	}
}

func (r *Unprepared) find(s *subject) []Finding {
	var out []Finding
	for i, sec := range s.song.Sections {
		bar := sec.Bar
		if bar <= s.first || bar > s.bars {
			continue
		}
		changes := s.changes(preparedPhrase, bar)
		if len(changes) == 0 || s.prepared(bar) || s.in.Lined.Time() == nil && s.drumsTurn(bar) {
			continue
		}
		f := r.finding(s, sec, changes)
		if i == len(s.song.Sections)-1 && sec.Bars < preparedPhrase {
			f.Level = Note // the song ends
		}
		out = append(out, f)
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
	case moved >= r.Parts && (math.Abs(rise) >= float64(r.Least) || 3*moved >= len(s.heard())):
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

// turnOnsets is how many onsets of the drums make a turn in a bar's second half, come or gone. Common practice, no source.
const turnOnsets = 2

// drumsTurn tells whether the second half of the bar before a line is, in the drums, unlike that of each bar before it,
// up to a phrase.
func (s *subject) drumsTurn(bar int) bool {
	turn := s.secondHalf(bar - 1)
	first := max(bar-preparedPhrase, s.first)
	for b := bar - 2; b >= first; b-- {
		was := s.secondHalf(b)
		differ := 0
		for at := range turn {
			if !was[at] {
				differ++
			}
		}
		for at := range was {
			if !turn[at] {
				differ++
			}
		}
		if differ < turnOnsets {
			return false
		}
	}
	return first <= bar-2 && !s.everyPhrase(bar, turn)
}

// nearPhrases is how many phrases on either side of a line are asked whether they turn too.
const nearPhrases = 16

// everyPhrase tells whether three phrases of four near a line turn as the one before it does: so does a loop that is copied, and
// nobody hears a change coming.
func (s *subject) everyPhrase(bar int, turn map[stroke]bool) bool {
	same, all := 0, 0
	turns := map[int]bool{} // the parts that play in it
	for at := range turn {
		turns[at.part] = true
	}
	const near = nearPhrases * preparedPhrase
	for b := max((bar-1-s.first)%preparedPhrase+s.first, bar-1-near); b <= min(s.bars, bar-1+near); b += preparedPhrase {
		half := s.secondHalf(b)
		maps.DeleteFunc(half, func(at stroke, _ bool) bool { return !turns[at.part] })
		if len(half) == 0 {
			continue
		}
		if all++; maps.Equal(half, turn) {
			same++
		}
	}
	return 4*same >= 3*all
}

// stroke is a drum struck at a place in its bar.
type stroke struct {
	part int
	step song.Tick // in sixteenths of a whole note
	key  uint8
}

// secondHalf returns what the drums strike in the second half of a bar.
func (s *subject) secondHalf(bar int) map[stroke]bool {
	start, end, step := s.time.BarStart(bar), s.time.BarStart(bar+1), max(s.time.PPQ()/4, 1)
	half := song.Range{Start: start + (end-start)/2, End: end}
	out := map[stroke]bool{}
	for _, i := range s.heard() {
		p := s.song.Parts[i]
		if !p.Kit {
			continue
		}
		for _, n := range s.song.In(p, half) {
			out[stroke{i, (n.Start - start + step/2) / step, n.Key}] = true
		}
	}
	return out
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
