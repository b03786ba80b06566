package moves_test

import (
	"errors"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// What would make a song of more than 50 million events is refused before it takes any time, and names no option.
func TestStepsThatMakeTooMuchAreRefused(t *testing.T) {
	in := song.Blank(480, nil, nil, 9999*1920)
	e := in.Edit()
	p := e.NewPart(song.Part{Name: "chords", Role: song.RoleChords, Keys: song.KeySet(60)})
	for at := song.Tick(0); at < in.End; at += 240 {
		for key := range uint8(4) {
			e.Place(p, song.Note{Start: at, End: at + 240, Key: 60 + key, Vel: 100})
		}
	}
	in = e.Song() // 319,968 notes
	all := moves.Target{Part: where.PartsOf("all")}
	value := option.NoteValueOf
	for _, step := range []moves.Step{
		&moves.Stutter{Target: all, Slice: value(1, 1920)},
		&moves.Stutter{Target: moves.Target{Part: all.Part, Over: where.SpansOf("every 1 bar of all")}, Slice: value(1, 1920)},
		&moves.Copy{Target: moves.Target{Part: all.Part, Over: where.SpansOf("1/1920 after 1.1")}, To: where.PlacesOf("bar 1"), Length: where.LengthInBars(9999)},
	} {
		_, err := moves.Run(&moves.Env{}, step, in)
		var bad *option.Mistake
		if !errors.As(err, &bad) || bad.Option != "" || !strings.HasPrefix(bad.Error(), "found a song of up to ") || bad.Want != "at most 50000000" {
			t.Errorf("%s: %v", step.Name(), err)
		}
	}
}
