//go:build oracles

package form

import (
	"strings"
	"testing"

	"loopdraft/smf/song"
)

// TestUsualBars holds what a part usually plays in phrases of four bars; | is a bar line, a row of changes
// the lines, from 0, at which the part changes.
func TestUsualBars(t *testing.T) {
	const beats, fill, rest, other = "x...x...", "x.x.x.x.", "........", "..x...x."
	bars := func(list ...string) string { return strings.Join(list, "|") }
	for _, row := range []struct {
		rule    string
		plays   string
		changes []int
		want    string
	}{
		{"a fill is not usual", bars(beats, beats, beats, beats, beats, beats, beats, fill), nil,
			bars(beats, beats, beats, beats, beats, beats, beats, beats)},
		{"what comes in each phrase is", bars(beats, beats, beats, fill, beats, beats, beats, fill), nil,
			bars(beats, beats, beats, fill, beats, beats, beats, fill)},
		{"nor is a bar of rest", bars(beats, beats, beats, beats, beats, beats, beats, rest), nil,
			bars(beats, beats, beats, beats, beats, beats, beats, beats)},
		{"a pattern of two bars stays one", bars(beats, other, beats, other, beats, other, beats, fill), nil,
			bars(beats, other, beats, other, beats, other, beats, other)},
		{"a bar alone in a phrase is not usual", bars(rest, rest, rest, fill, beats, beats, beats, beats), []int{1},
			bars(rest, rest, rest, rest, beats, beats, beats, beats)},
		{"where it changes it has other usual bars", bars(beats, beats, beats, beats, beats, beats, beats, beats, other, other, other, other, other, other, other, fill), []int{2},
			bars(beats, beats, beats, beats, beats, beats, beats, beats, other, other, other, other, other, other, other, other)},
		{"of equals the first", bars(beats, other, fill, rest, other, beats, rest, fill), nil,
			bars(beats, other, fill, fill, beats, other, fill, fill)},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, err := song.ParseGrid("hat |" + row.plays + "|")
			if err != nil {
				t.Fatal(err)
			}
			lines := []int{1, 5, 9, 13}[:s.Bars()/4]
			changes := make([][]LineChange, len(lines))
			for _, line := range row.changes {
				changes[line] = []LineChange{{Part: 0}}
			}
			want, _ := song.ParseGrid("hat |" + row.want + "|")
			if got := song.Grid(usually(s, 4, lines, changes)); got != song.Grid(want) {
				t.Errorf("plays\n%s\ngot\n%s\nwant\n%s", song.Grid(s), got, song.Grid(want))
			}
		})
	}
}

// TestTheTurnaroundOfALoopIsUsual: in phrases of eight bars, the last of which is another one in three of five, a fill in
// one and like the others in one.
func TestTheTurnaroundOfALoopIsUsual(t *testing.T) {
	const beats, turn, fill = "x...x...|", "x..x..x.|", "x.x.x.x.|"
	phrase := strings.Repeat(beats, 7)
	s, err := song.ParseGrid("hat " + phrase + turn + phrase + turn + phrase + beats + phrase + fill + phrase + turn)
	if err != nil {
		t.Fatal(err)
	}
	want, _ := song.ParseGrid("hat " + phrase + turn + phrase + turn + phrase + beats + phrase + beats + phrase + turn)
	lines := []int{1, 9, 17, 25, 33}
	if got := song.Grid(usually(s, 8, lines, make([][]LineChange, len(lines)))); got != song.Grid(want) {
		t.Errorf("got\n%s\nwant\n%s", got, song.Grid(want))
	}
}

// TestBarsOfOtherLengthsStayAsTheyAre: in phrases of two bars, the last two in another metre.
func TestBarsOfOtherLengthsStayAsTheyAre(t *testing.T) {
	s, err := song.ParseGrid("hat " + strings.Repeat("x...x...x...x...|x...x...x...x.x.|", 4))
	if err != nil {
		t.Fatal(err)
	}
	e := s.Edit()
	e.InsertMeta(0, 6*384, 0x58, []byte{3, 2, 24, 8})
	s = e.Song()
	lines := []int{1, 3, 5, 7}
	got := usually(s, 2, lines, make([][]LineChange, 4))
	for bar := 7; bar <= 8; bar++ {
		if a, b := s.In(s.Parts[0], s.BarRange(bar, bar)), got.In(got.Parts[0], got.BarRange(bar, bar)); len(a) != len(b) {
			t.Errorf("bar %d: got %d notes, want %d", bar, len(b), len(a))
		}
	}
}

// TestBarsAreTheSameWherePlayedALittleEarlyOrLate: by less than half of a sixteenth, in whatever order.
func TestBarsAreTheSameWherePlayedALittleEarlyOrLate(t *testing.T) {
	s, err := song.ParseGrid("bass:40 x...x...|x...x...|x...x...|x...x...\nbass:43 x.......|x.......|x.......|x.......")
	if err != nil {
		t.Fatal(err)
	}
	e := s.Edit()
	n := 0
	e.Map(0, func(note song.Note) (song.Note, bool) {
		by := []song.Tick{0, 0, 0, 9, -4, -11, 4, 11, 11}[min(n, 8)]
		n++
		note.Start, note.End = note.Start+by, note.End+by
		return note, true
	})
	s = e.Song()
	p := printsOf(s, notesByBar(s, s.Parts[0]))
	if p[0] != p[1] || p[1] != p[2] || p[2] != p[3] || p[0] == 0 {
		t.Errorf("got %x of\n%s", p, song.Grid(s))
	}
}
