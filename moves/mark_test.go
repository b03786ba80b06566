package moves_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// marked looks for markers in the first track and for nothing else there; another run of the step adds none.
func marked(step *moves.Mark, want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		again, err := moves.Run(&moves.Env{Strict: true}, step, after)
		if err != nil {
			t.Errorf("%v", err)
		}
		for _, s := range []song.Song{after, again.Song} {
			if got := strings.ReplaceAll(show(s, 0), "0:metre=2/4", ""); !sameWords(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
		}
	}
}

func TestMark(t *testing.T) {
	const grid = "kick x...x...|x...x...|x...x..."
	row := func(rule string, step *moves.Mark, sections, want string, at ...song.Tick) movetest.Row {
		may := func(_ song.Part, t song.Tick) bool { return slices.Contains(at, t) }
		return movetest.Row{Name: rule, Step: step, Sections: sections, Before: grid, After: grid, May: may, Look: marked(step, want)}
	}
	outside := row("a place outside every section gets none, and that is said", &moves.Mark{At: where.PlacesOf("bar 3")}, "intro 1, drop 1", "")
	outside.Warned = []string{"no marker at a place outside every section"}
	both := row("of several places one may lie outside: there was something to do", &moves.Mark{At: where.PlacesOf("bar 1", "bar 3")}, "intro 1, drop 1", "0:meta06=intro", 0)
	both.Warned = outside.Warned
	look := both.Look
	both.Look = func(t movetest.Reporter, before, after song.Song, came moves.Outcome) {
		look(t, before, after, came)
		if came.Nothing.Kind != "" {
			t.Errorf("it had nothing to do because of %s, want a marker", came.Nothing.Kind)
		}
	}
	outside.Nothing = remark.NoMarker
	nowhere := row("a song without sections has nothing to mark", &moves.Mark{}, "", "")
	// Bar 1 has a marker that says x already.
	beside := func(rule string, step *moves.Mark, want string, at ...song.Tick) movetest.Row {
		r := row(rule, step, "", want, at...)
		r.Setup = func(s song.Song) song.Song {
			e := s.Edit()
			e.InsertMeta(0, 0, smf.MetaMarker, []byte("x"))
			return e.Song()
		}
		return r
	}
	movetest.Run(t,
		beside("the same text at the same tick is not written twice", &moves.Mark{At: where.PlacesOf("bar 1"), Text: "x"}, "0:meta06=x"),
		beside("the same text elsewhere is", &moves.Mark{At: where.PlacesOf("bar 1", "bar 3"), Text: "x"}, "0:meta06=x 4:meta06=x", 4*q),
		beside("another text at the same tick is", &moves.Mark{At: where.PlacesOf("bar 1"), Text: "y"}, "0:meta06=x 0:meta06=y", 0),
		row("every section by its name", &moves.Mark{}, "intro 1, drop 2", "0:meta06=intro 2:meta06=drop", 0, 2*q),
		row("a place by the name of its section", &moves.Mark{At: where.PlacesOf("bar 3")}, "intro 1, drop 2", "4:meta06=drop", 4*q),
		row("a place by a text", &moves.Mark{At: where.PlacesOf("bar 3"), Text: "turn"}, "intro 1, drop 2", "4:meta06=turn", 4*q),
		row("a place inside a bar", &moves.Mark{At: where.PlacesOf("2.2"), Text: "turn"}, "", "3:meta06=turn", 3*q),
		row("several places", &moves.Mark{At: where.PlacesOf("bar 1", "bar 3"), Text: "x"}, "intro 1, drop 2", "0:meta06=x 4:meta06=x", 0, 4*q),
		row("every section by one text", &moves.Mark{Text: "x"}, "intro 1, drop 2", "0:meta06=x 2:meta06=x", 0, 2*q),
		outside, both, nowhere,
	)
}
