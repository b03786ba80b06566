package smf_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"loopdraft/smf"
)

func metre(num, den int) smf.Metre { return smf.Metre{Num: num, Den: den} }

// round(6e7 / bpm), computed; 120 bpm = 07 A1 20 is in RP-001 p. 10.
func TestMicrosPerQuarter(t *testing.T) {
	for bpm, want := range map[int64]uint32{
		100: 0x0927C0, 110: 0x0852AF, 120: 0x07A120, 122: 0x07811B, 124: 0x07621F, 125: 0x075300,
		126: 0x07441E, 127: 0x073579, 128: 0x07270E, 130: 0x070AE2, 132: 0x06EF91, 135: 0x06C81C,
		138: 0x06A25F, 140: 0x068A1B, 145: 0x065061, 150: 0x061A80, 170: 0x0562AD, 174: 0x0542FC,
	} {
		if got := smf.MicrosPerQuarter(bpm * 1000); got != want {
			t.Errorf("%d bpm is %d us, want %d", bpm, got, want)
		}
	}
	for thousandths, want := range map[int64]uint32{
		127_500:        470_588,
		3_576:          0xFFFFFF, // 16,778,523 do not fit
		3_577:          16_773_833,
		0:              0xFFFFFF,
		-5:             0xFFFFFF,
		40_000_000_000: 2, // 1.5 us, half up
		math.MaxInt64:  1,
	} {
		if got := smf.MicrosPerQuarter(thousandths); got != want {
			t.Errorf("%d thousandths are %d us, want %d", thousandths, got, want)
		}
	}
}

// A file says nothing: 120 bpm and 4/4 (RP-001 p. 5); 6144 ticks at 96 ticks a quarter note are
// 32,000 ms (RP-001 p. 14).
func TestTimelineOfNothing(t *testing.T) {
	l := smf.NewTimeline(96, nil, nil)
	if l.PPQ() != 96 || l.TempoAt(0) != 500_000 || l.MetreIn(1) != metre(4, 4) || l.BarTicks(1) != 384 || l.BeatTicks(1) != 96 {
		t.Errorf("ppq %d, tempo %d, metre %v, bar %d, beat %d", l.PPQ(), l.TempoAt(0), l.MetreIn(1), l.BarTicks(1), l.BeatTicks(1))
	}
	if l.Micros(6144) != 32_000_000 || l.Seconds(6144) != 32 || l.Elapsed(6144) != 6144*500_000 {
		t.Errorf("6144 ticks are %d us, %v s", l.Micros(6144), l.Seconds(6144))
	}
}

// Durations at 4/4, computed: a bar is 240/bpm seconds.
func TestSecondsOfBars(t *testing.T) {
	for _, row := range []struct {
		bpm, bars int64
		millis    int64
	}{
		{120, 1, 2000}, {124, 1, 1935}, {126, 1, 1905}, {128, 1, 1875}, {140, 1, 1714}, {174, 1, 1379},
		{128, 8, 15_000}, {128, 16, 30_000}, {128, 32, 60_000}, {128, 192, 360_000},
		{124, 192, 371_613}, {138, 192, 333_913}, {174, 192, 264_828},
	} {
		l := smf.NewTimeline(480, []smf.TempoAt{{Micros: smf.MicrosPerQuarter(row.bpm * 1000)}}, nil)
		us := l.Micros(l.BarStart(int(row.bars) + 1))
		if got := (us + 500) / 1000; got != row.millis {
			t.Errorf("%d bars at %d bpm are %d ms, want %d", row.bars, row.bpm, got, row.millis)
		}
	}
}

// mixed has 2 bars of 4/4, 3 of 3/4 of which the last is cut after a beat by a bar of 7/8, and
// then 6/8; 96 ticks a quarter note.
func mixed() *smf.Timeline {
	return smf.NewTimeline(96,
		[]smf.TempoAt{{Tick: 384, Micros: 250_000}, {Tick: 1440, Micros: 1_000_000}},
		[]smf.MetreAt{
			{Tick: 0, Metre: metre(4, 4)},
			{Tick: 768, Metre: metre(3, 4)},
			{Tick: 768 + 2*288 + 96, Metre: metre(7, 8)}, // 1440
			{Tick: 1440 + 336, Metre: metre(6, 8)},       // 1776
		})
}

func TestBarsThroughMetreChanges(t *testing.T) {
	l := mixed()
	for _, row := range []struct {
		bar           int
		start, length smf.Tick
		metre         smf.Metre
		beat          smf.Tick
	}{
		{1, 0, 384, metre(4, 4), 96},
		{2, 384, 384, metre(4, 4), 96},
		{3, 768, 288, metre(3, 4), 96},
		{4, 1056, 288, metre(3, 4), 96},
		{5, 1344, 96, metre(3, 4), 96}, // cut short
		{6, 1440, 336, metre(7, 8), 48},
		{7, 1776, 288, metre(6, 8), 48},
		{8, 2064, 288, metre(6, 8), 48},
		{1007, 1776 + 1000*288, 288, metre(6, 8), 48}, // past any music
		{0, 0, 384, metre(4, 4), 96},                  // counts as bar 1
	} {
		if l.BarStart(row.bar) != row.start || l.BarTicks(row.bar) != row.length || l.MetreIn(row.bar) != row.metre || l.BeatTicks(row.bar) != row.beat {
			t.Errorf("bar %d: from %d for %d in %v, beat %d; want from %d for %d in %v, beat %d", row.bar,
				l.BarStart(row.bar), l.BarTicks(row.bar), l.MetreIn(row.bar), l.BeatTicks(row.bar), row.start, row.length, row.metre, row.beat)
		}
	}
	for _, row := range []struct {
		tick smf.Tick
		want smf.Position
		line bool
	}{
		{-5, smf.Position{Bar: 1, Beat: 1}, false},
		{0, smf.Position{Bar: 1, Beat: 1}, true},
		{95, smf.Position{Bar: 1, Beat: 1, Tick: 95}, false},
		{96, smf.Position{Bar: 1, Beat: 2}, false},
		{383, smf.Position{Bar: 1, Beat: 4, Tick: 95}, false},
		{768, smf.Position{Bar: 3, Beat: 1}, true},
		{1439, smf.Position{Bar: 5, Beat: 1, Tick: 95}, false},
		{1440, smf.Position{Bar: 6, Beat: 1}, true},
		{1775, smf.Position{Bar: 6, Beat: 7, Tick: 47}, false},
		{1776, smf.Position{Bar: 7, Beat: 1}, true},
		{1776 + 288*3 + 49, smf.Position{Bar: 10, Beat: 2, Tick: 1}, false},
	} {
		if got := l.Locate(row.tick); got != row.want || l.IsBarLine(row.tick) != row.line || l.BarOf(row.tick) != row.want.Bar {
			t.Errorf("tick %d is at %v, bar line %t, want %v, %t", row.tick, got, l.IsBarLine(row.tick), row.want, row.line)
		}
	}
	if got := l.TickOf(smf.Position{Bar: 1, Beat: 6, Tick: 7}); got != 5*96+7 {
		t.Errorf("beat 6 of a bar of four is at %d, want 487", got)
	}
}

func TestTimeThroughTempoChanges(t *testing.T) {
	l := mixed()
	for _, row := range []struct {
		tick   smf.Tick
		tempo  uint32
		micros int64
	}{
		{0, 500_000, 0},
		{383, 500_000, 1_994_792}, // 1,994,791.67
		{384, 250_000, 2_000_000},
		{1440, 1_000_000, 4_750_000},
		{1536, 1_000_000, 5_750_000},
		{-1, 500_000, 0},
	} {
		if l.TempoAt(row.tick) != row.tempo || l.Micros(row.tick) != row.micros {
			t.Errorf("tick %d: tempo %d, %d us; want %d, %d us", row.tick, l.TempoAt(row.tick), l.Micros(row.tick), row.tempo, row.micros)
		}
	}
	for us, want := range map[int64]smf.Tick{
		-7: 0, 0: 0, 2603: 0, 2605: 1, 2_000_000: 384, 2_001_302: 384, 2_001_303: 385, 4_750_000: 1440, 5_750_000: 1536, 3_604_750_000: 1440 + 3600*96,
	} {
		if got := l.TickAtMicros(us); got != want {
			t.Errorf("%d us are at tick %d, want %d", us, got, want)
		}
	}
}

func TestTimelineSortsAndSettles(t *testing.T) {
	tempi := []smf.TempoAt{{Tick: 100, Micros: 3}, {Tick: 50, Micros: 7}, {Tick: 100, Micros: 4}, {Tick: 200, Micros: 4}, {Tick: 300, Micros: 0}, {Tick: 310, Micros: 1 << 24}, {Tick: -9, Micros: 9}}
	metres := []smf.MetreAt{
		{Tick: 960, Metre: metre(4, 4)}, {Tick: 480, Metre: metre(2, 4)}, {Tick: 480, Metre: metre(3, 4)},
		{Tick: 1000, Metre: metre(4, 4)}, // no change, so no bar line
		{Tick: 1100, Metre: metre(0, 4)}, {Tick: 1101, Metre: metre(4, 3)}, {Tick: 1102, Metre: metre(4, 128)}, {Tick: 1103, Metre: metre(4, 0)}, {Tick: 1104, Metre: metre(256, 4)},
		{Tick: 1105, Metre: metre(-4, -4)},
		{Tick: 1106, Metre: metre(1, 64)}, // 4 x 120 / 64 = 7.5 ticks
	}
	keep := slices.Clone(tempi)
	l := smf.NewTimeline(120, tempi, metres)
	if !slices.Equal(tempi, keep) {
		t.Error("the list that was given was changed")
	}
	if got, want := l.Tempi(), []smf.TempoAt{{Tick: 0, Micros: 9}, {Tick: 50, Micros: 7}, {Tick: 100, Micros: 4}}; !slices.Equal(got, want) {
		t.Errorf("tempi %v, want %v", got, want)
	}
	if got, want := l.Metres(), []smf.MetreAt{{Tick: 0, Metre: metre(4, 4)}, {Tick: 480, Metre: metre(3, 4)}, {Tick: 960, Metre: metre(4, 4)}}; !slices.Equal(got, want) {
		t.Errorf("metres %v, want %v", got, want)
	}
	l.Tempi()[0].Micros = 1
	l.Metres()[0].Metre = metre(1, 1)
	if l.TempoAt(0) != 9 || l.MetreIn(1) != metre(4, 4) {
		t.Error("writing into a returned list changed the timeline")
	}
	for ppq, want := range map[smf.Tick]smf.Tick{0: 1, -4: 1, math.MaxInt64: 32767} {
		if got := smf.NewTimeline(ppq, nil, nil).PPQ(); got != want {
			t.Errorf("ppq %d counts as %d, want %d", ppq, got, want)
		}
	}
}

func TestFileTimeline(t *testing.T) {
	f := decode(t, file(t, 1, `
		00 FF 51 03 07 A1 20     # 120 bpm
		00 FF 58 04 03 02 18 08  # 3/4
		83 00 FF 51 03 00 00 00  # tick 384: tempo 0
		00 FF 51 02 01 02        # a tempo of two bytes
		00 FF 58 04 00 02 18 08  # metre 0/4
		00 FF 58 04 04 07 18 08  # metre 4/128
		00 FF 58 01 04           # a time signature of one byte
		00 FF 2F 00`, `
		00 FF 58 04 04 02 18 08  # 4/4, in a later track
		83 00 FF 51 03 06 1A 80  # 150 bpm
		83 00 FF 51 04 03 0D 40 99  # tick 768: 300 bpm and a surplus byte
		00 FF 58 02 06 03        # a time signature of two bytes
		00 FF 58 04 01 06 18 08  # 1/64: 6 ticks
		60 FF 58 04 06 03 18 08  # 6/8
		00 FF 2F 00`))
	l, warnings, err := f.Timeline()
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, w := range warnings {
		got = append(got, w.String())
	}
	want := []string{
		"track 1: tick 384: tempo 0; the tempo before counts",
		"track 1: tick 384: a tempo of 2 bytes; the tempo before counts",
		"track 1: tick 384: metre 0/4, not 1 to 255 beats a bar; the metre before counts",
		"track 1: tick 384: metre 4/2^7, a denominator over 64; the metre before counts",
		"track 1: tick 384: a time signature of 1 byte; the metre before counts",
		"track 2: tick 768: a time signature of 2 bytes; the metre before counts",
	}
	if !slices.Equal(got, want) {
		t.Errorf("warnings %q\nwant %q", got, want)
	}
	if got, want := l.Tempi(), []smf.TempoAt{{Tick: 0, Micros: 500_000}, {Tick: 384, Micros: 400_000}, {Tick: 768, Micros: 200_000}}; !slices.Equal(got, want) {
		t.Errorf("tempi %v, want %v", got, want)
	}
	if got, want := l.Metres(), []smf.MetreAt{{Tick: 0, Metre: metre(4, 4)}, {Tick: 768, Metre: metre(1, 64)}, {Tick: 864, Metre: metre(6, 8)}}; !slices.Equal(got, want) {
		t.Errorf("metres %v, want %v", got, want)
	}

	f.Division = 100 // 1/64 is 6.25 ticks
	if _, warnings, _ := f.Timeline(); len(warnings) != 7 || warnings[6].Text != "tick 768: metre 1/64, a bar that is no whole number of ticks; the metre before counts" {
		t.Errorf("warnings at 100 ticks a quarter note: %v", warnings)
	}

	var many smf.Track
	for i := range smf.Tick(150) {
		many.AppendMeta(i, 0x51, nil)
	}
	if _, warnings, _ := (&smf.File{Division: 96, Tracks: []smf.Track{many}}).Timeline(); len(warnings) != 101 || warnings[100].String() != "50 more tempi, metres and keys that make no sense" {
		t.Errorf("%d warnings, the last: %v", len(warnings), warnings[len(warnings)-1])
	}
}

func TestNoCommonBars(t *testing.T) {
	for _, row := range []struct {
		file smf.File
		want string
	}{
		{smf.File{Format: 1, Division: 0xE728}, "no common bars: the file counts time in frames, not in beats"},
		{smf.File{Format: 2, Division: 96}, "no common bars: the tracks of format 2 are separate pieces"},
		{smf.File{Format: 1}, "no common bars: division 0"},
	} {
		if _, _, err := row.file.Timeline(); err == nil || err.Error() != row.want {
			t.Errorf("got %v, want %s", err, row.want)
		}
	}
}

// Against the definition, tick by tick: bars and beats are counted and time is summed.
func TestTimelineAgainstItsDefinition(t *testing.T) {
	d := dice(2)
	for range 40 {
		ppq := smf.Tick([]int{1, 24, 96, 100, 480}[d.below(5)])
		var tempi []smf.TempoAt
		var metres []smf.MetreAt
		for range d.below(5) {
			tempi = append(tempi, smf.TempoAt{Tick: smf.Tick(d.below(3000)), Micros: uint32(1000 + d.below(900_000))})
		}
		for range d.below(5) {
			m := metre(1+d.below(9), 1<<d.below(7))
			if 4*ppq*smf.Tick(m.Num)%smf.Tick(m.Den) == 0 {
				metres = append(metres, smf.MetreAt{Tick: smf.Tick(d.below(3000)), Metre: m})
			}
		}
		l := smf.NewTimeline(ppq, tempi, metres)

		m, micros := metre(4, 4), int64(500_000)
		bar, start, elapsed := 0, smf.Tick(0), int64(0)
		for tick := range smf.Tick(4000) {
			before := m
			for _, c := range metres {
				if c.Tick == tick {
					m = c.Metre
				}
			}
			for _, c := range tempi {
				if c.Tick == tick {
					micros = int64(c.Micros)
				}
			}
			line := tick == 0 || m != before || tick-start == 4*ppq*smf.Tick(before.Num)/smf.Tick(before.Den)
			if line {
				bar++
				start = tick
			}
			if l.BarOf(tick) != bar || l.IsBarLine(tick) != line || l.BarStart(bar) != start || l.MetreIn(bar) != m {
				t.Fatalf("ppq %d, metres %v, tick %d: bar %d from %d in %v, line %t; want bar %d from %d in %v, line %t", ppq, metres, tick,
					l.BarOf(tick), l.BarStart(bar), l.MetreIn(bar), l.IsBarLine(tick), bar, start, m, line)
			}
			p := l.Locate(tick)
			if p.Bar != bar || p.Beat < 1 || p.Beat > m.Num || p.Tick < 0 || p.Tick >= l.BeatTicks(bar)+1 || l.TickOf(p) != tick {
				t.Fatalf("ppq %d, metre %v, tick %d is at %v, which is tick %d", ppq, m, tick, p, l.TickOf(p))
			}
			if l.Elapsed(tick) != elapsed || l.TempoAt(tick) != uint32(micros) {
				t.Fatalf("tempi %v, tick %d: %d elapsed, want %d", tempi, tick, l.Elapsed(tick), elapsed)
			}
			if us := l.Micros(tick); micros > int64(ppq) && l.TickAtMicros(us) != tick {
				t.Fatalf("tempi %v, tick %d is at %d us, which is tick %d", tempi, tick, us, l.TickAtMicros(us))
			}
			elapsed += micros
		}
		for b := 1; b < bar; b++ {
			if l.BarTicks(b) != l.BarStart(b+1)-l.BarStart(b) {
				t.Fatalf("bar %d: %d ticks, but the next starts %d later", b, l.BarTicks(b), l.BarStart(b+1)-l.BarStart(b))
			}
		}
	}
}

// Numbers past all music: the largest, not a wrapped one.
func TestTimelineSaturates(t *testing.T) {
	l := mixed()
	if got := l.BarStart(math.MaxInt); got < 1<<50 {
		t.Errorf("the last bar of all starts at %d", got)
	}
	if got := l.Elapsed(math.MaxInt64); got != math.MaxInt64 {
		t.Errorf("elapsed %d", got)
	}
	if got := l.TickAtMicros(math.MaxInt64); got < 1<<40 {
		t.Errorf("the last microsecond of all is at tick %d", got)
	}
	if got := l.TickOf(smf.Position{Bar: math.MaxInt, Beat: math.MaxInt, Tick: math.MaxInt64}); got != math.MaxInt64 {
		t.Errorf("the last position of all is at %d", got)
	}
	if got := l.TickOf(smf.Position{Bar: math.MinInt, Beat: math.MinInt, Tick: math.MinInt64}); got != 0 {
		t.Errorf("the first position of all is at %d", got)
	}
	// The shortest bars: one tick.
	l = smf.NewTimeline(1, nil, []smf.MetreAt{{Metre: metre(1, 4)}})
	if got := l.BarOf(math.MaxInt64); got != math.MaxInt {
		t.Errorf("the last tick of all is in bar %d", got)
	}
}

func ExampleFile_Timeline() {
	f := &smf.File{Format: 1, Division: 480, Tracks: make([]smf.Track, 1)}
	f.Tracks[0].AppendMeta(0, 0x51, []byte{0x07, 0x27, 0x0E}) // 468,750 us: 128 bpm
	l, _, err := f.Timeline()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("bar 17, beat 3:", l.TickOf(smf.Position{Bar: 17, Beat: 3}))
	fmt.Println("192 bars:", l.Seconds(l.BarStart(193)), "seconds")
	// Output:
	// bar 17, beat 3: 31680
	// 192 bars: 360 seconds
}

// Keys are of up to seven sharps or flats, major or minor (RP-001 p. 11).
func TestUnsoundKeys(t *testing.T) {
	f := decode(t, file(t, 0, `
		00 FF 59 02 09 00  # nine sharps
		00 FF 59 02 F8 00  # eight flats
		00 FF 59 02 00 02  # a third mode
		00 FF 59 01 00
		00 FF 59 02 07 01  # A sharp minor
		00 FF 59 02 F9 00  # C flat major
		00 FF 2F 00`))
	var got []string
	for _, w := range f.Unsound() {
		got = append(got, w.String())
	}
	want := []string{
		"track 1: tick 0: a key of 9 sharps, not 7 at most; the key before counts",
		"track 1: tick 0: a key of 8 flats, not 7 at most; the key before counts",
		"track 1: tick 0: a key of mode 2, neither 0 (major) nor 1 (minor); the key before counts",
		"track 1: tick 0: a key signature of 1 byte; the key before counts",
	}
	if !slices.Equal(got, want) {
		t.Errorf("warnings %q\nwant %q", got, want)
	}
	if smf.ValidKey([]byte{9, 0}) || !smf.ValidKey([]byte{0xF9, 1}) {
		t.Error("nine sharps are a key, or seven flats are none")
	}
}

// A denominator is told as the power of two that it is: 2^255 has 77 digits.
func TestUnsoundMetre(t *testing.T) {
	f := decode(t, file(t, 0, "00 FF 58 04 04 FF 18 08 00 FF 2F 00"))
	if got := f.Unsound(); len(got) != 1 || got[0].Text != "tick 0: metre 4/2^255, a denominator over 64; the metre before counts" {
		t.Errorf("warnings %v", got)
	}
	f.Division = 0xE728 // 25 frames a second: there are no bars to be whole, yet a metre may be none
	if got := f.Unsound(); len(got) != 1 {
		t.Errorf("in time code: %v", got)
	}
}
