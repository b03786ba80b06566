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
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

func emphasise(quiet, loud string, by option.Share) *moves.Emphasise {
	return &moves.Emphasise{Quiet: where.SpansOf(quiet), Loud: where.SpansOf(loud), By: by}
}

func TestEmphasise(t *testing.T) {
	all := movetest.Anything
	apart := func(row movetest.Row) movetest.Row {
		if row.Sections == "" {
			row.Sections = "break 1, drop 1"
		}
		if row.May == nil {
			row.May = all
		}
		return row
	}
	by := func(share option.Share) *moves.Emphasise { return emphasise("break", "drop", share*percent) }
	for _, row := range []movetest.Row{
		{Name: "velocities fall by half the share in the one and rise by half of it in the other", Step: by(20),
			Before: "kick X...x...o...x...|X...x...o...x...",
			Look:   velocities("kick", "108 90 54 90 120 110 66 110")},
		{Name: "louder than the part is in the loop they never get", Step: by(20),
			Before: "kick x...x...x...x...|x...x...x...x...",
			Look:   velocities("kick", "90 90 90 90 100 100 100 100")},
		{Name: "at the least the loudest falls by 1", Step: by(1),
			Before: "kick x...o...x...o...|x...x...x...x...",
			Look:   velocities("kick", "99 60 99 60 100 100 100 100")},
		{Name: "tops lose the share of their onsets, and get as much more in ghosts", Step: by(20),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				hat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			After: `
				kick x...x...x...x...|x...x...x...x...
				hat  x.x.x...x.x.x...|xox.x.xox.x.x.x.`},
		{Name: "between the steps of 5 % density stays with the one before", Step: by(4),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				hat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			After: `
				kick x...x...x...x...|x...x...x...x...
				hat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`},
		{Name: "perc gets thinner and nothing fuller", Step: by(20),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				perc xxxxxxxxxxxxxxxx|x.x.x.x.x.x.x.x.`,
			After: `
				kick x...x...x...x...|x...x...x...x...
				perc xxx.xxxxx.xxxxx.|x.x.x.x.x.x.x.x.`},
		{Name: "sixteenths leave no place for ghosts", Step: by(20),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				hat  xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx`,
			After: `
				kick x...x...x...x...|x...x...x...x...
				hat  xxx.xxxxx.xxxxx.|xxxxxxxxxxxxxxxx`},
		{Name: "a hook loses whole bars, not more than the share", Step: by(35), Sections: "break 5, drop 1",
			Before: `
				pad      x---------------|x---------------|x---------------|x---------------|x---------------|................
				lead:127 x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........`,
			After: `
				pad      x---------------|x---------------|x---------------|x---------------|x---------------|................
				lead:127 ................|x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........`},
		{Name: "from 25 % on the share of the parts leaves, kick and bass first, and the hook gets its octave", Step: by(50),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				clap ....x.......x...|....x.......x...
				bass ..x-..x-..x-..x-|..x-..x-..x-..x-
				stab x--..x--..x-....|x--..x--..x-....`,
			After: `
				kick    ................|x...x...x...x...
				clap    ....o.......o...|....x.......x...
				bass    ................|..x-..x-..x-..x-
				stab:72 ................|x--..x--..x-....
				stab:60 o--..o--..o-....|x--..x--..x-....`},
		{Name: "below 25 % none does", Step: by(24),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				clap ....x.......x...|....x.......x...
				bass ..x-..x-..x-..x-|..x-..x-..x-..x-
				stab x--..x--..x-....|x--..x--..x-....`,
			After: `
				kick x...x...x...x...|x...x...x...x...
				clap ....x.......x...|....x.......x...
				bass ..x-..x-..x-..x-|..x-..x-..x-..x-
				stab x--..x--..x-....|x--..x--..x-....`},
		{Name: "of the tops the first leaves last", Step: by(67),
			Before: `
				ride   x.x.x.x.|x.x.x.x.
				hat    x.x.x.x.|x.x.x.x.
				shaker x.x.x.x.|x.x.x.x.`,
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				if got := playing(after, 1); got != "hat" {
					t.Errorf("in the break plays %q, want the hat alone", got)
				}
			}},
		{Name: "bed and hook never leave", Step: by(100),
			Before: `
				pad      x---------------|x---------------
				strings  x---------------|x---------------
				lead:127 x..x..x.........|x..x..x.........
				arp:127  x.x.x.x.........|x.x.x.x.........
				kick     x...x...x...x...|x...x...x...x...`,
			After: `
				pad      o---------------|x---------------
				strings  o---------------|x---------------
				lead:127 o..o..o.........|x..x..x.........
				arp:127  o.o.o.o.........|x.x.x.x.........
				kick     ................|x...x...x...x...`},
		{Name: "what plays in the one only does not leave", Step: by(100),
			Before: `
				pad      x---------------|................
				kick     x...x...x...x...|................
				bass:120 ................|x-..x-..x-..x-..`,
			After: `
				pad      o---------------|................
				kick     o...o...o...o...|................
				bass:120 ................|x-..x-..x-..x-..`},
		{Name: "no bar falls silent: the kick is alone in bar 2", Step: by(100), Sections: "break 2, drop 1",
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...
				clap ....x.......x...|................|....x.......x...`,
			After: `
				kick o...o...o...o...|o...o...o...o...|x...x...x...x...
				clap ................|................|....x.......x...`},
		{Name: "of two that play the same bars one stays", Step: by(100),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				clap ....x.......x...|....x.......x...`,
			After: `
				kick ................|x...x...x...x...
				clap ....o.......o...|....x.......x...`},
		{Name: "a held pad sounds in every bar it is held", Step: by(100), Sections: "break 2, drop 1",
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...
				pad  x---------------|----------------|x---------------`,
			After: `
				kick ................|................|x...x...x...x...
				pad  o---------------|----------------|x---------------`},
		{Name: "also one that was struck before", Step: emphasise("bars 2-3", "bar 4", 100*percent), Sections: "intro 4",
			Before: `
				kick ................|x...x...x...x...|x...x...x...x...|x...x...x...x...
				pad  x---------------|----------------|----------------|................`,
			After: `
				kick ................|................|................|x...x...x...x...
				pad  x---------------|----------------|----------------|................`},
		{Name: "a drum that rings is not heard in the next bar", Step: by(100), Sections: "break 2, drop 1",
			Before: `
				crash x---------------|----------------|................
				hat   ................|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			After: `
				crash o---------------|----------------|................
				hat   ................|o...............|x.x.x.x.x.x.x.x.`},
		{Name: "a loop of one part has nothing but its level", Step: by(100),
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
			After:  "hat o.o.o.o.o.o.o.o.|x.x.x.x.x.x.x.x."},
		{Name: "so has a part that is alone where it gets loud", Step: by(100),
			Before: `
				kick x...x...x...x...|................
				lead x.......x.......|x.......x.......`,
			After: `
				kick o...o...o...o...|................
				lead o.......o.......|x.......x.......`},
		{Name: "a hook too high for an octave leaves it to the bass", Step: by(25),
			Before: `
				bass:36  ..x-..x-..x-..x-|..x-..x-..x-..x-
				stab:120 x--..x--..x-....|x--..x--..x-....`,
			After: `
				bass:48  ................|..x-..x-..x-..x-
				bass:36  ................|..x-..x-..x-..x-
				stab:120 x--..x--..x-....|x--..x--..x-....`},
		{Name: "and where no part has room above it there is none", Step: by(25),
			Before: `
				bass:116 ..x-..x-..x-..x-|..x-..x-..x-..x-
				stab:120 x--..x--..x-....|x--..x--..x-....`,
			After: `
				bass:116 ................|..x-..x-..x-..x-
				stab:120 x--..x--..x-....|x--..x--..x-....`},
		{Name: "an octave stands only where the line-up lets the part play", Step: by(25), Sections: "break 1, drop 4",
			Loop: "kick x...x...\nstab x.......",
			Before: `
				kick x...x...|x...x...|x...x...|x...x...|x...x...
				stab ........|x.......|........|x.......|x.......`,
			After: `
				kick    x...x...|x...x...|x...x...|x...x...|x...x...
				stab:72 ........|x.......|........|x.......|x.......
				stab:60 ........|x.......|........|x.......|x.......`},
		{Name: "and in whole bars of the span only", Step: emphasise("break", "last 6 beats of drop", 25*percent), Sections: "break 1, drop 2",
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...
				stab ................|x...x...x...x...|x...x...x...x...`,
			After: `
				kick    x...x...x...x...|x...x...x...x...|x...x...x...x...
				stab:72 ................|................|x...x...x...x...
				stab:60 ................|x...x...x...x...|x...x...x...x...`},
		{Name: "and none in a span without", Step: emphasise("break", "last 2 beats of drop", 25*percent),
			Before: `
				kick ................|x...x...x...x...
				stab x...x...x...x...|x...x...x...x...`,
			After: `
				kick ................|x...x...x...x...
				stab x...x...x...x...|x...x...x...x...`},
		{Name: "a part that gets thinner sounds in all its bars where no other does", Step: by(100), Sections: "break 2, drop 1",
			Before: `
				kick x...x...x...x...|................|x...x...x...x...
				hat  x.x.x.x.x.x.x.x.|x...............|................`,
			After: `
				kick ................|................|x...x...x...x...
				hat  o...............|o...............|................`},
		{Name: "where there are less places than are due all are taken", Step: by(100),
			Before: `
				kick x...x...x...x...|x...x...x...x...
				hat  ................|xxxxxxx.xxxxxxx.`,
			After: `
				kick o...o...o...o...|x...x...x...x...
				hat  ................|xxxxxxxoxxxxxxxo`},
		{Name: "of several spans a hook loses no more bars than in the shortest", Step: &moves.Emphasise{Quiet: where.SpansOf("bar 1", "bars 3-4"), Loud: where.SpansOf("bar 2"), By: 50 * percent},
			Sections: "groove 4",
			Before: `
				pad      x---------------|x---------------|x---------------|x---------------
				lead:127 x..x............|x..x............|x..x............|x..x............`,
			After: `
				pad      o---------------|x---------------|o---------------|o---------------
				lead:127 o..o............|x..x............|o..o............|o..o............`},
		{Name: "several spans", Step: &moves.Emphasise{Quiet: where.SpansOf("bar 1", "bar 3"), Loud: where.SpansOf("bar 2", "last 1 bar of song"), By: 20 * percent}, Sections: "groove 2, song 2", May: all,
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
				hat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			After: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
				hat  x.x.x...x.x.x.x.|xox.x.xox.x.x.x.|x...x.x.x.x.x...|x.x.xoxox.x.x.x.`},
		{Name: "what lies between them stays", Step: emphasise("break", "drop", 50*percent), Sections: "break 1, build 1, drop 1",
			May: func(_ song.Part, at song.Tick) bool { return at < 384 || at >= 768 },
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...
				hat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			After: `
				kick ................|x...x...x...x...|x...x...x...x...
				hat  o...o...o...o...|x.x.x.x.x.x.x.x.|xox.x.xoxox.xox.`},
		{Name: "kits that share a channel", Step: by(50), Setup: sharing,
			Before: `
				hat  x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
				kick x...x...x...x...|x...x...x...x...`,
			After: `
				hat  o...o...o...o...|xoxoxox.x.xox.x.
				kick ................|x...x...x...x...`},
		{Name: "parts that end inside the spans", Step: by(20), Sections: "break 2, drop 2",
			Before: `
				kick x...x...x...x...|................|x...x...x...x...|................
				hat  x.x.x.x.x.x.x.x.|x.x.............|x.x.x.x.x.x.x.x.|................`,
			After: `
				kick x...x...x...x...|................|x...x...x...x...|................
				hat  x.x.x...x.x.x...|x.x.............|xox.x.xox.x.x.x.|................`},
		{Name: "triggers are left alone", Step: by(100),
			Before: `
				trigger x...x...x...x...|x...x...x...x...
				kick    x...x...x...x...|x...x...x...x...`,
			After: `
				trigger x...x...x...x...|x...x...x...x...
				kick    o...o...o...o...|x...x...x...x...`},
		{Name: "a silent break is said, and the drop gets louder all the same", Step: by(50),
			Before: `
				kick ................|x...x...x...x...
				hat  ................|x.x.x.x.x.x.x.x.`,
			After: `
				kick ................|x...x...x...x...
				hat  ................|xox.x.xoxox.xox.`, Warned: []string{"no note in break"}},
		{Name: "a silent drop too", Step: by(50),
			Before: "kick x...x...x...x...|................",
			After:  "kick o...o...o...o...|................", Warned: []string{"no note in drop"},
			Look: untold("not quieter")},
		{Name: "where both are silent nothing is done", Step: by(50),
			Before: "kick ................|................|x...............", Sections: "break 1, drop 1, outro 1",
			After: "kick ................|................|x...............", Warned: []string{"no note in break", "no note in drop"}},
		// A velocity of 90 for 100: 40 log10(90/100) = -1.8 dB (General MIDI Level 1 Developer Guidelines, p. 9).
		{Name: "a break that is no quieter is made so; what came of it is told", Step: by(20),
			Before: "kick ........x...x...|........x...x...", Told: []string{"emphasise: break is now 1.8 dB under drop, and was 0.0 dB under it"},
			Look: func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
				velocities("kick", "90 90 100 100")(t, before, after, came)
				untold("not quieter")(t, before, after, came)
			}},
		{Name: "quieter is a bar, not a section", Step: by(20), Sections: "break 2, drop 1",
			Before: "kick o...o...o...o...|o...o...o...o...|x...x...x.......",
			Look:   untold("not quieter")},
		{Name: "once for both is a mistake", Step: emphasise("drop", "drop", 20*percent),
			Before: "kick x...|x...", Err: "loud: found drop, want a span that shares nothing with quiet, which is drop"},
		{Name: "a beat of both is one", Step: emphasise("break", "last 5 beats", 20*percent),
			Before: "kick x...x...x...x...|x...x...x...x...", Err: "loud: found last 5 beats, want a span that shares nothing"},
		{Name: "sections that are not there are mistakes, both told", Step: emphasise("brake", "drop 2", 20*percent),
			Before: "kick x...|x...", Err: "quiet: found \"brake\", want one of break, drop; did you mean \"break\"?\nloud: found \"drop 2\""},
		{Name: "no quiet is a mistake", Step: &moves.Emphasise{Loud: where.SpansOf("drop"), By: 20 * percent},
			Before: "kick x...|x...", Err: "quiet: found nothing, want a span"},
		{Name: "less than 1 % is a mistake", Step: emphasise("break", "drop", 99),
			Before: "kick x...|x...", Err: "by: found 0.99%, want a percentage from 1% to 100%"},
		{Name: "more than all is one", Step: emphasise("break", "drop", option.Whole+1),
			Before: "kick x...|x...", Err: "by: found 100.01%"},
	} {
		movetest.Run(t, apart(row))
	}
}

// untold wants nothing of this text among what is told.
func untold(text string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, _ song.Song, came moves.Outcome) {
		if told := movetest.Told(came); slices.ContainsFunc(told, func(s string) bool { return strings.Contains(s, text) }) {
			t.Errorf("told %q, want nothing of %q", told, text)
		}
	}
}

// playing names the parts that have a note in a bar.
func playing(s song.Song, bar int) string {
	var names []string
	for _, p := range s.Parts {
		if len(s.In(p, s.BarRange(bar, bar))) > 0 {
			names = append(names, p.Name)
		}
	}
	return strings.Join(names, " ")
}

func TestEmphasiseLeavesARollInQuietAlone(t *testing.T) {
	in := mustGrid(t, "tom ....x.......x...|....x.......x...\npad x---------------|x---------------")
	sections, _ := moves.ParseSections("break 1, drop 1")
	in = in.WithSections(sections)
	env := moves.Env{Strict: true, Full: in, Loop: in}
	rolled, err := moves.Run(&env, roll("tom", "break", "1/4", "1/4", ""), in)
	if err != nil {
		t.Fatal(err)
	}
	for _, by := range []option.Share{24 * percent, option.Whole} {
		on := env.After(rolled)
		out, err := moves.Run(&on, emphasise("break", "drop", by), rolled.Song)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := hitsInBars(out.Song)[0], hitsInBars(rolled.Song)[0]; got != want {
			t.Errorf("by %s the roll is %q, want %q", by, got, want)
		}
	}
}

func TestEmphasiseSaysItsStepsInFull(t *testing.T) {
	in := mustGrid(t, `
		kick x...x...x...x...|x...x...x...x...
		hat  ..x...x...x...x.|..x...x...x...x.
		bass ..x-..x-..x-..x-|..x-..x-..x-..x-
		stab x--..x--..x-....|x--..x--..x-....`)
	sections, _ := moves.ParseSections("break 1, drop 1")
	x, err := moves.Expand(&moves.Env{Strict: true, Seed: 7}, emphasise("break", "drop", 50*percent), in.WithSections(sections))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range x.Steps {
		got = append(got, moves.All().Of(s).Text(s))
	}
	want := []string{
		"mute: {part: [kick, bass], over: break}",
		"shape: {part: [hat, stab], over: break, from: 75%, to: 75%, curve: linear}",
		"thin: {part: hat, over: break, seed: 7, keep: 50%}",
		"ghost: {part: hat, over: drop, seed: 7, density: 16.67%}", // half of 4 hits on 12 places
		"layer: {part: stab, over: bar 2}",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// contrastOf returns by how much the velocities of a bar of drop sum up to more than those of break, a
// thousand times.
func contrastOf(s song.Song) int64 {
	sums := map[string]int64{}
	for _, sec := range s.Sections {
		for _, p := range s.Parts {
			for _, n := range s.In(p, s.SectionRange(sec)) {
				if p.Role != song.RoleTrigger {
					sums[sec.Name] += 1000 * int64(n.Vel) / int64(sec.Bars)
				}
			}
		}
	}
	return sums["drop"] - sums["break"]
}

// TestEmphasiseKeepsItsPromise holds on songs of all kinds that each share widens the difference, a greater
// one never by less, that velocities stay 1 to 127, and that the steps it stands for, run one by one, are
// all it does.
func TestEmphasiseKeepsItsPromise(t *testing.T) {
	grids := []string{
		`
			kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
			hat  X.oXo.X.oXo.X.o.|X.oXo.X.oXo.X.o.|X.oXo.X.oXo.X.o.|X.oXo.X.oXo.X.o.
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-
			lead x--..x--..x-....|o--..x--..x-....|x--..x--..x-....|o--..x--..x-....
			pad  x---------------|----------------|x---------------|----------------`,
		"hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
	}
	for seed := range uint64(oracle.Size(1, 12, 100)) {
		grids = append(grids, randomGrid(moves.NewRand(seed)))
	}
	sections, _ := moves.ParseSections("break 2, drop 2")
	for i, grid := range grids {
		t.Run(fmt.Sprint("song ", i), func(t *testing.T) {
			in := mustGrid(t, grid).WithSections(sections)
			if i%2 == 1 {
				in = shaken(moves.NewRand(uint64(i), 1))(in)
			}
			before := contrastOf(in)
			last := before
			for by := option.Share(100); by <= option.Whole; by += 100 {
				env := &moves.Env{Strict: true, Seed: 1}
				step := emphasise("break", "drop", by)
				came, err := moves.Run(env, step, in)
				if warned := movetest.Warned(came); err != nil || len(warned) > 0 {
					t.Fatalf("by %s: %v, warned %q", by, err, warned)
				}
				out := came.Song
				movetest.CheckSong(t, in, out)
				got := contrastOf(out)
				if got < last || got <= before {
					t.Errorf("by %s the difference is %d, was %d before and %d by a smaller share", by, got, before, last)
				}
				last = got
				for _, p := range out.Parts {
					for _, n := range p.Notes {
						if n.Vel < 1 || n.Vel > 127 {
							t.Fatalf("by %s: %s has velocity %d", by, p.Name, n.Vel)
						}
					}
				}
				if one := oneByOne(t, step, in); song.Grid(one) != song.Grid(out) || contrastOf(one) != got {
					t.Errorf("by %s: its steps one by one make another song:\n%s\nwant\n%s", by, song.Grid(one), song.Grid(out))
				}
			}
		})
	}
}

// oneByOne carries out the steps that a composite step stands for after a trip through their text, each
// with a seed that is not theirs; none may warn or change nothing.
func oneByOne(t *testing.T, step moves.Composer, in song.Song) song.Song {
	t.Helper()
	x, err := moves.Expand(&moves.Env{Strict: true, Seed: 1}, step, in)
	if err != nil {
		t.Fatal(err)
	}
	env := moves.Env{Strict: true, Full: in, Loop: in}
	for _, s := range x.Steps {
		m, ok := moves.All().Lookup(s.Name())
		if !ok {
			t.Fatalf("a %T is no step of the catalogue", s)
		}
		read := m.New()
		for _, g := range m.Given(s) {
			if err := m.Set(read, g.Name, g.Texts, g.List); err != nil {
				t.Fatalf("%s: %v", m.Text(s), err)
			}
		}
		env.Seed = 99
		out, err := moves.Run(&env, read, in)
		if warned := movetest.Warned(out); err != nil || len(warned) > 0 || contrastOf(out.Song) <= contrastOf(in) {
			t.Fatalf("%s: %v, warned %q, or the difference grew no more", m.Text(s), err, warned)
		}
		env, in = env.After(out), out.Song
	}
	return in
}

func BenchmarkEmphasise(b *testing.B) {
	benchmarkMove(b, emphasise("bars 1-1000", "bars 2001-3000", 20*percent))
}
