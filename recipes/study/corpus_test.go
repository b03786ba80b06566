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

// TestStudiesOfSongs studies songs that others made and lays each over three loops that were cut out of other songs.
// The loops of a song are the first three of other songs in the order of the SHA-256 of its name and theirs.
func TestStudiesOfSongs(t *testing.T) {
	t.Parallel()
	loops := oracle.CutLoops(t)
	var songs []oracle.File
	marks := map[string]int{}
	for _, m := range oracle.MarkedSongs(t) {
		songs = append(songs, m.File)
		marks[m.Name] = len(m.Marks)
	}
	songs = append(append(songs, oracle.OtherSongs(t)...), oracle.Songs(t)...)
	if n := oracle.Size(16, len(songs), len(songs)); n < len(songs) {
		songs = songs[:n]
	}
	var table strings.Builder
	var ranks []float64
	for _, f := range songs {
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		s := heard(t, file)
		st, err := study.Of(s, 0)
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		text := st.Recipe(f.Name)
		r, err := recipes.Parse("studied.yaml", text)
		if err != nil {
			t.Fatalf("%s: %v\n%s", f.Name, err, text)
		}
		moves := 0
		for _, sec := range st.Sections {
			moves += len(sec.Moves)
		}
		jobs := map[song.Job]bool{}
		for _, p := range s.Parts {
			if p.Role != song.RoleTrigger && len(p.Notes) > 0 {
				jobs[p.Job] = true
			}
		}
		was := phrases(t, s, st.Sections[0].Bar)
		order := slices.Clone(loops)
		key := func(l oracle.CutLoop) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(f.Name+l.Name))) }
		slices.SortFunc(order, func(a, b oracle.CutLoop) int { return cmp.Compare(key(a), key(b)) })
		var rs []string
		taken := map[string]bool{f.Name: true}
		for _, l := range order {
			if len(rs) == 3 {
				break
			}
			if taken[l.Song] {
				continue
			}
			taken[l.Song] = true
			file, err := smf.Decode(l.Bytes)
			if err != nil {
				t.Fatal(err)
			}
			got, err := recipes.Draft([]recipes.Input{{Name: l.Name, File: file}}, r, recipes.Options{})
			if err != nil {
				t.Errorf("%s over %s: %v", f.Name, l.Name, err)
				rs = append(rs, "x")
				continue
			}
			var bad []string
			for _, p := range got.Song.Parts {
				if len(p.Notes) == 0 && p.Role != song.RoleTrigger && got.Loop.Index(p.Name) >= 0 && len(got.Loop.Parts[got.Loop.Index(p.Name)].Notes) > 0 && jobs[p.Job] {
					bad = append(bad, p.Name)
				}
			}
			e, err := form.EnergyOf(got.Song)
			if err != nil {
				t.Fatal(err)
			}
			for b := 1; b < len(e.Bars); b++ {
				if e.Bars[b-1].Sum().Silent() && e.Bars[b].Sum().Silent() {
					bad = append(bad, fmt.Sprintf("bars %d-%d", b, b+1))
				}
			}
			is := phrases(t, got.Song, 1)
			n := min(len(is), len(was))
			rank := oracle.Spearman(was[:n], is[:n])
			if n > 2 {
				ranks = append(ranks, rank)
			}
			rs = append(rs, fmt.Sprintf("%.2f %v", rank, bad))
			if len(bad) > 0 {
				fmt.Fprintf(&table, "!! %s over %s: %v\n", f.Name, l.Name, bad)
			}
		}
		fmt.Fprintf(&table, "%-32s %3d bars %2d sections (%d marks) %2d moves  %s\n", f.Name, st.Bars, len(st.Sections), marks[f.Name], moves, strings.Join(rs, "  "))
	}
	slices.Sort(ranks)
	t.Logf("studies of songs over three loops each:\n%smedian rank %.3f of %d", table.String(), ranks[len(ranks)/2], len(ranks))
}
