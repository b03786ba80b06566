package listen_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
)

// pattern makes a loop file of one nameless track without tempo: a note at each onset, in quarters.
func pattern(division smf.Division, bars int, quarters ...smf.Tick) *smf.File {
	var t smf.Track
	q := smf.Tick(division)
	for _, at := range quarters {
		note(&t, 1, 60, at*q, at*q+q/4, 100)
	}
	t.End = smf.Tick(bars) * 4 * q
	return &smf.File{Format: 0, Division: division, Tracks: []smf.Track{t}}
}

func withMeta(f *smf.File, tick smf.Tick, kind byte, data ...byte) *smf.File {
	end := f.Tracks[0].End
	f.Tracks[0].AppendMeta(tick, kind, data)
	slices.SortStableFunc(f.Tracks[0].Events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	f.Tracks[0].End = end
	return f
}

// metas lists the tempi, metres, keys and names of a file as "track:tick kind data".
func metas(f *smf.File) string {
	var out []string
	for i := range f.Tracks {
		for _, e := range f.Tracks[i].Events {
			switch kind, meta := e.MetaType(); {
			case meta && kind == 3:
				out = append(out, fmt.Sprintf("%d:%d name %s", i+1, e.Tick, f.Tracks[i].Long(e)))
			case meta:
				out = append(out, fmt.Sprintf("%d:%d %x % x", i+1, e.Tick, kind, f.Tracks[i].Long(e)))
			}
		}
	}
	return strings.Join(out, ", ")
}

func TestJoin(t *testing.T) {
	two := pattern(96, 1, 0)
	two.Format = 1
	two.Tracks = append(two.Tracks, pattern(96, 1, 1).Tracks...)
	conducted := pattern(96, 1, 0)
	conducted.Format = 1
	conducted.Tracks = append([]smf.Track{{}}, conducted.Tracks...)
	for _, row := range []struct {
		rule   string
		inputs []listen.Input
		ppq    smf.Division
		from   []int
		metas  string
		told   string
	}{
		{"each file is a track, which gets the file's name",
			[]listen.Input{{"loops/kick.mid", pattern(96, 1, 0)}, {`C:\loops\deep bass.mid`, pattern(96, 1, 0)}},
			96, []int{0, 1}, "1:0 name kick, 2:0 name deep bass", ""},
		{"a name that is there stays",
			[]listen.Input{{"a.mid", withMeta(pattern(96, 1, 0), 0, 3, []byte("Kick")...)}, {"b.mid", pattern(96, 1, 0)}},
			96, []int{0, 1}, "1:0 name Kick, 2:0 name b", ""},
		{"the only track with notes gets the name, a conductor's track none",
			[]listen.Input{{"a.mid", conducted}, {"b.mid", pattern(96, 1, 0)}},
			96, []int{0, 0, 1}, "2:0 name a, 3:0 name b", ""},
		{"a file of several tracks keeps them",
			[]listen.Input{{"a.mid", two}, {"b.mid", pattern(96, 1, 0)}},
			96, []int{0, 0, 1}, "3:0 name b", ""},
		{"resolutions meet in their least common multiple",
			[]listen.Input{{"a.mid", pattern(96, 1, 0, 1)}, {"b.mid", pattern(480, 1, 0, 1)}, {"c.mid", pattern(120, 1, 1)}},
			480, []int{0, 1, 2}, "1:0 name a, 2:0 name b, 3:0 name c", ""},
		{"tempo, metre and key are the first file's that has one, in the first track",
			[]listen.Input{
				{"a.mid", pattern(96, 1, 0)},
				{"b.mid", withMeta(pattern(96, 1, 0), 0, 0x51, 7, 0xA1, 0x20)},
				{"c.mid", withMeta(withMeta(pattern(96, 1, 0), 0, 0x51, 6, 0xA1, 0x20), 0, 0x59, 0xFD, 1)}},
			96, []int{0, 1, 2}, "1:0 59 fd 01, 1:0 51 07 a1 20, 1:0 name a, 2:0 name b, 3:0 name c",
			"c.mid: its tempo is not that of b.mid, which counts"},
		{"those that agree are not told",
			[]listen.Input{
				{"a.mid", withMeta(pattern(96, 1, 0), 0, 0x58, 4, 2, 24, 8)},
				{"b.mid", withMeta(pattern(480, 1, 0), 0, 0x58, 4, 2, 24, 8)}},
			480, []int{0, 1}, "1:0 58 04 02 18 08, 1:0 name a, 2:0 name b", ""},
		{"a tempo that goes on after the first track's end stays in its own file's track",
			[]listen.Input{
				{"a.mid", pattern(96, 1, 0)},
				{"b.mid", withMeta(withMeta(pattern(96, 4, 0), 0, 0x51, 7, 0xA1, 0x20), 800, 0x51, 6, 0xA1, 0x20)}},
			96, []int{0, 1}, "1:0 name a, 2:0 51 07 a1 20, 2:0 name b, 2:800 51 06 a1 20", ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			var before []string
			for _, in := range row.inputs {
				b, err := in.File.Encode()
				if err != nil {
					t.Fatal(err)
				}
				before = append(before, string(b))
			}
			f, from, told, err := listen.Join(row.inputs)
			if err != nil {
				t.Fatal(err)
			}
			if f.Format != 1 || f.Division != row.ppq || !slices.Equal(from, row.from) || strings.Join(told, "\n") != row.told {
				t.Errorf("format %d, %d a quarter, from %v, told %q; want 1, %d, %v, %q", f.Format, f.Division, from, told, row.ppq, row.from, row.told)
			}
			if got := metas(f); got != row.metas {
				t.Errorf("got  %s\nwant %s", got, row.metas)
			}
			if _, err := f.Encode(); err != nil {
				t.Errorf("the joined file cannot be written: %v", err)
			}
			for i, in := range row.inputs {
				if b, _ := in.File.Encode(); string(b) != before[i] {
					t.Errorf("input %d is not what it was", i+1)
				}
			}
		})
	}
}

func TestJoinScalesWithoutRounding(t *testing.T) {
	f, _, _, err := listen.Join([]listen.Input{{"a.mid", pattern(96, 2, 0, 1, 5)}, {"b.mid", pattern(100, 1, 0, 3)}})
	if err != nil {
		t.Fatal(err)
	}
	const ppq = 2400 // least common multiple of 96 and 100
	if f.Division != ppq || !slices.Equal(onsets(f.Tracks[0]), []smf.Tick{0, ppq, 5 * ppq}) || !slices.Equal(onsets(f.Tracks[1]), []smf.Tick{0, 3 * ppq}) {
		t.Errorf("%d a quarter, onsets %v and %v", f.Division, onsets(f.Tracks[0]), onsets(f.Tracks[1]))
	}
	if f.Tracks[0].End != 8*ppq || f.Tracks[1].End != 4*ppq {
		t.Errorf("ends at %d and %d, want %d and %d", f.Tracks[0].End, f.Tracks[1].End, 8*ppq, 4*ppq)
	}
}

func TestJoinKeepsUnknownChunksInTheirPlaces(t *testing.T) {
	a, b := pattern(96, 1, 0), pattern(96, 1, 0)
	a.Chunks = []smf.Chunk{{Before: 1, Type: [4]byte{'a', 'a', 'a', 'a'}}}
	b.Chunks = []smf.Chunk{{Before: 0, Type: [4]byte{'b', 'b', 'b', 'b'}}}
	f, _, _, err := listen.Join([]listen.Input{{"a", a}, {"b", b}})
	if err != nil || len(f.Chunks) != 2 || f.Chunks[0].Before != 1 || f.Chunks[1].Before != 1 {
		t.Errorf("chunks %v, %v; want both before the second track", f.Chunks, err)
	}
}

func TestOneInputComesBackAsItIs(t *testing.T) {
	in := pattern(96, 1, 0)
	f, from, told, err := listen.Join([]listen.Input{{"kick.mid", in}})
	if err != nil || smf.Diff(f, in) != "" || !slices.Equal(from, []int{0}) || told != nil {
		t.Errorf("differs: %q, from %v, told %v, %v", smf.Diff(f, in), from, told, err)
	}
}

func TestJoinErrors(t *testing.T) {
	smpte := pattern(96, 1, 0)
	smpte.Division = 0xE728
	far := pattern(96, 1, 0)
	far.Tracks[0].End = smf.MaxTicks
	for _, row := range []struct {
		rule   string
		inputs []listen.Input
		want   string
	}{
		{"no input", nil, "found no file, want one or more loops"},
		{"resolutions that meet nowhere", []listen.Input{{"a.mid", pattern(32767, 1, 0)}, {"b.mid", pattern(96, 1, 0)}},
			"b.mid: found 96 ticks a quarter, want a resolution that meets the others at 32767 or less"},
		{"SMPTE time", []listen.Input{{"a.mid", pattern(96, 1, 0)}, {"b.mid", smpte}},
			"b.mid: no common bars: the file counts time in frames, not in beats"},
		{"an end past the last tick", []listen.Input{{"a.mid", far}, {"b.mid", pattern(480, 1, 0)}},
			"a.mid: track 1: found an end at tick 268435455 of 96 a quarter, want it within 268435455 once the resolution is 480"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			_, _, _, err := listen.Join(row.inputs)
			if err == nil || err.Error() != row.want {
				t.Errorf("got  %v\nwant %s", err, row.want)
			}
		})
	}
}

func TestJoinedFilesHaveTheirOwnLengths(t *testing.T) {
	inputs := []listen.Input{
		{"kick.mid", pattern(96, 1, 0, 1, 2, 3)},
		{"bass.mid", pattern(480, 3, 0, 11)},
		{"fill.mid", pattern(96, 4, 15)},
		{"pad.mid", pattern(96, 8, 0)},
	}
	inputs[2].File.Tracks[0].End -= 7 // off the line: the bar of its last onset, 4, counts
	f, from, _, err := listen.Join(inputs)
	if err != nil {
		t.Fatal(err)
	}
	_, l, told, err := listen.FindLoop(f, listen.LoopOptions{InputOfTrack: from, Names: []string{"kick.mid", "bass.mid", "fill.mid", "pad.mid"}})
	if err != nil {
		t.Fatal(err)
	}
	const bar = 4 * 480
	if l.Bars != 8 || !slices.Equal(l.Cycles, []smf.Tick{bar, 3 * bar, 4 * bar, 0}) {
		t.Errorf("%d bars, cycles %v; want 8 and cycles of 1, 3 and 4 bars", l.Bars, l.Cycles)
	}
	for _, want := range []string{`track 1 "kick" repeats every 1 bar`, `track 2 "bass" repeats every 3 bars`, `track 3 "fill" repeats every 4 bars`} {
		if !slices.Contains(told, want) {
			t.Errorf("told %q, want among it %q", told, want)
		}
	}
}
