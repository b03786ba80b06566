package moves_test

import (
	"math"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func value(text string) option.NoteValue {
	var v option.NoteValue
	if err := v.UnmarshalTexts([]string{text}); err != nil {
		panic(err)
	}
	return v
}

func roll(part, over, from, to, gap string) *moves.Roll {
	r := &moves.Roll{Target: target(part, over), From: value(from), To: value(to), Velocity: option.SharesOf(option.Whole, option.Whole)}
	switch gap {
	case "":
	case "auto":
		r.Gap.Auto = true
	default:
		r.Gap.Length = where.LengthOf(gap)
	}
	return r
}

// empty returns n bars of rests.
func empty(n int) string { return strings.Repeat("................|", n) }

// gapped allows what a gap changes in other parts: their notes and events from one bar to another, and
// the kick on the line.
func gapped(from, to song.Tick) func(song.Part, song.Tick) bool {
	return func(p song.Part, at song.Tick) bool { return p.Track >= 0 && at >= from && at <= to }
}

// TestEightBarsRollInSixtyEightHits holds the shape of the club's build: 4 bars in quarters, 2 in
// eighths, the rest in sixteenths, the last 2 beats before the gap of 1 beat in 1/32: 16 + 16 + 20 + 16
// hits (common practice, no source).
func TestEightBarsRollInSixtyEightHits(t *testing.T) {
	movetest.Run(t, movetest.Row{
		Name: "8 bars, a gap of 1 beat", Step: roll("snare", "bars 1-8", "1/4", "1/32", "1 beat"), Steps: 8,
		Before: "snare " + strings.Repeat("........x...............x.......|", 9),
		After: "snare " + strings.Repeat("x---....x---....x---....x---....|", 4) + strings.Repeat("x-..x-..x-..x-..x-..x-..x-..x-..|", 2) +
			strings.Repeat("x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.|", 1) + "x.x.x.x.xxxxxxxxxxxxxxxx........|........x...............x.......",
		Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
			if n := len(after.In(after.Parts[0], after.BarRange(1, 8))); n != 68 {
				t.Errorf("got %d hits, want 68", n)
			}
		},
	})
}

func TestRoll(t *testing.T) {
	kicks := func(r *moves.Roll, from, to option.Share) *moves.Roll {
		r.Velocity = option.SharesOf(from, to)
		return r
	}
	movetest.Run(t,
		movetest.Row{Name: "it stands for the part's own notes", Step: roll("snare", "bar 2", "1/4", "1/16", ""),
			Before: "snare ....x.......x...|....x.......x...|....x.......x...",
			After:  "snare ....x.......x...|x-..x-..x.x.xxxx|....x.......x..."},
		movetest.Row{Name: "one spacing", Step: roll("snare", "bar 1", "1/8", "1/8", ""),
			Before: "snare ....x.......x...",
			After:  "snare x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "two spacings: half the span each", Step: roll("snare", "bar 1", "1/8", "1/16", ""),
			Before: "snare ....x.......x...",
			After:  "snare x.x.x.x.xxxxxxxx"},
		movetest.Row{Name: "triplets; 1/24 is closer than 1/16, so only in the last two beats", Step: roll("snare", "bar 1", "1/12", "1/24", ""), Steps: 12,
			Before: "snare ............x.......................x...........",
			After:  "snare x-..x-..x-..x-..x-..x-..x.x.x.x.x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "only the first of the parts named", Step: roll("backbeat", "bar 1", "1/4", "1/4", ""),
			Before: "snare ....x.......x...\nclap  ....x.......x...",
			After:  "snare x-..x-..x-..x-..\nclap  ....x.......x..."},
		movetest.Row{Name: "the first of them that is there", Step: roll("snare or clap or beat if any", "bar 1", "1/4", "1/4", ""),
			Before: "kick x...x...x...x...\nclap ....x.......x...",
			After:  "kick x...x...x...x...\nclap x-..x-..x-..x-.."},
		movetest.Row{Name: "none that is there: nothing", Step: roll("snare if any", "bar 1", "1/4", "1/4", ""),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...x..."},
		movetest.Row{Name: "a kick goes down to 1/16 only", Step: roll("kick", "bar 1", "1/4", "1/32", ""), Steps: 8,
			Before: "kick x.......x.......x.......x.......",
			After:  "kick x---....x---....x-..x-..x.x.x.x."},
		movetest.Row{Name: "of a skeleton the snare rolls", Step: roll("kick", "bar 1", "1/4", "1/4", ""),
			Before: "kick:36 x.......x.......\nkick:38 ....x.......x...",
			After:  "kick:38 x-..x-..x-..x-.."},
		movetest.Row{Name: "a snare, however rare, before toms", Step: roll("kick", "bar 1", "1/4", "1/4", ""),
			Before: "kick:45 x.x.x.x.x.x.x.x.\nkick:38 ..............x.",
			After:  "kick:38 x-..x-..x-..x-.."},
		movetest.Row{Name: "keys come from the loop, not from what muting left", Step: roll("snare", "drop", "1/4", "1/4", ""), Sections: "intro 1, drop 1",
			Loop: "snare:40 ....x.......x...\nhat x...............",
			Before: `
				snare:40 ................|................
				hat      x...............|x...............`,
			After: `
				snare:40 ................|x-..x-..x-..x-..
				hat      x...............|x...............`},
		movetest.Row{Name: "a part that never plays cannot roll, and that is said", Step: roll("snare", "bar 1", "1/4", "1/4", ""),
			Before: "snare ................\nkick x...............",
			After:  "snare ................\nkick x...............", Warned: []string{"nothing to roll"}},
		movetest.Row{Name: "in the gap everything rests, pitched notes are cut, drums ring", Step: roll("snare", "bar 1", "1/4", "1/4", "1 beat"),
			Before: `
				snare ....x.......x...|....x.......x...
				kick  x...x...x...x...|x...x...x...x...
				ride  x..........x----|x...............
				bass  x-..x-..x-.x----|-.x-..x-..x-..x-`,
			After: `
				snare x-..x-..x-......|....x.......x...
				kick  x...x...x.......|x...x...x...x...
				ride  x..........x----|x...............
				bass  x-..x-..x-.x....|..x-..x-..x-..x-`,
			May: gapped(11*24, 16*24)},
		movetest.Row{Name: "a pad held over the gap is struck again on the line", Step: roll("snare", "bar 1", "1/4", "1/4", "1 beat"),
			Before: `
				snare ....x.......x...|....x.......x...
				pad   x---------------|----------------`,
			After: `
				snare x-..x-..x-......|....x.......x...
				pad   x-----------....|x---------------`,
			May: gapped(0, 16*24)},
		movetest.Row{Name: "a crash may break the gap", Step: roll("snare", "bar 1", "1/4", "1/4", "1 beat"),
			Before: "snare ....x.......x...\ncrash ............x...",
			After:  "snare x-..x-..x-......\ncrash ............x..."},
		movetest.Row{Name: "the kick on the line is as loud as the part's loudest", Step: roll("snare", "bar 1", "1/4", "1/4", "1 beat"),
			Before: `
				snare ....x.......x...|....x.......x...
				kick  X...x...x...x...|x...x...x...x...`,
			After: `
				snare x-..x-..x-......|....x.......x...
				kick  X...x...x.......|X...x...x...x...`,
			May: gapped(12*24, 16*24)},
		movetest.Row{Name: "gap auto is a beat under 140 bpm", Step: roll("snare", "build", "1/4", "1/4", "auto"), Sections: "build 1, drop 1",
			Before: "snare ....x.......x...|....x.......x...", Setup: movetest.Tempo(139),
			After: "snare x-..x-..x-......|....x.......x..."},
		movetest.Row{Name: "gap auto is two beats at 174 bpm", Step: roll("snare", "build", "1/4", "1/4", "auto"), Sections: "build 1, drop 1",
			Before: "snare ....x.......x...|....x.......x...", Setup: movetest.Tempo(174),
			After: "snare x-..x-..........|....x.......x..."},
		movetest.Row{Name: "before the second drop it is twice that", Step: roll("snare", "every build", "1/4", "1/4", "auto"), Sections: "build 1, drop 1, build 1, drop 1",
			Before: "snare ....x.......x...|....x.......x...|....x.......x...|....x.......x...",
			After:  "snare x-..x-..x-......|....x.......x...|x-..x-..........|....x.......x..."},
		movetest.Row{Name: "before the second drop it is no longer than without, where twice that is a bar", Step: roll("snare", "every build", "1/4", "1/4", "auto"), Sections: "build 1, drop 1, build 1, drop 1",
			Before: "snare ....x.......x...|....x.......x...|....x.......x...|....x.......x...", Setup: movetest.Tempo(174),
			After: "snare x-..x-..........|....x.......x...|x-..x-..........|....x.......x..."},
		movetest.Row{Name: "a span too short for gap auto has none, told", Step: roll("snare", "last 1 beat of bar 1", "1/16", "1/16", "auto"),
			Before: "snare ....x.......x...",
			After:  "snare ....x.......xxxx", Told: []string{"no gap before bar 2"}},
		movetest.Row{Name: "a gap as long as the span is a mistake", Step: roll("snare", "bar 1", "1/4", "1/4", "1 bar"),
			Before: "snare ....x.......x...", Err: "gap: found 1 bar, want less than the span it ends"},
		movetest.Row{Name: "the last spacing is the first one halved", Step: roll("snare", "bar 1", "1/4", "1/12", ""),
			Before: "snare ....x.......x...", Err: "to: found 1/12, want 1/4, or that halved"},
		movetest.Row{Name: "where no last spacing is given, the first is that one doubled", Step: &moves.Roll{Target: target("snare", "bar 1"), From: value("1/5"), To: value("1/16")},
			Before: "snare ....x.......x...", Err: "from: found 1/5, want 1/16, or that doubled any number of times, while to is 1/16"},
		movetest.Row{Name: "nor is the first below 1/32", Step: roll("snare", "bar 1", "1/64", "1/64", ""),
			Before: "snare ....x.......x...", Err: "from: found 1/64, want a spacing of 1/32 or more"},
		movetest.Row{Name: "not wider than it", Step: roll("snare", "bar 1", "1/8", "1/4", ""),
			Before: "snare ....x.......x...", Err: "to: found 1/4, want 1/8, or that halved"},
		movetest.Row{Name: "a spacing that is left out of a literal is a mistake", Step: &moves.Roll{Target: target("snare", "bar 1"), To: value("1/8")},
			Before: "snare ....x.......x...", Err: "from: found nothing, want a note value"},
		movetest.Row{Name: "a kick and snare in one part roll to 1/32 on the snare", Step: roll("kick", "bar 1", "1/16", "1/32", ""), Steps: 8,
			Before: `
				kick:36 x...............x...............
				kick:38 ........x...............x.......`,
			After: "kick:38 x.x.x.x.x.x.x.x.xxxxxxxxxxxxxxxx"},
		movetest.Row{Name: "not below 1/32", Step: roll("snare", "bar 1", "1/4", "1/64", ""),
			Before: "snare ....x.......x...", Err: "not below 1/32"},
		movetest.Row{Name: "1/32 stands in the last beat where two would be faster than 50 ms", Step: roll("snare", "bar 1", "1/16", "1/32", ""), Steps: 8,
			Before: "snare ........x...............x.......", Setup: movetest.Tempo(151),
			After: "snare x.x.x.x.x.x.x.x.x.x.x.x.xxxxxxxx"},
		movetest.Row{Name: "and in the last two beats at 150 bpm", Step: roll("snare", "bar 1", "1/16", "1/32", ""), Steps: 8,
			Before: "snare ........x...............x.......", Setup: movetest.Tempo(150),
			After: "snare x.x.x.x.x.x.x.x.xxxxxxxxxxxxxxxx"},
		movetest.Row{Name: "the loudness of a flat roll has accents on the beats, not past the loudest", Step: kicks(roll("snare", "bar 2", "1/8", "1/8", ""), 50*percent, 50*percent),
			Before: "snare x...x...X...x...|....x.......x...",
			After:  "snare x...x...X...x...|o.o.o.o.o.o.o.o.",
			Look:   velocities("snare", "100 100 120 100 56 50 56 50 56 50 56 50")},
		movetest.Row{Name: "off-beats come as late as the loop's", Step: roll("snare", "last 1 beat of bar 1", "1/16", "1/16", ""), Setup: late(6),
			Before: "hat   xxxxxxxxxxxxxxxx\nsnare ....x.......x...",
			After:  "hat   xxxxxxxxxxxxxxxx\nsnare ....x.......xxxx",
			Look:   onsets("snare", "96 288 318 336 366")},
	)
}

// TestARollRisesEvenlyInDecibels holds the level of each hit, from gain (v/127)^2 (DLS Level 1, RP-016):
// even in dB, 1.5 dB down at each doubling, from the first share to the last.
func TestARollRisesEvenlyInDecibels(t *testing.T) {
	text := "snare " + strings.Repeat("....x.......X...|", 4)
	in := mustGrid(t, text)
	step := roll("snare", "bars 1-4", "1/4", "1/16", "")
	step.Velocity = option.SharesOf(30*percent, 100*percent)
	out, _ := run(t, step, in)
	const median = 100
	hits := out.Parts[0].Notes
	first, last := hits[0].Start, hits[len(hits)-1].Start
	dB := func(share float64) float64 { return 40 * math.Log10(share) }
	for i, n := range hits {
		halved := 0.0
		switch bar := n.Start / (4 * 96); {
		case bar == 3:
			halved = 2
		case bar == 2:
			halved = 1
		}
		way := float64(n.Start-first) / float64(last-first)
		want := median * math.Pow(10, (dB(.3)+way*(dB(1)-dB(.3)+3)-1.5*halved)/40)
		if n.Start%96 == 0 {
			want += 6
		}
		if math.Abs(float64(n.Vel)-want) > 1.01 {
			t.Errorf("hit %d at tick %d: velocity %d, want %.1f", i+1, n.Start, n.Vel, want)
		}
	}
	if got := []uint8{hits[0].Vel, hits[len(hits)-1].Vel}; got[0] != 36 || got[1] != 100 {
		t.Errorf("first and last velocity: got %v, want 36 (30 and 6 on the beat) and 100", got)
	}
}

func TestAGapIsAboutHalfASecond(t *testing.T) {
	// Nearest to half a second as a ratio; 1 beat under 140 bpm, 2 at 174 (common practice, no source).
	for bpm, want := range map[int]int{60: 1, 100: 1, 120: 1, 139: 1, 150: 1, 168: 1, 174: 2, 200: 2, 280: 2} {
		in := movetest.Tempo(bpm)(mustGrid(t, "snare "+empty(3)+"....x.......x..."))
		out, _ := run(t, roll("snare", "bars 1-4", "1/4", "1/4", "auto"), in)
		notes := out.Parts[0].Notes
		rest := 4 - int(notes[len(notes)-1].Start/96)%4 - 1
		if rest != want {
			t.Errorf("%d bpm: a gap of %d beats, want %d", bpm, rest, want)
		}
	}
}

func TestARollIsRemembered(t *testing.T) {
	in := mustGrid(t, "snare ....x.......x...|....x.......x...")
	_, came := run(t, roll("snare", "bar 2", "1/4", "1/16", ""), in)
	want := moves.Rolled{Part: "snare", Range: song.Range{Start: 384, End: 768}}
	if len(came.Rolled) != 1 || came.Rolled[0] != want {
		t.Errorf("got %v, want %v", came.Rolled, want)
	}
	if len(came.Changes) != 1 || came.Changes[0].Text != "8 hits" {
		t.Errorf("got the trace %v, want 8 hits", came.Changes)
	}
}

func TestARollThroughAMetreChange(t *testing.T) {
	s := song.Blank(96, nil, []smf.MetreAt{{Metre: smf.Metre{Num: 4, Den: 4}}, {Tick: 384, Metre: smf.Metre{Num: 3, Den: 4}}}, 384+288)
	e := s.Edit()
	p := e.NewPart(song.Part{Name: "snare", Role: song.RoleSnare, Job: song.JobBackbeat, Kit: true})
	e.Place(p, song.Note{Start: 96, End: 120, Key: 38, Vel: 100})
	out, _ := run(t, roll("snare", "bars 1-2", "1/4", "1/8", ""), e.Song())
	// Half of 7 beats is 3.5.
	onsets("snare", "0 96 192 288 336 384 432 480 528 576 624")(t, s, out, moves.Outcome{})
}

func TestNoHitOfASwungRollStandsInItsGap(t *testing.T) {
	in := swungHats(t, note(0, 12, 38), "snare", song.RoleSnare)
	step := &moves.Roll{Target: moves.Target{Part: where.PartsOf("snare"), Over: where.SpansOf("bar 2")}, From: option.NoteValueOf(1, 8), To: option.NoteValueOf(1, 32),
		Velocity: option.SharesOf(option.Whole, option.Whole), Gap: where.Gap{Length: where.LengthOf("1/8")}}
	out, _ := run(t, step, in)
	for _, n := range out.Parts[1].Notes {
		if n.Start >= 2*bar-q/2 {
			t.Errorf("a hit at %d in the gap from %d", n.Start, 2*bar-q/2)
		}
	}
	if len(out.Parts[1].Notes) < 8 {
		t.Errorf("%d hits, want a roll", len(out.Parts[1].Notes))
	}
}

// swungHats is a loop of two bars of a hat in 1/8 notes, its off-beats at 67 % (64 of 96 ticks), and another drum.
func swungHats(t *testing.T, events []smf.Event, name string, role song.Role) song.Song {
	var hats []smf.Event
	for i := range smf.Tick(8) {
		hats = append(hats, note(i*q, i*q+12, 42)...)
		hats = append(hats, note(i*q+64, i*q+76, 42)...)
	}
	in := loop(t, 2*bar, hats, events)
	in.Parts[0].Name, in.Parts[0].Role, in.Parts[0].Job = "hat", song.RoleHat, song.JobTops
	in.Parts[1].Name, in.Parts[1].Role, in.Parts[1].Job = name, role, role.Job()
	return in
}
