package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// hatAt makes a song at 480 ticks a quarter note with a hat at the ticks, in 4/4.
func hatAt(t *testing.T, num, den int, role song.Role, ticks ...song.Tick) song.Song {
	t.Helper()
	s := song.Blank(480, nil, []smf.MetreAt{{Metre: smf.Metre{Num: num, Den: den}}}, 16*480)
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

// offbeats are where the first two places of a bar that follow its first 1/16 by 1/16 are played.
type offbeats struct{ sixteenth, eighth song.Tick }

// playedOffbeats returns where an echo of the bar's first note comes in the swing of a loop.
func playedOffbeats(t *testing.T, env moves.Env) offbeats {
	t.Helper()
	in := song.Blank(480, nil, env.Loop.Time().Metres(), 4*480)
	e := in.Edit()
	e.Place(e.NewPart(song.Part{Name: "stab", Role: song.RoleStab, Job: song.RoleStab.Job()}), song.Note{End: 60, Key: 60, Vel: 100})
	o, err := moves.Run(&env, &moves.Echo{Target: target("stab", ""), Spacing: value("1/16"), Repeats: 2, Velocity: option.Whole, Tails: "ring"}, e.Song())
	if err != nil {
		t.Fatal(err)
	}
	notes := o.Song.Parts[0].Notes
	if len(notes) != 3 {
		t.Fatalf("got %d notes, want a note and two repeats", len(notes))
	}
	return offbeats{notes[1].Start, notes[2].Start}
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
		want           offbeats
	}{
		{24, 8, offbeats{120, 240}},
		{8, 24, offbeats{160, 240}},
		{8, 8, offbeats{120, 240}}, // as many: the first
	} {
		env := moves.Env{Loop: tape, Loops: []song.Stretch{{Bar: 1, Bars: 2}, {Bar: 3, Bars: 6}},
			Blocks: []lay.Block{{Bars: tt.groove}, {Bars: tt.breaks, Loop: 1}}}
		if got := playedOffbeats(t, env); got != tt.want {
			t.Errorf("%d bars of the groove, %d of the break: got %v, want %v", tt.groove, tt.breaks, got, tt.want)
		}
	}
}

func TestMeasuredSwing(t *testing.T) {
	// Places of the off sixteenth at 480 ticks a quarter: 240 * s/100 of the eighth, 50: 120, 55: 132,
	// 58: 139.2, 60: 144, 62.5: 150, 66.67: 160, 75: 180 (computed).
	for _, tt := range []struct {
		rule     string
		num, den int
		ticks    []song.Tick
		want     offbeats
	}{
		{"straight", 4, 4, sixteenths(120), offbeats{120, 240}},
		{"55 %", 4, 4, sixteenths(132), offbeats{132, 240}},
		{"58 %, rounded to a tick", 4, 4, sixteenths(139), offbeats{139, 240}},
		{"60 %", 4, 4, sixteenths(144), offbeats{144, 240}},
		{"62.5 %", 4, 4, sixteenths(150), offbeats{150, 240}},
		{"a triplet feel of sixteenths", 4, 4, sixteenths(160), offbeats{160, 240}},
		{"dotted", 4, 4, sixteenths(180), offbeats{180, 240}},
		{"early off-beats are straight", 4, 4, sixteenths(112), offbeats{120, 240}},
		{"eighths that shuffle", 4, 4, quarters(320), offbeats{160, 320}},
		{"nothing but beats", 4, 4, quarters(0), offbeats{120, 240}},
		{"too few off-beats", 4, 4, sixteenths(144)[:6], offbeats{120, 240}},
		{"6/8 does not swing", 6, 8, sixteenths(144), offbeats{120, 240}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if got := playedOffbeats(t, moves.Env{Loop: hatAt(t, tt.num, tt.den, song.RoleHat, tt.ticks...)}); got != tt.want {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
	if got, want := playedOffbeats(t, moves.Env{Loop: hatAt(t, 4, 4, song.RoleLead, sixteenths(144)...)}), (offbeats{144, 240}); got != want {
		t.Errorf("a loop without drums: got %v, want %v", got, want)
	}
}
