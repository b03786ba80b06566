package listen_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
)

// track makes a track of notes of a 1/16 at the ticks given, on channel 1 and key 60, that ends at end.
func track(end smf.Tick, onsets ...smf.Tick) smf.Track {
	var t smf.Track
	for _, at := range onsets {
		note(&t, 1, 60, at, at+step, 100)
	}
	t.End = end
	return t
}

// timed makes a file of tracks after a first one with 120 bpm and 4/4, which ends where it starts.
func timed(tracks ...smf.Track) *smf.File {
	var conductor smf.Track
	conductor.AppendMeta(0, 0x51, []byte{0x07, 0xA1, 0x20}) // 120 bpm, RP-001 p. 9
	conductor.AppendMeta(0, 0x58, []byte{4, 2, 24, 8})      // 4/4, RP-001 p. 10
	return &smf.File{Format: 1, Division: ppq, Tracks: append([]smf.Track{conductor}, tracks...)}
}

// onsets lists a track's onsets in ticks.
func onsets(t smf.Track) []smf.Tick {
	var out []smf.Tick
	for _, e := range t.Events {
		if e.IsOn() {
			out = append(out, e.Tick)
		}
	}
	return out
}

func find(t testing.TB, f *smf.File, o listen.LoopOptions) (*smf.File, listen.Loop, string) {
	t.Helper()
	before, err := f.Encode()
	if err != nil {
		t.Fatal(err)
	}
	g, l, told, err := listen.FindLoop(f, o)
	if err != nil {
		t.Fatal(err)
	}
	if after, err := f.Encode(); err != nil || string(after) != string(before) {
		t.Error("the file it got is not what it was")
	}
	if _, err := g.Encode(); err != nil {
		t.Errorf("the loop cannot be written: %v", err)
	}
	return g, l, strings.Join(told, "\n")
}

func TestLoopLength(t *testing.T) {
	for _, row := range []struct {
		rule string
		file *smf.File
		bars int
	}{
		{"the latest end of track, if it stands on a bar line", timed(track(3*bar, 0), track(2*bar, 0)), 3},
		{"a conductor's end of track counts", func() *smf.File { f := timed(track(step, 0)); f.Tracks[0].End = 4 * bar; return f }(), 4},
		{"else the bar of the last onset", timed(track(bar+beat, 0, bar)), 2},
		{"rounded up to 4", timed(track(2*bar+step, 0, 2*bar)), 4},
		{"rounded up to 8", timed(track(4*bar+step, 0, 4*bar)), 8},
		{"rounded up to 12", timed(track(8*bar+step, 0, 8*bar)), 12},
		{"rounded up to 16", timed(track(12*bar+step, 0, 12*bar)), 16},
		{"rounded up to 24", timed(track(16*bar+step, 0, 16*bar)), 24},
		{"rounded up to 32", timed(track(24*bar+step, 0, 24*bar)), 32},
		{"then by eights", timed(track(32*bar+step, 0, 32*bar)), 40},
		{"a loop shorter than a bar is one bar", timed(track(beat, 0)), 1},
		{"a tail that rings past the line makes no new bar", func() *smf.File {
			f := timed(track(0, 0))
			note(&f.Tracks[1], 1, 48, bar+beat, 2*bar+beat, 100)
			return f
		}(), 2},
		{"an early note counts to the bar it stands in", timed(track(2*bar+beat, 0, 2*bar-5)), 2},
	} {
		t.Run(row.rule, func(t *testing.T) {
			_, l, _ := find(t, row.file, listen.LoopOptions{})
			if l.Bars != row.bars || l.Len != smf.Tick(row.bars)*bar {
				t.Errorf("found %d bars, %d ticks; want %d", l.Bars, l.Len, row.bars)
			}
		})
	}
}

func TestRoundedLengthIsTold(t *testing.T) {
	_, _, told := find(t, timed(track(4*bar+step, 0, 4*bar)), listen.LoopOptions{})
	const want = "the last note starts in bar 5 and the end of track says no more: the loop is taken to be 8 bars long"
	if told != want {
		t.Errorf("told %q, want %q", told, want)
	}
}

func TestLoopBarsOverride(t *testing.T) {
	f := timed(track(4*bar, 0, bar, 2*bar, 3*bar))
	note(&f.Tracks[1], 1, 48, beat, 3*bar, 100) // rings past the line
	f.Tracks[1].Append(smf.Channel(4*bar, 0xB0, 7, 90))
	f.Tracks[1].End = 4 * bar
	g, l, told := find(t, f, listen.LoopOptions{LoopBars: 2})
	if l.Bars != 2 || !slices.Equal(onsets(g.Tracks[1]), []smf.Tick{0, beat, bar}) {
		t.Errorf("%d bars, onsets %v; want 2 bars, nothing from the line on", l.Bars, onsets(g.Tracks[1]))
	}
	if end := g.Tracks[1].End; end != 3*bar {
		t.Errorf("ends at %d, want %d: the tail rings", end, 3*bar)
	}
	if want := "what lies past bar 2 is dropped: 2 notes"; told != want {
		t.Errorf("told %q, want %q", told, want)
	}
	for _, e := range g.Tracks[1].Events {
		if e.Kind() == 0xB0 {
			t.Error("the controller past the line is still there")
		}
	}
	if _, l, told = find(t, f, listen.LoopOptions{LoopBars: 8}); l.Bars != 8 || told != "" {
		t.Errorf("%d bars, told %q; want 8, the rest silent", l.Bars, told)
	}
}

// A change of metre in mid-bar cuts that bar short. Where the loop ends there, the change is not of the loop: its last bar
// is whole, so that the next pass starts on a bar line, and nothing from past the change comes in.
func TestALastBarThatAMetreChangeCutsIsWhole(t *testing.T) {
	for _, row := range []struct {
		rule     string
		change   smf.Tick
		loopBars int
		want     []smf.Tick
		told     string
	}{
		{"the end of track stands on the change", 2*bar - beat, 0, []smf.Tick{0, bar},
			"a change of metre cuts bar 2 short, where the loop ends: it is taken to be a whole bar of 4/4"},
		{"bars were asked for and the song goes on", 2*bar - beat, 2, []smf.Tick{0, bar},
			"what lies past bar 2 is dropped: 2 notes\na change of metre cuts bar 2 short, where the loop ends: it is taken to be a whole bar of 4/4"},
		{"a change on the bar line cuts nothing", 2 * bar, 2, []smf.Tick{0, bar}, "what lies past bar 2 is dropped: 2 notes"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			f := timed(track(row.change, 0, bar))
			if row.loopBars > 0 {
				f = timed(track(row.change+bar, 0, bar, row.change, row.change+step))
			}
			f.Tracks[0].AppendMeta(row.change, 0x58, []byte{3, 2, 24, 8})
			g, l, told := find(t, f, listen.LoopOptions{LoopBars: row.loopBars})
			if l.Bars != 2 || l.Len != 2*bar || !slices.Equal(onsets(g.Tracks[1]), row.want) || told != row.told {
				t.Errorf("%d bars, %d ticks, onsets %v, told %q; want 2 bars, %d ticks, %v, %q", l.Bars, l.Len, onsets(g.Tracks[1]), told, 2*bar, row.want, row.told)
			}
			if end := g.Tracks[1].End; end != 2*bar {
				t.Errorf("ends at %d, want %d", end, 2*bar)
			}
		})
	}
}

// A note can ring for longer than a file can say at once, where what stands between its start and its end is cut.
func TestANoteThatRingsPastWhatAFileCanSayEndsThere(t *testing.T) {
	f := timed(track(0, 0))
	note(&f.Tracks[1], 1, 48, beat, smf.MaxTicks+bar, 100)
	f.Tracks[1].Append(smf.Channel(bar+beat, 0xC0, 24, 0))
	slices.SortStableFunc(f.Tracks[1].Events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	f.Tracks[1].End = smf.MaxTicks + bar
	g, l, _ := find(t, f, listen.LoopOptions{LoopBars: 1})
	if events := g.Tracks[1].Events; l.Bars != 1 || events[len(events)-1].Tick != smf.MaxTicks {
		t.Errorf("%d bars, the last event at %d; want 1 and %d", l.Bars, events[len(events)-1].Tick, smf.MaxTicks)
	}
}

func TestEmptyBarsAtTheStart(t *testing.T) {
	f := timed(track(6*bar, 2*bar+beat, 3*bar), track(6*bar, 4*bar))
	f.Tracks[1].Events = slices.Insert(f.Tracks[1].Events, 0,
		smf.Channel(0, 0xC0, 33, 0), smf.Channel(bar, 0xB0, 74, 20), smf.Channel(2*bar-step, 0xB0, 74, 90))
	f.Tracks[0].AppendMeta(bar, 0x51, []byte{0x06, 0xDD, 0xD0}) // 133.3 bpm
	g, l, told := find(t, f, listen.LoopOptions{})
	if l.Bars != 4 || !slices.Equal(onsets(g.Tracks[1]), []smf.Tick{beat, bar}) || !slices.Equal(onsets(g.Tracks[2]), []smf.Tick{2 * bar}) {
		t.Errorf("%d bars, onsets %v and %v; want 4 bars, the empty two gone", l.Bars, onsets(g.Tracks[1]), onsets(g.Tracks[2]))
	}
	var setUp []string
	for _, e := range g.Tracks[1].Events {
		if e.Tick == 0 {
			setUp = append(setUp, fmt.Sprintf("%x %d %d", e.Status(), e.Data1(), e.Data2()))
		}
	}
	if got := strings.Join(setUp, ", "); got != "c0 33 0, b0 74 20, b0 74 90" {
		t.Errorf("set-up at tick 0: %s", got)
	}
	if tl, _, _ := g.Timeline(); tl.TempoAt(0) != 0x06DDD0 {
		t.Errorf("tempo at the start %d, want the one in force there, %d", tl.TempoAt(0), 0x06DDD0)
	}
	if want := "bars 1-2 are empty at the start in all tracks: dropped, the set-up in them kept"; told != want {
		t.Errorf("told %q, want %q", told, want)
	}
}

func TestBarsEmptyInOneTrackStay(t *testing.T) {
	g, _, told := find(t, timed(track(4*bar, 2*bar), track(4*bar, 0)), listen.LoopOptions{})
	if told != "" || !slices.Equal(onsets(g.Tracks[1]), []smf.Tick{2 * bar}) {
		t.Errorf("told %q, onsets %v; want nothing dropped", told, onsets(g.Tracks[1]))
	}
}

// An onset less than a 1/64 note (6 ticks) before the first bar belongs to it.
func TestEarlyNoteBeforeTheFirstBar(t *testing.T) {
	for _, row := range []struct {
		rule string
		file *smf.File
		want []smf.Tick
		bars int
	}{
		{"it moves to the end of the loop and leads into bar 1 from there",
			timed(track(5*bar, bar-5, 2*bar)), []smf.Tick{bar, 4*bar - 5}, 4},
		{"a 1/64 before it stands in the bar before, which is kept",
			timed(track(5*bar, bar-6, 2*bar)), []smf.Tick{bar - 6, 2 * bar}, 5},
		{"where the loop's end strikes that key already, it adds nothing",
			timed(track(5*bar+step, bar-5, 2*bar, 5*bar-3)), []smf.Tick{bar, 4*bar - 3}, 4},
		{"alone it makes a loop of one bar",
			timed(track(bar+beat, bar-5)), []smf.Tick{bar - 5}, 1},
	} {
		t.Run(row.rule, func(t *testing.T) {
			g, l, _ := find(t, row.file, listen.LoopOptions{})
			if l.Bars != row.bars || !slices.Equal(onsets(g.Tracks[1]), row.want) {
				t.Errorf("%d bars, onsets %v; want %d, %v", l.Bars, onsets(g.Tracks[1]), row.bars, row.want)
			}
		})
	}
}

func TestTempoAndMetreOfAFileThatHasNone(t *testing.T) {
	bare := func() *smf.File {
		return &smf.File{Format: 1, Division: ppq, Tracks: []smf.Track{track(bar, 0)}}
	}
	metreOnly := bare()
	metreOnly.Tracks[0].Events = nil
	metreOnly.Tracks[0].AppendMeta(0, 0x58, []byte{3, 2, 24, 8})
	note(&metreOnly.Tracks[0], 1, 60, 0, step, 100)
	for _, row := range []struct {
		rule   string
		file   *smf.File
		opts   listen.LoopOptions
		micros uint32 // 60,000,000 / bpm, rounded
		metre  smf.Metre
		told   string
	}{
		{"120 and 4/4", bare(), listen.LoopOptions{}, 500000, smf.Metre{Num: 4, Den: 4},
			"no tempo in the file: 120 bpm assumed\nno metre in the file: 4/4 assumed"},
		{"the options", bare(), listen.LoopOptions{BPM: 132_000, Metre: smf.Metre{Num: 7, Den: 8}}, 454545, smf.Metre{Num: 7, Den: 8},
			"no tempo in the file: 132 bpm as asked\nno metre in the file: 7/8 as asked"},
		{"the file's name", bare(), listen.LoopOptions{Names: []string{"loop 132bpm.mid"}}, 454545, smf.Metre{Num: 4, Den: 4},
			"no tempo in the file: 132 bpm by the name \"loop 132bpm.mid\"\nno metre in the file: 4/4 assumed"},
		{"the options before the name", bare(), listen.LoopOptions{BPM: 127_500, Names: []string{"loop 132bpm.mid"}}, 470588, smf.Metre{Num: 4, Den: 4},
			"no tempo in the file: 127.5 bpm as asked\nno metre in the file: 4/4 assumed"},
		{"what the file has counts", metreOnly, listen.LoopOptions{Metre: smf.Metre{Num: 4, Den: 4}}, 500000, smf.Metre{Num: 3, Den: 4},
			"no tempo in the file: 120 bpm assumed\nthe file has a metre of its own: 4/4 is not used"},
		{"nothing is told where the file says the same", timed(track(bar, 0)), listen.LoopOptions{BPM: 120_000, Metre: smf.Metre{Num: 4, Den: 4}},
			500000, smf.Metre{Num: 4, Den: 4}, ""},
		{"a tempo beside the file's own is not used", timed(track(bar, 0)), listen.LoopOptions{BPM: 132_000},
			500000, smf.Metre{Num: 4, Den: 4}, "the file has a tempo of its own: 132 bpm is not used"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			g, _, told := find(t, row.file, row.opts)
			// The last line is about the length in another metre than the grid's.
			if got, _, _ := strings.Cut(told, "\nthe last note"); got != row.told {
				t.Errorf("told %q, want %q", got, row.told)
			}
			tl, _, err := g.Timeline()
			if err != nil || tl.TempoAt(0) != row.micros || tl.MetreIn(1) != row.metre {
				t.Errorf("%d us a quarter, %s; want %d, %s", tl.TempoAt(0), tl.MetreIn(1), row.micros, row.metre)
			}
			kinds := map[byte]int{}
			for _, tr := range g.Tracks {
				for _, e := range tr.Events {
					if kind, meta := e.MetaType(); meta {
						kinds[kind]++
					}
				}
			}
			if kinds[0x51] != 1 || kinds[0x58] != 1 {
				t.Errorf("%d tempi and %d metres stand in the file, want one each", kinds[0x51], kinds[0x58])
			}
		})
	}
}

func TestTempoInNames(t *testing.T) {
	for _, row := range []struct {
		name string
		want string // told; "" for none
	}{
		{"loop 132bpm.mid", "132"}, {"loop 132 bpm.mid", "132"}, {"bpm132.mid", "132"}, {"132BPM", "132"}, {"BPM-128 loop", "128"},
		{"127.5bpm.mid", "127.5"}, {"loop_126_bpm_v2", "126"}, {"a bpm b 140bpm", "140"}, {"tracks/2024/loop-174bpm.mid", "174"},
		{"loop.mid", ""}, {"132.mid", ""}, {"bpm.mid", ""}, {"2bpm.mid", ""}, {"9999bpm.mid", ""}, {"bpm 1.2345", ""}, {"99999999999bpm", ""},
	} {
		want := "no tempo in the file: 120 bpm assumed"
		if row.want != "" {
			want = fmt.Sprintf("no tempo in the file: %s bpm by the name %q", row.want, row.name)
		}
		_, _, told := find(t, &smf.File{Format: 1, Division: ppq, Tracks: []smf.Track{track(bar, 0)}}, listen.LoopOptions{Names: []string{row.name}})
		if got, _, _ := strings.Cut(told, "\n"); got != want {
			t.Errorf("told %q, want %q", got, want)
		}
	}
}

func TestOwnCycles(t *testing.T) {
	eight := track(8*bar, 0, 4*bar, 7*bar)
	metreChange := timed(eight, track(4*bar, 0, 2*bar))
	metreChange.Tracks[0].AppendMeta(4*bar, 0x58, []byte{3, 2, 24, 8})
	for _, row := range []struct {
		rule  string
		file  *smf.File
		want  smf.Tick // cycle of the third track
		bars  int      // of the loop
		tells string
	}{
		{"a track that ends on a bar line before the loop does", timed(eight, track(4*bar, 0, 2*bar)), 4 * bar, 8, "track 3 repeats every 4 bars"},
		{"three bars against eight", timed(eight, track(3*bar, 0, 2*bar)), 3 * bar, 8, "track 3 repeats every 3 bars"},
		{"not where its end is on no bar line", timed(eight, track(3*bar+beat, 0, 2*bar)), 0, 8, ""},
		{"not without an onset in its second half", timed(eight, track(4*bar, 0, bar)), 0, 8, ""},
		{"an onset in the middle is in the second half", timed(eight, track(2*bar, bar)), 2 * bar, 8, "track 3 repeats every 2 bars"},
		{"not where no track of the file ends past its last event", timed(track(8*bar, 8*bar-step), track(4*bar, 0, 4*bar-step)), 0, 8, ""},
		{"some other track that does is enough", timed(eight, track(4*bar, 0, 4*bar-step)), 4 * bar, 8, "track 3 repeats every 4 bars"},
		{"not where it is as long as the loop", timed(eight, track(8*bar, 0, 6*bar)), 0, 8, ""},
		{"not in a loop with metre changes", metreChange, 0, 0, ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			g, l, told := find(t, row.file, listen.LoopOptions{})
			told, _, _ = strings.Cut(told, "the last note")
			if l.Cycles[2] != row.want || row.bars > 0 && l.Bars != row.bars || told != row.tells {
				t.Errorf("cycle %d, %d bars, told %q; want %d, %d, %q", l.Cycles[2], l.Bars, told, row.want, row.bars, row.tells)
			}
			if len(l.Cycles) != len(g.Tracks) || l.Cycles[0] != 0 || l.Cycles[1] != 0 {
				t.Errorf("cycles %v, want none for the others", l.Cycles)
			}
		})
	}
}

func TestCycleOverrides(t *testing.T) {
	file := func() *smf.File {
		return loop(t, `"Bass" 1 36 ..x-..x-..x-..x-|..x-..x-..x-..x-|................|x...............
			"Lead" 2 72 x...............|................|................|x...............
			"Kit" 10 36 x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
			"Kit" 10 42 ..x...x...x...x.|................|................|................`)
	}
	g, l, told := find(t, file(), listen.LoopOptions{Overrides: []listen.Override{{Name: "bass", Cycle: 2}, {Name: "melody", Track: 2, Cycle: 4}}})
	if want := []smf.Tick{2 * bar, 0, 0}; !slices.Equal(l.Cycles, want) {
		t.Errorf("cycles %v, want %v", l.Cycles, want)
	}
	if n := len(onsets(g.Tracks[0])); n != 8 {
		t.Errorf("%d notes are left, want the 8 of the cycle", n)
	}
	if want := `track 1 "Bass": what lies past bar 2 is dropped: 1 note`; !strings.HasSuffix(told, want) {
		t.Errorf("told %q, want %q", told, want)
	}

	changing := file()
	changing.Tracks[0].Events = nil
	changing.Tracks[0].AppendMeta(0, 0x58, []byte{4, 2, 24, 8})
	changing.Tracks[0].AppendMeta(bar, 0x58, []byte{3, 2, 24, 8})
	note(&changing.Tracks[0], 1, 36, 3*bar, 3*bar+step, 100)
	changing.Tracks[0].End = 4 * bar
	for _, row := range []struct {
		rule string
		file *smf.File
		over []listen.Override
		want string
	}{
		{"longer than the loop", file(), []listen.Override{{Name: "lead", Cycle: 5}}, "parts.lead.cycle: found 5 bars, want 1 to 4"},
		{"two on one track", file(), []listen.Override{{Name: "kick", Cycle: 1}, {Name: "hat", Cycle: 2}},
			"parts.hat.cycle: found 2 bars, want 1 bar like parts.kick, which is on the same track"},
		{"less than a bar", file(), []listen.Override{{Name: "lead", Cycle: -1}}, "parts.lead.cycle: found -1, want 1 to 1048576"},
		{"with metre changes", changing, []listen.Override{{Name: "bass", Cycle: 1}}, "parts.bass.cycle: found 1 bar, want none: the metre changes in the loop"},
		{"no such part", file(), []listen.Override{{Name: "leed", Cycle: 1}},
			`parts.leed: found "leed", want one of bass, lead, kick, hat, or a track, name, channel or key it is made of; did you mean "lead"?`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			_, _, _, err := listen.FindLoop(row.file, listen.LoopOptions{Overrides: row.over})
			var all listen.OverrideErrors
			if !errors.As(err, &all) || err.Error() != row.want {
				t.Errorf("got  %v\nwant %s", err, row.want)
			}
		})
	}
}

func TestACycleThatIsGivenIsNotHintedAt(t *testing.T) {
	f := loop(t, `"Bass" 1 36 x...............|................
		"Lead" 2 72 x...............|x...............`)
	over := []listen.Override{{Name: "bass", Cycle: 2}}
	g, l, _ := find(t, f, listen.LoopOptions{Overrides: over})
	_, r, err := listen.Hear(raw(t, g), listen.Options{Loop: l, Overrides: over})
	if err != nil || len(r.Told) > 0 {
		t.Errorf("told %q, %v; want nothing", r.Told, err)
	}
}

func TestLoopErrors(t *testing.T) {
	for _, row := range []struct {
		rule string
		file *smf.File
		opts listen.LoopOptions
		want string
	}{
		{"no notes", timed(), listen.LoopOptions{Names: []string{"empty.mid"}}, "empty.mid: found no notes, want a loop"},
		{"no tracks", &smf.File{Format: 1, Division: ppq}, listen.LoopOptions{}, "found no notes, want a loop"},
		{"format 2", &smf.File{Format: 2, Division: ppq}, listen.LoopOptions{Names: []string{"a.mid"}}, "a.mid: no common bars: the tracks of format 2 are separate pieces"},
		{"SMPTE time", &smf.File{Format: 1, Division: 0xE728}, listen.LoopOptions{}, "no common bars: the file counts time in frames, not in beats"},
		{"too slow", timed(track(bar, 0)), listen.LoopOptions{BPM: 3_999}, "bpm: found 3.999, want 4 to 999"},
		{"too many bars", timed(track(bar, 0)), listen.LoopOptions{LoopBars: 100_001}, "loop: found 100001 bars, want 1 to 100000"},
		{"a metre that is none", timed(track(bar, 0)), listen.LoopOptions{Metre: smf.Metre{Num: 4, Den: 5}},
			"metre: found 4/5, want 1 to 255 over 1, 2, 4 .. 64, in bars of whole ticks"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			_, _, _, err := listen.FindLoop(row.file, row.opts)
			if err == nil || err.Error() != row.want {
				t.Errorf("got  %v\nwant %s", err, row.want)
			}
		})
	}
}

func TestEndsOfTrack(t *testing.T) {
	f := timed(track(8*bar, 0, 7*bar), track(4*bar, 0, 2*bar), track(step, 0))
	note(&f.Tracks[1], 1, 48, 7*bar, 8*bar, 100)
	g, _, _ := find(t, f, listen.LoopOptions{})
	for i, want := range []smf.Tick{8 * bar, 8 * bar, 4 * bar, 8 * bar} {
		if g.Tracks[i].End != want {
			t.Errorf("track %d ends at %d, want %d", i+1, g.Tracks[i].End, want)
		}
	}
}
