package moves_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

func rise(part, over, by string, semitones int) *moves.Rise {
	return &moves.Rise{Target: target(part, over), By: by, Semitones: semitones}
}

// of sets the shares of a rise.
func (l riseLevel) of(r *moves.Rise) *moves.Rise {
	r.Velocity = option.Shares(l)
	return r
}

type riseLevel option.Shares

// stays lets the part play on under a rise.
func stays(r *moves.Rise) *moves.Rise {
	r.Own = "stay"
	return r
}

// keysOf reports where a part's keys, each new one once, are not the ones wanted.
func keysOf(part, want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		var got []string
		for _, n := range after.Parts[after.Index(part)].Notes {
			if k := fmt.Sprint(n.Key); len(got) == 0 || got[len(got)-1] != k {
				got = append(got, k)
			}
		}
		if text := strings.Join(got, " "); text != want {
			t.Errorf("keys of %s\ngot  %s\nwant %s", part, text, want)
		}
	}
}

// control returns the control changes of the first track as text.
func control(s song.Song) string {
	var out []string
	for _, ev := range s.Tracks[s.Parts[0].Track].Events {
		if ev.Kind() == 0xB0 {
			out = append(out, fmt.Sprintf("%d:%d=%d", ev.Tick, ev.Data1(), ev.Data2()))
		}
	}
	return strings.Join(out, " ")
}

func TestRise(t *testing.T) {
	cMajor := `
		lead:60 x---............|................
		lead:64 ....x-..........|................
		lead:67 ........x-......|................`
	bends := func(middle, last, home int, controls string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
		return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
			p := after.Points(after.Parts[0].Track, after.Parts[0].Channel, song.Bend)
			a, _ := p.At(384)
			b, _ := p.At(767)
			c, _ := p.At(768)
			if a != middle || b != last || c != home {
				t.Errorf("bend at the start, before the end and after: %d %d %d, want %d %d %d", a, b, c, middle, last, home)
			}
			if got := control(after); got != controls {
				t.Errorf("controls\ngot  %s\nwant %s", got, controls)
			}
		}
	}
	movetest.Run(t,
		movetest.Row{Name: "the scale of a major key, from 60, in 1/8 and then in 1/16", Step: riseLevel{option.Whole, option.Whole}.of(rise("lead", "bar 2", "steps", 0)),
			Before: cMajor, Look: func(t movetest.Reporter, b, after song.Song, came moves.Outcome) {
				keysOf("lead", "60 64 67 60 62 64 65 67 69 71 72")(t, b, after, came)
				notes := after.In(after.Parts[0], after.BarRange(2, 2))
				if len(notes) != 6+4 {
					t.Errorf("got %d notes, want 6 in 1/8 and 4 in 1/16", len(notes))
				}
				for i, n := range notes {
					if want := song.Tick(24); i < 6 && n.End-n.Start != want || i >= 6 && n.End-n.Start != want/2 {
						t.Errorf("note %d lasts %d ticks, want half of its spacing", i+1, n.End-n.Start)
					}
				}
			}, Told: []string{"heard in C major"}},
		movetest.Row{Name: "the level rises evenly in dB from 60 % to the median, half as long as the spacing", Step: rise("lead", "bar 2", "steps", 0),
			Before: cMajor, Look: velocities("lead", "100 100 100 60 64 69 74 79 84 90 93 97 100")},
		movetest.Row{Name: "its own notes may stay: it climbs over them", Step: stays(riseLevel{option.Whole, option.Whole}.of(rise("pad", "bar 2", "steps", 0))),
			Before: `
				pad:60 x---------------|x---------------|x---------------
				pad:64 x---------------|x---------------|x---------------`,
			After: `
				pad:72 ................|..............xx|................
				pad:71 ................|.............x..|................
				pad:69 ................|............x...|................
				pad:67 ................|..........x.....|................
				pad:65 ................|........x.......|................
				pad:64 x---------------|x---------------|x---------------
				pad:62 ................|....x...........|................
				pad:60 x---------------|x---------------|x---------------`, May: movetest.Anything, Told: []string{"heard in C major"}},
		movetest.Row{Name: "only the first that has a pitch", Step: riseLevel{option.Whole, option.Whole}.of(rise("all", "bar 1", "steps", 0)),
			Before: `
				kick    x...x...x...x...
				lead:60 x---............
				pad:67  x---............`,
			Look: onsets("kick", "0 96 192 288"), May: nil},
		movetest.Row{Name: "drums are left out, told", Step: rise("kick", "bar 1", "steps", 0),
			Before: "kick x...x...x...x...", After: "kick x...x...x...x...", Told: []string{"kick left out"}},
		movetest.Row{Name: "a part that never plays is warned", Step: rise("lead", "bar 1", "steps", 0),
			Before: "lead ................\nbass x...............", After: "lead ................\nbass x...............", Warned: []string{"nothing rises"}},
		movetest.Row{Name: "two semitones need no announcement", Step: rise("lead", "bar 2", "bend", 2),
			Before: "lead x---x---x---x---|x---x---x---x---|x---............", After: "lead x---x---x---x---|x---x---x---x---|x---............",
			May: atHome, Look: bends(8192, 16383, 8192, "")},
		movetest.Row{Name: "one is half of it", Step: rise("lead", "bar 2", "bend", 1),
			Before: "lead x---............|x---............|x---............", May: atHome, Look: bends(8192, 12288, 8192, "")},
		movetest.Row{Name: "three are announced and put back", Step: rise("lead", "bar 2", "bend", 3),
			Before: "lead x---............|x---............|x---............", May: atHome,
			Look: bends(8192, 16383, 8192, "384:101=0 384:100=0 384:6=3 384:38=0 384:101=127 384:100=127 768:101=0 768:100=0 768:6=2 768:38=0 768:101=127 768:100=127")},
		movetest.Row{Name: "what the loop announces is used", Step: rise("lead", "bar 2", "bend", 0), Setup: announced(24),
			Before: "lead x---............|x---............|x---............", May: atHome,
			Look: bends(8192, 12288, 8192, "0:101=0 0:100=0 0:6=24")},
		movetest.Row{Name: "a bend of one sound of several on a channel is refused", Step: rise("lead", "bar 1", "bend", 2), Setup: oneChannel,
			Before: "lead x---............\nbass x...............", Err: "part: found lead, want all that share its track and channel"},
		movetest.Row{Name: "semitones are for bends", Step: rise("lead", "bar 1", "steps", 3),
			Before: "lead x---............", Err: "semitones: found 3, want none by steps"},
		movetest.Row{Name: "a level is for steps", Step: riseLevel{option.Whole, option.Whole}.of(rise("lead", "bar 1", "bend", 3)),
			Before: "lead x---............", Err: "velocity: found 100%, want none by bend"},
	)
}

// announced returns a Setup in which the first track announces a bend range at the start.
func announced(semitones int) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		for _, c := range [3][2]byte{{101, 0}, {100, 0}, {6, byte(semitones)}} {
			e.Insert(s.Parts[0].Track, cc(0, c[0], c[1]))
		}
		return e.Song()
	}
}

func TestARiseOverEightBarsChangesItsDegreeWithTheBar(t *testing.T) {
	out, _ := run(t, rise("lead", "bars 1-8", "steps", 0), mustGrid(t, "lead:60 x---............"+strings.Repeat("|x...............", 8)+""))
	got := "" // in C minor: a lone tonic is heard so
	for bar := 1; bar <= 8; bar++ {
		notes := out.In(out.Parts[0], out.BarRange(bar, bar))
		got += fmt.Sprintf("%dx%d ", len(notes), notes[0].Key)
	}
	if want := "8x60 8x60 8x62 8x63 8x65 8x67 16x68 16x72 "; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestTouchingBendsAnnounceTheirRangeOnce(t *testing.T) {
	out, _ := run(t, rise("lead", "every 1 bar of bars 1-2", "bend", 7), mustGrid(t, "lead x---............|x---............|x---............"))
	if got := strings.Count(control(out), ":6="); got != 2 || !strings.Contains(control(out), "768:6=2") {
		t.Errorf("got %s, want one range announced and put back", control(out))
	}
}
