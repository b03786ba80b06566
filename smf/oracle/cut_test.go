//go:build oracles

package oracle

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// pieceOf makes a piece of a grid of sixteenth notes with markers at bars, written "1 Verse; 5 Chorus".
func pieceOf(t *testing.T, grid, markers string) piece {
	t.Helper()
	s, err := song.ParseGrid(grid)
	if err != nil {
		t.Fatal(err)
	}
	e := s.Edit()
	for m := range strings.SplitSeq(markers, "; ") {
		if bar, text, ok := strings.Cut(m, " "); ok {
			e.InsertMeta(0, s.Time().BarStart(atoi(t, bar)), metaMarker, []byte(text))
		}
	}
	s = e.Song()
	b, err := s.File().Encode()
	if err != nil {
		t.Fatal(err)
	}
	p, err := newPiece(b)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// gridOf draws a file, a row a key.
func gridOf(t *testing.T, f *smf.File) string {
	t.Helper()
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	return song.Grid(s)
}

// Notes are taken by their onsets: what sounds at the first line is left out, what sounds at the last is ended there.
func TestALoopIsCutOnItsBarLines(t *testing.T) {
	p := pieceOf(t, `
		kick    x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
		hat     ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
		bass:40 ................|............x---|----------------|................|............x---|----------------
		bass:43 ................|x---............|........x-------|x---............|................|x---............`, "")
	got := p.cut(stretch{bar: 2, bars: 4})
	if got == nil {
		t.Fatal("nothing is cut")
	}
	want := pieceOf(t, `
		kick    x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
		hat     ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
		bass:40 ............x---|----------------|................|............x---
		bass:43 x---............|........x-------|x---............|................`, "")
	if got, want := gridOf(t, got), gridOf(t, want.file); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	got = p.cut(stretch{bar: 3, bars: 4})
	want = pieceOf(t, `
		kick    x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
		hat     ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
		bass:40 ................|................|............x---|----------------
		bass:43 ........x-------|x---............|................|x---............`, "")
	if got, want := gridOf(t, got), gridOf(t, want.file); got != want {
		t.Errorf("a note that sounds at the first line: got\n%swant\n%s", got, want)
	}
}

func TestTooLittleIsNoLoop(t *testing.T) {
	for _, tt := range []struct{ rule, grid string }{
		{"31 notes", `
			kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
			hat  ..x...x...x...x.|..x...x...x.....|..x...x.........|..x...x.........
			bass x...............|x...............|x...............|x...............`},
		{"two parts", `
			kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
			hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`},
	} {
		if pieceOf(t, tt.grid, "").cut(stretch{bar: 1, bars: 4}) != nil {
			t.Errorf("%s are cut", tt.rule)
		}
	}
}

// What holds at bar 2 of what was set in bar 1: of each kind and controller the last.
func TestSettingsGoToTheFirstTick(t *testing.T) {
	var track smf.Track
	track.AppendMeta(0, 0x03, []byte("bass"))
	track.Append(smf.Channel(0, 0xC1, 38, 0))
	track.Append(smf.Channel(0, 0xB1, 7, 100))
	track.Append(smf.Channel(0, 0xB1, 10, 64))
	track.AppendMeta(96, metaMarker, []byte("Verse"))
	track.Append(smf.Channel(96, 0x91, 40, 90)) // held over the line
	track.Append(smf.Channel(200, 0xB1, 7, 80))
	track.Append(smf.Channel(200, 0xE1, 0, 70))
	track.Append(smf.Channel(200, 0xE2, 0, 64)) // another channel
	track.Append(smf.Channel(384, 0xB1, 7, 60)) // at the line
	track.Append(smf.Channel(480, 0x81, 40, 64))
	checkCut(t, track, 0, `track
		0 ff 03 04 62 61 73 73
		0 c1 26
		0 b1 0a 40
		0 b1 07 50
		0 e1 00 46
		0 e2 00 40
		0 b1 07 3c
		384 ff 2f 00
	`)
}

// At the last line, which is tick 768, notes are ended, and nothing else is taken.
func TestWhatStandsAtTheLastLine(t *testing.T) {
	var track smf.Track
	track.Append(smf.Channel(384, 0x91, 50, 90))
	track.Append(smf.Channel(400, 0x91, 40, 90))
	track.Append(smf.Channel(400, 0x91, 40, 80)) // struck twice, ended twice
	track.AppendMeta(480, metaMarker, []byte("Verse"))
	track.Append(smf.Channel(500, 0x92, 60, 90))
	track.Append(smf.Channel(600, 0x81, 40, 10))
	track.Append(smf.Channel(768, 0x92, 60, 0)) // an end, though it is a note-on
	track.Append(smf.Channel(768, 0xB1, 7, 60))
	track.Append(smf.Channel(768, 0x91, 50, 90))
	track.Append(smf.Channel(800, 0x81, 50, 64))
	track.Append(smf.Channel(800, 0x81, 40, 64))
	checkCut(t, track, 4, `track
		0 91 32 5a
		16 91 28 5a
		16 91 28 50
		116 92 3c 5a
		216 81 28 0a
		384 92 3c 00
		384 81 32 40
		384 81 28 40
		384 ff 2f 00
	`)
}

// checkCut cuts a track from tick 384 to tick 768.
func checkCut(t *testing.T, track smf.Track, wantNotes int, want string) {
	t.Helper()
	cut, notes := cutTrack(&track, 384, 768)
	got := text(Seen(&smf.File{Tracks: []smf.Track{cut}}))
	if want := strings.TrimLeft(strings.ReplaceAll(want, "\t", ""), "\n"); got != want || notes != wantNotes {
		t.Errorf("got %d notes and\n%swant %d and\n%s", notes, got, wantNotes, want)
	}
}

func TestWhereLoopsAreCut(t *testing.T) {
	const bar = "x...x...x...x...|"
	full := "kick " + strings.Repeat(bar, 37)
	for _, tt := range []struct{ rule, grid, markers, want string }{
		{"from mark to mark, where it is 4, 8, 12 or 16 bars", full, "1 In; 5 Verse; 10 Break; 18 Out; 26 Solo; 38 End", "1+4 In, 10+8 Break, 18+8 Out, 26+12 Solo"},
		{"four marks are too few: the busiest bars", full, "1 In; 5 Verse; 10 Break; 18 Out", "1+8 busiest"},
		{"eights from the first note, most parts", `
			kick ` + strings.Repeat(". . . . . . . . . . . . . . . .|", 2) + strings.Repeat(bar, 20) + `
			hat  ` + strings.Repeat(". . . . . . . . . . . . . . . .|", 11) + strings.Repeat(bar, 11), "", "11+8 busiest"},
		{"too short", "kick " + strings.Repeat(bar, 7), "", ""},
	} {
		p := pieceOf(t, tt.grid, tt.markers)
		var got []string
		for _, s := range p.stretches(p.marks()) {
			got = append(got, fmt.Sprintf("%d+%d %s", s.bar, s.bars, s.section))
		}
		if got := strings.Join(got, ", "); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.rule, got, tt.want)
		}
	}
}

func TestNoLoopHasAChangeOfMetre(t *testing.T) {
	p := pieceOf(t, "kick "+strings.Repeat("x...x...x...x...|", 17), "1 In; 5 Verse; 9 Break; 13 Out; 17 End")
	// 4/4 again at bar 7, and at bar 13, where a loop begins
	p.file.Tracks = append(p.file.Tracks, smf.Track{})
	conductor := &p.file.Tracks[len(p.file.Tracks)-1]
	for _, bar := range []int{7, 13} {
		conductor.AppendMeta(p.time.BarStart(bar), metaMetre, []byte{4, 2, 24, 8})
	}
	want := []stretch{{1, 4, "In"}, {9, 4, "Break"}, {13, 4, "Out"}}
	got := p.stretches(p.marks())
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Zeros and blanks around a marker are no text of it, and a marker within a bar is no mark.
func TestMarks(t *testing.T) {
	p := pieceOf(t, "kick "+strings.Repeat("x...x...x...x...|", 8), "1 In\x00; 2 A\tB; 3 Verse ; 4 \x00; 5 Break; 6 Out")
	p.file.Tracks[0].AppendMeta(p.time.BarStart(9)-1, metaMarker, []byte("late"))
	want := []Mark{{1, "In"}, {2, "A B"}, {3, "Verse"}, {5, "Break"}, {6, "Out"}}
	if got := p.marks(); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
