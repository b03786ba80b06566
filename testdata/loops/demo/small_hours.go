package demo

// smallHours is the break of harbourLights: the lights are far behind, engine and kit rest. Its pad and bass play
// the same chords held longer, the stab answers once in two bars, and a flute that the loop does not have has the tune.
func smallHours() loop {
	return loop{
		name: "breaks/small-hours.mid", format: 1, ppq: 480, bpm: 132, metre: fourFour(), key: key{-4, true}, bars: 8,
		tracks: []track{
			{name: "Kit", channel: 10, swing: 56, rows: []row{
				{key: 70, level: 44, lean: "6374", grid: bars(8, `x.x.x.x.x.x.x.x.`)},
			}},
			{name: "Bass", channel: 2, program: 39, rows: []row{{
				chords: "f=F1 b=Bb1 c=C2 d=Db2 e=Eb2", level: 78, gate: 96,
				grid: `f---------------|----------------|d---------------|e---------------|
				       f---------------|----------------|b---------------|c---------------`,
			}}},
			{name: "Stab", channel: 3, program: 82, rows: []row{{
				chords: "f=F3+Ab3+C4+Eb4 e=Eb3+G3+Bb3+Db4 c=Eb3+G3+Bb3+C4", level: 60, gate: 60,
				grid: `................|......f.........|................|......e.........|
				       ................|......f.........|................|......c.........`,
			}}},
			{name: "Pad", channel: 4, program: 90, rows: []row{{
				chords: "f=Ab3+C4+Eb4+G4 d=Ab3+C4+Db4+F4 e=G3+Bb3+Eb4+F4 b=F3+Bb3+Db4+Ab4 c=G3+Bb3+C4+Eb4",
				level:  74, gate: 99,
				grid: `f---------------|----------------|d---------------|e---------------|
				       f---------------|----------------|b---------------|c---------------`,
			}}},
			{name: "Flute", channel: 5, program: 74, rows: []row{{
				chords: "c=C5 d=Db5 e=Eb5 f=F5 a=Ab5 b=Bb4 g=G5", level: 82, gate: 92,
				grid: `c-----e---f-----|a-------g-f-e---|f-----d---c-----|b-------------e-|
				       c-----e---f-----|a-------g-a-----|f-----d---f-----|g-----e---c-----`,
			}}},
		},
	}
}
