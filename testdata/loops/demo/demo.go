// Package demo makes the demo loops from step grids, so that every note of them can be read and
// changed in one place. Start with [Files].
//
// The loops are our own and belong to the small scenario told in the README beside them. Velocities,
// swing and controller rides are common practice, no source.
package demo

import (
	"fmt"

	"loopdraft/smf"
)

// File is one demo loop as bytes of a Standard MIDI File.
type File struct {
	Name  string // path below testdata/loops, with slashes
	Bytes []byte
}

// Files makes every demo loop, always in the same order and with the same bytes. An error names
// the loop, track and row whose grid cannot be read.
func Files() ([]File, error) {
	var out []File
	for _, l := range loops() {
		f, err := l.file()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", l.name, err)
		}
		b, err := f.Encode()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", l.name, err)
		}
		out = append(out, File{l.name, b})
	}
	return out, nil
}

func loops() []loop {
	out := []loop{harbourLights()}
	out = append(out, ferry()...)
	return append(out, oneChannel(), fogSignal(), sevenBells(), breakwater(), kickBass(), smallHours())
}

// loop is one file to make.
type loop struct {
	name   string
	format uint16
	ppq    smf.Tick
	bpm    int // quarter notes a minute
	metre  metre
	key    key
	bars   int
	tracks []track
}

// metre is n beats of a 2^pow-th note, with the steps its grids draw a bar in.
type metre struct{ n, pow, steps int }

func fourFour() metre { return metre{n: 4, pow: 2, steps: 16} }

// key is a key signature: sharps (below 0: flats), and whether it is minor.
type key struct {
	sharps int8
	minor  bool
}

// track is one track: a name, a channel from 1, a program from 1 (0: none is sent), and its rows.
type track struct {
	name    string
	channel int
	bank    int // from 1, sent with the program; 0: none is sent
	program int
	swing   int // share of an eighth that its first sixteenth takes, in percent; 0: 50
	rows    []row
	wheels  []point
	endsAt  int // step its end of track stands on; 0: the loop's last bar line
}

// point is a controller, bend or pressure event at a step; kind is its status without a channel.
type point struct {
	step   int
	kind   byte
	d1, d2 byte
}

// file lays the loop out: format 0 in one track, format 1 with tempo, metre and key in the first.
func (l loop) file() (*smf.File, error) {
	f := &smf.File{Format: l.format, Division: smf.Division(l.ppq)}
	for i, t := range l.tracks {
		var out smf.Track
		if i == 0 {
			l.conduct(&out, t.name)
		} else {
			out.AppendMeta(0, 0x03, []byte(t.name))
		}
		if err := l.play(&out, t); err != nil {
			return nil, fmt.Errorf("track %q: %w", t.name, err)
		}
		f.Tracks = append(f.Tracks, out)
	}
	return f, nil
}

// conduct writes the events of the whole loop: track name, tempo, metre, key.
func (l loop) conduct(out *smf.Track, name string) {
	out.AppendMeta(0, 0x03, []byte(name))
	us := smf.MicrosPerQuarter(int64(l.bpm) * 1000)
	out.AppendMeta(0, 0x51, []byte{byte(us >> 16), byte(us >> 8), byte(us)})
	// 24 clocks a click and 8 thirty-seconds a quarter are what nearly every file has (RP-001 p. 10).
	out.AppendMeta(0, 0x58, []byte{byte(l.metre.n), byte(l.metre.pow), 24, 8})
	minor := byte(0)
	if l.key.minor {
		minor = 1
	}
	out.AppendMeta(0, 0x59, []byte{byte(l.key.sharps), minor})
}

// step returns the length of a grid step: a bar is 4n/2^pow quarters.
func (l loop) step() smf.Tick {
	return l.ppq * 4 * smf.Tick(l.metre.n) / smf.Tick(l.metre.steps<<l.metre.pow)
}
