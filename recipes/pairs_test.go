package recipes

import (
	"strings"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

// Loops cut out of one song one after another, taken as two: each instrument is there once, the draft keeps the rules of
// a song, and something that only the second loop has is heard. The songs are those of oracle.CutLoops.
func TestPairsOfLoopsOfOneSong(t *testing.T) {
	loops := oracle.CutLoops(t)
	club, _ := Builtin("club")
	pairs, second, heard, passed, warnings := 0, 0, 0, 0, 0
	all := oracle.Size(6, 30, 200)
	for i := 1; i < len(loops) && pairs < all; i++ {
		a, b := loops[i-1], loops[i]
		if a.Song != b.Song || a.Section == b.Section {
			continue
		}
		var in []Input
		for k, l := range []oracle.CutLoop{a, b} {
			f, err := smf.Decode(l.Bytes)
			if err != nil {
				t.Fatal(err)
			}
			in = append(in, Input{Name: l.Name, File: f, Loop: string(rune('a' + k))})
		}
		got, err := Draft(in, club, Options{})
		if err != nil {
			if !strings.Contains(err.Error(), "metre") && !strings.Contains(err.Error(), "same notes") {
				t.Errorf("%s, %s: %v", a.Name, b.Name, err)
			}
			continue
		}
		pairs++
		if before, after := got.Loop.Check(), got.Song.Check(); len(before) == 0 && len(after) > 0 {
			t.Errorf("%s, %s: %s", a.Name, b.Name, after[0])
		}
		var most map[string]int // how many tracks of a name one of the two has
		for _, l := range in {
			count := map[string]int{}
			for k := range l.File.Tracks {
				count[trackName(&l.File.Tracks[k])]++
			}
			if most == nil {
				most = count
			}
			for name, n := range count {
				most[name] = max(most[name], n)
			}
		}
		once := map[string]int{}
		for _, tr := range got.Loop.Tracks {
			if once[tr.Name]++; tr.Name != "" && once[tr.Name] > most[tr.Name] {
				t.Errorf("%s, %s: %d tracks are called %q", a.Name, b.Name, once[tr.Name], tr.Name)
			}
		}
		alone, sounds := false, false
		for p := range got.Loop.Parts {
			if only := got.LoopsOf(p); len(only) == 1 && only[0] == 1 {
				alone = true
				sounds = sounds || len(got.Song.Parts[p].Notes) > 0
			}
		}
		if alone {
			second++
		}
		if sounds {
			heard++
		}
		found, err := review.Review(got.ToReview(), review.Options{Checks: club.Checks(), Level: review.Warn, Bare: true})
		if err != nil {
			t.Error(err)
		}
		warnings += len(found.Findings)
		if found.Verdict.Done {
			passed++
		}
	}
	t.Logf("%d pairs, of %d the second has parts of its own, heard in %d; %d pass the review, %d findings", pairs, second, heard, passed, warnings)
	if pairs == 0 || 10*heard < 8*second {
		t.Errorf("what only the second loop has is heard in %d of %d", heard, second)
	}
}

func trackName(t *smf.Track) string {
	for _, e := range t.Events {
		if kind, meta := e.MetaType(); meta && kind == smf.MetaTrackName {
			return strings.Trim(string(t.Long(e)), " \x00")
		}
	}
	return ""
}
