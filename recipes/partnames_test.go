package recipes_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// TestShownNamesCanBeTyped holds that the name under which a part is shown means the part, and that the name of a job or
// group means nothing narrower: parts of loops that have several percussion, several basses and what doubles the tune.
func TestShownNamesCanBeTyped(t *testing.T) {
	loops := []string{
		`
			kick  x...x...x...x...
			perc  ..x..x....x..x..
			crash x...............`,
		`
			kick    x...x...x...x...
			bass:36 x-..x-..x-..x-..
			sub:24  x-------x-------`,
		`
			kick    x...x...x...x...
			hook:72 x..x..x.x..x..x.
			lead:84 x..x..x.x..x..x.
			pad:60  x---------------`,
	}
	for _, grid := range loops {
		got, err := draft(t, grid, "{}", recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		checkTypable(t, got.Song)
	}
	for _, in := range loopsToReview(t) {
		got, err := recipes.Draft(in, &recipes.Recipe{}, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		checkTypable(t, got.Song)
	}
}

func checkTypable(t *testing.T, s song.Song) {
	t.Helper()
	for i, p := range s.Parts {
		text := p.Name
		if _, role := song.RoleWord(text); role && len(where.PartsMeant(s, text)) > 1 {
			text = where.PartText(s, i) // the word is the role, and says so in the README
		}
		if got, err := where.PartsOf(text).Resolve(s); err != nil || !slices.Equal(got, []int{i}) {
			t.Errorf("%s is shown, and means parts %v (%v), want %d alone", p.Name, got, err, i)
		}
		if slices.Contains(song.Jobs(), song.Job(p.Name)) && !slices.Equal(where.PartsMeant(s, p.Name), []int{i}) {
			t.Errorf("%s bears the name of a job that others have too", p.Name)
		}
		if slices.Contains(song.Groups(), p.Name) {
			t.Errorf("%s bears the name of a group", p.Name)
		}
	}
}

// TestAJobIsNotAPart mutes the job and one of its parts, and writes recipes that say the same.
func TestAJobIsNotAPart(t *testing.T) {
	const grid = `
		kick  x...x...x...x...
		perc  ..x..x....x..x..
		crash x...............`
	for _, row := range []struct{ part, sounding string }{
		{"perc", "kick"},
		{"perc 2", "kick crash"},
		{"crash", "kick perc 2"},
	} {
		got, err := draft(t, grid, "length: 2 bars\nmoves:\n  - mute: {part: "+row.part+"}\n", recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v", row.part, err)
			continue
		}
		var sounding []string
		for _, p := range got.Song.Parts {
			if len(p.Notes) > 0 {
				sounding = append(sounding, p.Name)
			}
		}
		if text := strings.Join(sounding, " "); text != row.sounding {
			t.Errorf("mute: {part: %s} leaves %s, want %s", row.part, text, row.sounding)
		}
	}
}
