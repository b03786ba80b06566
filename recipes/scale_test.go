package recipes_test

import (
	"fmt"
	"runtime"
	"testing"
	"weak"

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

// What a draft of two loops holds while it is reviewed and written is in proportion to its notes: the loops laid out, the song
// after its line-up, the draft, and the draft as a file, 32 bytes a note each. The loops' own files are let go of.
func TestDraftsHoldNoMoreThanIsNeededOfThem(t *testing.T) {
	a, b := denseLoop(200_000), denseLoop(100_000)
	files := []weak.Pointer[smf.File]{weak.Make(a), weak.Make(b)}
	r, err := recipes.Parse("two.yaml", []byte(`length: 192 bars
sections:
  - {name: intro, bars: 64, play: [hat]}
  - {name: drop, bars: 64, loop: b, play: [kick], add: [chords], energy: rising}
  - {name: outro, bars: 64, play: [kick, hat, chords of b]}
moves:
  - freshen: {}
  - shape: {part: all, to: 90%}
`))
	if err != nil {
		t.Fatal(err)
	}
	before := held()
	takes, err := recipes.NewTakes([]recipes.Input{{Name: "a.mid", File: a, Loop: "a"}, {Name: "b.mid", File: b, Loop: "b"}}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	runtime.GC()
	for i, f := range files {
		if f.Value() != nil {
			t.Errorf("loop %d: its file is held once its song is made", i+1)
		}
	}
	got, err := takes.Draft(1)
	if err != nil {
		t.Fatal(err)
	}
	full, notes := 0, 0
	in := got.ToReview()
	for p := range in.Full.Parts {
		full, notes = full+len(in.Full.Parts[p].Notes), notes+len(got.Song.Parts[p].Notes)
	}
	const note = 32
	if most, now := uint64(note*(full+3*notes))*21/20, held()-before; now > most {
		t.Errorf("a draft of %d notes, of loops that are %d notes when laid out, holds %d bytes, want at most %d", notes, full, now, most)
	} else {
		t.Logf("%d of %d bytes for %d and %d notes", now, most, full, notes)
	}
	runtime.KeepAlive(got)
	runtime.KeepAlive(takes)
}

// held returns how many bytes are in use.
func held() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
