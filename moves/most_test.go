//go:build oracles

package moves

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// Whatever is drawn, no step adds more events than it was said to add at the most.
func TestNoStepAddsMoreThanItsMost(t *testing.T) {
	value := option.NoteValueOf
	steps := func(over Target) []Step {
		return []Step{
			&Echo{Target: over, Spacing: value(1, 16), Repeats: 16, Velocity: option.Whole, Tails: "ring"},
			&Stutter{Target: over, Slice: value(1, 64)},
			&Copy{Target: Target{Part: over.Part, Over: where.SpansOf("last 1/32 of bar 2")}, To: where.PlacesOf("every 2 beats of all")},
			&Copy{Target: Target{Part: over.Part, Over: where.SpansOf("1.2-1.3")}, To: where.PlacesOf("bar 1"), Length: where.LengthOf("4 bars")},
			&Ghost{Target: over, Velocity: 40 * option.Whole / 100, Density: option.Whole},
			&Vary{Target: over, Rate: option.Whole},
			&Double{Target: over, Velocity: option.Whole},
			&Roll{Target: over, From: value(1, 4), To: value(1, 32), Velocity: option.SharesOf(option.Whole, option.Whole)},
			&Fill{Target: over, Velocity: option.SharesOf(option.Whole, option.Whole)},
			&Swell{Target: over, Velocity: option.SharesOf(option.Whole, option.Whole)},
			&Layer{Target: over, Interval: Interval{Semitones: 1}, Velocity: option.Whole},
			&Stretch{Target: over, By: "double"}, &Stretch{Target: over, By: "half"},
			&Ride{Target: over, Controller: option.ControllerOf(74), From: option.Control(0), To: option.Control(127), Curve: Linear},
			&Duck{Target: over, By: where.PartsOf("kick"), To: 0, Length: value(1, 4)},
			&Rise{Target: over, By: "steps"}, &Rise{Target: over, By: "bend"},
			&Mute{Target: over}, &Solo{Target: over}, &Reverse{Target: over},
		}
	}
	spans := []string{"all", "every 1 beat of all", "every other 1/16 of all", "bars 2-3", "every 1/7 of bar 2", "last 1/32"}
	for seed := range uint64(oracle.Size(8, 200, 2000)) {
		chance := NewRand(seed, 0, 0)
		var grid strings.Builder
		for _, name := range []string{"kick", "snare", "hat", "bass", "pad", "strings"}[:2+chance.Intn(5)] {
			for key := range 1 + chance.Intn(3) {
				row, held := make([]byte, 64), false
				for i := range row {
					letters := "....xXo"
					if held {
						letters = "------x"
					}
					row[i] = letters[chance.Intn(len(letters))]
					held = row[i] != '.'
				}
				fmt.Fprintf(&grid, "%s:%d %s\n", name, 40+key, row)
			}
		}
		in, err := song.ParseGrid(grid.String())
		if err != nil {
			t.Fatal(err)
		}
		for _, span := range spans {
			for _, step := range steps(Target{Part: where.PartsOf("all"), Over: where.SpansOf(span)}) {
				env := (&Env{}).on(in)
				o, err := Run(&env, step, in)
				if err != nil {
					t.Fatalf("%s over %s: %v", step.Name(), span, err)
				}
				env, _, _ = env.prepared(step, in)
				if added, most := eventsIn(o.Song)-eventsIn(in), env.most(step, in); added > most {
					t.Fatalf("%s over %s adds %d events, %d at the most\n%s\n%s", step.Name(), span, added, most, grid.String(), song.Grid(o.Song))
				}
			}
		}
	}
}

// An echo of some 320,000 notes, 16 times, is not too much.
func TestAnEchoOfManyNotesFits(t *testing.T) {
	in := song.Blank(480, nil, nil, 9999*1920)
	e := in.Edit()
	p := e.NewPart(song.Part{Name: "chords", Role: song.RoleChords, Keys: song.KeySet(60)})
	for at := song.Tick(0); at < in.End; at += 60 {
		e.Place(p, song.Note{Start: at, End: at + 60, Key: 60, Vel: 100})
	}
	in = e.Song() // 319,968 notes
	echo := &Echo{Target: Target{Part: where.PartsOf("all")}, Spacing: option.NoteValueOf(1, 64), Repeats: 16, Velocity: option.Whole, Tails: "ring"}
	if err := (&Env{Parts: []int{p}, Ranges: []song.Range{{End: in.End}}}).fits(echo, in); err != nil {
		t.Error(err)
	}
}
