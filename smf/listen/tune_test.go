package listen_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

const quay = `"Riser" 1 50 x---------------|................
	"Keys" 2 60 x...x...x...x...|x...x...x...x...
	"Stab" 3 62 x.......x.......|..x.......x.....
	"Stab" 3 65 ....x...........|......x.........
	"Lead" 4 72 x.x.x...........|..x.x.x.........
	"Lead" 4 74 ......x.........|........x.......
	"Pad" 5 55 x---------------|x---------------`

// Extra parts are numbered as they are tunes, what has no pitch last, whether a recipe called them extra or not.
func TestExtraPartsTakeTurnsAsTunes(t *testing.T) {
	for _, row := range []struct {
		rule string
		over []listen.Override
		want string
	}{
		{"the better tune first", nil, "stab 1, keys 2, riser 3"},
		{"a recipe's too", []listen.Override{{Name: "stab", Job: "extra"}}, "stab 1, keys 2, riser 3"},
		{"a part that a recipe makes the hook leaves the lead its place", []listen.Override{{Name: "stab", Job: "hook"}}, "lead 1, keys 2, riser 3"},
	} {
		heard, _ := hear(t, quay, row.over...)
		var got []string
		for turn := 1; turn < 10; turn++ {
			for _, p := range heard.Parts {
				if p.Turn == turn {
					got = append(got, fmt.Sprintf("%s %d", p.Name, turn))
				}
				if (p.Turn > 0) != (p.Job == song.JobExtra) {
					t.Errorf("%s: %s, whose job is %s, has turn %d", row.rule, p.Name, p.Job, p.Turn)
				}
			}
		}
		if strings.Join(got, ", ") != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, strings.Join(got, ", "), row.want)
		}
	}
}

// Every pitched part outside the bass is told how much it is a tune; the figures are worked out by hand.
func TestTunesAreExplained(t *testing.T) {
	_, r := hear(t, quay)
	for i, want := range map[int]string{
		0: "",
		1: "as a tune 0.26: 1 pitch, over 1 of 3, level 100%, 100% the same in the next bar",
		2: "as a tune 1.53: 2 pitches, over 2 of 3, level 100%, 0% the same in the next bar",
		3: "as a tune 2.36: 2 pitches, over 3 of 3, level 100%, 33% the same in the next bar, named as one",
		4: "as a tune -0.40: 1 pitch, over 0 of 3, level 100%, 100% the same in the next bar, held notes",
	} {
		last := r.Parts[i].Evidence[len(r.Parts[i].Evidence)-1].Text
		if !strings.HasPrefix(last, "as a tune") {
			last = ""
		}
		if last != want {
			t.Errorf("%s:\ngot  %s\nwant %s", r.Parts[i].Part, last, want)
		}
	}
}

// Volume and expression count as velocity does.
func TestALouderChannelIsTheTune(t *testing.T) {
	f := loop(t, `"Keys" 1 60 x...x...x.......
		"Stab" 2 60 x...x.x.........`)
	for _, row := range []struct {
		controller, value byte
		want              string
	}{{7, 50, "stab"}, {7, 127, "keys"}, {11, 50, "stab"}} {
		g := *f
		g.Tracks = append(g.Tracks[:0:0], f.Tracks...)
		g.Tracks[0] = withControl(f.Tracks[0], row.controller, row.value)
		heard, _, err := listen.Hear(raw(t, &g), listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range heard.Parts {
			if (p.Job == song.JobHook) != (p.Name == row.want) {
				t.Errorf("controller %d at %d: %s is %s, want %s for the hook", row.controller, row.value, p.Name, p.Job, row.want)
			}
		}
	}
}

// withControl returns a track that sets a controller of channel 1 at its start.
func withControl(tr smf.Track, controller, value byte) smf.Track {
	tr.Events = append([]smf.Event{smf.Channel(0, 0xB0, controller, value)}, tr.Events...)
	return tr
}
