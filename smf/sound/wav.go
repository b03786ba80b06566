package sound

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"loopdraft/smf"
)

// Format tags of a WAVE file (Multimedia Programming Interface and Data Specifications 1.0, and RFC 2361;
// the extensible one from Microsoft's WAVEFORMATEXTENSIBLE).
const (
	wavePCM        = 1
	waveFloat      = 3
	waveExtensible = 0xfffe
)

// unknownSize stands for the size of data that are written before their length is known, and in RF64,
// where it stands elsewhere: they go on to the end.
const unknownSize = math.MaxUint32

// The most channels that are taken, and how many samples of each are read at a time.
const (
	mostChannels    = 64
	framesInOneRead = 4096
)

// wav reads the samples of a RIFF WAVE file.
type wav struct {
	in       *counter
	hz       int
	channels int
	width    int // bytes of one sample
	floats   bool
	left     int64 // bytes of sound to come; less than 0: as many as there are
	have     int64 // frames that were read
	buf      []byte
	odd      int // samples far over full scale
}

func newWAV(c *counter) (*wav, error) {
	if err := c.skip(12); err != nil {
		return nil, err
	}
	w := &wav{in: c}
	for {
		at := c.at
		var head [8]byte
		if err := c.full(head[:], "a chunk of sound (data)"); err != nil {
			return nil, err
		}
		size := binary.LittleEndian.Uint32(head[4:])
		switch string(head[:4]) {
		case "fmt ":
			if err := w.format(at, size); err != nil {
				return nil, err
			}
		case "data":
			if w.channels == 0 {
				return nil, &smf.Error{Offset: at, Found: "sound (data)", Want: "its format (fmt) before it"}
			}
			if w.left = int64(size); size == unknownSize {
				w.left = -1
			}
			w.buf = make([]byte, framesInOneRead*w.channels*w.width)
			return w, nil
		default:
			if err := c.skip(int64(size) + int64(size&1)); err != nil {
				return nil, err
			}
		}
	}
}

// format reads a format chunk of some size, whose head is at a byte.
func (w *wav) format(at int64, size uint32) error {
	if size < 16 {
		return &smf.Error{Offset: at, Found: fmt.Sprintf("a format of %d bytes", size), Want: "16 or more"}
	}
	var f [40]byte
	n := min(size, uint32(len(f)))
	if err := w.in.full(f[:n], "a format (fmt)"); err != nil {
		return err
	}
	if err := w.in.skip(int64(size) - int64(n) + int64(size&1)); err != nil {
		return err
	}
	tag := binary.LittleEndian.Uint16(f[:])
	if tag == waveExtensible && n == uint32(len(f)) {
		tag = binary.LittleEndian.Uint16(f[24:])
	}
	channels, frame := int(binary.LittleEndian.Uint16(f[2:])), int(binary.LittleEndian.Uint16(f[12:]))
	bits := int(binary.LittleEndian.Uint16(f[14:]))
	known := tag == wavePCM && (bits == 8 || bits == 16 || bits == 24 || bits == 32) || tag == waveFloat && (bits == 32 || bits == 64)
	switch {
	case !known:
		return &smf.Error{Offset: at, Found: fmt.Sprintf("samples of %d bits in format %#x", bits, tag), Want: "8, 16, 24 or 32 bits (format 1) or floats of 32 or 64 (format 3)"}
	case channels < 1 || channels > mostChannels:
		return &smf.Error{Offset: at, Found: fmt.Sprintf("%d channels", channels), Want: fmt.Sprintf("1 to %d", mostChannels)}
	case frame != channels*bits/8:
		return &smf.Error{Offset: at, Found: fmt.Sprintf("%d bytes for a sample of each channel", frame), Want: fmt.Sprint(channels * bits / 8)}
	}
	w.hz, w.channels, w.width, w.floats = int(min(binary.LittleEndian.Uint32(f[4:]), math.MaxInt32)), channels, bits/8, tag == waveFloat
	return nil
}

func (w *wav) rate() int  { return w.hz }
func (w *wav) frame() int { return w.channels * w.width }

func (w *wav) read(left, right []float64) (int, error) {
	frame, at := w.frame(), w.in.at
	want := min(len(left), framesInOneRead)
	if w.left >= 0 {
		want = int(min(int64(want), w.left/int64(frame)))
	}
	n, err := io.ReadFull(w.in, w.buf[:want*frame])
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return 0, err
	}
	n /= frame
	if n == 0 {
		return 0, io.EOF
	}
	if err := w.numbers(w.buf[:n*frame], at); err != nil {
		return 0, err
	}
	clear(left[:n])
	clear(right[:n])
	for ch := range w.channels {
		w.add(side(ch, left, right)[:n], w.buf[ch*w.width:], frame)
	}
	w.have += int64(n)
	if w.left >= 0 {
		w.left -= int64(n * frame)
	}
	return n, nil
}

// add adds to a side the samples that start every few bytes.
func (w *wav) add(to []float64, from []byte, every int) {
	le := binary.LittleEndian
	for i := range to {
		b := from[i*every:]
		switch {
		case w.floats && w.width == 4:
			to[i] += w.tame(float64(math.Float32frombits(le.Uint32(b))))
		case w.floats:
			to[i] += w.tame(math.Float64frombits(le.Uint64(b)))
		case w.width == 1: // no sign, the middle is 128
			to[i] += (float64(b[0]) - 128) / (1 << 7)
		case w.width == 2:
			to[i] += float64(int16(le.Uint16(b))) / (1 << 15)
		case w.width == 3:
			to[i] += float64(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)) / (1 << 31)
		default:
			to[i] += float64(int32(le.Uint32(b))) / (1 << 31)
		}
	}
}

// numbers refuses the first sample that is infinite or no number; the samples stand at a byte of the file.
func (w *wav) numbers(samples []byte, at int64) error {
	if !w.floats {
		return nil
	}
	for i := 0; i < len(samples); i += w.width {
		x := 0.0
		if w.width == 4 {
			x = float64(math.Float32frombits(binary.LittleEndian.Uint32(samples[i:])))
		} else {
			x = math.Float64frombits(binary.LittleEndian.Uint64(samples[i:]))
		}
		if math.IsNaN(x) || math.IsInf(x, 0) {
			second := float64(w.have+int64(i/w.frame())) / float64(w.hz)
			return &smf.Error{Offset: at + int64(i), Found: fmt.Sprintf("a sample of %v at %.3f s", x, second), Want: "a finite number"}
		}
	}
	return nil
}

// loudest is the magnitude, in full scales, over which a float is no sound.
const loudest = 1000

// tame returns a sample, or silence for one that is no sound.
func (w *wav) tame(x float64) float64 {
	if math.Abs(x) > loudest {
		w.odd++
		return 0
	}
	return x
}

func (w *wav) end() string {
	switch {
	case w.left > 0:
		return shortBy(w.have, w.have+max(1, w.left/int64(w.channels*w.width)))
	case w.odd > 0:
		return fmt.Sprintf("%d samples are far over full scale: taken as silence", w.odd)
	}
	return ""
}
