package picture

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// The height of the row in which the energy asked for stands beside the energy reached, and of a line of figures.
const (
	levelHeight = 48 * pixel
	figureLine  = 15 * pixel
)

// ofFullLabel names the row of shares of full.
const ofFullLabel = "of full"

// level is the energy of a section.
type level struct {
	sec   song.Section
	name  string
	text  string // what is asked for, as the recipe has it; "" for nothing
	mean  int    // what the section reached, in tenths of a percent of full
	units []levelUnit
}

// levelUnit is a stretch of a section, in tenths of a percent of full.
type levelUnit struct {
	first, last int // its bars
	reached     int
	low, high   int // what is asked for
	ranged      bool
}

// levels returns the energies of the sections that begin inside the song. asked tells whether anything is asked for.
func (c *chart) levels() (out []level, asked bool) {
	e := c.Structure.Energy
	share := func(first, last int) int { return min(e.Mean(first, last).Sum().Share(c.Full), mostShare) }
	names := song.SectionNames(c.inside)
	for i, sec := range c.inside {
		last := min(sec.Bar+sec.Bars-1, c.layout.Bars)
		l := level{sec: sec, name: names[i], mean: share(sec.Bar, last)}
		of, ok := form.AskedOf(c.Asked, sec)
		l.text = of.Text
		for _, u := range of.Units {
			first, last := max(u.First, sec.Bar), min(u.Last, last)
			if first > last {
				continue // no bars of the section
			}
			unit := levelUnit{first: first, last: last, reached: share(first, last), ranged: u.High > 0}
			if unit.ranged {
				unit.low, unit.high = min(u.Low.Share(c.Full), mostShare), min(u.High.Share(c.Full), mostShare)
			}
			l.units = append(l.units, unit)
		}
		if len(l.units) == 0 {
			l.units = []levelUnit{{first: sec.Bar, last: last, reached: l.mean}}
		}
		out, asked = append(out, l), asked || ok
	}
	return out, asked
}

// ofFull tells how loud the sections are: what is asked for as a band, what is reached as a line, and both in figures.
// Where nothing is asked for, the figures alone.
func (c *chart) ofFull() {
	levels, asked := c.levels()
	if len(levels) == 0 {
		return
	}
	c.y += groupGap
	top, ends, reached := c.y, axisOf(levels), "% "+ofFullLabel
	if asked {
		c.y += levelHeight
		c.beside(c.add(""), strong, plain, c.y, ofFullLabel)
		c.levelScale(ends, c.y)
		c.y += figureLine
		c.beside(c.add(""), soft, small, c.y, "asked %")
		reached = "reached %"
	}
	c.y += figureLine
	c.beside(c.add(""), soft, small, c.y, reached)
	for _, l := range levels {
		g := c.add(l.said(), l.attrs()...)
		if asked {
			c.bandAndLine(g, l, ends, top+levelHeight)
		}
		if !c.levelFigures(g, l) {
			c.unsaid = append(c.unsaid, l.said())
		}
	}
}

// axis are the shares at the lower and upper end of the row, in tenths of a percent.
type axis struct{ low, high int }

// y is where a share stands over a base line.
func (a axis) y(share int, base px) px {
	return base - px(int64(levelHeight)*int64(share-a.low)/int64(a.high-a.low))
}

// axisOf returns the tens of percent between which all shares lie.
func axisOf(levels []level) axis {
	const ten = 100
	a := axis{low: math.MaxInt}
	for _, l := range levels {
		for _, u := range l.units {
			a.low, a.high = min(a.low, u.reached), max(a.high, u.reached)
			if u.ranged {
				a.low, a.high = min(a.low, u.low), max(a.high, u.high)
			}
		}
	}
	a.low, a.high = a.low/ten*ten, (a.high+ten-1)/ten*ten
	a.high = max(a.high, a.low+ten)
	return a
}

// levelScale draws 100 %, or, where all is softer, the upper end of the row, and, where there is room, the lower end.
func (c *chart) levelScale(a axis, base px) {
	g := c.add("")
	shares := []int{min(a.high, max(wholeShare, a.low))}
	if a.y(a.low, 0)-a.y(shares[0], 0) >= lineHeight {
		shares = append(shares, a.low)
	}
	for _, share := range shares {
		y := a.y(share, base)
		g.marks = append(g.marks, mark{ink: hair, width: pixel, path: stroke(nil, point{c.left, y}, point{c.right, y})})
		c.label(g, soft, small, point{c.right + gap, y + 4*pixel}, percent(share)+"%", false)
	}
}

// attrs are the figures of a section for programs that read the picture.
func (l level) attrs() []attr {
	out := []attr{{"of-full", percent(l.mean) + "%"}}
	if l.text != "" {
		out = append(out, attr{"asked", clean(l.text, false)})
	}
	return out
}

// bandAndLine draws the ranges that are asked of a section, and what it reached.
func (c *chart) bandAndLine(g *group, l level, a axis, base px) {
	var bands, lines []step
	for _, u := range l.units {
		from, to := c.barX(u.first), c.barX(u.last+1)
		to = max(to-pixel, from+pixel)
		if u.ranged {
			under := a.y(u.low, base)
			over := min(a.y(u.high, base), under-pixel)
			bands = append(bands, step{point{from, under}, false}, step{point{from, over}, true}, step{point{to, over}, true}, step{point{to, under}, true})
		}
		y := a.y(u.reached, base)
		lines = stroke(lines, point{from, y}, point{to, y})
	}
	if len(bands) > 0 {
		g.marks = append(g.marks, mark{ink: high, path: bands})
	}
	g.marks = append(g.marks, mark{ink: strong, width: 2 * pixel, path: lines})
}

// levelFigures writes what a section reached, of each unit or, where that has no room, of the whole, and above it what is
// asked of it; false where figures have no room.
func (c *chart) levelFigures(g *group, l level) bool {
	mean := []figureAt{{l.sec.Bar, l.sec.Bar + l.sec.Bars - 1, percent(l.mean)}}
	whole := c.figures(g, l.figuresReached(), c.y) || c.figures(g, mean, c.y)
	return (l.text == "" || c.figures(g, l.figuresAsked(), c.y-figureLine)) && whole
}

// figureAt is a text that stands over bars.
type figureAt struct {
	first, last int
	text        string
}

// figures writes figures, each from the start of its bars on; false, and none of them, where one has no room.
func (c *chart) figures(g *group, figures []figureAt, y px) bool {
	for _, f := range figures {
		if c.barX(f.first)+tab+c.letters.width(f.text, small)+tab > c.barX(min(f.last, c.layout.Bars)+1) {
			return false
		}
	}
	for _, f := range figures {
		c.label(g, soft, small, point{c.barX(f.first) + tab, y}, f.text, false)
	}
	return true
}

// figuresReached are the shares that the units reached.
func (l level) figuresReached() []figureAt {
	var out []figureAt
	for _, u := range l.units {
		out = append(out, figureAt{u.first, u.last, percent(u.reached)})
	}
	return out
}

// figuresAsked are the ranges that are asked for, a range once over all units that it holds for; or the word that stands
// for none.
func (l level) figuresAsked() []figureAt {
	var out []figureAt
	for _, u := range l.units {
		text := clean(l.text, false)
		if u.ranged {
			text = percent(u.low) + "-" + percent(u.high)
		}
		if n := len(out); n > 0 && out[n-1].text == text {
			out[n-1].last = u.last
			continue
		}
		out = append(out, figureAt{u.first, u.last, text})
	}
	return out
}

// said says in words which section is how loud.
func (l level) said() string { return clean(l.name, false) + " " + l.figures() }

// figures says in words how loud a section is.
func (l level) figures() string {
	if l.text == "" {
		return percent(l.mean) + "% of full"
	}
	var asked, reached []string
	for _, f := range l.figuresAsked() {
		asked = append(asked, f.text)
	}
	for _, f := range l.figuresReached() {
		reached = append(reached, f.text)
	}
	return fmt.Sprintf("asked %s, reached %s %%", strings.Join(asked, ", "), strings.Join(reached, ", "))
}

// Shares in tenths of a percent: of full, and the most that is told.
const (
	wholeShare = 1000
	mostShare  = 9990
)

// percent writes tenths of a percent in whole percent.
func percent(tenths int) string { return strconv.Itoa((tenths + 5) / 10) }

// ofFullLegend says how to read the row, and what full is.
func (c *chart) ofFullLegend() []string {
	if c.Structure == nil || len(c.inside) == 0 {
		return nil
	}
	full, how := "the song's loudest phrase", ""
	if c.ofLoop {
		full = "all of the loop in its loudest phrase"
	}
	if len(c.Asked) > 0 {
		how = "a grey band is what the recipe asks for, the line what the section reaches; "
	}
	out := []string{ofFullLabel + ": the same for each section; " + how + "100% is " + full + ", played by General MIDI sounds"}
	if len(c.unsaid) > 0 && !c.forPage { // where the row of the sections tells
		out = append(out, c.wrapped(c.unsaid, ";")...)
	}
	return out
}
