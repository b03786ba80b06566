package picture

import (
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Refusal is the reason why a song has no map.
type Refusal string

// The reasons: a song without common bars, and one that ends where it starts.
const (
	ErrNoBars Refusal = "no common bars (format 2 or SMPTE time), so there is nothing to map"
	ErrEmpty  Refusal = "no bars, so there is nothing to map"
)

// Error returns the reason in words.
func (r Refusal) Error() string { return string(r) }

// Layout places the bars of a song in columns and its parts in rows.
type Layout struct {
	Bars    int      // bars of the song, a short last one included
	Phrase  int      // bars of a phrase, at most those of the song
	Unit    Unit     // what a column is
	Columns []Column // from left to right, adjoining, from tick 0 on
	Rows    []Row    // from top to bottom
	ppq     song.Tick
}

// Unit is the length of a column: a number of whole bars, or a bar divided into equal parts. One of
// the two is 1.
type Unit struct{ Bars, PerBar int }

// Column is a stretch of whole bars or of a part of one, [Start, End) in ticks. The last may reach
// past the song's end.
type Column struct {
	Start, End song.Tick
	Bar        int // the bar it starts in
}

// Group is a group of rows.
type Group uint8

// The groups, in the order they are drawn.
const (
	Drums Group = iota
	Music
	Other // triggers, which have no sound of their own
)

// Row is one part.
type Row struct {
	Part  int // index into the song's parts
	Group Group
}

// Arrange makes the layout of a song in at most maxColumns columns, of which there must be at least
// one. A phrase (in bars, at least 1) is a whole number of columns or a column a whole number of
// phrases, counted from bar 1; the finest such division that fits is taken, down to sixteenth notes
// where the metre never changes, down to bars where it does. The errors are [ErrNoBars] and
// [ErrEmpty], no others.
func Arrange(s song.Song, phrase, maxColumns int) (Layout, error) {
	tl := s.Time()
	if tl == nil {
		return Layout{}, ErrNoBars
	}
	l := Layout{Bars: s.Bars(), ppq: tl.PPQ()}
	if l.Bars == 0 {
		return Layout{}, ErrEmpty
	}
	l.Phrase = min(max(phrase, 1), l.Bars)
	l.Unit = fit(l.Bars, l.Phrase, max(maxColumns, 1), barParts(tl))
	l.Columns = columns(tl, l.Bars, l.Unit)
	l.Rows = rows(s.Parts)
	return l, nil
}

// fit chooses the finest unit whose columns are no more than the most allowed. The parts are the
// ways a bar may be divided, the finest first.
func fit(bars, phrase, most int, parts []int) Unit {
	for _, p := range parts {
		if bars <= most/p {
			return Unit{1, p}
		}
	}
	for n := 1; n < phrase; n++ {
		if phrase%n == 0 && ceil(bars, n) <= most {
			return Unit{n, 1}
		}
	}
	phrases := ceil(bars, phrase)
	return Unit{phrase * ceil(phrases, most), 1}
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

func columns(tl *smf.Timeline, bars int, u Unit) []Column {
	out := make([]Column, 0, ceil(bars, u.Bars)*u.PerBar)
	for bar := 1; bar <= bars; bar += u.Bars {
		start, end := tl.BarStart(bar), tl.BarStart(bar+u.Bars)
		for i := range u.PerBar {
			n, of := song.Tick(i), song.Tick(u.PerBar)
			out = append(out, Column{start + (end-start)*n/of, start + (end-start)*(n+1)/of, bar})
		}
	}
	return out
}

// rows orders the parts: drums, then music, then the rest; within a group by job as jobs are listed
// to people, then by role, then as they stand in the song.
func rows(parts []song.Part) []Row {
	out := make([]Row, len(parts))
	for i, p := range parts {
		out[i] = Row{i, groupOf(p)}
	}
	jobs, roles := song.Jobs(), song.Roles()
	place := func(r Row) int {
		p := parts[r.Part]
		return int(r.Group)<<16 | orLast(slices.Index(jobs, jobOf(p)), len(jobs))<<8 | orLast(slices.Index(roles, p.Role), len(roles))
	}
	slices.SortStableFunc(out, func(a, b Row) int { return place(a) - place(b) })
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

func groupOf(p song.Part) Group {
	switch jobOf(p) {
	case song.JobBeat, song.JobBackbeat, song.JobTops, song.JobPerc:
		return Drums
	case song.NoJob:
		return Other
	}
	if p.Kit && p.Job == song.NoJob {
		return Drums // a whole kit that nobody has split
	}
	return Music
}

// ColumnOf returns the index of the column in which a bar (from 1) starts; bars outside the song
// count as its first or last.
func (l Layout) ColumnOf(bar int) int {
	bar = min(max(bar, 1), l.Bars)
	return (bar - 1) / l.Unit.Bars * l.Unit.PerBar
}

// ColumnAt returns the index of the column a tick lies in; ticks outside count as in the first or
// last.
func (l Layout) ColumnAt(t song.Tick) int {
	i, found := slices.BinarySearchFunc(l.Columns, t, func(c Column, t song.Tick) int {
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

// Lines returns the bars, from 1, at which a drawing has its grid lines: every bar where a bar has
// several columns, else every phrase, or the first phrase of every column.
func (l Layout) Lines() []int {
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
