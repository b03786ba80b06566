package moves_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/movetest"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func plain(part, over string) *moves.Plain { return &moves.Plain{Target: target(part, over)} }

func TestPlain(t *testing.T) {
	const beats, fill = "x...x...x...x...", "x...x.x.x.xxx.x."
	grid := func(name string, bars ...string) string { return name + " " + strings.Join(bars, "|") }
	times := func(bar string, n int) []string { return strings.Split(strings.Repeat(bar+" ", n-1)+bar, " ") }
	kick := func(bars ...string) string { return grid("kick", bars...) }
	const rest = "................"
	turn := kick(append(times(beats, 3), fill)...)
	twice := kick(append(append(times(beats, 3), fill), append(times(beats, 3), fill)...)...)
	once := kick(append(append(times(beats, 3), beats), append(times(beats, 3), fill)...)...)
	movetest.Run(t,
		movetest.Row{Name: "in its spans the part plays what it usually plays", Step: plain("kick", "bars 1-4"), Loop: turn, Before: twice, After: once},
		movetest.Row{Name: "whatever the turnaround is, a section that ends in it may do without", Step: plain("kick", "intro"), Loop: turn, Sections: "intro 4, drop 4", After: once},
		movetest.Row{Name: "the loop is counted back from the end of a section", Step: plain("kick", ""), Loop: turn, Sections: "intro 2, drop 4",
			After: kick(times(beats, 6)...)},
		movetest.Row{Name: "the usual is what the loop has at that place, every second bar another", Step: plain("kick", "bar 8"),
			Before: kick(beats, "x...............", beats, "x...............", beats, "x...............", beats, fill),
			After:  kick(beats, "x...............", beats, "x...............", beats, "x...............", beats, "x...............")},
		movetest.Row{Name: "a rest where it usually plays is a departure", Step: plain("kick", ""), Before: kick(beats, beats, beats, rest), After: kick(times(beats, 4)...)},
		movetest.Row{Name: "a rest of half the pass is not", Step: plain("kick", ""), Before: kick(beats, beats, rest, rest), After: kick(beats, beats, rest, rest),
			Told: []string{"plain: kick left alone: no bar is the usual one"}, Nothing: remark.NoHabit},
		movetest.Row{Name: "nor is anything where more than a quarter departs", Step: plain("kick", ""), Before: kick(beats, fill, beats), After: kick(beats, fill, beats), Nothing: remark.NoHabit},
		movetest.Row{Name: "adjoining departures stay together if one is outside the spans", Step: plain("kick", "bars 1-7"),
			Before: kick(append(times(beats, 6), fill, rest)...), After: kick(append(times(beats, 6), fill, rest)...),
			Told: []string{"no bar there in which kick departs"}, Nothing: remark.NothingDeparts},
		movetest.Row{Name: "and go together", Step: plain("kick", "bars 7-8"),
			Before: kick(append(times(beats, 6), fill, rest)...), After: kick(times(beats, 8)...)},
		movetest.Row{Name: "a bar that lies only partly in the spans stays", Step: plain("kick", "last 2 beats of bar 4"), Before: turn, After: turn},
		movetest.Row{Name: "nothing departs", Step: plain("kick", "bars 1-3"), Before: turn, After: turn, Nothing: remark.NothingDeparts},
		movetest.Row{Name: "what the line-up has out stays out", Step: plain("kick", ""), Loop: turn, Sections: "intro 4, drop 4",
			Before: kick(rest, rest, rest, rest, beats, beats, beats, fill), After: kick(rest, rest, rest, rest, beats, beats, beats, beats)},
		movetest.Row{Name: "also a rest of the loop", Step: plain("kick", ""), Loop: kick(beats, beats, beats, rest), Sections: "intro 4, drop 4",
			Before: kick(rest, rest, rest, rest, beats, beats, beats, rest), After: kick(rest, rest, rest, rest, beats, beats, beats, beats)},
		movetest.Row{Name: "a bar that a step has changed stays", Step: plain("kick", ""), Loop: turn, Sections: "drop 4",
			Before: kick(beats, beats, beats, "x...x..........."), After: kick(beats, beats, beats, "x...x...........")},
		movetest.Row{Name: "where the loop rests first, the bars after tell that it is in", Step: plain("kick", ""), Loop: kick(rest, beats, beats, beats), Sections: "intro 4, drop 4",
			Before: kick(rest, beats, beats, beats, rest, beats, beats, beats), After: kick(times(beats, 8)...)},
		movetest.Row{Name: "departures on both sides of the loop's line do not adjoin", Step: plain("kick", "bars 1-8"), Loop: kick(fill, beats, beats, beats, beats, beats, beats, rest), Sections: "drop 8, outro 8",
			Before: kick(append(append([]string{fill}, times(beats, 6)...), append([]string{rest, fill}, append(times(beats, 6), rest)...)...)...),
			After:  kick(append(times(beats, 8), append([]string{fill}, append(times(beats, 6), rest)...)...)...)},
		movetest.Row{Name: "a bar with the pressure of a key stays", Step: plain("kick", ""), Before: turn, After: turn, Setup: sent(smf.Channel(3*bar+q, 0xA0, 36, 64)), Nothing: remark.NothingDeparts},
		movetest.Row{Name: "what another channel of the track does, does not matter", Step: plain("kick", ""), Before: turn, After: kick(times(beats, 4)...), Setup: func(s song.Song) song.Song {
			e := s.Edit()
			e.Insert(0, smf.Channel(3*bar+q, 0xB0|(s.Parts[0].Channel+1)%16, 1, 64))
			return e.Song()
		}},
		movetest.Row{Name: "a bar with a bend stays", Step: plain("kick", ""), Before: turn, After: turn, Setup: sent(bend(3*bar+q, 80)), Nothing: remark.NothingDeparts},
		movetest.Row{Name: "and one whose usual bar has a controller", Step: plain("kick", ""), Before: turn, After: turn, Setup: sent(cc(q, 1, 64))},
		movetest.Row{Name: "what sets up on the first tick does not matter", Step: plain("kick", ""), Before: turn, After: kick(times(beats, 4)...), Setup: sent(cc(0, 7, 100))},
		movetest.Row{Name: "a bar in which it comes in tells by itself that it is in", Step: plain("kick", ""), Loop: turn, Sections: "drop 4",
			Before: kick(rest, rest, rest, fill), After: kick(rest, rest, rest, beats)},
		movetest.Row{Name: "a section of nothing but a rest of the loop stays, whatever the next one plays", Step: plain("kick", ""), Loop: kick(beats, beats, beats, rest), Sections: "intro 1, drop 4",
			Before: kick(rest, beats, beats, beats, rest), After: kick(rest, beats, beats, beats, beats)},
		movetest.Row{Name: "the trace names the parts that change alone", Step: plain("drums", ""), Before: turn + "\n" + grid("hat", times("x.x.x.x.x.x.x.x.", 4)...),
			Look: func(t movetest.Reporter, _, _ song.Song, o moves.Outcome) {
				if len(o.Changes) != 1 || !slices.Equal(o.Changes[0].Parts, []string{"kick"}) {
					t.Errorf("the trace is %v, want kick alone", o.Changes)
				}
			}, May: movetest.Anything},
		movetest.Row{Name: "other parts stay", Step: plain("kick", ""),
			Before: turn + "\n" + grid("hat", append(times(beats, 3), fill)...), After: kick(times(beats, 4)...) + "\n" + grid("hat", append(times(beats, 3), fill)...)},
	)
}

// sent puts an event into the first track, on the channel of its part.
func sent(ev smf.Event) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		e.Insert(0, smf.Channel(ev.Tick, ev.Kind()|s.Parts[0].Channel, ev.Data1(), ev.Data2()))
		return e.Song()
	}
}

func TestPlainKeepsPitchedPartsTogether(t *testing.T) {
	const one, two, rest = "x-------x-------", "x---x---x---x---", "................"
	bars := func(name string, list ...string) string { return name + " " + strings.Join(list, "|") }
	bassTurns, chordsTurn := bars("bass", one, one, one, two), bars("chords", one, one, one, two)
	chords, wanders := bars("chords", one, one, one, one), bars("bass", one, two, "x---x-----------", "x-----x---------")
	movetest.Run(t,
		movetest.Row{Name: "alone a pitched part may change", Step: plain("bass", ""), Before: bassTurns, After: bars("bass", one, one, one, one)},
		movetest.Row{Name: "with another that has its usual bar there", Step: plain("bass", ""), Before: bassTurns + "\n" + chords, After: bars("bass", one, one, one, one) + "\n" + chords},
		movetest.Row{Name: "with another that changes too", Step: plain("music", ""), Before: bassTurns + "\n" + chordsTurn, After: bars("bass", one, one, one, one) + "\n" + chords},
		movetest.Row{Name: "not under another that departs and stays", Step: plain("bass", ""), Before: bassTurns + "\n" + chordsTurn, After: bassTurns + "\n" + chordsTurn},
		movetest.Row{Name: "not over one that has no usual bar", Step: plain("music", ""), Before: wanders + "\n" + chordsTurn, After: wanders + "\n" + chordsTurn},
		movetest.Row{Name: "unless that does not sound there", Step: plain("music", ""), Before: bars("bass", one, two, "x---x-----------", "................") + "\n" + chordsTurn,
			After: bars("bass", one, two, "x---x-----------", "................") + "\n" + chords},
		movetest.Row{Name: "a drum that departs and stays does not matter", Step: plain("bass", ""), Before: bassTurns + "\n" + bars("kick", one, one, one, two),
			After: bars("bass", one, one, one, one) + "\n" + bars("kick", one, one, one, two)},
		movetest.Row{Name: "what stays keeps others that meet it, and these keep others again", Step: &moves.Plain{Target: moves.Target{Part: where.PartsOf("bass", "chords")}},
			Before: bars("bass", one, one, two, two, one, one, one, one) + "\n" + bars("chords", one, one, one, two, two, one, one, one) + "\n" + bars("lead", rest, rest, rest, rest, one, two, "x---x-----------", "x-----x---------"),
			After:  bars("bass", one, one, two, two, one, one, one, one) + "\n" + bars("chords", one, one, one, two, two, one, one, one) + "\n" + bars("lead", rest, rest, rest, rest, one, two, "x---x-----------", "x-----x---------")},
		movetest.Row{Name: "a drum rings over lines", Step: plain("kick", ""),
			Before: bars("kick", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-x-x-------"),
			After:  bars("kick", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-----------")},
		movetest.Row{Name: "drums do not ask", Step: plain("kick", ""), Before: bars("kick", one, one, one, two) + "\n" + wanders, After: bars("kick", one, one, one, one) + "\n" + wanders},
		movetest.Row{Name: "a note that would be held into the bar: it stays", Step: plain("bass", ""),
			Before: bars("bass", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-x-x-------"),
			After:  bars("bass", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-----------", "x---------------", "----x-x-x-------")},
	)
}

// A track that repeats sooner than the loop is plain by its own cycle.
func TestPlainCountsInAPartsOwnCycle(t *testing.T) {
	in := mustGrid(t, "hat x...x...|x...x...|x...x...|x.x.x.x.|x...x...|x...x...|x...x...|x.x.x.x.")
	cycles := []song.Tick{in.Time().BarStart(5)}
	s := laid(t, lay.Layout{Loop: in, Bars: 8, Cycles: cycles, Blocks: runOn(8)})
	env := &moves.Env{Loop: in, Full: s, Bars: 8, Cycles: cycles, Strict: true}
	out, err := moves.Run(env, plain("hat", "bars 1-4"), s)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := song.Grid(out.Song), "hat x...x...|x...x...|x...x...|x...x...|x...x...|x...x...|x...x...|x.x.x.x.\n"; got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

// A cycle that does not divide the loop comes round at other bars than the loop does.
func TestPlainFollowsACycleAcrossTheLoop(t *testing.T) {
	in := mustGrid(t, "hat x...x...|x...x...|x...x...|x...x...|x.x.x.x.|x...x...|x...x...|x...x...")
	cycles := []song.Tick{in.Time().BarStart(6)}
	s := laid(t, lay.Layout{Loop: in, Bars: 8, Cycles: cycles, Blocks: runOn(15)})
	env := &moves.Env{Loop: in, Full: s, Bars: 8, Cycles: cycles, Blocks: runOn(15), Strict: true}
	out, err := moves.Run(env, plain("hat", ""), s)
	if err != nil {
		t.Fatal(err)
	}
	for bar, hits := range hitsInBars(out.Song) {
		if hits != "aeim"[:len(hits)] || len(hits) != 2 {
			t.Errorf("bar %d has hits on %s, want ae", bar+1, hits)
		}
	}
}

// What comes again each bar is usual all the time: nothing departs, and it is not that there is no habit.
func TestPlainOfACycleOfOneBar(t *testing.T) {
	in := mustGrid(t, "hat x.x.x...|x.x.x...|x.x.x...|x.x.x...")
	cycles := []song.Tick{in.Time().BarStart(2)}
	s := laid(t, lay.Layout{Loop: in, Bars: 4, Cycles: cycles, Blocks: runOn(4)})
	out, err := moves.Run(&moves.Env{Loop: in, Full: s, Bars: 4, Cycles: cycles, Strict: true}, plain("hat", ""), s)
	if err != nil || out.Nothing.Kind != remark.NothingDeparts {
		t.Errorf("got %v (%v), want that nothing departs", out.Nothing, err)
	}
}

// early moves the notes of all parts two ticks ahead; what stood on the first tick leads in from the end of the loop.
func early(s song.Song) song.Song {
	e := s.Edit()
	for i, p := range s.Parts {
		e.Map(i, func(song.Note) (song.Note, bool) { return song.Note{}, false })
		for _, n := range p.Notes {
			if n.Start -= 2; n.Start < 0 {
				n.Start += s.End
				n.End = s.End
			}
			e.Place(i, n)
		}
	}
	return e.Song()
}

// Hits a little ahead of their places, of a bar line too, belong to the bar after it.
func TestPlainOfHitsAheadOfTheLine(t *testing.T) {
	for _, row := range []struct {
		grid string
		bar  int
		want []song.Tick
	}{
		{"kick x...x...x...x...|x...x...x...x...|x...x...x.x.xxxx|x...x...x...x...", 3, []song.Tick{-2, 94, 190, 286}},
		{"kick x...x...x.x.xxxx|x...x...x...x...|x...x...x...x...|x...x...x...x...", 1, []song.Tick{0, 94, 190, 286}},
		{"kick x...x...x...x...|x...x...x.x.xxxx|x...x...x...x...|x...x...x...x...", 2, []song.Tick{-2, 94, 190, 286}},
		{"bass x---x---x---x---|x---x---x---x---|x---x---x-x-x-x-|x---x---x---x---", 3, []song.Tick{-2, 94, 190, 286}},
		// The usual bar is one of two: what leads into it is its own and not held into it.
		{"bass x---x---x---x---|x-----x---x-x---|x---x---x---x---|x-----x---x-x---|x---x---x---x---|x-----x---x-x---|x---x---x---x---|x-x-x-x-x-------", 8, []song.Tick{-2, 142, 238, 286}},
	} {
		s := early(mustGrid(t, row.grid))
		out, err := moves.Run(&moves.Env{Loop: s, Full: s, Bars: s.Bars(), Strict: true}, plain("all", ""), s)
		if err != nil {
			t.Fatal(err)
		}
		var got []song.Tick
		for _, n := range out.Song.In(out.Song.Parts[0], s.BarRange(row.bar, row.bar)) {
			got = append(got, n.Start-s.Time().BarStart(row.bar))
		}
		if !slices.Equal(got, row.want) {
			t.Errorf("%s: bar %d has hits at %v, want %v", row.grid, row.bar, got, row.want)
		}
	}
}

// A note of a pitched part ends at the line of the bar that is played as usual, one of a drum rings over it.
func TestPlainCutsAtTheLine(t *testing.T) {
	for part, want := range map[string][2]song.Tick{"bass": {0, 0}, "kick": {40, 40}} {
		in := mustGrid(t, part+" ....x---x---x---|....x---x---x---|....x---x---x---|....x---x-x-x-x-|....x---x---x---|....x---x---x---|....x---x---x---|....x---x---x---")
		e := in.Edit()
		e.Map(0, func(n song.Note) (song.Note, bool) {
			if n.End == in.Time().BarStart(2) || n.End == in.Time().BarStart(4) {
				n.End += 40
			}
			return n, true
		})
		s := e.Song()
		out, err := moves.Run(&moves.Env{Loop: s, Full: s, Bars: 8, Strict: true}, plain(part, ""), s)
		if err != nil {
			t.Fatal(err)
		}
		over := func(bar int) song.Tick {
			notes := out.Song.In(out.Song.Parts[0], s.BarRange(bar, bar))
			return notes[len(notes)-1].End - s.Time().BarStart(bar+1)
		}
		if n := len(out.Song.In(out.Song.Parts[0], s.BarRange(4, 4))); n != 3 {
			t.Fatalf("%s: bar 4 has %d notes, want 3", part, n)
		}
		if got := [2]song.Tick{over(3), over(4)}; got != want {
			t.Errorf("%s: the last notes of bars 3 and 4 end %v ticks after their lines, want %v", part, got, want)
		}
	}
}

// A bar that a step has changed stays, also one with as many hits or on the same places.
func TestPlainLeavesWhatAStepChanged(t *testing.T) {
	for _, row := range []struct{ rule, loop, now string }{
		{"other places", "kick x...x...|x...x...|x...x...|x.x.x.x.", "kick x...x...|x...x...|x...x...|xx..x.x."},
		{"a hit in a rest", "kick x...x...|x...x...|x...x...|........", "kick x...x...|x...x...|x...x...|..x....."},
		{"another key", "bass:36 x---x---|x---x---|x---x---|x-x-x-x-", "bass:36 x---x---|x---x---|x---x---|x-......\nbass:38 ........|........|........|..x-x-x-"},
	} {
		loop, now := mustGrid(t, row.loop), mustGrid(t, row.now)
		out, err := moves.Run(&moves.Env{Loop: loop, Full: loop, Bars: 4, Strict: true}, plain("all", ""), now)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := song.Grid(out.Song), song.Grid(now); got != want {
			t.Errorf("%s: got\n%swant\n%s", row.rule, got, want)
		}
	}
}
