package demo

// kickBass is the engine room: a kick and a bass that rolls between its beats, and nothing else.
// A minor, 140 bpm.
func kickBass() loop {
	return loop{
		name: "kick-bass.mid", format: 1, ppq: 480, bpm: 140, metre: fourFour(), key: key{0, true}, bars: 8,
		tracks: []track{
			{name: "Kick", channel: 10, rows: []row{
				{key: 36, level: 108, grid: bars(3, `X...x...x...x...`) + `X...x...x...x..o|` +
					bars(3, `X...x...x...x...`) + `X...x...x...x.oo`},
			}},
			{name: "Bass", channel: 1, program: 39, rows: []row{{
				chords: "a=A1 c=C2 d=D2 e=E2 g=G1 f=F1 h=A2", level: 88, gate: 78, lean: "5467",
				grid: `.aaa.aaa.aaa.aaa|.aaa.aaa.aaa.aac|.aaa.aaa.aaa.aaa|.ggg.ggg.ggg.gac|
				       .aaa.aaa.aaa.aah|.aaa.aaa.aaa.aac|.fff.fff.fff.fff|.ggg.ggg.gee.dch`,
			}}},
		},
	}
}
