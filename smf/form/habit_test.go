package form_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// A, B, C and D are bars of their own, - is a rest.
func TestHabits(t *testing.T) {
	bars := map[rune]string{'A': "x...x...x...x...", 'B': "x.......x.......", 'C': "x.x.x.x.x.x.x.x.", 'D': "..x...x...x...x.", '-': "................"}
	for _, tt := range []struct {
		rule, plays string
		pattern     int
		usual       string // as the bars of plays
		departs     []int
		turnaround  []int
	}{
		{"the last bar of the pass turns around", "AAAAAAAC", 1, "AAAAAAAA", []int{8}, []int{8}},
		{"or the last two", "AAAAAACD", 1, "AAAAAAAA", []int{7, 8}, []int{7, 8}},
		{"a departure in mid-pass is no turnaround", "AAACAAAA", 1, "AAAAAAAA", []int{4}, nil},
		{"a rest is a departure", "AAAAAAA-", 1, "AAAAAAAA", []int{8}, []int{8}},
		{"two bars in turn", "ABABABAC", 2, "ABABABAB", []int{8}, []int{8}},
		{"four bars, the second time with another end", "ABCAABCD", 4, "ABCAABCA", []int{8}, []int{8}},
		{"nothing but one bar", "AAAA", 1, "AAAA", nil, nil},
		{"more than a quarter departs", "AAAAADCB", 0, "", nil, nil},
		{"half of the pass rests", "AAAA----", 0, "", nil, nil},
		{"a cycle of three bars has one that departs too many", "AAC", 0, "", nil, nil},
		{"a cycle of six bars", "AAAAAC", 1, "AAAAAA", []int{6}, []int{6}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var steps []string
			for _, c := range tt.plays {
				steps = append(steps, bars[c])
			}
			s := drawn(t, "hat "+strings.Join(steps, "|"))
			got := form.HabitOf(s, s.Parts[0], len(tt.plays))
			usual := ""
			for _, bar := range got.Usual {
				usual += tt.plays[bar-1 : bar]
			}
			if got.Pattern != tt.pattern || usual != tt.usual || !slices.Equal(got.Departs, tt.departs) || !slices.Equal(got.Turnaround(), tt.turnaround) {
				t.Errorf("%s: got a pattern of %d bars, usually %s, departing in %v, turning around in %v", tt.plays, got.Pattern, usual, got.Departs, got.Turnaround())
			}
		})
	}
	t.Run("what the loop plays after the part's own cycle is not of it", func(t *testing.T) {
		s := drawn(t, "hat "+strings.Join([]string{bars['A'], bars['A'], bars['A'], bars['C'], bars['A'], bars['A'], bars['A'], bars['C']}, "|"))
		if got := form.HabitOf(s, s.Parts[0], 4); got.Pattern != 1 || !slices.Equal(got.Departs, []int{4}) {
			t.Errorf("got %+v, want bar 4 to depart", got)
		}
	})
	t.Run("a note a little before the end counts to the first bar", func(t *testing.T) {
		s := drawn(t, "hat ....x...........|x...x...........|x...x...........|x...x...........")
		e := s.Edit()
		e.Place(0, song.Note{Start: s.End - 5, End: s.End, Key: s.Parts[0].Notes[0].Key, Vel: 90})
		s = e.Song()
		if got := form.HabitOf(s, s.Parts[0], 4); got.Pattern != 1 || len(got.Departs) > 0 {
			t.Errorf("got %+v", got)
		}
	})
}

// What the loop does at a place prepares nothing, nor does its plain bar in place of its turnaround; a fill does. The
// line is at bar 9; the loop is the first four bars, laid twice.
func TestTheLoopPreparesNothing(t *testing.T) {
	const beats, turn, fill = "x...x...x...x...|", "x...x...x.x.x.x.|", "x...x...xxxxxxxx|"
	lined := drawn(t, "kick "+strings.Repeat(beats+beats+beats+turn, 2)+strings.TrimSuffix(beats, "|"))
	for _, tt := range []struct {
		rule, last string
		want       bool
	}{
		{"the turnaround of the loop", turn, false},
		{"its plain bar", beats, false},
		{"a fill", fill, true},
	} {
		in := drawn(t, "kick "+beats+beats+beats+turn+beats+beats+beats+tt.last+strings.TrimSuffix(beats, "|"))
		if got := form.NewPreparer(form.DefaultPrepareRule()).Prepared(in, lined, 4, 9); got != tt.want {
			t.Errorf("%s prepares the line: got %v, want %v", tt.rule, got, tt.want)
		}
	}
}
