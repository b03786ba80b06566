package review_test

import (
	"testing"

	"loopdraft/moves/review"
)

func TestEverything(t *testing.T) {
	const all = `
		kick x...x...x...x...
		hat  ..x...x...x...x.
		bass ..x-..x-..x-..x-
		pad  x---------------`
	checkRows(t, "everything", 64,
		row{name: "all four play from beginning to end", music: all,
			want:   "warn 1-64 100/90 percent",
			answer: "mute: {part: [bass, pad], over: [bars 1-8, bars 57-64]}; mute: {part: [kick, hat], over: bars 33-40}"},
		row{name: "one of them comes late", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.
			bass ..x-..x-..x-..x-
			pad  x---------------  33-64`},
		row{name: "three parts are too few", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.
			bass ..x-..x-..x-..x-`},
	)
	checkRows(t, "everything", 24, row{name: "a sketch of three phrases is not looked at", music: all})
}

func TestHeardOnce(t *testing.T) {
	checkRows(t, "heard-once", 64,
		row{name: "a lead in one phrase only", music: `
			kick x...x...x...x...
			lead x..x..x.........  41-48`,
			want:   "note 41-48 lead 8/8 bars",
			answer: "copy: {part: lead, over: bars 41-48, to: bar 25}"},
		row{name: "near the end it comes before", music: `
			kick x...x...x...x...
			lead x..x..x.........  59-62`,
			want:   "note 59-62 lead 4/8 bars",
			answer: "copy: {part: lead, over: bars 57-64, to: bar 41}"},
		row{name: "it comes back", music: `
			kick x...x...x...x...
			lead x..x..x.........  9,41-48`},
		row{name: "a crash, an effect and a voice may come once", music: `
			kick  x...x...x...x...
			crash x...............  33
			fx    x---------------  25-32
			vocal x---------------  41`},
	)
}

func TestNeverLeaves(t *testing.T) {
	checkRows(t, "never-leaves", 64,
		row{name: "the kick plays through", music: `
			kick x...x...x...x...
			pad  x---------------  33-64`,
			want:   "note 1-64 kick 0/4 bars",
			answer: "mute: {part: kick, over: bars 33-40}"},
		row{name: "with gaps of three bars too", music: `
			kick x...x...x...x...  1-29,33-64
			pad  x---------------  33-64`,
			want:   "note 1-64 kick 3/4 bars",
			answer: "mute: {part: kick, over: bars 33-40}"},
		row{name: "four bars are a rest", music: `
			kick x...x...x...x...  1-28,33-64`},
		row{name: "so is coming late", music: `
			kick x...x...x...x...  5-64`},
	)
	checkRows(t, "never-leaves", 63, row{name: "a short song may keep its kick", music: `
			kick x...x...x...x...`})
	checkRows(t, "never-leaves", 0, row{name: "it leaves in the break", sections: "groove 32, break 8, groove 24", music: `
			kick x...x...x...x...
			pad  x---------------  33-64`,
		want:   "note 1-64 kick 0/4 bars",
		answer: "mute: {part: kick, over: bars 33-36}; mute: {part: beat, over: 1/2 before bar 41}"})
}

func TestIdentical(t *testing.T) {
	checkRows(t, "identical", 80,
		row{name: "ten phrases of one bar", music: `
			kick x...x...x...x...`,
			want:   "note 1-80 kick 10/8 phrases",
			answer: "mute: {part: kick, over: last 1 beat of every 16 bars of bars 1-80}"},
		row{name: "a gap every other phrase is enough", music: `
			kick x...x...x...x...  1-15,17-31,33-47,49-63,65-80`},
		row{name: "eight phrases are not too many", music: `
			kick x...x...x...x...  1-64`},
		row{name: "other velocities are another part", music: `
			kick    x...x...x...x...  1-40
			kick:35 X...X...X...X...  41-80`},
		row{name: "how many is an option", check: &review.Identical{Phrase: 8, Phrases: 2}, music: `
			kick x...x...x...x...  17-40`,
			want:   "note 17-40 kick 3/2 phrases",
			answer: "mute: {part: kick, over: last 1 beat of every 16 bars of bars 17-40}"},
	)
}
