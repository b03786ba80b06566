package moves_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func target(part, over string) moves.Target {
	t := moves.Target{Part: where.PartsOf(part)}
	if over != "" {
		t.Over = where.SpansOf(over)
	}
	return t
}

const percent = option.Whole / 100

func double(part, over string) *moves.Double {
	return &moves.Double{Target: target(part, over), Velocity: 85 * percent}
}

// velocities reports where the velocities of a part's notes are not the ones wanted.
func velocities(part, want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		var got []string
		for _, n := range after.Parts[after.Index(part)].Notes {
			got = append(got, fmt.Sprint(n.Vel))
		}
		if strings.Join(got, " ") != want {
			t.Errorf("velocities of %s\ngot  %s\nwant %s", part, strings.Join(got, " "), want)
		}
	}
}

// onsets reports where the onsets of a part, in ticks of 96 a quarter, are not the ones wanted.
func onsets(part, want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		var got []string
		for _, n := range after.Parts[after.Index(part)].Notes {
			got = append(got, fmt.Sprint(n.Start))
		}
		if strings.Join(got, " ") != want {
			t.Errorf("onsets of %s\ngot  %s\nwant %s", part, strings.Join(got, " "), want)
		}
	}
}

// late returns a Setup that moves every second 1/16 of all parts late by ticks of 96 a quarter.
func late(ticks song.Tick) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		s.Parts = slices.Clone(s.Parts)
		for i := range s.Parts {
			s.Parts[i].Notes = slices.Clone(s.Parts[i].Notes)
			for j := range s.Parts[i].Notes {
				if n := &s.Parts[i].Notes[j]; n.Start/24%2 == 1 {
					n.Start += ticks
					n.End += ticks
				}
			}
		}
		return s
	}
}

func TestDouble(t *testing.T) {
	spaced := func(d *moves.Double, spacing string) *moves.Double { d.Spacing = spacing; return d }
	loud := func(d *moves.Double, v option.Share) *moves.Double { d.Velocity = v; return d }
	movetest.Run(t,
		movetest.Row{Name: "a kick before a line gets two extra eighths", Step: double("kick", "last 2 beats"),
			Before: "kick x...x...x...x...|x...x...x...x...",
			After:  "kick x...x...x...x...|x...x...x.x.x.x."},
		movetest.Row{Name: "they have 85 % of the velocity around them", Step: double("kick", "last 2 beats"),
			Before: "kick X...X...X...X...",
			After:  "kick X...X...X.x.X.x.",
			Look:   velocities("kick", "120 120 120 102 120 102")},
		movetest.Row{Name: "between a loud and a soft hit: of their mean", Step: double("kick", "first 1 beat"),
			Before: "kick X...o...X...o...",
			After:  "kick X.o.o...X...o...", // 85 % of 90
			Look:   velocities("kick", "120 77 60 120 60")},
		movetest.Row{Name: "never past the part's own loudest hit", Step: loud(double("kick", "last 2 beats"), 300*percent),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x.x.x.x.",
			Look:   velocities("kick", "100 100 100 100 100 100")},
		movetest.Row{Name: "where eighths are taken, sixteenths are filled", Step: double("hat", "bar 2"),
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.x.x.|xxxxxxxxxxxxxxxx"},
		movetest.Row{Name: "where no place is free nothing is added", Step: double("hat", "bar 1"),
			Before: "hat xxxxxxxxxxxxxxxx",
			After:  "hat xxxxxxxxxxxxxxxx"},
		movetest.Row{Name: "a place is at least a sixteenth from any hit", Step: double("perc", "bar 1"),
			Before: "perc x..x..x...x.x...",
			After:  "perc x.xxx.x.x.x.x.x."},
		movetest.Row{Name: "a hit is answered within a quarter note, silence is not filled", Step: double("clap", "bar 1"),
			Before: "clap ....x.......x...",
			After:  "clap ....x.x.....x.x."},
		movetest.Row{Name: "nothing comes before the first hit", Step: double("kick", "bar 1"),
			Before: "kick ........x...x...",
			After:  "kick ........x.x.x.x."},
		movetest.Row{Name: "a hit before the span is answered in it if the part plays there", Step: double("bass", "last 1 beat"),
			Before: "bass ..x...x...x...x.",
			After:  "bass ..x...x...x.x.x."},
		movetest.Row{Name: "off-beats are answered on the beat", Step: double("bass", "bar 1"),
			Before: "bass ..x...x...x...x.",
			After:  "bass ..x.x.x.x.x.x.x."},
		movetest.Row{Name: "spacing 1/16 leaves no eighth alone", Step: spaced(double("kick", "last 1 beat"), "1/16"),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...xxxx"},
		movetest.Row{Name: "spacing 1/8 fills no sixteenths", Step: spaced(double("hat", "bar 1"), "1/8"),
			Before: "hat x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "a chord is answered whole", Step: double("stab", "last 2 beats"),
			Before: "stab:60 x.......x.......\nstab:64 x.......x.......",
			After:  "stab:64 x.......x.x.....\nstab:60 x.......x.x....."},
		movetest.Row{Name: "each hit of a skeleton is answered with its own key", Step: double("kick", "last 2 beats"),
			Before: "kick:36 x.......x.......\nkick:38 ....x.......x...",
			After:  "kick:38 ....x.......x.x.\nkick:36 x.......x.x....."},
		movetest.Row{Name: "a held note ends where its key is struck again; the answer lasts an eighth at most", Step: double("bass", "bar 1"),
			Before: "bass x------.x-------",
			After:  "bass x-x-....x-x-...."},
		movetest.Row{Name: "where the part is silent nothing is added, and that is said", Step: double("kick", "bar 2"),
			Before: `
				kick x...x...x...x...|................
				hat  x...............|x...............`,
			After: `
				kick x...x...x...x...|................
				hat  x...............|x...............`,
			Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "several spans", Step: double("kick", "last 1 beat of every 1 bar"),
			Before: "kick x...x...x...x...|x...x...x...x...", Sections: "groove 2",
			After: "kick x...x...x...x.x.|x...x...x...x.x."},
		movetest.Row{Name: "without a span, everywhere", Step: double("kick", ""),
			Before: "kick x...x...x...x...",
			After:  "kick x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "7/8 has its own bars", Step: double("kick", "bar 2"),
			Before: "kick x...x...x.....|x...x...x.....",
			After:  "kick x...x...x.....|x.x.x.x.x.x..."},
		movetest.Row{Name: "a hat that swings at 62 % gets the same late off-beats", Step: double("hat", "bar 2"),
			Setup:  late(6),
			Before: "hat xxxxxxxxxxxxxxxx|x.x.x.x.x.x.x.x.",
			After:  "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx",
			Look:   onsets("hat", "0 30 48 78 96 126 144 174 192 222 240 270 288 318 336 366 384 414 432 462 480 510 528 558 576 606 624 654 672 702 720 750")},
		movetest.Row{Name: "hits that swing leave the eighths after them free", Step: double("kick", "bar 2"),
			Setup: late(6),
			Before: `
				hat  xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx
				kick ................|x..x....x..x....`,
			After: `
				hat  xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx
				kick ................|x.xxx.x.x.xxx.x.`},
		movetest.Row{Name: "parts that are not there, if any, are no mistake", Step: double("kick if any", "bar 1"),
			Before: "hat x...x...x...x...",
			After:  "hat x...x...x...x..."},
	)
}

func TestDoubleLeavesRollsAlone(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...|x...x...x...x...|x...x...x...x...")
	env := moves.Env{Strict: true, Full: in}
	roll := &moves.Roll{Target: target("kick", "bar 2"), From: option.NoteValueOf(1, 4), To: option.NoteValueOf(1, 4), Velocity: option.SharesOf(option.Whole, option.Whole)}
	rolled, err := moves.Run(&env, roll, in)
	if err != nil {
		t.Fatal(err)
	}
	env = env.After(rolled)
	out, err := moves.Run(&env, double("kick", "bars 2-3"), rolled.Song)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := song.Grid(out.Song), "kick x...x...x...x...|x-..x-..x-..x-..|x.x.x.x.x.x.x.x.\n"; got != want {
		t.Errorf("\ngot  %swant %s", got, want)
	}
	if out, err = moves.Run(&env, double("kick", "bar 2"), rolled.Song); err != nil {
		t.Fatal(err)
	}
	if got, want := song.Grid(out.Song), song.Grid(rolled.Song); got != want {
		t.Errorf("\ngot  %swant %s", got, want)
	}
	if told := movetest.Told(out); !slices.Equal(told, []string{"double: left out where a roll stands for kick"}) {
		t.Errorf("told %q, want that it was left out", told)
	}
}

// manyHits makes a song of n hits, eight a bar, and the same again in another part.
func manyHits(n int) song.Song {
	s := song.Blank(480, nil, nil, song.Tick(n)*240)
	e := s.Edit()
	for _, name := range []string{"hat", "clap"} {
		p := e.NewPart(song.Part{Name: name, Role: song.RoleHat, Job: song.JobTops, Kit: true})
		for i := range n {
			e.Place(p, song.Note{Start: song.Tick(i) * 240, End: song.Tick(i)*240 + 60, Key: 42, Vel: 100})
		}
	}
	return e.Song()
}

func BenchmarkDouble(b *testing.B) { benchmarkMove(b, double("hat", "")) }

// benchmarkMove measures a move on a hundred thousand and on a million notes: the time a note should
// stay the same.
func benchmarkMove(b *testing.B, step moves.Step) {
	for _, n := range []int{100_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			in := manyHits(n)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := moves.Run(&moves.Env{Bars: 8, Loop: in, Full: in}, step, in); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/note")
		})
	}
}

func TestAnOffBeatThatComesTooLateForItsSpanIsLeftOut(t *testing.T) {
	in := swungHats(t, append(note(0, 12, 36), note(bar, bar+12, 36)...), "kick", song.RoleKick)
	for _, tt := range []struct {
		over string
		want int // kicks, of which the loop has two
	}{{"first 3/16 of bar 2", 3}, {"first 5/32 of bar 2", 2}} { // to 72 and to 60 ticks; the off-beat comes at 64
		out, _ := run(t, &moves.Double{Target: moves.Target{Part: where.PartsOf("kick"), Over: where.SpansOf(tt.over)}, Velocity: option.Whole, Spacing: "1/8"}, in)
		if got := len(out.Parts[1].Notes); got != tt.want {
			t.Errorf("%s: got %d kicks, want %d", tt.over, got, tt.want)
		}
	}
}
