package sound_test

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/sound"
)

// TestHeardSongs hears real songs of one tempo as a General MIDI synthesizer plays them, and compares the
// tempo with that of the file, and the beats with those of the file. What is a simple multiple of the
// file's tempo is counted apart. A beat is right within 70 ms (as in MIREX audio beat tracking); F is of the
// beats of the whole song. Metres that no file tells are taken as 4/4. Two of the songs, busy_schedule and
// the_fast_route, are written in beats that are not those of their music, whose ride cymbal swings in beats of three
// sixteenths of the file; they are counted as wrong all the same.
func TestHeardSongs(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	t.Parallel()
	var names, paths []string
	var lines []*smf.Timeline
	var ends []smf.Tick
	for _, f := range oracle.Songs(t) {
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		tl, _, err := file.Timeline()
		if err != nil {
			t.Fatal(err)
		}
		if len(tl.Tempi()) > 1 {
			continue
		}
		end := smf.Tick(0)
		for _, track := range file.Tracks {
			end = max(end, track.End)
		}
		names, paths, lines, ends = append(names, f.Name), append(paths, f.Path), append(lines, tl), append(ends, end)
	}
	heard := make([]*sound.Heard, len(paths))
	oracle.Play(t, paths, func(i int, wav io.Reader) (err error) {
		heard[i], err = sound.Listen(wav, sound.Options{BeatsPerBar: lines[i].MetreIn(1).Num})
		return err
	})
	var table strings.Builder
	counts := map[string]int{}
	beats, sum := 0, 0.0
	for i, h := range heard {
		bpm := 6e7 / float64(lines[i].TempoAt(0)) * float64(lines[i].MetreIn(1).Den) / 4
		kind := multiple(h.Bpm / bpm)
		counts[kind]++
		var right, got []float64
		for k := 0; float64(k)*60/bpm < lines[i].Seconds(ends[i]); k++ {
			right = append(right, float64(k)*60/bpm)
		}
		for at := math.Mod(h.Offset, 60/h.Bpm); at < lines[i].Seconds(ends[i]); at += 60 / h.Bpm {
			got = append(got, at)
		}
		f := oracle.ScoreOf(right, got, 0.07).F
		fmt.Fprintf(&table, "%-28s %7.2f bpm, heard %8.3f (%.2f)  %-6s  F %.3f\n", names[i], bpm, h.Bpm, h.BpmConfidence, kind, f)
		if sum += f; f > .9 {
			beats++
		}
	}
	t.Logf("songs as they are heard:\n%sof %d: %v; beats right in %d, mean F %.3f", table.String(), len(heard), counts, beats, sum/float64(len(heard)))
	if len(heard) != 28 || counts["right"] < 25 || counts["other"] > 0 || beats < 23 {
		t.Errorf("of %d songs, tempo: %v; beats right in %d", len(heard), counts, beats)
	}
}

// multiple names a ratio of two tempi.
func multiple(ratio float64) string {
	for _, m := range []struct {
		ratio float64
		name  string
	}{{1, "right"}, {2, "x2"}, {.5, "x1/2"}, {3, "x3"}, {1. / 3, "x1/3"}, {1.5, "x3/2"}, {2. / 3, "x2/3"}, {4. / 3, "x4/3"}, {.75, "x3/4"}} {
		if math.Abs(ratio/m.ratio-1) < 0.001 {
			return m.name
		}
	}
	return "other"
}
