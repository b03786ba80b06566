package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

func echo(part, over, spacing string, repeats int, velocity option.Share, tails string) *moves.Echo {
	return &moves.Echo{Target: target(part, over), Spacing: value(spacing), Repeats: repeats, Velocity: velocity * percent, Tails: tails}
}

func TestEcho(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "a note is repeated, softer each time", Step: echo("stab", "", "3/16", 3, 60, "ring"),
			Before: "stab x...............", After: "stab x..o..o..o......", Look: velocities("stab", "100 60 36 22")},
		movetest.Row{Name: "repeats end once they would be softer than 1", Step: echo("stab", "", "1/16", 16, 10, "ring"),
			Before: "stab x...............", After: "stab xoo.............", Look: velocities("stab", "100 10 1")},
		movetest.Row{Name: "at 100 % they stay as loud", Step: echo("stab", "", "1/4", 1, 100, "ring"),
			Before: "stab X...............", After: "stab X...X..........."},
		movetest.Row{Name: "16 of them", Step: echo("stab", "", "1/16", 16, 100, "ring"),
			Before: "stab x...............|................", After: "stab xxxxxxxxxxxxxxxx|x..............."},
		movetest.Row{Name: "they last as long as the note, up to the spacing", Step: echo("stab", "", "1/8", 2, 60, "ring"),
			Before: "stab:64 x...............\nstab:60 ........x---....", After: "stab:64 x.o.o...........\nstab:60 ........x---o-.."},
		movetest.Row{Name: "one that would start while its key sounds is left out", Step: echo("stab", "bar 1", "1/8", 3, 60, "ring"),
			Before: "stab x..x--..........", After: "stab x.ox--oo-o-....."},
		movetest.Row{Name: "one ends where its key is struck again", Step: echo("stab", "beat 1 of bar 1", "1/4", 1, 60, "ring"), May: movetest.Parts("stab"),
			Before: "stab x---..x.........", After: "stab x---o-x........."},
		movetest.Row{Name: "of repeats on one place the loudest plays", Step: echo("stab", "", "1/4", 2, 60, "ring"),
			Before: "stab x...o...........", After: "stab x...o...o...o...", Look: velocities("stab", "100 60 36 22")},
		movetest.Row{Name: "repeats ring past the span", Step: echo("stab", "bar 1", "1/8", 3, 60, "ring"),
			May:    movetest.Parts("stab"),
			Before: "stab ............x...|................", After: "stab ............x.o.|o.o............."},
		movetest.Row{Name: "with tails cut they end with it", Step: echo("stab", "bar 1", "1/8", 3, 60, "cut"),
			Before: "stab ............x---|................", After: "stab ............x---|................"},
		movetest.Row{Name: "cut in mid-note", Step: echo("stab", "1.1-1.2", "1/8", 3, 60, "cut"),
			Before: "stab .x..............", After: "stab .x.o............"},
		movetest.Row{Name: "none past the song", Step: echo("stab", "", "1/8", 3, 60, "ring"),
			Before: "stab ............x-..", After: "stab ............x-o-"},
		movetest.Row{Name: "several spans", Step: echo("stab", "last 1 beat of every 1 bar", "1/8", 1, 60, "ring"), Sections: "drop 2",
			Before: "stab x...........x...|x...........x...", After: "stab x...........x.o.|x...........x.o."},
		movetest.Row{Name: "off-beats come as late as the loop's", Step: echo("hat", "beat 4 of bar 2", "1/16", 1, 60, "ring"), Setup: late(6),
			Before: "hat xxxxxxxxxxxxxxxx|x...x...x...x...",
			Look:   onsets("hat", "0 30 48 78 96 126 144 174 192 222 240 270 288 318 336 366 384 480 576 672 702")},
		movetest.Row{Name: "kits that share a channel: the others' hits stay", Step: echo("clap", "", "1/8", 2, 60, "ring"),
			Setup: func(s song.Song) song.Song {
				s = sharing(s)
				s.Parts[0].Keys, s.Parts[1].Keys = song.KeySet(39), song.KeySet(39)
				return s
			},
			Before: "clap:39 x.......\nsnare:39 ..x.....", After: "clap x...o...\nsnare:39 ..x....."},
		movetest.Row{Name: "no repeat is a mistake", Step: echo("stab", "", "1/8", 0, 60, "ring"), Before: "stab x...", Err: "repeats: found 0, want 1 to 16"},
		movetest.Row{Name: "17 too", Step: echo("stab", "", "1/8", 17, 60, "ring"), Before: "stab x...", Err: "repeats: found 17, want 1 to 16"},
		movetest.Row{Name: "louder each time too", Step: echo("stab", "", "1/8", 1, 101, "ring"), Before: "stab x...", Err: "velocity: found 101%"},
		movetest.Row{Name: "silent too", Step: echo("stab", "", "1/8", 1, 0, "ring"), Before: "stab x...", Err: "velocity: found 0%"},
		movetest.Row{Name: "no spacing too", Step: &moves.Echo{Target: target("stab", ""), Repeats: 1, Velocity: option.Whole}, Before: "stab x...", Err: "spacing: found less than a tick"},
		movetest.Row{Name: "no part, if any", Step: echo("stab if any", "", "1/8", 1, 60, "ring"), Before: "kick x...", After: "kick x..."},
	)
}
