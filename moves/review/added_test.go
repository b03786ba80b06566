package review

import "testing"

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

func TestTrialsAreBounded(t *testing.T) {
	for notes, want := range map[int]int{0: 500, 8000: 500, 8001: 499, 100_000: 40, 10_000_000: 8} {
		if got := mostTrials(notes); got != want {
			t.Errorf("%d notes: got %d trials, want %d", notes, got, want)
		}
	}
}
