package recipes_test

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
	"loopdraft/smf/sound"
)

// TestHeardDrafts drafts the demo loops by the club recipe, has a General MIDI synthesizer play them, and
// compares what is heard of the sound alone with the notes: tempo, first downbeat (at 0), number of bars,
// the bars in which a kick part has a note and those in which a bass does.
func TestHeardDrafts(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	t.Parallel()
	var names, paths []string
	var songs []song.Song
	loops, err := filepath.Glob("../testdata/loops/*.mid")
	if err != nil || len(loops) != 6 {
		t.Fatalf("found %d loops, want 6 (%v)", len(loops), err)
	}
	club, _ := recipes.Builtin("club")
	for _, group := range append([]string{"../testdata/loops/ferry/*.mid"}, loops...) {
		patterns, _ := filepath.Glob(group)
		var inputs []recipes.Input
		for _, path := range patterns {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			inputs = append(inputs, input(t, filepath.Base(path), data))
		}
		got, err := recipes.Draft(inputs, club, recipes.Options{})
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
		names, paths, songs = append(names, strings.ReplaceAll(filepath.Base(group), "*", "ferry")), append(paths, path), append(songs, got.Song)
	}
	heard := make([]*sound.Heard, len(paths))
	oracle.Play(t, paths, func(i int, wav io.Reader) (err error) {
		beats, _ := metre(songs[i])
		heard[i], err = sound.Listen(wav, sound.Options{BeatsPerBar: beats})
		return err
	})
	var table strings.Builder
	for i, h := range heard {
		s := songs[i]
		beats, seconds := metre(s)
		bpm := 60 * float64(beats) / seconds
		away := math.Remainder(h.Offset, seconds)
		kick, low := struck(s, song.RoleKick), struck(s, song.RoleBass, song.RoleSub)
		kicks, lows := 0, 0
		for b := range min(len(h.Bars), len(kick)) {
			if h.Bars[b].Kick == kick[b] {
				kicks++
			}
			if h.Bars[b].Low == low[b] {
				lows++
			}
		}
		n := float64(len(kick))
		fmt.Fprintf(&table, "%-20s %7.2f bpm, heard %8.3f (%.2f)  downbeat %4.1f ms  bars %d, heard %d  kick %.3f  low end %.3f\n",
			names[i], bpm, h.Bpm, h.BpmConfidence, 1000*h.Offset, len(kick), len(h.Bars), float64(kicks)/n, float64(lows)/n)
		if math.Abs(h.Bpm-bpm) > 0.02 || math.Abs(away) > 0.010 || len(h.Bars) != len(kick) || h.BpmConfidence < .5 || len(h.Warnings) > 0 {
			t.Errorf("%s: heard %.3f bpm (%.2f) from %.3f s, %d bars %v; want %.2f from 0, %d bars", names[i], h.Bpm, h.BpmConfidence, h.Offset, len(h.Bars), h.Warnings, bpm, len(kick))
		}
		if float64(kicks) < 0.95*n || float64(lows) < 0.93*n {
			t.Errorf("%s: kick right in %d bars of %g, low end in %d", names[i], kicks, n, lows)
		}
	}
	t.Logf("drafts as they are heard:\n%s", table.String())
}

// metre returns the beats of the first bar and the seconds it takes.
func metre(s song.Song) (int, float64) {
	tl := s.Time()
	seconds := tl.Seconds(tl.BarStart(2))
	return tl.MetreIn(1).Num, seconds
}

// struck tells for each bar whether a part of one of some roles has a note in it.
func struck(s song.Song, roles ...song.Role) []bool {
	out := make([]bool, s.Bars())
	for _, p := range s.Parts {
		for _, role := range roles {
			for _, n := range p.Notes {
				if bar := s.Time().BarOf(s.Counted(n.Start)); p.Role == role && bar <= len(out) {
					out[bar-1] = true
				}
			}
		}
	}
	return out
}
