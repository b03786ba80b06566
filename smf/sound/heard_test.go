package sound

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"loopdraft/smf"
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
