package moves_test

import (
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf/song"
)

func gate(part, over, length string) *moves.Gate {
	g := &moves.Gate{Target: target(part, over)}
	if length != "" {
		if err := g.Length.UnmarshalTexts([]string{length}); err != nil {
			panic(err)
		}
	}
	return g
}

func TestGate(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "the notes of the span last a note value", Step: gate("stab", "bar 2", "1/16"),
			Before: "stab x---x---|x---x---|x---x---",
			After:  "stab x---x---|x...x...|x---x---"},
		movetest.Row{Name: "or a share of their own length", Step: gate("stab", "", "50%"),
			Before: "stab x---x-......x---", After: "stab x-..x.......x-.."},
		movetest.Row{Name: "at least a tick", Step: gate("stab", "", "0.01%"), Steps: 96,
			Before: "stab x--" + strings.Repeat(".", 381), After: "stab x" + strings.Repeat(".", 383)},
		movetest.Row{Name: "a chord moves whole", Step: gate("pad", "", "1/8"),
			Before: "pad:64 x-------\npad:60 x-------", After: "pad:64 x-......\npad:60 x-......"},
		movetest.Row{Name: "longer, to the next onset of any key", Step: gate("stab", "", "1000%"),
			Before: "stab:64 ....x...\nstab:60 x.......", After: "stab:64 ....x---\nstab:60 x---...."},
		movetest.Row{Name: "a note that overlaps the next already is made no longer", Step: gate("stab", "", "200%"),
			Before: "stab:64 ....x-......\nstab:60 x-----......", After: "stab:64 ....x---....\nstab:60 x-----......"},
		movetest.Row{Name: "it rings past the span", Step: gate("stab", "bar 1", "1/2"),
			Before: "stab ......x.|........", After: "stab ......x-|------.."},
		movetest.Row{Name: "not past the song", Step: gate("stab", "", "1/1"),
			Before: "stab ....x...", After: "stab ....x---"},
		movetest.Row{Name: "a bass that glides keeps its overlap", Step: gate("bass", "", "1/16"),
			Before: "bass:38 ....x---........\nbass:36 x-----..x---....", After: "bass:38 ....x...........\nbass:36 x-----..x......."},
		movetest.Row{Name: "a note that rings into the span stays", Step: gate("stab", "bar 2", "1/16"),
			Before: "stab ....x---|----x---", After: "stab ....x---|----x..."},
		movetest.Row{Name: "several spans", Step: gate("stab", "every other 1 bar", "1/16"),
			Before: "stab x---x---|x---x---|x---x---|x---x---", After: "stab x---x---|x...x...|x---x---|x...x..."},
		movetest.Row{Name: "kits that share a channel: a hit ends where another strikes its key", Step: gate("clap", "", "1/1"),
			Setup: func(s song.Song) song.Song {
				s = sharing(s)
				s.Parts[0].Keys, s.Parts[1].Keys = song.KeySet(39), song.KeySet(39)
				return s
			},
			Before: "clap:39 x...............\nsnare:39 ........x.......", After: "clap x-------........\nsnare:39 ........x......."},
		movetest.Row{Name: "no length is a mistake", Step: gate("stab", "", ""), Before: "stab x---", Err: "length: found nothing"},
		movetest.Row{Name: "no part, if any", Step: gate("stab if any", "", "50%"), Before: "kick x---", After: "kick x---"},
	)
}

func TestLengthsOfNotes(t *testing.T) {
	for _, tt := range []struct {
		text string
		ok   bool
	}{{"0.01%", true}, {"1000%", true}, {"1/64", true}, {"0%", false}, {"1000.01%", false}, {"1/65", false}, {"50", false}, {"", false}} {
		var l moves.NoteLength
		if err := l.UnmarshalTexts([]string{tt.text}); (err == nil) != tt.ok {
			t.Errorf("%q: got %v, want it accepted: %v", tt.text, err, tt.ok)
		} else if tt.ok && l.Texts()[0] != tt.text {
			t.Errorf("%q comes back as %q", tt.text, l.Texts()[0])
		}
	}
}
