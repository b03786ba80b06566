package moves_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

func vary(part, over string, rate option.Share) *moves.Vary {
	return &moves.Vary{Target: target(part, over), Rate: rate}
}

func varyAnchors(v *moves.Vary) *moves.Vary { v.Anchors = true; return v }

func varySeed(v *moves.Vary, seed uint64) *moves.Vary {
	v.Seed = option.SeedOf(seed)
	return v
}

func TestVary(t *testing.T) {
	const (
		hats  = "hat xxxxxxxxxxxxxxxx"
		gaps  = "hat x.xxx.xxX.xxx.xx"
		intro = "hat ................"
	)
	spans := vary("hat", "", 5*percent)
	spans.Over = where.SpansOf("bars 2-4", "bar 5")
	movetest.Run(t,
		movetest.Row{Name: "in a bar one onset is altered: a weak one is left out", Step: varySeed(vary("hat", "bar 2", 5*percent), 1),
			Before: gaps + "|x.xxx.xxX.xxx.xx", After: gaps + "|x.xxx..xX.xxx.xx"},
		movetest.Row{Name: "or a soft one is added", Step: varySeed(vary("hat", "bar 2", 5*percent), 3),
			Before: gaps + "|x.xxx.xxX.xxx.xx", After: gaps + "|xoxxx.xxX.xxx.xx"},
		movetest.Row{Name: "or one is louder", Step: varySeed(vary("hat", "bar 2", 5*percent), 16),
			Before: gaps + "|x.xxx.xxX.xxx.xx", After: gaps + "|x.xXx.xxX.xxx.xx"},
		movetest.Row{Name: "or softer", Step: varySeed(vary("hat", "bar 2", 5*percent), 14),
			Before: gaps + "|x.xxx.xxX.xxx.xx", After: gaps + "|x.xxx.xxx.xxx.xx"},
		movetest.Row{Name: "each span and each pass of the loop has its own", Step: varySeed(spans, 20), Sections: "drop 6",
			Loop:  gaps + "|x.xxx.xxX.xxx.xx",
			After: gaps + "|x.xxxoxxX.xxx.xx|x.xxx.xxX.xxx.xx|x.xxx.xxX.xxx..x|x.xxx..xX.xxx.xx|x.xxx.xxX.xxx.xx"},
		movetest.Row{Name: "every onset is altered, none of the beats left out", Step: vary("hat", "bar 2", option.Whole),
			Before: hats + "|xxxxxxxxxxxxxxxx", Look: altered("hat", "x...x...x...x...", 16, 16)},
		movetest.Row{Name: "half of them", Step: vary("hat", "bar 2", 50*percent),
			Before: hats + "|xxxxxxxxxxxxxxxx", Look: altered("hat", "x...x...x...x...", 8, 8)},
		movetest.Row{Name: "the smallest rate alters one of a pass", Step: vary("hat", "bars 2-4", 1),
			Before: hats + strings.Repeat("|xxxxxxxxxxxxxxxx", 3), Look: altered("hat", "", 1, 1)},
		movetest.Row{Name: "of few onsets none is left out or added by default", Step: vary("perc", "bar 2", 5*percent),
			Before: "perc ..x....x..x....x|..x....x..x....x", Look: onlyAccents("perc")},
		movetest.Row{Name: "the first onset of a bar is not left out", Step: vary("hat", "bars 2-4", option.Whole),
			Before: "hat ...x............|...x............|...x............|...x............", Look: altered("hat", "...x............|...x............|...x............", 1, 3)},
		movetest.Row{Name: "3/4 has its own beats", Step: vary("hat", "bar 2", option.Whole),
			Before: "hat xxxxxxxxxxxx|xxxxxxxxxxxx", Look: altered("hat", "x...x...x...", 12, 12)},
		movetest.Row{Name: "7/8 too", Step: vary("hat", "bar 2", option.Whole), Setup: sevenEight,
			Before: "hat xxxxxxxxxxxxxx|xxxxxxxxxxxxxx", Look: altered("hat", "x.x.x.x.x.x.x.", 14, 14)},
		movetest.Row{Name: "a place less than a sixteenth from a hit is not free", Step: vary("hat", "bar 2", option.Whole), Steps: 8, Seed: 3,
			Before: "hat " + strings.Repeat("x.", 16) + "|" + strings.Repeat("x.", 13) + ".x....",
			Look:   ghostsAt("hat", "30", 12)},
		movetest.Row{Name: "where the loop has a hit that the song leaves out, none comes", Step: vary("hat", "bar 2", option.Whole),
			Loop:   hats,
			Before: "hat xxxxxxxxxxxxxxxx|x...x...x...x...", Look: ghostsAt("hat", "", 24)},
		movetest.Row{Name: "a drum that rings has none under its note", Step: vary("ride", "bar 2", option.Whole),
			Before: "ride x---x---x---x---|x---x---x---x-..", Look: ghostsAt("ride", "14 15", 24)},
		movetest.Row{Name: "a bass repeats what it plays before", Step: varyAnchors(vary("bass", "bar 2", option.Whole)),
			Before: `
				bass:43 ....x.......x...|....x.......x...
				bass:36 x.......x.......|x.......x.......`, Look: repeated("bass")},
		movetest.Row{Name: "nothing is added under a held note", Step: vary("lead", "bar 2", option.Whole),
			Before: "lead x---x---x---x---|x---x---x---x---", Look: ghostsAt("lead", "", 24)},
		movetest.Row{Name: "a glide keeps its overlap", Step: vary("lead", "bar 2", option.Whole),
			Before: `
				lead:62 ................|..x-..x-..x-..x-
				lead:60 ................|x--.x--.x--.x--.`,
			After: `
				lead:62 ................|..x-..x-..x-..x-
				lead:60 ................|x--.x--.x--.x--.`},
		movetest.Row{Name: "a chord is one onset", Step: varySeed(vary("stab", "bar 2", 5*percent), 2),
			Before: `
				stab:64 x..x..x.........|x..x..x.........
				stab:60 x..x..x.........|x..x..x.........`,
			Look: func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
				steps := map[int]int{}
				for i, n := range after.Parts[0].Notes {
					steps[int(n.Vel)-int(before.Parts[0].Notes[i].Vel)]++
				}
				if steps[0] != 10 || len(steps) != 2 {
					t.Errorf("changed by steps %v, want one chord, both notes by the same", steps)
				}
			}},
		movetest.Row{Name: "accents are not louder than the part's loudest hit, nor more than a quarter", Step: vary("hat", "bar 2", 30*percent),
			Before: gaps + "|x.xxx.xxX.xxx.xx",
			Look: func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
				for _, n := range after.In(after.Parts[0], after.BarRange(2, 2)) {
					if !n.Is(song.New) && (n.Vel > 120 || n.Vel < 75) {
						t.Errorf("got a velocity of %d, want 75 to 120", n.Vel)
					}
				}
			}},
		movetest.Row{Name: "what is added comes as late as the loop's off-beats", Step: vary("tom", "bar 2", option.Whole), Setup: late(6),
			Before: hats + "|xxxxxxxxxxxxxxxx\ntom x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.", Look: ghostsAtTicks("tom", 24+6, 48, 24)},
		movetest.Row{Name: "bar 1 is left alone", Step: vary("hat", "bar 1", option.Whole), Before: hats + "|xxxxxxxxxxxxxxxx", After: hats + "|xxxxxxxxxxxxxxxx"},
		movetest.Row{Name: "also where its pass goes on after it", Step: vary("hat", "", option.Whole), Before: hats + "|xxxxxxxxxxxxxxxx", Look: altered("hat", "x...x...x...x...", 16, 16)},
		movetest.Row{Name: "with anchors it is varied", Step: varySeed(varyAnchors(vary("hat", "bar 1", 5*percent)), 1),
			Before: gaps + "|x.xxx.xxX.xxx.xx", After: "hat x.xxx..xX.xxx.xx|x.xxx.xxX.xxx.xx"},
		movetest.Row{Name: "kick, backbeat and bass are left alone, which is told", Step: vary("all", "bar 2", option.Whole),
			Before: `
				kick xxxxxxxx|xxxxxxxx
				clap xxxxxxxx|xxxxxxxx
				bass xxxxxxxx|xxxxxxxx`,
			After: `
				kick xxxxxxxx|xxxxxxxx
				clap xxxxxxxx|xxxxxxxx
				bass xxxxxxxx|xxxxxxxx`,
			Told: []string{"vary: kick, clap and bass left alone; anchors: true varies them too"}},
		movetest.Row{Name: "with anchors they are varied", Step: varyAnchors(vary("kick", "bar 2", option.Whole)),
			Before: "kick xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx", Look: altered("kick", "x...x...x...x...", 16, 16)},
		movetest.Row{Name: "passes in which it does not play are skipped", Step: vary("hat", "", option.Whole),
			Before: intro + "|................|xxxxxxxxxxxxxxxx", Look: altered("hat", "", 16, 16)},
		movetest.Row{Name: "where it never plays that is said", Step: vary("hat", "bar 2", 5*percent),
			Before: hats + "|................", After: hats + "|................", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "a part that never plays", Step: vary("tom", "", 5*percent),
			Before: "tom ................\n" + hats, After: "tom ................\n" + hats, Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "kits that share a channel: the others stay", Step: vary("hat", "bar 2", option.Whole), Setup: sharing,
			Before: "hat x.x.x.x.|x.x.x.x.\nkick x.......|x.......", Look: same("kick")},
		movetest.Row{Name: "notes that ring over the edges of a span", Step: vary("ride", "2.2-2.4", option.Whole),
			Before: "ride x-------x-------|x-x---x---x-----", Look: altered("ride", "", 2, 2)},
		movetest.Row{Name: "nothing is no rate", Step: vary("hat", "", 0), Before: hats, Err: "rate: found 0%, want a percentage from 0.01% to 100%"},
		movetest.Row{Name: "more than all is none", Step: vary("hat", "", option.Whole+1), Before: hats, Err: "rate: found 100.01%"},
		movetest.Row{Name: "no part, if any", Step: vary("hat if any", "", 5*percent), Before: "kick x...", After: "kick x..."},
	)
}

// alterations compares a part before and after: the onsets left out, the notes added, and the onsets
// that are louder or softer.
func alterations(before, after song.Song, part string) (gone, added, changed []song.Note) {
	was, is := before.Parts[before.Index(part)].Notes, after.Parts[after.Index(part)].Notes
	for _, n := range was {
		i := slices.IndexFunc(is, func(m song.Note) bool { return m.Start == n.Start && m.Key == n.Key })
		if i < 0 {
			gone = append(gone, n)
		} else if is[i].Vel != n.Vel {
			changed = append(changed, n)
		}
	}
	for _, n := range is {
		if n.Is(song.New) {
			added = append(added, n)
		}
	}
	return gone, added, changed
}

type look = func(movetest.Reporter, song.Song, song.Song, moves.Outcome)

// altered wants from least to most alterations, and of the song from bar 2 on what a grid shows kept.
func altered(part, kept string, least, most int) look {
	return func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
		t.Helper()
		gone, added, changed := alterations(before, after, part)
		if n := len(gone) + len(added) + len(changed); n < least || n > most {
			t.Errorf("%d left out, %d added, %d changed, want %d to %d\n%s", len(gone), len(added), len(changed), least, most, song.Grid(after))
		}
		for _, n := range gone {
			step := int(n.Start-after.Time().BarStart(2)) / 24
			if flat := strings.ReplaceAll(kept, "|", ""); step < len(flat) && flat[step] != '.' {
				t.Errorf("the onset on step %d is gone\n%s", step, song.Grid(after))
			}
		}
	}
}

// onlyAccents wants onsets changed, none left out or added.
func onlyAccents(part string) look {
	return func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
		t.Helper()
		if gone, added, changed := alterations(before, after, part); len(gone)+len(added) > 0 || len(changed) == 0 {
			t.Errorf("%d left out, %d added, %d changed\n%s", len(gone), len(added), len(changed), song.Grid(after))
		}
	}
}

// ghostsAt wants ghosts in bar 2 on none but some steps, of so many ticks.
func ghostsAt(part, steps string, ticks song.Tick) look {
	return func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
		t.Helper()
		_, added, _ := alterations(before, after, part)
		for _, n := range added {
			in := n.Start - after.Time().BarStart(2)
			if in%ticks != 0 || !slices.Contains(strings.Fields(steps), fmt.Sprint(in/ticks)) {
				t.Errorf("a ghost stands on step %d, want it on %s\n%s", in/ticks, steps, song.Grid(after))
			}
			if n.Vel < 35 || n.Vel > 40 {
				t.Errorf("a ghost has the velocity %d, want 35 to 40, of 100", n.Vel)
			}
		}
		if len(added) == 0 && steps != "" {
			t.Errorf("no ghost stands anywhere\n%s", song.Grid(after))
		}
	}
}

// ghostsAtTicks wants some ghosts so many ticks after each of the places that lie so far apart, and not
// longer than to the next of them.
func ghostsAtTicks(part string, after, apart, longest song.Tick) look {
	return func(t movetest.Reporter, before, now song.Song, _ moves.Outcome) {
		t.Helper()
		_, added, _ := alterations(before, now, part)
		for _, n := range added {
			if n.Start%apart != after || n.End-n.Start > min(longest, apart-after) {
				t.Errorf("a ghost stands from %d to %d", n.Start, n.End)
			}
		}
		if len(added) == 0 {
			t.Errorf("no ghost stands anywhere")
		}
	}
}

// repeated wants some ghosts, each with the key of the note before it.
func repeated(part string) look {
	return func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
		t.Helper()
		notes, ghosts := after.Parts[after.Index(part)].Notes, 0
		for i, n := range notes {
			if !n.Is(song.New) {
				continue
			}
			if ghosts++; n.Key != notes[i-1].Key || n.Start < notes[i-1].End {
				t.Errorf("a ghost at %d has key %d, after key %d to %d", n.Start, n.Key, notes[i-1].Key, notes[i-1].End)
			}
		}
		if ghosts == 0 {
			t.Errorf("no ghost stands anywhere")
		}
	}
}

// sevenEight turns bars of fourteen sixteenths into bars of 7/8.
func sevenEight(s song.Song) song.Song {
	e := s.Edit()
	e.RemoveEvents(0, func(_ *song.Track, ev song.Event) bool { k, ok := ev.MetaType(); return ok && k == 0x58 })
	e.InsertMeta(0, 0, 0x58, []byte{7, 3, 36, 8})
	return e.Song()
}

// laidOut lays a loop out over bars without sections.
func laidOut(t testing.TB, grid string, bars int) (song.Song, *moves.Env) {
	t.Helper()
	in := mustGrid(t, grid)
	s := laid(t, lay.Layout{Loop: in, Bars: in.Bars(), Blocks: runOn(bars)})
	return s, &moves.Env{Loop: in, Full: s, Bars: in.Bars(), Strict: true, Seed: 1}
}

func varied(t testing.TB, env *moves.Env, step moves.Step, in song.Song) song.Song {
	t.Helper()
	return variedBy(t, env, step, in).Song
}

func variedBy(t testing.TB, env *moves.Env, step moves.Step, in song.Song) moves.Outcome {
	t.Helper()
	came, err := moves.Run(env, step, in)
	if err != nil {
		t.Fatal(err)
	}
	movetest.CheckSong(t, in, came.Song)
	return came
}

// passesOf returns what a part plays in each of the stretches of so many bars, as text.
func passesOf(s song.Song, part, bars int) []string {
	var out []string
	for bar := 1; bar <= s.Bars(); bar += bars {
		r, text := s.BarRange(bar, bar+bars-1), ""
		for _, n := range s.In(s.Parts[part], r) {
			text += fmt.Sprintf("%d %d %d; ", n.Start-r.Start, n.Key, n.Vel)
		}
		out = append(out, text)
	}
	return out
}

func alikePasses(passes []string) int {
	seen := map[string]bool{}
	for _, p := range passes {
		seen[p] = true
	}
	return len(passes) - len(seen)
}

func TestNoTwoPassesAreAlike(t *testing.T) {
	for _, grid := range []string{
		"hat xxxxxxxxxxxxxxxx", "hat ..x...x...x...x.", "hat x.x.X.x.x.o.x.x.|x.x.x.x.x.x.x...", "perc X..x..x..x..x.x.|..x.............",
		"hat xxxxxxxxxxxx", "lead:60 x-..x-..x...x...|................\nlead:67 ..x...x.........|x-----------....", "stab:60 ..x..x..........\nstab:64 ..x..x..........",
	} {
		for seed := range uint64(oracle.Size(1, 25, 200)) {
			for _, rate := range []option.Share{1, 5 * percent, 30 * percent, option.Whole} {
				in, env := laidOut(t, grid, 64)
				came := variedBy(t, env, varySeed(vary("all", "", rate), seed), in)
				out := came.Song
				passes := passesOf(out, 0, env.Bars)
				if n := alikePasses(passes); n > 0 {
					t.Errorf("%s, rate %s, seed %d: %d of %d passes are like others\n%s", grid, rate, seed, n, len(passes), song.Grid(out))
				}
				if told := movetest.Told(came); len(told) > 0 {
					t.Errorf("%s: told %q", grid, told)
				}
			}
		}
	}
}

func TestNoTwoPassesOfSeveralSpansAreAlike(t *testing.T) {
	in, env := laidOut(t, "hat x.x.x.xxx.x.x.x.|x.x.x.x.x.x.xxx.", 64)
	in = in.WithSections([]song.Section{{Name: "a", Bar: 1, Bars: 32}, {Name: "drop", Kind: song.KindDrop, Bar: 33, Bars: 32}})
	env.Full = in
	out := varied(t, env, vary("hat", "last 1 bar of every 2 bars", 5*percent), in)
	passes := passesOf(out, 0, 1)
	var second []string
	for i, p := range passes {
		if i%2 == 1 {
			second = append(second, p)
		} else if p != passes[0] {
			t.Errorf("bar %d is outside the spans and has changed", i+1)
		}
	}
	if n := alikePasses(second); n > 0 || len(second) != 32 {
		t.Errorf("%d of %d spans are like others", n, len(second))
	}
}

// TestPassesBeginAgainWhenThereAreNoOthers: a single hit of velocity 50 can be softer by 1 to 4 steps, a
// twelfth of it, and no louder.
func TestPassesBeginAgainWhenThereAreNoOthers(t *testing.T) {
	for _, row := range []struct {
		bars  int
		alike bool
	}{{5, false}, {6, true}} {
		in, env := laidOut(t, "crash x...............", row.bars)
		e := in.Edit()
		e.Map(0, func(n song.Note) (song.Note, bool) { n.Vel = 50; return n, true })
		in = e.Song()
		env.Full = in
		came := variedBy(t, env, vary("crash", "", 5*percent), in)
		out := came.Song
		if got := alikePasses(passesOf(out, 0, 1)); (got > 0) != row.alike {
			t.Errorf("%d bars: %d alike\n%v", row.bars, got, passesOf(out, 0, 1))
		}
		if told := strings.Join(movetest.Told(came), "\n"); strings.Contains(told, "crash has no more variations") != row.alike {
			t.Errorf("%d bars: told %q", row.bars, told)
		}
	}
}

func TestVaryFollowsTheSeed(t *testing.T) {
	in, env := laidOut(t, "hat xxxxxxxxxxxxxxxx", 8)
	at := func(seed uint64) string {
		return strings.Join(passesOf(varied(t, env, varySeed(vary("hat", "", 5*percent), seed), in), 0, 1), "\n")
	}
	if first, again := at(1), at(1); first != again {
		t.Error("one seed gives two tracks")
	}
	if at(1) == at(2) || at(2) == at(3) {
		t.Error("two seeds give one track")
	}
}

// TestVaryChangesNoLine holds the default against the rule for a change of a line, of parts with many
// onsets and with few.
func TestVaryChangesNoLine(t *testing.T) {
	step := varyMove(t)
	for _, grid := range []string{
		"hat xxxxxxxxxxxxxxxx", "hat ..x...x...x...x.", "hat xxxxxxxxxx......", "crash x...............", "crash X...............|................", "perc ..X..o..x.......",
		"perc ..x..x..x..x..x.|..x..x..x..x....", "lead:60 x-....x-........|..x-............\nlead:84 ..x-......x-....|x-..............",
		"hat xxxxxxxxxxxxxxxx|x.x.x.x.x.x.x.x.|x...x...x...x...|xxxxxxxxxxxxxxxx|oooooooooooooooo|xxxxxxxxxxxxxxxx|x...x...x...x...|XXXXXXXXXXXXXXXX",
	} {
		for _, phrase := range []int{4, 8} {
			rule := form.DefaultLineRule(phrase)
			for seed := range uint64(oracle.Size(1, 20, 200)) {
				in, env := laidOut(t, grid, 64)
				env.Seed = seed
				out := varied(t, env, step, in)
				for bar := 1 + phrase; bar <= 64; bar += phrase {
					if changes := rule.Changes(out, env.Full, form.Energy{}, bar); len(changes) > 0 {
						t.Errorf("%s, seed %d: the line at bar %d changes: %s\n%s", grid, seed, bar, changes[0].What, song.Grid(out))
					}
				}
			}
		}
	}
}

// varyMove returns the step with its defaults, on all parts.
func varyMove(t *testing.T) moves.Step {
	t.Helper()
	m, ok := moves.All().Lookup("vary")
	if !ok {
		t.Fatal("found no move vary")
	}
	step := m.New()
	if err := m.Set(step, "part", []string{"all"}, false); err != nil {
		t.Fatal(err)
	}
	return step
}

func TestTheRangeOfTheRate(t *testing.T) {
	m, _ := moves.All().Lookup("vary")
	for _, row := range []struct {
		text string
		want bool
	}{{"0%", false}, {"0.01%", true}, {"5%", true}, {"100%", true}, {"100.01%", false}, {"5", false}} {
		if err := m.Set(m.New(), "rate", []string{row.text}, false); (err == nil) != row.want {
			t.Errorf("%s: got %v", row.text, err)
		}
	}
	for _, row := range []struct {
		text string
		want bool
	}{{"true", true}, {"false", true}, {"yes", false}} {
		if err := m.Set(m.New(), "anchors", []string{row.text}, false); (err == nil) != row.want {
			t.Errorf("anchors: %s: got %v", row.text, err)
		}
	}
	if got := m.Text(varyMove(t)); got != "vary: {part: all}" {
		t.Errorf("the default rate is not 5%%: %s", got)
	}
}

// TestOwnCyclesAndPhasesCountPasses looks at which bars the passes begin by how many alterations they
// have: one each.
func TestOwnCyclesAndPhasesCountPasses(t *testing.T) {
	const hats = "xxxxxxxxxxxxxxxx"
	for _, row := range []struct {
		rule   string
		cycle  song.Tick
		blocks []lay.Block
		want   []int // bars, a pass each
	}{
		{"the loop runs on", 0, []lay.Block{{Bars: 8, RunOn: true}}, []int{4, 4}},
		{"a section is counted back from its end", 0, []lay.Block{{Bars: 6}, {Bars: 6}}, []int{2, 4, 2, 4}},
		{"a section that runs on goes on where the loop was", 0, []lay.Block{{Bars: 6}, {Bars: 5, RunOn: true}}, []int{2, 4, 4, 1}},
		{"a section of which the first runs on", 0, []lay.Block{{Bars: 6, RunOn: true}, {Bars: 6, RunOn: true}}, []int{4, 4, 4}},
		{"a cycle of its own", 2 * bar, []lay.Block{{Bars: 8}}, []int{2, 2, 2, 2}},
		{"of a bar", bar, []lay.Block{{Bars: 4}}, []int{1, 1, 1, 1}},
	} {
		t.Run(row.rule, func(t *testing.T) {
			in := mustGrid(t, "hat "+strings.TrimSuffix(strings.Repeat(hats+"|", 4), "|"))
			env := &moves.Env{Loop: in, Bars: 4, Cycles: []song.Tick{row.cycle}, Strict: true, Seed: 1}
			s := laid(t, lay.Layout{Loop: in, Bars: 4, Cycles: env.Cycles, Blocks: row.blocks})
			first, sections := 1, []song.Section(nil)
			for i, b := range row.blocks {
				sections = append(sections, song.Section{Name: fmt.Sprint("s", i), Bar: first, Bars: b.Bars})
				first += b.Bars
			}
			env.Full = s.WithSections(sections)
			out := varied(t, env, varyAnchors(vary("hat", "", 1)), env.Full)
			gone, added, changed := alterations(env.Full, out, "hat")
			var got []int
			at := 1
			for _, bars := range row.want {
				count := 0
				for _, n := range slices.Concat(gone, added, changed) {
					if s.BarRange(at, at+bars-1).Has(n.Start) {
						count++
					}
				}
				got = append(got, count)
				at += bars
			}
			if slices.ContainsFunc(got, func(n int) bool { return n != 1 }) {
				t.Errorf("passes of %v bars have %v alterations, want one each\n%s", row.want, got, song.Grid(out))
			}
		})
	}
}

func TestPassesOfALoopThatWasNotLaidOut(t *testing.T) {
	in := mustGrid(t, "hat xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx")
	env := &moves.Env{Loop: in, Full: in, Bars: 1, Strict: true, Seed: 1}
	out := varied(t, env, vary("hat", "", 1), in)
	if n := alikePasses(passesOf(out, 0, 1)); n > 0 {
		t.Errorf("%d of 4 bars are like others\n%s", n, song.Grid(out))
	}
}

func TestBarsLeftAloneAreNotToldToBeAlike(t *testing.T) {
	in, env := laidOut(t, "hat xxxxxxxxxxxxxxxx", 1)
	if told := movetest.Told(variedBy(t, env, vary("hat", "every 1 beat", 5*percent), in)); len(told) > 0 {
		t.Errorf("told %q, want nothing", told)
	}
}

// TestVaryKeepsItsRules looks at many takes of one part at a high rate.
func TestVaryKeepsItsRules(t *testing.T) {
	for seed := range uint64(50) {
		for _, row := range []movetest.Row{
			{Name: "beats and the first of a bar stay", Step: vary("hat", "", 80*percent), Before: "hat xxxxxxxx|.xxxxxxx|.xxxxxxx|.xxxxxxx",
				Look: altered("hat", ".x..x...|.x..x...|.x..x...", 10, 24)},
			{Name: "a glide keeps its overlap", Step: vary("lead", "", option.Whole),
				Before: `
				lead:62 ........|..x-..x-|...x....
				lead:60 ........|x--.x--.|.x--.x.x`,
				Look: func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
					for i, n := range before.Parts[0].Notes[:4] {
						if m := after.Parts[0].Notes[i]; m.Start != n.Start || m.End != n.End {
							t.Errorf("note %d lasts from %d to %d", i, m.Start, m.End)
						}
					}
				}},
			{Name: "also the note it comes from", Step: vary("lead", "bar 2", option.Whole), Before: "lead:62 ........|.....x..\nlead:60 ........|x..x--..",
				Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
					if !slices.ContainsFunc(after.Parts[0].Notes, func(n song.Note) bool { return n.Start == 192+72 && n.End == 192+144 }) {
						t.Errorf("the glide is gone\n%s", song.Grid(after))
					}
				}},
			{Name: "nothing is added to bar 1 either", Step: vary("hat", "", option.Whole), Before: "hat x.x.x.x.|x.x.x.x.",
				Look: func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
					if a, b := passesOf(before, 0, 1)[0], passesOf(after, 0, 1)[0]; a != b {
						t.Errorf("bar 1 is %s, want %s", b, a)
					}
				}},
			{Name: "no accent is too little to be heard", Step: vary("hat", "bar 2", 5*percent), Before: "hat X.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
				Setup: func(s song.Song) song.Song {
					e := s.Edit()
					e.Map(0, func(n song.Note) (song.Note, bool) { n.Vel = min(n.Vel, 102); return n, true })
					return e.Song()
				},
				Look: func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
					_, _, changed := alterations(before, after, "hat")
					now := after.Parts[0].Notes
					for _, n := range changed {
						if i := slices.IndexFunc(now, func(m song.Note) bool { return m.Start == n.Start }); now[i].Vel > n.Vel-12 {
							t.Errorf("got a velocity of %d, want at most 88", now[i].Vel)
						}
					}
				}},
			{Name: "a chord stays together", Step: vary("stab", "", option.Whole),
				Before: `
				stab:64 x..x..x.|x..x..x.|x..x..x.
				stab:60 x..x..x.|x..x..x.|x..x..x.`,
				Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
					notes := after.Parts[0].Notes
					for i := 0; i+1 < len(notes); i += 2 {
						if notes[i].Start != notes[i+1].Start {
							t.Errorf("a chord came apart at %d", notes[i].Start)
						}
					}
				}},
			{Name: "ghosts repeat what is played before", Step: vary("lead", "", option.Whole),
				Before: `
				lead:62 ........|..x...x.|x.....x.
				lead:60 ........|x...x...|..x.x...`,
				Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
					notes := after.Parts[0].Notes
					for i, n := range notes {
						if n.Is(song.New) && (n.Key != notes[i-1].Key || n.Start < notes[i-1].End) {
							t.Errorf("a ghost at %d does not repeat the note before it\n%s", n.Start, song.Grid(after))
						}
					}
				}},
		} {
			row.Seed = seed + 1
			movetest.Check(t, row)
		}
	}
}

func TestVaryLeavesRollsAlone(t *testing.T) {
	in := mustGrid(t, "snare ....x.......x...|....x.......x...|..xx..xx..xx..xx")
	env := &moves.Env{Strict: true, Seed: 1}
	came := variedBy(t, env, roll("snare", "bar 2", "1/4", "1/16", ""), in)
	rolled, after := came.Song, env.After(came)
	after.Full = in
	out := varied(t, &after, varyAnchors(vary("snare", "", option.Whole)), rolled)
	if a, b := passesOf(rolled, 0, 1), passesOf(out, 0, 1); a[1] != b[1] || a[2] == b[2] {
		t.Errorf("\nbefore %safter  %s", song.Grid(rolled), song.Grid(out))
	}
}

func TestVaryAddsNoPitchThatTheLoopDoesNotHave(t *testing.T) {
	in, env := laidOut(t, "lead x.x.x.x.x.x.x.x.", 8)
	ghosts := func(s song.Song) int {
		_, added, _ := alterations(s, varied(t, env, vary("lead", "", option.Whole), s), "lead")
		return len(added)
	}
	if ghosts(in) == 0 {
		t.Error("no ghost stands anywhere")
	}
	raised := varied(t, env, transpose("lead", "", 7), in)
	for i, n := range varied(t, env, vary("lead", "", option.Whole), raised).Parts[0].Notes {
		if n.Key != 67 || i > 0 && n.Vel <= 40 {
			t.Errorf("note %d has key %d and velocity %d", i, n.Key, n.Vel)
		}
	}
}

func BenchmarkVary(b *testing.B)      { benchmarkMove(b, vary("hat", "", 5*percent)) }
func BenchmarkVaryWhole(b *testing.B) { benchmarkMove(b, vary("hat", "every 1 bar", option.Whole)) }
