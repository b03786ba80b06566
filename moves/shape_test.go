package moves_test

import (
	"slices"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

func shape(part, over string, from, to option.Share, curve string) *moves.Shape {
	return &moves.Shape{Target: target(part, over), From: from * percent, To: to * percent, Curve: curve}
}

func TestShape(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "a share of each note's velocity, evenly from one to the other", Step: shape("kick", "bar 2", 50, 90, moves.Linear),
			Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...",
			Look:   velocities("kick", "100 100 100 100 50 60 70 80 100 100 100 100")},
		// 50 * 2^(k/4): 50, 59.46, 70.71, 84.09.
		movetest.Row{Name: "even in dB", Step: shape("kick", "", 50, 100, moves.Exp),
			Before: "kick x...x...x...x...", Look: velocities("kick", "50 59 71 84")},
		// 50 + 50 (3t^2 - 2t^3) at t = 0, 1/4, 1/2, 3/4: 50, 57.8, 75, 92.2.
		movetest.Row{Name: "slow at both ends", Step: shape("kick", "", 50, 100, moves.SCurve),
			Before: "kick x...x...x...x...", Look: velocities("kick", "50 58 75 92")},
		movetest.Row{Name: "softer too", Step: shape("kick", "", 100, 60, moves.Linear),
			Before: "kick x...x...x...x...", Look: velocities("kick", "100 90 80 70")},
		movetest.Row{Name: "accents stay accents", Step: shape("hat", "", 50, 50, moves.Linear),
			Before: "hat X.o.x.o.X.o.x.o.", Look: velocities("hat", "60 30 50 30 60 30 50 30")},
		movetest.Row{Name: "never louder than the part's own loudest", Step: shape("hat", "", 200, 200, moves.Linear),
			Before: "hat x.o.x.o.x.o.x.o.", Look: velocities("hat", "100 100 100 100 100 100 100 100")},
		movetest.Row{Name: "what would be softer than 1 is left out", Step: &moves.Shape{Target: target("hat", ""), From: 80, To: 80, Curve: moves.Exp},
			Before: "hat x.o.x.o.", Look: velocities("hat", "1 1")},
		movetest.Row{Name: "from nothing: the first is left out", Step: shape("kick", "bar 2", 0, 100, moves.Linear),
			Before: "kick x...x...x...x...|x...x...x...x...", After: "kick x...x...x...x...|....o...o...o...", Look: velocities("kick", "100 100 100 100 25 50 75")},
		movetest.Row{Name: "to nothing", Step: shape("kick", "", 100, 0, moves.Linear),
			Before: "kick x...x...x...x...", Look: velocities("kick", "100 75 50 25")},
		// 100^(k/4): 3.16, 10, 31.6 after the first, which is at 0.
		movetest.Row{Name: "even in dB from nothing: the way begins at 1%", Step: shape("kick", "", 0, 100, moves.Exp),
			Before: "kick x...x...x...x...", Look: velocities("kick", "3 10 32")},
		movetest.Row{Name: "a note that rings into the span stays", Step: shape("pad", "bar 2", 50, 50, moves.Linear),
			Before: "pad ........x-------|--------x-------", Look: velocities("pad", "100 50")},
		movetest.Row{Name: "each span is a sweep of its own", Step: shape("kick", "last 2 beats of every 1 bar", 50, 100, moves.Linear), Sections: "drop 2",
			Before: "kick x...x...x...x...|x...x...x...x...", Look: velocities("kick", "100 100 50 75 100 100 50 75")},
		movetest.Row{Name: "a part that ends inside the span", Step: shape("kick", "bars 1-2", 50, 100, moves.Linear),
			Before: "kick x.......x.......|................", Look: velocities("kick", "50 63")},
		movetest.Row{Name: "kits that share a channel: the others stay", Step: shape("hat", "", 50, 50, moves.Linear), Setup: sharing,
			Before: "hat ..x...x.\nkick x...x...", After: "hat ..o...o.\nkick x...x..."},
		movetest.Row{Name: "from nothing to nothing is a mistake", Step: shape("kick", "", 0, 0, moves.Exp), Before: "kick x...", Err: "to: found 0% from 0%, want more than 0% at one end"},
		movetest.Row{Name: "to has no default", Step: &moves.Shape{Target: target("kick", ""), To: -1}, Before: "kick x...", Err: "to: found nothing, want a percentage"},
		movetest.Row{Name: "no part, if any", Step: shape("hat if any", "", 50, 100, moves.Exp), Before: "kick x...", After: "kick x..."},
	)
}

// A share of 0 is a value of shape: it is written out, and to is missing only where nobody gave it.
func TestShapeOfNothingIsWritten(t *testing.T) {
	m, _ := moves.All().Lookup("shape")
	step := m.New()
	if missing := m.Missing(step); !slices.Equal(missing, []string{"part", "to"}) {
		t.Errorf("a new step lacks %q, want part and to", missing)
	}
	for name, text := range map[string]string{"part": "pad", "from": "0%", "to": "100%"} {
		if err := m.Set(step, name, []string{text}, false); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := m.Text(step), "shape: {part: pad, from: 0%, to: 100%}"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if err := m.Set(step, "to", []string{"0%"}, false); err != nil || len(m.Missing(step)) > 0 {
		t.Errorf("to: 0%% is missing or refused: %v", err)
	}
}

func TestShapeLeavesRollsAlone(t *testing.T) {
	in := mustGrid(t, "kick x...x...x...x...|x...x...x...x...|x...x...x...x...")
	out, err := moves.RunAll(&moves.Env{Strict: true}, in, roll("kick", "bar 2", "1/4", "1/4", ""), shape("kick", "bars 2-3", 50, 50, moves.Linear))
	if err != nil {
		t.Fatal(err)
	}
	velocities("kick", "100 100 100 100 100 100 100 100 50 50 50 50")(t, song.Song{}, out.Song, out)
	if told := movetest.Told(out); !slices.Contains(told, "shape: left out where a roll stands for kick") {
		t.Errorf("told %q, want that the roll was left alone", told)
	}
}
