package moves_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

func TestEnergyOff(t *testing.T) {
	e := moves.Energy{Low: form.Held.Times(-90), High: form.Held.Times(-70), Planned: form.Held.Times(-100)}
	for _, tt := range []struct{ level, off, withPlan int }{{-80, 0, 0}, {-95, -5, 0}, {-110, -20, -10}, {-60, 10, 10}} {
		p := form.Held.Times(tt.level)
		if got := e.Off(p); got != tt.off {
			t.Errorf("%d: got %d, want %d", tt.level, got, tt.off)
		}
		if got := e.WithPlan().Off(p); got != tt.withPlan {
			t.Errorf("%d with what is planned: got %d, want %d", tt.level, got, tt.withPlan)
		}
	}
}

func TestEnergiesOfASectionAreOne(t *testing.T) {
	at := func(first, last int, p form.Power) moves.Energy {
		return moves.Energy{First: first, Last: last, Low: p, High: 2 * p, Planned: 3 * p}
	}
	list := moves.Energies{at(1, 8, 1<<30), at(9, 16, 1<<31), at(17, 20, 1<<32), at(25, 28, 1<<33)}
	got, ok := list.In(9, 24)
	if want := at(9, 20, (8<<31+4<<32)/12); !ok || got.First != 9 || got.Last != 20 || max(got.Low-want.Low, want.Low-got.Low) > 64 || max(got.Planned-want.Planned, want.Planned-got.Planned) > 192 {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if _, ok := list.In(21, 24); ok {
		t.Error("found an energy where none is")
	}
}

// energiesOf asks for the energy that a song has in bars first to last, a tenth of a dB either way.
func energiesOf(t *testing.T, s song.Song, first, last int) moves.Energies {
	t.Helper()
	e, err := form.EnergyOf(s)
	if err != nil {
		t.Fatal(err)
	}
	now := e.Mean(first, last).Sum()
	return moves.Energies{{First: first, Last: last, Low: now.Times(-1), High: now.Times(1), Planned: now}}
}

func TestCompositesKeepEnergies(t *testing.T) {
	bars := func(grid string, n int) string {
		var out []string
		for _, row := range strings.Split(grid, "\n") {
			label, steps, _ := strings.Cut(row, " ")
			out = append(out, label+" "+strings.Repeat(strings.TrimSpace(steps), n))
		}
		return strings.Join(out, "\n")
	}
	for _, tt := range []struct {
		name, sections, perc string
		step                 moves.Step
		first, last          int // of the energy
	}{
		{"freshen mutes the loudest part of a drop", "drop 16", "X.X.X.X.X.X.X.X.", &moves.Freshen{Part: where.PartsOf("perc"), With: option.Words{"out"}}, 9, 12},
		{"lead-in takes the kick out of a whole groove", "groove 8, drop 8", "o.......o.......", &moves.LeadIn{At: where.PlacesOf("drop"), With: option.Words{"kick-out"}, Length: where.LengthOf("6 bars")}, 1, 4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sections, err := moves.ParseSections(tt.sections)
			if err != nil {
				t.Fatal(err)
			}
			s, err := song.ParseGrid(bars("kick X...X...X...X...\nperc "+tt.perc+"\nhat ..o...o...o...o.", 16))
			if err != nil {
				t.Fatal(err)
			}
			s = s.WithSections(sections)
			env := moves.Env{Strict: true, Seed: 1}
			free, err := moves.Run(&env, tt.step, s)
			if err != nil {
				t.Fatal(err)
			}
			env.Energies = energiesOf(t, s, tt.first, tt.last)
			held, err := moves.Run(&env, tt.step, s)
			if err != nil {
				t.Fatal(err)
			}
			was, _ := form.EnergyOf(s)
			without, _ := form.EnergyOf(free.Song)
			with, _ := form.EnergyOf(held.Song)
			if env.Energies.Keeps(was, without) {
				t.Error("it keeps the energy although none is asked for")
			}
			if !env.Energies.Keeps(was, with) {
				t.Error("it takes a stretch out of its energy")
			}
			if tt.first == 9 && !slices.ContainsFunc(held.Remarks, func(r remark.Remark) bool { return r.Kind == remark.NothingChanges && r.Bar == 9 }) {
				t.Errorf("got %v, want that nothing changes bar 9", held.Remarks)
			}
		})
	}
}
