package listen_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// BenchmarkHear hears the groove of the tests at 8 bars and at lengths a hundred times as long each: the
// cost a note stays.
func BenchmarkHear(b *testing.B) {
	for _, bars := range []int{8, 800, 80000} {
		f := loop(b, groove)
		for i := range f.Tracks {
			f.Tracks[i] = repeated(f.Tracks[i], bars/2)
		}
		s := raw(b, f)
		notes := 0
		for _, p := range s.Parts {
			notes += len(p.Notes)
		}
		b.Run(fmt.Sprintf("%d-bars", bars), func(b *testing.B) {
			b.ReportAllocs()
			var heard song.Song
			for b.Loop() {
				heard, _, _ = listen.Hear(s, listen.Options{})
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(notes), "ns/note")
			if len(heard.Parts) != 8 {
				b.Fatalf("heard %d parts", len(heard.Parts))
			}
		})
	}
}

func repeated(t smf.Track, times int) smf.Track {
	events := make([]smf.Event, 0, times*len(t.Events))
	for i := range times {
		for _, e := range t.Events {
			if i == 0 || !e.IsMeta() {
				events = append(events, e.At(e.Tick+smf.Tick(i)*t.End))
			}
		}
	}
	return smf.TrackFromStore(events, t.End*smf.Tick(times), t.LongStore())
}

func BenchmarkFindLoop(b *testing.B) {
	f := loop(b, strings.ReplaceAll(groove, "|", ""))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, _, err := listen.FindLoop(f, listen.LoopOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEnergy measures the groove of the tests, heard, at 8 bars and at lengths a hundred times as long
// each: the cost a note stays.
func BenchmarkEnergy(b *testing.B) {
	for _, bars := range []int{8, 800, 80000} {
		f := loop(b, groove)
		for i := range f.Tracks {
			f.Tracks[i] = repeated(f.Tracks[i], bars/2)
		}
		s, _, _ := listen.Hear(raw(b, f), listen.Options{})
		notes := 0
		for _, p := range s.Parts {
			notes += len(p.Notes)
		}
		b.Run(fmt.Sprintf("%d-bars", bars), func(b *testing.B) {
			b.ReportAllocs()
			var e form.Energy
			for b.Loop() {
				e, _ = form.EnergyOf(s)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(notes), "ns/note")
			if len(e.Bars) != bars {
				b.Fatalf("measured %d bars", len(e.Bars))
			}
		})
	}
}

// BenchmarkStructure measures the same song.
func BenchmarkStructure(b *testing.B) {
	for _, bars := range []int{8, 800, 80000} {
		f := loop(b, groove)
		for i := range f.Tracks {
			f.Tracks[i] = repeated(f.Tracks[i], bars/2)
		}
		s, _, _ := listen.Hear(raw(b, f), listen.Options{})
		notes := 0
		for _, p := range s.Parts {
			notes += len(p.Notes)
		}
		b.Run(fmt.Sprintf("%d-bars", bars), func(b *testing.B) {
			b.ReportAllocs()
			var st form.Structure
			for b.Loop() {
				st, _ = form.StructureOf(s, 0)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(notes), "ns/note")
			if len(st.Bars) != bars {
				b.Fatalf("heard %d bars", len(st.Bars))
			}
		})
	}
}
