//go:build oracles

package sound

import (
	"math"
	"testing"

	"loopdraft/smf/novelty"
)

func TestWhatIsToldIsTaken(t *testing.T) {
	p := newPlayer(22050, 40)
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
	p := newPlayer(22050, 64)
	p.club(-1.2, 120, 32, middle)
	h := listen(t, p.wav(), Options{})
	if math.Abs(h.Offset-.8) > .02 || len(h.Bars) != 31 || !h.Bars[14].Kick || h.Bars[15].Kick {
		t.Errorf("heard %d bars from %.3f s, want 31 from 0.8", len(h.Bars), h.Offset)
	}
}

// TestSidesCountByTheirPower: a side that is silent, a side turned upside down, and one channel alone
// give the same bars.
func TestSidesCountByTheirPower(t *testing.T) {
	rate := 22050
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
		for _, rate := range []int{22050, 44100, 48000} {
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
	p := newPlayer(22050, 64)
	p.club(0, 120, 32, middle)
	h := listen(t, p.wav(), Options{})
	if same, other := h.Alike(9, 10), h.Alike(10, 18); 100*same < 95*novelty.One || 100*other > 80*novelty.One {
		t.Errorf("two bars of a groove are alike by %d, one of the break by %d", same, other)
	}
}
