package picture

import (
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// refusal is the reason why a song has no map.
type refusal string

// The reasons: a song without common bars, and one that ends where it starts.
const (
	errNoBars refusal = "no common bars (format 2 or SMPTE time), so there is nothing to map"
	errEmpty  refusal = "no bars, so there is nothing to map"
)

// Error returns the reason in words.
func (r refusal) Error() string { return string(r) }

// layout places the bars of a song in columns and its parts in rows.
type layout struct {
	Bars    int      // bars of the song, a short last one included
	Phrase  int      // bars of a phrase, at most those of the song
	Unit    unit     // what a column is
	Columns []column // from left to right, adjoining, from tick 0 on
	Rows    []row    // from top to bottom
	ppq     song.Tick
}

// unit is the length of a column: a number of whole bars, or a bar divided into equal parts. One of
// the two is 1.
type unit struct{ Bars, PerBar int }

// column is a stretch of whole bars or of a part of one, [Start, End) in ticks. The last may reach
// past the song's end.
type column struct {
	Start, End song.Tick
	Bar        int // the bar it starts in
}

// rowGroup is a group of rows.
type rowGroup uint8

// The groups, in the order they are drawn.
const (
	drumRows rowGroup = iota
	musicRows
	otherRows // triggers, which have no sound of their own
)

// row is one part.
type row struct {
	Part  int // index into the song's parts
	Group rowGroup
}

// arrange makes the layout of a song in at most maxColumns columns, of which there must be at least
// one. A phrase (in bars, at least 1) is a whole number of columns or a column a whole number of
// phrases, counted from bar 1; the finest such division that fits is taken, down to sixteenth notes
// where the metre never changes, down to bars where it does. The errors are [errNoBars] and
// [errEmpty], no others.
func arrange(s song.Song, phrase, maxColumns int) (layout, error) {
	tl := s.Time()
	if tl == nil {
		return layout{}, errNoBars
	}
	l := layout{Bars: s.Bars(), ppq: tl.PPQ()}
	if l.Bars == 0 {
		return layout{}, errEmpty
	}
	l.Phrase = min(max(phrase, 1), l.Bars)
	l.Unit = fit(l.Bars, l.Phrase, max(maxColumns, 1), barParts(tl))
	l.Columns = columns(tl, l.Bars, l.Unit)
	l.Rows = rows(s.Parts)
	return l, nil
}

// fit chooses the finest unit whose columns are no more than the most allowed. The parts are the
// ways a bar may be divided, the finest first.
func fit(bars, phrase, most int, parts []int) unit {
	for _, p := range parts {
		if bars <= most/p {
			return unit{1, p}
		}
	}
	for n := 1; n < phrase; n++ {
		if phrase%n == 0 && ceil(bars, n) <= most {
			return unit{n, 1}
		}
	}
	phrases := ceil(bars, phrase)
	return unit{phrase * ceil(phrases, most), 1}
}

// ceil divides positive numbers, rounding up without overflow.
func ceil(a, b int) int { return (a-1)/b + 1 }

// barParts lists how a bar of the song may be divided into equal parts, the finest first:
// sixteenths, eighths and so on up to its beats, then halves of it.
func barParts(tl *smf.Timeline) []int {
	if len(tl.Metres()) > 1 {
		return nil
	}
	m := tl.MetreIn(1)
	bar := int(tl.BarTicks(1))
	var out []int
	for den := max(16, m.Den); den >= m.Den; den /= 2 {
		if n := m.Num * (den / m.Den); n > 1 && bar >= n {
			out = append(out, n)
		}
	}
	for n := m.Num; n%2 == 0 && n > 2; {
		n /= 2
		if bar >= n {
			out = append(out, n)
		}
	}
	return out
}

func columns(tl *smf.Timeline, bars int, u unit) []column {
	out := make([]column, 0, ceil(bars, u.Bars)*u.PerBar)
	for bar := 1; bar <= bars; bar += u.Bars {
		start, end := tl.BarStart(bar), tl.BarStart(bar+u.Bars)
		for i := range u.PerBar {
			n, of := song.Tick(i), song.Tick(u.PerBar)
			out = append(out, column{start + (end-start)*n/of, start + (end-start)*(n+1)/of, bar})
		}
	}
	return out
}

// rows orders the parts: drums, then music, then the rest; within a group by job as jobs are listed
// to people, then by role, then as they stand in the song.
func rows(parts []song.Part) []row {
	out := make([]row, len(parts))
	for i, p := range parts {
		out[i] = row{i, groupOf(p)}
	}
	jobs, roles := song.Jobs(), song.Roles()
	place := func(r row) int {
		p := parts[r.Part]
		return int(r.Group)<<16 | orLast(slices.Index(jobs, jobOf(p)), len(jobs))<<8 | orLast(slices.Index(roles, p.Role), len(roles))
	}
	slices.SortStableFunc(out, func(a, b row) int { return place(a) - place(b) })
	return out
}

func orLast(i, n int) int {
	if i < 0 {
		return n
	}
	return i
}

// jobOf is the part's job, or what its role is for by itself where nobody has listened yet.
func jobOf(p song.Part) song.Job {
	if p.Job == song.NoJob {
		return p.Role.Job()
	}
	return p.Job
}

func groupOf(p song.Part) rowGroup {
	switch jobOf(p) {
	case song.JobBeat, song.JobBackbeat, song.JobTops, song.JobPerc:
		return drumRows
	case song.NoJob:
		return otherRows
	}
	if p.Kit && p.Job == song.NoJob {
		return drumRows // a whole kit that nobody has split
	}
	return musicRows
}

// columnOfBar returns the index of the column in which a bar (from 1) starts; bars outside the song
// count as its first or last.
func (l layout) columnOfBar(bar int) int {
	bar = min(max(bar, 1), l.Bars)
	return (bar - 1) / l.Unit.Bars * l.Unit.PerBar
}

// columnAt returns the index of the column a tick lies in; ticks outside count as in the first or
// last.
func (l layout) columnAt(t song.Tick) int {
	i, found := slices.BinarySearchFunc(l.Columns, t, func(c column, t song.Tick) int {
		switch {
		case c.Start < t:
			return -1
		case c.Start > t:
			return 1
		}
		return 0
	})
	if !found {
		i--
	}
	return min(max(i, 0), len(l.Columns)-1)
}

// lines returns the bars, from 1, at which a drawing has its grid lines: every bar where a bar has
// several columns, else every phrase, or the first phrase of every column.
func (l layout) lines() []int {
	step := max(l.Phrase, l.Unit.Bars)
	if l.Unit.PerBar > 1 {
		step = 1
	}
	var out []int
	for bar := 1; bar <= l.Bars; bar += step {
		out = append(out, bar)
	}
	return out
}
