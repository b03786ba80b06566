package demo

// oneChannel is the loop of a recorder that knows no channels: seven tracks, all on channel 1, and
// every drum on key 60. G minor, 128 bpm.
func oneChannel() loop {
	drum := func(name string, r row) track {
		r.key = 60
		return track{name: name, channel: 1, swing: 54, rows: []row{r}}
	}
	return loop{
		name: "one-channel.mid", format: 1, ppq: 96, bpm: 128, metre: fourFour(), key: key{-2, true}, bars: 8,
		tracks: []track{
			drum("Kick", row{level: 106, grid: bars(7, `X...x...x...x...`) + `X...x...x...x.oo`}),
			drum("Clap", row{level: 95, grid: bars(3, `....x.......X...`) + `....x.......X..o|` +
				bars(3, `....x.......X...`) + `....x.....o.X.o.`}),
			drum("Closed Hat", row{level: 80, lean: "5575", grid: bars(3, `o.x.o.x.o.x.o.xo`) + `o.x.o.x.o.x.oox.|` +
				bars(3, `o.xoo.x.o.xoo.xo`) + `o.xoo.x.o.xox...`}),
			drum("Perc", row{level: 68, grid: bars(4, `...x..x....x....|...x..x..o.x..o.`)}),
			{name: "Bass", channel: 1, rows: []row{{
				chords: "g=G1 b=Bb1 c=C2 d=D2 e=Eb2 f=F2", level: 95, gate: 75, lean: "5555655555556555",
				grid: `g..g..g.....g.b.|g..g..g.....f.d.|e..e..e.....e.d.|c..c..c.....d.f.|
				       g..g..g.....g.b.|g..g..g...g.f.d.|e..e..e.....e.d.|c..c..d..d.d.f.b`,
			}}},
			{name: "Stab", channel: 1, rows: []row{{
				chords: "g=G3+Bb3+D4+F4 e=G3+Bb3+D4+Eb4 c=G3+Bb3+C4+Eb4 d=F3+A3+C4+D4", level: 84, gate: 65,
				grid: `..G.......g..g..|..G.......g.....|..E.......e..e..|..C.......d.....|
				       ..G.......g..g..|..G.......g..g..|..E.......e..e..|..C....c..d.d...`,
			}}},
			{name: "Lead", channel: 1, rows: []row{{
				chords: "g=G4 a=A4 b=Bb4 c=C5 d=D5 f=F5 e=Eb5", level: 82, gate: 80, lean: "6555556555655555",
				grid: `................|....d--.c.b.a.g.|................|....e--.d.c.d---|
				       ................|....d--.c.b.a.g.|......f--.e.d.c.|d---c---b---a---`,
			}}},
		},
	}
}
