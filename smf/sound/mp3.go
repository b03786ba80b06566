package sound

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"loopdraft/smf"

	"github.com/hajimehoshi/go-mp3"
)

// mp3File reads the samples of an MPEG-1 or MPEG-2 layer III stream.
type mp3File struct {
	in    *counter
	walk  *frameWalk
	d     *mp3.Decoder
	buf   []byte
	fault error
}

func newMP3(c *counter) (m *mp3File, err error) {
	at := c.at
	m = &mp3File{in: c, walk: &frameWalk{r: c}, buf: make([]byte, 4*framesInOneRead)}
	err = guarded(func() error {
		m.d, err = mp3.NewDecoder(m.walk)
		return err
	})
	if err != nil {
		return nil, &smf.Error{Offset: at, Found: "MP3 that cannot be read: " + err.Error(), Want: "a frame of MPEG-1 or MPEG-2 layer III"}
	}
	return m, nil
}

func (m *mp3File) rate() int  { return m.d.SampleRate() }
func (m *mp3File) frame() int { return 4 } // as the decoder gives them

func (m *mp3File) read(left, right []float64) (int, error) {
	var n int
	err := guarded(func() (err error) {
		n, err = io.ReadFull(m.d, m.buf[:4*min(len(left), framesInOneRead)])
		return err
	})
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		m.fault = err
	}
	n /= 4
	if n == 0 {
		return 0, io.EOF
	}
	for i := range n { // always two sides of 16 bits; of one channel twice the same
		left[i] = float64(int16(binary.LittleEndian.Uint16(m.buf[4*i:]))) / (1 << 15)
		right[i] = float64(int16(binary.LittleEndian.Uint16(m.buf[4*i+2:]))) / (1 << 15)
	}
	return n, nil
}

func (m *mp3File) end() string {
	switch {
	case m.fault != nil:
		return fmt.Sprintf("nothing is read from about byte %#x on: %v", m.in.at, m.fault)
	case m.walk.left > 0:
		return fmt.Sprintf("the file stops short: its last frame lacks %d bytes", m.walk.left)
	}
	return ""
}

// frameWalk passes an MP3 stream on and follows its frames by their headers, because the decoder ends
// without a word inside a frame that is not whole.
type frameWalk struct {
	r    io.Reader
	head uint32 // the last four bytes
	left int    // bytes of this frame to come
}

func (w *frameWalk) Read(p []byte) (int, error) {
	n, err := w.r.Read(p)
	for i := 0; i < n; i++ {
		if w.left > 0 {
			step := min(w.left, n-i)
			w.left, i = w.left-step, i+step-1
			continue
		}
		w.head = w.head<<8 | uint32(p[i])
		if size := frameSize(w.head); size > 0 {
			w.left, w.head = size-4, 0
		}
	}
	return n, err
}

// frameSize returns the bytes of a layer III frame by its header (ISO/IEC 11172-3 section 2.4.2.3 and
// 13818-3, from memory), 0 if it is none.
func frameSize(head uint32) int {
	version, layer, rate, freq, pad := head>>19&3, head>>17&3, head>>12&15, head>>10&3, int(head>>9&1)
	if head>>21 != 0x7ff || version < 2 || layer != 1 || rate == 0 || rate == 15 || freq == 3 {
		return 0
	}
	hz := []int{44100, 48000, 32000}[freq]
	if version == 3 {
		kbps := []int{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320}[rate]
		return 144000*kbps/hz + pad
	}
	kbps := []int{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160}[rate]
	return 72000*kbps/(hz/2) + pad
}
