package main

import (
	"fmt"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/form"
)

// grown is a song of tracks that rest in turn for 8 bars of 56, with so many notes in each of their bars.
func grown(tracks, bars, notes int) *smf.File {
	const bar = 4 * 480
	f := &smf.File{Format: 1, Division: 480}
	names := []string{"Kick", "Bass", "Lead", "Pad", "Hat", "Snare", "Keys", "Strings"}
	keys := map[string]byte{"Kick": 36, "Hat": 42, "Snare": 38}
	for i := range tracks {
		var tr smf.Track
		name := names[i%len(names)]
		tr.AppendMeta(0, 0x03, fmt.Appendf(nil, "%s %d", name, i))
		key, drum := keys[name]
		channel := byte(9)
		if !drum {
			key, channel = 40+byte(i%32), byte(i%9)
		}
		for b := range bars {
			if (b/8+i)%7 == 0 {
				continue
			}
			for n := range notes {
				at := smf.Tick(b*bar + n*bar/notes)
				tr.Append(smf.Channel(at, 0x90|channel, key+byte(b%4)*(1-channel/9), 100))
				tr.Append(smf.Channel(at+smf.Tick(max(bar/notes/2, 1)), 0x80|channel, key+byte(b%4)*(1-channel/9), 64))
			}
		}
		tr.End = smf.Tick(bars * bar)
		f.Tracks = append(f.Tracks, tr)
	}
	return f
}

// BenchmarkGrowth tells how much longer what the commands do takes on a song with ten times as many notes, bars or
// tracks as the one before it; want at most 12 times.
func BenchmarkGrowth(b *testing.B) {
	commands := []struct {
		name string
		do   func(in recipes.Input) error
	}{
		{"parts", func(in recipes.Input) error {
			_, err := recipes.Hear([]recipes.Input{in}, &recipes.Recipe{}, recipes.Options{})
			return err
		}},
		{"map", func(in recipes.Input) error {
			r, err := asItIs(in)
			if err == nil {
				_, err = form.StructureOf(r.Song, 0)
			}
			return err
		}},
		{"review", func(in recipes.Input) error {
			r, err := asItIs(in)
			if err == nil {
				_, err = review.Review(r, review.Options{Level: review.Warn})
			}
			return err
		}},
		{"study", func(in recipes.Input) error {
			r, err := asItIs(in)
			if err == nil {
				_, err = study.Of(r.Song, 0)
			}
			return err
		}},
		{"draft", func(in recipes.Input) error {
			club, _ := recipes.Builtin("club")
			_, err := recipes.Draft([]recipes.Input{in}, club, recipes.Options{})
			return err
		}},
	}
	for _, c := range commands {
		for _, of := range []struct {
			what  string
			sizes [3][3]int // tracks, bars, notes a bar
		}{
			{"notes", [3][3]int{{8, 64, 4}, {8, 64, 40}, {8, 64, 400}}},
			{"bars", [3][3]int{{8, 96, 4}, {8, 960, 4}, {8, 9600, 4}}},
			{"tracks", [3][3]int{{10, 64, 4}, {100, 64, 4}, {1000, 64, 4}}},
		} {
			if c.name == "draft" && of.what == "bars" {
				continue // the loop would be longer than a draft may be
			}
			sizes := of.sizes[:]
			if testing.Short() { // whether they run is asked there, not what they take
				sizes = sizes[:1]
			}
			before := 0.0
			for _, n := range sizes {
				b.Run(fmt.Sprintf("%s/tracks=%d,bars=%d,notes=%d", c.name, n[0], n[1], n[2]), func(b *testing.B) {
					in := recipes.Input{Name: "grown.mid", File: grown(n[0], n[1], n[2])}
					for b.Loop() {
						if err := c.do(in); err != nil {
							b.Fatal(err)
						}
					}
					now := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
					if before > 0 {
						b.ReportMetric(now/before, "times")
					}
					before = now
				})
			}
		}
	}
}
