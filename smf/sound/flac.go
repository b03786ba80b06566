package sound

import (
	"bufio"
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
	ahead *bufio.Reader // what the stream reads from
	s     *flac.Stream
	now   *frame.Frame
	used  int // frames of now that were given
	have  int64
	cut   bool // the file ended inside a frame
}

func newFLAC(c *counter) (f *flacFile, err error) {
	// The stream's own reader takes whatever block comes first as large as it says it is.
	if head, _ := c.r.Peek(8); len(head) < 8 || head[4]&0x7f != 0 || string(head[5:8]) != "\x00\x00\x22" {
		return nil, &smf.Error{Offset: c.at + 4, Found: "no stream information of 34 bytes", Want: "it first in a FLAC file"}
	}
	f = &flacFile{in: c, ahead: bufio.NewReaderSize(c, 4096)} // the library keeps a buffer of that size as its own
	at := f.at()
	err = guarded(func() (err error) {
		f.s, err = flac.New(f.ahead)
		return err
	})
	if err != nil {
		return nil, &smf.Error{Offset: at, Found: "FLAC that cannot be read: " + err.Error(), Want: "a whole header"}
	}
	if rate := f.rate(); rate >= lowestRate {
		if err := tooLong(int64(f.s.Info.NSamples), rate, f.frame()); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// How many samples, of all channels together, a FLAC file may have: so many whatever its size, which is a minute and a
// half of 48 kHz in stereo, and so many more for each of its bytes. Silence in stereo, in the usual blocks of 4096 samples,
// comes to 568 a byte (measured), so that it may last 12 minutes before the first sound; the format allows 4500.
const (
	samplesOfAny = 1 << 23
	samplesAByte = 500
)

// tooDense refuses a file of which a few bytes stand for hours of sound.
func (f *flacFile) tooDense() error {
	channels := int64(len(f.now.Subframes))
	samples, read := (f.have+int64(len(f.now.Subframes[0].Samples)))*channels, f.at()
	if samples <= samplesOfAny+samplesAByte*read {
		return nil
	}
	return &smf.Error{Offset: read, Found: fmt.Sprintf("%d samples in %d bytes", samples, read), Want: fmt.Sprintf("%d samples a byte at most after the first %d", samplesAByte, samplesOfAny)}
}

// at returns the byte of the file that the stream reads next.
func (f *flacFile) at() int64 { return f.in.at - int64(f.ahead.Buffered()) }

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

func (f *flacFile) frame() int {
	return max(1, int(f.s.Info.NChannels)*((int(f.s.Info.BitsPerSample)+7)/8))
}

func (f *flacFile) read(left, right []float64) (int, error) {
	for f.now == nil || f.used >= len(f.now.Subframes[0].Samples) {
		at := f.at()
		err := guarded(func() (err error) {
			f.now, err = f.s.ParseNext()
			return err
		})
		if err == nil && (len(f.now.Subframes) == 0) {
			err = errors.New("a frame without channels")
		}
		if err == nil {
			if err := f.tooDense(); err != nil {
				return 0, err
			}
		}
		told := int64(f.s.Info.NSamples)
		switch f.used = 0; {
		case err == nil:
		case errors.Is(err, io.EOF), told > 0 && f.have >= told: // what stands behind the sound is no sound
			return 0, io.EOF
		case errors.Is(err, io.ErrUnexpectedEOF):
			f.cut = true
			return 0, io.EOF
		default:
			second := float64(f.have) / float64(f.rate())
			return 0, &smf.Error{Offset: at, Found: fmt.Sprintf("FLAC that cannot be read at %.3f s: %v", second, err), Want: "a whole frame"}
		}
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
	if f.cut {
		return "the file stops short: its last frame is not whole"
	}
	return ""
}
