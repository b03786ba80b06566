package demo

// ferry is the crossing, exported one pattern a file: each has its own length, some of them the
// resolution of another machine. D minor, 126 bpm.
func ferry() []loop {
	pattern := func(name string, length int, t track) loop {
		return loop{name: "ferry/" + name, format: 0, ppq: 480, bpm: 126, metre: fourFour(), key: key{-1, true},
			bars: length, tracks: []track{t}}
	}
	shaker := pattern("shaker.mid", 2, track{name: "Shaker", channel: 10, rows: []row{
		{key: 70, level: 60, lean: "7464", grid: `xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxx.x`},
	}})
	shaker.ppq = 96
	bass := pattern("bass.mid", 4, track{name: "Bass", channel: 1, program: 39, rows: []row{{
		chords: "d=D2 f=F1 g=G1 a=A1 b=Bb1 c=C2", level: 94, gate: 88, lean: "5556555555655555",
		grid: `..d-..d...d-.dc.|..d-..d...d-.cba|..B-..b...b-.bc.|..A-..a.g.g-.ac.`,
	}}})
	bass.ppq = 96
	return []loop{
		pattern("kick.mid", 8, track{name: "Kick", channel: 10, rows: []row{
			{key: 36, level: 104, grid: bars(3, `X...x...x...x...`) + `X...x...x...x.o.|` +
				bars(3, `X...x...x...x...`) + `X...x...x.......`},
		}}),
		pattern("clap.mid", 4, track{name: "Clap", channel: 10, rows: []row{
			{key: 39, level: 96, grid: `....x.......X...|....x.......X...|....x.......X...|....x.......X.oo`},
		}}),
		pattern("hats.mid", 8, track{name: "Hats", channel: 10, swing: 58, rows: []row{
			{key: 42, level: 78, lean: "6555755565555555", grid: bars(3, `x.oox..ox.oox..o`) + `x.oox..ox.oox.oo|` +
				bars(3, `x.oox.oox.oox..o`) + `x.oox..oxooox...`},
			{key: 46, level: 80, grid: bars(3, `......x.......x.`) + `......x.........|` +
				bars(3, `......x.......x.`) + `..............X.`},
		}}),
		shaker,
		bass,
		pattern("chords.mid", 8, track{name: "Chords", channel: 1, program: 91, rows: []row{{
			chords: "d=A3+C4+D4+F4 b=A3+Bb3+D4+F4 a=G3+A3+C4+E4 g=G3+Bb3+D4+F4 c=G3+C4+D4+E4",
			level:  70, gate: 94,
			grid: `d-----------....|d-------d---....|b-----------....|a-----------....|
			       d-----------....|g-------g---....|b-----------....|a-------c-------`,
		}}}),
		pattern("bell.mid", 8, track{name: "Ship Bell", channel: 1, program: 15, swing: 58, rows: []row{{
			chords: "a=A5 c=C6 d=D6 e=E6 f=F6 g=G5", level: 76, gate: 60, lean: "6545555545556555",
			grid: `D.....a..c....d.|......a...c.....|D.....f..e....d.|......a..c.e....|
			       D.....a..c....d.|......g...c.....|D.....f..e....d.|...a..c..d.e.f..`,
		}}}),
	}
}
