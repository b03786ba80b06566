package demo

// sevenBells is a watch on deck, counted 2+2+3: a loop in 7/8. A minor, 138 bpm.
func sevenBells() loop {
	return loop{
		name: "seven-bells.mid", format: 1, ppq: 480, bpm: 138, metre: metre{n: 7, pow: 3, steps: 14}, key: key{0, true}, bars: 8,
		tracks: []track{
			{name: "Kit", channel: 10, rows: []row{
				{key: 36, level: 104, grid: bars(3, `X...x...x.....`) + `X...x...x...o.|` + bars(3, `X...x...x.....`) + `X...x...x.o.oo`},
				{key: 39, level: 92, grid: bars(7, `....x.....X...`) + `....x.....X.x.`},
				{key: 42, level: 78, lean: "7555", grid: bars(4, `x.x.x.x.x.x.xo|x.x.x.xox.x.x.`)},
				{key: 46, level: 80, grid: bars(3, `............x.`) + `..............|` + bars(3, `............x.`) + `..........X...`},
				{key: 56, level: 62, grid: bars(4, `..............`) + bars(2, `..x...x.....x.|..x...x..o....`)},
			}},
			{name: "Bass", channel: 2, program: 39, rows: []row{{
				chords: "a=A1 c=C2 d=D2 e=E1 f=F1 g=G1", level: 94, gate: 80,
				grid: `a-.aa-..a-.ac-|a-.aa-..a-.ag-|f-.ff-..f-.fg-|g-.gg-..e-.eg-|
				       a-.aa-..a-.ac-|a-.aa-..d-.dc-|f-.ff-..f-.fg-|e-.ee-..e-g-eg`,
			}}},
			{name: "Bells", channel: 3, program: 15, rows: []row{{
				chords: "a=A5 b=B5 c=C6 d=D6 e=E6 g=G5", level: 78, gate: 70, lean: "65555556555555",
				grid: `A...c...e.d...|..b...a.......|A...c...e.d.c.|b...g.........|
				       A...c...e.d...|..b...a...b.c.|D...c...a.....|b..b..g.....g.`,
			}}},
			{name: "Strings", channel: 4, program: 51, rows: []row{{
				chords: "a=A3+C4+E4 f=A3+C4+F4 g=G3+B3+D4 e=G#3+B3+E4", level: 66, gate: 97,
				grid: `a-------------|--------------|f-------------|g-------------|
				       a-------------|--------------|f-------------|e-------------`,
			}}},
		},
	}
}
