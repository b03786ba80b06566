package form_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// What is tried on a few bars is what the whole song measures when it has them, and so are the changes at a line. Pedals
// hold notes over bars; the keys of a kit stay those of General MIDI.
func TestTriedIsAsMeasuredFromNew(t *testing.T) {
	rule := form.DefaultLineRule(2)
	rows := ""
	for _, row := range [][2]string{
		{"kick", "x...x...x...x...|x...x...x...x..."},
		{"hat", "x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x."},
		{"bass", "x---..x-..x-..x-|x---..x-..x-..x-"},
		{"chords", "x---------------|----------------|----------------|................"},
		{"lead", "........x-------|----............|x---x---x---x---|................"},
	} {
		rows += row[0] + " " + strings.Repeat("|"+row[1], 32/len(strings.Split(row[1], "|")))[1:] + "\n"
	}
	tried, changed, pedals, seeds := 0, 0, 0, oracle.Size(4, 16, 64)
	for seed := range uint64(seeds) {
		r := rand.New(rand.NewPCG(seed, 5))
		full := drawn(t, rows)
		e := full.Edit()
		for part := 2; part < len(full.Parts); part++ {
			for range r.IntN(3) {
				down := song.Tick(r.IntN(int(full.End)))
				e.Insert(full.Parts[part].Track, smf.Channel(down, 0xB0|full.Parts[part].Channel, 64, 127))
				e.Insert(full.Parts[part].Track, smf.Channel(down+5000+song.Tick(r.IntN(4000)), 0xB0|full.Parts[part].Channel, 64, 0))
			}
		}
		s := e.Song()
		running := energyOf(t, s).Running()
		for range 25 {
			part, bar := r.IntN(len(s.Parts)), 1+r.IntN(s.Bars())
			e := s.Edit()
			if r.IntN(2) == 0 {
				e.Cut(part, []song.Range{s.BarRange(bar, bar)}, r.IntN(2) == 0)
			}
			for range r.IntN(3) {
				at := s.Time().BarStart(bar) + song.Tick(r.IntN(384))
				e.Place(part, song.Note{Start: at, End: at + 1 + song.Tick(r.IntN(300)), Key: s.Parts[part].Notes[0].Key, Vel: uint8(1 + r.IntN(127))})
			}
			if p := s.Parts[part]; r.IntN(3) == 0 { // the pedal comes up, or goes down, and returns to what it was
				over := s.BarRange(bar, min(bar+r.IntN(2), s.Bars()))
				e.Control(p.Track, p.Channel, 64, []song.Sweep{{Range: over, Points: []song.Point{{Tick: over.Start, Value: 127 * r.IntN(2)}}}})
			}
			next := e.Song()
			one, ok := running.Try(part, next.Tracks[next.Parts[part].Track], s.Parts[part].Notes, next.Parts[part].Notes, func(from, to song.Tick) []song.Note {
				return slices.DeleteFunc(slices.Clone(next.Parts[part].Notes), func(n song.Note) bool { return n.Start >= to || n.End < from })
			})
			if !ok {
				continue
			}
			tried++
			if next.Tracks[s.Parts[part].Track] != s.Tracks[s.Parts[part].Track] {
				pedals++
			}
			want := energyOf(t, next)
			for b := 1; b+1 <= s.Bars(); b++ {
				if got := running.Mean(b, b+1, one); got != want.Mean(b, b+1) {
					t.Fatalf("seed %d: bars %d and %d come to %v, want %v", seed, b, b+1, got, want.Mean(b, b+1))
				}
			}
			for line := 2; line <= s.Bars(); line++ {
				parts := make([]form.PartLine, len(s.Parts))
				for i, p := range s.Parts {
					parts[i] = rule.PartAt(s, form.NewStrikes(full), i, p, form.CurvesOf(s, full, i), line)
				}
				notes, controllers := form.NewLine(rule, parts).With(part, rule.PartAt(next, form.NewStrikes(full), part, next.Parts[part], form.CurvesOf(next, full, part), line))
				bars := min(rule.Phrase, line-1, s.Bars()-line+1)
				got := controllers || notes && rule.Heard(running.Mean(line-bars, line-1, one), running.Mean(line, line+bars-1, one))
				if got != rule.Changed(next, full, want, line) {
					t.Fatalf("seed %d, bar %d: got %v", seed, line, got)
				}
				if got {
					changed++
				}
			}
			if r.IntN(3) == 0 {
				s = next
				running.Take(one)
			}
		}
	}
	if tried < 19*seeds || changed < 19*seeds || pedals < 4*seeds {
		t.Errorf("tried %d changes, of which %d changed a line and %d had other pedals: too few", tried, changed, pedals)
	}
}

// Two parts that are tried otherwise at once come to what the song measures in which both are.
func TestTwoPartsTriedAtOnce(t *testing.T) {
	s := drawn(t, "kick "+times(8, "x...x...x...x..."), "bass "+times(8, "x---..x-..x-..x-"), "pad "+times(4, "x---------------|----------------"))
	running := energyOf(t, s).Running()
	e := s.Edit()
	e.Cut(1, []song.Range{s.BarRange(3, 4)}, false)
	e.Cut(2, []song.Range{s.BarRange(4, 6)}, false)
	next := e.Song()
	var tried []form.Tried
	for part := 1; part <= 2; part++ {
		one, ok := running.Try(part, nil, s.Parts[part].Notes, next.Parts[part].Notes, func(from, to song.Tick) []song.Note {
			return slices.DeleteFunc(slices.Clone(next.Parts[part].Notes), func(n song.Note) bool { return n.Start >= to || n.End < from })
		})
		if !ok {
			t.Fatalf("part %d reaches further than its bars", part)
		}
		tried = append(tried, one)
	}
	want := energyOf(t, next)
	for _, bars := range [][2]int{{1, 8}, {3, 3}, {4, 4}, {5, 8}} {
		if got, want := running.Mean(bars[0], bars[1], tried...), want.Mean(bars[0], bars[1]); got != want {
			t.Errorf("bars %d-%d: got %v, want %v", bars[0], bars[1], got, want)
		}
	}
}

// Without a part is what the song measures in which it has no notes.
func TestWithoutAPart(t *testing.T) {
	s := drawn(t, "kick "+times(8, "x...x...x...x..."), "bass "+times(8, "x---..x-..x-..x-"), "pad "+times(4, "x---------------|----------------"))
	running := energyOf(t, s).Running()
	for part, p := range s.Parts {
		e := s.Edit()
		e.Map(part, func(n song.Note) (song.Note, bool) { return n, false })
		rest := energyOf(t, e.Song())
		for _, bars := range [][2]int{{1, 8}, {3, 4}, {8, 8}} {
			if got, want := running.Without(part, bars[0], bars[1]), rest.Mean(bars[0], bars[1]); got != want {
				t.Errorf("without %s bars %d-%d: got %v, want %v", p.Name, bars[0], bars[1], got, want)
			}
		}
	}
}
