package moves_test

import (
	"fmt"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

func fill(part, over string) *moves.Fill {
	return &moves.Fill{Target: target(part, over), Velocity: option.SharesOf(option.Whole, option.Whole)}
}

// played returns the notes of a bar as text, relative to its start.
func played(s song.Song, bar int) string {
	r := s.BarRange(bar, bar)
	text := ""
	for _, p := range s.Parts {
		text += p.Name + ":"
		for _, n := range s.In(p, r) {
			text += fmt.Sprintf(" %d", n.Start-r.Start)
		}
		text += "; "
	}
	return text
}

func TestFill(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "of 4 places the second half is filled, and kick and tops play on", Step: fill("drums", "last 1 beat"),
			Before: `
				kick  x...x...x...x...
				hat   ..x...x...x...x.
				snare ....x.......x...`,
			After: `
				kick  x...x...x...x...
				hat   ..x...x...x...x.
				snare ....x.........xx`},
		movetest.Row{Name: "a downbeat after it and what plays there are left alone", Step: fill("drums", "last 1 beat of bar 1"),
			Before: `
				snare ....x.......x...|X...x...........
				crash ................|x...............`,
			After: `
				snare ....x.........xx|X...x...........
				crash ................|x...............`},
		movetest.Row{Name: "no hit rings over the end", Step: fill("drums", "last 1 beat of bar 1"),
			Before: "tom x-----..........|................",
			After:  "tom x-----........xx|................"},
		movetest.Row{Name: "without snares and toms the others fill", Step: fill("drums", "last 1 beat"),
			Before: "kick x...x...x...x...",
			After:  "kick x...x...x.....xx"},
		movetest.Row{Name: "crashes and pitched parts take no part", Step: fill("all", "last 1 beat"),
			Before: `
				snare ....x.......x...
				crash x...............
				bass  x-..x-..x-..x-..`,
			After: `
				snare ....x.........xx
				crash x...............
				bass  x-..x-..x-..x-..`},
		movetest.Row{Name: "sounds are the loop's, muted or not", Step: fill("drums", "last 1 beat of bar 2"),
			Loop:   "snare:40 ....x.......x...",
			Before: "snare:40 ....x.......x...|................",
			After:  "snare:40 ....x.......x...|..............xx"},
		movetest.Row{Name: "the level rises evenly in dB, from 50 by a cube root of 2 a place to 79 and 100", Step: &moves.Fill{Target: target("snare", "last 1 beat"), Velocity: option.SharesOf(50*percent, option.Whole)},
			Before: "snare ....x...X...x...",
			Look:   velocities("snare", "100 120 79 100")},
		movetest.Row{Name: "at most to the loudest", Step: &moves.Fill{Target: target("snare", "last 1 beat"), Velocity: option.SharesOf(200*percent, 200*percent)},
			Before: "snare ....x...X...x...",
			Look:   velocities("snare", "100 120 120 120")},
		movetest.Row{Name: "a span shorter than a 1/16 is left alone, told", Step: fill("snare", "last 1/32"),
			Before: "snare ....x.......x...",
			After:  "snare ....x.......x...", Told: []string{"shorter than a 1/16"}},
		movetest.Row{Name: "no drum: a warning", Step: fill("all", ""),
			Before: "bass x...............", After: "bass x...............", Warned: []string{"nothing to fill with"}},
		movetest.Row{Name: "no drums in the loop: nothing", Step: fill("drums", ""),
			Before: "bass x...............", After: "bass x..............."},
		movetest.Row{Name: "a drum that never plays: a warning", Step: fill("snare", ""),
			Before: "snare ................\nbass x...............", After: "snare ................\nbass x...............", Warned: []string{"nothing to fill with"}},
		movetest.Row{Name: "of three bars the last 32 places are filled", Step: fill("drums", ""),
			Before: "snare x...x...x...x...|x...x...x...x...|x...x...x...x...",
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				counts := [3]int{}
				for _, n := range after.Parts[0].Notes {
					counts[after.Time().BarOf(n.Start)-1]++
				}
				if counts != [3]int{4, 4, 10} {
					t.Errorf("got %v hits a bar, want 4 of its own, 4 and 10", counts)
				}
			}},
	)
}

// TestAFillIsDenserTowardsTheEnd holds the counts of the doc for many seeds.
func TestAFillIsDenserTowardsTheEnd(t *testing.T) {
	for seed := range uint64(50) {
		movetest.Check(t, movetest.Row{Step: fill("drums", "bar 2"), Seed: seed + 1,
			Before: `
				kick  x...x...x...x...|x...x...x...x...|x...x...x...x...
				snare ....x.......x...|....x.......x...|....x.......x...
				tom   ..x.............|................|................`,
			Look: func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
				halves := [2]int{}
				for _, p := range after.Parts[1:] {
					for _, n := range after.In(p, after.BarRange(2, 2)) {
						halves[(n.Start-384)/192]++
					}
				}
				if halves != [2]int{2, 5} {
					t.Errorf("seed %d: got %v hits in the halves, want 2 and 5", seed, halves)
				}
			}})
	}
}

func TestNoTwoFillsOfAStepAreTheSame(t *testing.T) {
	bars := ""
	for range 64 {
		bars += "....x.......x...|"
	}
	in := mustGrid(t, "snare "+bars+"\ntom "+bars)
	step := fill("drums", "every 1 bar")
	out, came := run(t, step, in)
	seen := map[string]int{}
	for bar := 1; bar <= 64; bar++ {
		text := played(out, bar)
		if at := seen[text]; at > 0 {
			t.Errorf("bars %d and %d have the same fill: %s", at, bar, text)
		}
		seen[text] = bar
	}
	if told := movetest.Told(came); len(told) > 0 {
		t.Errorf("told %q, want nothing", told)
	}
	again, _ := run(t, step, in)
	if song.Grid(out) != song.Grid(again) {
		t.Error("one seed gives two tracks")
	}
	step.Seed = option.SeedOf(99)
	if other, _ := run(t, step, in); song.Grid(out) == song.Grid(other) {
		t.Error("two seeds give one track")
	}
}

// TestFillsBeginAgainWhenThereAreNoOthers: two sounds on the last two places of a beat make four fills.
func TestFillsBeginAgainWhenThereAreNoOthers(t *testing.T) {
	for _, row := range []struct {
		beats int
		again bool
	}{{4, false}, {5, true}} {
		in := mustGrid(t, "snare x...x...x...x...|x...x...x...x...\ntom x...x...x...x...|x...x...x...x...")
		out, came := run(t, fill("drums", fmt.Sprintf("every 1 beat of beat 1-%d of bar 1", min(row.beats, 4))), in)
		if row.again {
			out, came = run(t, fill("drums", "every 1 beat"), in)
		}
		if told := movetest.Told(came); len(told) > 0 != row.again {
			t.Errorf("%d spans: told %q", row.beats, told)
		}
		seen := map[string]bool{}
		for beat := range song.Tick(4) {
			text := ""
			for _, p := range out.Parts {
				for _, n := range out.In(p, song.Range{Start: 96 * beat, End: 96 * (beat + 1)}) {
					text += fmt.Sprint(p.Name, n.Start%96, " ")
				}
			}
			seen[text] = true
		}
		if len(seen) != 4 {
			t.Errorf("got %d different fills, want 4: %v", len(seen), seen)
		}
	}
}

func TestAFillFollowsTheLoopsSwing(t *testing.T) {
	movetest.Run(t, movetest.Row{Name: "the last 1/16 comes late", Step: fill("snare", "last 1 beat"), Setup: late(8),
		Before: "snare xxxxxxxxxxxxxxxx",
		Look:   onsets("snare", "0 32 48 80 96 128 144 176 192 224 240 272 336 368")})
}
