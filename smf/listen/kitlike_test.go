package listen_test

import "testing"

// Lines on the keys of a kit that have no name are told from kits by how they play.
func TestLinesOnTheKeysOfAKit(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"a guitar's pulse is no kit, though all its keys are those of kick, snare and hats, and the same in every bar",
			`"" 3 35 x.xxx.xxx.xxx.x.|x.xxx.xxx.xxx.x.
			 "" 3 38 ..............xx|..............xx`,
			`bass, bass, bass: x.xxx.xxx.xxx.xx|x.xxx.xxx.xxx.xx`},
		{"nor are its bare fifths",
			`"" 3 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
			 "" 3 49 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			`stab, stab, hook: x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`},
		{"hats alone, one at a time, are a kit",
			`"" 3 42 x.x.x.x.x.x.x...|x.x.x.x.x.x.x...
			 "" 3 46 ..............x.|..............x.`,
			`hat, hat, tops: x.x.x.x.x.x.x...|x.x.x.x.x.x.x...
			 open-hat, open-hat, tops: ..............x.|..............x.`},
		{"a kit need not be the same in any two bars",
			`"" 3 36 x.......x.......|x..x......x.....|..x....x........
			 "" 3 38 ....x...........|.......x....x...|..........x.....
			 "" 3 42 x.x.x.x.x.x.x.x.|.x...x.x.....x..|x..x..x..x..x...
			 "" 3 49 ................|x...............|................`,
			`skeleton, kick, beat: x...............|x...............|................
			 break-kick, kick, backbeat: ........x.......|...x......x.....|..x....x........
			 break-snare, snare, backbeat: ....x...........|.......x....x...|..........x.....
			 hat, hat, tops: x.x.x.x.x.x.x.x.|.x...x.x.....x..|x..x..x..x..x...
			 crash, crash, perc: ................|x...............|................`},
		{"a kick's pulse is a kit by the crash far above it",
			`"" 3 36 ..xxx.xxx.xxx.xx|x.xxx.xxx.xxx.xx
			 "" 3 37 .x..............|.x..............
			 "" 3 57 x...............|................`,
			`kick, kick, beat: ..xxx.xxx.xxx.xx|x.xxx.xxx.xxx.xx
			 rim, rim, backbeat: .x..............|.x..............
			 crash, crash, perc: x...............|................`},
		{"one hit in twenty may be outside the map",
			`"" 3 36 x...x...x...x...|x...x...x...x...
			 "" 3 38 ....x.......x...|....x.......x...
			 "" 3 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
			 "" 3 90 ................|x...............`,
			`kick, kick, beat: x...x...x...x...|x...x...x...x...
			 snare, snare, backbeat: ....x.......x...|....x.......x...
			 hat, hat, tops: x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
			 perc, perc, perc: ................|x...............`},
		{"notes of a kit are not held",
			`"" 3 36 x---------------|x---------------
			 "" 3 38 ....x-----------|....x-----------
			 "" 3 42 x---------------|x---------------`,
			`pad, pad, hook: x...x...........|x...x...........`},
		{"a part of two low keys, some of them together, is a kit where there is no other",
			`"" 3 36 x.....x.x.......|..x.x.....x.....
			 "" 3 40 ..x...x.......x.|x...x.........x.`,
			`skeleton, kick, beat: x...............|x...x...........
			 break-kick, kick, backbeat: ......x.x.......|..x.......x.....
			 break-snare, snare, backbeat: ..x...x.......x.|..............x.`},
		{"beside a kit it is not",
			`"" 3 36 x.....x.x.......|..x.x.....x.....
			 "" 3 40 ..x...x.......x.|x...x.........x.
			 "" 10 36 x...x...x...x...|x...x...x...x...`,
			`bass, bass, bass: x.x...x.x.....x.|x.x.x.....x...x.
			 kick, kick, beat: x...x...x...x...|x...x...x...x...`},
		{"a track named percussion that holds kick, snare and hat is a kit",
			`"Percussion" 10 36 x...x...x...x...
			 "Percussion" 10 38 ....x.......x...
			 "Percussion" 10 42 ..x...x...x...x.`,
			`kick, kick, beat: x...x...x...x...
			 snare, snare, backbeat: ....x.......x...
			 hat, hat, tops: ..x...x...x...x.`},
		{"beside a kit's hat a pulse on a pitch is no hat, on middle C it may be",
			`"" 10 36 x...x...x...x...
			 "" 10 42 ..x...x...x...x.
			 "" 1 71 x.x.x.x.x.x.x.x.
			 "" 2 60 x.x.x.x.x.x.x.x.`,
			`lead, lead, hook: x.x.x.x.x.x.x.x.
			 hat 1, hat, tops: x.x.x.x.x.x.x.x.
			 kick, kick, beat: x...x...x...x...
			 hat 2, hat, tops: ..x...x...x...x.`},
		{"percussion beside a kit's comes again from bar to bar",
			`"" 10 36 x...x...x...x...|x...x...x...x...
			 "" 10 56 ..x.............|..x.............
			 "" 1 75 ...x......x..x..|...x......x..x..
			 "" 2 76 ...x......x..x..|.x...x.....x....`,
			`perc 1, perc, perc: ...x......x..x..|...x......x..x..
			 lead, lead, hook: ...x......x..x..|.x...x.....x....
			 kick, kick, beat: x...x...x...x...|x...x...x...x...
			 cowbell, perc, perc: ..x.............|..x.............`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}

// Of low lines without a name one is the bass.
func TestWhichLowLineIsTheBass(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"dyads an octave wide are one voice",
			`"" 1 36 x--.x--.x--.x--.
			 "" 2 48 x--.x--.x--.x--.
			 "" 2 60 x--.x--.x--.x--.`,
			`bass, bass, bass: x...x...x...x...
			 lead, lead, hook: x...x...x...x...`},
		{"a line an octave above the bass doubles it: its role is open, it plays with the bass",
			`"" 1 28 x--.x--.x--.x--.
			 "" 2 40 x--.x--.x--.x--.`,
			`bass 1, bass, bass: x...x...x...x...
			 track-1, unknown, bass: x...x...x...x...`},
		{"fifths are the bass where nothing else is",
			`"" 1 33 x--.x--.x--.x--.
			 "" 1 40 x--.x--.x--.x--.
			 "" 2 60 x--.x--.x--.x--.`,
			`bass, bass, bass: x...x...x...x...
			 lead, lead, hook: x...x...x...x...`},
		{"beside a bass they are not",
			`"" 1 33 x--.x--.x--.x--.
			 "" 1 40 x--.x--.x--.x--.
			 "" 2 31 x--.x--.x--.x--.`,
			`chords, chords, hook: x...x...x...x...
			 bass, bass, bass: x...x...x...x...`},
		{"a low line that plays less than half as much as another is not the bass",
			`"" 1 31 x--.x--.x--.x--.
			 "" 2 36 x--..........---`,
			`bass 1, bass, bass: x...x...x...x...
			 track-1, unknown, bass: x...............`},
		{"a low note held for bars is a drone where another moves",
			`"" 1 33 x--.x--.x--.x--.|x--.x--.x--.x--.
			 "" 2 28 x---------------|----------------`,
			`bass, bass, bass: x...x...x...x...|x...x...x...x...
			 drone, drone, hook: x...............|................`},
		{"also where the other moves no more than twice as often",
			`"" 1 33 x--.............|x--.............|x--.............|x--.............
			 "" 2 28 x---------------|----------------|x---------------|----------------`,
			`bass, bass, bass: x...............|x...............|x...............|x...............
			 drone, drone, hook: x...............|................|x...............|................`},
		{"where nothing else is low it is the bass",
			`"" 2 28 x---------------|----------------
			 "" 1 60 x--.x--.x--.x--.|x--.x--.x--.x--.`,
			`lead, lead, hook: x...x...x...x...|x...x...x...x...
			 bass, bass, bass: x...............|................`},
		{"three notes in eight bars are too few to tell by",
			`"" 1 72 x...............|................|................|................|................|................|................|................
			 "" 1 74 ..x.............|................|................|................|................|................|................|................
			 "" 1 76 .....x..........|................|................|................|................|................|................|................`,
			`track-1, unknown, hook: x.x..x..........|................|................|................|................|................|................|................`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}
