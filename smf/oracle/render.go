package oracle

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"loopdraft/smf"
)

// soundFont is the sound set of Debian's timgm6mb-soundfont (GPL-2).
const soundFont = "/usr/share/sounds/sf2/TimGM6mb.sf2"

// quietest is the level in dB under which a rendered stretch counts as silent: the noise that is added
// where samples are rounded to 16 bits lies below.
const quietest = -85.0

// renderRate is the number of samples a second that are rendered.
const renderRate = 22050

// Rendering is a MIDI file to be played, with its time and its end.
type Rendering struct {
	Path string
	Time *smf.Timeline
	End  smf.Tick
}

// Levels plays files on FluidSynth, a General MIDI synthesizer, without reverb and chorus, and returns
// how loud each bar sounds: the mean power of both sides in dB of full scale, at least -85. Two files
// are played at a time.
func Levels(t testing.TB, files ...Rendering) [][]float64 {
	t.Helper()
	paths, out := make([]string, len(files)), make([][]float64, len(files))
	for i, f := range files {
		paths[i] = f.Path
	}
	Play(t, paths, func(i int, wav io.Reader) error {
		_, err := io.CopyN(io.Discard, wav, int64(len(wavHeader())))
		if err == nil {
			out[i], err = meanLevels(wav, files[i].barLines())
		}
		return err
	})
	return out
}

// Play plays files as [Levels] does and hands each, by its index, to somebody who hears it, as a WAVE file
// that goes on to its end (22050 Hz, 16 bits, stereo). Two are played and heard at a time.
func Play(t testing.TB, paths []string, hear func(i int, wav io.Reader) error) {
	t.Helper()
	Need(t, "fluidsynth")
	errs := make([]error, len(paths))
	var players sync.WaitGroup
	turn := make(chan bool, 2)
	for i, path := range paths {
		players.Go(func() {
			turn <- true
			errs[i] = play(path, func(wav io.Reader) error { return hear(i, wav) })
			<-turn
		})
	}
	players.Wait()
	for i, err := range errs {
		if err != nil {
			t.Fatalf("%s: fluidsynth: %v", paths[i], err)
		}
	}
}

// wavHeader is the beginning of a WAVE file whose length is not known.
func wavHeader() []byte {
	h := []byte("RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00\x01\x00\x02\x00")
	h = binary.LittleEndian.AppendUint32(h, renderRate)
	h = binary.LittleEndian.AppendUint32(h, 4*renderRate)
	return append(h, "\x04\x00\x10\x00data\xff\xff\xff\xff"...)
}

// barLines returns the seconds at which bars start, and the end.
func (f Rendering) barLines() []float64 {
	var out []float64
	for bar := 1; f.Time.BarStart(bar) < f.End; bar++ {
		out = append(out, f.Time.Seconds(f.Time.BarStart(bar)))
	}
	return append(out, f.Time.Seconds(f.End))
}

// play plays a file. Where LOOPDRAFT_RENDERS names a folder, the sound is kept there for whoever plays the same file.
func play(path string, hear func(wav io.Reader) error) error {
	samples, wait, err := samplesOf(path, os.Getenv("LOOPDRAFT_RENDERS"))
	if err != nil {
		return err
	}
	err = hear(io.MultiReader(bytes.NewReader(wavHeader()), samples))
	io.Copy(io.Discard, samples) // what nobody wanted to hear
	return errors.Join(err, wait())
}

// samplesOf returns the samples of a file, out of a folder that keeps them or straight from the synthesizer, and what
// to call after they were read.
func samplesOf(path, folder string) (samples io.Reader, wait func() error, err error) {
	if folder == "" {
		cmd := synthesizer("/dev/stdout", path)
		var complaint strings.Builder
		cmd.Stderr = &complaint
		out, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		return out, func() error { return complained(cmd.Wait(), complaint.String()) }, err
	}
	kept, err := render(path, folder)
	if err != nil {
		return nil, nil, err
	}
	f, err := os.Open(kept)
	if err != nil {
		return nil, nil, err
	}
	return f, f.Close, nil
}

// synthesizer is the command that plays a file at path and writes its samples to another.
func synthesizer(out, path string) *exec.Cmd {
	return exec.Command("fluidsynth", "-q", "-n", "-i", "-R", "0", "-C", "0", "-r", fmt.Sprint(renderRate),
		"-T", "raw", "-O", "s16", "-E", "little", "-F", out, soundFont, path)
}

func complained(err error, text string) error {
	if err != nil {
		return fmt.Errorf("%v: %s", err, text)
	}
	return nil
}

// renderKey names the samples of a file by what they depend on: the synthesizer and what it is told, the sound set, and
// the bytes of the file.
func renderKey(path string) (string, error) {
	version, err := exec.Command("fluidsynth", "--version").Output()
	if err != nil {
		return "", err
	}
	h := sha256.New()
	fmt.Fprintf(h, "%q %q\n", version, synthesizer("", "").Args)
	for _, name := range []string{soundFont, path} {
		data, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%x\n", sha256.Sum256(data))
	}
	return fmt.Sprintf("%x", h.Sum(nil)), nil
}

// render returns the name of a file of a folder that holds the samples of a MIDI file, after rendering them if they are
// not there yet. They get their name when they are whole. Of several that want the same samples at a time, in this
// process or in others, one renders and the rest wait.
func render(path, folder string) (string, error) {
	key, err := renderKey(path)
	if err != nil {
		return "", err
	}
	whole := filepath.Join(folder, key+".raw")
	part := filepath.Join(folder, key+".part")
	for ; ; time.Sleep(50 * time.Millisecond) {
		if _, err := os.Stat(whole); err == nil {
			return whole, nil
		}
		f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL, 0o666)
		if err == nil {
			f.Close()
			break
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", err
		}
		if info, err := os.Stat(part); err == nil && time.Since(info.ModTime()) > renderPause {
			os.Remove(part) // whoever rendered it was ended
		}
	}
	complaint, err := synthesizer(part, path).CombinedOutput()
	if err == nil {
		err = os.Rename(part, whole)
	}
	if err != nil {
		os.Remove(part)
	}
	return whole, complained(err, string(complaint))
}

// renderPause is how long a render that somebody works at may stay as it is.
const renderPause = 20 * time.Second

// meanLevels reads samples of 16 bits, left and right in turn, and returns the level of each stretch between
// two neighbours of some seconds in rising order. What is past the end of the samples is silent.
func meanLevels(samples io.Reader, lines []float64) ([]float64, error) {
	in := bufio.NewReaderSize(samples, 1<<16)
	var out []float64
	at, frame := 0, make([]byte, 4)
	for i, line := range lines {
		sum, n := 0.0, 0
		for end := int(math.Round(line * renderRate)); at < end; at++ {
			if _, err := io.ReadFull(in, frame); err == nil {
				l, r := int16(binary.LittleEndian.Uint16(frame)), int16(binary.LittleEndian.Uint16(frame[2:]))
				sum += float64(l)*float64(l) + float64(r)*float64(r)
			} else if !errors.Is(err, io.EOF) {
				return nil, err
			}
			n++
		}
		if i > 0 {
			out = append(out, max(quietest, 10*math.Log10(sum/float64(max(n, 1))/(1<<30))))
		}
	}
	return out, nil
}

// Spearman returns the rank correlation of two lists of the same length, -1..1; NaN where one of them is
// all alike. Equal values share the mean of their ranks.
func Spearman(a, b []float64) float64 {
	x, y := ranks(a), ranks(b)
	mean := float64(len(x)-1) / 2
	var xy, xx, yy float64
	for i := range x {
		xy += (x[i] - mean) * (y[i] - mean)
		xx += (x[i] - mean) * (x[i] - mean)
		yy += (y[i] - mean) * (y[i] - mean)
	}
	return xy / math.Sqrt(xx*yy)
}

func ranks(v []float64) []float64 {
	sorted := slices.Clone(v)
	slices.Sort(sorted)
	out := make([]float64, len(v))
	for i, x := range v {
		first, _ := slices.BinarySearch(sorted, x)
		after, _ := slices.BinarySearch(sorted, math.Nextafter(x, math.Inf(1)))
		out[i] = float64(first+after-1) / 2
	}
	return out
}
