package form_test

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/novelty"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// published are figures to read ours beside, none of them of the same music: the first two of audio and
// within 3 seconds, those of Nieto et al., The Harmonix Set, ISMIR 2019 (means of 912 songs and, counted
// from its result files, of its 129 dance tracks; start and end of a song count as hits unless trimmed), the
// last of symbolic music within a bar, Hernandez-Olivan et al., 2023, arXiv 2303.13881.
const published = `published: .602 of songs, .571 trimmed; .652 of dance tracks, .610 trimmed; .564 of symbolic music
`

// TestBoundariesOfTunes scores the boundaries heard in tunes by the parts that their sources say they
// have, within a bar, start and end of the tune left out. Beside it stands what every line of the phrases
// that were heard would score.
func TestBoundariesOfTunes(t *testing.T) {
	var table strings.Builder
	var scores, lines []oracle.Score
	for _, tune := range oracle.Tunes(t) {
		s := songIn(t, tune.Bytes)
		st := structureOf(t, s, 0)
		var right, heard, all []float64
		for _, tick := range tune.Starts {
			bar := s.Time().BarOf(smf.Tick(tick))
			right = append(right, float64(bar)+float64(smf.Tick(tick)-s.Time().BarStart(bar))/float64(s.Time().BarTicks(bar)))
		}
		for _, bar := range st.Boundaries {
			heard = append(heard, float64(bar))
		}
		for bar := 1 + st.Phrase; bar <= s.Bars(); bar += st.Phrase {
			all = append(all, float64(bar))
		}
		scores, lines = append(scores, oracle.ScoreOf(right, heard, 1)), append(lines, oracle.ScoreOf(right, all, 1))
		fmt.Fprintf(&table, "%-18s %-18s phrase %d  %.3f  every line %.3f\n", tune.Name, tune.Form, st.Phrase, scores[len(scores)-1], lines[len(lines)-1])
	}
	mean := oracle.Mean(scores)
	t.Logf("boundaries of tunes within a bar, P R F:\n%smean %.3f, every line %.3f\n%s", table.String(), mean, oracle.Mean(lines), published)
	if mean.F < 0.96 {
		t.Errorf("got a mean F of %.3f, want 0.96", mean.F)
	}
}

// TestRealSongsHaveAStructure holds what is true of any structure on songs that others made. In a few of them
// nothing changes by more than what makes a boundary.
func TestRealSongsHaveAStructure(t *testing.T) {
	without := 0
	for _, f := range oracle.RealFiles(t) {
		s := songIn(t, f.Bytes)
		if st := structureOf(t, s, 0); s.Bars() > 5*st.Phrase && len(st.Boundaries) == 0 {
			without++
		}
	}
	if without > 3 {
		t.Errorf("%d songs have no boundary", without)
	}
}

// TestBoundariesOfSongs scores the boundaries heard in songs without their markers by the sections that their
// makers marked, within a bar. A song's ends are left out: its first bar, and what is marked "End".
//
// Two baselines stand beside it: a line every 8 bars; and novelty of the song as a synthesizer plays it, see heardPeaks.
func TestBoundariesOfSongs(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	marked := oracle.MarkedSongs(t)
	songs, paths := make([]song.Song, len(marked)), make([]string, len(marked))
	for i, m := range marked {
		file, err := smf.Decode(m.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		s, err := song.From(file)
		if err != nil {
			t.Fatal(err)
		}
		e := s.Edit()
		for track := range s.Tracks {
			e.RemoveEvents(track, func(_ *song.Track, ev song.Event) bool {
				kind, meta := ev.MetaType()
				return meta && kind == 0x06
			})
		}
		if songs[i], _, err = listen.Hear(e.Song(), listen.Options{}); err != nil {
			t.Fatal(err)
		}
		paths[i] = m.Path
	}
	peaks := make([][]float64, len(marked))
	oracle.Play(t, paths, func(i int, wav io.Reader) (err error) {
		peaks[i], err = heardPeaks(wav, songs[i])
		return err
	})
	var table strings.Builder
	var scores, lines, played []oracle.Score
	for i, m := range marked {
		var right, heard, all []float64
		for _, mark := range m.Marks {
			if mark.Bar > 1 && mark.Text != "End" {
				right = append(right, float64(mark.Bar))
			}
		}
		for _, bar := range structureOf(t, songs[i], 0).Boundaries {
			heard = append(heard, float64(bar))
		}
		for bar := 9; bar <= songs[i].Bars(); bar += 8 {
			all = append(all, float64(bar))
		}
		scores, lines, played = append(scores, oracle.ScoreOf(right, heard, 1)), append(lines, oracle.ScoreOf(right, all, 1)), append(played, oracle.ScoreOf(right, peaks[i], 1))
		fmt.Fprintf(&table, "%-24s %.3f  every 8 bars %.3f  played %.3f\n", m.Name, scores[i], lines[i].F, played[i].F)
	}
	mean := oracle.Mean(scores)
	t.Logf("boundaries of songs within a bar, P R F:\n%smean %.3f, every 8 bars %.3f, played %.3f", table.String(), mean, oracle.Mean(lines), oracle.Mean(played))
	if mean.F < 0.70 {
		t.Errorf("got a mean F of %.3f, want 0.70", mean.F)
	}
}

// heardPeaks finds boundaries in a song as it sounds: the levels in dB of 16 bands, evenly spaced in octaves from
// 50 Hz to 10 kHz, of each of its bars, less the mean of the band; how alike bars are by their cosine; a checkerboard
// of 8 bars; and its peaks 4 bars apart that are over its mean.
func heardPeaks(wav io.Reader, s song.Song) ([]float64, error) {
	const bands, window, rate, lowest, highest = 16, 2048, 22050, 50.0, 10000.0
	if _, err := io.CopyN(io.Discard, wav, 44); err != nil {
		return nil, err
	}
	fft, samples := fourier.NewFFT(window), make([]byte, 4*window)
	power, moments := make([][bands]float64, s.Bars()), make([]float64, s.Bars())
	for at := 0; ; at += window {
		if _, err := io.ReadFull(wav, samples); err != nil {
			break
		}
		mono := make([]float64, window)
		for i := range mono {
			l, r := int16(binary.LittleEndian.Uint16(samples[4*i:])), int16(binary.LittleEndian.Uint16(samples[4*i+2:]))
			mono[i] = (float64(l) + float64(r)) / 65536 * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/window))
		}
		bar := s.Time().BarOf(s.Time().TickAtMicros(int64((float64(at)+window/2)/rate*1e6))) - 1
		if bar >= len(power) {
			break
		}
		moments[bar]++
		for k, c := range fft.Coefficients(nil, mono) {
			if hz := float64(k) * rate / window; hz >= lowest && hz < highest {
				power[bar][int(bands*math.Log(hz/lowest)/math.Log(highest/lowest))] += real(c)*real(c) + imag(c)*imag(c)
			}
		}
	}
	var mean [bands]float64
	for bar := range power {
		for k := range bands {
			power[bar][k] = 10 * math.Log10(power[bar][k]/max(moments[bar], 1)+1e-6)
			mean[k] += power[bar][k] / float64(len(power))
		}
	}
	news := novelty.Of(len(power), 4, func(a, b int) int {
		var ab, aa, bb float64
		for k := range bands {
			x, y := power[a][k]-mean[k], power[b][k]-mean[k]
			ab, aa, bb = ab+x*y, aa+x*x, bb+y*y
		}
		return int(novelty.One * (1 + ab/math.Sqrt(max(aa*bb, 1e-9))) / 2)
	})
	all := 0
	for _, x := range news {
		all += x
	}
	var out []float64
	for at, x := range news {
		if x*len(news) > all && x == slices.Max(news[max(0, at-4):min(len(news), at+5)]) {
			out = append(out, float64(at+1))
		}
	}
	return out, nil
}
