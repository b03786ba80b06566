package sound

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

// samples reads a file to its end.
func samples(t testing.TB, file []byte) (left, right []float64, end string, err error) {
	t.Helper()
	s, err := open(bytes.NewReader(file))
	if err != nil {
		return nil, nil, "", err
	}
	l, r := make([]float64, 1000), make([]float64, 1000)
	for {
		n, err := s.read(l, r)
		if err == io.EOF {
			return left, right, s.end(), nil
		}
		if err != nil {
			return nil, nil, "", err
		}
		left, right = append(left, l[:n]...), append(right, r[:n]...)
	}
}

// TestSamplesOfEveryFormat: -1, 0 and almost half of full scale in each way a sample may be written.
func TestSamplesOfEveryFormat(t *testing.T) {
	le := binary.LittleEndian
	floats := func(bits int) (out []byte) {
		for _, x := range []float64{-1, 0, .5} {
			if bits == 32 {
				out = le.AppendUint32(out, math.Float32bits(float32(x)))
			} else {
				out = le.AppendUint64(out, math.Float64bits(x))
			}
		}
		return out
	}
	for _, row := range []struct {
		what      string
		tag, bits int
		data      []byte
	}{
		{"8 bits have no sign", 1, 8, []byte{0, 128, 192}},
		{"16 bits", 1, 16, []byte{0, 0x80, 0, 0, 0, 0x40}},
		{"24 bits", 1, 24, []byte{0, 0, 0x80, 0, 0, 0, 0, 0, 0x40}},
		{"32 bits", 1, 32, []byte{0, 0, 0, 0x80, 0, 0, 0, 0, 0, 0, 0, 0x40}},
		{"floats of 32 bits", 3, 32, floats(32)},
		{"floats of 64 bits", 3, 64, floats(64)},
	} {
		left, right, end, err := samples(t, wavFile(row.tag, 44100, 1, row.bits, row.data))
		if err != nil || end != "" || len(left) != 3 || left[0] != -1 || left[1] != 0 || left[2] != .5 || right[0] != 0 {
			t.Errorf("%s: got %v, %v (%q, %v)", row.what, left, right, end, err)
		}
	}
}

func TestChannelsGoToTheSidesInTurn(t *testing.T) {
	left, right, _, err := samples(t, wavFile(1, 44100, 3, 8, []byte{192, 128, 160, 64, 192, 128}))
	if err != nil || len(left) != 2 || left[0] != .75 || right[0] != 0 || left[1] != -.5 || right[1] != .5 {
		t.Errorf("got %v and %v, %v", left, right, err)
	}
}

// chunk is a chunk of a RIFF file, padded to an even length.
func chunk(name string, body ...byte) []byte {
	out := binary.LittleEndian.AppendUint32([]byte(name), uint32(len(body)))
	out = append(out, body...)
	return append(out, make([]byte, len(body)%2)...)
}

func riff(chunks ...[]byte) []byte {
	return append([]byte("RIFF\x00\x00\x00\x00WAVE"), bytes.Join(chunks, nil)...)
}

func TestChunks(t *testing.T) {
	format := []byte{1, 0, 1, 0, 0x40, 0x1f, 0, 0, 0x40, 0x1f, 0, 0, 1, 0, 8, 0} // 8000 Hz, one channel of 8 bits
	extensible := append([]byte{0xfe, 0xff, 1, 0, 0x40, 0x1f, 0, 0, 0x40, 0x1f, 0, 0, 1, 0, 8, 0, 22, 0, 8, 0, 4, 0, 0, 0, 1, 0}, make([]byte, 14)...)
	with := func(at int, b byte) []byte {
		f := bytes.Clone(format)
		f[at] = b
		return f
	}
	lies := bytes.Clone(chunk("data", 192, 192))
	copy(lies[4:], "\xf0\xff\xff\xff")
	endless := bytes.Clone(chunk("data", 192, 192))
	copy(endless[4:], "\xff\xff\xff\xff")
	for _, row := range []struct {
		what string
		file []byte
		n    int
		said string // by the error or at the end
	}{
		{"others are passed over, odd ones with their padding", riff(chunk("LIST", 1, 2, 3), chunk("fmt ", format...), chunk("x   ", 1), chunk("data", 192)), 1, ""},
		{"extensible", riff(chunk("fmt ", extensible...), chunk("data", 192)), 1, ""},
		{"what stands after the sound is no sound", riff(chunk("fmt ", format...), chunk("data", 192, 192), chunk("LIST", 1, 2)), 2, ""},
		{"of no known length", riff(chunk("fmt ", format...), endless), 2, ""},
		{"longer than the file", riff(chunk("fmt ", format...), lies), 2, "the file stops short: 2 of 4294967280 samples of each channel are there"},
		{"no sound", riff(chunk("fmt ", format...)), 0, "byte 0x24: found the end of the file, want a chunk of sound (data)"},
		{"sound before its format", riff(chunk("data", 1)), 0, "byte 0xc: found sound (data), want its format (fmt) before it"},
		{"half a format", riff(chunk("fmt ", format[:8]...)), 0, "byte 0xc: found a format of 8 bytes, want 16 or more"},
		{"a coded format", riff(chunk("fmt ", with(0, 17)...), chunk("data", 1)), 0, "byte 0xc: found samples of 8 bits in format 0x11, want"},
		{"bits that are none", riff(chunk("fmt ", with(14, 12)...), chunk("data", 1)), 0, "found samples of 12 bits in format 0x1"},
		{"no channel", riff(chunk("fmt ", with(2, 0)...), chunk("data", 1)), 0, "found 0 channels, want 1 to 64"},
		{"frames that do not add up", riff(chunk("fmt ", with(12, 3)...), chunk("data", 1)), 0, "found 3 bytes for a sample of each channel, want 1"},
		{"too few samples a second", riff(chunk("fmt ", with(5, 0)...), chunk("data", 1)), 0, "found 64 samples a second, want 8000 to 192000"},
		{"an empty file", nil, 0, "byte 0x0: found an empty file, want WAV, FLAC or MP3"},
		{"another file", []byte("MThd\x00\x00\x00\x06"), 0, `byte 0x0: found "MThd", want WAV, FLAC or MP3`},
		{"one byte", []byte{0xff}, 0, `byte 0x0: found "\xff", want WAV, FLAC or MP3`},
		{"a FLAC file of its name", []byte("fLaC"), 0, "byte 0x4: found no stream information of 34 bytes"},
		{"a FLAC file that begins with a picture", append([]byte("fLaC\x06\x00\x00\x22"), make([]byte, 50)...), 0, "found no stream information of 34 bytes"},
		{"an MP3 file of nothing", []byte{0xff, 0xfb, 0x90, 0}, 0, "MP3 that cannot be read"},
		{"a tag and nothing", []byte("ID3\x04\x00\x00\x7f\x7f\x7f\x7fx"), 0, "found an empty file"},
	} {
		left, _, end, err := samples(t, row.file)
		said := end
		if err != nil {
			var refusal *smf.Error
			if said = err.Error(); !errors.As(err, &refusal) {
				t.Errorf("%s: %v is no refusal", row.what, err)
			}
		}
		if len(left) != row.n || !strings.Contains(said, row.said) || row.said == "" && said != "" {
			t.Errorf("%s: got %d samples, said %q, want %d, %q", row.what, len(left), said, row.n, row.said)
		}
	}
}

func TestFloatsThatAreNoSound(t *testing.T) {
	var data []byte
	for _, x := range []float32{1e30, -1e30, .5} {
		data = binary.LittleEndian.AppendUint32(data, math.Float32bits(x))
	}
	left, _, end, err := samples(t, wavFile(3, 8000, 1, 32, data))
	if err != nil || len(left) != 3 || left[0] != 0 || left[1] != 0 || left[2] != .5 || !strings.Contains(end, "2 samples are far over full scale") {
		t.Errorf("got %v, %q, %v", left, end, err)
	}
}

// TestFloatsThatAreNoNumbers: a sample that is infinite or no number is refused with its byte and time.
func TestFloatsThatAreNoNumbers(t *testing.T) {
	for _, row := range []struct {
		bits, channels, at int
		x                  float64
		want               string
	}{
		{32, 1, 0, math.NaN(), "byte 0x2c: found a sample of NaN at 0.000 s, want a finite number"},
		{32, 2, 8001, math.Inf(1), "byte 0x7d30: found a sample of +Inf at 0.500 s, want a finite number"},    // 44 + 4 * 8001
		{64, 1, 16000, math.Inf(-1), "byte 0x1f42c: found a sample of -Inf at 2.000 s, want a finite number"}, // 44 + 8 * 16000
	} {
		var data []byte
		for i := range 20000 {
			x := .25
			if i == row.at || i == row.at+3 { // the first is told
				x = row.x
			}
			if row.bits == 32 {
				data = binary.LittleEndian.AppendUint32(data, math.Float32bits(float32(x)))
			} else {
				data = binary.LittleEndian.AppendUint64(data, math.Float64bits(x))
			}
		}
		_, err := Listen(bytes.NewReader(wavFile(3, 8000, row.channels, row.bits, data)), Options{Bpm: 240})
		var refusal *smf.Error
		if !errors.As(err, &refusal) || err.Error() != row.want {
			t.Errorf("got %v, want %s", err, row.want)
		}
	}
}

// flacOf writes what a player plays as FLAC of 16 bits.
func flacOf(t testing.TB, p *player) []byte {
	t.Helper()
	const block = 4096
	var out bytes.Buffer
	enc, err := flac.NewEncoder(&out, &meta.StreamInfo{BlockSizeMin: block, BlockSizeMax: block, SampleRate: uint32(p.rate), NChannels: 2, BitsPerSample: 16, NSamples: uint64(len(p.left))})
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < len(p.left); at += block {
		n := min(block, len(p.left)-at)
		f := &frame.Frame{Header: frame.Header{HasFixedBlockSize: true, BlockSize: uint16(n), SampleRate: uint32(p.rate), Channels: frame.ChannelsLR, BitsPerSample: 16, Num: uint64(at / block)}}
		for _, side := range [][]float64{p.left, p.right} {
			sub := &frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, NSamples: n}
			for _, x := range side[at : at+n] {
				sub.Samples = append(sub.Samples, int32(math.Round(32767*x)))
			}
			f.Subframes = append(f.Subframes, sub)
		}
		if err := enc.WriteFrame(f); err != nil {
			t.Fatal(err)
		}
	}
	if err := enc.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestFLACHasTheSamplesOfWAV(t *testing.T) {
	p := newPlayer(22050, 2)
	p.club(0, 120, 1, middle)
	p.right[7] = -.5
	wantLeft, wantRight, _, _ := samples(t, p.wav())
	file := flacOf(t, p)
	for what, file := range map[string][]byte{"as it is": file, "behind a tag": append([]byte("ID3\x04\x00\x00\x00\x00\x00\x03abc"), file...)} {
		left, right, end, err := samples(t, file)
		if err != nil || end != "" || len(left) != len(wantLeft) {
			t.Fatalf("%s: got %d samples, want %d (%q, %v)", what, len(left), len(wantLeft), end, err)
		}
		for i := range left {
			if left[i] != wantLeft[i] || right[i] != wantRight[i] {
				t.Fatalf("%s: sample %d: got %v, %v, want %v, %v", what, i, left[i], right[i], wantLeft[i], wantRight[i])
			}
		}
	}
	left, _, end, err := samples(t, append(bytes.Clone(file), "TAG and more"...))
	if err != nil || len(left) != len(wantLeft) || end != "" {
		t.Errorf("with a tag behind it got %d samples (%q, %v)", len(left), end, err)
	}
	left, _, end, err = samples(t, file[:len(file)/2])
	if err != nil || len(left) != 16384 || !strings.Contains(end, "the file stops short: 16384 of 44100 samples") {
		t.Errorf("of half a file got %d samples (%q, %v)", len(left), end, err)
	}
}

// TestDamagedFLAC: what the decoder says of a damaged frame is told, with the byte at which the frame
// begins, whether it is the first or one in the middle.
func TestDamagedFLAC(t *testing.T) {
	p := newPlayer(22050, 2)
	p.club(0, 120, 1, middle)
	file := flacOf(t, p)
	const header = 42 // of a FLAC file: 4 bytes, 4 of a block's head, 34 of stream information (RFC 9639)
	second := bytes.Index(file[header+100:], []byte{0xff, 0xf8}) + header + 100
	for what, row := range map[string]struct {
		at   int // a byte that is changed
		want string
	}{
		"the first frame":        {header + 1000, "byte 0x2a: found FLAC that cannot be read at 0.000 s: "},
		"the mark of the first":  {header, "byte 0x2a: found FLAC that cannot be read at 0.000 s: "},
		"the second frame":       {second + 1000, fmt.Sprintf("byte %#x: found FLAC that cannot be read at 0.186 s: ", second)}, // 4096 of 22050
		"the mark of the second": {second, fmt.Sprintf("byte %#x: found FLAC that cannot be read at 0.186 s: ", second)},
	} {
		damaged := bytes.Clone(file)
		damaged[row.at] ^= 0x55
		_, err := Listen(bytes.NewReader(damaged), Options{})
		var refusal *smf.Error
		if !errors.As(err, &refusal) || !strings.HasPrefix(err.Error(), row.want) || strings.Contains(err.Error(), "silence") {
			t.Errorf("%s: got %v, want %s", what, err, row.want)
		}
	}
}

// long is a source of silence without end.
type long struct{ hz, bytes int }

func (l long) rate() int                               { return l.hz }
func (l long) frame() int                              { return l.bytes }
func (l long) read(left, right []float64) (int, error) { return len(left), nil }
func (l long) end() string                             { return "" }

func TestTooLongRecordings(t *testing.T) {
	for _, row := range []struct {
		frames      int64
		rate, frame int
		want        string
	}{
		{36000 * 8000, 8000, 1, ""},
		{36000*8000 + 1, 8000, 1, "found more than 10 hours of sound, want at most that"},
		{1 << 28, 192000, 16, ""},
		{1<<28 + 1, 192000, 16, "found more than 4 GiB of samples, want at most that"},
	} {
		got := ""
		if err := tooLong(row.frames, row.rate, row.frame); err != nil {
			got = err.Error()
		}
		if got != row.want {
			t.Errorf("%d frames of %d bytes, %d a second: got %q, want %q", row.frames, row.frame, row.rate, got, row.want)
		}
	}
	if _, err := spectraOf(long{8000, 1 << 18}); err == nil || !strings.Contains(err.Error(), "more than 4 GiB of samples") {
		t.Errorf("a source without end: %v", err)
	}
	// Its header says how long a FLAC file is: 99 minutes of 48 kHz in 8 channels of 24 bits are 6.8 GB.
	var file bytes.Buffer
	if _, err := flac.NewEncoder(&file, &meta.StreamInfo{BlockSizeMin: 4096, BlockSizeMax: 4096, SampleRate: 48000, NChannels: 8, BitsPerSample: 24, NSamples: 99 * 60 * 48000}); err != nil {
		t.Fatal(err)
	}
	if _, err := open(&file); err == nil || !strings.Contains(err.Error(), "more than 4 GiB of samples") {
		t.Errorf("a FLAC file of 6.8 GB: %v", err)
	}
}

// exampleMP3 returns a file that comes with the decoder: classic.mp3 (EFF Open Audio License) or mpeg2.mp3
// (public domain).
func exampleMP3(t testing.TB, name string) []byte {
	t.Helper()
	out, err := exec.Command("go", "mod", "download", "-json", "github.com/hajimehoshi/go-mp3").Output()
	var module struct{ Dir string }
	if err != nil || json.Unmarshal(out, &module) != nil {
		t.Fatalf("no module of the MP3 decoder: %v", err)
	}
	b, err := os.ReadFile(filepath.Join(module.Dir, "example", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestMP3: a frame has 1152 samples of each channel in MPEG-1, 576 in MPEG-2 (ISO/IEC 11172-3 and
// 13818-3, from memory), and its size follows from its header, so that a file that is whole ends with a frame.
func TestMP3(t *testing.T) {
	classic, mpeg2 := exampleMP3(t, "classic.mp3"), exampleMP3(t, "mpeg2.mp3")
	for _, row := range []struct {
		what         string
		file         []byte
		rate, frames int
		of           int
		said         string
	}{
		{"behind a tag", append([]byte("ID3\x04\x00\x00\x00\x00\x00\x03abc"), mpeg2[:100000]...), 22050, 637, 576, "the file stops short: its last frame lacks 41 bytes"},
		{"the beginning of MPEG-1", classic[:300000], 44100, 357, 1152, "the file stops short: its last frame lacks 283 bytes"},
		{"MPEG-2 that is whole", mpeg2, 22050, 2872, 576, ""},
	}[:oracle.Size(1, 3, 3)] { // a first run reads one
		s, err := open(bytes.NewReader(row.file))
		if err != nil {
			t.Fatal(err)
		}
		left, right, end, err := samples(t, row.file)
		power := 0.0
		for i := range left {
			power += left[i]*left[i] + right[i]*right[i]
		}
		if s.rate() != row.rate || len(left) != row.frames*row.of || end != row.said || err != nil || power/float64(len(left)) < 1e-5 {
			t.Errorf("%s: got %d samples (%d frames) at %d Hz, %q, %v", row.what, len(left), len(left)/row.of, s.rate(), end, err)
		}
	}
}

// TestDamagedFiles cuts each kind of file at many bytes and flips bytes of it: what comes is samples or a
// refusal, and no more samples than a file of that length can hold.
func TestDamagedFiles(t *testing.T) {
	p := newPlayer(8000, .3)
	p.club(0, 120, 1, middle)
	for what, file := range map[string][]byte{"WAV": p.wav(), "FLAC": flacOf(t, p), "MP3": exampleMP3(t, "mpeg2.mp3")[:2000]} {
		for at := 0; at < 200; at += oracle.Size(4, 1, 1) {
			cut := file[:len(file)*at/200]
			flipped := bytes.Clone(file)
			flipped[min(at, len(file)-1)] ^= byte(1 + 37*at)
			for _, damaged := range [][]byte{cut, flipped} {
				left, _, _, err := samples(t, damaged)
				var refusal *smf.Error
				if err != nil && !errors.As(err, &refusal) {
					t.Fatalf("%s, byte %d: %v", what, at, err)
				}
				if len(left) > 1<<20 {
					t.Fatalf("%s, byte %d: %d samples of %d bytes", what, at, len(left), len(damaged))
				}
			}
		}
	}
}

// FuzzListen: whatever comes, it is heard or refused, and every number of what is heard is a number.
func FuzzListen(f *testing.F) {
	p := newPlayer(8000, .2)
	p.kick(.01)
	for _, file := range [][]byte{p.wav()[:3000], flacOf(f, p)[:3000], exampleMP3(f, "mpeg2.mp3")[:1000]} {
		f.Add(file, 600.0, 1)
		f.Add(file, 0.0, 0)
	}
	f.Fuzz(func(t *testing.T, file []byte, bpm float64, beats int) {
		h, err := Listen(bytes.NewReader(file), Options{Bpm: bpm, BeatsPerBar: beats})
		if err != nil {
			return
		}
		numbers := []float64{h.Bpm, h.BpmConfidence, h.Offset}
		for _, b := range h.Bars {
			numbers = append(numbers, append(b.Bands[:], b.Start, b.Level, b.Brightness)...)
		}
		for _, x := range numbers {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v", h)
			}
		}
	})
}

// silentFLAC writes frames of digital silence, of some samples each.
func silentFLAC(t testing.TB, frames, block, rate, channels int) []byte {
	t.Helper()
	var out bytes.Buffer
	enc, err := flac.NewEncoder(&out, &meta.StreamInfo{BlockSizeMin: uint16(block), BlockSizeMax: uint16(block), SampleRate: uint32(rate), NChannels: uint8(channels), BitsPerSample: 16})
	if err != nil {
		t.Fatal(err)
	}
	for range frames {
		f := &frame.Frame{Header: frame.Header{HasFixedBlockSize: true, BlockSize: uint16(block), SampleRate: uint32(rate), Channels: frame.Channels(channels - 1), BitsPerSample: 16}}
		for range channels {
			f.Subframes = append(f.Subframes, &frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredConstant}, Samples: make([]int32, block), NSamples: block})
		}
		if err := enc.WriteFrame(f); err != nil {
			t.Fatal(err)
		}
	}
	if err := enc.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// A FLAC file of which few bytes stand for many samples: constant frames (RFC 9639, section 9.2.3) of the largest block.
func TestFLACThatStandsForHours(t *testing.T) {
	hours := silentFLAC(t, 200, 65535, 8000, 1) // the first half hour of them
	_, err := countSamples(hours)
	var refusal *smf.Error
	if !errors.As(err, &refusal) || refusal.Offset < 0 || !strings.Contains(err.Error(), "want 500 samples a byte at most after the first 8388608") {
		t.Errorf("hours in few bytes, of %d: %v", len(hours), err)
	}
	if oracle.Size(0, 1, 1) == 0 { // what follows is more than the first 8388608 samples
		return
	}
	usual := silentFLAC(t, 1100, 4096, 48000, 2) // 9 million samples
	if n, err := countSamples(usual); err != nil || n != 1100*4096 {
		t.Errorf("silence in the usual blocks, in %d bytes: read %d samples of each side, %v", len(usual), n, err)
	}
}

// countSamples reads a file to its end and counts the samples of each side.
func countSamples(file []byte) (n int, err error) {
	s, err := open(bytes.NewReader(file))
	if err != nil {
		return 0, err
	}
	left, right := make([]float64, 4096), make([]float64, 4096)
	for {
		got, err := s.read(left, right)
		if n += got; err == io.EOF {
			return n, nil
		}
		if err != nil {
			return n, err
		}
	}
}
