package picture

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// The widths that [Text] draws for, in columns of the terminal.
const (
	MinWidth = 40
	MaxWidth = 300
)

// Options say how a map is drawn.
type Options struct {
	Width   int           // columns of the terminal, MinWidth..MaxWidth
	Color   bool          // colour by role, with escape sequences for 256 colours
	ASCII   bool          // nothing but ASCII
	Phrase  int           // bars of a phrase, from 1; 0: 8
	Changes []song.Change // what a draft did: a row for each move; nil: no such rows

	// What was heard in the song: a row for its lines, and its phrase where Phrase is 0; nil: no such row.
	Structure *form.Structure
}

// Text writes a song's map: what the song is and what a column stands for; bar numbers, times and
// the names of sections, each beginning above its first column; a ruler; and a row for each part,
// drums above music. Parts are drawn by [layout.Levels], silence as spaces. Below stand the lines of
// o.Structure at which something changes, if there are any, and its boundaries; the moves of o.Changes,
// marked where they worked; and the list of sections if their names did not all fit.
//
// No line is wider than o.Width or ends in a space. A song without common bars, or without any bar,
// gives one line that says so. It is an error if o.Width or o.Phrase is out of range or w fails.
func Text(w io.Writer, s song.Song, o Options) error {
	if o.Width < MinWidth || o.Width > MaxWidth {
		return fmt.Errorf("width: found %d, want %d to %d", o.Width, MinWidth, MaxWidth)
	}
	if o.Phrase < 0 {
		return fmt.Errorf("phrase: found %d, want a number of bars from 1", o.Phrase)
	}
	switch {
	case o.Phrase == 0 && o.Structure != nil:
		o.Phrase = o.Structure.Phrase
	case o.Phrase == 0:
		o.Phrase = 8
	}
	d := sheet{o: o, song: s, set: characters(o.ASCII)}
	d.nameRows()
	var err error
	if d.layout, err = arrange(s, o.Phrase, o.Width-d.margin-1); err == nil {
		d.draw()
	} else {
		d.wrap([]string{"no map: " + err.Error()})
	}
	_, err = w.Write(d.out.Bytes())
	return err
}

// charset is what a map is drawn with.
type charset struct {
	levels              []string // 0..MaxLevel
	rule, line, section string   // the ruler: between lines, at a grid line, at a section
	worked, missing     string   // a move at work, the rest of a cut name
	change, boundary    string   // a line at which something changes, one at which a stretch begins
}

func characters(ascii bool) charset {
	if ascii {
		return charset{strings.Split(" .:-=+*##", ""), "-", "'", "|", "=", "~", ".", "|"}
	}
	return charset{strings.Split(" ▁▂▃▄▅▆▇█", ""), "─", "┴", "┬", "━", "…", "·", "│"}
}

// sheet is a map being drawn.
type sheet struct {
	o      Options
	set    charset
	song   song.Song
	layout layout
	inside []song.Section // the sections that begin inside the song
	moves  []moveRow
	names  []string // of the parts, by index
	margin int      // width of the names
	out    bytes.Buffer
}

func (d *sheet) draw() {
	d.inside = inside(d.song, d.layout.Bars)
	d.wrap(append(facts(d.song, d.layout), "a column is "+columnWord(d.song.Time(), d.layout.Unit)))
	d.out.WriteByte('\n')
	complete := d.scale()
	group := drumRows
	for i, r := range d.layout.Rows {
		if i > 0 && r.Group != group {
			d.out.WriteByte('\n')
		}
		group = r.Group
		d.partRow(r)
	}
	if len(d.layout.Rows) == 0 {
		d.line("(no notes)", "")
	}
	if d.hasChanges() {
		d.out.WriteByte('\n')
		d.changeRow(*d.o.Structure)
	}
	if len(d.moves) > 0 {
		d.out.WriteString("\nmoves:\n")
		for _, m := range d.moves {
			d.moveRow(m)
		}
	}
	if !complete {
		d.out.WriteByte('\n')
		d.wrap(sectionList(d.inside, d.o.ASCII))
	}
}

// nameRows cleans the names of parts and moves and measures the margin they need.
func (d *sheet) nameRows() {
	most := min(d.o.Width/4, 24)
	fit := func(name string) string {
		name = cut(clean(name, d.o.ASCII), most, d.set.missing)
		if name == "" {
			name = "?"
		}
		d.margin = max(d.margin, width(name))
		return name
	}
	for _, p := range d.song.Parts {
		d.names = append(d.names, fit(p.Name))
	}
	d.moves = moveRows(d.o.Changes)
	for i := range d.moves {
		d.moves[i].label = fit(d.moves[i].name)
	}
	if d.hasChanges() {
		d.margin = max(d.margin, len(changesLabel))
	}
	if len(d.names) == 0 {
		d.margin = max(d.margin, len("(no notes)"))
	}
}

// facts says in a few items what a song is.
func facts(s song.Song, l layout) []string {
	tl := s.Time()
	return []string{count(l.Bars, "bar"), clock(tl.Micros(s.End)), tempoRange(s) + " bpm", metreOf(s)}
}

// columnWord says what a column is.
func columnWord(tl *smf.Timeline, u unit) string {
	if u.PerBar > 1 {
		return "a " + noteValue(tl.MetreIn(1), u.PerBar) + " note"
	}
	return count(u.Bars, "bar")
}

// noteValue writes the length of a bar divided into n parts as a share of a whole note.
func noteValue(m smf.Metre, n int) string {
	p, q := m.Num, m.Den*n
	for a, b := p, q; ; a, b = b, a%b {
		if b == 0 {
			return fmt.Sprintf("%d/%d", p/a, q/a)
		}
	}
}

func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return strconv.Itoa(n) + " " + what
}

// clock writes a time as minutes:seconds, fractions of a second left out.
func clock(micros int64) string {
	s := micros / 1_000_000
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// tempoRange is the slowest and the fastest tempo from where the music begins, one number if they are the same.
func tempoRange(s song.Song) string {
	begin := s.Time().BarStart(s.FirstBar())
	slow := s.Time().TempoAt(begin)
	fast := slow
	for _, t := range s.Time().Tempi() {
		if t.Tick < begin {
			continue
		}
		slow, fast = max(slow, t.Micros), min(fast, t.Micros)
	}
	if from, to := bpm(slow), bpm(fast); from != to {
		return from + "-" + to
	}
	return bpm(slow)
}

// bpm writes a tempo with up to two decimals; a tempo event is seldom exact to more.
func bpm(micros uint32) string {
	h := (6_000_000_000 + int64(micros)/2) / int64(micros)
	out := fmt.Sprintf("%d.%02d", h/100, h%100)
	return strings.TrimSuffix(strings.TrimRight(out, "0"), ".")
}

func metreOf(s song.Song) string {
	_, mostly := s.Mostly()
	begin, metres := s.Time().BarStart(s.FirstBar()), s.Time().Metres()
	for i, m := range metres {
		setUp := i+1 < len(metres) && metres[i+1].Tick <= begin
		if m.Metre != mostly && !setUp && m.Tick < s.End {
			return mostly.String() + " and others"
		}
	}
	return mostly.String()
}

// sectionList names every section with its first and last bar.
func sectionList(sections []song.Section, ascii bool) []string {
	var out []string
	for i, sec := range sections {
		name := clean(sec.Name, ascii)
		if i == 0 {
			name = "sections: " + name
		}
		out = append(out, fmt.Sprintf("%s %d-%d", name, sec.Bar, sec.Bar+sec.Bars-1))
	}
	return out
}

// wrap writes a list with commas, breaking lines between items and, where one is too long, within it.
func (d *sheet) wrap(items []string) {
	line := ""
	for i, item := range items {
		if i+1 < len(items) {
			item += ","
		}
		if line != "" && width(line)+1+width(item) > d.o.Width {
			d.out.WriteString(line + "\n")
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += item
		for first := head(line, d.o.Width); len(first) < len(line); first = head(line, d.o.Width) {
			if i := strings.LastIndexByte(first, ' '); i > 0 {
				first = first[:i]
			}
			d.out.WriteString(strings.TrimRight(first, " ") + "\n")
			line = strings.TrimLeft(line[len(first):], " ")
		}
	}
	d.out.WriteString(line + "\n")
}

// line writes a name and what belongs beside it, without spaces at the end.
func (d *sheet) line(name, cells string) {
	cells = strings.TrimRight(cells, " ")
	d.out.WriteString(name)
	if cells != "" {
		d.out.WriteString(strings.Repeat(" ", d.margin-width(name)+1))
		d.out.WriteString(cells)
	}
	d.out.WriteByte('\n')
}

func (d *sheet) partRow(r row) {
	part := d.song.Parts[r.Part]
	var b strings.Builder
	for _, l := range d.layout.levels(part) {
		b.WriteString(d.set.levels[l])
	}
	cells := strings.TrimRight(b.String(), " ")
	if c, ok := roleColour(part.Role); ok && d.o.Color && cells != "" {
		cells = fmt.Sprintf("\x1b[38;5;%dm%s\x1b[39m", c.index256(), cells)
	}
	d.line(d.names[r.Part], cells)
}
