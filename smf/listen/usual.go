package listen

import (
	"slices"

	"loopdraft/smf/song"
)

// usually returns a song as each part usually plays: what a song that was not laid out from a loop has
// in place of one, to tell what departs from it. lines are the bars at which phrases start, changes
// what changes at each of them.
//
// A part comes again after 1, 2, 4 ... bars: the fewest after which three quarters of the bars it plays
// in are the same, at most a phrase. From one line at which it changes to the next it plays, at each
// place of that pattern, the bar that is there most often, of equals the first. A phrase in which it plays
// in less than half of the bars it rests. Bars are the same that strike the same keys in the same
// sixteenths. Controllers do not move.
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
		u.pattern = u.comesAgain(phrase)
		from := 0
		for _, line := range append(changing[i], len(lines)) {
			u.play(from, line)
			from = line
		}
		out.Parts[i].Notes = u.plays
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
	plays   []song.Note
}

func (u *usual) comesAgain(phrase int) int {
	for n := 1; n < phrase; n *= 2 {
		same, bars := 0, 0
		for b := n; b < len(u.prints); b++ {
			if u.prints[b] != 0 {
				bars++
				if u.prints[b] == u.prints[b-n] {
					same++
				}
			}
		}
		if 4*same >= 3*bars {
			return n
		}
	}
	return phrase
}

// bars returns the first bar of a phrase and the one after its last.
func (u *usual) bars(line int) (first, end int) {
	if line+1 < len(u.lines) {
		return u.lines[line] - 1, u.lines[line+1] - 1
	}
	return u.lines[line] - 1, len(u.prints)
}

// play plays the phrases from one line up to another one, by index.
func (u *usual) play(from, to int) {
	type bar struct {
		place int
		print uint64
	}
	count := map[bar]int{}
	usual := make([]int, u.pattern) // by place: the first of its usual bars
	for i := range usual {
		usual[i] = -1
	}
	for pass := range 2 { // count, then choose
		for line := from; line < to; line++ {
			first, end := u.bars(line)
			for b := first; b < end; b++ {
				place := (b - first) % u.pattern
				this := bar{place, u.prints[b]}
				switch best := usual[place]; {
				case this.print == 0:
				case pass == 0:
					count[this]++
				case best < 0 || count[this] > count[bar{place, u.prints[best]}]:
					usual[place] = b
				}
			}
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
		for b := first; b < end && 2*played >= end-first; b++ {
			if as := usual[(b-first)%u.pattern]; as >= 0 {
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
