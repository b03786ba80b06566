package review_test

import (
	"testing"

	"loopdraft/moves/review"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

func TestMixIn(t *testing.T) {
	checkRows(t, "mix-in", 96,
		row{name: "sixteen bars of beats alone", setup: slow, music: `
			kick x...x...x...x...
			pad  x---------------  17-96`},
		row{name: "twelve are a note", setup: slow, music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  9-96
			pad  x---------------  13-96`,
			want:   "note 1-16 12/16 bars",
			answer: "mute: {part: pad, over: bars 1-16}"},
		row{name: "four are a warning", setup: slow, music: `
			kick x...x...x...x...
			pad  x---------------  5-96
			bass ..x-..x-..x-..x-  9-96`,
			want:   "warn 1-16 4/16 bars",
			answer: "mute: {part: [pad, bass], over: bars 1-16}"},
		row{name: "a kick now and then is no beat to mix by: a note", setup: slow, music: `
			kick x...............
			pad  x---------------  5-96`,
			want:   "note 1-16 4/16 bars",
			answer: "mute: {part: pad, over: bars 1-16}"},
		row{name: "an effect is not pitched", setup: slow, music: `
			kick x...x...x...x...
			fx   x---------------  5-96`},
		row{name: "there is no kick in them", setup: slow, music: `
			kick x...x...x...x...  12-88
			hat  ..x...x...x...x.
			clap ....x.......x...  9-88
			pad  x---------------  17-72`,
			want:   "warn 1-16 kick 5/8 bars",
			answer: "copy: {part: kick, over: bars 12-19, to: bar 1, length: 16 bars}"},
		row{name: "a song without any beat is not for mixing", setup: slow, music: `
			hat  ..x...x...x...x.
			pad  x---------------`,
			want:   "note 1-16 0/16 bars",
			answer: "mute: {part: pad, over: bars 1-16}"},
		row{name: "nor is a song under four minutes", music: `
			kick x...x...x...x...
			pad  x---------------`,
			want:   "note 1-16 0/16 bars",
			answer: "mute: {part: pad, over: bars 1-16}"},
		row{name: "what is asked for is an option", setup: slow, check: &review.MixIn{End: review.End{Bars: 0, Radio: where.Extent{Bars: 8}}}, music: `
			kick x...x...x...x...
			pad  x---------------`},
	)
}

func TestMixOut(t *testing.T) {
	checkRows(t, "mix-out", 96,
		row{name: "sixteen bars of beats alone", setup: slow, music: `
			kick x...x...x...x...
			pad  x---------------  1-80`},
		row{name: "the pad stays too long", setup: slow, music: `
			kick x...x...x...x...
			pad  x---------------  1-91`,
			want:   "warn 81-96 5/16 bars",
			answer: "mute: {part: pad, over: bars 81-96}"},
		row{name: "the kick leaves too early", setup: slow, music: `
			kick x...x...x...x...  1-40,49-80
			hat  ..x...x...x...x.
			clap ....x.......x...  9-88
			pad  x---------------  17-80`,
			want:   "warn 81-96 kick 0/8 bars",
			answer: "copy: {part: kick, over: bars 1-8, to: bar 81, length: 16 bars}"},
	)
}

func TestLowEnd(t *testing.T) {
	checkRows(t, "low-end", 32,
		row{name: "three that meet are one finding", music: `
			bass:36 x---x---x---x---
			pad:43  x---------------  9-24
			stab:45 x-------x-------  11-24`,
			want:   "warn 9-24 bass,pad,stab 16/8 bars",
			answer: "transpose: {part: pad, over: bars 9-24, octaves: 1}; transpose: {part: stab, over: bars 9-24, octaves: 1}"},
		row{name: "bass and pad meet for sixteen bars", music: `
			bass:36 x---x---x---x---
			pad:43  x---------------  9-24`,
			want:   "warn 9-24 bass,pad 16/8 bars",
			answer: "transpose: {part: pad, over: bars 9-24, octaves: 1}"},
		row{name: "for eight they may", music: `
			bass:36 x---x---x---x---
			pad:43  x---------------  9-16`},
		row{name: "where an octave up is not enough there is no answer", music: `
			bass:28  x---x---x---x---
			stab:31  x---x---x---x---
			chords:40 x---x---x---x---`,
			want:   "warn 1-32 bass,stab,chords 32/8 bars",
			answer: ""},
		row{name: "two basses are layered on purpose", music: `
			bass:36    x---x---x---x---
			bass-2:43  x---x---x---x---`,
			want: "note 1-32 bass,bass-2 32/8 bars"},
		row{name: "a fifth is clear where a third blurs", music: `
			bass:38 x---x---x---x---
			pad:45  x---------------  1-16
			pad:42  x---------------  17-32`,
			want:   "warn 17-32 bass,pad 16/8 bars",
			answer: "transpose: {part: pad, over: bars 17-32, octaves: 1}"},
		row{name: "what passes in a sixteenth is not heard", music: `
			bass:38 x-x-x-x-x-x-x-x-
			pad:42  .x.x.x.x.x.x.x.x`},
		row{name: "an octave above is doubling", music: `
			bass:36 x---x---x---x---
			sub:24  x---x---x---x---`},
		row{name: "one after the other is no crowd", music: `
			bass:36 x-......x-......
			pad:43  ....x-......x-..`},
		row{name: "the pad lies higher", music: `
			bass:36 x---x---x---x---
			pad:48  x---------------`},
		row{name: "kick and bass are not meant", music: `
			bass:36 x---x---x---x---
			kick:41 x...x...x...x...`},
	)
}

func TestLowEndNowAndThen(t *testing.T) {
	checkRows(t, "low-end", 64, row{name: "in a quarter of the bars in which both play they may meet", music: `
		bass:36 x---x---x---x---
		pad:67  x---------------  1-8,18-64
		pad:41  x---------------  9-17`})
}

// Two low parts that the loop has at once are meant; where a move has brought one of them down they are not.
func TestLowEndOfTheLoopIsNoted(t *testing.T) {
	low := arrangement(t, 32, "bass:36 x---x---x---x---\npad:43  x---------------")
	apart := arrangement(t, 32, "bass:36 x---x---x---x---\npad:67  x---------------")
	check := []review.Check{&review.LowEnd{Key: 48, Bars: 8}}
	for _, tt := range []struct {
		full song.Song
		want review.Level
	}{{low, review.Note}, {apart, review.Warn}} {
		got, err := review.Review(review.Input{Song: low, Full: tt.full, Lined: tt.full, LoopBars: 8}, review.Options{Checks: check, Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Findings) != 1 || got.Findings[0].Level != tt.want {
			t.Errorf("got %v, want one finding of level %v", got.Findings, tt.want)
		}
	}
}

func TestLength(t *testing.T) {
	checkRows(t, "length", 48, row{name: "a minute and a half is a sketch", music: "kick x...x...x...x...", want: "note 1-48 96/120 seconds"})
	checkRows(t, "length", 60, row{name: "two minutes are a track", music: "kick x...x...x...x..."})
	checkRows(t, "length", 240,
		row{name: "sixteen are too long", setup: slow, music: "kick x...x...x...x...", want: "note 1-240 960/842 seconds"},
		row{name: "bars are asked for", check: &review.LengthAsked{Least: where.Extent{Bars: 241}, Most: where.Extent{Bars: 239}}, music: "kick x...x...x...x...",
			want: "warn 1-240 240/241 bars\nwarn 1-240 240/239 bars"},
		row{name: "what is asked for is a warning", check: &review.LengthAsked{Most: where.Extent{Micros: 60_000_000}}, music: "kick x...x...x...x...",
			want: "warn 1-240 480/60 seconds"},
		row{name: "nothing is asked for", check: &review.LengthAsked{}, setup: slow, music: "kick x...x...x...x..."},
	)
}

func TestSectionLength(t *testing.T) {
	checkRows(t, "section-length", 0,
		row{name: "fours", sections: "intro 4, groove 8, outro 12", music: "kick x...x...x...x..."},
		row{name: "an even number is a note, an odd one a warning", sections: "intro 6, groove 7, outro 3", music: "kick x...x...x...x...",
			want: "warn 7-13 7/8 bars\nnote 1-6 6/8 bars\nnote 14-16 3/4 bars"},
		row{name: "no line comes after the last", sections: "groove 8, outro 7", music: "kick x...x...x...x...", want: "note 9-15 7/8 bars"},
		row{name: "a last bar that holds the last stroke is none", sections: "groove 8, outro 9", music: "kick x...x...x...x... 1-16\nride x............... 17"},
		row{name: "the group is an option", sections: "intro 6, groove 9", check: &review.SectionLength{Bars: 3}, music: "kick x...x...x...x..."},
	)
}

func TestSectionsOfNoBarsAreLeftAlone(t *testing.T) {
	s := arrangement(t, 8, "kick x...x...x...x...").WithSections([]song.Section{{Name: "drop", Kind: song.KindDrop, Bar: 1}, {Name: "build", Kind: song.KindBuild, Bar: 1}, {Name: "break", Kind: song.KindBreak, Bar: 1, Bars: 8}, {Name: "drop", Kind: song.KindDrop, Bar: 9}})
	if _, err := review.Review(review.Input{Song: s}, review.Options{}); err != nil {
		t.Fatal(err)
	}
}
