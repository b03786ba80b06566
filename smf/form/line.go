package form

import "loopdraft/smf/song"

// PartLine is what a part does at a line.
type PartLine struct {
	Level int    // the greater mean velocity of the two phrases, in hundredths; 0: it plays in neither
	What  string // what changes, as in [LineChange], if it is heard; "" for nothing
}

// Curves are the courses of the controllers of a part that are known to be mapped.
type Curves struct{ of []curve }

// CurvesOf returns the curves of part i of a song; full is the loop, as for [LineRule.Changes].
func CurvesOf(in, full song.Song, i int) Curves {
	p := in.Parts[i]
	return Curves{curvesOf(in, full, p, sourceOf(full, p, i))}
}

// PartAt returns what part i of a song does at the line where a bar starts, when it plays the notes of p. It
// takes time linear in the notes of the two phrases. [Line] adds what all parts do.
func (r LineRule) PartAt(in song.Song, loop *Strikes, i int, p song.Part, c Curves, bar int) PartLine {
	bars := min(r.Phrase, bar-1, in.Bars()-bar+1)
	if bars < 1 {
		return PartLine{}
	}
	before, after := in.BarRange(bar-bars, bar-1), in.BarRange(bar, bar+bars-1)
	loop.room = loop.room[:0]
	a, b := r.side(in, loop, i, p, before, &loop.room), r.side(in, loop, i, p, after, &loop.room)
	out := PartLine{Level: max(a.level, b.level), What: r.compare(&a, &b, bars, in.Time().PPQ()/16)}
	if out.What == "" && r.controllerMoves(c.of, before, after) {
		out.What = "controller"
	}
	return out
}

// Line is what the parts of a song do at a line. Asked what would change if one part did something else, it does
// not look at the others again.
type Line struct {
	rule                    LineRule
	parts                   []PartLine
	all, notes, controllers louder // all parts; those in whose notes something changes, and in whose controllers alone
}

// louder is the loudest of several parts, and the loudest but for it.
type louder struct {
	part         int
	level, other int
}

func (l *louder) add(part, level int) {
	switch {
	case level > l.level:
		l.part, l.level, l.other = part, level, l.level
	case level > l.other:
		l.other = level
	}
}

// without returns the level of the loudest part other than one.
func (l louder) without(part int) int {
	if l.part == part {
		return l.other
	}
	return l.level
}

// NewLine returns a line at which the parts do what they are said to.
func NewLine(rule LineRule, parts []PartLine) *Line {
	l := &Line{rule: rule, parts: parts}
	l.count()
	return l
}

func (l *Line) count() {
	none := louder{part: -1, level: -1, other: -1}
	l.all, l.notes, l.controllers = none, none, none
	for i, p := range l.parts {
		l.all.add(i, p.Level)
		switch p.What {
		case "":
		case "controller":
			l.controllers.add(i, p.Level)
		default:
			l.notes.add(i, p.Level)
		}
	}
}

// Set notes that a part does something else.
func (l *Line) Set(part int, p PartLine) {
	l.parts[part] = p
	l.count()
}

// Changes tells whether anything changes in the notes of the parts, if it is heard, and whether in their controllers.
func (l *Line) Changes() (notes, controllers bool) { return l.With(-1, PartLine{}) }

// With tells what [Line.Changes] would if a part did something else.
func (l *Line) With(part int, p PartLine) (notes, controllers bool) {
	loudest, byNotes, byControllers := l.all.without(part), l.notes.without(part), l.controllers.without(part)
	if part >= 0 {
		loudest = max(loudest, p.Level)
		switch p.What {
		case "":
		case "controller":
			byControllers = max(byControllers, p.Level)
		default:
			byNotes = max(byNotes, p.Level)
		}
	}
	heard := func(level int) bool { return level >= 0 && level*10000 >= loudest*l.rule.Quiet }
	return heard(byNotes), heard(byControllers)
}
