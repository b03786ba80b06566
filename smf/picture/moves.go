package picture

import (
	"slices"
	"strings"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// moveRow is a row for all changes that one move made.
type moveRow struct {
	name   string
	label  string
	ranges []song.Range
	works  []work
}

// work is where a move changed the same parts.
type work struct {
	parts  []string
	ranges []song.Range
}

// moveRows gathers changes by move, in the order in which the moves first come. Changes without a
// move's name or without a place are left out.
func moveRows(changes []song.Change) []moveRow {
	var out []moveRow
	for _, c := range changes {
		if c.Move == "" || len(c.Ranges) == 0 {
			continue
		}
		at := -1
		for i := range out {
			if out[i].name == c.Move {
				at = i
			}
		}
		if at < 0 {
			at = len(out)
			out = append(out, moveRow{name: c.Move})
		}
		out[at].ranges = append(out[at].ranges, c.Ranges...)
		out[at].add(c.Parts, c.Ranges)
	}
	return out
}

// add notes that the move changed parts in some ranges.
func (m *moveRow) add(parts []string, ranges []song.Range) {
	for i, w := range m.works {
		if slices.Equal(w.parts, parts) {
			m.works[i].ranges = append(w.ranges, ranges...)
			return
		}
	}
	m.works = append(m.works, work{parts, slices.Clone(ranges)}) // the ranges of the change stay as they are
}

// moveRow marks every column in which the move worked.
func (d *sheet) moveRow(m moveRow) {
	cells := make([]string, len(d.layout.Columns))
	for i := range cells {
		cells[i] = " "
	}
	end := d.layout.Columns[len(cells)-1].End
	for _, r := range m.ranges {
		if r.Len() <= 0 || r.End <= 0 || r.Start >= end {
			continue
		}
		for i := d.layout.columnAt(r.Start); i <= d.layout.columnAt(r.End-1); i++ {
			cells[i] = d.set.worked
		}
	}
	d.line(m.label, strings.Join(cells, ""))
}

// changesLabel names the row of lines.
const changesLabel = "changes"

// hasChanges tells whether there is anything to mark in the row of lines.
func (d *sheet) hasChanges() bool {
	st := d.o.Structure
	return st != nil && (len(st.Boundaries) > 0 || slices.ContainsFunc(st.Bars, func(b form.Bar) bool { return len(b.Changes) > 0 }))
}

// changeRow marks the columns in which a boundary lies, and those with a line at which something changes.
func (d *sheet) changeRow(st form.Structure) {
	cells := make([]string, len(d.layout.Columns))
	for i := range cells {
		cells[i] = " "
	}
	for i, b := range st.Bars {
		if len(b.Changes) > 0 {
			cells[d.layout.columnOfBar(i+1)] = d.set.change
		}
	}
	for _, bar := range st.Boundaries {
		cells[d.layout.columnOfBar(bar)] = d.set.boundary
	}
	d.line(changesLabel, strings.Join(cells, ""))
}
