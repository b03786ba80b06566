package lay_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func laid(t testing.TB, l lay.Layout) song.Song {
	t.Helper()
	s, _, err := lay.Lay(l)
	if err != nil {
		t.Fatal(err)
	}
	before, after := violations(l.Loop), violations(s)
	for rule, n := range after {
		if before[rule] == 0 && n > 0 {
			t.Errorf("laying the loop out made a violation: %s", rule)
		}
	}
	return s
}

func runOn(bars int) []lay.Block { return []lay.Block{{Bars: bars, RunOn: true}} }

func TestWithoutSectionsTheLoopRunsOn(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...|x...x...x..x..x.")
	got := song.Grid(laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: runOn(5)}))
	want := "kick x...x...x...x...|x...x...x..x..x.|x...x...x...x...|x...x...x..x..x.|x...x...x...x...\n"
	if got != want {
		t.Errorf("got  %swant %s", got, want)
	}
}

func TestASectionIsCountedBackFromItsEnd(t *testing.T) {
	in := mustGrid(t, "kick x...............|xx..............|xxx.............|xxxx............")
	for _, tt := range []struct {
		rule   string
		blocks []lay.Block
		want   string // hits a bar
	}{
		{"a whole pass", []lay.Block{{Bars: 4}}, "1234"},
		{"six bars begin with the loop's third", []lay.Block{{Bars: 6}}, "341234"},
		{"each section starts anew", []lay.Block{{Bars: 4}, {Bars: 2}, {Bars: 5}}, "12343441234"},
		{"shorter than the loop", []lay.Block{{Bars: 1}, {Bars: 1}}, "44"},
		{"run-on goes on from where the loop was", []lay.Block{{Bars: 3, RunOn: true}, {Bars: 3, RunOn: true}}, "123412"},
		{"run-on after a section starts at the loop's first bar", []lay.Block{{Bars: 2}, {Bars: 2, RunOn: true}}, "3412"},
		{"a section after a run-on is counted back", []lay.Block{{Bars: 3, RunOn: true}, {Bars: 2}}, "12334"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := laid(t, lay.Layout{Loop: in, Bars: 4, Blocks: tt.blocks})
			got := ""
			for b := 1; b <= s.Bars(); b++ {
				got += fmt.Sprint(len(s.In(s.Parts[0], s.BarRange(b, b))))
			}
			if got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
			bars := "" // of the loop, which has as many hits in a bar as that has bars before it
			for _, bar := range lay.LoopBars(tt.blocks, 4) {
				bars += fmt.Sprint(bar)
			}
			if bars != tt.want {
				t.Errorf("bars of the loop: got %s, want %s", bars, tt.want)
			}
		})
	}
}

func TestATrackRepeatsOnItsOwnCycle(t *testing.T) {
	in := mustGrid(t, "kick x...............|xx..............|xxx.............|xxxx............\nbass x...............|xx..............|xxx.............|................")
	cycles := []smf.Tick{0, 3 * bar}
	for _, tt := range []struct {
		rule   string
		blocks []lay.Block
		want   string
	}{
		{"three bars against four", runOn(8), "12312312"},
		{"counted back from the section's end like the loop", []lay.Block{{Bars: 4}, {Bars: 8}}, "312323123123"[:4] + "23123123"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := laid(t, lay.Layout{Loop: in, Bars: 4, Cycles: cycles, Blocks: tt.blocks})
			got := ""
			for b := 1; b <= s.Bars(); b++ {
				got += fmt.Sprint(len(s.In(s.Parts[1], s.BarRange(b, b))))
			}
			if got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
		})
	}
}

// What repeats: two bars of a loop, two passes, then what is there.
func TestWhatRepeats(t *testing.T) {
	notes := func(events ...smf.Event) []smf.Event {
		// a note from the start to the end of the loop, events among it in order of tick
		out := []smf.Event{}
		placed := false
		for _, ev := range events {
			if ev.Tick > 0 && !placed {
				out, placed = append(out, on(0, 60, 100)), true
			}
			out = append(out, ev)
		}
		if !placed {
			out = append(out, on(0, 60, 100))
		}
		return append(out, off(2*bar, 60))
	}
	for _, tt := range []struct {
		rule   string
		events []smf.Event
		want   string
	}{
		{"set-up is written once", notes(prog(0, 5), cc(0, 7, 90), cc(0, 74, 30)),
			"0:cc7=90 0:cc74=30 0:prog=5"},
		{"a controller repeats and its start value is sent again", notes(cc(0, 74, 30), cc(4*q, 74, 90)),
			"0:cc74=30 4:cc74=90 8:cc74=30 12:cc74=90"},
		{"a controller that ends where it started is not sent again", notes(cc(0, 74, 30), cc(2*q, 74, 90), cc(4*q, 74, 30)),
			"0:cc74=30 2:cc74=90 4:cc74=30 10:cc74=90 12:cc74=30"},
		{"without a start value the default is sent", notes(cc(4*q, 11, 60)),
			"4:cc11=60 8:cc11=127 12:cc11=60"},
		{"without a start value and a default nothing is sent", notes(cc(4*q, 74, 60)),
			"4:cc74=60 12:cc74=60"},
		{"bends and pressure repeat, set back to their defaults", notes(bend(4*q, 80), smf.Channel(5*q, 0xD0, 33, 0)),
			"4:bend=80 5:pressure=33 8:pressure=0 8:bend=64 12:bend=80 13:pressure=33"},
		{"a program repeats with its bank, as one unit", notes(cc(0, 0, 1), cc(0, 32, 2), prog(0, 5), prog(4*q, 6)),
			"0:cc0=1 0:cc32=2 0:prog=5 4:prog=6 8:cc0=1 8:cc32=2 8:prog=5 12:prog=6"},
		{"a parameter is sent again as a whole, then null", notes(cc(0, 101, 0), cc(0, 100, 0), cc(0, 6, 2), cc(4*q, 101, 0), cc(4*q, 100, 0), cc(4*q, 6, 12)),
			"0:cc101=0 0:cc100=0 0:cc6=2 4:cc101=0 4:cc100=0 4:cc6=12 8:cc101=0 8:cc100=0 8:cc6=2 8:cc101=127 8:cc100=127 12:cc101=0 12:cc100=0 12:cc6=12"},
		{"after an increment nothing is sent", notes(cc(0, 101, 0), cc(0, 100, 0), cc(0, 6, 2), cc(4*q, 96, 0)),
			"0:cc101=0 0:cc100=0 0:cc6=2 4:cc96=0 12:cc96=0"},
		{"mode messages repeat where they stand", notes(cc(4*q, 123, 0)),
			"4:cc123=0 12:cc123=0"},
		{"a reset sets back what it resets", notes(cc(0, 11, 90), cc(4*q, 121, 0)),
			"0:cc11=90 4:cc121=0 8:cc11=90 12:cc121=0"},
		{"polyphonic pressure goes with its notes", notes(smf.Channel(q, 0xA0, 60, 9)),
			"1:poly=9 9:poly=9"},
		{"a pedal is let go at the end", notes(cc(4*q, 64, 127)),
			"4:cc64=127 8:cc64=0 12:cc64=127 16:cc64=0"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			in := loop(t, 2*bar, tt.events)
			got := show(laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: runOn(4), Markers: true}), 0)
			if !sameWords(got, tt.want) {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

func TestSetUpBeforeTheFirstNoteOfTheFirstBeat(t *testing.T) {
	in := loop(t, bar, []smf.Event{cc(10, 74, 30), on(20, 60, 100), off(2*q, 60), cc(3*q, 74, 40)})
	got := show(laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: runOn(2)}), 0)
	if want := "0+10:cc74=30 3:cc74=40 4:cc74=30 7:cc74=40"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestWhatStandsInTheFirstPassOnly(t *testing.T) {
	put := func(tr *smf.Track) {
		tr.AppendMeta(0, 0x03, []byte("bass"))
		tr.AppendSysex(0, 0xF0, []byte{0x7E, 0x7F, 9, 1, 0xF7})
		tr.Append(on(0, 60, 100))
		tr.AppendMeta(q, 0x01, []byte("hello"))
		tr.AppendMeta(q, 0x20, []byte{3})
		tr.AppendMeta(q, 0x06, []byte("here"))
		tr.AppendSysex(2*q, 0xF0, []byte{0x43, 0xF7})
		tr.AppendMeta(3*q, 0x7F, []byte{1})
		tr.Append(off(bar, 60))
	}
	in := fromFile(t, metaFile(bar, put))
	for _, tt := range []struct {
		rule    string
		blocks  []lay.Block
		markers bool
		want    string
	}{
		{"texts, sysex and makers' data once", runOn(3), true,
			"0:meta03=bass 0:sysex=7e7f0901f7 1:meta01=hello 1:meta20=\x03 1:meta06=here 2:sysex=43f7 3:meta7f=\x01"},
		{"the loop's markers are left out, with their channel prefix", runOn(3), false,
			"0:meta03=bass 0:sysex=7e7f0901f7 1:meta01=hello 2:sysex=43f7 3:meta7f=\x01"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			got := show(laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: tt.blocks, Markers: tt.markers}), 0)
			if got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

func TestMarkersAreLeftOutTold(t *testing.T) {
	in := fromFile(t, metaFile(bar, func(tr *smf.Track) {
		tr.AppendMeta(0, 0x06, []byte("a"))
		tr.AppendMeta(q, 0x06, []byte("b"))
	}))
	out, told, err := lay.Lay(lay.Layout{Loop: in, Bars: 1, Blocks: runOn(3)})
	if err != nil || len(told) != 1 || show(out, 0) != "" {
		t.Errorf("got %v and %v, want it told once; markers %q, want none", told, err, show(out, 0))
	}
	if kept := laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: runOn(3), Markers: true}); show(kept, 0) != "0:meta06=a 1:meta06=b" {
		t.Errorf("kept: got %q", show(kept, 0))
	}
}

func TestTempoMetreAndKeyFollowTheLoop(t *testing.T) {
	tempo := func(us int) []byte { return []byte{byte(us >> 16), byte(us >> 8), byte(us)} }
	put := func(first bool) func(tr *smf.Track) {
		return func(tr *smf.Track) {
			if first {
				tr.AppendMeta(0, 0x51, tempo(500000))
			}
			tr.AppendMeta(4*q, 0x51, tempo(400000))
		}
	}
	for _, tt := range []struct {
		rule  string
		first bool
		want  string
	}{
		{"the start value is sent again", true, "0:tempo=07a120 4:tempo=061a80 8:tempo=07a120 12:tempo=061a80"},
		{"without one, 120 bpm", false, "0:tempo=07a120 4:tempo=061a80 8:tempo=07a120 12:tempo=061a80"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			in := fromFile(t, metaFile(2*bar, put(tt.first)))
			s := laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: runOn(4)})
			if got := show(s, 0); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
	t.Run("also on a track with a cycle of its own", func(t *testing.T) {
		f := metaFile(2*bar, put(true))
		f.Tracks = append(f.Tracks, f.Tracks[0])
		f.Tracks[0] = smf.Track{End: 2 * bar}
		s := laid(t, lay.Layout{Loop: fromFile(t, f), Bars: 2, Cycles: []smf.Tick{0, bar}, Blocks: runOn(4)})
		if got, want := show(s, 1), "0:tempo=07a120 4:tempo=061a80 8:tempo=07a120 12:tempo=061a80"; got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	})
	t.Run("bars follow a metre that changes within the loop", func(t *testing.T) {
		in := fromFile(t, metaFile(4*q+3*q, func(tr *smf.Track) {
			tr.AppendMeta(0, 0x58, []byte{4, 2, 24, 8})
			tr.AppendMeta(4*q, 0x58, []byte{3, 2, 24, 8})
		}))
		s := laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: []lay.Block{{Bars: 3}}})
		if got, want := show(s, 0), "0:metre=3/4 3:metre=4/4 7:metre=3/4"; got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
		if s.Bars() != 3 || s.End != 10*q {
			t.Errorf("got %d bars to %d, want 3 to %d", s.Bars(), s.End, 10*q)
		}
	})
}

func TestASectionInsideTheLoopSendsWhatIsInForce(t *testing.T) {
	events := []smf.Event{cc(0, 0, 1), prog(0, 5), cc(0, 74, 30), on(0, 60, 100), cc(2*q, 74, 90), bend(3*q, 80), prog(3*q, 7), off(bar, 60), on(bar, 60, 90), cc(5*q, 74, 20), off(2*bar, 60)}
	in := loop(t, 2*bar, events)
	s := laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: []lay.Block{{Bars: 1}, {Bars: 2}}})
	want := "0:cc0=1 0:prog=7 0:cc74=90 0:bend=80 1:cc74=20 " + // bar 2 of the loop
		"4:cc0=1 4:prog=5 4:cc74=30 4:bend=64 6:cc74=90 7:bend=80 7:prog=7 9:cc74=20"
	if got := show(s, 0); !sameWords(got, want) {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestAHeldChordIsStruckAgainWhereASectionBeginsInsideTheLoop(t *testing.T) {
	in := mustGrid(t, "pad  x---------------|--------x-------\nbass x---------------|--------x-------")
	s := laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: []lay.Block{{Bars: 1}, {Bars: 2}}})
	want := "pad  x-------x-------|x---------------|--------x-------\n" +
		"bass ........x-------|x---------------|--------x-------\n"
	if got := song.Grid(s); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

func TestNotesOverTheEndOfAPass(t *testing.T) {
	for _, tt := range []struct {
		rule   string
		events []smf.Event
		want   [][3]smf.Tick // key, start, end
	}{
		{"a tail is cut where its key starts again", note(q, bar+2*q, 60),
			[][3]smf.Tick{{60, q, bar + q}, {60, bar + q, 2 * bar}}},
		{"else it rings", note(3*q, bar+2*q, 60),
			[][3]smf.Tick{{60, 3 * q, bar + 2*q}, {60, bar + 3*q, 2 * bar}}},
		{"an unclosed note ends at the next on of its key", []smf.Event{on(0, 60, 100), on(q, 60, 100), off(2*q, 60)},
			[][3]smf.Tick{{60, 0, 2 * q}, {60, q, bar}, {60, bar, bar + 2*q}, {60, bar + q, 2 * bar}}},
		{"else at the loop's end", []smf.Event{on(q, 60, 100)},
			[][3]smf.Tick{{60, q, bar}, {60, bar + q, 2 * bar}}},
		{"the last pass is cut at the song's end", note(3*q, bar+q, 60),
			[][3]smf.Tick{{60, 3 * q, bar + q}, {60, bar + 3*q, 2 * bar}}},
		{"a note of no length lasts a tick", []smf.Event{on(0, 60, 100), off(0, 60)},
			[][3]smf.Tick{{60, 0, 1}, {60, bar, bar + 1}}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := laid(t, lay.Layout{Loop: loop(t, bar, tt.events), Bars: 1, Blocks: runOn(2)})
			var got [][3]smf.Tick
			for _, n := range s.Parts[0].Notes {
				got = append(got, [3]smf.Tick{smf.Tick(n.Key), n.Start, n.End})
			}
			if fmt.Sprint(got) != fmt.Sprint(tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
			for _, v := range s.Check() {
				if v.Rule != "overlap" {
					t.Error(v)
				}
			}
		})
	}
}

func TestEarlyNotesMoveWithTheBarAfterThem(t *testing.T) {
	// Two bars; the second bar's first note comes 3 ticks early, and so does the first bar's, at the end of the loop.
	events := append(append(note(q, 2*q, 40), note(bar-3, bar+q, 50)...), note(2*bar-3, 2*bar+q, 60)...)
	in := loop(t, 2*bar, events)
	for _, tt := range []struct {
		rule   string
		blocks []lay.Block
		want   [][2]smf.Tick
	}{
		{"at the song's start it sounds on the first tick, past the end it is not written", runOn(2),
			[][2]smf.Tick{{60, 0}, {40, q}, {50, bar - 3}}},
		{"it goes before each pass", runOn(4),
			[][2]smf.Tick{{60, 0}, {40, q}, {50, bar - 3}, {60, 2*bar - 3}, {40, 2*bar + q}, {50, 3*bar - 3}}},
		{"a section inside the loop brings its own", []lay.Block{{Bars: 1}, {Bars: 1}},
			[][2]smf.Tick{{50, 0}, {50, bar - 3}}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: tt.blocks})
			var got [][2]smf.Tick
			for _, n := range s.Parts[0].Notes {
				got = append(got, [2]smf.Tick{smf.Tick(n.Key), n.Start})
			}
			if fmt.Sprint(got) != fmt.Sprint(tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

func TestAnEarlyNoteEndsWhereItsKeyStartsAgain(t *testing.T) {
	in := loop(t, bar, append(note(0, q, 60), note(bar-3, bar+q, 60)...))
	s := laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: runOn(2)})
	var got [][2]smf.Tick
	for _, n := range s.Parts[0].Notes {
		got = append(got, [2]smf.Tick{n.Start, n.End})
	}
	if want := [][2]smf.Tick{{0, q}, {bar - 3, bar}, {bar, bar + q}}; fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestEndsOfTrackStandOnTheLastBarLine(t *testing.T) {
	f := metaFile(bar, func(tr *smf.Track) { tr.Append(on(0, 60, 100)); tr.Append(off(q, 60)) })
	f.Tracks = append(f.Tracks, smf.Track{End: 2*bar - 7})
	s := laid(t, lay.Layout{Loop: fromFile(t, f), Bars: 2, Blocks: runOn(5)})
	for i, tr := range s.File().Tracks {
		if tr.End != 5*bar {
			t.Errorf("track %d ends at %d, want %d", i+1, tr.End, 5*bar)
		}
	}
}

func TestASongThatWouldBeTooLongNamesTheLargest(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...")
	_, _, err := lay.Lay(lay.Layout{Loop: in, Bars: 1, Blocks: runOn(65537)})
	if err == nil || !strings.Contains(err.Error(), "passes") {
		t.Errorf("got %v, want an error about passes", err)
	}
	big := song.Blank(32767, nil, nil, 4*32767)
	_, _, err = lay.Lay(lay.Layout{Loop: big, Bars: 1, Blocks: runOn(9999)})
	if err == nil || !strings.Contains(err.Error(), "want at most 2048 bars") {
		t.Errorf("got %v, want an error that names 2048 bars", err)
	}
}

func TestLayingIsLinear(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...")
	s := laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: runOn(9999)})
	if n := len(s.Parts[0].Notes); n != 4*9999 {
		t.Errorf("got %d notes, want %d", n, 4*9999)
	}
}

func TestUnitsAreNotSplit(t *testing.T) {
	for _, tt := range []struct {
		rule   string
		events []smf.Event
		want   string
	}{
		{"data entry in the loop finds the parameter that set-up selected",
			[]smf.Event{cc(0, 101, 0), cc(0, 100, 0), cc(0, 6, 2), on(0, 60, 100), cc(bar, 6, 12), off(2*bar, 60)},
			"0:cc101=0 0:cc100=0 0:cc6=2 4:cc6=12 8:cc101=0 8:cc100=0 8:cc6=2 8:cc101=127 8:cc100=127 8:cc101=0 8:cc100=0 12:cc6=12"},
		{"a program in the loop finds its bank",
			[]smf.Event{cc(0, 0, 1), on(0, 60, 100), prog(2, 10), cc(bar, 0, 2), prog(bar, 20), off(2*bar, 60)},
			"0:cc0=1 0+2:prog=10 4:cc0=2 4:prog=20 8:cc0=1 8+2:prog=10 12:cc0=2 12:prog=20"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := laid(t, lay.Layout{Loop: loop(t, 2*bar, tt.events), Bars: 2, Blocks: runOn(4)})
			if got := show(s, 0); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

func TestAMessageInPacketsIsWrittenWholeOrNotAtAll(t *testing.T) {
	in := fromFile(t, metaFile(4*bar, func(tr *smf.Track) {
		tr.AppendSysex(bar, 0xF0, []byte{0x43, 1})
		tr.AppendSysex(2*bar, 0xF7, []byte{2, 0xF7})
	}))
	for _, tt := range []struct {
		rule   string
		blocks []lay.Block
		want   string
		told   int
	}{
		{"in the first pass that holds it", []lay.Block{{Bars: 2}, {Bars: 4}}, "12:sysex=4301 16:sysex=02f7", 0},
		{"left out, told, where none does", runOn(2), "", 1},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s, told, err := lay.Lay(lay.Layout{Loop: in, Bars: 4, Blocks: tt.blocks})
			if err != nil {
				t.Fatal(err)
			}
			if got := show(s, 0); got != tt.want || len(told) != tt.told {
				t.Errorf("got %q and told %v, want %q", got, told, tt.want)
			}
		})
	}
}

func TestALooseNoteOffDoesNotEndNotesOfLaterPasses(t *testing.T) {
	in := loop(t, 2*bar, []smf.Event{off(q, 60), on(bar, 60, 100), off(2*bar+2*q, 60)})
	s := laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: runOn(4)})
	again := fromFile(t, s.File())
	for i, n := range s.Parts[0].Notes {
		if got := again.Parts[0].Notes[i]; got.Start != n.Start || got.End != n.End {
			t.Errorf("the file has %d to %d, the song %d to %d", got.Start, got.End, n.Start, n.End)
		}
	}
}

// What is no valid tempo, metre or key (RP-001 pp. 10-11) stands in the first pass, as it was read, and nowhere else:
// it is neither sent again nor repeated, and what was before it is in force.
func TestValuesThatAreNotValidAreNotSpread(t *testing.T) {
	for _, row := range []struct {
		rule string
		kind byte
		data [3][]byte // at 0, in bar 2 and in bar 4
		want string
	}{
		{"a tempo of 0", 0x51, [3][]byte{{0x07, 0xA1, 0x20}, {0, 0, 0}, {0x06, 0x1A, 0x80}},
			"0:tempo=07a120 4:tempo=000000 12:tempo=061a80 16:tempo=07a120 28:tempo=061a80 32:tempo=07a120 36:tempo=061a80"},
		{"a tempo of 2 bytes at the start", 0x51, [3][]byte{{0x07, 0xA1}, {0x07, 0xA1, 0x20}, {0x06, 0x1A, 0x80}},
			"0:tempo=07a120 0:tempo=07a1 4:tempo=07a120 12:tempo=061a80 16:tempo=07a120 20:tempo=07a120 28:tempo=061a80 32:tempo=07a120 36:tempo=061a80"},
		{"a metre of 4/2^255", 0x58, [3][]byte{{4, 2, 24, 8}, {4, 255, 24, 8}, {4, 2, 24, 8}},
			"0:metre=4/4 4:metre=4/0 12:metre=4/4 28:metre=4/4 32:metre=4/4 36:metre=4/4"},
		{"a key of 9 sharps", 0x59, [3][]byte{{2, 0}, {9, 0}, {0xFE, 1}},
			"0:key=0200 4:key=0900 12:key=fe01 16:key=0200 28:key=fe01 32:key=0200 36:key=fe01"},
		{"a key of mode 2 at the start", 0x59, [3][]byte{{0, 2}, {1, 0}, {2, 0}},
			"0:key=0002 4:key=0100 12:key=0200 20:key=0100 28:key=0200 32:key=0100 36:key=0200"},
	} {
		in := fromFile(t, metaFile(4*bar, func(tr *smf.Track) {
			for i, at := range []smf.Tick{0, bar, 3 * bar} {
				tr.AppendMeta(at, row.kind, row.data[i])
			}
		}))
		s := laid(t, lay.Layout{Loop: in, Bars: 4, Blocks: []lay.Block{{Bars: 8}, {Bars: 2}}})
		if got := show(s, 0); got != row.want {
			t.Errorf("%s\ngot  %s\nwant %s", row.rule, got, row.want)
		}
	}
}

func TestAPassThatEndsOnABarCutShortIsRefused(t *testing.T) {
	in := fromFile(t, metaFile(6*q, func(tr *smf.Track) {
		tr.AppendMeta(0, 0x58, []byte{4, 2, 24, 8})
		tr.AppendMeta(6*q, 0x58, []byte{3, 2, 24, 8})
	}))
	_, _, err := lay.Lay(lay.Layout{Loop: in, Bars: 2, Blocks: []lay.Block{{Bars: 2}, {Bars: 2}}})
	if err == nil || !strings.Contains(err.Error(), "bar 2 of the loop cut short") {
		t.Errorf("got %v, want an error that names the bar", err)
	}
}

func TestAnEarlyNoteAfterARunOnIsCutLikeAnyOther(t *testing.T) {
	in := loop(t, 2*bar, append(note(0, q, 60), note(2*bar-3, 2*bar+q, 60)...))
	laid(t, lay.Layout{Loop: in, Bars: 2, Blocks: []lay.Block{{Bars: 1}, {Bars: 5, RunOn: true}, {Bars: 6}}})
}

func TestTheLimitOfEventsCountsOwnCycles(t *testing.T) {
	var dense []smf.Event
	for i := range smf.Tick(384) {
		dense = append(dense, on(i, byte(i%120), 100), off(i+1, byte(i%120)))
	}
	in := loop(t, 32*bar, dense)
	_, _, err := lay.Lay(lay.Layout{Loop: in, Bars: 32, Cycles: []smf.Tick{bar}, Blocks: runOn(9999)})
	if err != nil {
		t.Fatal(err) // 7.7 million events
	}
	for range 3 {
		dense = append(dense, dense...)
	}
	in = loop(t, 32*bar, sortedEvents(dense))
	_, _, err = lay.Lay(lay.Layout{Loop: in, Bars: 32, Cycles: []smf.Tick{bar}, Blocks: runOn(9999)})
	if err == nil || !strings.Contains(err.Error(), "50000000 events") {
		t.Errorf("got %v, want an error that names the limit", err)
	}
}

func TestTwoEarlyNotesOfAKeyBeforeTheSongAreOne(t *testing.T) {
	early := append(note(bar-5, bar-4, 60), note(bar-3, bar+q, 60)...)
	s := laid(t, lay.Layout{Loop: loop(t, bar, append(note(q, 2*q, 40), early...)), Bars: 1, Blocks: runOn(2)})
	n := 0
	for _, m := range s.Parts[0].Notes {
		if m.Start == 0 {
			n++
		}
	}
	if n != 1 {
		t.Errorf("%d notes on the first tick, want 1", n)
	}
}

func TestAnUnknownFormatIsLaidOutAsFormat1(t *testing.T) {
	in := loop(t, bar, note(0, q, 60))
	in.Format = 3
	if got := laid(t, lay.Layout{Loop: in, Bars: 1, Blocks: runOn(2)}).File().Format; got != 1 {
		t.Errorf("got format %d, want 1", got)
	}
}
