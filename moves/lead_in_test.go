package moves_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

func leadIn(at string, with ...string) *moves.LeadIn {
	return &moves.LeadIn{At: where.PlacesOf(at), With: with}
}

func withLength(l *moves.LeadIn, length string) *moves.LeadIn {
	l.Length = where.LengthOf(length)
	return l
}

const fourBeats, twoBars = "x...x...x...x...", "x...x...x...x...|x...x...x...x..."

func TestLeadIn(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "into a break the kick is out for a bar", Step: leadIn("break"), Sections: "groove 2, break 1", May: movetest.Anything,
			Before: `
				kick x...x...x...x...|x...x...x...x...|................
				hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`,
			After: `
				kick x...x...x...x...|................|................
				hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`},
		movetest.Row{Name: "where no kick plays, the backbeat", Step: leadIn("break"), Sections: "groove 2, break 1", May: movetest.Anything,
			Before: `
				clap ....x.......x...|....x.......x...|................
				hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`,
			After: `
				clap ....x.......x...|................|................
				hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`},
		movetest.Row{Name: "without drums, the hook", Step: leadIn("break", "kick-out"), Sections: "groove 2, break 1", May: movetest.Anything,
			Before: `
				lead x..x..x.x..x..x.|x..x..x.x..x..x.|................
				pad  x---------------|x---------------|x---------------`,
			After: `
				lead x..x..x.x..x..x.|................|................
				pad  x---------------|x---------------|x---------------`},
		movetest.Row{Name: "into a build a swell of a bar", Step: leadIn("build"), Sections: "break 2, build 1", May: movetest.Anything,
			Before: "hat x..x..x...x.....|x..x..x...x.....|x..x..x...x.....",
			After:  "hat x..x..x...x.....|.....o...o..o..x|x..x..x...x....."},
		movetest.Row{Name: "into a drop a roll, then a rest", Step: leadIn("drop", "roll", "gap"), Sections: "build 2, drop 1", May: movetest.Anything,
			Before: `
				snare ................|................|....x.......x...
				pad   x---------------|x---------------|x---------------`,
			After: `
				snare o-..o-..o-..o-..|x.x.oxxxxxxx....|....x.......x...
				pad   x---------------|x-----------....|x---------------`},
		movetest.Row{Name: "a roll and a swell both leave the rest", Step: leadIn("drop", "roll", "swell", "gap"), Sections: "build 4, drop 1", May: movetest.Anything,
			Before: `
				snare ................|................|................|................|....x.......x...
				hat   x..x..x...x.....|x..x..x...x.....|x..x..x...x.....|x..x..x...x.....|x..x..x...x.....`,
			After: `
				snare o-..o-..o-..o-..|o-..o-..o-..o-..|o.o.x.x.x.x.x.x.|xxxxxxxxxxxx....|....x.......x...
				hat   x..x..x...x.....|x..x..x...x.....|.o...o..o..o....|.o...o..x..x....|x..x..x...x.....`},
		movetest.Row{Name: "the rest alone", Step: leadIn("drop", "gap"), Sections: "build 1, drop 1", May: movetest.Anything,
			Before: `
				kick x...x...x...x...|x...x...x...x...
				hat  ..x...x...x...x.|..x...x...x...x.`,
			After: `
				kick x...x...x.......|x...x...x...x...
				hat  ..x...x...x.....|..x...x...x...x.`},
		movetest.Row{Name: "a roll leads into no break", Step: leadIn("break", "roll"), Sections: "groove 1, break 1", May: movetest.Anything,
			Before: "snare ....x.......x...|....x.......x...", After: "snare ....x.......x...|....x.......x...",
			Told: []string{"lead-in: nothing the loop has prepares break at bar 2"}},
		movetest.Row{Name: "into the groove the bass is out for a bar", Step: leadIn("groove", "bass-out"), Sections: "intro 2, groove 1", May: movetest.Anything,
			Before: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...
				bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-`,
			After: `
				kick x...x...x...x...|x...x...x...x...|x...x...x...x...
				bass ..x-..x-..x-..x-|................|..x-..x-..x-..x-`},
		movetest.Row{Name: "or the kick is doubled", Step: leadIn("groove", "double"), Sections: "intro 1, groove 1", May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x...", After: "kick x...x...x.x.x.x.|x...x...x...x..."},
		movetest.Row{Name: "or the kick is out for half a bar", Step: leadIn("groove", "kick-out"), Sections: "intro 1, groove 1", May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x...", After: "kick x...x...........|x...x...x...x..."},
		movetest.Row{Name: "the length asked for", Step: withLength(leadIn("groove", "kick-out"), "1 beat"), Sections: "intro 1, groove 1", May: movetest.Anything,
			Before: "kick x...x.x.x...x.x.|x...x...x...x...", After: "kick x...x.x.x.......|x...x...x...x..."},
		movetest.Row{Name: "a length is cut to the section", Step: withLength(leadIn("groove", "double"), "999 bars"), Sections: "a 1, intro 1, groove 1", May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x...|x...x...x...x...", After: "kick x...x...x...x...|x.x.x.x.x.x.x.x.|x...x...x...x..."},
		movetest.Row{Name: "no device leaves two bars silent", Step: leadIn("break", "kick-out"), Sections: "groove 2, break 2", May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x...|................|x...x...x...x...", After: "kick x...x...x...x...|x...x...x...x...|................|x...x...x...x...", Told: []string{"nothing the loop has prepares break"}},
		movetest.Row{Name: "no kick fills a break", Step: leadIn("build", "fill"), Sections: "break 1, build 1", Loop: "kick x...x...x...x...\npad x---------------", May: movetest.Anything,
			Before: "pad x---------------|x---------------",
			After: `
				kick ................|................
				pad  x---------------|x---------------`, Told: []string{"nothing the loop has prepares build"}},
		movetest.Row{Name: "a device that would be too little to prepare it is not chosen", Step: withLength(leadIn("groove", "kick-out"), "1/16"), Sections: "intro 1, groove 1", May: movetest.Anything,
			Before: "kick x...x...x...x..x|x...x...x...x...", After: "kick x...x...x...x..x|x...x...x...x...", Told: []string{"prepares groove at bar 2"}},
		movetest.Row{Name: "a place in the middle of a section is led into as well", Step: leadIn("bar 2", "kick-out"), May: movetest.Anything,
			Before: "kick x...x...x...x...|x...x...x...x...", After: "kick x...x...........|x...x...x...x..."},
		movetest.Row{Name: "bar 1 needs nothing", Step: leadIn("bar 1"), Before: "kick x...x...x...x...", After: "kick x...x...x...x..."},
		movetest.Row{Name: "the end needs nothing", Step: leadIn("end"), Before: "kick x...x...x...x...", After: "kick x...x...x...x..."},
		movetest.Row{Name: "a place off the bar line", Step: leadIn("1.2"), Before: "kick x...x...x...x...",
			Err: "at: found a place at beat 2 of bar 1, want places on bar lines"},
		movetest.Row{Name: "no section of the name", Step: leadIn("drop"), Sections: "groove 1", Before: "kick x...x...x...x...", Err: "at: found"},
	)
}

// led returns the steps of a lead-in on a grid, as text.
func led(t *testing.T, step *moves.LeadIn, grid, sections string, seed uint64) []string {
	t.Helper()
	s, err := song.ParseGrid(grid)
	if err != nil {
		t.Fatal(err)
	}
	list, err := moves.ParseSections(sections)
	if err != nil {
		t.Fatal(err)
	}
	x, err := moves.Expand(&moves.Env{Strict: true, Seed: seed, Bars: 1}, step, s.WithSections(list))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, s := range x.Steps {
		out = append(out, moves.All().Of(s).Text(s))
	}
	return out
}

// rows makes a grid of bars of the same rows.
func rows(bars int, rows ...string) string {
	var out []string
	for _, row := range rows {
		name, steps, _ := strings.Cut(row, " ")
		out = append(out, name+" "+strings.Repeat(steps, bars))
	}
	return strings.Join(out, "\n")
}

func TestLeadInLeavesPreparedLinesAlone(t *testing.T) {
	grid := "kick x...x...x...x...|x...x...........|x...x...x...x..."
	full := "kick " + strings.Repeat(fourBeats, 3)
	list, _ := moves.ParseSections("intro 2, groove 1")
	in, _ := song.ParseGrid(grid)
	lined, _ := song.ParseGrid(full)
	env := &moves.Env{Strict: true, Seed: 1, Bars: 1, Full: lined, Lined: lined.WithSections(list)}
	x, err := moves.Expand(env, leadIn("every section"), in.WithSections(list))
	if err != nil || len(x.Steps) > 0 || len(x.Remarks) > 0 || x.Nothing.Kind != remark.NothingLeft {
		t.Errorf("got %d steps, remarks %v, error %v, want nothing left to do", len(x.Steps), x.Remarks, err)
	}
}

// TestLeadInLengths holds how long rolls and swells into a drop are, by what stands before it and by the tempo.
func TestLeadInLengths(t *testing.T) {
	grid := rows(12, "snare ....x.......x...", "hat ..x...x...x...x.")
	for _, row := range []struct {
		sections string
		bpm      int
		roll     string
		swell    string
	}{
		{"build 8, drop 4", 132, "8 bars", "2 bars"},
		{"break 8, drop 4", 132, "4 bars", "2 bars"},
		{"groove 8, drop 4", 132, "2 bars", "2 bars"},
		{"build 2, drop 10", 132, "2 bars", "1 bar"},
		{"build 8, drop 4", 159, "8 bars", "2 bars"},
		{"build 8, drop 4", 160, "8 bars", "4 bars"},
	} {
		s, err := song.ParseGrid(grid)
		if err != nil {
			t.Fatal(err)
		}
		list, _ := moves.ParseSections(row.sections)
		s = movetest.Tempo(row.bpm)(s).WithSections(list)
		got := map[string]string{}
		for _, device := range []string{"roll", "swell"} {
			x, err := moves.Expand(&moves.Env{Strict: true, Seed: 1, Bars: 1}, leadIn("drop", device), s)
			if err != nil || len(x.Steps) != 1 {
				t.Fatalf("%s: got %d steps of %s and error %v, want one", row.sections, len(x.Steps), device, err)
			}
			_, text, _ := strings.Cut(moves.All().Of(x.Steps[0]).Text(x.Steps[0]), "over: ")
			got[device], _, _ = strings.Cut(text, " before")
		}
		if got["roll"] != row.roll || got["swell"] != row.swell {
			t.Errorf("%s at %d bpm: got %v, want a roll of %s and a swell of %s", row.sections, row.bpm, got, row.roll, row.swell)
		}
	}
}

// TestLeadInChoosesByTheSeed holds that seeds choose otherwise, that no device comes twice in a row
// where there is a choice, and that every choice prepares its line.
func TestLeadInChoosesByTheSeed(t *testing.T) {
	grid := rows(10, "kick x...x...x...x...", "snare ....x.......x...", "tom ..........x.....", "bass ..x-..x-..x-..x-")
	const sections = "a 2, b 2, c 2, d 2, e 2"
	seen, drafts := map[string]bool{}, map[string]bool{}
	for seed := range uint64(20) {
		steps := led(t, leadIn("every section"), grid, sections, seed)
		drafts[strings.Join(steps, "\n")] = true
		var devices []string // by line
		for bar := 3; bar <= 9; bar += 2 {
			for _, s := range steps {
				if name, _, _ := strings.Cut(s, ":"); strings.Contains(s, fmt.Sprintf("before bar %d", bar)) {
					if name == "mute" && strings.Contains(s, "bass") {
						name = "bass-out"
					}
					devices = append(devices, name)
				}
			}
		}
		if len(devices) != 4 {
			t.Fatalf("seed %d: got %q, want a device for each of four lines", seed, steps)
		}
		for i, d := range devices {
			seen[d] = true
			if i > 0 && d == devices[i-1] {
				t.Errorf("seed %d: %s twice in a row: %q", seed, d, steps)
			}
		}
	}
	if len(seen) != 4 || len(drafts) < 10 {
		t.Errorf("20 seeds chose %d devices (%v) in %d ways, want 4 in at least 10", len(seen), seen, len(drafts))
	}
}

// TestLeadInFills holds that all fills are one step, whose spans come in order and are all different.
func TestLeadInFills(t *testing.T) {
	grid := rows(6, "kick x...x...x...x...", "snare ....x.......x...", "tom ..........x.....")
	got := led(t, leadIn("every section", "fill"), grid, "a 2, b 2, c 2", 7)
	want := []string{"fill: {over: [1/2 before bar 3, 1/2 before bar 5], seed: 7}"}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// TestLeadInPreparesWhatItSays holds on loops of many kinds that every line is prepared or told.
func TestLeadInPreparesWhatItSays(t *testing.T) {
	kinds := map[string][]string{
		"kick":           {"kick x...x...x...x..."},
		"kick and bass":  {"kick x...x...x...x...", "bass ..x-..x-..x-..x-"},
		"hats":           {"hat x.x.x.x.x.x.x.x."},
		"pad":            {"pad x---------------"},
		"lead":           {"lead x..x..x.x..x..x."},
		"break and bass": {"kick x.........x.....", "snare ....x..x.x..x..x", "bass x---..x-....x---"},
		"full":           {"kick x...x...x...x...", "clap ....x.......x...", "hat ..x...x...x...x.", "bass ..x-..x-..x-..x-", "stab x..x..x.x..x..x.", "pad x---------------"},
	}
	for name, kind := range kinds {
		for seed := range uint64(16) {
			s, err := song.ParseGrid(rows(20, kind...))
			if err != nil {
				t.Fatal(err)
			}
			list, _ := moves.ParseSections([]string{"intro 4, groove 4, break 2, build 2, drop 4, outro 4", "a 1, drop 1, b 1, build 1, drop 1, break 1, drop 14"}[seed%2])
			s = s.WithSections(list)
			env := &moves.Env{Strict: true, Seed: seed, Bars: 1}
			came, err := moves.Run(env, leadIn("every section"), s)
			if err != nil {
				t.Fatal(err)
			}
			out := came.Song
			if bad := out.Check(); len(bad) > 0 {
				t.Errorf("%s: %s", name, bad[0])
			}
			for _, sec := range list[1:] {
				told := slices.ContainsFunc(came.Remarks, func(r remark.Remark) bool { return r.Kind == remark.NothingPrepares && r.Bar == sec.Bar })
				if prepared := form.NewPreparer(form.DefaultPrepareRule()).Prepared(out, s, 1, sec.Bar); prepared == told {
					t.Errorf("%s, seed %d: %s at bar %d is prepared: %v; told %q", name, seed, sec.Name, sec.Bar, prepared, movetest.Told(came))
				}
				if told && sec.Bars > 1 && seed%2 == 0 {
					t.Errorf("%s, seed %d: told that nothing prepares %s", name, seed, sec.Name)
				}
			}
		}
	}
}
