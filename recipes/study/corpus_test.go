package study_test

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// phrases returns the mean power of each eight bars of a song from a bar on.
func phrases(t testing.TB, s song.Song, first int) []float64 {
	t.Helper()
	e, err := form.EnergyOf(s)
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	for bar := first; bar+7 <= s.Bars(); bar += 8 {
		out = append(out, float64(e.Mean(bar, bar+7).Sum()))
	}
	return out
}

// songsToStudy returns songs that others made, those with marked sections first, and how many marks each has.
func songsToStudy(t testing.TB) (songs []oracle.File, marks map[string]int) {
	t.Helper()
	marks = map[string]int{}
	for _, m := range oracle.MarkedSongs(t) {
		songs = append(songs, m.File)
		marks[m.Name] = len(m.Marks)
	}
	songs = append(append(songs, oracle.OtherSongs(t)...), oracle.Songs(t)...)
	return songs[:oracle.Size(16, len(songs), len(songs))], marks
}

// othersLoops returns three loops of other songs, the first in the order of the SHA-256 of the song's name and theirs.
func othersLoops(loops []oracle.CutLoop, name string) []oracle.CutLoop {
	key := func(l oracle.CutLoop) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(name+l.Name))) }
	loops = slices.SortedFunc(slices.Values(loops), func(a, b oracle.CutLoop) int { return cmp.Compare(key(a), key(b)) })
	var out []oracle.CutLoop
	for _, l := range loops {
		if l.Song != name && len(out) < 3 && !slices.ContainsFunc(out, func(o oracle.CutLoop) bool { return o.Song == l.Song }) {
			out = append(out, l)
		}
	}
	return out
}

// jobsOf returns the jobs that sound in a song.
func jobsOf(s song.Song) map[song.Job]bool {
	out := map[song.Job]bool{}
	for _, p := range s.Parts {
		out[p.Job] = out[p.Job] || p.Role != song.RoleTrigger && len(p.Notes) > 0
	}
	return out
}

// playsOften tells whether a part of a loop is struck in more than a quarter of its bars.
func playsOften(loop song.Song, p song.Part) bool {
	bars := map[int]bool{}
	for _, n := range p.Notes {
		bars[loop.Time().BarOf(n.Start)] = true
	}
	return p.Role != song.RoleTrigger && 4*len(bars) > loop.Bars()
}

// TestStudiesOfSongs studies songs of two phrases or more that others made and lays each over three loops that were
// cut out of other songs. No part of the loop that the song has a job for is silent all the time, but for what hardly
// plays in the loop; no two bars in a row are silent; and phrase by phrase the draft is as loud as the song was,
// by rank.
func TestStudiesOfSongs(t *testing.T) {
	t.Parallel()
	loops := oracle.CutLoops(t)
	songs, marks := songsToStudy(t)
	var table strings.Builder
	var all []float64
	for _, f := range songs {
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		s := heard(t, file)
		if s.Bars() < 16 {
			continue
		}
		st, err := study.Of(s, 0)
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		text := st.Recipe(f.Name)
		r, err := recipes.Parse("studied.yaml", text)
		if err != nil {
			t.Fatalf("%s: %v\n%s", f.Name, err, text)
		}
		checkSections(t, f.Name, st, max(8, marks[f.Name]))
		jobs, was := jobsOf(s), phrases(t, s, st.Sections[0].Bar)
		var ranks []float64
		for _, l := range othersLoops(loops, f.Name) {
			file, err := smf.Decode(l.Bytes)
			if err != nil {
				t.Fatal(err)
			}
			got, err := recipes.Draft([]recipes.Input{{Name: l.Name, File: file}}, r, recipes.Options{})
			if err != nil {
				t.Errorf("%s over %s: %v", f.Name, l.Name, err)
				continue
			}
			for _, p := range got.Loop.Parts {
				if i := got.Song.Index(p.Name); jobs[p.Job] && playsOften(got.Loop, p) && (i < 0 || len(got.Song.Parts[i].Notes) == 0) {
					t.Errorf("%s over %s: %s never plays, and the song has %s\n%s", f.Name, l.Name, p.Name, p.Job, text)
				}
			}
			e, err := form.EnergyOf(got.Song)
			if err != nil {
				t.Fatal(err)
			}
			for b := 1; b < len(e.Bars); b++ {
				if e.Bars[b-1].Sum().Silent() && e.Bars[b].Sum().Silent() {
					t.Errorf("%s over %s: bars %d and %d are silent", f.Name, l.Name, b, b+1)
				}
			}
			is := phrases(t, got.Song, 1)
			n := min(len(is), len(was))
			ranks = append(ranks, oracle.Spearman(was[:n], is[:n]))
		}
		all = append(all, ranks...)
		fmt.Fprintf(&table, "%-32s %3d bars, %2d sections, %2d moves  %.2f\n", f.Name, st.Bars, len(st.Sections), movesOf(st), ranks)
	}
	slices.Sort(all)
	median := all[len(all)/2]
	t.Logf("studies of songs over three loops each, rank correlation of the energy of phrases:\n%smedian %.3f of %d", table.String(), median, len(all))
	if median < .7 {
		t.Errorf("got a median rank correlation of %.3f, want .7", median)
	}
}

func movesOf(st *study.Study) int {
	n := 0
	for _, sec := range st.Sections {
		n += len(sec.Moves)
	}
	return n
}

// checkSections holds that a study says little: few sections, what comes again by one name, and no level that stays.
func checkSections(t *testing.T, name string, st *study.Study, most int) {
	t.Helper()
	if len(st.Sections) > most {
		t.Errorf("%s: got %d sections, want at most %d", name, len(st.Sections), most)
	}
	for i, a := range st.Sections {
		for _, b := range st.Sections[:i] {
			again := slices.Equal(a.LineUp, b.LineUp) && a.Marker == "" && b.Marker == ""
			if core := a.Kind == song.KindDrop || a.Kind == song.KindGroove; again && core && a.Name != b.Name && (b.Kind == song.KindDrop || b.Kind == song.KindGroove) {
				t.Errorf("%s: %s is %s again by another name", name, a.Ref, b.Ref)
			}
		}
		for _, m := range a.Moves {
			if n := len(m.Options); m.Name == "shape" && m.Options[n-1].Value == m.Options[n-2].Value {
				t.Errorf("%s: %s leaves the level as it is", name, m)
			}
		}
	}
}
