package demo

// breakwater is the rough water outside: a broken beat at 174 bpm with a held bass and strings. The
// kick falls on 1 and on the and of 3, the snare on 2 and 4, with ghosts between. G minor.
func breakwater() loop {
	return loop{
		name: "breakwater.mid", format: 1, ppq: 480, bpm: 174, metre: fourFour(), key: key{-2, true}, bars: 8,
		tracks: []track{
			{name: "Break", channel: 10, swing: 53, rows: []row{
				{key: 36, level: 106, grid: `X.........x.....|X.x.......x.....|X.........x.....|X.........x..x..|
				                             X.........x.....|X.x.......x.....|X.........x...x.|X..x......x..x..`},
				{key: 38, level: 104, grid: `....X..o.o..X...|....X..o.o..X..o|....X..o.o..X...|....X..o.o.oX.oo|
				                             ....X..o.o..X...|....X..o.o..X..o|....X..o.o..X...|....X..o.o.xX.xX`},
				{key: 42, level: 80, lean: "7545", grid: bars(3, `x.x.x.x.x.x.x.x.`) + `x.x.x.x.x.x.x...|` +
					bars(3, `x.x.x.xox.x.x.xo`) + `x.x.x.x.x.x.....`},
				{key: 46, level: 82, grid: bars(3, `................`) + `..............x.|` +
					bars(3, `................`) + `............x...`},
				{key: 51, level: 66, lean: "6545", grid: bars(4, `................`) + bars(4, `x...x...x...x.x.`)},
			}},
			{name: "Bass", channel: 2, program: 40, rows: []row{{
				chords: "g=G1 f=F1 e=Eb1 d=D2 b=Bb1 c=C2", level: 96, gate: 94,
				grid: `G---------..g-b-|g-------..d---f-|E---------..e-g-|f-------..c---d-|
				       G---------..g-b-|g-----..g-d---b-|E---------..e-g-|f---..f-..c-d-f-`,
			}}},
			{name: "Strings", channel: 3, program: 49, rows: []row{{
				chords: "g=Bb3+D4+F4+A4 e=Bb3+D4+Eb4+G4 f=A3+C4+F4+G4", level: 68, gate: 98,
				grid: `g---------------|----------------|e---------------|f---------------|
				       g---------------|----------------|e---------------|f-------f-------`,
			}}},
		},
	}
}
