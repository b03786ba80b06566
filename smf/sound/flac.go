package sound

import (
	"errors"
	"fmt"
	"io"

	"loopdraft/smf"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
)

// flacFile reads the samples of a FLAC stream (RFC 9639).
type flacFile struct {
	in    *counter
	s     *flac.Stream
	now   *frame.Frame
	used  int // frames of now that were given
	have  int64
	fault error // why reading ended before the end
}

func newFLAC(c *counter) (f *flacFile, err error) {
	// The stream's own reader takes whatever block comes first as large as it says it is.
	if head, _ := c.r.Peek(8); len(head) < 8 || head[4]&0x7f != 0 || string(head[5:8]) != "\x00\x00\x22" {
		return nil, &smf.Error{Offset: c.at + 4, Found: "no stream information of 34 bytes", Want: "it first in a FLAC file"}
	}
	at := c.at
	err = guarded(func() error {
		s, err := flac.New(c)
		f = &flacFile{in: c, s: s}
		return err
	})
	if err != nil {
		return nil, &smf.Error{Offset: at, Found: "FLAC that cannot be read: " + err.Error(), Want: "a whole header"}
	}
	return f, nil
}

// guarded runs a reader of other people and returns what it panics with as an error.
func guarded(read func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("damaged: %v", r)
		}
	}()
	return read()
}

func (f *flacFile) rate() int { return int(f.s.Info.SampleRate) }

func (f *flacFile) read(left, right []float64) (int, error) {
	for f.now == nil || f.used >= len(f.now.Subframes[0].Samples) {
		err := guarded(func() (err error) {
			f.now, err = f.s.ParseNext()
			return err
		})
		if err == nil && (len(f.now.Subframes) == 0) {
			err = errors.New("a frame without channels")
		}
		if err != nil {
			if !errors.Is(err, io.EOF) {
				f.fault = err
			}
			return 0, io.EOF
		}
		f.used = 0
	}
	bits := f.now.BitsPerSample
	if bits == 0 {
		bits = f.s.Info.BitsPerSample
	}
	scale := 1 / float64(int64(1)<<(max(bits, 1)-1))
	n := min(len(left), len(f.now.Subframes[0].Samples)-f.used)
	clear(left[:n])
	clear(right[:n])
	for ch, sub := range f.now.Subframes {
		to := side(ch, left, right)
		for i, x := range sub.Samples[f.used:min(f.used+n, len(sub.Samples))] {
			to[i] += float64(x) * scale
		}
	}
	f.used += n
	f.have += int64(n)
	return n, nil
}

func (f *flacFile) end() string {
	if short := shortBy(f.have, int64(f.s.Info.NSamples)); short != "" {
		return short
	}
	if f.fault != nil {
		return fmt.Sprintf("nothing is read from about byte %#x on: %v", f.in.at, f.fault)
	}
	return ""
}
