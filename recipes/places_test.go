package recipes_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/listen"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// Whatever a draft's trace tells, its written recipe finds again in the file alone.
func TestMovesInADraft(t *testing.T) {
	loops := demoInputs(t)
	for i, name := range slices.Sorted(maps.Keys(loops)) {
		in := loops[name]
		for k, info := range recipes.Builtins() {
			if (i+k)%oracle.Size(3, 1, 1) != 0 { // a first run takes one in three
				continue
			}
			got := draftedBuiltin(t, name, in, info.Name).got
			written, err := recipes.Parse("written.yaml", got.WriteRecipe())
			if err != nil {
				t.Fatal(err)
			}
			s, err := song.From(got.File)
			if err != nil {
				t.Fatal(err)
			}
			if s, _, err = listen.Hear(s, listen.Options{}); err != nil {
				t.Fatal(err)
			}
			s = s.WithSections(s.MarkedSections())
			found := recipes.MovesIn(written, s)
			for _, c := range got.Changes {
				if c.Step < 0 {
					continue
				}
				for _, r := range c.Ranges {
					if r.Len() == 0 || r.Start >= s.End {
						continue
					}
					if !slices.ContainsFunc(found, func(f song.Change) bool {
						return f.Move == c.Move && slices.ContainsFunc(f.Ranges, func(q song.Range) bool { return q.Start <= r.Start && r.Start < q.End })
					}) {
						t.Errorf("%s, %s: %s at %d is not found", name, info.Name, c.Move, r.Start)
					}
				}
			}
		}
	}
}

func TestMovesInAnySong(t *testing.T) {
	s, err := song.ParseGrid("kick x...x...x...x...|x...x...x...x...\nhat ..x...x...x...x.|..x...x...x...x.")
	if err != nil {
		t.Fatal(err)
	}
	r, err := recipes.Parse("r.yaml", []byte(`
moves:
- mute: {part: [kick, clap if any], over: bar 2}
- mute: {part: clap if any, over: bar 1}
- hit: {sound: crash, at: [bar 2, end]}
- thin: {part: hat, over: [bar 9, drop], keep: 50%}
- tempo: {over: bar 1, to: 90%}
- freshen: {every: 1 bar}`))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, c := range recipes.MovesIn(r, s) {
		for _, r := range c.Ranges {
			got = append(got, fmt.Sprintf("%s %v %d-%d", c.Move, c.Parts, r.Start, r.End))
		}
	}
	want := []string{"mute [kick] 384-768", "hit [] 384-408", "tempo [] 0-384"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
