package demo

import "slices"

// fogSignal is the loop with everything besides notes: a filter that opens, swells, a pan, bends,
// pressure, a sustain pedal, a bank with its program, and last chords whose tails ring past the end
// of the loop. E minor, 124 bpm.
func fogSignal() loop {
	return loop{
		name: "fog-signal.mid", format: 1, ppq: 480, bpm: 124, metre: fourFour(), key: key{1, true}, bars: 8,
		tracks: []track{
			{name: "Kit", channel: 10, swing: 55, rows: []row{
				{key: 36, level: 102, grid: bars(7, `X...x...x...x...`) + `X...x...x...x.o.`},
				{key: 38, level: 92, grid: bars(3, `....x.......X...`) + `....x....o..X...|` +
					bars(3, `....x.......X...`) + `....x....o..X.oo`},
				{key: 42, level: 76, lean: "5575", grid: bars(8, `o.xoo.x.o.xoo.xo`)},
				{key: 54, level: 64, grid: bars(4, `....x.......x...|....x.......x.o.`)},
			}},
			{name: "Bass", channel: 2, program: 40, wheels: set7And10(104, 64), rows: []row{{
				chords: "e=E1 g=G1 a=A1 b=B1 c=C2 d=D2", level: 93, gate: 90,
				grid: `e--..e.e..e---g.|a--..a.a..a---b.|c--..c.c..c---b.|g--..g.g..d---d.|
				       e--..e.e..e---g.|a--..a.a..a---b.|c--..c.c..c---d.|b--..b.b..b-d-b-`,
			}}},
			{name: "E-Piano", channel: 3, program: 5, wheels: pianoPedal(), endsAt: 8*16 + 10, rows: []row{{
				chords: "e=G3+B3+D4+F#4 a=G3+A3+C4+E4 c=G3+B3+C4+E4 g=G3+A3+B3+D4 d=F#3+A3+D4+E4 b=F#3+A3+B3+D4",
				level:  72, gate: 80, ring: 9,
				grid: `e-----..e-..e...|a-----..a-..a...|c-----..c-..c...|g-----..d-..d...|
				       e-----..e-..e...|a-----..a-..a...|c-----..c-..c...|b-----..b---d---`,
			}}},
			{name: "Fog Horn", channel: 4, bank: 2, program: 82, wheels: hornWheels(), rows: []row{{
				chords: "e=E4 g=G4 b=B4 a=A4 d=D5 f=F#4", level: 88, gate: 92,
				grid: `................|........e-------|----............|........g---f---|
				       e-----..........|........e-------|----....b---a---|g---f---d-------`,
			}}},
			{name: "Pad", channel: 5, program: 90, wheels: padRides(), endsAt: 8*16 + 10, rows: []row{{
				chords: "e=B3+E4+F#4+G4 a=A3+C4+E4+G4 c=C4+E4+G4+B4 g=B3+D4+G4+A4 b=A3+B3+D4+F#4", level: 66, gate: 98, ring: 8,
				grid: `e---------------|a---------------|c---------------|g---------------|
				       e---------------|a---------------|c---------------|b---------------`,
			}}},
		},
	}
}

func set7And10(volume, pan byte) []point { return []point{set(0, 7, volume), set(0, 10, pan)} }

// pianoPedal holds each bar's first chord; the last pedal comes up after the loop's end.
func pianoPedal() []point {
	var out []point
	for bar := range 7 {
		out = append(out, pedal(bar*16, bar*16+7)...)
	}
	return append(out, pedal(7*16, 8*16+9)...)
}

// hornWheels sets a bend range of 12 semitones (RPN 0, closed with the null RPN), slides into the
// long notes, and presses into the last one.
func hornWheels() []point {
	return []point{
		set(0, 101, 0), set(0, 100, 0), set(0, 6, 12), set(0, 38, 0), set(0, 101, 127), set(0, 100, 127),
		bend(24, -1366), bend(25, -683), bend(26, 0), // two semitones of twelve are 8192/6
		bend(88, -1366), bend(89, -910), bend(90, -455), bend(91, 0),
		{28, 0xA0, 64, 40}, {32, 0xA0, 64, 0}, // pressure on the held key E4
		{120, 0xD0, 20, 0}, {122, 0xD0, 48, 0}, {124, 0xD0, 80, 0}, {126, 0xD0, 0, 0},
		bend(126, 683), bend(127, 1366), // left bent: the next pass has to start from the centre
	}
}

// padRides opens the filter over eight bars, swells twice, and crosses from left to right.
func padRides() []point {
	return slices.Concat(
		ride(74, 0, 127, 4, 36, 104),
		ride(11, 0, 64, 4, 70, 118), ride(11, 64, 126, 4, 76, 127),
		ride(10, 0, 124, 16, 40, 88),
		[]point{set(0, 91, 52)},
	)
}
