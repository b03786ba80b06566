package listen_test

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

const (
	fourToTheFloor = "x...x...x...x..."
	offBeats       = "..x...x...x...x."
	backBeats      = "....x.......x..."
	lowLine        = "x..x..x...x..x.."
)

// named makes a loop of one bar with a track for each name, "Bass 2 40" for name, channel and key.
func named(t testing.TB, rows ...string) *smf.File {
	t.Helper()
	var text strings.Builder
	for i, row := range rows {
		steps := [...]string{fourToTheFloor, offBeats, backBeats, lowLine}[i%4]
		name, rest, _ := strings.Cut(row, "|")
		fmt.Fprintf(&text, "%q %s %s\n", name, rest, steps)
	}
	return loop(t, text.String())
}

// Whether files are loops of their own is this project's rule.
func TestWhichFilesAreLoopsOfTheirOwn(t *testing.T) {
	groove := []string{"Kick|10 36", "Hat|10 42", "Bass|2 40", "Stab|3 60"}
	kit := "\"\" 10 36 " + fourToTheFloor + "\n\"\" 10 42 " + offBeats + "\n\"\" 10 38 " + backBeats
	for _, row := range []struct {
		rule  string
		files []*smf.File
		loops string
		told  string
	}{
		{"half of its parts bear names of the first", []*smf.File{named(t, groove...), named(t, "Bass|2 43", "Pad|4 60")}, "[[0] [1]]",
			"b.mid is a loop of its own: the names of 1 of its 2 parts are those of a.mid"},
		{"half of the parts of the first are in it", []*smf.File{named(t, "Bass|2 43", "Pad|4 60"), named(t, groove...)}, "[[0] [1]]",
			"b.mid is a loop of its own: the names of 1 of the 2 parts of a.mid are in it"},
		{"a first file of one part is completed", []*smf.File{named(t, "Bass|2 43"), named(t, groove...)}, "[[0 1]]", ""},
		{"fewer than half do", []*smf.File{named(t, groove...), named(t, "Bass|2 43", "Pad|4 60", "Lead|5 72")}, "[[0 1]]",
			"b.mid plays together with a.mid, though both have a bass; b=b.mid makes it a loop of its own"},
		{"other names", []*smf.File{named(t, groove...), named(t, "Drum|10 36", "Sub|2 43", "Tick|10 42")}, "[[0 1]]",
			"b.mid plays together with a.mid, though both have a kick and a hat; b=b.mid makes it a loop of its own"},
		{"other names and other roles", []*smf.File{named(t, groove...), named(t, "Pad|4 60", "Lead|5 72")}, "[[0 1]]", ""},
		{"one part is never a loop", []*smf.File{named(t, groove...), named(t, "Bass|2 43")}, "[[0 1]]", ""},
		{"patterns exported one by one", []*smf.File{named(t, "Kick|10 36"), named(t, "Bass|2 40"), named(t, "Bass|2 43"), named(t, "Perc|10 63"), named(t, "Perc|10 64")}, "[[0 1 2 3 4]]", ""},
		{"default names say nothing, three roles do", []*smf.File{loop(t, kit), loop(t, kit)}, "[[0] [1]]",
			"b.mid is a loop of its own: its roles kick, snare, hat are those of a.mid"},
		{"two roles are too few", []*smf.File{loop(t, kit), loop(t, kit[:strings.LastIndex(kit, "\n")])}, "[[0 1]]",
			"b.mid plays together with a.mid, though both have a kick and a hat; b=b.mid makes it a loop of its own"},
		{"a name that all tracks share says nothing", []*smf.File{named(t, "My Song|10 36", "My Song|2 40"), named(t, "My Song|10 36", "My Song|2 43")}, "[[0 1]]",
			"b.mid plays together with a.mid, though both have a bass and a kick; b=b.mid makes it a loop of its own"},
		{"without names and a role in both, they complete each other", []*smf.File{loop(t, kit), loop(t, "\"\" 2 72 x---------------\n\"\" 3 60 x-------x-------")}, "[[0 1]]", ""},
		{"what completes goes to the loop before it", []*smf.File{named(t, groove...), named(t, "Kick|10 36", "Bass|2 43"), named(t, "Lead|5 72")}, "[[0] [1 2]]",
			"b.mid is a loop of its own: the names of 2 of its 2 parts are those of a.mid"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			var in []listen.Input
			for i, f := range row.files {
				in = append(in, listen.Input{Name: string(rune('a'+i)) + ".mid", File: f})
			}
			loops, told := listen.Apart(in)
			if got := fmt.Sprint(loops); got != row.loops || strings.Join(told, "\n") != row.told {
				t.Errorf("got  %s, told %q\nwant %s, told %q", got, told, row.loops, row.told)
			}
		})
	}
}

func taped(t testing.TB, files ...*smf.File) (*listen.Tape, []string, error) {
	t.Helper()
	var loops []listen.Looped
	for i, f := range files {
		name := string(rune('a' + i))
		file, l, _, err := listen.FindLoop(f, listen.LoopOptions{Names: []string{name}})
		if err != nil {
			t.Fatal(err)
		}
		loops = append(loops, listen.Looped{Name: name, From: name + ".mid", File: file, Loop: l})
	}
	return listen.NewTape(loops)
}

// onTape shows the parts of a tape, each with its channel and the onsets in each loop as a step grid.
func onTape(t testing.TB, tape *listen.Tape, overrides ...listen.Override) string {
	t.Helper()
	s, _, err := tape.Hear(overrides)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, p := range s.Parts {
		line := fmt.Sprintf("%s %d", p.Name, p.Channel+1)
		for _, l := range tape.Loops {
			r := s.BarRange(l.Bar, l.Bar+l.Bars-1)
			steps := []byte(strings.Repeat(".", int(r.Len()*4/s.Time().PPQ())))
			for _, n := range s.In(p, r) {
				steps[max(n.Start-r.Start, 0)*4/s.Time().PPQ()] = 'x'
			}
			line += " " + string(steps)
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n")
}

// twoOfAName has two tracks of one name.
func twoOfAName(t testing.TB) *smf.File {
	f := named(t, "Kick|10 36", "Bass|2 43", "Clap|10 39", "Bazz|4 40")
	for i := range f.Tracks {
		tr := &f.Tracks[i]
		*tr = smf.TrackFromStore(tr.Events, tr.End, bytes.ReplaceAll(tr.LongStore(), []byte("Bazz"), []byte("Bass")))
	}
	f.Tracks = slices.Delete(f.Tracks, 2, 3)
	return f
}

func TestOneInstrumentIsOnePartOnTheTape(t *testing.T) {
	program := func(f *smf.File, track int, channel, p byte) *smf.File {
		f.Tracks[track].Events = slices.Insert(f.Tracks[track].Events, 0, smf.Channel(0, 0xC0|channel-1, p, 0))
		return f
	}
	full := program(named(t, "Kick|10 36", "Bass|2 40", "Lead|3 72"), 2, 3, 80)
	for _, row := range []struct {
		rule  string
		files []*smf.File
		want  string
		told  string
	}{
		{"by name and channel", []*smf.File{named(t, "Kick|10 36", "Bass|2 40"), named(t, "Bass|2 43", "Kick|10 36")},
			"kick 10 x...x...x...x... ..x...x...x...x.\nbass 2 ..x...x...x...x. x...x...x...x...", ""},
		{"by name alone, on the first one's channel", []*smf.File{named(t, "Kick|10 36", "Bass|2 40"), named(t, "Bass|5 43", "Kick|10 36")},
			"kick 10 x...x...x...x... ..x...x...x...x.\nbass 2 ..x...x...x...x. x...x...x...x...", ""},
		{"what the first does not have is a part of its own", []*smf.File{named(t, "Kick|10 36", "Bass|2 40"), named(t, "Kick|10 36", "Pad|4 60")},
			"kick 10 x...x...x...x... x...x...x...x...\nbass 2 ..x...x...x...x. ................\npad 4 ................ ..x...x...x...x.", ""},
		{"a channel of another sound gives way", []*smf.File{full, program(named(t, "Kick|10 36", "Bass|2 40", "Pad|3 60"), 2, 3, 90)},
			"kick 10 x...x...x...x... x...x...x...x...\nbass 2 ..x...x...x...x. ..x...x...x...x.\nlead 3 ....x.......x... ................\npad 1 ................ ....x.......x...",
			`b: "Pad" plays on channel 1, since channel 3 has another sound`},
		{"by role where names say nothing", []*smf.File{program(named(t, "Kick|10 36", "Bass|2 40"), 1, 2, 38), program(named(t, "Track 1|7 43", "Track 2|10 36"), 0, 7, 38)},
			"kick 10 x...x...x...x... ..x...x...x...x.\nbass 2 ..x...x...x...x. x...x...x...x...", ""},
		{"by channel and program where a name says another role than the sound", []*smf.File{program(oneTrack(named(t, "Kick|10 36", "Stab|3 60")), 0, 3, 81), program(named(t, "Kick|10 36", "Stab|3 64"), 1, 3, 81)},
			"lead 3 ..x...x...x...x. ..x...x...x...x.\nkick 10 x...x...x...x... x...x...x...x...", ""},
		{"each once: of two of one name the second is a part of its own", []*smf.File{named(t, "Kick|10 36", "Bass|2 40"), twoOfAName(t)},
			"kick 10 x...x...x...x... x...x...x...x...\nbass 1 2 ..x...x...x...x. ..x...x...x...x.\nbass 2 4 ................ x..x..x...x..x..", ""},
		{"each once: of two of one role the second is a part of its own", []*smf.File{named(t, "Track 1|10 36", "Track 2|2 36"), named(t, "Track 1|10 36", "Track 2|2 36", "Track 3|3 62", "Track 4|5 36")},
			"kick 10 x...x...x...x... x...x...x...x...\nbass 1 2 ..x...x...x...x. ..x...x...x...x.\nsnare 3 ................ ....x.......x...\nbass 2 5 ................ x..x..x...x..x..", ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			tape, told, err := taped(t, row.files...)
			if err != nil {
				t.Fatal(err)
			}
			if got := onTape(t, tape); got != row.want || strings.Join(told, "\n") != row.told {
				t.Errorf("got\n%s\nwant\n%s\ntold %q, want %q", got, row.want, told, row.told)
			}
		})
	}
}

// Sixteen channels are all there are (MIDI 1.0, p. 5): where all are taken the conflict stays, and is told.
func TestWhereNoChannelIsFree(t *testing.T) {
	withProgram := func(f *smf.File, p byte) *smf.File {
		for i := range f.Tracks {
			for _, ev := range f.Tracks[i].Events {
				if ev.IsOn() {
					f.Tracks[i].Events = slices.Insert(f.Tracks[i].Events, 0, smf.Channel(0, 0xC0|ev.Chan(), p, 0))
					break
				}
			}
		}
		return f
	}
	var rows []string
	for c := 1; c <= 16; c++ {
		rows = append(rows, fmt.Sprintf("Part %c|%d %d", 'A'+c-1, c, 40+c))
	}
	const none = `b: "Pad" shares channel 3 with another sound: no channel is free`
	for _, row := range []struct {
		taken []string
		want  string
	}{{rows, none}, {rows[:15], `b: "Pad" plays on channel 16, since channel 3 has another sound`}, {slices.Concat(rows[:9], rows[10:]), none}} { // channel 10 is for drums
		want := row.want
		tape, told, err := taped(t, withProgram(named(t, row.taken...), 10), withProgram(named(t, "Part A|1 41", "Pad|3 60"), 90))
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(told, "\n"); got != want {
			t.Errorf("told %q, want %q", got, want)
		}
		s, _, err := tape.Hear(nil)
		if v := s.Check(); err != nil || len(v) > 0 {
			t.Errorf("the tape: %v, %v", v, err)
		}
	}
}

func TestAnInstrumentTakesTheTrackOnWhichTheFirstLoopRests(t *testing.T) {
	a := named(t, "Kick|10 36", "Bass|2 40")
	var rests smf.Track
	rests.AppendMeta(0, smf.MetaTrackName, []byte("Pad"))
	rests.End = bar
	a.Tracks = append(a.Tracks, rests)
	tape, _, err := taped(t, a, named(t, "Kick|10 36", "Pad|4 60"))
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := tape.Hear(nil)
	if err != nil || len(s.Tracks) != 3 || s.Parts[s.Index("pad")].Track != 2 {
		t.Errorf("%d tracks, want the pad on the third of three: %v", len(s.Tracks), err)
	}
}

func TestAKitIsSplitOnTheKeysOfAllLoops(t *testing.T) {
	a := loop(t, "\"Drums\" 10 36 x...x...x...x...\n\"Drums\" 10 42 ..x...x...x...x.\n\"Bass\" 2 40 "+lowLine)
	b := loop(t, "\"Drums\" 10 36 x.......x.......\n\"Drums\" 10 44 x.x.x.x.x.x.x.x.\n\"Drums\" 10 39 ....x.......x...\n\"Bass\" 2 40 "+lowLine)
	tape, _, err := taped(t, a, b)
	if err != nil {
		t.Fatal(err)
	}
	want := "kick 10 x...x...x...x... x.......x.......\nclap 10 ................ ....x.......x...\nhat 10 ..x...x...x...x. x.x.x.x.x.x.x.x.\nbass 2 x..x..x...x..x.. x..x..x...x..x.."
	if got := onTape(t, tape); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	// of a loop that has one sound of the kit alone too
	one := loop(t, "\"Drums\" 10 70 xxxxxxxxxxxxxxxx\n\"Bass\" 2 40 "+lowLine)
	if tape, _, err = taped(t, one, a); err != nil {
		t.Fatal(err)
	}
	want = "kick 10 ................ x...x...x...x...\nhat 10 ................ ..x...x...x...x.\nshaker 10 xxxxxxxxxxxxxxxx ................\nbass 2 x..x..x...x..x.. x..x..x...x..x.."
	if got := onTape(t, tape); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	// and where names say nothing, since nothing else plays on the channel for drums
	kit := loop(t, "\"\" 10 36 x...x...x...x...\n\"\" 10 42 ..x...x...x...x.\n\"\" 2 40 "+lowLine)
	one = loop(t, "\"\" 10 70 xxxxxxxxxxxxxxxx\n\"\" 2 40 "+lowLine)
	for _, row := range []struct {
		files []*smf.File
		want  string
	}{
		{[]*smf.File{oneTrack(kit), oneTrack(one)}, "bass 2 x..x..x...x..x.. x..x..x...x..x..\nkick 10 x...x...x...x... ................\nhat 10 ..x...x...x...x. ................\nshaker 10 ................ xxxxxxxxxxxxxxxx"},
		{[]*smf.File{oneTrack(one), oneTrack(kit)}, "bass 2 x..x..x...x..x.. x..x..x...x..x..\nkick 10 ................ x...x...x...x...\nhat 10 ................ ..x...x...x...x.\nshaker 10 xxxxxxxxxxxxxxxx ................"},
	} {
		tape, _, err := taped(t, row.files...)
		if err != nil {
			t.Fatal(err)
		}
		if got := onTape(t, tape); got != row.want || len(tape.File.Tracks) != 1 {
			t.Errorf("on %d tracks got\n%s\nwant\n%s", len(tape.File.Tracks), got, row.want)
		}
	}
	if tape, _, err = taped(t, a, b); err != nil {
		t.Fatal(err)
	}
	// a recipe's word holds for every loop
	if got := onTape(t, tape, listen.Override{Name: "pedal", TrackName: "Drums", Keys: []int{44}, Role: "hat"}); !strings.Contains(got, "pedal 10 ................ x.x.x.x.x.x.x.x.") {
		t.Errorf("with a part of the recipe's:\n%s", got)
	}
}

// oneTrack returns a file in format 0: its tracks' events on one track.
func oneTrack(f *smf.File) *smf.File {
	out := &smf.File{Division: f.Division, Tracks: []smf.Track{{End: f.Tracks[0].End}}}
	for i := range f.Tracks {
		for _, e := range f.Tracks[i].Events {
			if e.IsChannel() {
				out.Tracks[0].Append(e)
			}
		}
	}
	slices.SortStableFunc(out.Tracks[0].Events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	return out
}

func TestWhatCannotShareATape(t *testing.T) {
	a := named(t, "Kick|10 36", "Bass|2 40")
	waltz := withMeta(loop(t, "\"Kick\" 10 36 x...x...x...\n\"Bass\" 2 40 x...x...x..."), 0, smf.MetaMetre, 3, 2, 24, 8)
	if _, _, err := taped(t, a, waltz); err == nil || err.Error() != "b (b.mid): found the metre 3/4, want 4/4 as in a (a.mid)" {
		t.Errorf("another metre: %v", err)
	}
	if _, _, err := taped(t, a, named(t, "Kick|10 36", "Bass|2 40")); err == nil || err.Error() != "b (b.mid): found the same notes as in a (a.mid), want each loop once" {
		t.Errorf("the same loop twice: %v", err)
	}
	var at *listen.LoopError
	if _, _, err := taped(t, a, named(t, "Kick|10 36", "Bass|2 43"), oneTrack(a)); !errors.As(err, &at) || at.Loop != 2 || err.Error() != "c (c.mid): found the same notes as in a (a.mid), want each loop once" {
		t.Errorf("the same loop in format 0: %v", err)
	}
	fast := withMeta(named(t, "Kick|10 36", "Bass|2 43"), 0, smf.MetaTempo, 6, 0x1A, 0x80)
	tape, told, err := taped(t, withMeta(a, 0, smf.MetaTempo, 7, 0xA1, 0x20), fast)
	if err != nil || strings.Join(told, "\n") != "b: its tempo of 150 bpm is not that of a, 120 bpm, which counts" {
		t.Errorf("another tempo: told %q, %v", told, err)
	}
	s, _, err := tape.Hear(nil)
	if err != nil || s.Time().TempoAt(s.End-1) != 500_000 {
		t.Errorf("the tape ends at %d microseconds a quarter, want 500000: %v", s.Time().TempoAt(s.End-1), err)
	}
}

// Ticks of resolutions that differ meet, a note that rings past its loop stays in it, and one without an end gets one.
func TestLoopsStayApartOnTheTape(t *testing.T) {
	a := named(t, "Kick|10 36", "Bass|2 40")
	note(&a.Tracks[1], 2, 45, bar-step, bar+beat, 90)
	a.Tracks[1].Append(smf.Channel(bar-step, 0x91, 47, 90)) // never closed
	a.Tracks[1].Events = slices.SortedStableFunc(slices.Values(a.Tracks[1].Events), func(x, y smf.Event) int { return int(x.Tick - y.Tick) })
	b := &smf.File{Format: 1, Division: 480, Tracks: make([]smf.Track, 2)}
	for i, name := range []string{"Kick", "Bass"} {
		b.Tracks[i].AppendMeta(0, smf.MetaTrackName, []byte(name))
		note(&b.Tracks[i], []int{10, 2}[i], []int{36, 45}[i], 480, 960, 100)
		b.Tracks[i].End = 1920
	}
	tape, _, err := taped(t, a, b)
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := tape.Hear(nil)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, n := range s.Parts[s.Index("bass")].Notes {
		if n.Key >= 45 {
			got = append(got, fmt.Sprintf("%d:%d-%d open %v", n.Key, n.Start, n.End, n.Is(song.Open)))
		}
	}
	start := s.Time().BarStart(tape.Loops[1].Bar)
	want := []string{"45:1800-2400 open false", "47:1800-1920 open false", fmt.Sprintf("45:%d-%d open false", start+480, start+960)}
	if start%1920 != 0 || start < 2400 || !slices.Equal(got, want) {
		t.Errorf("second loop at %d\ngot  %q\nwant %q", start, got, want)
	}
}

// Heard with its own verdict spelled out, a tape has the same parts.
func TestATapeIsHeardAsWritten(t *testing.T) {
	broken := loop(t, "\"Drums\" 10 36 x..x......x.....\n\"Drums\" 10 38 ....x..x.x..x...\n\"Drums\" 10 42 x.x.x.x.x.x.x.x.\n\"Bass\" 2 40 "+lowLine)
	other := loop(t, "\"Drums\" 10 36 x.x.......x.....\n\"Drums\" 10 38 ....x.......x..x\n\"Drums\" 10 49 x...............\n\"Lead\" 4 72 "+lowLine)
	tape, _, err := taped(t, broken, other)
	if err != nil {
		t.Fatal(err)
	}
	s, r, err := tape.Hear(nil)
	if err != nil {
		t.Fatal(err)
	}
	again, _, err := tape.Hear(r.Overrides(s))
	if err != nil {
		t.Fatal(err)
	}
	show := func(s song.Song) string {
		var b strings.Builder
		for _, p := range s.Parts {
			fmt.Fprintf(&b, "%s %s %s %d %v %d\n", p.Name, p.Role, p.Job, p.Turn, p.Keys.List(), len(p.Notes))
		}
		return b.String()
	}
	if show(s) != show(again) {
		t.Errorf("heard\n%sheard as written\n%s", show(s), show(again))
	}
	if v := s.Check(); len(v) > 0 {
		t.Errorf("the tape breaks a rule: %v", v)
	}
}

func TestAKeyMayBeTwoDrumsInTwoLoops(t *testing.T) {
	a := loop(t, "\"Drums\" 10 36 x...x...x...x...\n\"Drums\" 10 37 ....x.......x...\n\"Bass\" 2 40 "+lowLine)
	b := loop(t, "\"Drums\" 10 36 x.......x.......\n\"Drums\" 10 37 ..x...x...x...x.\n\"Bass\" 2 43 "+lowLine)
	tape, _, err := taped(t, a, b)
	if err != nil {
		t.Fatal(err)
	}
	// by a recipe's word
	says := []listen.Override{{Name: "clap", Keys: []int{37}, Loop: "a"}, {Name: "shaker", Keys: []int{37}, Loop: "b"}}
	want := "kick 10 x...x...x...x... x.......x.......\nclap 10 ....x.......x... ................\nshaker 10 ................ ..x...x...x...x.\nbass 2 x..x..x...x..x.. x..x..x...x..x.."
	if got := onTape(t, tape, says...); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	s, r, err := tape.Hear(says)
	if err != nil {
		t.Fatal(err)
	}
	if got := onTape(t, tape, r.Overrides(s)...); got != want {
		t.Errorf("as written: got\n%s\nwant\n%s", got, want)
	}
	// what one entry leaves of a key is what it was
	want = "kick 10 x...x...x...x... x.......x.......\nrim 10 ....x.......x... ................\nshaker 10 ................ ..x...x...x...x.\nbass 2 x..x..x...x..x.. x..x..x...x..x.."
	if got := onTape(t, tape, says[1]); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if s, r, err = tape.Hear(says[1:]); err != nil {
		t.Fatal(err)
	}
	if got := onTape(t, tape, r.Overrides(s)...); got != want {
		t.Errorf("as written: got\n%s\nwant\n%s", got, want)
	}
	// what says it of one loop is narrower than what says it of all, whichever comes first
	for _, order := range [][]int{{0, 1}, {1, 0}} {
		both := []listen.Override{{Name: "tom", Keys: []int{37}}, says[1]}
		got := onTape(t, tape, both[order[0]], both[order[1]])
		if want := strings.Replace(want, "rim 10", "tom 10", 1); !sameLines(got, want) {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
	// by a track's name: a track of one sound is what it is called, a kit is split by its keys
	one := loop(t, "\"Kick\" 10 36 x...x...x...x...\n\"Clap\" 10 37 ....x.......x...\n\"Bass\" 2 40 "+lowLine)
	two := loop(t, "\"Kick\" 10 36 x.......x.......\n\"Clap\" 10 37 ..x...x...x...x.\n\"Clap\" 10 39 x...............\n\"Bass\" 2 43 "+lowLine)
	if tape, _, err = taped(t, one, two); err != nil {
		t.Fatal(err)
	}
	want = "kick 10 x...x...x...x... x.......x.......\nclap 10 ....x.......x... x...............\nrim 10 ................ ..x...x...x...x.\nbass 2 x..x..x...x..x.. x..x..x...x..x.."
	if got := onTape(t, tape); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if s, r, err = tape.Hear(nil); err != nil {
		t.Fatal(err)
	}
	if got := onTape(t, tape, r.Overrides(s)...); got != want {
		t.Errorf("as written: got\n%s\nwant\n%s", got, want)
	}
}

func sameLines(a, b string) bool {
	return slices.Equal(slices.Sorted(slices.Values(strings.Split(a, "\n"))), slices.Sorted(slices.Values(strings.Split(b, "\n"))))
}

func TestPlacesCountFromWhereALoopBegins(t *testing.T) {
	// the first loop and the empty bar behind it are an odd number of bars
	a := loop(t, "\"Drums\" 10 36 x...x...x...x...|x...x...x...x...\n\"Bass\" 2 40 "+lowLine+"|"+lowLine)
	b := loop(t, "\"Drums\" 10 36 x...x...x...x...|..x...x...x...x.\n\"Bass\" 2 43 "+lowLine+"|"+lowLine)
	tape, _, err := taped(t, a, b)
	if err != nil {
		t.Fatal(err)
	}
	got := onTape(t, tape, listen.Override{Name: "kick-one", TrackName: "Drums", At: []string{"1.1", "2.4"}})
	want := "kick-one 10 x...........................x... x..............................."
	if !strings.Contains(got, want) {
		t.Errorf("got\n%s\nwant a line\n%s", got, want)
	}
}

func TestCyclesInEachLoop(t *testing.T) {
	four := "\"Kick\" 10 36 x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...\n\"Hat\" 10 42 x...............|x.x.............|................|................\n\"Bass\" 2 40 " + strings.Repeat(lowLine+"|", 3) + lowLine
	two := "\"Kick\" 10 36 x...x...x...x...|x...x...x...x...\n\"Hat\" 10 42 x.x.x...........|x.x.x.x.........\n\"Bass\" 2 43 " + lowLine + "|" + lowLine
	for _, row := range []struct {
		rule string
		says listen.Override
		want string // the hat's cycles in ticks of 96 a quarter, a loop each, or what is wrong
		told string
	}{
		{"in the loops that are as long or longer", listen.Override{Name: "hat", Cycle: 2}, "768 0", ""},
		{"in both", listen.Override{Name: "hat", Cycle: 1}, "384 384", "a: track 2 \"Hat\": what lies past bar 1 is not played: 2 notes\n" + `b: track 2 "Hat": what lies past bar 1 is not played: 4 notes`},
		{"in each its own", listen.Override{Name: "hat", Cycles: []listen.LoopCycle{{Loop: "a", Bars: 2}, {Loop: "b", Bars: 1}}}, "768 384", `b: track 2 "Hat": what lies past bar 1 is not played: 4 notes`},
		{"longer than all", listen.Override{Name: "hat", Cycle: 5}, "parts.hat.cycle: found 5 bars, want 1 to 4", ""},
		{"longer than the one", listen.Override{Name: "hat", Cycles: []listen.LoopCycle{{Loop: "b", Bars: 3}}}, "parts.hat.cycle: found 3, want 1 to 2", ""},
		{"of a loop that is not there", listen.Override{Name: "hat", Cycles: []listen.LoopCycle{{Loop: "c", Bars: 2}}}, `parts.hat.cycle: found "c", want one of the loops a, b`, ""},
		{"notes of a loop that is not there", listen.Override{Name: "ride", Keys: []int{42}, Loop: "bb"}, `parts.ride.loop: found "bb", want one of the loops a, b; did you mean "b"?`, ""},
		{"a loop alone", listen.Override{Name: "hat", Loop: "a"}, "parts.hat.loop: found a loop alone, want a track, name, channel or key beside it", ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			tape, _, err := taped(t, loop(t, four), loop(t, two))
			if err != nil {
				t.Fatal(err)
			}
			s, r, err := tape.Hear([]listen.Override{row.says})
			got := fmt.Sprint(err)
			if err == nil {
				track := s.Parts[s.Index("hat")].Track
				got = fmt.Sprint(r.Loops[0].Cycles[track], r.Loops[1].Cycles[track])
				if _, again, err := tape.Hear(r.Overrides(s)); err != nil || fmt.Sprint(again.Loops) != fmt.Sprint(r.Loops) {
					t.Errorf("as written: %v, %v, want %v", err, again.Loops, r.Loops)
				}
			}
			if told := strings.Join(r.Told, "\n"); got != row.want || told != row.told {
				t.Errorf("got %s, told %q\nwant %s, told %q", got, told, row.want, row.told)
			}
			if slices.Max(tape.Loops[0].Cycles)+slices.Max(tape.Loops[1].Cycles) > 0 {
				t.Error("the tape has been written to")
			}
		})
	}
	// a loop in which the part is silent
	tape, _, err := taped(t, loop(t, four), loop(t, strings.ReplaceAll(two, "Hat\" 10 42", "Ride\" 10 51")))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		says listen.Override
		want string
	}{
		{listen.Override{Name: "hat", Cycles: []listen.LoopCycle{{Loop: "b", Bars: 1}}}, `parts.hat.cycle: found "b", want a loop in which it plays`},
		{listen.Override{Name: "tick", TrackName: "Hat", Track: 2, Loop: "b"}, `parts.tick.loop: found "b", want a loop in which that plays`},
	} {
		if _, _, err := tape.Hear([]listen.Override{row.says}); fmt.Sprint(err) != row.want {
			t.Errorf("got  %v\nwant %s", err, row.want)
		}
	}
}
