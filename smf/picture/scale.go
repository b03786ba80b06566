package picture

import (
	"strconv"
	"strings"
)

// sectionLines is how many lines the names of sections may take.
const sectionLines = 3

// scale draws what stands above the rows: bars, times, sections, the ruler. It tells whether every
// section's name is there in full.
func (d *sheet) scale() (complete bool) {
	lines := d.layout.lines()
	marks := make([]bool, len(d.layout.Columns))
	starts := make([]int, len(d.inside))
	for i, sec := range d.inside {
		starts[i] = sec.Bar
		marks[d.layout.columnOfBar(sec.Bar)] = true
	}
	tl := d.song.Time()
	d.labels(starts, lines, strconv.Itoa)
	d.labels(starts, lines, func(bar int) string { return clock(tl.Micros(tl.BarStart(bar))) })
	complete = d.sections()

	ruler := make([]string, len(d.layout.Columns))
	for i := range ruler {
		ruler[i] = d.set.rule
	}
	if len(lines) < len(ruler) {
		for _, bar := range lines {
			ruler[d.layout.columnOfBar(bar)] = d.set.line
		}
	}
	for i, m := range marks {
		if m {
			ruler[i] = d.set.section
		}
	}
	d.line("", strings.Join(ruler, ""))
	return complete
}

// labels writes a line of labels above the columns of their bars. Those of the sections come first,
// then those of the grid lines, of every one or of every second, fourth and so on, the most that
// have room among themselves; what would touch another label is left out.
func (d *sheet) labels(starts, lines []int, text func(bar int) string) {
	row := newLabelRow(d.o.Width - d.margin - 1)
	for _, bar := range starts {
		row.put(d.layout.columnOfBar(bar), text(bar))
	}
	step := 1
	for ; step < len(lines); step *= 2 {
		if d.haveRoom(lines, step, text) {
			break
		}
	}
	for i := 0; i < len(lines); i += step {
		row.put(d.layout.columnOfBar(lines[i]), text(lines[i]))
	}
	d.line("", row.String())
}

func (d *sheet) haveRoom(lines []int, step int, text func(bar int) string) bool {
	for i := step; i < len(lines); i += step {
		from := d.layout.columnOfBar(lines[i-step])
		if d.layout.columnOfBar(lines[i])-from <= len(text(lines[i-step])) {
			return false
		}
	}
	return true
}

// sections writes the sections' names on as many lines as they need, up to sectionLines, and tells
// whether all of them are there in full.
func (d *sheet) sections() (complete bool) {
	complete = true
	room := d.o.Width - d.margin - 1
	rows := make([]labelRow, sectionLines)
	used := 0
	for i := range rows {
		rows[i] = newLabelRow(room)
	}
	for _, sec := range d.inside {
		col := d.layout.columnOfBar(sec.Bar)
		name := clean(sec.Name, d.o.ASCII)
		whole := cut(name, room-col, d.set.missing)
		placed := false
		for i := 0; i < len(rows) && !placed; i++ {
			if placed = rows[i].put(col, whole); placed {
				used = max(used, i+1)
			}
		}
		complete = complete && placed && whole == name
	}
	for i := range used {
		d.line("", rows[i].String())
	}
	return complete
}

// labelRow is a line of labels that keep a space between them.
type labelRow struct {
	text []string // what stands in each column; "" in the second column of a wide character
	used []bool
}

func newLabelRow(columns int) labelRow {
	r := labelRow{make([]string, columns), make([]bool, columns)}
	for i := range r.text {
		r.text[i] = " "
	}
	return r
}

// put writes a label that begins at a column, if there is room for all of it and a space around it.
func (r *labelRow) put(col int, label string) bool {
	w := width(label)
	if col+w > len(r.used) {
		return false
	}
	for i := max(col-1, 0); i < min(col+w+1, len(r.used)); i++ {
		if r.used[i] {
			return false
		}
	}
	at := col - 1
	for _, c := range label {
		n := cells(c)
		if n == 0 {
			r.text[at] += string(c)
			continue
		}
		at = col
		r.text[at] = string(c)
		for i := range n {
			r.used[col+i] = true
			if i > 0 {
				r.text[col+i] = ""
			}
		}
		col += n
	}
	return true
}

func (r *labelRow) String() string { return strings.Join(r.text, "") }
