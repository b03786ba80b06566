package demo

// harbourLights is the full club loop: the lamps of the home quay, seen from the car deck. F minor,
// i VI VII i iv v; bars 1-4 leave room, bars 5-8 bring the ride cymbal and the higher bass notes.
func harbourLights() loop {
	return loop{
		name: "harbour-lights.mid", format: 1, ppq: 480, bpm: 132, metre: fourFour(), key: key{-4, true}, bars: 8,
		tracks: []track{
			{name: "Kit", channel: 10, swing: 56, rows: harbourKit()},
			{name: "Bass", channel: 2, program: 39, rows: []row{{
				chords: "f=F1 a=Ab1 b=Bb1 c=C2 d=Db2 e=Eb2 h=F2", level: 92, gate: 82, lean: "5565555655655455",
				grid: `..F-..f.f-..f.c-|..F-..f.f-..a.e-|..D-..d.d-..d.a-|..E-..e.e-..cce-|
				       ..F-..f.f-..f.h.|..F-..f.f-..hce-|..B-..b.b-..b.d-|..C-..c.c-..e.cb`,
			}}},
			{name: "Stab", channel: 3, program: 82, rows: []row{{
				chords: "f=F3+Ab3+C4+Eb4 d=F3+Ab3+C4+Db4 e=Eb3+G3+Bb3+Db4 b=F3+Ab3+Bb3+Db4 c=Eb3+G3+Bb3+C4",
				level:  86, gate: 70, lean: "6555556555455565",
				grid: `...F..f-....f...|...F..f-....f.f.|...D..d-....d...|...E..e-..e...f.|
				       ...F..f-....f...|...F..f-....f.f.|...B..b-....b...|..C..c-.c.e.e-..`,
			}}},
			{name: "Pad", channel: 4, program: 90, rows: []row{{
				chords: "f=Ab3+C4+Eb4+G4 d=Ab3+C4+Db4+F4 e=G3+Bb3+Eb4+F4 b=F3+Bb3+Db4+Ab4 c=G3+Bb3+C4+Eb4",
				level:  64, gate: 97,
				grid: `f---------------|----------------|d---------------|e---------------|
				       f---------------|----------------|b---------------|c---------------`,
			}}},
		},
	}
}

func harbourKit() []row {
	return []row{
		{key: 36, level: 106, grid: bars(3, `X...x...x...x...`) + `X...x...x...x..o|` +
			bars(3, `X...x...x...x...`) + `X...x...x..x..xo`},
		{key: 39, level: 94, grid: bars(3, `....x.......X...`) + `....x.......X..o|` +
			bars(3, `....x.......X...`) + `....x..o....X.xX`},
		{key: 37, level: 66, grid: bars(2, `......x....x....|...x..x....x..o.`) +
			bars(2, `......x....x..o.|...x..x..o.x....`)},
		// The soft hits fall on late sixteenths: they carry the swing.
		{key: 42, level: 82, lean: "7555655565554555", grid: bars(3, `x..ox.oox..ox..o`) + `x..ox.oox.oox.oo|` +
			bars(3, `x..ox.oox..ox.oo`) + `x.oox.oox..o....`},
		{key: 46, level: 84, grid: bars(7, `..x...x...x...x.`) + `..x...x...X.....`},
		{key: 70, level: 58, lean: "6374", grid: bars(8, `xxxxxxxxxxxxxxxx`)},
		{key: 63, level: 70, grid: bars(4, `................`) + bars(2, `.......x..x.....|..x....x..x...oo`)},
		{key: 51, level: 68, lean: "5575", grid: bars(4, `................`) + bars(4, `x...x.o.x...x...`)},
	}
}
