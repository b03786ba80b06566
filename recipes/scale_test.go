package recipes_test

import (
	"fmt"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
)

// denseLoop makes an 8-bar loop of a kick, a hat and chords whose draft of 192 bars has about n notes.
func denseLoop(n int) *smf.File {
	const ppq = 9600
	const bars = 8
	perBar := max(n/192/3, 4)
	f := &smf.File{Format: 1, Division: ppq}
	for i, name := range []string{"Kick", "Hat", "Chords"} {
		var t smf.Track
		t.AppendMeta(0, 0x03, []byte(name))
		for k := range bars * perBar {
			at := smf.Tick(k) * bars * 4 * ppq / smf.Tick(bars*perBar)
			end := smf.Tick(k+1) * bars * 4 * ppq / smf.Tick(bars*perBar)
			key := byte(36 + 12*i + k%12)
			t.Append(smf.Channel(at, 0x90|byte(i), key, byte(60+k%60)))
			t.Append(smf.Channel(end, 0x80|byte(i), key, 64))
		}
		t.End = bars * 4 * ppq
		f.Tracks = append(f.Tracks, t)
	}
	return f
}

// BenchmarkDraftNotes drafts ever denser loops: time and memory a note must stay about the same.
func BenchmarkDraftNotes(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000, 10_000_000} {
		if testing.Short() && n > 100_000 {
			continue
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			f := denseLoop(n)
			r, _ := recipes.Builtin("club")
			b.ReportAllocs()
			notes := 0
			for b.Loop() {
				got, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: f}}, r, recipes.Options{})
				if err != nil {
					b.Fatal(err)
				}
				notes = 0
				for _, p := range got.Song.Parts {
					notes += len(p.Notes)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(max(notes, 1)), "ns/note")
			b.ReportMetric(float64(notes), "notes")
		})
	}
}
