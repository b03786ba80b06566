package moves_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func bpm(text string) (v moves.TempoValue) {
	if text != "" {
		if err := v.UnmarshalTexts([]string{text}); err != nil {
			panic(err)
		}
	}
	return v
}

func tempo(over, from, to, curve string) *moves.Tempo {
	m := &moves.Tempo{From: bpm(from), To: bpm(to), Curve: curve}
	if over != "" {
		m.Over = where.SpansOf(over)
	}
	return m
}

// tempi draws the tempo events of the first track: bar.beat, ticks after it, microseconds a quarter.
func tempi(s song.Song) string {
	var out []string
	for _, ev := range s.Tracks[0].Events {
		if kind, ok := ev.MetaType(); ok && kind == 0x51 {
			at, d := s.Time().Locate(ev.Tick), s.Tracks[0].Long(ev)
			out = append(out, fmt.Sprintf("%d.%d+%d=%d", at.Bar, at.Beat, at.Tick, int(d[0])<<16|int(d[1])<<8|int(d[2])))
		}
	}
	return strings.Join(out, " ")
}

func hasTempi(want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		if got := tempi(after); got != want {
			t.Errorf("tempi\ngot  %s\nwant %s", got, want)
		}
	}
}

// tempoAt returns a Setup that sets 100 bpm (600000 us a quarter) at a tick, in the second track.
func tempoAt(at song.Tick) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		e.InsertMeta(1, at, 0x51, []byte{0x09, 0x27, 0xC0})
		return e.Song()
	}
}

func TestTempo(t *testing.T) {
	const loop = "kick x...x...x...x...|x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x."
	hold := func(m *moves.Tempo) *moves.Tempo { m.Hold = true; return m }
	// 60 s / 120 bpm = 500000 us, 150 bpm 400000, 240 bpm 250000, 100 bpm 600000.
	movetest.Run(t,
		movetest.Row{Name: "one tempo over the span, then the song's own", Step: tempo("bar 2", "150", "150", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything, Look: hasTempi("2.1+0=400000 3.1+0=500000")},
		movetest.Row{Name: "shares are of the song's own tempo", Step: tempo("bar 2", "50%", "50%", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything, Setup: movetest.Tempo(240), Look: hasTempi("1.1+0=250000 2.1+0=500000 3.1+0=250000")},
		// A 1/16 is 6 clocks, the last at 5/24 of a quarter: 120, 144, 168, 192, 216, 240 bpm.
		movetest.Row{Name: "even steps on MIDI clocks, the last at the end value", Step: tempo("first 1/16 of bar 2", "100%", "240", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything,
			Look: hasTempi("2.1+0=500000 2.1+4=416667 2.1+8=357143 2.1+12=312500 2.1+16=277778 2.1+20=250000 2.1+24=500000")},
		// Even ratios: 120 * 2^(k/5): 137.844, 158.341, 181.886, 208.932.
		movetest.Row{Name: "even ratios", Step: tempo("first 1/16 of bar 2", "100%", "240", moves.Exp),
			Before: loop, After: loop, May: movetest.Anything,
			Look: hasTempi("2.1+0=500000 2.1+4=435275 2.1+8=378929 2.1+12=329877 2.1+16=287175 2.1+20=250000 2.1+24=500000")},
		// 120 + 120 (3t^2 - 2t^3) at t = k/5: 132.48, 162.24, 197.76, 227.52.
		movetest.Row{Name: "slow at both ends", Step: tempo("first 1/16 of bar 2", "100%", "240", moves.SCurve),
			Before: loop, After: loop, May: movetest.Anything,
			Look: hasTempi("2.1+0=500000 2.1+4=452899 2.1+8=369822 2.1+12=303398 2.1+16=263713 2.1+20=250000 2.1+24=500000")},
		movetest.Row{Name: "with hold nothing more is written", Step: hold(tempo("bar 2", "150", "150", moves.Linear)),
			Before: loop, After: loop, May: movetest.Anything, Look: hasTempi("2.1+0=400000")},
		movetest.Row{Name: "the song's own tempi in the span are replaced, on whatever track; the last is its own after it", Step: tempo("bar 2", "150", "150", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything, Setup: tempoAt(480), Look: hasTempi("2.1+0=400000 3.1+0=600000")},
		movetest.Row{Name: "one of its own where the span ends stands", Step: tempo("bar 2", "150", "150", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything, Setup: tempoAt(768), Look: func(t movetest.Reporter, b, after song.Song, came moves.Outcome) {
				hasTempi("2.1+0=400000")(t, b, after, came)
				if got := after.Time().TempoAt(768); got != 600_000 {
					t.Errorf("%d us a quarter after the span, want 600000", got)
				}
			}},
		movetest.Row{Name: "spans that touch go on from one to the next", Step: tempo("every 1 bar of bars 1-2", "150", "150", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything, Look: hasTempi("1.1+0=400000 2.1+0=400000 3.1+0=500000")},
		movetest.Row{Name: "without a span, all of the song", Step: tempo("", "150", "150", moves.Linear),
			Before: loop, After: loop, May: movetest.Anything, Look: hasTempi("1.1+0=400000 4.1+0=500000")},
		movetest.Row{Name: "from the song's tempo to itself goes nowhere", Step: tempo("bar 2", "100%", "100%", moves.Linear), Before: loop, Err: "to: found 100%, want another tempo"},
		movetest.Row{Name: "no tempo to go to is a mistake", Step: tempo("bar 2", "100%", "", moves.Linear), Before: loop, Err: "to: found nothing"},
		movetest.Row{Name: "a span past the song is a mistake", Step: tempo("bar 9", "100%", "150", moves.Linear), Before: loop, Err: "over: "},
	)
}

func TestTempoEventsStandOnClocks(t *testing.T) {
	for _, ppq := range []song.Tick{96, 480, 100, 25} {
		in := song.Blank(ppq, nil, nil, 16*ppq)
		out, _ := run(t, tempo("bars 2-3", "100%", "140", moves.Linear), in)
		last, n := uint32(0), 0
		for _, p := range out.Time().Tempi() {
			if k := (p.Tick*24 + ppq/2) / ppq; (k*ppq*2+24)/48 != p.Tick {
				t.Errorf("%d ticks a quarter: a tempo at tick %d, on no clock", ppq, p.Tick)
			}
			if d := max(p.Micros, last) - min(p.Micros, last); p.Micros != 428571 && d*1000 < last { // 60 s / 140
				t.Errorf("%d ticks a quarter: %d us follow %d", ppq, p.Micros, last)
			}
			last, n = p.Micros, n+1
		}
		if n < 90 || n > 192 || !slices.ContainsFunc(out.Time().Tempi(), func(p smf.TempoAt) bool { return p.Micros == 428571 }) {
			t.Errorf("%d ticks a quarter: %d tempi, want 90 to 192 that end at 140 bpm", ppq, n)
		}
	}
}

func TestTempoValues(t *testing.T) {
	for _, tt := range []struct {
		text string
		ok   bool
	}{{"4", true}, {"999", true}, {"126.5", true}, {"126.125", true}, {"96%", true}, {"0.01%", true},
		{"3.999", false}, {"999.001", false}, {"126.1255", false}, {"126.", false}, {"0%", false}, {"-120", false}, {"+120", false}, {"120.-5", false}, {"fast", false}, {"", false}} {
		var v moves.TempoValue
		if err := v.UnmarshalTexts([]string{tt.text}); (err == nil) != tt.ok {
			t.Errorf("%q: got %v, want it accepted: %v", tt.text, err, tt.ok)
		} else if tt.ok && v.Texts()[0] != tt.text {
			t.Errorf("%q comes back as %q", tt.text, v.Texts()[0])
		}
	}
}
