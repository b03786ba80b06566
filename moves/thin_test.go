package moves_test

import (
	"errors"
	"regexp"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func thin(part, over string, keep option.Share, by string) *moves.Thin {
	return &moves.Thin{Target: target(part, over), Keep: moves.KeepShare(keep), By: by}
}

func TestThin(t *testing.T) {
	moved := func(part string, by song.Tick) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			e := s.Edit()
			i := s.Index(part)
			e.Map(i, func(song.Note) (song.Note, bool) { return song.Note{}, false })
			for _, n := range s.Parts[i].Notes {
				n.Start += by
				n.End += by
				e.Place(i, n)
			}
			return e.Song()
		}
	}
	movetest.Run(t,
		movetest.Row{Name: "the weakest go first: half of the sixteenths are the eighths", Step: thin("hat", "bar 2", 50*percent, ""),
			Before: "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx",
			After:  "hat xxxxxxxxxxxxxxxx|x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "a quarter of them are the beats", Step: thin("hat", "bar 1", 25*percent, "weight"),
			Before: "hat xxxxxxxxxxxxxxxx",
			After:  "hat x...x...x...x..."},
		movetest.Row{Name: "those of one weight go evenly spread", Step: thin("hat", "bar 1", 75*percent, ""),
			Before: "hat xxxxxxxxxxxxxxxx",
			After:  "hat xxx.xxx.xxx.xxx."},
		movetest.Row{Name: "one onset stays at least", Step: thin("kick", "bar 1", 1*percent, ""),
			Before: "kick x...x...x...x...",
			After:  "kick x..............."},
		movetest.Row{Name: "all of it stays", Step: thin("kick", "bar 1", option.Whole, ""),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x...x..."},
		movetest.Row{Name: "a chord is one onset", Step: thin("pad", "", 50*percent, ""),
			Before: `
				pad:67 x---x---x---x---
				pad:64 x---x---x---x---
				pad:60 x---x---x---x---`,
			After: `
				pad:67 x---....x---....
				pad:64 x---....x---....
				pad:60 x---....x---....`},
		movetest.Row{Name: "other parts keep theirs", Step: thin("hat", "", 50*percent, ""),
			Before: "hat  x.x.x.x.x.x.x.x.\nclap ....x.......x...",
			After:  "hat  x...x...x...x...\nclap ....x.......x..."},
		movetest.Row{Name: "3/4 by its own beats", Step: thin("hat", "", 50*percent, ""),
			Before: "hat x.x.x.x.x.x.|x.x.x.x.x.x.",
			After:  "hat x...x...x...|x...x...x..."},
		movetest.Row{Name: "6/8: the two strong eighths", Step: thin("hat", "", 33*percent, ""), Setup: sixEight,
			Before: "hat x.x.x.x.x.x.|x.x.x.x.x.x.",
			After:  "hat x.....x.....|x.....x....."},
		movetest.Row{Name: "5/4 is two and three beats", Step: thin("hat", "", 40*percent, ""),
			Before: "hat x...x...x...x...x...",
			After:  "hat x.......x..........."},
		movetest.Row{Name: "evenly: five of sixteen", Step: thin("hat", "", 3125, "even"),
			Before: "hat xxxxxxxxxxxxxxxx",
			After:  "hat x..x..x..x..x..."},
		movetest.Row{Name: "evenly counts onsets, not places", Step: thin("perc", "", 50*percent, "even"),
			Before: "perc x..x..x...x.x..x",
			After:  "perc x.....x.....x..."},
		movetest.Row{Name: "a hook loses the first of each two bars", Step: thin("lead", "", 50*percent, ""),
			Before: "lead x..x..x.|x..x..x.|x..x....|x..x..x.",
			After:  "lead ........|x..x..x.|........|x..x..x."},
		movetest.Row{Name: "bars in which it does not play are not counted", Step: thin("lead", "", 50*percent, ""),
			Before: "lead x..x..x.|........|x..x....|x..x..x.|x.......",
			After:  "lead ........|........|x..x....|........|x......."},
		movetest.Row{Name: "bars are counted in each span", Step: thin("hat", "every 2 bars", 50*percent, "bars"), Sections: "groove 4",
			Before: "hat x.x.x.x.|x.x.x.x.|x.x.x.x.|x.x.x.x.",
			After:  "hat ........|x.x.x.x.|........|x.x.x.x."},
		movetest.Row{Name: "of a bar in two spans each is looked at by itself", Step: &moves.Thin{Target: target("lead", "1.1-2.2"), Keep: moves.KeepShare(50 * percent)},
			Before: "lead x...x...x...x...|x...x...x...x...|x...x...x...x...",
			After:  "lead ................|x...x...x...x...|x...x...x...x..."},
		movetest.Row{Name: "also where both are of one step",
			Step:   &moves.Thin{Target: moves.Target{Part: where.PartsOf("lead"), Over: where.SpansOf("1.1-2.2", "2.3-4.1")}, Keep: moves.KeepShare(50 * percent)},
			Before: "lead x...x...x...x...|x...x...x...x...|x...x...x...x...",
			After:  "lead ................|x...x...........|x...x...x...x..."},
		movetest.Row{Name: "a lone bar stays", Step: thin("lead", "bar 1", 50*percent, ""),
			Before: "lead x..x..x.|x..x..x.",
			After:  "lead x..x..x.|x..x..x."},
		movetest.Row{Name: "a quarter of the bars: the fourth of each four", Step: thin("lead", "", 25*percent, "bars"),
			Before: "lead x...|x...|x...|x...|x...|x...|x...|x...",
			After:  "lead ....|....|....|x...|....|....|....|x..."},
		movetest.Row{Name: "every pass leaves out the same", Step: thin("hat", "drop", 50*percent, ""), Sections: "intro 3, drop 4",
			Loop:  "hat xx.xx.x.|.xx.xx.x",
			After: "hat .xx.xx.x|xx.xx.x.|.xx.xx.x|x...x.x.|..x.x...|x...x.x.|..x.x..."},
		movetest.Row{Name: "also by chance", Step: thin("hat", "", 50*percent, "chance"), Seed: 7, Sections: "intro 4, drop 2",
			Loop: "hat xxxxxxxx|xxxxxxxx",
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				bars := hitsInBars(after)
				if bars[0] != bars[2] || bars[1] != bars[3] || bars[0] != bars[4] || bars[1] != bars[5] {
					t.Errorf("the passes differ: %q", bars)
				}
				if n := len(after.Parts[0].Notes); n != 24 {
					t.Errorf("%d hits stay, want 24", n)
				}
			}},
		movetest.Row{Name: "a pass that begins inside the loop too", Step: thin("hat", "", 50*percent, "weight"), Sections: "intro 1, drop 2",
			Loop:  "hat x.xx.x..|xxx.x.x.",
			After: "hat x.x.x...|x.x.....|x.x.x..."},
		movetest.Row{Name: "notes that a move wrote are chosen by where their bar is in the loop", Step: thin("hat", "", 50*percent, ""),
			Loop: "hat x.x.x.x.|x.x.x.x.", Sections: "intro 2, drop 2", Setup: moved("hat", 0),
			After: "hat x...x...|x...x...|x...x...|x...x..."},
		movetest.Row{Name: "a loop that swings is thinned like a straight one", Step: thin("hat", "", 50*percent, ""), Setup: late(6),
			Before: "hat xxxxxxxxxxxxxxxx",
			After:  "hat x.x.x.x.x.x.x.x."},
		movetest.Row{Name: "where the part is silent that is said", Step: thin("hat", "bar 2", 50*percent, ""),
			Before: "hat x.x.x.x.|........",
			After:  "hat x.x.x.x.|........",
			Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "nothing to keep is a mistake", Step: thin("hat", "", 0, ""),
			Before: "hat x.x.x.x.", Err: "keep: found 0%, want a percentage from 0.01% to 100%"},
		movetest.Row{Name: "more than there is is a mistake", Step: thin("hat", "", 150*percent, ""),
			Before: "hat x.x.x.x.", Err: "keep: found 150%"},
	)
}

// hitsInBars draws the first part's bars one by one.
func hitsInBars(s song.Song) []string {
	var out []string
	for b := 1; b <= s.Bars(); b++ {
		text := ""
		line := s.BarRange(b, b)
		for _, n := range s.In(s.Parts[0], line) {
			text += string(rune('a' + (n.Start-line.Start)/24))
		}
		out = append(out, text)
	}
	return out
}

// sixEight turns bars of 3/4 into bars of 6/8.
func sixEight(s song.Song) song.Song {
	e := s.Edit()
	e.RemoveEvents(0, func(_ *song.Track, ev song.Event) bool { k, ok := ev.MetaType(); return ok && k == 0x58 })
	e.InsertMeta(0, 0, 0x58, []byte{6, 3, 36, 8})
	return e.Song()
}

func TestThinningByChanceFollowsTheSeed(t *testing.T) {
	in := mustGrid(t, "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx")
	at := func(seed uint64) string {
		step := thin("hat", "", 50*percent, "chance")
		step.Seed = option.SeedOf(seed)
		out, _ := run(t, step, in)
		return song.Grid(out)
	}
	first, again := at(1), at(1)
	if first != again {
		t.Error("one seed gives two choices")
	}
	if at(1) == at(2) && at(2) == at(3) {
		t.Error("three seeds give one choice")
	}
}

// Each part has a choice of its own.
func TestThinningByChanceTellsPartsApart(t *testing.T) {
	in := mustGrid(t, "hat  xxxxxxxxxxxxxxxx\nride xxxxxxxxxxxxxxxx")
	out, _ := run(t, thin("all", "", 50*percent, "chance"), in)
	var rows []string
	for _, p := range out.Parts {
		row := []byte("................")
		for _, n := range p.Notes {
			row[n.Start/24] = 'x'
		}
		rows = append(rows, string(row))
	}
	if len(out.Parts[0].Notes) != 8 || rows[0] == rows[1] {
		t.Errorf("got %q, want two choices of eight", rows)
	}
}

// Notes a little ahead of their places, also of a bar line, are thinned like those on them, whoever wrote them.
func TestNotesAheadAreThinnedLikeThoseOnTheirPlaces(t *testing.T) {
	in := mustGrid(t, "hat x.x.x.x.x.x.x.x.|x...x.x.x...x.x.|xxxxxxxxxxxxxxxx|x.x.x.x.x.x.x.x.")
	ahead := func(n song.Note) song.Note {
		if n.Start > 0 {
			n.Start -= 2
		}
		return n
	}
	read, written := in.Edit(), in.Edit()
	read.Map(0, func(n song.Note) (song.Note, bool) { return ahead(n), true })
	written.Map(0, func(song.Note) (song.Note, bool) { return song.Note{}, false })
	for _, n := range in.Parts[0].Notes {
		n = ahead(n)
		n.End = n.Start + 10
		written.Place(0, n)
	}
	early := []song.Song{read.Song(), written.Song()}
	for _, by := range []string{"weight", "even", "bars", "chance"} {
		for _, over := range []string{"", "bar 2", "every other 1 bar", "bars 2-3"} {
			left := func(s song.Song) string {
				out, _ := run(t, thin("hat", over, 50*percent, by), s)
				row := []byte(strings.Repeat(".", 64))
				for _, n := range out.Parts[0].Notes {
					row[(n.Start+2)/24] = 'x'
				}
				return string(row)
			}
			for i, s := range early {
				if got, want := left(s), left(in); got != want {
					t.Errorf("by %s over %q, notes that %s: got\n%s want\n%s", by, over, []string{"were read", "a move wrote"}[i], got, want)
				}
			}
		}
	}
}

// A track that repeats sooner than the loop is thinned alike in each of its passes: two of three onsets stay, and not
// three of six.
func TestATrackWithACycleOfItsOwnIsThinnedByIt(t *testing.T) {
	in := mustGrid(t, "hat x...x.x.|x...x.x.")
	cycles := []song.Tick{in.Time().BarStart(2)}
	s := laid(t, lay.Layout{Loop: in, Bars: 2, Cycles: cycles, Blocks: runOn(4)})
	e := s.Edit()
	e.Map(0, func(song.Note) (song.Note, bool) { return song.Note{}, false })
	for _, n := range s.Parts[0].Notes {
		e.Place(0, n) // as a note that a move wrote
	}
	env := &moves.Env{Loop: in, Full: s, Bars: 2, Cycles: cycles, Strict: true}
	out, err := moves.Run(env, thin("hat", "", 50*percent, "weight"), e.Song())
	if err != nil {
		t.Fatal(err)
	}
	if got, want := song.Grid(out.Song), "hat x...x...|x...x...|x...x...|x...x...\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

func TestThinToBeats(t *testing.T) {
	beats := func(part, over string, by string, beats ...int) *moves.Thin {
		return &moves.Thin{Target: target(part, over), Keep: moves.KeepBeats(beats...), By: by}
	}
	late := func(by song.Tick) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			e := s.Edit()
			e.Map(0, func(song.Note) (song.Note, bool) { return song.Note{}, false })
			for _, n := range s.Parts[0].Notes {
				n.Start, n.End = n.Start+by, n.End+by
				e.Place(0, n)
			}
			return e.Song()
		}
	}
	count := func(want int) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
		return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
			if got := len(after.Parts[0].Notes); got != want {
				t.Errorf("%d notes are left, want %d", got, want)
			}
		}
	}
	movetest.Run(t,
		movetest.Row{Name: "one beat of each bar", Step: beats("kick", "bars 2-3", "", 1),
			Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...",
			After:  "kick x...x...x...x...|x...............|x...............|x...x...x...x..."},
		movetest.Row{Name: "several beats, whatever else is struck", Step: beats("perc", "", "", 1, 3),
			Before: "perc xx.xx...x.x.xx.x", After: "perc x.......x......."},
		movetest.Row{Name: "the notes of a chord stay together", Step: beats("pad", "", "", 3),
			Before: "pad:64 x---x---x---x---\npad:60 x---x---x---x---", After: "pad:64 ........x---....\npad:60 ........x---...."},
		movetest.Row{Name: "6/8 has six beats", Step: beats("hat", "", "", 4), Setup: sixEight,
			Before: "hat x.x.x.x.x.x.", After: "hat ......x....."},
		movetest.Row{Name: "a little late is on the beat", Step: beats("kick", "", "", 1), Setup: late(11),
			Before: "kick x...x...|x...x...", Look: count(2)},
		movetest.Row{Name: "a 1/32 note late is not", Step: beats("kick", "", "", 1), Setup: late(12),
			Before: "kick x...x...|x...x...", Look: count(0), Warned: []string{"thin: kick strikes nothing on beat 1 and is silent there"}},
		movetest.Row{Name: "a little early is too, before the bar line as well", Step: beats("kick", "", "", 1, 2), Setup: late(-11),
			Before: "kick ....x...|x...x...", Look: count(3)},
		movetest.Row{Name: "early before a bar line is beat 1 alone", Step: beats("kick", "", "", 2), Setup: late(-11),
			Before: "kick ....x...|x...x...", Look: count(2)},
		// Bar 1 is in 4/4, those after it are in 5/4: early before bar 2 is no beat 5 of bar 1.
		movetest.Row{Name: "a beat that not all bars have", Step: beats("kick", "", "", 5), Setup: func(s song.Song) song.Song {
			s = late(-11)(s)
			e := s.Edit()
			e.InsertMeta(0, s.Time().BarStart(2), 0x58, []byte{5, 2, 24, 8})
			return e.Song()
		}, Before: "kick ....x...x...x...|x...x...x...x...|x...x...x...x...", Look: count(1)},
		movetest.Row{Name: "a part without a hit there is silent, with a warning", Step: beats("clap", "", "", 1, 3),
			Before: "clap ....x.......x...\nkick x...x...x...x...", After: "clap ................\nkick x...x...x...x...",
			Warned: []string{"thin: clap strikes nothing on beats 1 and 3 and is silent there"}},
		movetest.Row{Name: "by says nothing about beats", Step: beats("kick", "", "even", 1),
			Before: "kick x...x...x...x...", Err: "by: found even, want no by beside beats"},
		movetest.Row{Name: "a beat that no bar has", Step: beats("kick", "", "", 1, 5),
			Before: "kick x...x...x...x...", Err: "keep: found beats 1 and 5, want beats within 1 to 4"},
	)
}

func TestKeptBeatsAreRead(t *testing.T) {
	for _, row := range []struct{ text, want, hint string }{
		{"beat 1", "beat 1", ""}, {"beats 3 and 1", "beats 1 and 3", ""}, {"beat 1 and 3", "beats 1 and 3", ""}, {"beats 64", "beat 64", ""},
		{"beats 1, 2 and 3", "", "beats 1 and 2 and 3"}, {"beats 1,3", "", "beats 1 and 3"}, {"beat 0", "", ""}, {"beat 65", "", ""}, {"beat +1", "", ""}, {"beat", "", ""}, {"beats and 1", "", ""},
	} {
		var k moves.Keep
		err := k.UnmarshalTexts([]string{row.text})
		got := k.String()
		var bad *option.Mistake
		if errors.As(err, &bad) {
			got = ""
		}
		hint := ""
		if bad != nil {
			hint = bad.Hint
		}
		if got != row.want || hint != row.hint {
			t.Errorf("%s: got %q with the hint %q (%v), want %q with %q", row.text, got, hint, err, row.want, row.hint)
		}
		if takes := regexp.MustCompile(k.Form().Regexp()).MatchString(row.text); takes != (row.want != "") {
			t.Errorf("%s: its form takes it: %v", row.text, takes)
		}
	}
}

func BenchmarkThin(b *testing.B)     { benchmarkMove(b, thin("hat", "", 50*percent, "weight")) }
func BenchmarkThinEven(b *testing.B) { benchmarkMove(b, thin("hat", "", 50*percent, "even")) }

func TestAChordOverTheLoopLineIsOneOnset(t *testing.T) {
	// Keys 60 and 64 on the first beat, 67 of the same chord two ticks early, at the loop's end.
	events := append(sortedEvents(append(note(0, q, 60), note(0, q, 64)...)), note(2*q, 3*q, 60)...)
	in := loop(t, bar, append(events, note(bar-2, bar+q, 67)...))
	in.Parts[0].Name, in.Parts[0].Role, in.Parts[0].Job = "pad", song.RolePad, song.JobBed
	s := laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: runOn(4)})
	env := &moves.Env{Loop: in, Full: s, Bars: 1, Strict: true}
	out, err := moves.Run(env, &moves.Thin{Target: moves.Target{Part: where.PartsOf("pad")}, Keep: moves.KeepShare(10 * option.Whole / 100), By: "weight"}, s)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(out.Song.Parts[0].Notes); n != 3*4 {
		t.Errorf("%d notes are left, want the chord of three in each of four passes", n)
	}
}
