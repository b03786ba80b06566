package song_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/smf/song"
)

func grid(t testing.TB, text string) song.Song {
	t.Helper()
	s, err := song.ParseGrid(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// lines puts rows one below the other.
func lines(rows ...string) string { return strings.Join(rows, "\n") + "\n" }

func TestGridsPrintAsTheyWereRead(t *testing.T) {
	for _, tt := range []struct{ rule, grid string }{
		{"hits, accents and soft ones", lines("kick x...X...o...x...")},
		{"held steps", lines("bass ..x-..x---..x---")},
		{"a note held over the bar line", lines("pad x---------------|--------x-------")},
		{"a row per key", lines("stab:67 x-..............", "stab:60 x-......x-......")},
		{"bars of seven eighths", lines("kick x...x...x.....|x...x...x.....")},
		{"bars of three quarters", lines("kick x...x...x...|x...x...x...")},
		{"a part that plays nothing", lines("kick x...x...x...x...", "hat  ................")},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := song.Grid(grid(t, tt.grid)); got != tt.grid {
				t.Errorf("got\n%swant\n%s", got, tt.grid)
			}
		})
	}
}

func TestGridsThatAreNone(t *testing.T) {
	for _, tt := range []struct{ rule, grid, want string }{
		{"no row", "\n", "found no row"},
		{"a label only", "kick", "want a label and its steps"},
		{"a strange letter", "kick x..z............", `line 1: found 'z' at step 4`},
		{"a hold with nothing to hold", "bass -...............", "held step 1"},
		{"a row with a short bar", "kick x...x...x...x...\nhat  x...", `line 2: found "x...", want 1 bars of 16 steps like the first row`},
		{"a row with a bar less", "kick x...x...x...x...|x...x...x...x...\nhat  x...............", "line 2: found \"x...............\", want 2 bars of 16 steps like the first row"},
		{"a row with a bar more", "kick x...\nhat  x...|x...", "want 1 bars of 4 steps like the first row"},
		{"a first row with a short second bar", "kick x...x...x...x...|x...", "line 1: found"},
		{"bar lines only", "kick |", `found "kick |", want a label and its steps`},
		{"two bar lines in a row", "kick x...||x...", "line 1: found"},
		{"a bar of more than 64 quarters", "kick " + strings.Repeat("x", 257), "found a bar of 257 steps, want 1 to 256"},
		{"a hold after a rest", "bass x..-............", "held step 4"},
		{"a key with a nought before it", "bass:036 x...............", `found key "036"`},
		{"a key outside 0 to 127", "bass:128 x...............", `found key "128"`},
		{"a name in capitals", "Kick x...............", `found label "Kick"`},
		{"a row twice", "kick x...............\nkick x...............", "found key 36"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			_, err := song.ParseGrid(tt.grid)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}

func TestStepsOfGrids(t *testing.T) {
	for _, tt := range []struct {
		rule, grid string
		steps      int
		want       string
	}{
		{"sixteenths divide a quarter by 4", "kick x...", 4, ""},
		{"sixteenth triplets by 6", "kick x.....", 6, ""},
		{"a quarter of 96 ticks has no sevenths", "kick x......", 7, "found 7 steps a quarter, want a divisor of 96"},
		{"nor fifths", "kick x....", 5, "found 5 steps a quarter, want a divisor of 96"},
		{"a step is not longer than a quarter", "kick x...", 0, "found 0 steps a quarter"},
		{"a metre has at most 255 beats", "kick " + strings.Repeat("x", 511), 8, "found bars of 511 steps at 8 a quarter"},
	} {
		_, err := song.ParseGridAt(tt.grid, tt.steps)
		if (err == nil) != (tt.want == "") || err != nil && !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want %q", tt.rule, err, tt.want)
		}
	}
}

func TestRowsWithoutBarLinesAreOfFourQuarters(t *testing.T) {
	const want = "kick x...x...x...x...|o...o...o...o...\n"
	s := grid(t, "kick x...x...x...x...o...o...o...o...")
	if got := song.Grid(s); got != want || s.Bars() != 2 {
		t.Errorf("got %d bars,\n%swant 2,\n%s", s.Bars(), got, want)
	}
}

func TestEachRowOfAGridHasAChannelWhileThereAreSome(t *testing.T) {
	var rows []string
	for i := range 18 {
		rows = append(rows, fmt.Sprintf("part-%d x...x...x...x...", i))
	}
	for i, p := range grid(t, lines(rows...)).Parts {
		if int(p.Channel) != i%16 || p.Track != i {
			t.Errorf("%s is on track %d and channel %d, want %d and %d", p.Name, p.Track, p.Channel, i, i%16)
		}
	}
}

func TestNotesPastTheEndAreNotDrawn(t *testing.T) {
	const want = "kick x...x...x...x...\n"
	s := grid(t, want)
	s.Parts[0].Notes = append(s.Parts[0].Notes, song.Note{Start: s.End, End: s.End + 24, Key: 36, Vel: 100})
	if got := song.Grid(s); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

func ExampleGrid() {
	s, _ := song.ParseGrid(`
		kick x...x...x...x...
		bass ..x-..x-..x-..x-`)
	fmt.Println(s.Bars(), "bar,", len(s.Parts[0].Notes), "kicks")
	fmt.Print(song.Grid(s))
	// Output:
	// 1 bar, 4 kicks
	// kick x...x...x...x...
	// bass ..x-..x-..x-..x-
}

// FuzzGrid states the law: what a grid prints reads as the same song and prints the same.
func FuzzGrid(f *testing.F) {
	f.Add("kick x...X...o...x...")
	f.Add("bass:40 ..x-..x---..|x---x-------")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := song.ParseGrid(text)
		if err != nil {
			return
		}
		once := song.Grid(s)
		again, err := song.ParseGrid(once)
		if err != nil {
			t.Fatalf("printed\n%swhich does not read: %v", once, err)
		}
		if twice := song.Grid(again); twice != once {
			t.Errorf("printed\n%sthen\n%s", once, twice)
		}
	})
}
