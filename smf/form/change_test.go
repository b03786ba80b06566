package form_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// drawn makes a song of rows of a grid.
func drawn(t *testing.T, rows ...string) song.Song {
	t.Helper()
	s, err := song.ParseGrid(strings.Join(rows, "\n"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func times(n int, bar string) string { return strings.Repeat(bar+"|", n) }

func TestALineIsChanged(t *testing.T) {
	const hat, hats, none, loud = "..x...x...x...x.", "xxxxxxxxxxxxxxxx", "................", "..X...X...X...X."
	for _, row := range []struct{ rule, full, in, want string }{
		{"nothing changes", "hat " + times(8, hat), "hat " + times(8, hat), ""},
		{"a part comes in", "hat " + times(8, hat), "hat " + times(4, none) + times(4, hat), "in or out"},
		{"a part goes out for half a phrase", "hat " + times(8, hat), "hat " + times(4, hat) + times(2, none) + times(2, hat), "in or out"},
		{"a gap of a bar is an accent", "hat " + times(8, hat), "hat " + times(7, hat) + none + "|", ""},
		{"a note missing singly is an accent", "crash " + times(8, "x..............."), "crash " + times(4, "x...............") + none + "|" + times(3, "x..............."), ""},
		{"a part at half", "hat " + times(8, hats), "hat " + times(4, hats) + times(4, "x.x.x.x.x.x.x.x."), "onsets"},
		{"a quarter of the places", "hat " + times(8, hat), "hat " + times(4, hat) + times(4, "x.....x...x...x."), "places"},
		{"less than a quarter of them is none", "hat " + times(8, hats), "hat " + times(4, hats) + times(4, "x.xxxxxxxxxxxxxx"), ""},
		{"a level by 3 dB", "hat " + times(8, hat), "hat " + times(4, hat) + times(4, loud), "level"},
		{"a register by an octave", "bass:36 " + times(8, hat), "bass:36 " + times(4, hat) + times(4, none) + "\nbass:48 " + times(4, none) + times(4, hat), "register"},
		{"less than a phrase is compared over the bars there are, where one bar is an accent", "hat " + times(5, hat), "hat " + times(4, hat) + none + "|", ""},
		{"a note held over the line goes on", "pad " + times(8, hat), "pad x" + strings.Repeat("-", 15) + "|" + times(7, strings.Repeat("-", 16)), ""},
		{"a loop longer than the phrase that is thinned after the line", "hat " + times(4, hat) + times(4, hats), "hat " + times(4, hat) + times(4, "x...x...x...x..."), "onsets"},
		{"a loop longer than the phrase is no change by itself", "hat " + times(4, hat) + times(4, hats), "hat " + times(4, hat) + times(4, hats), ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			full, in := drawn(t, row.full), drawn(t, row.in)
			got := ""
			for _, c := range form.DefaultLineRule(4).Changes(in, full, form.Energy{}, 5) {
				got = c.What
			}
			if got != row.want {
				t.Errorf("got %q, want %q\n%s", got, row.want, song.Grid(in))
			}
		})
	}
}

func TestALineIsPrepared(t *testing.T) {
	const kick, none = "x...x...x...x...", "................"
	for _, row := range []struct {
		rule, lined, in string
		want            bool
	}{
		{"nothing departs", times(8, kick), times(8, kick), false},
		{"a kick out for the last bar", times(8, kick), times(3, kick) + none + "|" + times(4, kick), true},
		{"a beat at its end", times(8, kick), times(3, kick) + "x...x...x.......|" + times(4, kick), true},
		{"a departure that is over before the line", times(8, kick), times(2, kick) + none + "|" + times(5, kick), false},
		{"one that goes on past the line", times(8, kick), times(3, kick) + times(2, none) + times(3, kick), false},
		{"what lasts the whole section is its line-up", times(8, kick), times(4, none) + times(4, kick), false},
		{"single hits here and there are accents", times(8, "xxxxxxxxxxxxxxxx"), times(3, "xxxxxxxxxxxxxxxx") + "xxx.xxxxxxxxx.xx|" + times(4, "xxxxxxxxxxxxxxxx"), false},
		{"the kick doubled", times(8, kick), times(3, kick) + "x...x...x.x.x.x.|" + times(4, kick), true},
		{"the line-up itself", times(3, kick) + none + "|" + times(4, kick), times(3, kick) + none + "|" + times(4, kick), false},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got := form.NewPreparer(form.DefaultPrepareRule()).Prepared(drawn(t, "kick "+row.in), drawn(t, "kick "+row.lined), 2, 5)
			if got != row.want {
				t.Errorf("got %v, want %v", got, row.want)
			}
		})
	}
}

func TestAPartThatIsNotHeardChangesNothing(t *testing.T) {
	in := drawn(t, "kick "+times(8, "x...x...x...x..."), "hat "+times(4, "................")+times(4, "..x...x...x...x."))
	full := drawn(t, "kick "+times(8, "x...x...x...x..."), "hat "+times(8, "..x...x...x...x."))
	for _, row := range []struct {
		velocity uint8
		want     bool
	}{{26, true}, {25, false}} { // 24 dB under 100 is 25.1, (v/127)^2 being the gain (DLS Level 1)
		e := in.Edit()
		e.Map(1, func(n song.Note) (song.Note, bool) { n.Vel = row.velocity; return n, true })
		if got := form.DefaultLineRule(4).Changed(e.Song(), full, form.Energy{}, 5); got != row.want {
			t.Errorf("velocity %d: got %v, want %v", row.velocity, got, row.want)
		}
	}
}

func TestAControllerChangesALineOnlyWhereItIsMapped(t *testing.T) {
	for _, row := range []struct {
		rule   string
		mapped bool
		value  byte
		want   bool
	}{{"by 24", true, 124, true}, {"by 23", true, 123, false}, {"not known to be mapped", false, 124, false}} {
		s := drawn(t, "bass "+times(8, "x...x...x...x..."))
		if row.mapped {
			s.Parts[0].Mapped = []song.Controller{74}
		}
		e := s.Edit()
		e.Insert(0, smf.Channel(0, 0xB0, 74, 100))
		e.Insert(0, smf.Channel(4*bar, 0xB0, 74, row.value))
		if got := form.DefaultLineRule(4).Changed(e.Song(), s, form.Energy{}, 5); got != row.want {
			t.Errorf("%s: got %v, want %v", row.rule, got, row.want)
		}
	}
}

func TestADropIsPreparedOverEightBars(t *testing.T) {
	const kick = "x...x...x...x..."
	lined := drawn(t, "kick "+times(12, kick))
	in := drawn(t, "kick "+times(4, kick)+times(6, "x...x...x...xxxx")+times(2, kick))
	for _, row := range []struct {
		kind song.Kind
		want bool
	}{{song.KindDrop, true}, {song.KindGroove, false}} {
		s := in.WithSections([]song.Section{{Name: "a", Bar: 1, Bars: 10}, {Name: "b", Kind: row.kind, Bar: 11, Bars: 2}})
		if got := form.NewPreparer(form.DefaultPrepareRule()).Prepared(s, lined, 8, 11); got != row.want {
			t.Errorf("%s: got %v, want %v", row.kind, got, row.want)
		}
	}
}

// TestLevelsOnTheirWayPrepareNothing holds that what has been getting louder since before the window
// prepares nothing, however far apart its hits are, and hides nothing else that the part does.
func TestLevelsOnTheirWayPrepareNothing(t *testing.T) {
	const one, none, more = "x...............|", "................|", "........x.x.x.x.|"
	lined := drawn(t, "pad "+strings.Repeat(one+none, 6))
	for _, row := range []struct {
		rule, in string
		want     bool
	}{
		{"levels on their way", strings.Repeat(one+none, 6), false},
		{"and hits of its own", strings.Repeat(one+none, 4) + one + more + one + none, true},
	} {
		in := drawn(t, "pad "+row.in)
		e, k := in.Edit(), 0
		e.Map(0, func(n song.Note) (song.Note, bool) { // 30 38 48 60 75 and on
			if n.Start < in.Time().BarStart(11) {
				n.Vel = uint8(min(30*math.Pow(1.26, float64(k)), 127))
				k++
			}
			return n, true
		})
		if got := form.NewPreparer(form.DefaultPrepareRule()).Prepared(e.Song(), lined, 2, 11); got != row.want {
			t.Errorf("%s: got %v, want %v", row.rule, got, row.want)
		}
	}
}

// TestChangesAreHeard holds at a line after two bars which changes of the notes are heard.
func TestChangesAreHeard(t *testing.T) {
	const kicks, pads = "x...x...x...x...|x...x...x...x...", "x---------------|x---------------"
	for _, row := range []struct {
		rule   string
		before []string
		after  []string
		want   bool
	}{
		{"hats come in over kicks: the top moves, if not the whole", []string{"kick " + kicks, "hat ................|................"}, []string{kicks, "x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x."}, true},
		{"a bass line of other places is as loud", []string{"bass x---x---x---x---|x---x---x---x---", "pad " + pads}, []string{"x-x---x---x---x-|x---x-x---x-x---", pads}, false},
		{"a kick plays at half", []string{"kick " + kicks}, []string{"x.......x.......|x.......x......."}, true},
		{"a soft lead comes in beside nine loud ones", []string{"lead:60 " + pads, "lead:61 " + pads, "lead:62 " + pads, "lead:63 " + pads, "lead:64 " + pads, "arp:65 ................|................"}, []string{pads, pads, pads, pads, pads, "o...............|o..............."}, false},
	} {
		t.Run(row.rule, func(t *testing.T) {
			grid := ""
			for i := range row.before {
				grid += row.before[i] + "|" + row.after[i] + "\n"
			}
			s := drawn(t, grid)
			bare := s
			bare.Parts = nil
			rule := form.DefaultLineRule(2)
			if !rule.Changed(s, bare, form.Energy{}, 3) {
				t.Fatalf("the notes do not change:\n%s", song.Grid(s))
			}
			if got := rule.Changed(s, bare, energyOf(t, s), 3); got != row.want {
				t.Errorf("heard: got %v, want %v:\n%s", got, row.want, song.Grid(s))
			}
		})
	}
	t.Run("a mapped controller moves, whatever the energy hears of it", func(t *testing.T) {
		s := drawn(t, "pad "+pads+"|"+pads)
		e := s.Edit()
		e.Insert(0, smf.Channel(0, 0xB0, 74, 10))
		e.Insert(0, smf.Channel(s.Time().BarStart(3), 0xB0, 74, 100))
		s = e.Song()
		s.Parts[0].Mapped = []song.Controller{74}
		bare := s
		bare.Parts = nil
		if got := form.DefaultLineRule(2).Changes(s, bare, energyOf(t, s), 3); len(got) != 1 || got[0].What != "controller" {
			t.Errorf("got %v", got)
		}
	})
}

// Two phrases between bounds are told apart only where the bounds allow it; bounds that are far from it never do.
func TestWhatMayBeHeard(t *testing.T) {
	rule := form.DefaultLineRule(8)
	r := rand.New(rand.NewPCG(2, 2))
	between := func(low, high form.Power) form.Power { return low + form.Power(r.Int64N(int64(high-low)+1)) }
	never, heard := 0, 0
	for range 20000 {
		var least, most [2]form.Powers
		for band := range most[0] {
			whole := form.Power(math.Pow(10, 4+5*r.Float64()))
			for side := range most {
				most[side][band] = whole + form.Power(r.Int64N(int64(whole)/5))
				least[side][band] = most[side][band] - form.Power(r.Int64N(int64(whole)/5))
			}
		}
		may := rule.MayBeHeard(least, most)
		if !may {
			never++
		}
		for range 10 {
			var is [2]form.Powers
			for side := range is {
				for band := range is[side] {
					is[side][band] = between(least[side][band], most[side][band])
				}
			}
			if rule.Heard(is[0], is[1]) {
				if heard++; !may {
					t.Fatalf("%v to %v is heard between %v and %v", is[0], is[1], least, most)
				}
			}
		}
	}
	if never < 1000 || heard < 1000 {
		t.Errorf("%d bounds allow nothing and %d pairs are heard, too few", never, heard)
	}
}
