package review_test

import (
	"slices"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// change edits the notes of a part on a copy.
func change(part int, f func(notes []song.Note) []song.Note) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		s.Parts = slices.Clone(s.Parts)
		s.Parts[part].Notes = f(slices.Clone(s.Parts[part].Notes))
		return s
	}
}

// events puts events into the first part's track.
func events(list ...smf.Event) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		for _, ev := range list {
			e.Insert(s.Parts[0].Track, ev)
		}
		return e.Song()
	}
}

// bar is the length in ticks of a bar of 4/4 in a grid.
const bar = 384

const padAndKick = `
	pad  x---............
	kick x...x...x...x...`

func TestHung(t *testing.T) {
	open := func(bars ...int) func(song.Song) song.Song {
		return change(0, func(notes []song.Note) []song.Note {
			for _, b := range bars {
				notes[b-1].Flags |= song.Open
			}
			return notes
		})
	}
	checkRows(t, "hung", 32,
		row{name: "every note ends", music: padAndKick},
		row{name: "one does not", music: padAndKick, setup: open(5),
			want:   "fault 5 pad 1/0 notes",
			answer: "gate: {part: pad, over: bar 5, length: 99%}"},
		row{name: "neighbours are told together, others apart", music: padAndKick, setup: open(5, 7, 31),
			want:   "fault 5-7 pad 2/0 notes\nfault 31 pad 1/0 notes",
			answer: "gate: {part: pad, over: bars 5-7, length: 99%}"},
	)
}

func TestOverlap(t *testing.T) {
	longer := func(part int, by song.Tick) func(song.Song) song.Song {
		return change(part, func(notes []song.Note) []song.Note {
			notes[4].End += by
			return notes
		})
	}
	checkRows(t, "overlap", 32,
		row{name: "a chord held into its repeat", music: padAndKick, setup: longer(0, 3*bar/4+1),
			want:   "warn 6 pad 1/0 notes",
			answer: ""}, // the note that is too long starts in the bar before
		row{name: "within a bar it can be made shorter", music: "stab x-x-............\nkick x...x...x...x...", setup: longer(0, 30),
			want:   "warn 3 stab 1/0 notes",
			answer: "gate: {part: stab, over: bar 3, length: 50%}"},
		row{name: "all parts and places are one finding", music: "stab x-x-............\nchords x-x-............\nkick x...x...x...x...", setup: func(s song.Song) song.Song { return longer(1, 30)(longer(0, 30)(s)) },
			want:   "warn 3 stab,chords 2/0 notes",
			answer: "gate: {part: stab, over: bar 3, length: 50%}; gate: {part: chords, over: bar 3, length: 50%}"},
		row{name: "of drums it is a note", music: padAndKick, setup: longer(1, bar/4),
			want:   "note 2 kick 1/0 notes",
			answer: "gate: {part: kick, over: bar 2, length: 50%}"},
		row{name: "ending where the next starts is none", music: padAndKick, setup: longer(0, 3*bar/4)},
	)
}

func TestTooShort(t *testing.T) {
	last := func(part int, ticks song.Tick) func(song.Song) song.Song {
		return change(part, func(notes []song.Note) []song.Note {
			notes[2].End = notes[2].Start + ticks
			return notes
		})
	}
	checkRows(t, "too-short", 32,
		row{name: "a tick is 5.2 ms at 120 bpm and 96 ticks", music: padAndKick, setup: last(0, 1)},
		row{name: "at twice the tempo it is too short", music: padAndKick, setup: func(s song.Song) song.Song { return last(0, 1)(at(s, 250_000)) },
			want:   "warn 3 pad 1/5 notes",
			answer: "gate: {part: pad, over: bar 3, length: 1/16}"},
		row{name: "of a drum it is none", music: padAndKick, setup: func(s song.Song) song.Song { return last(1, 1)(at(s, 250_000)) }},
		row{name: "no length at all is a fault, of a drum too", music: padAndKick, setup: last(1, 0),
			want:   "fault 1 kick 1/5 notes",
			answer: "gate: {part: kick, over: bar 1, length: 1/16}"},
		row{name: "the limit is an option", music: padAndKick, setup: last(0, 1), check: &review.TooShort{Millis: 6},
			want:   "warn 3 pad 1/6 notes",
			answer: "gate: {part: pad, over: bar 3, length: 1/16}"},
	)
}

func TestPastEnd(t *testing.T) {
	tail := func(ticks song.Tick) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			s = change(0, func(notes []song.Note) []song.Note {
				notes[len(notes)-1].End = 32*bar + ticks
				return notes
			})(s)
			s.End += ticks
			return s
		}
	}
	checkRows(t, "past-end", 32,
		row{name: "on the line", music: padAndKick, setup: tail(0)},
		row{name: "a beat past it", music: padAndKick, setup: tail(bar / 4),
			want:   "note 33 pad 1/0 beats",
			answer: "mute: {part: pad, over: bar 33, tails: cut}"},
		row{name: "a bar that was begun is a bar", music: padAndKick, setup: func(s song.Song) song.Song {
			return change(1, func(notes []song.Note) []song.Note {
				n := notes[len(notes)-1]
				n.Start, n.End = 32*bar, 32*bar+24
				return append(notes, n)
			})(tail(bar / 4)(s))
		}},
	)
}

func TestController(t *testing.T) {
	cc := func(bar, number, value byte) smf.Event {
		return smf.Channel(song.Tick(bar-1)*384, 0xB0, number, value)
	}
	checkRows(t, "controller", 32,
		row{name: "a pedal is held", music: padAndKick, setup: events(cc(9, 64, 127)),
			want:   "warn 9-32 pad,64 127/0 (value)",
			answer: "ride: {part: pad, over: last 1 beat, controller: 64, from: 0, to: 0, hold: true}"},
		row{name: "half up is up", music: padAndKick, setup: events(cc(9, 64, 127), cc(10, 64, 63))},
		row{name: "a bend is off", music: padAndKick, setup: events(smf.Channel(3000, 0xE0, 0, 0x50)),
			want:   "warn 8-32 pad,bend 10240/8192 (value)",
			answer: "ride: {part: pad, over: last 1 beat, controller: bend, from: 8192, to: 8192, hold: true}"},
		row{name: "a filter is not where it began", music: padAndKick, setup: events(cc(1, 74, 90), cc(30, 74, 20)),
			want:   "note 30-32 pad,cutoff 20/90 (value)",
			answer: "ride: {part: pad, over: last 1 beat, controller: cutoff, from: 90, to: 90, hold: true}"},
		row{name: "where it began is not known", music: padAndKick, setup: events(cc(30, 74, 20))},
		row{name: "volume and pan belong to the mix, a bank has no home", music: padAndKick, setup: events(cc(30, 7, 20), cc(30, 10, 20), cc(30, 0, 20), cc(30, 101, 3))},
		row{name: "home may be said", music: padAndKick, setup: func(s song.Song) song.Song {
			s = events(cc(30, 74, 20))(s)
			s.Parts = slices.Clone(s.Parts)
			s.Parts[0].Home = []song.Home{{Controller: 74, Value: 64}}
			return s
		},
			want:   "note 30-32 pad,cutoff 20/64 (value)",
			answer: "ride: {part: pad, over: last 1 beat, controller: cutoff, from: 64, to: 64, hold: true}"},
	)
}

func TestCable(t *testing.T) {
	stream := func(n int, from, every song.Tick) func(song.Song) song.Song {
		var list []smf.Event
		for i := range n {
			list = append(list, smf.Channel(from+song.Tick(i)*every, 0xB0, 74, byte(i%128)))
		}
		return events(list...)
	}
	checkRows(t, "cable", 32,
		row{name: "a message a tick fits: 5.2 ms for 0.64", music: padAndKick, setup: stream(1000, bar, 1)},
		row{name: "after the last note nothing is late", music: padAndKick, setup: stream(200, 32*bar-8, 0)},
		row{name: "two hundred at once are 128 ms", music: padAndKick, setup: stream(200, bar, 0),
			want: "warn 2 128/100 ms"},
		row{name: "a hundred and fifty are 96", music: padAndKick, setup: stream(150, bar, 0)},
		row{name: "set-up at the start is not counted", music: padAndKick, setup: stream(1000, 0, 0)},
	)
}

func TestEmptyTrack(t *testing.T) {
	more := func(names ...string) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			for _, n := range names {
				s.Tracks = append(slices.Clone(s.Tracks), &song.Track{Name: n})
			}
			return s
		}
	}
	checkRows(t, "empty-track", 32,
		row{name: "all play", music: padAndKick},
		row{name: "one does not", music: padAndKick, setup: more("vox", ""),
			want: "note 1-32 Track 3 \"vox\" 0/1 notes\nnote 1-32 Track 4 0/1 notes"},
		row{name: "the first may hold the tempo alone", music: padAndKick, setup: change(0, func([]song.Note) []song.Note { return nil })},
	)
}

func TestMarker(t *testing.T) {
	mark := func(at song.Tick) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			e := s.Edit()
			e.InsertMeta(0, at, 0x06, []byte(" drop\x00"))
			return e.Song()
		}
	}
	checkRows(t, "marker", 32,
		row{name: "on a bar line", music: padAndKick, setup: mark(8 * bar)},
		row{name: "a beat and a half late", music: padAndKick, setup: mark(8*bar + 144), want: "warn 9 drop 1.5/0 beats"},
	)
}

func TestPortsHaveCablesOfTheirOwn(t *testing.T) {
	s := arrangement(t, 32, padAndKick)
	e := s.Edit()
	e.InsertMeta(1, 0, 0x21, []byte{1})
	for i := range 240 {
		e.Insert(i%2, smf.Channel(bar, 0xB0, 74, byte(i%128)))
	}
	for late, want := range map[int]int{100: 0, 70: 2} { // 120 messages of 2 bytes are 76.8 ms
		got, err := review.Review(review.Input{Song: e.Song()}, review.Options{Checks: []review.Check{&review.Cable{Late: late}}})
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Findings) != want {
			t.Errorf("%d ms: got %s, want %d", late, allOf(got), want)
		}
	}
}

// A note that is too short in the loop itself is noted, and not a move's fault; one that is struck a little before a bar line
// is the loop's all the same.
func TestTooShortOfTheLoopIsNoted(t *testing.T) {
	whole := arrangement(t, 32, padAndKick)
	short := change(0, func(notes []song.Note) []song.Note {
		notes[2].Start--
		notes[2].End = notes[2].Start
		return notes
	})(whole)
	for _, tt := range []struct {
		full song.Song
		want review.Level
	}{{short, review.Note}, {whole, review.Fault}} {
		got, err := review.Review(review.Input{Song: short, Full: tt.full, Lined: tt.full, LoopBars: 8}, review.Options{Checks: []review.Check{&review.TooShort{Millis: 5}}, Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Findings) != 1 || got.Findings[0].Level != tt.want {
			t.Errorf("got %v, want one finding of level %v", got.Findings, tt.want)
		}
	}
}
