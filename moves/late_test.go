//go:build oracles

package moves

import (
	"testing"

	"loopdraft/smf/song"
)

func TestLatePlaces(t *testing.T) {
	tl := metreSong(4, 4)
	for _, tt := range []struct {
		rule     string
		swing    swing
		at, want song.Tick
	}{
		{"the off sixteenth comes late", swing{5000, 6000}, 1920 + 120, 1920 + 144},
		{"rounded half up", swing{5000, 5800}, 120, 139},
		{"the eighth stays", swing{5000, 6000}, 240, 240},
		{"a 1/32 comes half as late", swing{5000, 6000}, 60, 72},
		{"and after the off-beat catches up", swing{5000, 6000}, 180, 192},
		{"the off eighth of a shuffle", swing{6667, 5000}, 240, 320},
		{"its beat stays", swing{6667, 5000}, 480, 480},
		{"straight stays", swing{5000, 5000}, 121, 121},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := tt.swing.late(tl, tt.at); got != tt.want {
				t.Errorf("got %d, want %d", got, tt.want)
			}
		})
	}
	w := swing{5000, 6250}
	last := song.Tick(-1)
	for at := range song.Tick(1920) {
		late := w.late(tl, at)
		if back := w.straight(tl, late); abs(back-at) > 1 {
			t.Fatalf("tick %d, late %d, comes back as %d", at, late, back)
		}
		if late < last {
			t.Fatalf("tick %d comes before the one before it: %d after %d", at, late, last)
		}
		last = late
	}
}
