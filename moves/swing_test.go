package moves

import (
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf/song"
)

// hatAt makes a song at 480 ticks a quarter note with a hat at the ticks, in 4/4.
func hatAt(t *testing.T, num, den int, role song.Role, ticks ...song.Tick) song.Song {
	t.Helper()
	tl := metreSong(num, den)
	s := song.Blank(480, nil, tl.Metres(), 16*480)
	e := s.Edit()
	part := e.NewPart(song.Part{Name: "hat", Role: role, Job: role.Job(), Kit: role.Drum()})
	for _, at := range ticks {
		e.Place(part, song.Note{Start: at, End: at + 60, Key: 42, Vel: 100})
	}
	return e.Song()
}

// sixteenths places a hit on each eighth of four bars, and one late on each off sixteenth.
func sixteenths(late song.Tick) []song.Tick {
	var out []song.Tick
	for i := range song.Tick(32) {
		out = append(out, i*240, i*240+late)
	}
	return out
}

func quarters(late song.Tick) []song.Tick {
	var out []song.Tick
	for i := range song.Tick(16) {
		out = append(out, i*480, i*480+late)
	}
	return out
}

func swingOf(s song.Song) swing {
	env := Env{Loop: s}
	return env.swing()
}

// A straight groove of two bars and a shuffled break of six on one tape: the swing is that of the loop that most bars play.
func TestSwingOfSeveralLoops(t *testing.T) {
	var hits []song.Tick
	for i := range song.Tick(64) {
		late := song.Tick(120)
		if i >= 16 {
			late = 160
		}
		hits = append(hits, i*240, i*240+late)
	}
	tape := hatAt(t, 4, 4, song.RoleHat, hits...)
	for _, tt := range []struct {
		groove, breaks int // bars
		want           swing
	}{
		{24, 8, swing{5000, 5000}},
		{8, 24, swing{5000, 6667}},
		{8, 8, swing{5000, 5000}}, // as many: the first
	} {
		env := Env{Loop: tape, Loops: []song.Stretch{{Bar: 1, Bars: 2}, {Bar: 3, Bars: 6}},
			Blocks: []lay.Block{{Bars: tt.groove}, {Bars: tt.breaks, Loop: 1}}}
		if got := env.swing(); got != tt.want {
			t.Errorf("%d bars of the groove, %d of the break: got %v, want %v", tt.groove, tt.breaks, got, tt.want)
		}
	}
}

func TestMeasuredSwing(t *testing.T) {
	// Places of the off sixteenth at 480 ticks a quarter: 240 * s/100 of the eighth. 50: 120, 55: 132,
	// 58: 139.2, 60: 144, 62.5: 150, 66.67: 160, 75: 180 (computed).
	for _, tt := range []struct {
		rule     string
		num, den int
		ticks    []song.Tick
		want     swing
	}{
		{"straight", 4, 4, sixteenths(120), swing{5000, 5000}},
		{"55 %", 4, 4, sixteenths(132), swing{5000, 5500}},
		{"58 %, rounded to a tick", 4, 4, sixteenths(139), swing{5000, 5792}},
		{"60 %", 4, 4, sixteenths(144), swing{5000, 6000}},
		{"62.5 %", 4, 4, sixteenths(150), swing{5000, 6250}},
		{"a triplet feel of sixteenths", 4, 4, sixteenths(160), swing{5000, 6667}},
		{"dotted", 4, 4, sixteenths(180), swing{5000, 7500}},
		{"early off-beats are straight", 4, 4, sixteenths(112), swing{5000, 5000}},
		{"eighths that shuffle", 4, 4, quarters(320), swing{6667, 5000}},
		{"nothing but beats", 4, 4, quarters(0), swing{5000, 5000}},
		{"too few off-beats", 4, 4, sixteenths(144)[:6], swing{5000, 5000}},
		{"6/8 does not swing", 6, 8, sixteenths(144), swing{5000, 5000}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := swingOf(hatAt(t, tt.num, tt.den, song.RoleHat, tt.ticks...)); got != tt.want {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
	if got, want := swingOf(hatAt(t, 4, 4, song.RoleLead, sixteenths(144)...)), (swing{5000, 6000}); got != want {
		t.Errorf("a loop without drums: got %v, want %v", got, want)
	}
}

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
