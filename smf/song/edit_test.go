package song_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

const step = 24 // ticks of a sixteenth in a grid

func TestPlacedNotesMakeNoOverlap(t *testing.T) {
	for _, tt := range []struct {
		rule, before string
		note         song.Note
		after        string
	}{
		{"into a rest", "bass x...............", song.Note{Start: 4 * step, End: 6 * step, Key: 36, Vel: 100},
			"bass x...x-.........."},
		{"a note that sounds is cut", "bass x-------........", song.Note{Start: 4 * step, End: 6 * step, Key: 36, Vel: 100},
			"bass x---x-.........."},
		{"it ends where the next one starts", "bass ......x.........", song.Note{Start: 4 * step, End: 12 * step, Key: 36, Vel: 100},
			"bass ....x-x........."},
		{"where a note starts it yields", "bass o-..............", song.Note{Start: 0, End: 8 * step, Key: 36, Vel: 100},
			"bass o-.............."},
		{"it ends with the song", "bass x...............", song.Note{Start: 14 * step, End: 40 * step, Key: 36, Vel: 100},
			"bass x.............x-"},
		{"at least a tick", "bass x...............", song.Note{Start: 4 * step, End: 4 * step, Key: 36, Vel: 100},
			"bass x...x..........."},
		{"past the end it is not written", "bass x...............", song.Note{Start: 16 * step, End: 17 * step, Key: 36, Vel: 100},
			"bass x..............."},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			in := grid(t, tt.before)
			e := in.Edit()
			e.Place(0, tt.note)
			out := e.Song()
			if got := song.Grid(out); got != tt.after+"\n" {
				t.Errorf("got  %swant %s", got, tt.after)
			}
			if song.Grid(in) != tt.before+"\n" {
				t.Error("the song before was written to")
			}
			if v := out.Check(); len(v) > 0 {
				t.Error(v[0])
			}
		})
	}
}

func TestPlacedNotesAreKeptApartAcrossThePartsOfAChannel(t *testing.T) {
	s := grid(t, "kick x-----------....\nsnare ....x...........")
	s.Parts[1].Track, s.Parts[1].Channel = 0, 0 // one kit
	s.Tracks = s.Tracks[:1]
	e := s.Edit()
	e.Place(1, song.Note{Start: 8 * step, End: 9 * step, Key: 36, Vel: 100})
	out := e.Song()
	if v := out.Check(); len(v) > 0 {
		t.Error(v[0])
	}
	if got := out.Parts[0].Notes[0].End; got != 8*step {
		t.Errorf("the kick ends at %d, want %d", got, 8*step)
	}
}

func TestControlReplacesAndPutsBack(t *testing.T) {
	cc := func(t smf.Tick, v byte) smf.Event { return smf.Channel(t, 0xB0, 74, v) }
	values := func(s song.Song) (out [][2]int) {
		for _, ev := range s.Tracks[0].Events {
			if id, v, ok := ev.Of(); ok && id == 74 {
				out = append(out, [2]int{int(ev.Tick), v})
			}
		}
		return out
	}
	sweep := func(r song.Range, home int, hold bool) song.Sweep {
		return song.Sweep{Range: r, Points: []song.Point{{Tick: r.Start, Value: 1}, {Tick: r.Start + 10, Value: 2}}, Home: home, Hold: hold}
	}
	for _, tt := range []struct {
		rule   string
		events []smf.Event
		sweep  song.Sweep
		want   [][2]int
	}{
		{"to what was there before the span", []smf.Event{cc(0, 50)}, sweep(song.Range{Start: 96, End: 192}, 99, false),
			[][2]int{{0, 50}, {96, 1}, {106, 2}, {192, 50}}},
		{"to what the span would have ended on", []smf.Event{cc(0, 50), cc(120, 60)}, sweep(song.Range{Start: 96, End: 192}, 99, false),
			[][2]int{{0, 50}, {96, 1}, {106, 2}, {192, 60}}},
		{"to the event that stands at the end", []smf.Event{cc(0, 50), cc(192, 70)}, sweep(song.Range{Start: 96, End: 192}, 99, false),
			[][2]int{{0, 50}, {96, 1}, {106, 2}, {192, 70}}},
		{"to home where nothing is set", nil, sweep(song.Range{Start: 96, End: 192}, 99, false),
			[][2]int{{96, 1}, {106, 2}, {192, 99}}},
		{"nowhere when held", []smf.Event{cc(0, 50)}, sweep(song.Range{Start: 96, End: 192}, 99, true),
			[][2]int{{0, 50}, {96, 1}, {106, 2}}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			f := build(384, append(tt.events, on(200, 60, 100), off(300, 60))...)
			s, err := song.From(f)
			if err != nil {
				t.Fatal(err)
			}
			e := s.Edit()
			e.Control(0, 0, 74, []song.Sweep{tt.sweep})
			got := values(e.Song())
			if len(got) != len(tt.want) {
				t.Fatalf("got %v, want %v", got, tt.want)
			}
			for i := range got {
				if got[i] != tt.want[i] {
					t.Fatalf("got %v, want %v", got, tt.want)
				}
			}
		})
	}
}

// A controller is replaced over several sweeps of one call, on its channel alone: other controllers there and the same
// one elsewhere stay as they are.
func TestControlOfSeveralSweeps(t *testing.T) {
	cc := func(t smf.Tick, v byte) smf.Event { return smf.Channel(t, 0xB0, 74, v) }
	sweep := func(start, end smf.Tick, home int) song.Sweep {
		return song.Sweep{Range: song.Range{Start: start, End: end}, Points: []song.Point{{Tick: start, Value: 1}}, Home: home}
	}
	forced := func(s song.Sweep) song.Sweep { s.Force = true; return s }
	for _, tt := range []struct {
		rule   string
		events []smf.Event
		sweeps []song.Sweep
		want   string // tick=value of controller 74 on channel 1, then what else there is
	}{
		{"each goes back to what is in force then", []smf.Event{cc(0, 50), cc(200, 60)}, []song.Sweep{sweep(96, 144, -1), sweep(240, 288, -1)},
			"0=50 96=1 144=50 200=60 240=1 288=60"},
		{"between two that touch nothing goes back", []smf.Event{cc(0, 50)}, []song.Sweep{sweep(96, 144, -1), sweep(144, 192, -1)},
			"0=50 96=1 144=1 192=50"},
		{"what stood in the first is what both go back to", []smf.Event{cc(0, 50), cc(100, 60)}, []song.Sweep{sweep(96, 144, -1), sweep(240, 288, -1)},
			"0=50 96=1 144=60 240=1 288=60"},
		{"an event on the first tick of a sweep is replaced, and goes back", []smf.Event{cc(96, 60)}, []song.Sweep{sweep(96, 144, -1)},
			"96=1 144=60"},
		{"where nothing is known nothing goes back", nil, []song.Sweep{sweep(96, 144, -1)}, "96=1"},
		{"home overrules what is in force where it is forced", []smf.Event{cc(0, 50)}, []song.Sweep{forced(sweep(96, 144, 99))},
			"0=50 96=1 144=99"},
		{"but no home overrules nothing", []smf.Event{cc(0, 50)}, []song.Sweep{forced(sweep(96, 144, -1))},
			"0=50 96=1 144=50"},
		{"nor does it an event at the end", []smf.Event{cc(0, 50), cc(144, 70)}, []song.Sweep{forced(sweep(96, 144, 99))},
			"0=50 96=1 144=70"},
		{"another channel and other controllers stay", []smf.Event{cc(0, 50), smf.Channel(100, 0xB1, 74, 33), smf.Channel(120, 0xB0, 75, 44)}, []song.Sweep{sweep(96, 144, -1)},
			"0=50 96=1 144=50 100:b1-4a-33 120:b0-4b-44"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s, err := song.From(build(384, append(tt.events, on(200, 60, 100), off(300, 60))...))
			if err != nil {
				t.Fatal(err)
			}
			e := s.Edit()
			e.Control(0, 0, 74, tt.sweeps)
			var got, others []string
			for _, ev := range e.Song().Tracks[0].Events {
				id, v, ok := ev.Of()
				switch {
				case ok && id == 74 && ev.Chan() == 0:
					got = append(got, fmt.Sprintf("%d=%d", ev.Tick, v))
				case ok:
					others = append(others, fmt.Sprintf("%d:%x-%x-%d", ev.Tick, ev.Kind()|ev.Chan(), ev.Data1(), v))
				}
			}
			if got := strings.Join(append(got, others...), " "); got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
		})
	}
}

func TestEventsOfATickHaveOneOrder(t *testing.T) {
	// Inserted note-offs, other inserted events, untouched events, inserted note-ons.
	s := grid(t, "bass x-------........")
	e := s.Edit()
	e.Insert(0, smf.Channel(4*step, 0xB0, 74, 9))
	e.Map(0, func(n song.Note) (song.Note, bool) { n.End = 4 * step; return n, true })
	e.Place(0, song.Note{Start: 4 * step, End: 5 * step, Key: 40, Vel: 80})
	f := e.Song().File()
	var got []byte
	for _, ev := range f.Tracks[0].Events {
		if ev.Tick == 4*step {
			got = append(got, ev.Kind())
		}
	}
	if string(got) != "\x80\xB0\x90" {
		t.Errorf("got % x, want 80 b0 90", got)
	}
}

func TestCheckFindsWhatBreaksTheInvariants(t *testing.T) {
	for _, tt := range []struct {
		rule   string
		events []smf.Event
		want   string
	}{
		{"every note-on has its off", []smf.Event{on(0, 60, 1)}, "hung"},
		{"no two notes of one key overlap", []smf.Event{on(0, 60, 1), on(10, 60, 1), off(20, 60), off(30, 60)}, "overlap"},
		{"no note is shorter than a tick", []smf.Event{on(0, 60, 1), off(0, 60)}, "too short"},
		{"nothing starts at the end", []smf.Event{on(384, 60, 1), off(384, 60)}, "past end"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s, err := song.From(build(384, tt.events...))
			if err != nil {
				t.Fatal(err)
			}
			v := s.Check()
			if len(v) == 0 || v[0].Rule != tt.want {
				t.Errorf("got %v, want %q", v, tt.want)
			}
		})
	}
	if v := grid(t, "kick x...x...x...x...").Check(); len(v) > 0 {
		t.Errorf("a sound song: %v", v)
	}
}

func TestEarlyNotesCountToTheNextBar(t *testing.T) {
	s := grid(t, "kick x...x...x...x...|x...............")
	// At 96 ticks a quarter a 1/64 note is 6 ticks.
	for _, tt := range []struct{ at, want smf.Tick }{{384 - 6, 384 - 6}, {384 - 5, 384}, {384 - 1, 384}, {384, 384}, {385, 385}} {
		if got := s.Counted(tt.at); got != tt.want {
			t.Errorf("an onset at %d counts at %d, want %d", tt.at, got, tt.want)
		}
	}
}

func TestATrackThatEndsBeforeTheSongTakesLaterNotes(t *testing.T) {
	f := build(96, on(0, 60, 100), off(96, 60))
	f.Format = 1
	f.Tracks = append(f.Tracks, smf.Track{End: 384})
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	e := s.Edit()
	e.Place(0, song.Note{Start: 192, End: 288, Key: 60, Vel: 100})
	out := e.Song().File()
	if got := out.Tracks[0].End; got != 288 {
		t.Errorf("the track ends at %d, want 288", got)
	}
	if _, err := out.Encode(); err != nil {
		t.Error(err)
	}
	if s.Tracks[0].End != 96 {
		t.Error("the song before was written to")
	}
}

func TestTracksReachAsFarAsTheNotesOfAllTheirParts(t *testing.T) {
	f := build(96, on(0, 36, 100), off(24, 36), on(24, 38, 100), off(48, 38))
	f.Format = 1
	f.Tracks = append(f.Tracks, smf.Track{End: 384})
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	kick, snare := s.Parts[0], s.Parts[0]
	kick.Notes, kick.Keys = kick.Notes[:1], song.KeySet(36)
	snare.Notes, snare.Keys = snare.Notes[1:], song.KeySet(38)
	s.Parts = []song.Part{kick, snare}
	e := s.Edit()
	e.Place(0, song.Note{Start: 100, End: 120, Key: 36, Vel: 100})
	e.Place(1, song.Note{Start: 300, End: 320, Key: 38, Vel: 100})
	if _, err := e.Song().File().Encode(); err != nil {
		t.Error(err)
	}
}

func TestAPlacedNoteIsNotEndedByALooseNoteOff(t *testing.T) {
	s, err := song.From(build(384, on(0, 60, 100), off(24, 60), off(200, 60)))
	if err != nil {
		t.Fatal(err)
	}
	e := s.Edit()
	e.Place(0, song.Note{Start: 100, End: 300, Key: 60, Vel: 100})
	again, err := song.From(e.Song().File())
	if err != nil {
		t.Fatal(err)
	}
	if got := again.Parts[0].Notes[1].End; got != 300 {
		t.Errorf("the note ends at %d, want 300", got)
	}
}

func TestAPlacedKeyBecomesOneOfThePartsKeys(t *testing.T) {
	s := grid(t, "bass x...............\nkick ....x...........")
	s.Parts[0].Keys, s.Parts[1].Keys = song.KeySet(36), song.KeySet(36)
	e := s.Edit()
	e.Place(0, song.Note{Start: 8 * step, End: 9 * step, Key: 48, Vel: 100})
	out := e.Song()
	if want := song.KeySet(36, 48); out.Parts[0].Keys != want || s.Parts[0].Keys != song.KeySet(36) {
		t.Errorf("keys %v, before %v; want %v and the song before untouched", out.Parts[0].Keys.List(), s.Parts[0].Keys.List(), want.List())
	}
	if got, want := song.Grid(out), `bass:48 ........x.......
bass:36 x...............
kick    ....x...........
`; got != want {
		t.Errorf("\ngot\n%swant\n%s", got, want)
	}
}

func TestAPlacedNoteYieldsToOneOfNoLength(t *testing.T) {
	s, err := song.From(build(384, on(96, 60, 100), off(96, 60)))
	if err != nil {
		t.Fatal(err)
	}
	e := s.Edit()
	e.Place(0, song.Note{Start: 96, End: 192, Key: 60, Vel: 100})
	if n := e.Song().Parts[0].Notes; len(n) != 1 || n[0].Is(song.New) {
		t.Errorf("got %+v, want the note that was there", n)
	}
}
