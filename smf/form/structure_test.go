package form_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

func structureOf(t testing.TB, s song.Song, phrase int) form.Structure {
	t.Helper()
	st, err := form.StructureOf(s, phrase)
	if err != nil {
		t.Fatal(err)
	}
	checkStructure(t, s, st)
	return st
}

// checkStructure holds what is true of any structure.
func checkStructure(t testing.TB, s song.Song, st form.Structure) {
	t.Helper()
	if len(st.Bars) != s.Bars() || st.Phrase < 1 || len(st.Energy.Bars) != s.Bars() {
		t.Fatalf("%d bars, phrases of %d, want %d bars", len(st.Bars), st.Phrase, s.Bars())
	}
	for i, b := range st.Bars {
		if !(b.Strength >= 0 && b.Strength <= 1) || i == 0 && b.Strength > 0 {
			t.Errorf("bar %d: strength %v", i+1, b.Strength)
		}
		if !slices.IsSorted(b.Parts) || len(slices.Compact(slices.Clone(b.Parts))) != len(b.Parts) {
			t.Errorf("bar %d: parts %v", i+1, b.Parts)
		}
		if !b.Line && len(b.Changes)+len(b.Preparing) > 0 {
			t.Errorf("bar %d is no line and has %v, %v", i+1, b.Changes, b.Preparing)
		}
	}
	for i, bar := range st.Boundaries {
		if bar < 2 || bar > len(st.Bars) || !st.Bars[bar-1].Line || i > 0 && bar <= st.Boundaries[i-1] {
			t.Errorf("boundaries %v", st.Boundaries)
		}
	}
}

const (
	rest      = "................"
	downbeats = "x...x...x...x..."
	upbeats   = "..x...x...x...x."
	tune      = "x...x...x.x.x..."
)

// These are two melodies of eight bars of which none is like another.
const (
	melody = "x...x...x.x.x...|..x...x...x...x.|x.x.x...x...x...|x...x.x.x.x.x...|x.......x.x.x...|x...x...x.......|x.x.x.x.x.x.x.x.|x.......x.......|"
	reply  = "..x.x...x.....x.|x.....x.x.....x.|..x.....x...x.x.|x...x.....x.x...|....x.x.x.....x.|x.x.....x.x.....|..x...x.x.x.....|x...........x...|"
)

func TestPartsSoundInBars(t *testing.T) {
	s := drawn(t,
		"kick "+downbeats+"|"+rest+"|"+rest+"|"+downbeats,
		"pad:60 x---------------|----------------|................|................",
		"bass "+rest+"|"+rest+"|"+rest+"|..x-............",
	)
	e := s.Edit()
	e.Insert(2, smf.Channel(0, 0xB2, 7, 0)) // the bass is turned down to nothing
	e.Place(1, song.Note{Start: 3*bar - 2, End: 3*bar + 24, Key: 64, Vel: 100})
	s = e.Song()
	st := structureOf(t, s, 8)
	for i, want := range [][]int{{0, 1}, {1}, nil, {0, 1}} { // the early note of the pad counts to bar 4
		if !slices.Equal(st.Bars[i].Parts, want) {
			t.Errorf("bar %d: got %v, want %v", i+1, st.Bars[i].Parts, want)
		}
	}
}

func TestStructure(t *testing.T) {
	for _, row := range []struct {
		rule       string
		rows       []string
		phrase     int
		boundaries []int
		changes    string // bar: part what
		preparing  string // bar: parts
	}{
		{"nothing changes", []string{"kick " + times(16, downbeats)}, 4, nil, "", ""},
		{"a part comes in and goes", []string{"kick " + times(24, downbeats), "hat " + times(8, rest) + times(8, upbeats) + times(8, rest)}, 8, []int{9, 17},
			"9 hat in or out, 17 hat in or out", ""},
		{"the kick rests before the change", []string{"kick " + times(7, downbeats) + rest + "|" + times(8, downbeats), "hat " + times(8, rest) + times(8, upbeats)}, 8, []int{9},
			"9 hat in or out", "9 kick"},
		{"a fill before it", []string{"snare " + times(7, "....x.......x...") + "....x.......xxxx|" + times(8, "....x.......x..."), "hat " + times(8, rest) + times(8, upbeats)}, 8, []int{9},
			"9 hat in or out", "9 snare"},
		{"what is played in each fourth bar is usual and prepares nothing", []string{"snare " + times(4, strings.Repeat("....x.......x...|", 3)+"....x.......xxxx"), "hat " + times(8, rest) + times(8, upbeats)}, 8, []int{9},
			"9 hat in or out", ""},
		{"the lines of a song begin where it sounds", []string{"kick " + times(1, rest) + times(16, downbeats), "hat " + times(9, rest) + times(8, upbeats)}, 8, []int{10},
			"10 hat in or out", ""},
		{"after the last stretch there is no line", []string{"kick " + times(9, downbeats), "hat " + times(8, upbeats) + rest + "|"}, 8, nil, "", ""},
		{"a small change beside a great one is no boundary", []string{
			"kick " + times(24, downbeats), "hat " + times(24, upbeats), "clap " + times(8, "x.......x.......") + times(16, rest),
			"bass " + times(16, rest) + times(8, upbeats), "pad:60 " + times(16, rest) + times(8, "x---------------"), "lead:72 " + times(16, rest) + times(8, tune),
		}, 8, []int{17}, "9 clap in or out, 17 bass in or out, 17 pad in or out, 17 lead in or out", ""},
		{"what comes again and again is a loop, not stretches", []string{"lead:60 " + strings.Repeat(melody, 5)}, 8, nil, "", ""},
		{"a tune said twice, and another as loud", []string{
			"lead:60 " + strings.Repeat(melody, 2) + times(16, rest),
			"lead:65 " + times(16, rest) + strings.Repeat(reply, 2),
			"bass:36 " + times(32, downbeats), "kick " + times(32, downbeats),
		}, 0, []int{9, 17, 25}, "", ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s := drawn(t, row.rows...)
			st := structureOf(t, s, row.phrase)
			var changes, preparing []string
			for i, b := range st.Bars {
				for _, c := range b.Changes {
					changes = append(changes, fmt.Sprintf("%d %s %s", i+1, s.Parts[c.Part].Name, c.What))
				}
				for _, p := range b.Preparing {
					preparing = append(preparing, fmt.Sprintf("%d %s", i+1, s.Parts[p].Name))
				}
			}
			if !slices.Equal(st.Boundaries, row.boundaries) || strings.Join(changes, ", ") != row.changes || strings.Join(preparing, ", ") != row.preparing {
				t.Errorf("got %v, %q, %q\nwant %v, %q, %q", st.Boundaries, changes, preparing, row.boundaries, row.changes, row.preparing)
			}
		})
	}
}

// TestPhrasesOfATune: four bars each said twice make phrases of four, eight bars phrases of eight.
func TestPhrasesOfATune(t *testing.T) {
	for _, row := range []struct {
		bars []string
		want int
	}{
		{[]string{tune, upbeats, downbeats, tune}, 4},
		{[]string{tune, upbeats, downbeats, tune, upbeats, upbeats, tune, downbeats}, 8},
	} {
		said := ""
		for _, key := range []string{"60", "62", "64"} {
			said += "lead:" + key + " "
			for _, other := range []string{"60", "62", "64"} {
				for range 2 {
					for _, b := range row.bars {
						if other != key {
							b = rest
						}
						said += b + "|"
					}
				}
			}
			said += "\n"
		}
		if st := structureOf(t, drawn(t, said), 0); st.Phrase != row.want {
			t.Errorf("%d bars said twice: got phrases of %d", len(row.bars), st.Phrase)
		}
	}
}

func TestLinesAreCountedFromMarkers(t *testing.T) {
	s := drawn(t, "kick "+times(28, downbeats))
	e := s.Edit()
	e.InsertMeta(0, 4*bar, 0x06, []byte("verse"))
	e.InsertMeta(0, 16*bar, 0x06, []byte("chorus"))
	st := structureOf(t, e.Song(), 8)
	var lines []int
	for i, b := range st.Bars {
		if b.Line {
			lines = append(lines, i+1)
		}
	}
	if want := []int{1, 5, 13, 17, 25}; !slices.Equal(lines, want) || len(st.Sections) != 3 || st.Sections[2].Name != "chorus" {
		t.Errorf("got lines %v and sections %v, want lines %v", lines, st.Sections, want)
	}
	if len(st.Boundaries) > 0 {
		t.Errorf("got boundaries %v of markers alone", st.Boundaries)
	}
}

func TestTheStrongerChangeIsStronger(t *testing.T) {
	st := structureOf(t, drawn(t,
		"kick "+times(24, downbeats),
		"hat "+times(8, rest)+times(16, upbeats),
		"bass "+times(16, rest)+times(8, upbeats),
		"pad:60 "+times(16, rest)+times(8, "x---------------"),
	), 8)
	if a, b := st.Bars[8].Strength, st.Bars[16].Strength; !(a > 0.1 && b > a) {
		t.Errorf("one part comes in with %v, two with %v", a, b)
	}
	long := drawn(t, "kick "+times(128, downbeats), "hat "+times(64, rest)+times(64, upbeats))
	if a, b := structureOf(t, long, 32).Bars[60].Strength, structureOf(t, long, 64).Bars[60].Strength; a != b || a == 0 {
		t.Errorf("over half a phrase of 32 bars the strength is %v, over one of 64 %v, want the same: 16 bars are enough", a, b)
	}
	if v := st.Bars[4].Strength; v != 0 {
		t.Errorf("in the middle of nothing new: %v", v)
	}
}

// TestOddSongsHaveAStructure: whatever is odd gives an answer that makes sense, or one clear error.
// A note just before the end counts to a bar that the song does not have.
func TestASongMayEndOnAnEarlyNote(t *testing.T) {
	early := drawn(t, "pad "+times(16, upbeats))
	early.Parts[0].Notes = slices.Clone(early.Parts[0].Notes)
	last := &early.Parts[0].Notes[len(early.Parts[0].Notes)-1]
	last.Start, last.End = early.End-2, early.End-1
	if st := structureOf(t, early, 8); len(st.Bars) != 16 || len(st.Boundaries) > 0 {
		t.Errorf("got %d bars and boundaries %v", len(st.Bars), st.Boundaries)
	}
}

func TestOddSongsHaveAStructure(t *testing.T) {
	var sixty []string
	for i := range 60 {
		sixty = append(sixty, fmt.Sprintf("synth-%d:%d %s", i, 40+i, times(16, upbeats)))
	}
	short := drawn(t, "pad:60 x---")
	none := drawn(t, "pad "+times(9, rest))
	silent := drawn(t, "kick "+times(9, downbeats), "bass "+times(9, upbeats))
	e := silent.Edit()
	for i := range uint8(2) {
		e.Insert(int(i), smf.Channel(0, 0xB0|i, 7, 0))
	}
	silent = e.Song()
	zero := drawn(t, "bass "+times(9, upbeats))
	zero.Parts[0].Notes = slices.Clone(zero.Parts[0].Notes)
	for i := range zero.Parts[0].Notes {
		zero.Parts[0].Notes[i].End = zero.Parts[0].Notes[i].Start
	}
	for _, row := range []struct {
		rule  string
		song  song.Song
		parts int // that sound in the first bar
	}{
		{"one bar", short, 1}, {"nothing plays", none, 0}, {"all is turned down", silent, 0}, {"60 tracks", drawn(t, sixty...), 60},
		{"drums only", drawn(t, "kick "+times(16, downbeats), "hat "+times(16, upbeats)), 2}, {"notes without a length", zero, 1},
	} {
		t.Run(row.rule, func(t *testing.T) {
			for _, phrase := range []int{0, 1, 3, 8, math.MaxInt} {
				st := structureOf(t, row.song, phrase)
				if len(st.Bars[0].Parts) != row.parts || len(st.Boundaries) > 0 {
					t.Errorf("phrase %d: got %v and boundaries %v", phrase, st.Bars[0].Parts, st.Boundaries)
				}
			}
		})
	}
	if _, err := form.StructureOf(song.Song{}, 0); err == nil {
		t.Error("a song without bars has a structure")
	}
}
