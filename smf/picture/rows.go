package picture

import (
	"fmt"
	"strings"

	"loopdraft/smf/song"
)

// parts draws the rows, each group under its name.
func (c *chart) parts() {
	c.tall = min(max(allRows/px(max(len(c.layout.Rows), 1))/pixel*pixel, leastRow), mostRow)
	if c.forPage {
		c.tall = pageRow
	}
	if len(c.layout.Rows) == 0 {
		c.y += c.tall
		c.beside(c.add(""), strong, plain, c.y, "(no notes)")
	}
	for i, r := range c.layout.Rows {
		if i == 0 || r.Group != c.layout.Rows[i-1].Group {
			c.y += groupGap
			c.beside(c.add(""), soft, small, c.y, r.Group.word())
		}
		c.tops = append(c.tops, c.y)
		c.part(i, c.song.Parts[r.Part])
		c.y += c.tall
	}
}

// word names a group of rows.
func (g rowGroup) word() string { return [...]string{"drums", "music", "other"}[g] }

// trackName returns what the file calls the part's track, which may be in letters that a part's name has not.
func (c *chart) trackName(p song.Part) string {
	if p.Track >= len(c.song.Tracks) {
		return ""
	}
	return cut(clean(c.song.Tracks[p.Track].Name, false), mostName, "…")
}

// part draws the row of a part, below what is there.
func (c *chart) part(row int, p song.Part) {
	name := c.names[c.layout.Rows[row].Part]
	base := c.y + c.tall - 4*pixel
	room := c.tall - 8*pixel
	what := string(p.Role)
	if p.Role == song.RoleUnknown {
		what = "unknown"
	}
	if track := c.trackName(p); track != "" && !strings.EqualFold(track, name) {
		what += fmt.Sprintf(" of track %s", track)
	}
	g := c.add(fmt.Sprintf("%s: %s, %s", name, what, count(len(p.Notes), "note")), attr{"part", name}, attr{"role", string(p.Role)})
	c.beside(g, strong, plain, base, name)
	g.marks = append(g.marks, mark{ink: hair, width: pixel, path: stroke(nil, point{c.left, base + pixel/2}, point{c.right, base + pixel/2})})
	levels := c.layout.fineLevels(p)
	if p.Pitched() {
		g.marks = append(g.marks, mark{ink: roleInk(p.Role), path: c.band(levels, c.layout.contour(p), base, room)})
	} else {
		g.marks = append(g.marks, c.strokes(levels, roleInk(p.Role), base, room)...)
	}
	for i, r := range c.rides[row] {
		c.ride(g, i, r, base, room)
	}
}

// strokes draws a column's level as a stroke that stands on the base line, with a head.
func (c *chart) strokes(levels []uint8, i ink, base, room px) []mark {
	width := min(c.column-pixel, mostStroke)
	var stems, heads []step
	for n, level := range levels {
		if level == 0 {
			continue
		}
		x := c.left + px(n)*c.column + width/2
		top := base - max(room*px(level)/(maxLevel*perLevel), 2*pixel)
		stems = stroke(stems, point{x, base}, point{x, top})
		heads = stroke(heads, point{x - width/2, top}, point{x + width/2, top})
	}
	return []mark{{ink: i, width: width, path: stems}, {ink: strong, width: pixel, path: heads}}
}

// band draws a pitched part as an area along the height of its notes.
func (c *chart) band(levels []uint8, keys []int, base, room px) []step {
	lowest, highest := 128*keyStep, -1
	for n, level := range levels {
		if level > 0 {
			lowest, highest = min(lowest, keys[n]), max(highest, keys[n])
		}
	}
	// A part that stays within less than an octave stays as flat as it sounds.
	if spare := 12*keyStep - (highest - lowest); spare > 0 {
		lowest, highest = lowest-spare/2, highest+spare-spare/2
	}
	widest := room * 2 / 5
	edge := func(n int) (above, below px) {
		width := pixel + (widest-pixel)*px(levels[n])/(maxLevel*perLevel)
		middle := base - widest/2 - (room-widest)*px(keys[n]-lowest)/px(highest-lowest)
		return middle - width/2, middle + width - width/2
	}
	var path []step
	for n := 0; n < len(levels); n++ {
		if levels[n] == 0 {
			continue
		}
		from := n
		for n+1 < len(levels) && levels[n+1] > 0 {
			n++
		}
		path = c.bandRun(path, from, n, edge)
	}
	return path
}

// bandRun draws the columns first to last: along the upper edge, back along the lower one. Where nothing
// changes there is no point.
func (c *chart) bandRun(path []step, first, last int, edge func(int) (above, below px)) []step {
	start := len(path)
	put := func(x, y px) { path = append(path, step{point{x, y}, len(path) > start}) }
	var lower []point
	for n := first; n <= last; n++ {
		above, below := edge(n)
		x := c.left + px(n)*c.column
		if n == first {
			put(x, above)
			lower = append(lower, point{x, below})
		}
		if n > first && n < last {
			a1, b1 := edge(n - 1)
			a2, b2 := edge(n + 1)
			if a1 == above && a2 == above && b1 == below && b2 == below {
				continue
			}
		}
		if first < last {
			put(x+c.column/2, above)
			lower = append(lower, point{x + c.column/2, below})
		}
		if n == last {
			put(x+c.column, above)
			lower = append(lower, point{x + c.column, below})
		}
	}
	for i := len(lower) - 1; i >= 0; i-- {
		put(lower[i].x, lower[i].y)
	}
	return path
}

// ride draws a controller over its part, and its name on the right with a piece of its line.
func (c *chart) ride(g *group, i int, r ride, base, room px) {
	dash := [mostRides]px{0, 4 * pixel, 15}[i]
	y := func(n int) px { return base - room*px(r.values[n])/px(r.most) }
	at := func(n int) point { return point{c.left + px(n)*c.column + c.column/2, y(n)} }
	var path []step
	for n := 0; n < len(r.values); n++ {
		if r.values[n] == r.rest {
			continue
		}
		// From the column before to the one after, where the controller rests.
		from := max(n-1, 0)
		for n+1 < len(r.values) && r.values[n+1] != r.rest {
			n++
		}
		path = append(path, step{point: at(from)})
		for m := from + 1; m <= min(n+1, len(r.values)-1); m++ {
			path = append(path, step{at(m), true})
		}
	}
	line := base - px(i)*(small.size()+pixel)
	g.marks = append(g.marks, mark{ink: strong, width: 12, dash: dash, path: path},
		mark{ink: strong, width: 12, dash: dash, path: stroke(nil, point{c.right + gap, line - 4*pixel}, point{c.right + gap + 16*pixel, line - 4*pixel})})
	c.label(g, soft, small, point{c.right + gap + 20*pixel, line}, r.name, false)
}

// energy draws how strong the bars sound, divided into low, middle and high.
func (c *chart) energy() {
	c.y += groupGap + energyHeight
	g := c.add("energy of each bar", attr{"energy", ""})
	c.beside(g, strong, plain, c.y, "energy")
	bars, loudest := c.layout.Unit.Bars, c.Structure.Energy.Loudest()
	var xs []px
	var tops [3][]px // upper edge of each band
	for first := 1; first <= c.layout.Bars; first += bars {
		last := min(first+bars-1, c.layout.Bars)
		var shares [3]float64
		for _, b := range c.Structure.Energy.Bars[first-1 : last] {
			sum := b.Sum()
			share := float64(sum.Share(loudest)) / 1000 / float64(last-first+1)
			for i, p := range b {
				shares[i] += float64(share * float64(p) / float64(max(sum, 1)))
			}
		}
		xs = append(xs, (c.barX(first)+c.barX(last+1))/2)
		sum := 0.0
		for i, s := range shares {
			sum += s
			half := px(sum*float64(energyHeight)/5 + 0.5) // to half a pixel
			tops[i] = append(tops[i], c.y-half*5)
		}
	}
	for i := len(tops) - 1; i >= 0; i-- {
		g.marks = append(g.marks, mark{ink: low + ink(i), path: c.hill(xs, tops[i], c.y)})
		y := c.y - px(i)*lineHeight
		x := c.right + gap
		g.marks = append(g.marks, mark{ink: low + ink(i), width: 8 * pixel, path: stroke(nil, point{x, y - 4*pixel}, point{x + 16*pixel, y - 4*pixel})})
		c.label(g, soft, small, point{x + 20*pixel, y}, [...]string{"low", "middle", "high"}[i], false)
	}
}

// hill is the area under a line of points, level from the first to the left and from the last to the right.
func (c *chart) hill(xs, tops []px, base px) []step {
	path := []step{{point: point{c.left, base}}, {point{c.left, tops[0]}, true}}
	for i, x := range xs {
		if i == 0 || i+1 == len(xs) || tops[i] != tops[i-1] || tops[i] != tops[i+1] {
			path = append(path, step{point{x, tops[i]}, true})
		}
	}
	return append(path, step{point{c.right, tops[len(tops)-1]}, true}, step{point{c.right, base}, true})
}

// movesBelow draws a row for each move, with a line wherever it was at work.
func (c *chart) movesBelow() {
	if len(c.moves) == 0 {
		return
	}
	c.y += groupGap
	for _, m := range c.moves {
		c.moveTops = append(c.moveTops, c.y)
		c.y += c.moveTall
		base := c.y - (c.moveTall-moveHeight)/2
		for i, w := range m.works {
			g := c.add(c.workText(m, w), attr{"move", m.label})
			if i == 0 {
				c.beside(g, soft, small, base, m.label)
			}
			g.marks = append(g.marks, mark{ink: grey, width: 4 * pixel, path: c.atWork(w.ranges, base-4*pixel)})
		}
	}
}

// workText says which parts a move changed; nothing where it names none.
func (c *chart) workText(m moveRow, w work) string {
	var parts []string
	for _, p := range w.parts {
		parts = append(parts, shown(p))
	}
	if len(parts) == 0 {
		return ""
	}
	return m.label + ": " + strings.Join(parts, ", ")
}

// atWork draws lines along ranges, each at least three pixels long; what touches becomes one.
func (c *chart) atWork(ranges []song.Range, y px) []step {
	end := c.layout.Columns[len(c.layout.Columns)-1].End
	var path []step
	reached := px(-1)
	for _, r := range sorted(ranges) {
		if r.Len() <= 0 || r.End <= 0 || r.Start >= end {
			continue
		}
		from, to := c.x(r.Start), c.x(r.End)
		to = max(to, from+3*pixel)
		switch {
		case from > reached:
			path = stroke(path, point{from, y}, point{to, y})
		case to > reached:
			path[len(path)-1].x = to
		}
		reached = max(reached, to)
	}
	return path
}
