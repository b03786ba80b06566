package study_test

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
	"loopdraft/smf/sound"
)

// TestHeardSections drafts the demo loops, has a General MIDI synthesizer play them, and compares the sections
// that are heard in the sound with those they were made of: boundaries within a bar, start and end left out,
// and kinds by bar, groove and drop counted as one. Every line of 8 bars of a draft is changed on
// purpose, and sections of drafts begin nowhere else: where nothing but these lines is heard, drafts score .75, but real
// songs .47, see [TestHeardSongSections]. Published figures, of other music: F .652 of dance tracks within 3
// seconds, start and end counted (Nieto et al., The Harmonix Set, ISMIR 2019).
func TestHeardSections(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	t.Parallel()
	var paths, names []string
	var songs []song.Song
	for i, loop := range demoLoops(t) {
		for k, info := range recipes.Builtins() {
			if (i+k)%2 > 0 {
				continue // half of them tell, and take half as long
			}
			r, _ := recipes.Builtin(info.Name)
			got, err := recipes.Draft([]recipes.Input{loop}, r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			data, err := got.File.Encode()
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(t.TempDir(), "draft.mid")
			if err := os.WriteFile(path, data, 0o644); err != nil {
				t.Fatal(err)
			}
			paths, names, songs = append(paths, path), append(names, loop.Name+" "+info.Name), append(songs, got.Song)
		}
	}
	learned := make([]*study.Study, len(paths))
	oracle.Play(t, paths, func(i int, wav io.Reader) error {
		beats := songs[i].Time().MetreIn(1).Num
		h, err := sound.Listen(wav, sound.Options{BeatsPerBar: beats})
		if err == nil {
			learned[i] = study.OfSound(h, beats, 0)
		}
		return err
	})
	var table strings.Builder
	var scores []oracle.Score
	bars, right := 0, 0
	for i, st := range learned {
		var truth, heard []float64
		var kinds []song.Kind
		for _, sec := range songs[i].Sections {
			if sec.Bar > 1 {
				truth = append(truth, float64(sec.Bar))
			}
			for range sec.Bars {
				kinds = append(kinds, sec.Kind)
			}
		}
		of := 0
		for _, sec := range st.Sections {
			if sec.Bar > 1 {
				heard = append(heard, float64(sec.Bar))
			}
			for b := sec.Bar - 1; b < min(sec.Bar-1+sec.Bars, len(kinds)); b++ {
				if core(kinds[b]) == core(sec.Kind) {
					of++
				}
			}
		}
		bars, right = bars+len(kinds), right+of
		score := oracle.ScoreOf(truth, heard, 1)
		scores = append(scores, score)
		fmt.Fprintf(&table, "%-30s %.3f  kinds %.3f %v\n", names[i], score, float64(of)/float64(len(kinds)), heard)
		text := st.Recipe(names[i])
		r, err := recipes.Parse("studied.yaml", text)
		if err != nil {
			t.Fatalf("%s: %v\n%s", names[i], err, text)
		}
		for _, loop := range demoLoops(t) {
			if _, err := recipes.Draft([]recipes.Input{loop}, r, recipes.Options{}); err != nil {
				t.Errorf("%s over %s: %v\n%s", names[i], loop.Name, err, text)
			}
		}
	}
	mean := oracle.Mean(scores)
	t.Logf("sections as they are heard, P R F:\n%smean %.3f, kinds %.3f", table.String(), mean, float64(right)/float64(bars))
	if share := float64(right) / float64(bars); mean.F < .65 || share < .83 {
		t.Errorf("got a mean F of %.3f, kinds %.3f, want .65 and .83", mean.F, share)
	}
}

func core(k song.Kind) song.Kind {
	if k == song.KindDrop {
		return song.KindGroove
	}
	return k
}

// TestHeardSongSections scores the sections heard in real songs as a General MIDI synthesizer plays them, the
// beats of a bar told, by those that their makers marked, within a bar of the file on either side. Songs
// of several metres are left out, and of the marks the first bar and "End".
func TestHeardSongSections(t *testing.T) {
	var paths []string
	var lines []*smf.Timeline
	var marks [][]oracle.Mark
	for _, m := range oracle.MarkedSongs(t) {
		file, err := smf.Decode(m.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		tl, _, err := file.Timeline()
		if err != nil {
			t.Fatal(err)
		}
		if len(tl.Metres()) == 1 {
			paths, lines, marks = append(paths, m.Path), append(lines, tl), append(marks, m.Marks)
		}
	}
	heard, learned := make([]*sound.Heard, len(paths)), make([]*study.Study, len(paths))
	oracle.Play(t, paths, func(i int, wav io.Reader) (err error) {
		beats := lines[i].MetreIn(1).Num
		if heard[i], err = sound.Listen(wav, sound.Options{BeatsPerBar: beats}); err == nil {
			learned[i] = study.OfSound(heard[i], beats, 0)
		}
		return err
	})
	var table strings.Builder
	var scores []oracle.Score
	for i, h := range heard {
		var truth, got []float64
		for _, mark := range marks[i] {
			if mark.Bar > 1 && mark.Text != "End" {
				truth = append(truth, lines[i].Seconds(lines[i].BarStart(mark.Bar)))
			}
		}
		for _, sec := range learned[i].Sections[1:] {
			got = append(got, h.Bars[sec.Bar-1].Start)
		}
		scores = append(scores, oracle.ScoreOf(truth, got, lines[i].Seconds(lines[i].BarStart(2))))
		fmt.Fprintf(&table, "%-24s %.3f  %.2f bpm, heard %.2f\n", filepath.Base(paths[i]), scores[i], 6e7/float64(lines[i].TempoAt(0)), h.Bpm)
	}
	mean := oracle.Mean(scores)
	t.Logf("sections of songs as they are heard, P R F:\n%smean %.3f", table.String(), mean)
	if len(paths) != 6 || mean.F < .60 {
		t.Errorf("got a mean F of %.3f of %d songs, want .60 of 6", mean.F, len(paths))
	}
}
