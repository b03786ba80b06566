package moves_test

import (
	"math"
	"slices"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func swell(part, over, gap string) *moves.Swell {
	s := &moves.Swell{Target: target(part, over), Velocity: option.SharesOf(option.Whole, option.Whole)}
	switch gap {
	case "":
	case "auto":
		s.Gap.Auto = true
	default:
		s.Gap.Length = where.LengthOf(gap)
	}
	return s
}

// growing is a swell between two shares.
func growing(s *moves.Swell, from, to option.Share) *moves.Swell {
	s.Velocity = option.SharesOf(from, to)
	return s
}

// listening says that the parts' expression is mapped.
func listening(s song.Song) song.Song {
	s.Parts = slices.Clone(s.Parts)
	for i := range s.Parts {
		s.Parts[i].Mapped = []song.Controller{11}
	}
	return s
}

// oneChannel puts all parts on the first one's track and channel.
func oneChannel(s song.Song) song.Song {
	s = listening(s)
	for i := range s.Parts {
		s.Parts[i].Track, s.Parts[i].Channel = s.Parts[0].Track, s.Parts[0].Channel
	}
	return s
}

func TestSwell(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "backwards, the first hit last, a 1/16 before the line, where it ends", Step: swell("hat", "bar 2", ""),
			Before: "hat x-..x.x.........|x-..x.x.........|x-..x.x.........",
			After:  "hat x-..x.x.........|.........x.x...x|x-..x.x........."},
		movetest.Row{Name: "a pattern that starts late ends there all the same", Step: swell("hat", "bar 1", ""),
			Before: "hat ..x...x...x...x.",
			After:  "hat ...x...x...x...x"},
		movetest.Row{Name: "a long first hit that comes last ends on the line", Step: swell("perc", "bar 1", ""),
			Before: "perc x---....x.......|................",
			After:  "perc .......x.......x|................"},
		movetest.Row{Name: "chords stay chords", Step: swell("stab", "bar 1", ""),
			Before: "stab:60 x.....x.........\nstab:64 x...............",
			After:  "stab:64 ...............x\nstab:60 .........x.....x"},
		movetest.Row{Name: "over several spans", Step: swell("hat", "every other 1 bar", ""),
			Before: "hat x..x............|x..x............|x..x............|x..x............",
			After:  "hat x..x............|............x..x|x..x............|............x..x"},
		movetest.Row{Name: "several parts each play theirs", Step: swell("tops", "bar 1", ""),
			Before: "hat x..x............\nshaker x.x.x...........",
			After:  "hat ............x..x\nshaker ...........x.x.x"},
		movetest.Row{Name: "what the loop has there, muted or not", Step: swell("hat", "bar 2", ""),
			Loop:   "hat:40 x..x............",
			Before: "hat:40 x..x............|................",
			After:  "hat:40 x..x............|............x..x"},
		movetest.Row{Name: "a part that ends inside the span", Step: swell("hat", "bars 1-2", ""),
			Before: "hat x..x............|................",
			After:  "hat ................|............x..x"},
		movetest.Row{Name: "a note that rings into the span keeps ringing if it is a drum", Step: swell("ride", "bar 2", ""),
			Before: "ride ............x---|--......x.......",
			After:  "ride ............x---|--.............x"},
		movetest.Row{Name: "the level rises evenly in dB, 50 71 100 for half to all", Step: growing(swell("hat", "bar 1", ""), 50*percent, option.Whole),
			Before: "hat x...x...x.......",
			Look:   velocities("hat", "50 71 100")},
		movetest.Row{Name: "to the loudest at most", Step: growing(swell("hat", "bar 1", ""), option.Whole, 200*percent),
			Before: "hat x...x...X.......",
			Look:   velocities("hat", "100 120 120")},
		movetest.Row{Name: "of one hit it is the last one's", Step: growing(swell("hat", "bar 1", ""), 0, 80*percent),
			Before: "hat x...............",
			Look:   velocities("hat", "80")},
		movetest.Row{Name: "a silent part is warned", Step: swell("hat", "bar 1", ""),
			Before: "hat ................\nkick x...............",
			After:  "hat ................\nkick x...............", Warned: []string{"nothing swells"}},
		movetest.Row{Name: "none that is there: nothing", Step: swell("hat if any", "bar 1", "1 beat"),
			Before: "kick x...x...x...x...", After: "kick x...x...x...x..."},
		movetest.Row{Name: "in the gap every part rests, only a crash may break it", Step: swell("hat", "bar 1", "1 beat"),
			Before: `
				hat   ..x...x...x...x.|..x...x...x...x.
				kick  X...x...x...x...|x...x...x...x...
				bass  x-..........x...|x...............
				crash ............x...|................
				pad   x---------------|x...............`,
			After: `
				hat   ...x...x...x....|..x...x...x...x.
				kick  X...x...x.......|X...x...x...x...
				bass  x-..............|x...............
				crash ............x...|................
				pad   x-----------....|x...............`,
			May: gapped(0, 16*24)},
		movetest.Row{Name: "gap auto is two beats at 174 bpm", Step: swell("hat", "build", "auto"), Sections: "build 1, drop 1",
			Before: "hat ..x...x...x...x.|................", Setup: movetest.Tempo(174),
			After: "hat ...x...x........|................", May: movetest.Parts()},
		movetest.Row{Name: "a span too short for gap auto has none, told", Step: swell("hat", "last 1 beat of bar 1", "auto"),
			Before: "hat x...x...x...x...",
			After:  "hat x...x...x......x", Told: []string{"no gap before bar 2"}},
		movetest.Row{Name: "a gap as long as the span is a mistake", Step: swell("hat", "bar 1", "1 bar"),
			Before: "hat x...............", Err: "gap: found 1 bar, want less than the span it ends"},
		movetest.Row{Name: "a pitched part of long notes is pulsed in 1/8, then 1/16", Step: swell("pad", "bar 1", ""),
			Before: "pad:60 x---------------\npad:64 x-----------....",
			After:  "pad:64 x.x.x.x.xxxx....\npad:60 x.x.x.x.xxxxxxxx"},
		movetest.Row{Name: "pulses fall silent where it does", Step: swell("pad", "bar 2", ""),
			Before: "pad ........x-------|----....x-------",
			After:  "pad ........x-------|x.x.....xxxxxxxx"},
		movetest.Row{Name: "up to the gap", Step: swell("pad", "bar 1", "2 beats"),
			Before: "pad x---------------",
			After:  "pad x.x.xxxx........"},
		movetest.Row{Name: "a median of a beat is long", Step: swell("lead", "bar 1", ""),
			Before: "lead x---x---x.......",
			After:  "lead x.x.x.x.x......."},
		movetest.Row{Name: "under it is short", Step: swell("lead", "bar 1", ""),
			Before: "lead x---x--.x.......",
			After:  "lead .......x...x--.x"},
		movetest.Row{Name: "a vocal is played backwards", Step: swell("vocal", "bar 1", ""),
			Before: "vocal x---....x-------",
			After:  "vocal .......x-------x"},
		movetest.Row{Name: "expression rises from 16 to 127 where it is mapped, then goes home", Step: swell("pad", "bar 2", ""), Setup: listening,
			Before: "pad x---------------|x---------------|x---------------", May: atHome,
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				points := after.Points(0, after.Parts[0].Channel, 11)
				first, _ := points.At(383)
				low, _ := points.At(384)
				high, _ := points.At(767)
				home, _ := points.At(768)
				if first != 127 || low != 16 || high != 127 || home != 127 {
					t.Errorf("expression before, first, last, after: %d %d %d %d, want 127 16 127 127", first, low, high, home)
				}
			}},
		movetest.Row{Name: "elsewhere it is left alone", Step: swell("pad", "bar 2", ""),
			Before: "pad x---------------|x---------------", Look: expressionless},
		movetest.Row{Name: "nor is a channel's where another part plays on it", Step: swell("pad", "bar 1", ""), Setup: oneChannel,
			Before: "pad:72 x---------------\nbass x...............", Look: expressionless},
	)
}

func expressionless(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
	if points := after.Points(0, after.Parts[0].Channel, 11); len(points) > 0 {
		t.Errorf("got expression %v, want none", points)
	}
}

func TestASwellFollowsTheLoopsSwing(t *testing.T) {
	movetest.Run(t, movetest.Row{Name: "the last hit, an off-beat, comes late", Step: swell("hat", "bar 1", ""), Setup: late(8),
		Before: "hat xxxxxxxxxxxxxxxx",
		Look:   onsets("hat", "0 32 48 80 96 128 144 176 192 224 240 272 288 320 336 368")})
}

func TestASwellLeavesRollsAlone(t *testing.T) {
	in := mustGrid(t, "snare x..x............|x..x............")
	out, err := moves.RunAll(&moves.Env{Strict: true}, in, roll("snare", "bar 1", "1/4", "1/4", ""), swell("snare", "bars 1-2", ""))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := song.Grid(out.Song), "snare x-..x-..x-..x-..|x..x............\n"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if told := movetest.Told(out); !slices.Contains(told, "swell: left out where a roll stands for snare") {
		t.Errorf("told %q", told)
	}
}

// TestASwellByDefault holds the level at 15 % to 100 % of the median, even in dB: for velocity 100 that
// is 100 * .15^(1-t) (common practice, no source).
func TestASwellByDefault(t *testing.T) {
	m, _ := moves.All().Lookup("swell")
	step := m.New().(*moves.Swell)
	step.Target = target("hat", "")
	out, _ := run(t, step, mustGrid(t, "hat x...x...x...x...|x...x...x...x..."))
	for i, n := range out.Parts[0].Notes {
		if want := math.Round(100 * math.Pow(.15, 1-float64(i)/7)); float64(n.Vel) != want {
			t.Errorf("hit %d is %d, want %g", i+1, n.Vel, want)
		}
	}
}
