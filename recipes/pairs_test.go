package recipes_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// Loops cut out of one song one after another, taken as two: each instrument is there once, the draft keeps the rules of
// a song, and what only the second loop has is heard in every section that plays it. The drafts are held against the same
// figures as those of one loop, see TestTableOf, those of which five parts or more are heard, a beat and a bass among
// them. The songs are those of oracle.CutLoops.
func TestPairsOfLoopsOfOneSong(t *testing.T) {
	loops := oracle.CutLoops(t)
	club, _ := recipes.Builtin("club")
	var all []figures
	pairs, second, done := 0, 0, 0
	type pair struct{ a, b oracle.CutLoop }
	var found []pair
	for i := 1; i < len(loops); i++ {
		if a, b := loops[i-1], loops[i]; a.Song == b.Song && a.Section != b.Section {
			found = append(found, pair{a, b})
		}
	}
	slices.SortStableFunc(found, func(p, q pair) int { return cmp.Compare(fnvOf(p.a.Name), fnvOf(q.a.Name)) })
	most := oracle.Size(6, 30, 200)
	for _, p := range found {
		if pairs == most {
			break
		}
		name := p.a.Name + ", " + p.b.Section
		in := []recipes.Input{input(t, p.a.Name, p.a.Bytes), input(t, p.b.Name, p.b.Bytes)}
		in[0].Loop, in[1].Loop = "a", "b"
		got, err := recipes.Draft(in, club, recipes.Options{Take: pairs + 1})
		if err != nil {
			if !strings.Contains(err.Error(), "metre") && !strings.Contains(err.Error(), "same notes") {
				t.Errorf("%s: %v", name, err)
			}
			continue
		}
		pairs++
		checkPair(t, name, in, got)
		if checkSecond(t, name, got) {
			second++
		}
		for k := range oracle.Size(0, 3, 10) { // what is heard of the second loop does not hang on a take
			take := pairs + 1 + 7*k
			other, err := recipes.Draft(in, club, recipes.Options{Take: take})
			if err != nil {
				t.Errorf("%s: take %d: %v", name, take, err)
				continue
			}
			checkSecond(t, fmt.Sprintf("%s, take %d", name, take), other)
		}
		f := figuresOf(t, club, p.a.Song, got)
		if f.done {
			done++
		}
		jobs := map[song.Job]bool{}
		for _, p := range got.Loop.Parts {
			jobs[p.Job] = true
		}
		counts := len(got.Loop.Parts) >= 5 && jobs[song.JobBeat] && jobs[song.JobBass]
		if counts {
			all = append(all, f)
		}
		t.Logf("%-34.34s counts %-5v %s", name, counts, f)
	}
	t.Logf("%d pairs, of %d the second has parts of its own; %d pass the review", pairs, second, done)
	if pairs == 0 {
		t.Error("no pairs")
	}
	holdTable(t, "club of two loops", all, 5)
}

// checkPair checks that each instrument of two loops is there once and that the draft keeps the rules of a song.
func checkPair(t *testing.T, name string, in []recipes.Input, got *recipes.Result) {
	t.Helper()
	if before, after := got.Loop.Check(), got.Song.Check(); len(before) == 0 && len(after) > 0 {
		t.Errorf("%s: %s", name, after[0])
	}
	most := map[string]int{} // how many tracks of a name one of the two has
	for _, l := range in {
		count := map[string]int{}
		for k := range l.File.Tracks {
			count[trackName(&l.File.Tracks[k])]++
		}
		for name, n := range count {
			most[name] = max(most[name], n)
		}
	}
	once := map[string]int{}
	for _, tr := range got.Loop.Tracks {
		if once[tr.Name]++; tr.Name != "" && once[tr.Name] > most[tr.Name] {
			t.Errorf("%s: %d tracks are called %q", name, once[tr.Name], tr.Name)
		}
	}
}

// checkSecond checks that what only the second loop has is heard in every section that plays it, or somewhere if it is the
// main loop, which plays from the start on; it tells whether there is anything. The trace says which sections play it.
func checkSecond(t *testing.T, name string, got *recipes.Result) bool {
	t.Helper()
	var only []int
	for p := range got.Loop.Parts {
		if in := got.LoopsOf(p); len(in) == 1 && in[0] == 1 {
			only = append(only, p)
		}
	}
	if len(only) == 0 {
		return false
	}
	var second []song.Range // where any part plays the second loop, if one that only that has is ever among them
	ever := false
	for _, c := range got.Changes {
		if c.Move == "loop b" {
			second = append(second, c.Ranges...)
			ever = ever || slices.ContainsFunc(only, func(p int) bool { return slices.Contains(c.Parts, got.Loop.Parts[p].Name) })
		}
	}
	plays, heard, main := 0, 0, false
	for i, sec := range got.Song.Sections {
		over := got.Song.SectionRange(sec)
		if !ever || len(song.Intersect(song.Union(second), []song.Range{over})) == 0 {
			continue
		}
		main = main || i == 0
		plays++
		switch {
		case slices.ContainsFunc(only, func(p int) bool { return len(got.Song.In(got.Song.Parts[p], over)) > 0 }):
			heard++
		case !main:
			t.Errorf("%s: %s plays the second loop, and nothing is heard of what only that has", name, sec.Name)
		}
	}
	if plays == 0 || heard == 0 {
		t.Errorf("%s: %d sections play the second loop, %d with something that only that has", name, plays, heard)
	}
	return true
}

func trackName(t *smf.Track) string {
	for _, e := range t.Events {
		if kind, meta := e.MetaType(); meta && kind == smf.MetaTrackName {
			return strings.Trim(string(t.Long(e)), " \x00")
		}
	}
	return ""
}
