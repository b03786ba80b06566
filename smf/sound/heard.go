package sound

import (
	"fmt"
	"io"
	"math"

	"loopdraft/smf"
)

// Options are what is known of a recording before it is heard.
type Options struct {
	Bpm         float64  // beats a minute, 20 to 600; 0: to be found
	Offset      *float64 // second of the first downbeat, within the recording; nil: to be found
	BeatsPerBar int      // 1 to 16; 0 stands for 4
}

// Heard is what was heard in a recording.
type Heard struct {
	SampleRate int     // samples a second of each channel
	Seconds    float64 // length of the recording, as far as it could be read
	Bpm        float64 // given, or found to about 0.01
	// BpmConfidence, 0..1, is how much what is struck is like itself a beat and up to 16 bars later, on average:
	// 0.5 and more for music of one tempo, under 0.3 where there is none or it is another.
	BpmConfidence float64
	// Offset is the second of the first downbeat. One that is found is the first in or after the sound, at most a
	// quarter of a beat before it, so that a pick-up belongs to no bar; it can lie a little before the recording.
	Offset   float64
	Bars     []Bar    // from the first downbeat to the last bar in which something sounds
	Warnings []string // what was odd, one line each
}

// Bar is what one bar sounds like.
type Bar struct {
	Start      float64        // second at which it starts
	Level      float64        // power in dB of full scale, at least -100
	Bands      [Bands]float64 // the same of each band
	Kick       bool           // a kick is struck on its beats
	Low        bool           // there is a low end under or between the strokes of the kick: a bass
	Brightness float64        // centroid of the power in Hz; 0 where it is silent
	Onsets     int            // how many strokes begin in it, those together being one
	features   []uint8
}

// leastSure is the confidence under which a tempo that was found is told to be a guess.
const leastSure = 0.3

// shortest is how many seconds of sound a tempo can be found in.
const shortest = 4.0

// Listen hears a recording in WAV, FLAC or MP3, 8 to 192 kHz, which it reads once to its end; of one that
// stops short what is there is heard, which is told. It keeps some 50 bytes for every 11.6 ms.
//
// The recording has one tempo; a tempo is looked for from 48 to 225 bpm, in bars of four beats, and of
// multiples that of dance music is preferred, 174 to 87, unless strokes between the beats say another. A kick is told by what is struck in the low bands on the two
// strongest beats of a bar, against the other bars: where there is no kick at all, a bass that is struck on
// the beats is taken for it.
//
// What is no such file, damaged, silent, too short, longer than 10 hours or 4 GiB of samples, FLAC of some thousand
// samples a byte over minutes, or of impossible options is refused with an [*smf.Error]; damage, and samples that are infinite or no number, with their place.
func Listen(r io.Reader, o Options) (*Heard, error) {
	if o.BeatsPerBar == 0 {
		o.BeatsPerBar = 4
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	s, err := open(r)
	if err != nil {
		return nil, err
	}
	sp, err := spectraOf(s)
	if err != nil {
		return nil, err
	}
	g, sure, err := sp.grid(o)
	if err != nil {
		return nil, err
	}
	h := &Heard{SampleRate: sp.rate, Seconds: sp.seconds, Bpm: 60 / g.beat, BpmConfidence: sure, Offset: g.first, Warnings: sp.notes}
	if o.Bpm > 0 {
		h.Bpm = o.Bpm // not what is left of it after two divisions
	} else if sure < leastSure {
		h.Warnings = append(h.Warnings, fmt.Sprintf("no steady beat was heard: %.2f bpm is a guess", h.Bpm))
	}
	h.Bars = sp.bars(g)
	return h, nil
}

func refuse(found, want string, values ...any) error {
	return &smf.Error{Offset: -1, Found: fmt.Sprintf(found, values...), Want: want}
}

func (o Options) check() error {
	switch {
	case o.Bpm != 0 && !(o.Bpm >= 20 && o.Bpm <= 600):
		return refuse("%v bpm", "20 to 600", o.Bpm)
	case o.BeatsPerBar < 1 || o.BeatsPerBar > 16:
		return refuse("%d beats a bar", "1 to 16", o.BeatsPerBar)
	case o.Offset != nil && !(*o.Offset >= 0 && *o.Offset < MaxSeconds):
		return refuse("a first downbeat at %v s", "one in the recording", *o.Offset)
	}
	return nil
}

// grid finds where the beats are, and how sure their tempo is.
func (sp *spectra) grid(o Options) (grid, float64, error) {
	begin, sounds := sp.begin()
	g := grid{perBar: o.BeatsPerBar, beat: 60 / o.Bpm}
	switch {
	case !sounds:
		return g, 0, refuse("silence, %.1f s of it", "sound", sp.seconds)
	case o.Bpm == 0 && sp.seconds < shortest:
		return g, 0, refuse("%.1f s of sound", fmt.Sprintf("%g or more, or the tempo told", shortest), sp.seconds)
	case o.Bpm > 0 && sp.seconds < g.bar():
		return g, 0, refuse("%.1f s of sound", fmt.Sprintf("a bar, %.1f s, or more", g.bar()), sp.seconds)
	case o.Offset != nil && *o.Offset >= sp.seconds:
		return g, 0, refuse("a first downbeat at %v s", fmt.Sprintf("one in the recording of %.1f s", sp.seconds), *o.Offset)
	}
	struck := sp.strengths(everyBand())
	if o.Bpm == 0 {
		hz := tempo(struck, sp.every, g.perBar)
		if hz == 0 {
			return g, 0, refuse("nothing that comes again", "a beat, or the tempo told")
		}
		g.beat = 1 / hz
	}
	sure := steadiness(autocorrelation(struck), g.beat/sp.every, float64(g.perBar))
	if o.Offset != nil {
		g.first = *o.Offset
		return g, sure, nil
	}
	g.first = sp.phase(g.beat, begin)
	g.first += float64(sp.downbeat(g, begin)) * g.beat
	earliest := begin - g.beat/4
	g.first += math.Ceil((earliest-g.first)/g.bar()) * g.bar()
	return g, sure, nil
}

// begin returns the second at which the recording begins to sound, at a hundred-thousandth of its greatest
// power, and whether it does.
func (sp *spectra) begin() (float64, bool) {
	most := 0.0
	for _, m := range sp.moments {
		most = max(most, m.all())
	}
	if decibels(most) <= quietest {
		return 0, false
	}
	for i, m := range sp.moments {
		if i > 0 && m.all() > most/1e5 {
			return (float64(i) + hops/2 - 0.5) * sp.every, true // the window reaches as far
		} else if m.all() > most/1e5 {
			break
		}
	}
	return 0, true
}
