package review_test

import (
	"testing"

	"loopdraft/moves/review"
)

func TestDrop(t *testing.T) {
	checkRows(t, "drop", 0,
		row{name: "kick and bass come back", sections: "break 8, drop 8", music: `
			pad  o---------------
			kick x...x...x...x...  9-16
			bass x---x---x---x---  9-16`},
		row{name: "a song does not stop in one", sections: "break 16, drop 24", music: `
			pad  o---------------
			kick x...x...x...x...  17-40
			bass x---x---x---x---  17-40`,
			want: "warn 33-40 end 0/8 bars"},
		row{name: "what comes after it may be short", sections: "break 16, drop 24, outro 4", music: `
			pad  o---------------
			kick x...x...x...x...  17-44
			bass x---x---x---x---  17-40`},
		row{name: "a drop that plays what the break plays", sections: "break 8, drop 8", music: `
			kick x...x...x...x...
			pad  x---------------`,
			want:   "warn 9-16 0.1/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 94%, to: 94%}"},
		row{name: "one that is weaker", sections: "break 8, drop 8", music: `
			kick X...X...X...X...  1-8
			kick:35 o...o...o...o...  9-16
			hat  ..x...x...x...x.`,
			want:   "warn 9-16 -10.7/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 50%, to: 50%}"},
		row{name: "a second half of a drop is none of its own", sections: "break 8, drop 8, drop 8", music: `
			pad  o---------------
			kick x...x...x...x...  9-24`},
		row{name: "a drop at the start has nothing before it", sections: "drop 8, break 8", music: `
			kick x...x...x...x...  1-8
			pad  o---------------`},
		row{name: "the kick is gone for 8 bars of it", sections: "break 8, drop 16", music: `
			pad  o---------------
			kick x...x...x...x...  9-16
			bass x---x---x---x---  9-24`,
			want: "warn 17-24 beat 8/8 bars"},
		row{name: "for 7 it may be", sections: "break 8, drop 16", music: `
			pad  o---------------
			kick x...x...x...x...  9-17
			bass x---x---x---x---  9-24`},
		row{name: "the bass never comes, which the groove before it had", sections: "groove 8, break 8, drop 16", music: `
			pad  o---------------
			kick x...x...x...x...  1-8,17-32
			bass x---x---x---x---  1-8`,
			want: "warn 17-32 bass 16/8 bars"},
		row{name: "how much is an option: no weaker will do", sections: "break 8, drop 8", check: &review.DropIsFuller{By: 0, Bars: 8, Rest: 8}, music: `
			hat ..x...x...x...x.`},
	)
}

func TestBreak(t *testing.T) {
	checkRows(t, "break", 0,
		row{name: "drums and bass are out", sections: "groove 8, break 8, drop 8", music: `
			kick x...x...x...x...  1-8,17-24
			bass x---x---x---x---  1-8,17-24
			pad  o---------------`},
		row{name: "the bass stays", sections: "groove 8, break 8, drop 8", music: `
			kick x...x...x...x...  1-8,17-24
			hat  x.x.x.x.x.x.x.x.  1-8,17-24
			bass:40 o---o---o---o---
			pad  o---------------`,
			want:   "warn 9-16 bass 8/2 bars",
			answer: "transpose: {part: bass, over: bars 9-16, octaves: 1}"},
		row{name: "an octave up it is another voice", sections: "groove 8, break 8, drop 8", music: `
			kick    x...x...x...x...  1-8,17-24
			bass:48 o---o---o---o---
			pad     o---------------`},
		row{name: "where there is no other music it may stay", sections: "groove 8, break 8, drop 8", music: `
			kick x...x...x...x...  1-8,17-24
			clap x.x.x.x.x.x.x.x.  1-8,17-24
			bass o---............`},
		row{name: "as full as what is around it", sections: "groove 8, break 8, drop 8", music: `
			kick x...x...x...x...
			pad  x---------------`,
			want:   "warn 9-16 0/3 dB",
			answer: "shape: {part: all, over: bars 9-16, from: 83%, to: 83%}; mute: {part: beat, over: 1 bar before bar 9}; mute: {part: beat, over: 1/2 before bar 17}"},
		row{name: "8 bars of it are nearly empty", sections: "groove 8, break 16, drop 8", music: `
			kick X...X...X...X...  1-8,25-32
			bass X---X---X---X---  1-8,25-32
			pad  o---------------  9-16
			hat  .o..............  17-24`,
			want: "warn 17-24 35.5/18 dB"},
		row{name: "a build between it and the drop is not what it is held against", sections: "break 8, build 8, drop 8", music: `
			kick x...x...x...x...  9-24
			bass x---x---x---x---  17-24
			pad  o---------------`},
	)
}

func TestBuild(t *testing.T) {
	checkRows(t, "build", 0,
		row{name: "a roll rises", sections: "build 8", music: `
			snare:38 o...o...o...o...  1-4
			snare:39 o.o.o.o.o.o.o.o.  5-6
			snare:40 xxxxxxxxxxxxxxxx  7-8`},
		row{name: "with a rest before the drop too", sections: "build 8", music: `
			snare:38 o...o...o...o...  1-4
			snare:39 o.o.o.o.o.o.o.o.  5-6
			snare:40 xxxxxxxxxxxxxxxx  7`},
		row{name: "what goes on as it is does not", sections: "build 8", music: `
			snare x...x...x...x...`,
			want:   "warn 1-8 0/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 70%, to: 100%}"},
		row{name: "hardly rising is a note", sections: "build 8", music: `
			snare    x...x...x...x...
			hat      ..x...x...x...x.  7-8`,
			want:   "note 1-8 0.1/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 92%, to: 100%}"},
		row{name: "what climbs builds up all the same: a note", sections: "build 8", music: `
			lead:60 x...x...x...x...  1-4
			lead:67 x...x...x...x...  5-8`,
			want:   "note 1-8 0/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 91%, to: 100%}"},
		row{name: "what climbs in its first 4 bars and does so again builds nothing", sections: "build 8", music: `
			lead:60 x...x...x...x...  1-2,5-6
			lead:72 x...x...x...x...  3-4,7-8`,
			want:   "warn 1-8 0/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 70%, to: 100%}"},
		row{name: "a tone less is no other register", sections: "build 8", music: `
			lead:60 x...x...x...x...  1-4
			lead:65 x...x...x...x...  5-8`,
			want:   "warn 1-8 0/1 dB",
			answer: "shape: {part: all, over: bars 1-8, from: 91%, to: 100%}"},
		row{name: "one bar cannot rise", sections: "build 1, drop 8", music: `
			snare x...x...x...x...`},
	)
}

func TestPeak(t *testing.T) {
	checkRows(t, "peak", 64,
		row{name: "all play in the third quarter", music: `
			kick x...x...x...x...
			bass x---x---x---x---  33-48
			pad  x---------------  33-48`},
		row{name: "all play at the start", music: `
			kick x...x...x...x...
			bass x---x---x---x---  9-24
			pad  x---------------  9-24`,
			want:   "warn 17-24 37/50 percent",
			answer: "shape: {part: all, over: bars 1-24, from: 50%, to: 50%}"},
		row{name: "as full again later is late enough", music: `
			kick x...x...x...x...
			bass x---x---x---x---  9-24,41-48
			pad  x---------------  9-24,41-48`},
		row{name: "nothing is fuller than the rest", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  9-64`,
			want:   "warn 1-64 0/1 dB",
			answer: "shape: {part: all, over: bars 1-40, from: 93%, to: 93%}"},
	)
	checkRows(t, "peak", 56, row{name: "seven phrases are too few to tell", music: `
			kick x...x...x...x...`})
}
