package recipes_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// clubRows are the rows of an eight-bar loop of two-bar patterns, to choose from.
func clubRows() []string {
	return []string{
		"kick x...x...x...x...|x...x...x...x...",
		"clap ....x.......x...|....x.......x...",
		"hat ..x...x...x...x.|..x...x...x.x.x.",
		"open-hat ......x.......x.|..x...x.......x.",
		"shaker o.xoo.xoo.xoo.xo|o.xoo.xoo.xoo.xo",
		"perc ...x..x....x....|......x..x.....x",
		"bass ..x-..x-..x-..x-|..x-..x-..x-x-x-",
		"stab x--..x--..x-....|x--..x--....x--.",
		"pad x---------------|----------------",
		"lead ..............x-|x---..x-..x-....",
	}
}

// loopOf makes an eight-bar loop of two-bar rows.
func loopOf(t testing.TB, rows []string) recipes.Input {
	t.Helper()
	var b strings.Builder
	for _, row := range rows {
		name, steps, _ := strings.Cut(row, " ")
		b.WriteString(name + " " + strings.Join([]string{steps, steps, steps, steps}, "|") + "\n")
	}
	in := gridLoop(t, b.String())
	in.Name = "loop.mid"
	return in
}

func club(t testing.TB) *recipes.Recipe {
	t.Helper()
	text, _ := recipes.BuiltinText("club")
	r, err := recipes.Parse("club.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	r.Builtin = true
	return r
}

func TestBuiltinRecipesCanBeRead(t *testing.T) {
	if len(recipes.Builtins()) == 0 {
		t.Fatal("found no built-in recipe")
	}
	for _, info := range recipes.Builtins() {
		if r, ok := recipes.Builtin(info.Name); !ok || !r.Builtin || info.Brief == "" {
			text, _ := recipes.BuiltinText(info.Name)
			_, err := recipes.Parse(info.Name, text)
			t.Errorf("%s: cannot be had: %v", info.Name, err)
		}
	}
	if _, ok := recipes.Builtin("clubb"); ok {
		t.Error("a built-in recipe that is not there was had")
	}
}

// checkClub checks what the club recipe promises. full: the loop has six parts or more, two of them
// tops, so that something changes at every line; with fewer it may be told that nothing can.
func checkClub(t *testing.T, in recipes.Input, full bool) {
	t.Helper()
	r := club(t)
	got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s := got.Song
	if bad := s.Check(); len(bad) > 0 {
		t.Errorf("found %d violations, the first: %s", len(bad), bad[0])
	}
	if s.Bars() != 192 {
		t.Errorf("found %d bars, want 192", s.Bars())
	}
	_, unchanged, unprepared := linesOf(got, 8)
	for _, bar := range unchanged {
		if told := fmt.Sprintf("freshen: nothing the loop has changes bar %d", bar); full || !slices.Contains(got.Told, told) {
			t.Errorf("nothing changes at bar %d", bar)
		}
	}
	if len(unprepared) > 0 {
		t.Errorf("nothing prepares bars %v", unprepared)
	}
	if n := form.SilentPairs(s, 1, s.Bars()); n > 0 {
		t.Errorf("found %d bars that are silent as the bar before is", n)
	}
	if full && slices.ContainsFunc(s.Parts, song.Part.Pitched) { // an intro of drums alone may bring in all there is
		checkWeights(t, s)
	}
}

// checkWeights checks that the drops are the strongest sections by energy, and that no bass plays in a break. Of a build
// only kick and bass count: its roll is made to be loud.
func checkWeights(t *testing.T, s song.Song) {
	t.Helper()
	energy, err := form.EnergyOf(s)
	if err != nil {
		t.Fatal(err)
	}
	low := func(sec song.Section) int { // notes of kick and bass in 64 bars
		n := 0
		for _, p := range s.Parts {
			if p.Job == song.JobBeat || p.Job == song.JobBass {
				n += len(s.In(p, s.SectionRange(sec))) * 64 / sec.Bars
			}
		}
		return n
	}
	power := func(sec song.Section) form.Power { return energy.Mean(sec.Bar, sec.Bar+sec.Bars-1).Sum() }
	for _, o := range s.Sections {
		for _, p := range s.Parts {
			if o.Kind == song.KindBreak && p.Job == song.JobBass && len(s.In(p, s.SectionRange(o))) > 0 {
				t.Errorf("%s plays in the break at bar %d", p.Name, o.Bar)
			}
		}
		for _, d := range s.Sections {
			if d.Kind != song.KindDrop || o.Kind == song.KindDrop {
				continue
			}
			if o.Kind == song.KindBuild && low(d) <= low(o) || o.Kind != song.KindBuild && power(d) <= power(o) {
				t.Errorf("found %s at bar %d as strong as %s at bar %d", o.Name, o.Bar, d.Name, d.Bar)
			}
		}
	}
}

// isFull tells whether a loop has six parts or more, two of them tops.
func isFull(s song.Song) bool {
	tops := 0
	for _, p := range s.Parts {
		if p.Job == song.JobTops {
			tops++
		}
	}
	return len(s.Parts) >= 6 && tops >= 2
}

func TestClubOnDemoLoops(t *testing.T) {
	full := 0
	for _, in := range demoLoops(t) {
		heard, err := recipes.Hear([]recipes.Input{in}, &recipes.Recipe{}, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if isFull(heard.Song) {
			full++
		}
		t.Run(in.Name, func(t *testing.T) {
			if len(heard.Song.Parts) == 1 {
				checkAlone(t, in)
				return
			}
			checkClub(t, in, isFull(heard.Song))
		})
	}
	if full == 0 {
		t.Error("no demo loop has six parts and two tops")
	}
}

// TestClubOnAnyLoop drafts every choice of rows that has a kick and another part; a first run one in thirty-two, and all
// rows.
func TestClubOnAnyLoop(t *testing.T) {
	t.Parallel()
	rows := clubRows()
	for set := 3; set < 1<<len(rows); set += 2 {
		if set/2%oracle.Size(32, 1, 1) != 0 && set != 1<<len(rows)-1 {
			continue
		}
		var chosen, names []string
		tops := 0
		for i, row := range rows {
			if set>>i&1 == 1 {
				name, _, _ := strings.Cut(row, " ")
				chosen, names = append(chosen, row), append(names, name)
				if i >= 2 && i <= 4 {
					tops++
				}
			}
		}
		t.Run(strings.Join(names, ","), func(t *testing.T) {
			checkClub(t, loopOf(t, chosen), len(chosen) >= 6 && tops >= 2)
		})
	}
}

// checkAlone checks that a loop of one part makes a sound file.
func checkAlone(t *testing.T, in recipes.Input) {
	t.Helper()
	got, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if bad := got.Song.Check(); len(bad) > 0 || got.Song.Bars() != 192 {
		t.Errorf("found %v in %d bars, want nothing in 192", bad, got.Song.Bars())
	}
	if b := bytesOf(t, got.File); len(b) < 1000 {
		t.Errorf("found a file of %d bytes, want music", len(b))
	}
}

func TestClubOnOnePart(t *testing.T) {
	for _, row := range clubRows() {
		name, _, _ := strings.Cut(row, " ")
		t.Run(name, func(t *testing.T) { checkAlone(t, loopOf(t, []string{row})) })
	}
}

func TestClubAtAnyLength(t *testing.T) {
	t.Parallel()
	in := loopOf(t, clubRows())
	for bars := 72; bars <= 400; bars += 8 * oracle.Size(8, 1, 1) {
		got, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{Bars: bars})
		if err != nil {
			t.Fatalf("%d bars: %v", bars, err)
		}
		if got.Song.Bars() != bars || len(got.Song.Check()) > 0 {
			t.Errorf("%d bars: found %d with %v", bars, got.Song.Bars(), got.Song.Check())
		}
		if (len(got.Plan) > 0) != (bars != 192) {
			t.Errorf("%d bars: found plan %q", bars, got.Plan)
		}
	}
	for _, row := range []struct {
		bars int
		want string
	}{
		{64, "found a length of 64 bars, too short for 9 sections: the nearest is 72 bars"},
		{100, "found a length of 100 bars, want whole phrases of 8 bars: the nearest is 104 bars"},
		{9999, "found a length of 9999 bars, want whole phrases of 8 bars: the nearest is 9992 bars"},
		{10000, "found a length of 10000 bars, want 1 to 9999"},
		{-1, "found a length of -1 bars, want 1 to 9999"},
	} {
		if _, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{Bars: row.bars}); fmt.Sprint(err) != row.want {
			t.Errorf("%d bars: got %v, want %s", row.bars, err, row.want)
		}
	}
}

// Over five takes of a loop the club recipe has three forms, who carries the first break changes, and so does the order
// in which parts enter the intro. What was written down is read, not what was told.
func TestTakesOfClubAreOtherIdeas(t *testing.T) {
	in := loopOf(t, clubRows())
	forms, carriers, entries := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for take := 1; take <= 5; take++ {
		got, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{Take: take})
		if err != nil {
			t.Fatal(err)
		}
		written, err := recipes.Parse("written.yaml", got.WriteRecipe())
		if err != nil {
			t.Fatal(err)
		}
		form, broken := "", false
		for _, sec := range written.Sections {
			form += fmt.Sprintf("%s %d ", sec.Name, sec.Bars)
			switch {
			case song.KindOf(sec.Name) == song.KindIntro:
				entries[sec.Play.String()] = true
			case song.KindOf(sec.Name) == song.KindBreak && !broken:
				broken = true
				carriers[sec.Play.String()] = true
			}
		}
		forms[form] = true
	}
	if len(forms) < 3 || len(carriers) < 2 || len(entries) < 2 {
		t.Errorf("got %d forms, %d carriers of the first break and %d orders of entry, want 3, 2 and 2\n%v\n%v", len(forms), len(carriers), len(entries), carriers, entries)
	}
}

// Each form alone is a track of the length that the recipe says, at the default length and at others.
func TestEachFormOfClubAtAnyLength(t *testing.T) {
	in := loopOf(t, clubRows())
	for form := 1; form <= 5; form++ {
		for i, bars := range []int{0, 96, 128, 160, 256} {
			if (form+i)%oracle.Size(5, 1, 1) != 0 { // a first run takes each form and each length once
				continue
			}
			got, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{Bars: bars, Choose: []recipes.Choice{{"form", form}}})
			if err != nil {
				t.Errorf("form %d at %d bars: %v", form, bars, err)
				continue
			}
			if want := cmp.Or(bars, 192); got.Song.Bars() != want {
				t.Errorf("form %d: got %d bars, want %d", form, got.Song.Bars(), want)
			}
			if len(got.Warnings) > 0 {
				t.Errorf("form %d at %d bars warns: %v", form, bars, got.Warnings)
			}
		}
	}
}

func TestASeedMoreIsTheNextTake(t *testing.T) {
	in := loopOf(t, clubRows())
	two, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{Take: 2})
	if err != nil {
		t.Fatal(err)
	}
	seed := uint64(2)
	again, err := recipes.Draft([]recipes.Input{in}, club(t), recipes.Options{Seed: &seed})
	if err != nil {
		t.Fatal(err)
	}
	if string(two.WriteRecipe()) != string(again.WriteRecipe()) {
		t.Error("take 2 of seed 1 is not take 1 of seed 2")
	}
}
