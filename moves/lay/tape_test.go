package lay_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// tape lays loops of the same tracks one after another, each in whole bars of 4/4.
func tape(t testing.TB, loops ...song.Song) (song.Song, []song.Stretch) {
	t.Helper()
	f := &smf.File{Format: 1, Division: loops[0].Division}
	f.Tracks = make([]smf.Track, len(loops[0].Tracks))
	var on []song.Stretch
	start := smf.Tick(0)
	bar := 4 * loops[0].Time().PPQ()
	for _, l := range loops {
		bars := int((l.End + bar - 1) / bar)
		on = append(on, song.Stretch{Bar: int(start/bar) + 1, Bars: bars})
		of := l.File()
		for i := range of.Tracks {
			for _, ev := range of.Tracks[i].Events {
				if kind, meta := ev.MetaType(); start > 0 && meta && kind != 0x01 {
					continue // a tape has those of the first loop
				}
				f.Tracks[i].Append(f.Tracks[i].CopyLong(&of.Tracks[i], ev, start+ev.Tick))
			}
		}
		start += smf.Tick(bars) * bar
	}
	for i := range f.Tracks {
		f.Tracks[i].End = start
	}
	s := fromFile(t, f)
	for i := range s.Parts {
		s.Parts[i].Name, s.Parts[i].Role = loops[0].Parts[i].Name, loops[0].Parts[i].Role
	}
	return s, on
}

// pattern is a loop of a part whose bars have as many hits as their number, of one key.
func pattern(t testing.TB, key, bars int) song.Song {
	var events []smf.Event
	for b := range bars {
		for hit := range b + 1 {
			at := smf.Tick(b)*bar + smf.Tick(hit)*12
			events = append(events, note(at, at+6, byte(key))...)
		}
	}
	return loop(t, smf.Tick(bars)*bar, events)
}

// hitsOf tells of each bar of a part its keys, each once, and how many hits there are.
func hitsOf(s song.Song, part int) string {
	var out []string
	for b := 1; b <= s.Bars(); b++ {
		notes := s.In(s.Parts[part], s.BarRange(b, b))
		text := "-"
		if len(notes) > 0 {
			text = fmt.Sprintf("%c%d", 'a'+notes[0].Key-60, len(notes))
		}
		out = append(out, text)
	}
	return strings.Join(out, " ")
}

func TestABlockNamesItsLoop(t *testing.T) {
	in, on := tape(t, pattern(t, 60, 4), pattern(t, 61, 2), pattern(t, 62, 3))
	for _, tt := range []struct {
		rule   string
		blocks []lay.Block
		want   string
	}{
		{"whole passes", []lay.Block{{Bars: 4}, {Bars: 2, Loop: 1}, {Bars: 3, Loop: 2}}, "a1 a2 a3 a4 b1 b2 c1 c2 c3"},
		{"each is counted back from its section's end", []lay.Block{{Bars: 3}, {Bars: 3, Loop: 1}, {Bars: 4, Loop: 2}}, "a2 a3 a4 b2 b1 b2 c3 c1 c2 c3"},
		{"run-on goes on where that loop last stopped", []lay.Block{{Bars: 3, RunOn: true}, {Bars: 1, RunOn: true, Loop: 1}, {Bars: 2, RunOn: true}, {Bars: 2, RunOn: true, Loop: 1}},
			"a1 a2 a3 b1 a4 a1 b2 b1"},
		{"the song may begin with another loop", []lay.Block{{Bars: 2, Loop: 2}, {Bars: 1}}, "c2 c3 a4"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			l := lay.Layout{Loop: in, Loops: on, Blocks: tt.blocks}
			got := hitsOf(laid(t, l), 0)
			if got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
			bars, err := l.PartBars(0)
			if err != nil {
				t.Fatal(err)
			}
			own := lay.LoopBars(tt.blocks, 4, 2, 3)
			text := make([]string, len(own))
			i := 0
			for _, b := range tt.blocks {
				for range b.Bars {
					text[i] = fmt.Sprintf("%c%d", 'a'+b.Loop, own[i])
					if bars[i] != on[b.Loop].Bar+own[i]-1 {
						t.Errorf("bar %d plays bar %d of the tape, want %d", i+1, bars[i], on[b.Loop].Bar+own[i]-1)
					}
					i++
				}
			}
			if got := strings.Join(text, " "); got != tt.want {
				t.Errorf("bars of the loops: got %s, want %s", got, tt.want)
			}
		})
	}
}

func TestAPartMayPlayAnotherLoopThanItsBlock(t *testing.T) {
	two := func(a, b int, bars int) song.Song {
		p, q := pattern(t, a, bars), pattern(t, b, bars)
		f := p.File()
		f.Tracks = append(f.Tracks, q.File().Tracks...)
		return fromFile(t, f)
	}
	in, on := tape(t, two(60, 60, 4), two(61, 61, 2))
	at := func(bar int) smf.Tick { return in.Time().BarStart(bar) }
	l := lay.Layout{Loop: in, Loops: on, Blocks: []lay.Block{{Bars: 4}, {Bars: 4, RunOn: true}},
		Plays: [][]lay.Play{nil, {{Range: song.Range{Start: at(2), End: at(4)}, Loop: 1}, {Range: song.Range{Start: at(6) + bar/2, End: at(8)}, Loop: 1}}}}
	s := laid(t, l)
	if got, want := hitsOf(s, 0), "a1 a2 a3 a4 a1 a2 a3 a4"; got != want {
		t.Errorf("the part that plays as the blocks do: got %s, want %s", got, want)
	}
	// bar 6: the first half of a2 has both hits; from its middle on b2, whose hits stand before it
	if got, want := hitsOf(s, 1), "a1 b2 b1 a4 a1 a2 b1 a4"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if bars, err := l.PartBars(1); err != nil || fmt.Sprint(bars) != "[1 6 5 4 1 0 5 4]" {
		t.Errorf("bars of the tape: %v, %v", bars, err)
	}
	if all, err := l.AllBars(); err != nil || fmt.Sprint(all[1]) != "[1 6 5 4 1 0 5 4]" {
		t.Errorf("bars of the tape, of all parts: %v, %v", all, err)
	}
}

// A tape of which one loop alone plays is laid as that loop is by itself.
func TestALoopOnATapeIsLaidAsByItself(t *testing.T) {
	mixed := func(bars int, key, value byte) song.Song {
		var events []smf.Event
		events = append(events, prog(0, value), cc(0, 74, value))
		for b := range smf.Tick(bars) {
			events = append(events, note(b*bar, b*bar+q, key)...)
			events = append(events, note(b*bar+2*q, b*bar+bar+q/2, key+12)...)
			events = append(events, cc(b*bar+q, 74, value+byte(b)), bend(b*bar+3*q, 70))
		}
		events = append(events, note(smf.Tick(bars)*bar-3, smf.Tick(bars)*bar, key+7)...) // early
		return loop(t, smf.Tick(bars)*bar, sortedEvents(events))
	}
	for _, bars := range []int{4, 8, 16} {
		alone := mixed(bars, 60, 20)
		in, on := tape(t, alone, mixed(4, 61, 50))
		second, places := tape(t, mixed(4, 61, 50), alone)
		rnd := rand.New(rand.NewPCG(1, uint64(bars)))
		for range 20 {
			var blocks, others []lay.Block
			for range 1 + rnd.IntN(4) {
				b := lay.Block{Bars: 1 + rnd.IntN(20), RunOn: rnd.IntN(3) == 0}
				blocks = append(blocks, b)
				b.Loop = 1
				others = append(others, b)
			}
			want := laid(t, lay.Layout{Loop: alone, Bars: bars, Blocks: blocks})
			got := laid(t, lay.Layout{Loop: in, Loops: on, Blocks: blocks})
			if a, b := encoded(t, want), encoded(t, got); !bytes.Equal(a, b) {
				t.Fatalf("%d bars, %v: the first loop is not laid as by itself\ngot  %s\nwant %s", bars, blocks, show(got, 0), show(want, 0))
			}
			got = laid(t, lay.Layout{Loop: second, Loops: places, Blocks: others})
			if a, b := notesOf(want), notesOf(got); a != b {
				t.Fatalf("%d bars, %v: the second loop has other notes\ngot  %s\nwant %s", bars, others, b, a)
			}
		}
	}
}

func encoded(t testing.TB, s song.Song) []byte {
	t.Helper()
	b, err := s.File().Encode()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func notesOf(s song.Song) string {
	var b strings.Builder
	for _, p := range s.Parts {
		for _, n := range p.Notes {
			fmt.Fprintf(&b, "%d:%d-%d ", n.Key, n.Start, n.End)
		}
	}
	return b.String()
}

func TestWhatIsSentWhereTheLoopChanges(t *testing.T) {
	one := func(events ...smf.Event) song.Song {
		return loop(t, bar, sortedEvents(append(events, note(0, bar, 60)...)))
	}
	blocks := []lay.Block{{Bars: 2}, {Bars: 2, Loop: 1}, {Bars: 1}}
	for _, tt := range []struct {
		rule string
		a, b song.Song
		want string
	}{
		{"programs and controllers of each", one(prog(0, 5), cc(0, 74, 30)), one(prog(0, 6), cc(0, 74, 90)),
			"0:prog=5 0:cc74=30 8:prog=6 8:cc74=90 16:prog=5 16:cc74=30"},
		{"what only the second sets comes back to its default", one(), one(cc(0, 11, 60)),
			"8:cc11=60 16:cc11=127"},
		{"what only the first sets is as it begins", one(cc(0, 11, 90), cc(2*q, 11, 20)), one(),
			"0:cc11=90 2:cc11=20 4:cc11=90 6:cc11=20 8:cc11=90 18:cc11=20"},
		{"a bend of the first is home in the second", one(bend(2*q, 80)), one(),
			"2:bend=80 4:bend=64 6:bend=80 8:bend=64 18:bend=80 20:bend=64"},
		{"what has no default stays", one(), one(cc(0, 74, 30)), "8:cc74=30"},
		{"a text stands in the first pass of its loop", one(), withText(t, one(), "b"), "8:meta01=b"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			in, on := tape(t, tt.a, tt.b)
			if got := show(laid(t, lay.Layout{Loop: in, Loops: on, Blocks: blocks}), 0); !sameWords(got, tt.want) {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
	// a channel of which all parts play another loop goes with that
	in, on := tape(t, one(cc(0, 74, 30)), one(cc(0, 74, 90)))
	l := lay.Layout{Loop: in, Loops: on, Blocks: []lay.Block{{Bars: 3}}, Plays: [][]lay.Play{{{Range: song.Range{Start: bar, End: 2 * bar}, Loop: 1}}}}
	if got, want := show(laid(t, l), 0), "0:cc74=30 4:cc74=90 8:cc74=30"; !sameWords(got, want) {
		t.Errorf("of a part that plays another loop: got %s, want %s", got, want)
	}
}

func withText(t testing.TB, s song.Song, text string) song.Song {
	f := s.File()
	f.Tracks[0].AppendMeta(0, 0x01, []byte(text))
	f.Tracks[0].Events = sortedEvents(f.Tracks[0].Events)
	f.Tracks[0].End = s.End
	return fromFile(t, f)
}

func TestEarlyNotesAtTheSeam(t *testing.T) {
	a := loop(t, bar, append(note(q, 2*q, 60), note(bar-3, bar, 61)...))
	b := loop(t, bar, append(note(q, 2*q, 70), note(bar-3, bar, 71)...))
	in, on := tape(t, a, b)
	s := laid(t, lay.Layout{Loop: in, Loops: on, Blocks: []lay.Block{{Bars: 1}, {Bars: 1, Loop: 1}, {Bars: 1}}})
	var got []string
	for _, n := range s.Parts[0].Notes {
		got = append(got, fmt.Sprintf("%d:%d", n.Key, n.Start))
	}
	// each loop's early note leads into its own bar, whatever was before it
	want := fmt.Sprintf("[61:0 60:%d 71:%d 70:%d 61:%d 60:%d]", q, bar-3, bar+q, 2*bar-3, 2*bar+q)
	if fmt.Sprint(got) != want {
		t.Errorf("got %v, want %s", got, want)
	}
}

func TestATrackHasACycleInEachLoop(t *testing.T) {
	in, on := tape(t, pattern(t, 60, 4), pattern(t, 61, 4))
	on[0].Cycles, on[1].Cycles = []song.Tick{0}, []song.Tick{3 * bar}
	s := laid(t, lay.Layout{Loop: in, Loops: on, Blocks: []lay.Block{{Bars: 4}, {Bars: 4, Loop: 1}}})
	if got, want := hitsOf(s, 0), "a1 a2 a3 a4 b3 b1 b2 b3"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestTheTempoOfTheFirstLoopHolds(t *testing.T) {
	a := fromFile(t, metaFile(2*bar, func(tr *smf.Track) {
		tr.AppendMeta(0, smf.MetaTempo, []byte{7, 0xA1, 0x20})
		for _, ev := range note(0, bar, 60) {
			tr.Append(ev)
		}
		tr.AppendMeta(bar, smf.MetaTempo, []byte{8, 0, 0})
	}))
	in, on := tape(t, a, pattern(t, 61, 1))
	e := in.Edit()
	e.InsertMeta(0, in.Time().BarStart(on[1].Bar), smf.MetaTempo, []byte{7, 0xA1, 0x20}) // as a tape has it
	s := laid(t, lay.Layout{Loop: e.Song(), Loops: on, Blocks: []lay.Block{{Bars: 2}, {Bars: 2, Loop: 1}, {Bars: 2}}})
	for b, want := range []uint32{0x7A120, 0x80000, 0x7A120, 0x7A120, 0x7A120, 0x80000} {
		if got := s.Time().TempoAt(s.Time().BarStart(b + 1)); got != want {
			t.Errorf("bar %d: %d microseconds a quarter, want %d", b+1, got, want)
		}
	}
}
