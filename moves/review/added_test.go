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
