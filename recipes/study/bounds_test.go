package study_test

import (
	"fmt"
	"runtime"
	"testing"

	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

// resting makes a file of tracks that rest in turn for 8 bars of 56, with so many notes in each bar they play.
func resting(tracks, bars, notes int) *smf.File {
	const bar = 4 * 480
	f := &smf.File{Format: 1, Division: 480}
	kit := map[string]byte{"Kick": 36, "Hat": 42, "Snare": 38}
	names := []string{"Kick", "Bass", "Lead", "Pad", "Hat", "Snare", "Keys", "Strings"}
	for i := range tracks {
		var t smf.Track
		name := names[i%len(names)]
		t.AppendMeta(0, 0x03, fmt.Appendf(nil, "%s %d", name, i))
		for b := range bars {
			for n := range notes {
				if (b/8+i)%7 == 0 {
					continue
				}
				key, channel := kit[name], byte(9)
				if key == 0 {
					key, channel = byte(40+i%32+(b+n)%8), byte(i%9)
				}
				at := smf.Tick(b*bar + n*bar/notes)
				t.Append(smf.Channel(at, 0x90|channel, key, 100))
				t.Append(smf.Channel(at+bar/smf.Tick(2*notes), 0x80|channel, key, 64))
			}
		}
		t.End = smf.Tick(bars * bar)
		f.Tracks = append(f.Tracks, t)
	}
	return f
}

// Ten times as many bars take at most 12 times the memory. With seven strokes a bar, those off the steps of a key are told
// apart from the others, and a break has both.
func TestStudyTakesMemoryByTheBar(t *testing.T) {
	before := 0.0
	for _, bars := range []int{168, 1680} {
		s := heard(t, resting(8, bars, 7))
		var from, to runtime.MemStats
		runtime.ReadMemStats(&from)
		learned, err := study.Of(s, 0)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(learned.Sections); n < 2 || n > 8 {
			t.Errorf("%d bars: found %d sections, want 2 to 8", bars, n)
		}
		runtime.ReadMemStats(&to)
		now := float64(to.TotalAlloc - from.TotalAlloc)
		t.Logf("%d bars: %.0f kB", bars, now/1024)
		if before > 0 && now > 12*before {
			t.Errorf("%d bars took %.0f kB, %.1f times as much as a tenth of them; want at most 12 times", bars, now/1024, now/before)
		}
		before = now
	}
}

// Where many parts rest while their jobs play, a line-up that leaves them out by name would be longer than a sentence may
// be: those that play are named instead.
func TestAStudyOfManyPartsCanBeRead(t *testing.T) {
	for _, tracks := range []int{100, 1000}[:oracle.Size(1, 2, 2)] {
		learned, err := study.Of(heard(t, resting(tracks, 64, 1)), 0)
		if err != nil {
			t.Fatal(err)
		}
		text := learned.Recipe("many.mid")
		r, err := recipes.Parse("many.yaml", text)
		if err != nil {
			t.Errorf("%d tracks: %v", tracks, err)
			continue
		}
		if _, err := recipes.Draft([]recipes.Input{{Name: "many.mid", File: resting(tracks, 8, 1)}}, r, recipes.Options{}); err != nil {
			t.Errorf("%d tracks: %v", tracks, err)
		}
	}
}
