package moves_test

import (
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func copyTo(part, over string, to ...string) *moves.Copy {
	return &moves.Copy{Target: target(part, over), To: where.PlacesOf(to...)}
}

// barsOf allows changes of a part's notes and events in bars of 4/4, both included, and on the line
// after them.
func barsOf(part string, first, last song.Tick) func(song.Part, song.Tick) bool {
	return func(p song.Part, at song.Tick) bool {
		return p.Name == part && at >= (first-1)*384-6 && at <= last*384
	}
}

func TestCopy(t *testing.T) {
	long := func(c *moves.Copy, length string) *moves.Copy { c.Length = where.LengthOf(length); return c }
	movetest.Run(t,
		movetest.Row{Name: "bars replace what is there", Step: copyTo("kick", "bar 1", "bar 3"),
			Before: `
				kick x..x..x.|x...x...|x.x.x.x.
				hat  ..x...x.|..x...x.|........`,
			After: `
				kick x..x..x.|x...x...|x..x..x.
				hat  ..x...x.|..x...x.|........`,
			May: barsOf("kick", 2, 2)},
		movetest.Row{Name: "to several places, each with its whole length", Step: copyTo("kick", "bars 1-2", "bar 3", "bar 5"),
			Before: "kick x..x|x..x|xxxx|xxxx|....|....|xxxx",
			After:  "kick x..x|x..x|x..x|x..x|x..x|x..x|xxxx",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "to the start of each section of a name", Step: copyTo("kick", "bar 1", "every drop"), Sections: "intro 1, drop 2, drop 1",
			Before: "kick x..x|xxxx|xxxx|xxxx",
			After:  "kick x..x|x..x|xxxx|x..x",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "with a length, it repeats until that is full and is cut there", Step: long(copyTo("kick", "bar 1", "bar 2"), "5/8"),
			Before: "kick x.oo|xxxx|xxxx|xxxx|xxxx",
			After:  "kick x.oo|x.oo|x.oo|x.xx|xxxx",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "a shorter length cuts it", Step: long(copyTo("kick", "bars 1-2", "bar 3"), "1 bar"),
			Before: "kick x.oo|oo.x|xxxx|xxxx",
			After:  "kick x.oo|oo.x|x.oo|xxxx",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "at a place within a copy, that copy ends", Step: copyTo("kick", "bars 1-2", "bar 3", "bar 4"),
			Before: "kick x.oo|oo.x|xxxx|xxxx|xxxx",
			After:  "kick x.oo|oo.x|x.oo|x.oo|oo.x",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "at the end of the song it is cut", Step: copyTo("kick", "bars 1-2", "bar 3"),
			Before: "kick x.oo|oo.x|xxxx",
			After:  "kick x.oo|oo.x|x.oo",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "all copies are of the song before the step", Step: copyTo("kick", "bars 1-2", "bar 2", "bar 4"),
			Before: "kick x.oo|oo.x|xxxx|xxxx|xxxx",
			After:  "kick x.oo|x.oo|oo.x|x.oo|oo.x",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "to a place before it", Step: copyTo("kick", "bar 3", "bar 1"),
			Before: "kick x..x|....|xoxo",
			After:  "kick xoxo|....|xoxo",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "silence is copied too, with a warning", Step: copyTo("kick", "bar 1", "bar 2"),
			Before: "kick ....|x..x\nhat x...|x...",
			After:  "kick ....|....\nhat x...|x...",
			May:    movetest.Parts("kick"), Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "a part that ends inside the span leaves the rest of the place silent", Step: copyTo("lead", "bars 1-2", "bar 3"),
			Before: "lead x-x-|....|xxxx|xxxx",
			After:  "lead x-x-|....|x-x-|....",
			May:    movetest.Parts("lead")},
		movetest.Row{Name: "a pitched note ends with its copy", Step: copyTo("bass", "bar 1", "bar 3"),
			Before: "bass x..x|--..|....|....",
			After:  "bass x..x|--..|x..x|....",
			May:    movetest.Parts("bass")},
		movetest.Row{Name: "a drum rings on", Step: copyTo("ride", "bar 1", "bar 3"),
			Before: "ride x..x|--..|....|....",
			After:  "ride x..x|--..|x..x|--..",
			May:    movetest.Parts("ride")},
		movetest.Row{Name: "a pitched note that rings into the place ends there", Step: copyTo("bass", "bar 1", "bar 3"),
			Before: "bass ..x.|...x|--..",
			After:  "bass ..x.|...x|..x.",
			May:    movetest.Parts("bass")},
		movetest.Row{Name: "a pad held into the span is struck at the start of the copy", Step: copyTo("pad", "bar 2", "bar 4"),
			Before: "pad x---|--x.|....|....",
			After:  "pad x---|--x.|....|x-x.",
			May:    movetest.Parts("pad")},
		movetest.Row{Name: "a bass held into it is not", Step: copyTo("bass", "bar 2", "bar 4"),
			Before: "bass x---|--x.|....|....",
			After:  "bass x---|--x.|....|..x.",
			May:    movetest.Parts("bass")},
		movetest.Row{Name: "a pad held over the end of the copy is struck again there", Step: copyTo("pad", "bar 1", "bar 2"),
			Before: "pad:60 x...|....|....\npad:67 ....|x---|----",
			After:  "pad:67 ....|....|x---\npad:60 x...|x...|....",
			May:    movetest.Parts("pad")},
		movetest.Row{Name: "times are counted in notes: 3/4 has its own bars", Step: copyTo("kick", "bar 1", "bar 2"),
			Before: "kick x...x.x.x...|x...........",
			After:  "kick x...x.x.x...|x...x.x.x...",
			May:    movetest.Parts("kick")},
		movetest.Row{Name: "the end of the song is no place", Step: copyTo("kick", "bar 1", "end"),
			Before: "kick x..x|x...", After: "kick x..x|x...",
			Told: []string{"nothing is put at the end"}, Warned: []string{"nothing is copied"}},
		movetest.Row{Name: "parts that are not there, if any, are no mistake", Step: copyTo("bass if any", "bar 1", "bar 2"),
			Before: "kick x..x|x...", After: "kick x..x|x..."},
		movetest.Row{Name: "the span has to be given", Step: copyTo("kick", "", "bar 2"),
			Before: "kick x..x|x...", Err: "over: found nothing, want the span that is copied"},
		movetest.Row{Name: "one span, not several", Step: copyTo("kick", "every 1 bar", "bar 2"), Sections: "intro 2",
			Before: "kick x..x|x...", Err: "over: found 2 spans, want one span"},
		movetest.Row{Name: "a length of no tick is a mistake", Step: long(copyTo("kick", "bar 1", "bar 2"), "1/999999"),
			Before: "kick x..x|x...", Err: "length: found 1/999999, want at least a tick"},
	)
}

func TestCopyOfControllers(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "they come with the value in force where the span begins, and go back after", Step: copyTo("bass", "bar 2", "bar 3"),
			Before: "bass x...............|x...............|x...............|x...............",
			Setup:  set("cutoff", song.Point{Tick: 0, Value: 30}, song.Point{Tick: 480, Value: 90}, song.Point{Tick: 800, Value: 10}),
			May:    barsOf("bass", 3, 3),
			Look:   has("cutoff", "1.1=30 2.2=90 3.1=30 3.2=90 4.1=10")},
		movetest.Row{Name: "each repetition begins with it again", Step: &moves.Copy{Target: target("bass", "bar 1"), To: where.PlacesOf("bar 2"), Length: where.LengthOf("2 bars")},
			Before: "bass x...............|x...............|x...............",
			Setup:  set("bend", song.Point{Tick: 96, Value: 9000}, song.Point{Tick: 192, Value: 8192}),
			May:    barsOf("bass", 2, 3),
			Look:   has("bend", "1.2=9000 1.3=8192 2.1=8192 2.2=9000 2.3=8192 3.1=8192 3.2=9000 3.3=8192")},
		movetest.Row{Name: "no value known where the span begins: what is in force stays until one is set", Step: copyTo("bass", "bar 1", "bar 2"),
			Before: "bass x...............|x...............|x...............",
			Setup:  set("cutoff", song.Point{Tick: 96, Value: 50}, song.Point{Tick: 400, Value: 70}),
			May:    barsOf("bass", 2, 2),
			Look:   has("cutoff", "1.2=50 2.2=50 3.1=70")},
		movetest.Row{Name: "where another part shares the channel they stay", Step: copyTo("kick", "bar 2", "bar 1"),
			Before: `
				kick x...............|..x.............
				hat  x...............|x...............`,
			After: `
				kick ..x.............|..x.............
				hat  x...............|x...............`,
			Setup: func(s song.Song) song.Song {
				s = sharedChannel(set("pan", song.Point{Tick: 0, Value: 30}, song.Point{Tick: 480, Value: 90})(s))
				return s
			},
			May:  barsOf("kick", 1, 1),
			Look: has("pan", "1.1=30 2.2=90")},
		movetest.Row{Name: "unless it is copied with it", Step: copyTo("all", "bar 2", "bar 1"),
			Before: `
				kick x...............|..x.............
				hat  x...............|x...............`,
			After: `
				kick ..x.............|..x.............
				hat  x...............|x...............`,
			Setup: func(s song.Song) song.Song {
				return sharedChannel(set("pan", song.Point{Tick: 0, Value: 30}, song.Point{Tick: 480, Value: 90})(s))
			},
			May:  movetest.Parts("kick", "hat"),
			Look: has("pan", "1.1=30 1.2=90 2.1=30 2.2=90")},
		movetest.Row{Name: "bank and program stay", Step: copyTo("bass", "bar 1", "bar 2"),
			Before: "bass x...............|x...............",
			Setup: func(s song.Song) song.Song {
				e := s.Edit()
				e.Insert(0, smf.Channel(100, 0xB0, 0, 5))
				e.Insert(0, smf.Channel(100, 0xC0, 7, 0))
				e.Insert(0, smf.Channel(100, 0xB0, 101, 0))
				return e.Song()
			},
			Look: func(t movetest.Reporter, before, after song.Song, _ moves.Outcome) {
				if len(after.Tracks[0].Events) != len(before.Tracks[0].Events) {
					t.Errorf("got %d events, want the %d there were", len(after.Tracks[0].Events), len(before.Tracks[0].Events))
				}
			},
			May: barsOf("bass", 2, 2)},
		movetest.Row{Name: "polyphonic pressure goes with its notes", Step: copyTo("pad", "bar 1", "bar 2"),
			Before: "pad x---------------|x---------------",
			Setup: func(s song.Song) song.Song {
				e := s.Edit()
				e.Insert(0, smf.Channel(96, 0xA0, 60, 40))
				e.Insert(0, smf.Channel(600, 0xA0, 60, 80))
				return e.Song()
			},
			May:  barsOf("pad", 2, 2),
			Look: keyPressure("96:40 480:40")},
	)
}

func BenchmarkCopy(b *testing.B) {
	benchmarkMove(b, copyTo("hat", "bars 1-100", "bar 1000", "bar 4000"))
}
