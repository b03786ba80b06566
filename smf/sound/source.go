package sound

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"loopdraft/smf"
)

// The rates of samples, a second, that are taken.
const (
	lowestRate  = 8000
	highestRate = 192000
)

// source gives the samples of a recording, full scale being 1. A recording of one channel has the second
// side silent; of more than two, those past the second are added to the two sides in turn.
type source interface {
	rate() int
	frame() int // bytes of a sample of each channel
	// read fills both sides, which are of the same length, from the front and returns how many frames it
	// filled. It returns none and io.EOF when there are no more.
	read(left, right []float64) (int, error)
	// end says, once the end was read, what is missing from the recording; "" if nothing is.
	end() string
}

// counter counts the bytes that were read through it.
type counter struct {
	r  *bufio.Reader
	at int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.at += int64(n)
	return n, err
}

// full reads all of p. What ends before is an error.
func (c *counter) full(p []byte, what string) error {
	at := c.at
	_, err := io.ReadFull(c, p)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return &smf.Error{Offset: at, Found: "the end of the file", Want: what}
	}
	return err
}

// skip reads past n bytes or to the end.
func (c *counter) skip(n int64) error {
	_, err := io.CopyN(io.Discard, c, n)
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// HeadBytes is how many bytes of a file [IsRecording] asks for.
const HeadBytes = 12

// IsRecording tells by its first bytes whether a file is one that [Listen] may read.
func IsRecording(head []byte) bool {
	return string(head[:min(3, len(head))]) == "ID3" || formatOf(head) != noFormat
}

type format int

const (
	noFormat format = iota
	wavFormat
	flacFormat
	mp3Format
)

func formatOf(head []byte) format {
	is := func(at int, word string) bool {
		return len(head) >= at+len(word) && string(head[at:at+len(word)]) == word
	}
	switch {
	case (is(0, "RIFF") || is(0, "RF64")) && is(8, "WAVE"):
		return wavFormat
	case is(0, "fLaC"):
		return flacFormat
	case len(head) > 1 && head[0] == 0xff && head[1]&0xe0 == 0xe0:
		return mp3Format
	}
	return noFormat
}

// open tells by its first bytes what a recording is written as.
func open(r io.Reader) (source, error) {
	c := &counter{r: bufio.NewReaderSize(r, 1<<16)}
	if err := c.skipTags(); err != nil {
		return nil, err
	}
	head, err := c.r.Peek(HeadBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	var s source
	switch formatOf(head) {
	case wavFormat:
		s, err = newWAV(c)
	case flacFormat:
		s, err = newFLAC(c)
	case mp3Format:
		s, err = newMP3(c)
	default:
		if len(head) == 0 {
			return nil, &smf.Error{Offset: c.at, Found: "an empty file", Want: "WAV, FLAC or MP3"}
		}
		return nil, &smf.Error{Offset: c.at, Found: fmt.Sprintf("%q", head[:min(4, len(head))]), Want: "WAV, FLAC or MP3"}
	}
	if err != nil {
		return nil, err
	}
	if r := s.rate(); r < lowestRate || r > highestRate {
		return nil, &smf.Error{Offset: -1, Found: fmt.Sprintf("%d samples a second", r), Want: fmt.Sprintf("%d to %d", lowestRate, highestRate)}
	}
	return s, nil
}

// skipTags reads past ID3v2 tags (id3.org, ID3v2.4.0 section 3.1: ten bytes, the last four a size of 7 bits
// a byte), which stand before the sound of some MP3 and FLAC files.
func (c *counter) skipTags() error {
	for {
		tag, err := c.r.Peek(10)
		if err != nil || string(tag[:3]) != "ID3" {
			return nil // whoever reads on meets the error again
		}
		size := int64(tag[6]&0x7f)<<21 | int64(tag[7]&0x7f)<<14 | int64(tag[8]&0x7f)<<7 | int64(tag[9]&0x7f)
		if tag[5]&0x10 != 0 { // a footer
			size += 10
		}
		if err := c.skip(10 + size); err != nil {
			return err
		}
	}
}

// side returns which side a channel is added to.
func side(channel int, left, right []float64) []float64 {
	if channel%2 == 0 {
		return left
	}
	return right
}

// shortBy says how much of a recording is there, in frames; "" where it is all. A recording that does not
// say how long it is has 0 frames to come.
func shortBy(have, want int64) string {
	if have >= want {
		return ""
	}
	return fmt.Sprintf("the file stops short: %d of %d samples of each channel are there", have, want)
}
