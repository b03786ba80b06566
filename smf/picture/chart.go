package picture

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Chart says how a song is drawn as a picture.
type Chart struct {
	Title   string        // stands above it, if it is not empty
	Phrase  int           // bars of a phrase, from 1; 0: as heard
	Changes []song.Change // what a draft did: a row for each move; nil: no such rows

	// What was heard in the song; nil: it is heard here.
	Structure *form.Structure

	Full    form.Power   // of the loop, which sections are told against; 0: of the song's loudest phrase
	Asked   []form.Asked // what a recipe asks of the energy of sections
	Choices []string     // that a draft took, such as form=2
	Loops   []string     // of several, what each is, such as b is break.mid
}

// SVG writes a song's chart as SVG: parts as rows, drums above music; above them bars, times and
// sections; below them the energy of each bar (see
// [form.EnergyOf]), that of the sections, beside what is asked of it, and the moves of c.Changes.
//
// A drum is drawn as strokes, one for each column, the higher the more it plays (see
// [layout.Levels]); a pitched part as a band at the height of its notes, the wider the more it plays.
// A controller that leaves the value where it is most of the time is a line over its part. Everything
// has a label, so that colour (see [roleColour]) only helps.
//
// The picture is about 1,350 pixels wide and grows with the bars beyond [chartColumns]. Background and
// shades follow the reader's choice of light or dark. What the file calls things is data: it is escaped,
// and without control characters. Elements carry data-part, data-section and data-bar.
//
// The errors are [errNoBars], [errEmpty], an option out of range, and those of w. It takes time linear
// in notes, events and changes, and in parts times columns.
func SVG(w io.Writer, s song.Song, c Chart) error {
	drawn, err := newChart(s, c)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	writeSVG(&b, drawn.figure)
	_, err = w.Write(b.Bytes())
	return err
}

// PNG writes a song's chart as [SVG] does, as a PNG on a light background: two pixels for each of the
// SVG's, one where that would be more than 32 million, and an error where even that would be. A
// character that the Go fonts have no letter for is a question mark.
func PNG(w io.Writer, s song.Song, c Chart) error {
	drawn, err := newChart(s, c)
	if err != nil {
		return err
	}
	return writePNG(w, drawn.figure, drawn.letters)
}

// The measures of a chart.
const (
	margin       = 24 * pixel
	gap          = 10 * pixel // between a label and what it names
	tab          = 3 * pixel  // between a line and the label that stands at it
	lineHeight   = 16 * pixel
	groupGap     = 20 * pixel
	energyHeight = 64 * pixel
	moveHeight   = 17 * pixel
	leastRow     = 24 * pixel
	mostRow      = 40 * pixel
	allRows      = 520 * pixel // shared by the rows, within these limits

	pageRow  = 44 * pixel // of a page, so that a finger finds what stands there (WCAG 2.2, 2.5.5)
	pageMove = 24 * pixel // the least that is a target of its own (2.5.8)
	pageLeft = 4 * pixel

	leastColumn  = 3 * pixel
	mostStroke   = 6 * pixel
	chartWidth   = chartColumns * leastColumn
	chartColumns = 384  // of a song of up to so many bars; beyond, a bar is a column
	mostColumns  = 2400 // of any song
	leastPhrase  = 24 * pixel

	mostName = 28 // characters of a name
)

// chart is a picture being laid out, from top to bottom.
type chart struct {
	Chart
	figure
	song    song.Song
	layout  layout
	letters *typeface
	unheard error    // why there is no structure: far more bars than notes, so that there is hardly anything to hear
	names   []string // of the parts, by index
	moves   []moveRow
	rides   [][]ride // by row
	ofLoop  bool     // full is that of the loop
	unsaid  []string // energies of sections that had no room for their figures
	inside  []song.Section
	left    px   // where the columns begin,
	right   px   // and end
	column  px   // width of one
	reach   px   // how far the labels reach to the right
	y       px   // how far the figure reaches down
	tops    []px // where the rows begin
	tall    px   // height of a row

	moveTops []px // where the rows of moves begin
	moveTall px   // height of one
	headTop  px   // where the names of the sections begin,
	headEnd  px   // and the times of the bars end

	// In a page names and texts stand around the picture, where they can be read and pressed.
	forPage  bool
	besides  []sideLabel
	above    []string // what stands above
	below    []string // how to read it
	nameRoom px       // the widest name of a part
}

// sideLabel is a label to the left of the columns.
type sideLabel struct {
	text string
	y    px // of its base line
	ink  ink
}

// newChart lays a chart out.
func newChart(s song.Song, o Chart) (*chart, error) { return layChart(s, o, false) }

// layChart lays a chart out, as a picture of its own or for a page.
func layChart(s song.Song, o Chart, forPage bool) (*chart, error) {
	if o.Phrase < 0 {
		return nil, fmt.Errorf("phrase: found %d, want a number of bars from 1", o.Phrase)
	}
	var unheard error
	if o.Structure == nil {
		st, err := form.StructureOf(s, o.Phrase)
		if unheard = err; err == nil {
			o.Structure = &st
		}
	}
	if o.Structure != nil {
		s = s.WithSections(o.Structure.Sections)
	}
	switch {
	case o.Phrase == 0 && o.Structure != nil:
		o.Phrase = o.Structure.Phrase
	case o.Phrase == 0:
		o.Phrase = 8
	}
	columns := chartColumns
	if s.Time() != nil {
		columns = min(max(columns, s.Bars()), mostColumns)
	}
	l, err := arrange(s, o.Phrase, columns)
	if err != nil {
		return nil, err
	}
	letters, err := newTypeface()
	if err != nil {
		return nil, err
	}
	c := &chart{Chart: o, song: s, layout: l, letters: letters, inside: inside(s, l.Bars), moves: chartMoves(o.Changes), rides: l.rides(s), unheard: unheard, moveTall: moveHeight, forPage: forPage}
	if c.ofLoop = c.Full > 0; !c.ofLoop && c.Structure != nil {
		c.Full = max(c.Structure.Energy.Full(form.FullPhrase), 1)
	}
	if forPage {
		c.moveTall = pageMove
	}
	c.measure()
	c.heading()
	c.headTop = c.y
	top, complete := c.scale()
	c.headEnd = c.y
	c.parts()
	if c.Structure != nil {
		c.energy()
		c.ofFull()
		c.heard()
	}
	c.movesBelow()
	c.lines(top)
	c.footer(complete)
	c.width, c.height = c.reach+margin, c.y+margin
	return c, nil
}

// inside returns the sections that begin inside the song.
func inside(s song.Song, bars int) []song.Section {
	var out []song.Section
	for _, sec := range s.Sections {
		if sec.Bar >= 1 && sec.Bar <= bars {
			out = append(out, sec)
		}
	}
	return out
}

// chartMoves are the moves that have a row: composite moves beside their steps, but not the line-up,
// which is what the parts' rows show.
func chartMoves(changes []song.Change) []moveRow {
	var all []song.Change
	for _, ch := range changes {
		if ch.Move == "line-up" {
			continue
		}
		if all = append(all, ch); ch.Within != "" {
			ch.Move = ch.Within
			all = append(all, ch)
		}
	}
	return moveRows(all)
}

// shown makes a name of the file fit to print.
func shown(name string) string {
	name = cut(clean(name, false), mostName, "…")
	if name == "" {
		return "?"
	}
	return name
}

// measure finds the room for the labels on the left and the width of a column.
func (c *chart) measure() {
	labels := px(0)
	for _, p := range c.song.Parts {
		c.names = append(c.names, shown(p.Name))
		labels = max(labels, c.letters.width(shown(p.Name), plain))
	}
	for i := range c.moves {
		c.moves[i].label = shown(c.moves[i].name)
		labels = max(labels, c.letters.width(c.moves[i].label, small))
	}
	labels = max(labels, c.letters.width("(no notes)", plain))
	c.left = (margin + labels + gap).up()
	if c.forPage {
		c.left, c.nameRoom = pageLeft, (labels + gap).up()
	}
	n := px(len(c.layout.Columns))
	c.column = max(chartWidth/n/pixel*pixel, leastColumn)
	c.right = c.left + n*c.column
	c.reach = c.right
	c.groups = make([]group, 1) // for the lines behind everything
}

// up rounds up to whole pixels.
func (p px) up() px { return (p + pixel - 1) / pixel * pixel }

// x is where a tick of the song stands.
func (c *chart) x(t song.Tick) px {
	i := c.layout.columnAt(t)
	col := c.layout.Columns[i]
	t = min(max(t, col.Start), col.End)
	return c.left + px(i)*c.column + px(int64(t-col.Start)*int64(c.column)/int64(col.End-col.Start))
}

// barX is where a bar begins.
func (c *chart) barX(bar int) px { return c.x(c.song.Time().BarStart(bar)) }

// add adds a group and returns it; the pointer holds until the next one.
func (c *chart) add(title string, attrs ...attr) *group {
	c.groups = append(c.groups, group{title: title, attrs: attrs})
	return &c.groups[len(c.groups)-1]
}

// label adds a text that starts at a point, or with end, ends there.
func (c *chart) label(g *group, i ink, f style, at point, text string, end bool) {
	g.marks = append(g.marks, mark{ink: i, font: f, at: at, text: text, end: end})
	if !end {
		c.reach = max(c.reach, (at.x + c.letters.width(text, f)).up())
	}
}

// beside writes a label to the left of the columns, or leaves it to the page.
func (c *chart) beside(g *group, i ink, f style, y px, text string) {
	if c.forPage {
		c.besides = append(c.besides, sideLabel{text, y, i})
		return
	}
	c.label(g, i, f, point{c.left - gap, y}, text, true)
}

// heading writes the title and what the song is.
func (c *chart) heading() {
	c.attrs = []attr{{"bars", strconv.Itoa(c.layout.Bars)}, {"left", c.left.String()}, {"right", c.right.String()}}
	if c.forPage {
		c.above = append([]string{strings.Join(facts(c.song, c.layout), ", ")}, c.madeOf()...)
		c.title = c.above[0]
		return
	}
	c.y = margin
	g := c.add("")
	if title := cut(clean(c.Title, false), 2*mostName, "…"); title != "" {
		c.title = title
		c.y += headline.size()
		c.label(g, strong, headline, point{c.left, c.y}, title, false)
		c.y += 6 * pixel
	}
	c.y += plain.size()
	facts := strings.Join(facts(c.song, c.layout), ", ")
	c.label(g, soft, plain, point{c.left, c.y}, facts, false)
	if c.title == "" {
		c.title = facts
	}
	for _, line := range c.madeOf() {
		c.y += lineHeight
		c.label(g, soft, small, point{c.left, c.y}, line, false)
	}
	c.y += lineHeight
}

// madeOf are lines that name the loops and the choices taken.
func (c *chart) madeOf() []string {
	var lines []string
	for _, list := range []struct {
		name  string
		items []string
	}{{"loops", c.Loops}, {"choices", c.Choices}} {
		var items []string
		for _, item := range list.items {
			items = append(items, clean(item, false))
		}
		if len(items) > 0 {
			items[0] = list.name + ": " + items[0]
			lines = append(lines, c.wrapped(items, ",")...)
		}
	}
	return lines
}

// lane is a line of labels that keep apart.
type lane [][2]px

// put takes the room from a place on, if it is free.
func (l *lane) put(at, room px) bool {
	for _, taken := range *l {
		if at < taken[1]+gap/2 && taken[0] < at+room+gap/2 {
			return false
		}
	}
	*l = append(*l, [2]px{at, at + room})
	return true
}

// scale writes the names of the sections, bars and times. It returns where the lines between bars begin
// and whether every name is there in full.
func (c *chart) scale() (top px, complete bool) {
	complete = c.sections()
	top = c.y
	starts := make([]int, len(c.inside))
	for i, sec := range c.inside {
		starts[i] = sec.Bar
	}
	tl := c.song.Time()
	c.numbers("bar", starts, strconv.Itoa)
	c.numbers("time", starts, func(bar int) string { return clock(tl.Micros(tl.BarStart(bar))) })
	return top, complete
}

// numbers writes a line of labels, those of sections first, then those of as many phrases as have room.
func (c *chart) numbers(name string, starts []int, text func(bar int) string) {
	c.y += small.size() + 4*pixel
	c.beside(c.add(""), soft, small, c.y, name)
	var taken lane
	put := func(bar int) {
		s := text(bar)
		if at := c.barX(bar) + tab; taken.put(at, c.letters.width(s, small)) {
			c.label(c.add("", attr{name, s}), soft, small, point{at, c.y}, s, false)
		}
	}
	for _, bar := range starts {
		put(bar)
	}
	step := c.phrase()
	widest := c.letters.width(text(c.layout.Bars), small) + gap
	for c.barX(min(1+step, c.layout.Bars+1))-c.left < widest && step < c.layout.Bars {
		step *= 2
	}
	for bar := 1; bar <= c.layout.Bars; bar += step {
		put(bar)
	}
}

// phrase returns how many bars lie between lines: one where a bar is wide enough, else a phrase or
// several.
func (c *chart) phrase() int {
	u := c.layout.Unit
	bar := c.column * px(u.PerBar) / px(u.Bars)
	if bar >= leastPhrase {
		return 1
	}
	n := c.layout.Phrase
	for px(n)*c.column*px(u.PerBar) < leastPhrase*px(u.Bars) && n < c.layout.Bars {
		n *= 2
	}
	return n
}

// sections writes the names of sections above a line for each. A name wider than its section is
// set smaller or, where that is not enough, stands higher up, with a line that leads there, or, where another does already, is cut. It tells whether all
// names are there in full.
func (c *chart) sections() (complete bool) {
	complete = true
	if len(c.inside) == 0 {
		return complete
	}
	numbered := song.SectionNames(c.inside)
	names, raised, fonts := make([]string, len(c.inside)), make([]bool, len(c.inside)), make([]style, len(c.inside))
	reached, top := px(0), c.y
	for i, sec := range c.inside {
		from, to := c.sectionXs(sec)
		whole := clean(numbered[i], false)
		name := cut(whole, mostName, "…")
		fonts[i] = bold
		if room := to - from - 2*tab; to < c.right && c.letters.width(name, bold) > room && c.letters.width(name, small) <= room {
			fonts[i] = small
		}
		if w := c.letters.width(name, fonts[i]) + 2*tab; w > to-from && to < c.right {
			if raised[i] = from >= reached && from+w <= c.right; raised[i] {
				reached, c.y = from+w, top+lineHeight
			} else {
				name = c.letters.fit(name, bold, to-from-2*tab)
			}
		}
		names[i] = name
		complete = complete && name == whole
	}
	c.y += lineHeight
	for i, sec := range c.inside {
		from, to := c.sectionXs(sec)
		g := c.add(fmt.Sprintf("%s: %s", clean(numbered[i], false), barsOf(sec)), attr{"section", clean(sec.Name, false)},
			attr{"bar", strconv.Itoa(sec.Bar)}, attr{"bars", strconv.Itoa(sec.Bars)})
		line := c.y + 6*pixel
		g.marks = append(g.marks, mark{ink: strong, width: 2 * pixel, path: stroke(nil, point{from, line}, point{max(to-tab, from+pixel), line})})
		at := point{from + tab, c.y}
		if raised[i] {
			at.y -= lineHeight
			g.marks = append(g.marks, mark{ink: rule, width: pixel, path: stroke(nil, point{from, line}, point{from, at.y - bold.size()})})
		}
		if names[i] != "" {
			c.label(g, strong, fonts[i], at, names[i], false)
			at.x += c.letters.width(names[i], fonts[i]) + gap
			c.barsBeside(g, sec, at, to)
		}
	}
	c.y += 5 * pixel
	return complete
}

// barsBeside writes the bars of a section beside its name, where they have room; a page has room as its zoom has it.
func (c *chart) barsBeside(g *group, sec song.Section, at point, to px) {
	bars := fmt.Sprintf("%d-%d", sec.Bar, sec.Bar+sec.Bars-1)
	if sec.Bars > 1 && (c.forPage || at.x+c.letters.width(bars, small)+gap/2 <= to) {
		c.label(g, soft, small, at, bars, false)
	}
}

// sectionXs returns where a section begins and ends.
func (c *chart) sectionXs(sec song.Section) (from, to px) {
	return c.barX(sec.Bar), c.barX(min(sec.Bar+sec.Bars, c.layout.Bars+1))
}

// barsOf says which bars a section has.
func barsOf(sec song.Section) string {
	if sec.Bars == 1 {
		return "bar " + strconv.Itoa(sec.Bar)
	}
	return fmt.Sprintf("bars %d-%d", sec.Bar, sec.Bar+sec.Bars-1)
}

// lines draws what stands behind the rows: a line where a section starts, a thin one for each phrase.
func (c *chart) lines(top px) {
	var sections, phrases []step
	at := map[int]bool{}
	line := func(path []step, bar int) []step {
		x := c.barX(bar)
		return stroke(path, point{x, top}, point{x, c.y})
	}
	for _, sec := range c.inside {
		at[sec.Bar] = true
		sections = line(sections, sec.Bar)
	}
	for bar := 1; bar <= c.layout.Bars; bar += c.phrase() {
		if !at[bar] {
			phrases = line(phrases, bar)
		}
	}
	g := &c.groups[0]
	g.marks = append(g.marks, mark{ink: hair, width: pixel, path: phrases}, mark{ink: rule, width: pixel, path: sections})
}

// footer says how to read the picture, and names the sections that had no room.
func (c *chart) footer(complete bool) {
	if c.forPage {
		c.below = c.legend(true) // its buttons name all sections
		return
	}
	g := c.add("")
	c.y += gap
	for _, line := range c.legend(complete) {
		c.y += lineHeight
		c.label(g, soft, small, point{c.left, c.y}, line, false)
	}
}

func (c *chart) legend(complete bool) []string {
	drums, music, rides := false, false, false
	for i, r := range c.layout.Rows {
		p := c.song.Parts[r.Part]
		drums, music, rides = drums || !p.Pitched(), music || p.Pitched(), rides || len(c.rides[i]) > 0
	}
	var lines []string
	say := func(holds bool, line string) {
		if holds {
			lines = append(lines, line)
		}
	}
	say(drums, "drums: a stroke stands for "+columnWord(c.song.Time(), c.layout.Unit)+"; the taller it is, the more is played there")
	say(music, "other parts: a band at the height of the notes; the thicker it is, the more is played there")
	say(rides, "a thin line over a part: a controller that moves, named on the right")
	say(c.Structure != nil, "energy: how loud each bar sounds, its low tones at the bottom, its high ones on top")
	lines = append(lines, c.ofFullLegend()...)
	say(len(c.changes()) > 0, "changes: a short stroke where a phrase begins differently, a tall one where a new stretch begins, a wedge where parts lead up to it")
	say(len(c.moves) > 0, "names in the last rows: moves, each with a line where it was at work")
	if !complete {
		lines = append(lines, c.wrapped(sectionList(c.inside, false), ",")...)
	}
	return lines
}

// wrapped puts a list on lines no wider than the columns, with a sign between its items.
func (c *chart) wrapped(items []string, between string) []string {
	if c.forPage {
		return []string{strings.Join(items, between+" ")}
	}
	var out []string
	line := ""
	room := c.right - c.left
	for i, item := range items {
		item = cut(item, 3*mostName, "…")
		if i+1 < len(items) {
			item += between
		}
		if line != "" && c.letters.width(line+" "+item, small) > room {
			out = append(out, line)
			line = ""
		}
		line = strings.TrimLeft(line+" "+item, " ")
	}
	return append(out, line)
}
