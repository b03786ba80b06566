//go:build oracles

package review

import (
	"slices"
	"testing"
)

func TestWhatIsAdded(t *testing.T) {
	was := []Finding{{Rule: "drop", Level: Note, First: 9, Last: 16}}
	for _, tt := range []struct {
		name string
		is   Finding
		want int
	}{
		{"the same is not", Finding{Rule: "drop", Level: Note, First: 9, Last: 16}, 0},
		{"nor what is left of it", Finding{Rule: "drop", Level: Note, First: 12, Last: 12}, 0},
		{"what is worse is", Finding{Rule: "drop", Level: Warn, First: 9, Last: 16}, 1},
		{"what is elsewhere is", Finding{Rule: "drop", Level: Note, First: 17, Last: 24}, 1},
		{"of another part too", Finding{Rule: "drop", Level: Note, First: 9, Last: 16, Parts: []string{"kick"}}, 1},
		{"and by another rule", Finding{Rule: "break", Level: Note, First: 9, Last: 16}, 1},
	} {
		if got := len(added(was, []Finding{tt.is})); got != tt.want {
			t.Errorf("%s: got %d, want %d", tt.name, got, tt.want)
		}
	}
}

// A look at a song of many notes or many bars takes more of the work there is, and of none more is taken than that.
func TestTrialsAreBounded(t *testing.T) {
	for _, tt := range []struct{ look, want, next int }{{1000, 400, 400}, {9000, 44, 44}, {300_000, 1, 1}, {400_001, 0, 0}} {
		trials := trials{look: tt.look, left: mostWork}
		for _, want := range []int{tt.want, tt.next} { // findings
			trials.next()
			n := 0
			for trials.may(tt.look) {
				n++
			}
			if n != want || !trials.stopped {
				t.Errorf("looks of %d: got %d, stopped %v, want %d and stopped", tt.look, n, trials.stopped, want)
			}
		}
	}
}

// Answers that were not tried are told, with what kept them from it.
func TestAnswersThatWereNotTriedAreTold(t *testing.T) {
	long := "not every answer was tried: the song is too long to try more than the 7 that were, the worst findings first"
	many := "not every answer was tried: of a finding only the first 16"
	for _, tt := range []struct {
		stopped, cut bool
		want         []string
	}{
		{false, false, []string{"before"}},
		{true, false, []string{"before", long}},
		{false, true, []string{"before", many}},
		{true, true, []string{"before", long, many}},
	} {
		trials := trials{tried: 7, stopped: tt.stopped, cut: tt.cut}
		if got := trials.told([]string{"before"}); !slices.Equal(got, tt.want) {
			t.Errorf("stopped %v, cut %v: got %q, want %q", tt.stopped, tt.cut, got, tt.want)
		}
	}
}
