package moves_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// duck lowers a part by the kick, within a 1/64 note: 6 ticks of 96, at 120 bpm 31 ms, which is room for few events.
func duck(part, over string, to option.Share) *moves.Duck {
	return &moves.Duck{Target: target(part, over), By: where.PartsOf("kick"), To: to * percent, Length: option.NoteValueOf(1, 64)}
}

func TestDuck(t *testing.T) {
	const bass = "bass x---------------|x---------------|x---------------\n"
	kicks := func(rest string) string { return bass + "kick " + rest }
	long := duck("bass", "", 40)
	long.Length = option.NoteValueOf(1, 8)
	movetest.Run(t,
		// Home is 127 (RP-015: expression is 127 after a reset); 40% of it is 51, a third of the way back after 2 ticks 76; the last event is at home, since 10 ms after it there is no room.
		movetest.Row{Name: "falls at each hit in the span and comes back evenly", Step: duck("bass", "bar 2", 40), May: movetest.Anything,
			Before: kicks("x...............|x.......x.......|x..............."),
			Look:   has("expression", "1.1=127 2.1=51 2.1+2=76 2.1+4=127 2.3=51 2.3+2=76 2.3+4=127 3.1=127")},
		movetest.Row{Name: "home stands at the start of a span in which no hit is at once", Step: duck("bass", "bar 2", 40), May: movetest.Anything,
			Before: kicks("x...............|........x.......|x..............."),
			Look:   has("expression", "1.1=127 2.1=127 2.3=51 2.3+2=76 2.3+4=127 3.1=127")},
		movetest.Row{Name: "to nothing", Step: duck("bass", "bar 2", 0), May: movetest.Anything,
			Before: kicks("................|x...............|................"),
			Look:   has("expression", "1.1=127 2.1=0 2.1+2=42 2.1+4=127 3.1=127")},
		movetest.Row{Name: "the next hit does not wait until it is back", Step: long, May: movetest.Anything,
			Before: "bass x---\nkick xx..", Look: lowest("expression", 51, 2)},
		movetest.Row{Name: "each hit once, whoever strikes it", Step: &moves.Duck{Target: target("bass", ""), By: where.PartsOf("drums"), To: 40 * percent, Length: option.NoteValueOf(1, 64)}, May: movetest.Anything,
			Before: `
				bass  x-------
				kick  x.......
				snare x...x...`, Look: has("expression", "1.1=51 1.1+2=76 1.1+4=127 1.2=51 1.2+2=76 1.2+4=127 2.1=127")},
		movetest.Row{Name: "of home as the loop has it there", Step: duck("bass", "bar 2", 50), May: movetest.Anything, Setup: atExpression(80),
			Before: kicks("................|x...............|................"),
			Look:   has("expression", "1.1=80 2.1=40 2.1+2=53 2.1+4=80 3.1=80")},
		movetest.Row{Name: "a hit a little before the span counts to its start", Step: duck("bass", "bar 2", 40), May: movetest.Anything,
			Before: kicks("................|x...............|................"),
			Setup: func(s song.Song) song.Song {
				e := s.Edit()
				e.Map(1, func(song.Note) (song.Note, bool) { return song.Note{}, false })
				for _, n := range s.Parts[1].Notes {
					n.Start -= 2
					e.Place(1, n)
				}
				return e.Song()
			},
			Look: has("expression", "1.1=127 2.1=51 2.1+2=76 2.1+4=127 3.1=127")},
		movetest.Row{Name: "a mixer may do it better", Step: duck("bass", "bar 2", 40), May: movetest.Anything,
			Before: kicks("................|x...............|................"), Told: []string{"duck: bass may be ducked better by a compressor in the mixer"}},
		movetest.Row{Name: "one sound of a kit cannot be ducked alone", Step: &moves.Duck{Target: target("hat", ""), By: where.PartsOf("kick"), To: 40 * percent, Length: option.NoteValueOf(1, 8)}, Setup: sharing,
			Before: "hat ..x...x.\nkick x...x...", Err: "part: found hat, want all that share its track and channel: hat and kick"},
		movetest.Row{Name: "without a hit in the span nothing is done", Step: duck("bass", "bar 2", 40),
			Before: kicks("x...............|................|................"), Look: has("expression", ""),
			Warned: []string{"no note of kick in the span"}, Nothing: remark.NothingPlays},
		movetest.Row{Name: "nor without the part, if any", Step: &moves.Duck{Target: target("bass", ""), By: where.PartsOf("kick if any"), To: 40 * percent, Length: option.NoteValueOf(1, 8)},
			Before: "bass x---", Look: has("expression", ""), Nothing: remark.NoPart},
		movetest.Row{Name: "hits of several parts in their order", Step: &moves.Duck{Target: target("bass", ""), By: where.PartsOf("drums"), To: 40 * percent, Length: option.NoteValueOf(1, 64)}, May: movetest.Anything,
			Before: "bass x-------\nkick x...x...\nsnare ..x.....", Look: has("expression", "1.1=51 1.1+2=76 1.1+4=127 1.1+48=51 1.1+50=76 1.1+52=127 1.2=51 1.2+2=76 1.2+4=127 2.1=127")},
		movetest.Row{Name: "a hit at the end of a span comes back at its end", Step: longIn("bass", "bar 2"), May: movetest.Anything,
			Before: kicks("................|...............x|................"), Look: ends("expression", "2.1=127", "3.1=127")},
		movetest.Row{Name: "a span without a hit after one that has some", Step: duck2("bar 1", "bar 2"), May: movetest.Anything,
			Before: kicks("x...............|................|................"), Look: has("expression", "1.1=51 1.1+2=76 1.1+4=127 2.1=127")},
		movetest.Row{Name: "a span without a hit before one that has some", Step: duck2("bar 1", "bar 2"), May: movetest.Anything,
			Before: kicks("................|x...............|................"), Look: has("expression", "1.1=127 2.1=51 2.1+2=76 2.1+4=127 3.1=127")},
		movetest.Row{Name: "home as the loop has it stands at the start of a span", Step: duck("bass", "bar 2", 50), May: movetest.Anything, Setup: atExpression(80),
			Before: kicks("................|........x.......|................"),
			Look:   has("expression", "1.1=80 2.1=80 2.3=40 2.3+2=53 2.3+4=80 3.1=80")},
		movetest.Row{Name: "parts on several channels", Step: &moves.Duck{Target: moves.Target{Part: where.PartsOf("bass", "pad")}, By: where.PartsOf("kick"), To: 40 * percent, Length: option.NoteValueOf(1, 64)}, May: movetest.Anything,
			Before: "bass x-------\npad x-------\nkick x.......", Look: func(t movetest.Reporter, _, after song.Song, o moves.Outcome) {
				for _, p := range after.Parts[:2] {
					if at := after.Points(p.Track, p.Channel, 11); len(at) < 3 || at[0].Value != 51 {
						t.Errorf("expression of %s is %v, want it to begin at 51", p.Name, at)
					}
				}
				if len(o.Changes) == 0 || !slices.Equal(o.Changes[0].Parts, []string{"bass", "pad"}) {
					t.Errorf("the trace is %v, want bass and pad", o.Changes)
				}
			}},
		movetest.Row{Name: "by a part there is", Step: &moves.Duck{Target: target("bass", ""), By: where.PartsOf("clap"), To: 40 * percent, Length: option.NoteValueOf(1, 8)},
			Before: "bass x---\nkick x...", Err: `by: found "clap"`},
		movetest.Row{Name: "for a while", Step: &moves.Duck{Target: target("bass", ""), By: where.PartsOf("kick"), To: 40 * percent},
			Before: "bass x---\nkick x...", Err: "length: found nothing"},
		movetest.Row{Name: "not below nothing", Step: duck("bass", "", -5), Before: "bass x---\nkick x...", Err: "to: found -5%"},
		movetest.Row{Name: "by somebody", Step: &moves.Duck{Target: target("bass", ""), To: 40 * percent, Length: option.NoteValueOf(1, 8)},
			Before: "bass x---", Err: "by: found nothing"},
		movetest.Row{Name: "down", Step: duck("bass", "", 100), Before: "bass x---\nkick x...", Err: "to: found 100%, want a percentage from 0% to 99%"},
	)
}

func longIn(part, over string) *moves.Duck {
	d := duck(part, over, 40)
	d.Length = option.NoteValueOf(1, 2)
	return d
}

func duck2(spans ...string) *moves.Duck {
	d := duck("bass", "", 40)
	d.Over = where.SpansOf(spans...)
	return d
}

// ends wants the last two events but those between to be these.
func ends(name, first, last string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		got := strings.Fields(points(after, name))
		if len(got) < 5 || got[1] != first || got[len(got)-1] != last {
			t.Errorf("%s is %s, want %s after its first and %s at the end", name, got, first, last)
		}
	}
}

// lowest wants a value so many times, and rising values after it.
func lowest(name string, value, times int) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		got, last := 0, 0
		for _, p := range after.Points(after.Parts[0].Track, after.Parts[0].Channel, controller(name).ID) {
			if p.Value == value {
				got++
			}
			if p.Value < last && p.Value != value {
				t.Errorf("%s falls from %d to %d, want it to rise but for falling to %d", name, last, p.Value, value)
			}
			last = p.Value
		}
		if got != times {
			t.Errorf("%s is at %d %d times, want %d", name, value, got, times)
		}
	}
}

func atExpression(value int) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		e.Control(s.Parts[0].Track, s.Parts[0].Channel, 11, []song.Sweep{{Range: song.Range{End: 1}, Points: []song.Point{{Value: value}}, Hold: true}})
		return e.Song()
	}
}

// Where a ride and a duck meet the later one stands.
func TestDuckBesideRide(t *testing.T) {
	in := mustGrid(t, "bass x---------------|x---------------\nkick x...............|x...............")
	ducking, riding := duck("bass", "bar 2", 40), ride("bass", "bar 2", "expression", "10", "11", moves.Linear)
	ducked, ridden := "1.1=127 2.1=51 2.1+2=76 2.1+4=127 3.1=127", "1.1=127 2.1=10 2.3=11 3.1=127"
	for _, row := range []struct {
		rule  string
		steps []moves.Step
		want  string
		told  string // "": nothing of the kind
	}{
		{"the duck after a ride", []moves.Step{riding, ducking}, ducked, "duck: it takes the place of an earlier ride of expression of bass where they meet"},
		{"the ride after a duck", []moves.Step{ducking, riding}, ridden, "expression: what comes later takes the place of an earlier duck of bass where they meet"},
		{"a duck after a duck", []moves.Step{duck("bass", "bar 2", 10), ducking}, ducked, "expression: what comes later takes the place of an earlier duck of bass where they meet"},
		{"in another bar they do not meet", []moves.Step{ride("bass", "bar 1", "expression", "10", "11", moves.Linear), ducking}, "1.1=10 1.3=11 2.1=51 2.1+2=76 2.1+4=127 3.1=127", ""},
	} {
		out, err := moves.RunAll(&moves.Env{Strict: true}, in, row.steps...)
		if err != nil {
			t.Fatal(err)
		}
		if got := points(out.Song, "expression"); got != row.want {
			t.Errorf("%s: events of expression\ngot  %s\nwant %s", row.rule, got, row.want)
		}
		told := movetest.Told(out)
		meets := slices.ContainsFunc(told, func(s string) bool { return s == row.told })
		if row.told != "" && !meets || row.told == "" && len(told) != 1 {
			t.Errorf("%s: told %q, want %q among it", row.rule, told, row.told)
		}
	}
}
