package form

import (
	"slices"

	"loopdraft/smf/song"
)

// usually returns a song as each part usually plays: what a song that was not laid out from a loop has
// in place of one, to tell what departs from it. lines are the bars at which phrases start, changes
// what changes at each of them.
//
// The pattern of a part is 1, 2, 4 ... bars long: the shortest length after which three quarters of the bars in which
// it plays are repeated, else a phrase. Between two lines at which the part changes, it usually plays at each place of
// its pattern the bar that stands there most often, the first of several. Where no bar stands there twice, that is the
// most frequent one of the whole song. A bar that stands at its place in more than half of the song's phrases, and in
// three at least, is usual there too: it is the turnaround of a loop. In a phrase of which the part plays no more than
// half of the bars, it usually rests. Two bars are the same if they strike the same keys in the same sixteenths. In
// the song that is returned, controllers do not move.
func usually(s song.Song, phrase int, lines []int, changes [][]LineChange) song.Song {
	out := s
	out.Tracks = make([]*song.Track, len(s.Tracks))
	for i, t := range s.Tracks {
		out.Tracks[i] = t.With(nil, t.End)
	}
	changing := make([][]int, len(s.Parts)) // lines at which each part changes
	for line, list := range changes {
		for _, c := range list {
			changing[c.Part] = append(changing[c.Part], line)
		}
	}
	out.Parts = slices.Clone(s.Parts)
	for i := range out.Parts {
		notes := notesByBar(s, s.Parts[i])
		u := usual{song: s, lines: lines, notes: notes, prints: printsOf(s, notes), plays: make([]song.Note, 0, len(s.Parts[i].Notes))}
		var again bool
		if u.pattern, again = u.comesAgain(phrase); again {
			u.common, u.often = u.mostOften(0, len(lines))
			u.setOwn(phrase)
		}
		from := 0
		for _, line := range append(changing[i], len(lines)) {
			u.play(from, line)
			from = line
		}
		if !slices.Equal(u.plays, s.Parts[i].Notes) { // else they are shared
			out.Parts[i].Notes = u.plays
		}
	}
	return out
}

// usual is a part on the way to what it usually plays. Bars count from 0 here.
type usual struct {
	song    song.Song
	lines   []int         // bars from 1
	notes   [][]song.Note // by bar
	prints  []uint64      // of the bars
	pattern int           // bars after which it comes again
	common  []int         // by place in it, the bars that are there most often in the whole song; nil if it does not
	often   []int         // and how often
	own     []uint64      // by place in a phrase, what more than half of the phrases have there; 0 for nothing
	plays   []song.Note
}

// comesAgain returns the bars after which the part comes again; false where it does not after a phrase.
func (u *usual) comesAgain(phrase int) (bars int, does bool) {
	for n := 1; n < phrase; n *= 2 {
		if u.comesAgainAfter(n) {
			return n, true
		}
	}
	return phrase, u.comesAgainAfter(phrase)
}

func (u *usual) comesAgainAfter(n int) bool {
	same, both, plays := 0, 0, 0
	for b := n; b < len(u.prints); b++ {
		switch is, was := u.prints[b], u.prints[b-n]; {
		case is == 0:
		case was == 0:
			plays++
		default:
			plays, both = plays+1, both+1
			if is == was {
				same++
			}
		}
	}
	return 3*both >= 2*plays && 4*same >= 3*both
}

// bars returns the first bar of a phrase and the one after its last.
func (u *usual) bars(line int) (first, end int) {
	if line+1 < len(u.lines) {
		return u.lines[line] - 1, u.lines[line+1] - 1
	}
	return u.lines[line] - 1, len(u.prints)
}

// barOf is a bar by its place in the pattern and what is struck in it.
type barOf struct {
	place int
	print uint64
}

// mostOften returns, by place in the pattern, the first of the bars that are there most often from one line
// up to another one, by index, and how often; -1 where there is silence only.
func (u *usual) mostOften(from, to int) (bars, times []int) {
	count := map[barOf]int{}
	bars, times = make([]int, u.pattern), make([]int, u.pattern)
	for i := range bars {
		bars[i] = -1
	}
	for pass := range 2 { // count, then choose
		for line := from; line < to; line++ {
			first, end := u.bars(line)
			for b := first; b < end; b++ {
				this := barOf{(b - first) % u.pattern, u.prints[b]}
				switch {
				case this.print == 0:
				case pass == 0:
					count[this]++
				case count[this] > times[this.place]:
					bars[this.place], times[this.place] = b, count[this]
				}
			}
		}
	}
	return bars, times
}

// setOwn finds what most phrases have at each of their places.
func (u *usual) setOwn(phrase int) {
	whole := *u
	whole.pattern = phrase
	bars, times := whole.mostOften(0, len(u.lines))
	u.own = make([]uint64, phrase)
	for place, b := range bars {
		if b >= 0 && times[place] > 2 && 2*times[place] > len(u.lines) {
			u.own[place] = u.prints[b]
		}
	}
}

// play plays the phrases from one line up to another one, by index.
func (u *usual) play(from, to int) {
	usual, times := u.mostOften(from, to)
	for place := range u.common {
		if times[place] < 2 && u.often[place] > 1 {
			usual[place] = u.common[place]
		}
	}
	for line := from; line < to; line++ {
		first, end := u.bars(line)
		played := 0
		for b := first; b < end; b++ {
			if u.prints[b] != 0 {
				played++
			}
		}
		for b := first; b < end && 2*played > end-first; b++ {
			if place := b - first; place < len(u.own) && u.own[place] != 0 && u.own[place] == u.prints[b] {
				u.lay(b, b)
			} else if as := usual[(b-first)%u.pattern]; as >= 0 {
				u.lay(as, b)
			}
		}
	}
}

// lay lays one bar of the part in the place of another one; where their lengths differ, it stays as it is.
func (u *usual) lay(as, b int) {
	tl := u.song.Time()
	if tl.BarTicks(as+1) != tl.BarTicks(b+1) {
		as = b
	}
	shift := tl.BarStart(b+1) - tl.BarStart(as+1)
	for _, n := range u.notes[as] {
		n.Start, n.End = n.Start+shift, n.End+shift
		u.plays = append(u.plays, n)
	}
}
