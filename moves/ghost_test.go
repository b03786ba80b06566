package moves_test

import (
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

func ghost(part, over string) *moves.Ghost {
	return &moves.Ghost{Target: target(part, over), Velocity: 40 * percent, Density: option.Whole}
}

func TestGhost(t *testing.T) {
	loud := func(g *moves.Ghost, v option.Share) *moves.Ghost { g.Velocity = v; return g }
	dense := func(g *moves.Ghost, d option.Share) *moves.Ghost { g.Density = d; return g }
	movetest.Run(t,
		movetest.Row{Name: "sixteenths stand between the hits", Step: ghost("hat", "bar 2"),
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.x.x.|xoxoxoxoxoxoxoxo"},
		movetest.Row{Name: "all free places are taken, before the first hit too", Step: ghost("hat", "bar 1"),
			Before: "hat ..x...x...x...x.",
			After:  "hat ooxoooxoooxoooxo"},
		movetest.Row{Name: "they have 40 % of the part's median", Step: ghost("hat", "last 1 beat"),
			Before: "hat X.x.x.x.x.x.x.x.",
			After:  "hat X.x.x.x.x.x.xoxo",
			Look:   velocities("hat", "120 100 100 100 100 100 100 40 100 40")},
		movetest.Row{Name: "never past the part's own loudest hit", Step: loud(ghost("hat", "last 1 beat"), 300*percent),
			Before: "hat X.x.x.x.x.x.x.x.",
			After:  "hat X.x.x.x.x.x.xXxX",
			Look:   velocities("hat", "120 100 100 100 100 100 100 120 100 120")},
		movetest.Row{Name: "at least of velocity 1", Step: loud(ghost("hat", "last 1 beat"), 0),
			Before: "hat x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.xoxo",
			Look:   velocities("hat", "100 100 100 100 100 100 100 1 100 1")},
		movetest.Row{Name: "a place less than a sixteenth from a hit is not free", Step: ghost("hat", "bar 1"), Steps: 8,
			Before: "hat x.x.x.x.x.x.x.x.x.x.x.x.x..x....",
			After:  "hat x.x.x.x.x.x.x.x.x.x.x.x.x..x..o."},
		movetest.Row{Name: "where the loop has a hit that the song leaves out, none comes", Step: ghost("hat", "bar 1"),
			Loop:   "hat x.x.x.x.x.x.x.x.",
			Before: "hat x...x...x...x...|x...x...x...x...",
			After:  "hat xo.oxo.oxo.oxo.o|x...x...x...x..."},
		movetest.Row{Name: "bars in which the part is silent stay silent", Step: ghost("hat", "bars 1-2"),
			Before: "hat x.x.x.x.x.x.x.x.|................",
			After:  "hat xoxoxoxoxoxoxoxo|................"},
		movetest.Row{Name: "a silent span stays silent, and that is said", Step: ghost("hat", "bar 2"),
			Before: "hat x.x.x.x.x.x.x.x.|................",
			After:  "hat x.x.x.x.x.x.x.x.|................", Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "several spans", Step: ghost("hat", "last 1 beat of every 1 bar"), Sections: "groove 2",
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
			After:  "hat x.x.x.x.x.x.xoxo|x.x.x.x.x.x.xoxo"},
		movetest.Row{Name: "a kit has them on its snare", Step: ghost("kick", "bar 1"),
			Before: "kick:36 x...x...x...x...\nkick:38 ....x.......x...",
			After:  "kick:38 .ooo" + "xooo" + ".ooo" + "xooo\nkick:36 x...x...x...x..."},
		movetest.Row{Name: "a bass repeats the note before, a sixteenth long", Step: ghost("bass", "first 2 beats"),
			Before: "bass:36 x.......x.......\nbass:43 ....x-..........",
			After:  "bass:43 ....x-oo........\nbass:36 xooo....x......."},
		movetest.Row{Name: "a chord is repeated whole", Step: ghost("stab", "first 1 beat"),
			Before: "stab:64 x.......x.......\nstab:60 x.......x.......",
			After:  "stab:64 xooo....x.......\nstab:60 xooo....x......."},
		movetest.Row{Name: "under a held note of a pitched part no place is free", Step: ghost("bass", "bar 1"),
			Before: "bass x---..x---------",
			After:  "bass x---oox---------"},
		movetest.Row{Name: "a ghost is as long as the part's hits where they are shorter than a sixteenth", Step: ghost("hat", "first 1 beat"), Steps: 8,
			Before: "hat x...x...x...x...x...x...x...x...",
			After:  "hat x.o.x.o.x...x...x...x...x...x..."},
		movetest.Row{Name: "and a sixteenth where they are longer", Step: ghost("ride", "first 1 beat"), Steps: 8,
			Before: "ride x-------x-------x-------x-------",
			After:  "ride x-o-o-o-x-------x-------x-------"},
		movetest.Row{Name: "off-beats come as late as the loop's", Step: ghost("kick", "last 1 beat"), Setup: late(6),
			Before: "hat  xxxxxxxxxxxxxxxx\nkick x...x...x...x...",
			After:  "hat  xxxxxxxxxxxxxxxx\nkick x...x...x...xooo",
			Look:   onsets("kick", "0 96 192 288 318 336 366")},
		movetest.Row{Name: "7/8 has its own bars", Step: ghost("kick", "bar 2"),
			Before: "kick x...x...x.....|x...x...x.....",
			After:  "kick x...x...x.....|xoooxoooxooooo"},
		movetest.Row{Name: "the smallest density leaves one place in each bar, the same in all", Step: dense(ghost("hat", ""), 1),
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.", Look: alike(9)},
		movetest.Row{Name: "half of them", Step: dense(ghost("hat", ""), 50*percent),
			Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.", Look: alike(12)},
		movetest.Row{Name: "no density is a mistake", Step: dense(ghost("hat", ""), 0),
			Before: "hat x.x.", Err: "density: found 0%, want a percentage from 0.01% to 100%"},
		movetest.Row{Name: "more than all is a mistake", Step: dense(ghost("hat", ""), option.Whole+1),
			Before: "hat x.x.", Err: "density: found 100.01%"},
		movetest.Row{Name: "a part that never plays", Step: ghost("clap", ""),
			Before: "clap ....\nhat x...", After: "clap ....\nhat x...", Warned: []string{"nothing plays there"}},
	)
}

// alike wants every bar of the first part to have the same hits, so many of them.
func alike(hits int) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		bars := hitsInBars(after)
		for _, b := range bars {
			if b != bars[0] || len(b) != hits {
				t.Errorf("got bars %q, want all alike with %d hits", bars, hits)
			}
		}
	}
}

func TestGhostsByChanceFollowTheSeed(t *testing.T) {
	in := mustGrid(t, "hat x...x...x...x...|x...x...x...x...")
	at := func(seed uint64) string {
		step := ghost("hat", "")
		step.Density, step.Seed = 50*percent, option.SeedOf(seed)
		out, _ := run(t, step, in)
		return song.Grid(out)
	}
	if first, again := at(1), at(1); first != again {
		t.Error("one seed gives two choices")
	}
	if at(1) == at(2) && at(2) == at(3) {
		t.Error("three seeds give one choice")
	}
}

func TestGhostsLeaveRollsAlone(t *testing.T) {
	in := mustGrid(t, "snare ....x.......x...|....x.......x...")
	out, err := moves.RunAll(&moves.Env{Strict: true}, in, roll("snare", "bar 2", "1/4", "1/4", ""), ghost("snare", ""))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.TrimSpace(song.Grid(out.Song)), "snare ooooxoooooooxooo|x-..x-..x-..x-.."; got != want {
		t.Errorf("\ngot  %s\nwant %s", got, want)
	}
}

func BenchmarkGhost(b *testing.B) { benchmarkMove(b, ghost("hat", "")) }
