package form_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

const silent = -100.0

// level returns the level of a power in dB of a held synth lead note.
func level(p form.Power) float64 {
	if p.Silent() {
		return silent
	}
	return 10 * math.Log10(float64(p)/float64(form.Held))
}

// The velocity of a hit (x) is 100, of an accent (X) 120, of a soft one (o) 60; a bar lasts two seconds.
func TestEnergyOfBars(t *testing.T) {
	// A bar of a held synth lead at velocity 100, volume 100 and expression 127; what rings of it after its
	// end, averaged over a bar: it falls by 400 dB a second, so that 1/92 of a second is left.
	const lead, end = -8.30, -30.96
	for _, tt := range []struct {
		rule string
		grid string
		want []float64 // dB of each bar
	}{
		{"a held note is as strong in every bar, then only its end rings, then it is silent", `
			lead x---------------|----------------|................|................`,
			[]float64{lead, lead, end, silent}},
		{"half as long is 3 dB less, but for its end", `
			lead x-------........|................`,
			[]float64{lead - 2.96, silent}},
		{"two notes are 3 dB more than one", `
			lead:60 x---------------
			lead:64 x---------------`,
			[]float64{lead + 3.01}},
		{"so are two parts", `
			lead   x---------------
			lead-2 x---------------`,
			[]float64{lead + 3.01}},
		{"120 for 100 is 3.17 dB, 60 is 8.87 dB less: 40 log10", `
			lead x---------------|................|X---------------|................|o---------------`,
			[]float64{lead, end, lead + 3.17, end + 3.17, lead - 8.87}},
		{"an electric piano falls by 10 dB a second, 20 dB in a bar", `
			chords x---------------|----------------|----------------|................`,
			[]float64{-16.98, -36.98, -56.98, -92.96}},
		{"a drum rings as long as it will, however long its note", `
			kick   x...............|x---------------|x-......x.......`,
			[]float64{-20.31, -20.31, -17.30}},
		{"over a bar line, too: a sixteenth later it is 25 dB less", `
			kick ...............x|................`,
			[]float64{-20.33, -45.31}},
		{"a pad rings on after its end", `
			pad x---------------|................`,
			[]float64{lead - 4, -24.96}},
		{"a trigger is silent", `
			trigger x...x...x...x...`,
			[]float64{silent}},
		{"nothing played is silent", `
			lead ................`,
			[]float64{silent}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := drawn(t, tt.grid)
			e := energyOf(t, s)
			checkEnergy(t, s, e)
			levels(t, e, tt.want...)
		})
	}
}

func levels(t *testing.T, e form.Energy, want ...float64) {
	t.Helper()
	var got []float64
	ok := len(e.Bars) == len(want)
	for i, bar := range e.Bars {
		db := level(bar.Sum())
		got = append(got, math.Round(100*db)/100)
		ok = ok && math.Abs(db-want[i]) < 0.02
	}
	if !ok {
		t.Errorf("got %v dB, want %v", got, want)
	}
}

// controlled is a song of a grid with controllers and programs on channel 1 of the first track, or on that
// of the second; each is a bar from 1, a status, and its data.
func controlled(t *testing.T, grid string, track int, events ...[4]int) song.Song {
	t.Helper()
	s := drawn(t, grid)
	e := s.Edit()
	for _, v := range events {
		e.Insert(track, smf.Channel(s.Time().BarStart(v[0]), byte(v[1]), byte(v[2]), byte(v[3])))
	}
	return e.Song()
}

// The General MIDI Level 1 Developer Guidelines (p. 9) print for 40 log10(volume/127): 96 -4.8, 64 -11.9,
// 32 -23.9, 16 -36.0 and 0 silence; expression counts alike, and both add up.
func TestVolumeAndExpression(t *testing.T) {
	const held, full = `lead x---------------|----------------|----------------`, -4.15 // velocity 100
	for _, tt := range []struct {
		rule   string
		track  int
		events [][4]int
		want   []float64
	}{
		{"without any, volume is 100 and expression 127", 0, nil, []float64{full - 4.15, full - 4.15, full - 4.15}},
		{"volume, as printed", 0, [][4]int{{1, 0xB0, 7, 96}, {2, 0xB0, 7, 64}, {3, 0xB0, 7, 32}}, []float64{full - 4.86, full - 11.90, full - 23.95}},
		{"expression, as printed", 0, [][4]int{{1, 0xB0, 7, 127}, {2, 0xB0, 11, 16}, {3, 0xB0, 11, 0}}, []float64{full, full - 36.00, silent}},
		{"both add up", 0, [][4]int{{1, 0xB0, 7, 64}, {1, 0xB0, 11, 64}, {3, 0xB0, 11, 127}}, []float64{full - 23.81, full - 23.81, full - 11.90}},
		{"volume 0 throughout is silence", 0, [][4]int{{1, 0xB0, 7, 0}}, []float64{silent, silent, silent}},
		{"a reset brings expression back, not volume", 0, [][4]int{{1, 0xB0, 7, 127}, {1, 0xB0, 11, 16}, {2, 0xB0, 121, 0}}, []float64{full - 36.00, full, full}},
		{"another channel's volume is not heard", 0, [][4]int{{1, 0xB1, 7, 0}}, []float64{full - 4.15, full - 4.15, full - 4.15}},
		{"the channel may be set in another track", 1, [][4]int{{1, 0xB0, 7, 127}}, []float64{full, full, full}},
		{"where its own says nothing", 1, [][4]int{{1, 0xB0, 7, 0}, {2, 0xB0, 7, 127}}, []float64{silent, full, full}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := controlled(t, held+"\nkick "+strings.Repeat(".", 48), tt.track, tt.events...)
			e := energyOf(t, s)
			checkEnergy(t, s, e)
			levels(t, e, tt.want...)
		})
	}
	t.Run("its own track overrules another", func(t *testing.T) {
		s := controlled(t, held+"\nkick "+strings.Repeat(".", 48), 0, [4]int{1, 0xB0, 7, 127})
		e := s.Edit()
		e.Insert(1, smf.Channel(0, 0xB0, 7, 0))
		levels(t, energyOf(t, e.Song()), full, full, full)
	})
	t.Run("of several other tracks the last to set it counts", func(t *testing.T) {
		silentRow := " " + strings.Repeat(".", 48)
		s := controlled(t, held+"\nkick"+silentRow+"\nhat"+silentRow, 1, [4]int{2, 0xB0, 7, 127}, [4]int{3, 0xB0, 7, 127})
		e := s.Edit()
		e.Insert(2, smf.Channel(0, 0xB0, 7, 0))
		levels(t, energyOf(t, e.Song()), silent, full, full)
	})
	t.Run("a change in mid-bar counts from there on", func(t *testing.T) {
		s := drawn(t, `lead x---------------`)
		e := s.Edit()
		e.Insert(0, smf.Channel(0, 0xB0, 7, 127))
		e.Insert(0, smf.Channel(s.End/4, 0xB0, 7, 0))
		levels(t, energyOf(t, e.Song()), full-6.02)
	})
	t.Run("a hit has the volume it is struck at", func(t *testing.T) {
		s := drawn(t, `kick x...............`)
		e := s.Edit()
		e.Insert(0, smf.Channel(0, 0xB0, 7, 127))
		e.Insert(0, smf.Channel(s.End/4, 0xB0, 7, 0))
		levels(t, energyOf(t, e.Song()), -20.31+4.15)
	})
}

func TestSustainPedalPutsEndsOff(t *testing.T) {
	const bar, end = -8.30, -30.96 // as above
	grid := "lead x-------........|................|................"
	for _, tt := range []struct {
		rule   string
		events [][4]int
		want   []float64
	}{
		{"down at its end, a note is held until the pedal comes up", [][4]int{{1, 0xB0, 64, 64}, {3, 0xB0, 64, 63}}, []float64{bar, bar, end}},
		{"or to the end of the song", [][4]int{{1, 0xB0, 64, 127}}, []float64{bar, bar, bar}},
		{"up, it is not", [][4]int{{1, 0xB0, 64, 63}}, []float64{bar - 2.96, silent, silent}},
		{"a reset lifts it", [][4]int{{1, 0xB0, 64, 127}, {2, 0xB0, 121, 0}}, []float64{bar, end, silent}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			levels(t, energyOf(t, controlled(t, grid, 0, tt.events...)), tt.want...)
		})
	}
}

// These are pairs of songs, of which the first is as strong as the second.
func TestInstruments(t *testing.T) {
	program := func(p int) [][4]int { return [][4]int{{1, 0xC0, p, 0}} }
	held := func(part string) string { return part + " x---------------|----------------" }
	for _, tt := range []struct {
		rule       string
		a          string
		aProgram   [][4]int
		b          string
		bProgram   [][4]int
		difference float64
	}{
		{"the program says the instrument, whatever the role", held("bass"), program(80), held("lead:36"), nil, 0},
		{"a program may change", held("lead"), [][4]int{{1, 0xC0, 16, 0}, {2, 0xC0, 80, 0}}, held("lead"), program(16), 0},
		{"piano says nothing where the role is known", held("pad"), program(0), held("pad"), nil, 0},
		{"an organ is 3 dB under a lead", held("lead"), program(16), held("lead"), nil, -3},
		{"a role without a program sounds as one with it", held("strings"), nil, held("lead"), program(48), 0},
		{"a kick is a kick on any key", "kick:60 x...x...", nil, "kick x...x...", nil, 0},
		{"a closed hat is 15 dB under a kick", "hat x...x...", nil, "kick x...x...", nil, -15},
		{"percussion sounds by its key", "perc:64 x...x...", nil, "perc:75 x...x...", nil, 8},
		{"so does a drum of the map", "crash:49 x...x...", nil, "crash:57 x...x...", nil, 0.5},
		{"a ride on another key is a ride", "ride:90 x...x...", nil, "ride:51 x...x...", nil, 0},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			a := energyOf(t, controlled(t, whole(tt.a), 0, tt.aProgram...))
			b := energyOf(t, controlled(t, whole(tt.b), 0, tt.bProgram...))
			if got := level(a.Bars[0].Sum()) - level(b.Bars[0].Sum()); math.Abs(got-tt.difference) > 0.006 {
				t.Errorf("got %.2f dB apart, want %.2f", got, tt.difference)
			}
		})
	}
	// The lead plays in the first bar, the pad in the second.
	t.Run("piano is meant where other programs are set", func(t *testing.T) {
		const two = "lead x---............|................\npad  ................|x---............"
		const pad, lead, piano = -17.47, -14.23, -21.38 // two seconds a bar, each note half a second and its end
		for _, tt := range []struct {
			rule     string
			programs [][4]int
			want     []float64
		}{
			{"all are piano", [][4]int{{1, 0xC0, 0, 0}, {1, 0xC1, 0, 0}}, []float64{lead, pad}},
			{"the pad has another", [][4]int{{1, 0xC0, 0, 0}, {1, 0xC1, 89, 0}}, []float64{piano, pad}},
			{"the lead has another", [][4]int{{1, 0xC0, 81, 0}, {1, 0xC1, 0, 0}}, []float64{lead, piano}},
			{"one says nothing", [][4]int{{1, 0xC1, 89, 0}}, []float64{lead, pad}},
		} {
			t.Run(tt.rule, func(t *testing.T) { levels(t, energyOf(t, controlled(t, two, 0, tt.programs...)), tt.want...) })
		}
	})
	t.Run("an effect's program says nothing of the others", func(t *testing.T) {
		const two = "lead x---............\nfx   ................"
		levels(t, energyOf(t, controlled(t, two, 0, [4]int{1, 0xC0, 0, 0}, [4]int{1, 0xC1, 97, 0})), -14.23)
	})
	t.Run("a skeleton is a kick and a snare", func(t *testing.T) {
		s := drawn(t, "kick:36 x.......x.......\nkick:38 ....x.......x...")
		apart := drawn(t, "kick x.......x.......\nsnare ....x.......x...")
		levels(t, energyOf(t, s), level(energyOf(t, apart).Bars[0].Sum()))
	})
	t.Run("raw notes on channel 10 are drums", func(t *testing.T) {
		s := drawn(t, "kick x.......x.......\nhat x.x.x.x.x.x.x.x.")
		for i := range s.Parts {
			s.Parts[i].Role, s.Parts[i].Kit, s.Parts[i].Channel = song.RoleUnknown, false, 9
		}
		levels(t, energyOf(t, s), level(energyOf(t, drawn(t, "kick x.......x.......\nhat x.x.x.x.x.x.x.x.")).Bars[0].Sum()))
	})
}

// whole fills a row up to a bar of sixteen steps.
func whole(row string) string {
	name, steps, _ := strings.Cut(row, " ")
	if len(steps) < 16 {
		steps += strings.Repeat(".", 16-len(steps))
	}
	return name + " " + steps
}

func TestLowMidAndHigh(t *testing.T) {
	for _, tt := range []struct {
		grid                    string
		low, mid, high          float64 // at least
		mostLow, mostMid, mostH float64
	}{
		{"kick x...x...x...x...", .9, 0, 0, 1, .1, .1},
		{"hat x...x...x...x...", 0, 0, .85, .05, .2, 1},
		{"bass:33 x---x---x---x---", .6, .3, 0, .7, .4, .01},
		{"lead:60 x---x---x---x---", 0, .9, 0, .05, 1, .1},
		{"lead:96 x---x---x---x---", 0, .5, .25, .01, .8, .4},
		{"lead:127 x---x---x---x---", 0, 0, 1, 0, 0, 1},
		{"trigger x...x...x...x...", 0, 0, 0, 0, 0, 0},
	} {
		t.Run(tt.grid, func(t *testing.T) {
			b := energyOf(t, drawn(t, tt.grid)).Bars[0]
			sum := float64(max(b.Sum(), 1))
			low, mid, high := float64(b[0])/sum, float64(b[1])/sum, float64(b[2])/sum
			if low < tt.low || low > tt.mostLow || mid < tt.mid || mid > tt.mostMid || high < tt.high || high > tt.mostH {
				t.Errorf("got %+v", b)
			}
		})
	}
}

func TestLoudness(t *testing.T) {
	for _, tt := range []struct{ db, loudest, want float64 }{
		{-10, -10, 1}, {-20, -10, .5}, {-30, -10, .25}, {silent, silent, 0}, {silent, 0, 0}, {0, -3, 1},
	} {
		if got := form.Loudness(tt.db, tt.loudest); got != tt.want {
			t.Errorf("%v of %v dB: got %v, want %v", tt.db, tt.loudest, got, tt.want)
		}
	}
}

// checkEnergy checks what holds of the energy of every song.
func checkEnergy(t *testing.T, s song.Song, e form.Energy) {
	t.Helper()
	if len(e.Bars) != s.Bars() || len(e.Parts) != len(s.Parts) {
		t.Fatalf("got %d bars of %d parts, want %d of %d", len(e.Bars), len(e.Parts), s.Bars(), len(s.Parts))
	}
	for b, bar := range e.Bars {
		var sum form.Powers
		for i := range e.Parts {
			for band, p := range e.Parts[i][b] {
				if p < 0 {
					t.Fatalf("bar %d, part %d, band %d: got %d", b+1, i, band, p)
				}
				sum[band] += p
			}
		}
		if sum != bar || level(bar.Sum()) > 200 {
			t.Fatalf("bar %d: the parts add up to %v, want %v", b+1, sum, bar)
		}
		if share := bar.Sum().Share(e.Loudest()); share < 0 || share > 1000 || (share == 0) != (bar.Sum() < e.Loudest().At(1) || bar.Sum().Silent()) {
			t.Fatalf("bar %d: got a share of %d", b+1, share)
		}
	}
}

// Held notes of one part among changes of tempo and metre are summed here millisecond by millisecond.
func TestEnergyIsTheSumOverTime(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, tt := range []struct {
		role       song.Role
		fall, ring float64 // dB a second
		level      float64
	}{
		{song.RoleLead, 0, 400, 0},
		{song.RolePad, 0, 40, -4},
		{song.RoleChords, 10, 400, -2},
		{song.RoleBass, 20, 400, 3},
	} {
		s := song.Blank(96,
			[]smf.TempoAt{{Tick: 0, Micros: 500_000}, {Tick: 1000, Micros: 900_000}, {Tick: 2000, Micros: 300_000}},
			[]smf.MetreAt{{Metre: smf.Metre{Num: 4, Den: 4}}, {Tick: 768, Metre: smf.Metre{Num: 3, Den: 8}}}, 3100)
		e := s.Edit()
		p := e.NewPart(song.Part{Name: "part", Role: tt.role})
		for key := range uint8(40) {
			at := song.Tick(r.IntN(3000))
			e.Place(p, song.Note{Start: at, End: at + 1 + song.Tick(r.IntN(600)), Key: 40 + key, Vel: 1 + uint8(r.IntN(127))})
		}
		s = e.Song()
		got := energyOf(t, s)
		checkEnergy(t, s, got)
		tl := s.Time()
		for b := range got.Bars {
			from, to := tl.Seconds(tl.BarStart(b+1)), min(tl.Seconds(s.End), tl.Seconds(tl.BarStart(b+2)))
			const steps = 2000
			sum := 0.0
			for k := range steps {
				at := from + (to-from)*(float64(k)+.5)/steps
				for _, n := range s.Parts[p].Notes {
					on, off := tl.Seconds(n.Start), tl.Seconds(n.End)
					if at < on {
						continue
					}
					db := tt.level + 40*math.Log10(float64(n.Vel)/127*100/127) - tt.fall*(min(at, off)-on) - tt.ring*max(0, at-off)
					sum += math.Pow(10, db/10) / steps
				}
			}
			want := max(silent, 10*math.Log10(sum))
			if math.Abs(level(got.Bars[b].Sum())-want) > 0.05 && want > -90 {
				t.Errorf("%s, bar %d: got %.2f dB, want %.2f", tt.role, b+1, level(got.Bars[b].Sum()), want)
			}
		}
	}
}

// Many low notes come and go; when one high note is left, nothing of them is, not even a rounding error
// below zero.
func TestWhatIsOverLeavesNothing(t *testing.T) {
	for seed := range uint64(20) {
		s := song.Blank(96, nil, nil, 20*384)
		e := s.Edit()
		p := e.NewPart(song.Part{Name: "lead", Role: song.RoleLead})
		r := rand.New(rand.NewPCG(seed, 0))
		for range 200 {
			at := song.Tick(r.IntN(15 * 384))
			e.Place(p, song.Note{Start: at, End: at + 1 + song.Tick(r.IntN(700)), Key: 30 + uint8(r.IntN(12)), Vel: 1 + uint8(r.IntN(127))})
		}
		e.Place(p, song.Note{Start: 19 * 384, End: 20 * 384, Key: 90, Vel: 1})
		s = e.Song()
		got := energyOf(t, s)
		checkEnergy(t, s, got)
		if bar := got.Bars[19]; bar[0] > 0 || got.Bars[18] != (form.Powers{}) {
			t.Errorf("seed %d: got %+v after %+v", seed, bar, got.Bars[18])
		}
	}
}

func TestOddSongsHaveEnergy(t *testing.T) {
	many := ""
	for i := range 60 {
		many += fmt.Sprintf("lead-%d x...x...x...x...\n", i+1)
	}
	zero := drawn(t, "bass x...x...|x...x...\nkick x...x...|x...x...")
	for i := range zero.Parts {
		for j := range zero.Parts[i].Notes {
			zero.Parts[i].Notes[j].End = zero.Parts[i].Notes[j].Start
		}
	}
	late := drawn(t, "lead x...............")
	late.Parts[0].Notes[0].Start = late.End
	late.Parts[0].Notes[0].End = late.End
	for rule, s := range map[string]song.Song{
		"one bar":                             drawn(t, "lead x..............."),
		"sixty tracks":                        drawn(t, many),
		"drums only":                          drawn(t, "kick x...x...x...x...\nhat ..x...x...x...x."),
		"notes of no length":                  zero,
		"a note at the very end":              late,
		"no part at all":                      song.Blank(96, nil, nil, 1000),
		"a bar of one tick":                   song.Blank(16, nil, []smf.MetreAt{{Metre: smf.Metre{Num: 1, Den: 64}}}, 100),
		"an unknown role, and no program set": func() song.Song { s := drawn(t, "unknown x---"+strings.Repeat(".", 12)); return s }(),
	} {
		t.Run(rule, func(t *testing.T) { checkEnergy(t, s, energyOf(t, s)) })
	}
	if e := energyOf(t, zero); level(e.Bars[0].Sum()) < -40 || e.Parts[0][0].Sum().Silent() || e.Parts[1][0].Sum().Silent() {
		t.Errorf("notes of no length are not heard: %+v", e)
	}
}

func TestSongsWithoutEnergy(t *testing.T) {
	timeCode, err := song.From(&smf.File{Division: 0xE728, Tracks: []smf.Track{{}}})
	if err != nil {
		t.Fatal(err)
	}
	long := song.Blank(1, nil, []smf.MetreAt{{Metre: smf.Metre{Num: 1, Den: 4}}}, smf.MaxTicks)
	for _, tt := range []struct {
		rule string
		s    song.Song
		want string
	}{
		{"time code", timeCode, "no common bars (format 2 or SMPTE time), so there is no energy to measure"},
		{"no bar", song.Blank(96, nil, nil, 0), "no bars, so there is no energy to measure"},
		{"far more bars than notes", long, "found 268435455 bars, want at most 65536 to measure the energy of 0 parts with 0 notes"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			if _, err := form.EnergyOf(tt.s); err == nil || err.Error() != tt.want {
				t.Errorf("got %v, want %s", err, tt.want)
			}
		})
	}
}
