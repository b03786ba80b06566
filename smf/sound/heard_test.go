package sound

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/novelty"
	"loopdraft/smf/oracle"
)

func listen(t *testing.T, file []byte, o Options) *Heard {
	t.Helper()
	h, err := Listen(bytes.NewReader(file), o)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// middle is a break of eight bars.
func middle(bar int) bool { return bar >= 16 && bar < 24 }

func TestHeardAtEveryRate(t *testing.T) {
	for _, rate := range []int{8000, 22050, 44100, 96000}[:oracle.Size(1, 4, 4)] {
		p := newPlayer(rate, 66)
		p.club(0.37, 126.3, 32, middle)
		h := listen(t, p.wav(), Options{})
		if h.SampleRate != rate || math.Abs(h.Bpm-126.3) > .05 || math.Abs(h.Offset-.37) > .02 || len(h.Bars) != 32 || h.BpmConfidence < .5 || len(h.Warnings) > 0 {
			t.Errorf("%d Hz: heard %.3f bpm (%.2f) from %.3f s, %d bars, %v", rate, h.Bpm, h.BpmConfidence, h.Offset, len(h.Bars), h.Warnings)
		}
		for i, b := range h.Bars {
			if b.Kick == middle(i) || b.Low == middle(i) {
				t.Errorf("%d Hz, bar %d: kick %v, low end %v", rate, i+1, b.Kick, b.Low)
			}
		}
	}
}

func TestWhatIsToldIsTaken(t *testing.T) {
	p := newPlayer(oracle.Size(8000, 22050, 22050), 40)
	p.club(0, 120, 20, middle)
	at := 1.0
	h := listen(t, p.wav(), Options{Bpm: 60.5, Offset: &at, BeatsPerBar: 3})
	if h.Bpm != 60.5 || h.Offset != 1 || h.Bars[0].Start != 1 || math.Abs(h.Bars[2].Start-(1+6*60/60.5)) > 1e-9 {
		t.Errorf("heard %v bpm from %v, bars at %v", h.Bpm, h.Offset, h.Bars[2].Start)
	}
	if h := listen(t, p.wav(), Options{Bpm: 120}); math.Abs(h.Offset) > .02 || len(h.Bars) != 20 {
		t.Errorf("of 120 bpm heard bars from %v, %d of them", h.Offset, len(h.Bars))
	}
}

// TestRecordingThatBeginsInABar: what sounds before the first downbeat belongs to no bar.
func TestRecordingThatBeginsInABar(t *testing.T) {
	p := newPlayer(oracle.Size(8000, 22050, 22050), 64)
	p.club(-1.2, 120, 32, middle)
	h := listen(t, p.wav(), Options{})
	if math.Abs(h.Offset-.8) > .02 || len(h.Bars) != 31 || !h.Bars[14].Kick || h.Bars[15].Kick {
		t.Errorf("heard %d bars from %.3f s, want 31 from 0.8", len(h.Bars), h.Offset)
	}
}

// TestSidesCountByTheirPower: a side that is silent, a side turned upside down, and one channel alone
// give the same bars.
func TestSidesCountByTheirPower(t *testing.T) {
	rate := oracle.Size(8000, 22050, 22050) // a third as much to listen to in a first run
	p := newPlayer(rate, 24)
	p.club(0, 120, 12, func(bar int) bool { return bar >= 8 })
	want := listen(t, p.wav(), Options{})
	one := newPlayer(rate, 24)
	copy(one.left, p.left)
	other := newPlayer(rate, 24)
	copy(other.right, p.left)
	upside := newPlayer(rate, 24)
	for i, x := range p.left {
		upside.left[i], upside.right[i] = x, -x
	}
	var mono []byte
	for i, b := range p.pcm() {
		if i%4 < 2 {
			mono = append(mono, b)
		}
	}
	for what, file := range map[string][]byte{
		"the right side silent": one.wav(), "the left side silent": other.wav(),
		"opposite phases": upside.wav(), "one channel": wavFile(1, rate, 1, 16, mono),
	} {
		got := listen(t, file, Options{})
		if math.Abs(got.Bpm-want.Bpm) > 1e-6 || math.Abs(got.Offset-want.Offset) > 1e-6 || len(got.Bars) != len(want.Bars) {
			t.Errorf("%s: heard %v bpm from %v, %d bars, want %v from %v, %d", what, got.Bpm, got.Offset, len(got.Bars), want.Bpm, want.Offset, len(want.Bars))
			continue
		}
		for i := range want.Bars {
			if g, w := got.Bars[i], want.Bars[i]; math.Abs(g.Level-w.Level) > .01 || g.Kick != w.Kick || g.Low != w.Low || g.Onsets != w.Onsets {
				t.Errorf("%s, bar %d: %+v, want %+v", what, i+1, g, w)
			}
		}
	}
}

func TestLevelsOfBands(t *testing.T) {
	for _, row := range []struct {
		hz   float64
		band Band
	}{{60, Low}, {180, Body}, {500, LowMid}, {2000, Mid}, {6000, High}} {
		for _, rate := range []int{22050, 44100, 48000}[:oracle.Size(1, 3, 3)] {
			p := newPlayer(rate, 4)
			p.add(0, 4, 1e9, sine(row.hz, 1))
			zero := 0.0
			h := listen(t, p.wav(), Options{Bpm: 120, Offset: &zero})
			b := h.Bars[0]
			// A sine at full scale has a mean square of one half.
			if math.Abs(b.Level+3.01) > .8 || math.Abs(b.Bands[row.band]+3.01) > .8 || math.Abs(b.Brightness/row.hz-1) > .05 {
				t.Errorf("%v Hz at %d: level %.2f dB, %v %.2f dB, brightness %.0f", row.hz, rate, b.Level, row.band, b.Bands[row.band], b.Brightness)
			}
			for other, level := range b.Bands {
				if Band(other) != row.band && level > -25 {
					t.Errorf("%v Hz at %d: %v has %.1f dB", row.hz, rate, Band(other), level)
				}
			}
		}
	}
}

func TestOnsetsAreCounted(t *testing.T) {
	p := newPlayer(22050, 32)
	for bar := range 16 {
		for n := range 4 << (bar % 3) {
			p.hat(float64(2*bar) + 2*float64(n)/float64(int(4)<<(bar%3)))
		}
	}
	zero := 0.0
	for i, b := range listen(t, p.wav(), Options{Bpm: 120, Offset: &zero}).Bars {
		if want := 4 << (i % 3); i > 0 && b.Onsets != want { // the first is at the edge
			t.Errorf("bar %d: %d onsets, want %d", i+1, b.Onsets, want)
		}
	}
}

func TestBarsThatSoundAlike(t *testing.T) {
	p := newPlayer(oracle.Size(8000, 22050, 22050), 64)
	p.club(0, 120, 32, middle)
	h := listen(t, p.wav(), Options{})
	if same, other := h.Alike(9, 10), h.Alike(10, 18); 100*same < 95*novelty.One || 100*other > 80*novelty.One {
		t.Errorf("two bars of a groove are alike by %d, one of the break by %d", same, other)
	}
}

func TestOddRecordings(t *testing.T) {
	silent, still, noisy, pads, loose := newPlayer(8000, 20), newPlayer(8000, 20), newPlayer(oracle.Size(8000, 22050, 22050), 20), newPlayer(8000, 64), newPlayer(8000, 60)
	for i := range still.left {
		still.left[i], still.right[i] = .5, .5
	}
	noisy.add(0, 20, 1e9, noise(.3))
	for bar := range 16 {
		pads.pad(float64(4*bar), 4)
	}
	for at, gap := 0.0, .3; at < 60; gap = .25 + math.Mod(gap*7.31, .5) {
		loose.kick(at)
		at += gap
	}
	short := newPlayer(22050, 2)
	short.club(0, 120, 1, middle)
	late := 3.0
	for _, row := range []struct {
		what string
		file []byte
		o    Options
		want string // in the refusal, or in a warning
	}{
		{"silence", silent.wav(), Options{}, "found silence, 20.0 s of it, want sound"},
		{"silence whose tempo is told", silent.wav(), Options{Bpm: 120}, "found silence"},
		{"what stands still", still.wav(), Options{}, "found silence"},
		{"one sample", wavFile(1, 44100, 1, 16, []byte{1, 99}), Options{}, "found silence, 0.0 s"},
		{"no sample", wavFile(1, 44100, 1, 16, nil), Options{}, "found silence, 0.0 s"},
		{"two seconds", short.wav(), Options{}, "found 2.0 s of sound, want 4 or more, or the tempo told"},
		{"less than a bar", short.wav(), Options{Bpm: 60}, "found 2.0 s of sound, want a bar, 4.0 s, or more"},
		{"a downbeat after the end", short.wav(), Options{Bpm: 120, Offset: &late}, "found a first downbeat at 3 s, want one in the recording of 2.0 s"},
		{"noise", noisy.wav(), Options{}, "no steady beat was heard"},
		{"free tempo", loose.wav(), Options{}, "no steady beat was heard"},
		{"no drums", pads.wav(), Options{Bpm: 120}, ""},
		{"a tempo that is none", nil, Options{Bpm: math.NaN()}, "found NaN bpm, want 20 to 600"},
		{"beats that are none", nil, Options{BeatsPerBar: -1}, "found -1 beats a bar, want 1 to 16"},
	} {
		h, err := Listen(bytes.NewReader(row.file), row.o)
		said := ""
		if err != nil {
			var refusal *smf.Error
			if said = err.Error(); !errors.As(err, &refusal) {
				t.Errorf("%s: %v is no refusal", row.what, err)
			}
		} else {
			said = strings.Join(h.Warnings, "\n")
			for i, b := range h.Bars {
				if row.want == "" && (b.Kick || b.Low) {
					t.Errorf("%s, bar %d: kick %v, low end %v", row.what, i+1, b.Kick, b.Low)
				}
			}
		}
		if !strings.Contains(said, row.want) || row.want == "" && said != "" {
			t.Errorf("%s: said %q, want %q", row.what, said, row.want)
		}
	}
}
