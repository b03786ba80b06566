package picture

import (
	"cmp"
	"slices"

	"loopdraft/smf/song"
)

// mostRides is how many controllers are drawn over a part.
const mostRides = 3

// ride is the value of a controller over the columns.
type ride struct {
	name   string
	most   int   // the controller's largest value
	rest   int   // the value it has in most columns
	values []int // means of the columns
}

// rides returns, for each row, the controllers that move over its part's channel; where parts share a
// channel, over the uppermost. Of more than mostRides those count that are set most often. Bank, data
// entry, parameter numbers and pedals are left out: they are no curves.
func (l layout) rides(s song.Song) [][]ride {
	out := make([][]ride, len(l.Rows))
	tracks := make([][]controlled, len(s.Tracks))
	for i, t := range s.Tracks {
		tracks[i] = controllersOf(t.Events)
	}
	type lane struct {
		track   int
		channel uint8
	}
	taken := map[lane]bool{}
	for i, r := range l.Rows {
		p := s.Parts[r.Part]
		if at := (lane{p.Track, p.Channel}); !taken[at] {
			taken[at] = true
			out[i] = l.ridesOf(tracks[p.Track], p.Channel)
		}
	}
	return out
}

// controlled is a controller on a channel and what it is set to.
type controlled struct {
	channel uint8
	id      song.Controller
	points  song.Points
}

// controllersOf gathers the controllers of a track that are set to different values, by channel, those
// set most often first.
func controllersOf(events []song.Event) []controlled {
	var out []controlled
	place := map[int]int{} // by channel and controller
	for _, ev := range events {
		id, v, ok := ev.Of()
		if !ok || noCurve(id) {
			continue
		}
		key := int(ev.Chan())<<8 | int(id)
		i, known := place[key]
		if !known {
			i = len(out)
			place[key] = i
			out = append(out, controlled{channel: ev.Chan(), id: id})
		}
		if n := len(out[i].points); n == 0 || out[i].points[n-1].Value != v {
			out[i].points = append(out[i].points, song.Point{Tick: ev.Tick, Value: v})
		}
	}
	out = slices.DeleteFunc(out, func(c controlled) bool { return len(c.points) < 2 })
	slices.SortFunc(out, func(a, b controlled) int {
		return cmp.Or(cmp.Compare(a.channel, b.channel), cmp.Compare(len(b.points), len(a.points)), cmp.Compare(a.id, b.id))
	})
	return out
}

// noCurve tells controllers whose values are no curve: bank, data entry and parameter numbers, pedals.
func noCurve(id song.Controller) bool {
	return id == 0 || id == 32 || id == 6 || id == 38 || id >= 64 && id <= 69 || id >= 96 && id <= 101
}

// ridesOf returns the first controllers of a channel that do not rest all the time. So many candidates
// are looked at that a channel costs no more than its events and some columns.
func (l layout) ridesOf(all []controlled, channel uint8) []ride {
	var out []ride
	candidates := 2 * mostRides
	for _, c := range all {
		if c.channel != channel || candidates == 0 || len(out) == mostRides {
			continue
		}
		candidates--
		values := l.means(c.points)
		first := l.columnAt(c.points[0].Tick)
		rest := mostOften(values[first:])
		for i := range first {
			values[i] = rest // nobody knows
		}
		if slices.ContainsFunc(values, func(v int) bool { return v != rest }) {
			out = append(out, ride{c.id.Word(), c.id.Max(), rest, values})
		}
	}
	return out
}

// means returns the mean value of a controller in each column, as if it had its first value from the start.
func (l layout) means(points song.Points) []int {
	out := make([]int, len(l.Columns))
	i := 0
	for n, col := range l.Columns {
		sum, at := int64(0), col.Start
		for i+1 < len(points) && points[i+1].Tick < col.End {
			next := max(points[i+1].Tick, at)
			sum += int64(next-at) * int64(points[i].Value)
			at = next
			i++
		}
		sum += int64(col.End-at) * int64(points[i].Value)
		out[n] = int(sum / max(int64(col.End-col.Start), 1))
	}
	return out
}

// mostOften returns the value that is there most often, the smallest of several.
func mostOften(values []int) int {
	ordered := slices.Sorted(slices.Values(values))
	best, most, run := ordered[0], 0, 0
	for i, v := range ordered {
		if run++; i > 0 && v != ordered[i-1] {
			run = 1
		}
		if run > most {
			best, most = v, run
		}
	}
	return best
}

// keyStep is how finely heights of notes are told apart: steps of a semitone.
const keyStep = 16

// contour returns for each column the mean key of the notes that start in it, in keyStep; where none
// starts, that of the column before. It takes time linear in the part's notes.
func (l layout) contour(p song.Part) []int {
	sums, counts := make([]int, len(l.Columns)), make([]int, len(l.Columns))
	col := 0
	for _, n := range p.Notes {
		if col = l.columnOf(col, n.Start); n.Start >= l.Columns[col].End {
			break
		}
		sums[col] += int(n.Key)
		counts[col]++
	}
	last := 0
	for i := range sums {
		if counts[i] > 0 {
			last = (sums[i]*keyStep + counts[i]/2) / counts[i]
		}
		sums[i] = last
	}
	return sums
}

// sorted returns ranges in order of their starts.
func sorted(ranges []song.Range) []song.Range {
	out := slices.Clone(ranges)
	slices.SortFunc(out, func(a, b song.Range) int { return cmp.Compare(a.Start, b.Start) })
	return out
}
