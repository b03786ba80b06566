package moves_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func controller(name string) option.ControllerName {
	id, err := option.ParseController(name)
	if err != nil {
		panic(err)
	}
	return option.ControllerOf(id)
}

func level(text string) option.ControlValue {
	var v option.ControlValue
	if err := v.UnmarshalTexts([]string{text}); err != nil {
		panic(err)
	}
	return v
}

func ride(part, over, name, from, to, curve string) *moves.Ride {
	return &moves.Ride{Target: target(part, over), Controller: controller(name), From: level(from), To: level(to), Curve: curve}
}

// points draws the events of a controller on the first part: bar.beat, ticks of 96 a beat, value.
func points(s song.Song, name string) string {
	id := controller(name).ID
	var out []string
	for _, ev := range s.Tracks[s.Parts[0].Track].Events {
		if got, v, ok := ev.Of(); ok && got == id {
			at := s.Time().Locate(ev.Tick)
			text := fmt.Sprintf("%d.%d", at.Bar, at.Beat)
			if at.Tick > 0 {
				text += fmt.Sprintf("+%d", at.Tick)
			}
			out = append(out, fmt.Sprintf("%s=%d", text, v))
		}
	}
	return strings.Join(out, " ")
}

// has wants events of a controller.
func has(name, want string) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, after song.Song, _ moves.Outcome) {
		t.Helper()
		if got := points(after, name); got != want {
			t.Errorf("events of %s\ngot  %s\nwant %s", name, got, want)
		}
	}
}

// set returns a Setup that sets a controller of the first part at ticks of 96 a quarter.
func set(name string, values ...song.Point) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		e := s.Edit()
		p := s.Parts[0]
		for _, v := range values {
			switch id := controller(name).ID; id {
			case song.Bend:
				e.Insert(p.Track, smf.Channel(v.Tick, 0xE0|p.Channel, byte(v.Value&0x7F), byte(v.Value>>7)))
			case song.Pressure:
				e.Insert(p.Track, smf.Channel(v.Tick, 0xD0|p.Channel, byte(v.Value), 0))
			default:
				e.Insert(p.Track, smf.Channel(v.Tick, 0xB0|p.Channel, byte(id), byte(v.Value)))
			}
		}
		return e.Song()
	}
}

// atHome allows home values at the starts of bars.
func atHome(_ song.Part, at song.Tick) bool { return at%384 == 0 }

// mapped looks whether a ride says that the instrument is known to listen to it.
func mapped(want bool) func(movetest.Reporter, song.Song, song.Song, moves.Outcome) {
	return func(t movetest.Reporter, _, _ song.Song, came moves.Outcome) {
		if len(came.Ridden) != 1 || came.Ridden[0].Mapped != want {
			t.Errorf("got %+v, want one ride, mapped %v", came.Ridden, want)
		}
	}
}

func TestRide(t *testing.T) {
	const loop = "lead x...x...x...x...|x...x...x...x...|x...x...x...x..."
	held := func(r *moves.Ride) *moves.Ride { r.Hold = true; return r }
	withHome := func(id song.Controller, v int) func(song.Song) song.Song {
		return func(s song.Song) song.Song {
			s.Parts[0].Home = []song.Home{{Controller: id, Value: v}}
			return s
		}
	}
	movetest.Run(t,
		movetest.Row{Name: "one event a changed value, then home where the span ends", Step: ride("lead", "bar 2", "cutoff", "60", "64", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: set("cutoff", song.Point{Value: 90}),
			// Half-way between the values the next one comes: 1/8, 3/8, 5/8 and 7/8 of the bar.
			Look: has("cutoff", "1.1=90 2.1=60 2.1+48=61 2.2+48=62 2.3+48=63 2.4+48=64 3.1=90")},
		movetest.Row{Name: "the loop's own events in the span are replaced, those outside stay", Step: ride("lead", "bar 2", "cutoff", "60", "62", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: set("cutoff", song.Point{Value: 90}, song.Point{Tick: 400, Value: 10}, song.Point{Tick: 700, Value: 20}, song.Point{Tick: 800, Value: 30}),
			Look: has("cutoff", "1.1=90 2.1=60 2.2=61 2.4=62 3.1=20 3.1+32=30")},
		movetest.Row{Name: "where the loop sets it at the end of the span, that is home", Step: ride("lead", "bar 2", "cutoff", "60", "61", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: set("cutoff", song.Point{Value: 90}, song.Point{Tick: 768, Value: 33}),
			Look: has("cutoff", "1.1=90 2.1=60 2.3=61 3.1=33")},
		movetest.Row{Name: "home that the recipe gives, where the loop has none; written at bar 1", Step: ride("lead", "bar 2", "cutoff", "home", "home+2", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			Look: has("cutoff", "1.1=90 2.1=90 2.2=91 2.4=92 3.1=90")},
		movetest.Row{Name: "the default, where nobody gives one", Step: ride("lead", "bar 2", "volume", "98", "home", moves.Linear),
			Before: loop, After: loop, May: atHome,
			Look: has("volume", "1.1=100 2.1=98 2.2=99 2.4=100 3.1=100")},
		movetest.Row{Name: "else 64, told", Step: ride("lead", "bar 2", "cutoff", "62", "home", moves.Linear),
			Before: loop, After: loop, May: atHome,
			Look: has("cutoff", "1.1=64 2.1=62 2.2=63 2.4=64 3.1=64"), Told: []string{"home of cutoff for lead is not known: 64 is taken"}},
		movetest.Row{Name: "a share of home", Step: ride("lead", "bar 2", "cutoff", "50%", "50%", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: set("cutoff", song.Point{Value: 91}),
			Look: has("cutoff", "1.1=91 2.1=46 3.1=91")},
		movetest.Row{Name: "steps from home stay in the range", Step: ride("lead", "bar 2", "cutoff", "home-100", "home-99", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: set("cutoff", song.Point{Value: 90}),
			Look: has("cutoff", "1.1=90 2.1=0 3.1=90")},
		movetest.Row{Name: "hold stays, also over sections to come", Step: held(ride("lead", "bar 2", "cutoff", "60", "61", moves.Linear)), Sections: "intro 1, build 1, drop 1",
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			Look: has("cutoff", "1.1=90 2.1=60 2.3=61")},
		movetest.Row{Name: "home stands at the start of each section that is not inside a ride", Step: ride("lead", "from 1.3 to 2.3", "cutoff", "60", "61", moves.Linear), Sections: "intro 1, build 1, drop 1",
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			Look: has("cutoff", "1.1=90 1.3=60 2.1=61 2.3=90 3.1=90")},
		movetest.Row{Name: "not at bar 1 if the ride starts there", Step: ride("lead", "bar 1", "cutoff", "60", "61", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			Look: has("cutoff", "1.1=60 1.3=61 2.1=90")},
		movetest.Row{Name: "even ratios", Step: ride("lead", "bar 2", "cutoff", "1", "8", moves.Exp),
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			// v = 8^t reaches 1.5, 2.5 .. 7.5 at t = ln v / ln 8: .195, .441, .602, .723, .820, .900, .969 of 384.
			Look: has("cutoff", "1.1=90 2.1=1 2.1+75=2 2.2+74=3 2.3+40=4 2.3+86=5 2.4+27=6 2.4+58=7 2.4+85=8 3.1=90")},
		movetest.Row{Name: "slow at both ends", Step: ride("lead", "bar 2", "cutoff", "60", "64", moves.SCurve),
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			// 3t^2 - 2t^3 = 1/8, 3/8, 5/8, 7/8 at t = .2206, .4155, .5845, .7794 of 384.
			Look: has("cutoff", "1.1=90 2.1=60 2.1+85=61 2.2+64=62 2.3+33=63 2.4+12=64 3.1=90")},
		movetest.Row{Name: "a bend, home in the middle", Step: ride("lead", "bar 2", "bend", "8192", "8194", moves.Linear),
			Before: loop, After: loop, May: atHome,
			Look: has("bend", "1.1=8192 2.1=8192 2.2=8193 2.4=8194 3.1=8192")},
		movetest.Row{Name: "channel pressure, home at 0", Step: ride("lead", "bar 2", "pressure", "0", "2", moves.Linear),
			Before: loop, After: loop, May: atHome,
			Look: has("pressure", "1.1=0 2.1=0 2.2=1 2.4=2 3.1=0")},
		movetest.Row{Name: "a span to the end of the song comes home there", Step: ride("lead", "bar 3", "cutoff", "60", "61", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			Look: has("cutoff", "1.1=90 3.1=60 3.3=61 4.1=90")},
		movetest.Row{Name: "spans that touch go on from one to the next", Step: ride("lead", "every 1 bar of bars 1-2", "cutoff", "60", "61", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: withHome(74, 90),
			Look: has("cutoff", "1.1=60 1.3=61 2.1=60 2.3=61 3.1=90")},
		movetest.Row{Name: "what the instrument is known to listen to needs no mapping", Step: ride("lead", "bar 2", "cutoff", "60", "61", moves.Linear),
			Before: loop, After: loop, May: atHome, Setup: func(s song.Song) song.Song { s.Parts[0].Mapped = []song.Controller{74}; return withHome(74, 90)(s) },
			Look: mapped(true)},
		movetest.Row{Name: "anything else has to be mapped by someone", Step: ride("lead", "bar 2", "resonance", "60", "61", moves.Linear),
			Before: loop, After: loop, May: atHome, Look: mapped(false)},
		movetest.Row{Name: "a value that the controller does not have", Step: ride("lead", "bar 2", "cutoff", "home", "200", moves.Linear),
			Before: loop, Err: "to: found 200, want 0 to 127 for cutoff"},
		movetest.Row{Name: "from home to home goes nowhere", Step: ride("lead", "bar 2", "cutoff", "home", "home", moves.Linear),
			Before: loop, Err: "to: found home, want another value than from"},
		movetest.Row{Name: "no controller is a mistake", Step: &moves.Ride{Target: target("lead", ""), From: level("1"), To: level("2")},
			Before: loop, Err: "controller: found nothing"},
		movetest.Row{Name: "no value to go to is a mistake", Step: &moves.Ride{Target: target("lead", ""), Controller: controller("cutoff"), From: level("1")},
			Before: loop, Err: "to: found nothing"},
		movetest.Row{Name: "no part that is there, nothing", Step: ride("pad if any", "bar 2", "cutoff", "0", "home", moves.Linear),
			Before: loop, After: loop},
	)
}

func TestEventsOfARideAreTenMillisecondsApart(t *testing.T) {
	in := mustGrid(t, "lead x...x...x...x...|x...x...x...x...")
	for _, tt := range []struct {
		over, name, from, to string
	}{
		{"bar 1", "bend", "0", "16383"},
		{"beat 1 of bar 1", "cutoff", "0", "127"},
		{"beat 1 of bar 1", "cutoff", "127", "0"},
		{"first 1/64", "cutoff", "0", "127"},
	} {
		step := ride("lead", tt.over, tt.name, tt.from, tt.to, moves.Exp)
		step.Hold = true
		out, came := run(t, step, in)
		last, value := int64(-1<<40), 0
		for _, ev := range out.Tracks[0].Events {
			id, v, ok := ev.Of()
			if !ok || id != step.Controller.ID {
				continue
			}
			at := out.Time().Micros(ev.Tick)
			if at-last < 10_000 {
				t.Errorf("%s: events %d us apart, want 10000", tt.over, at-last)
			}
			if ev.Tick >= came.Ranges[0].End {
				t.Errorf("%s: an event past the span", tt.over)
			}
			last, value = at, v
		}
		if fmt.Sprint(value) != tt.to {
			t.Errorf("%s: the last value is %d, want %s", tt.over, value, tt.to)
		}
	}
}

func TestStepsThatNoHomeAllowsAreAMistake(t *testing.T) {
	in := mustGrid(t, "lead x.......")
	for _, tt := range []struct{ rule, controller, from, to, err, told string }{
		{"up and down", "cutoff", "home+400", "home-400", "from: found home+400, which is 464, want 0 to 127 for cutoff (home is 64)\nto: found home-400, which is -336, want 0 to 127 for cutoff (home is 64)", ""},
		{"what some home would allow is told", "expression", "home+20", "home", "", "home+20 of expression for lead is 147: 127 is taken"},
		{"a share of home too", "expression", "home", "150%", "", "150% of expression for lead is 191: 127 is taken"},
		{"bend goes further", "bend", "home+400", "home", "", ""},
	} {
		came, err := moves.Run(&moves.Env{}, ride("lead", "bar 1", tt.controller, tt.from, tt.to, moves.Linear), in)
		if got := fmt.Sprint(err); err != nil && got != tt.err || err == nil && tt.err != "" {
			t.Errorf("%s:\ngot  %v\nwant %s", tt.rule, err, tt.err)
		}
		told := strings.Join(movetest.Told(came), "\n")
		if tt.told != "" && !strings.Contains(told, tt.told) || tt.told == "" && strings.Contains(told, "is taken") && tt.controller == "bend" {
			t.Errorf("%s: told %q, want %q", tt.rule, told, tt.told)
		}
	}
}

func TestARideOnOneOfSeveralSoundsOfAChannelIsRefused(t *testing.T) {
	in := mustGrid(t, `
		kick x...x...
		clap ....x...
		hat  ..x...x.
		lead x.......`)
	for _, i := range []int{1, 2} {
		in.Parts[i].Track, in.Parts[i].Channel = 0, 0
	}
	for _, tt := range []struct{ part, err string }{
		{"hat", `part: found hat, want all that share its track and channel: kick, clap and hat; did you mean "drums"?`},
		{"kick", `part: found kick, want all that share its track and channel: kick, clap and hat; did you mean "drums"?`},
	} {
		_, err := moves.Run(&moves.Env{}, ride(tt.part, "bar 1", "reverb", "home", "home+40", moves.Linear), in)
		if err == nil || err.Error() != tt.err {
			t.Errorf("\ngot  %v\nwant %s", err, tt.err)
		}
	}
	out, _ := run(t, ride("drums", "bar 1", "volume", "100", "101", moves.Linear), in)
	if got, want := points(out, "volume"), "1.1=100 1.2=101 2.1=100"; got != want {
		t.Errorf("all of them together, once: got %s, want %s", got, want)
	}
}

func TestRidesOfOneControllerLeaveEachOtherAlone(t *testing.T) {
	in := mustGrid(t, "lead "+strings.TrimSuffix(strings.Repeat("x...x...x...x...|", 6), "|"))
	in.Parts[0].Home = []song.Home{{Controller: 74, Value: 90}}
	sections, err := moves.ParseSections("intro 1, build 1, drop 1, break 1, build 1, drop 1")
	if err != nil {
		t.Fatal(err)
	}
	in = in.WithSections(sections)
	hold := ride("lead", "build 2", "cutoff", "70", "71", moves.Linear)
	hold.Hold = true
	for _, tt := range []struct {
		rule  string
		steps []moves.Step
		want  string
	}{
		{"home is written again after a ride that holds once another goes home",
			[]moves.Step{hold, ride("lead", "build 1", "cutoff", "60", "61", moves.Linear)},
			"1.1=90 2.1=60 2.3=61 3.1=90 4.1=90 5.1=70 5.3=71"},
		{"in the other order too",
			[]moves.Step{ride("lead", "build 1", "cutoff", "60", "61", moves.Linear), hold},
			"1.1=90 2.1=60 2.3=61 3.1=90 4.1=90 5.1=70 5.3=71"},
		{"a ride that ends where another starts does not go home in between",
			[]moves.Step{ride("lead", "drop 1", "cutoff", "70", "71", moves.Linear), ride("lead", "build 1", "cutoff", "89", "home", moves.Linear)},
			"1.1=90 2.1=89 2.3=90 3.1=70 3.3=71 4.1=90 5.1=90 6.1=90"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			out, err := moves.RunAll(&moves.Env{Strict: true}, in, tt.steps...)
			if err != nil {
				t.Fatal(err)
			}
			got := points(out.Song, "cutoff")
			if got != tt.want {
				t.Errorf("\ngot  %s\nwant %s", got, tt.want)
			}
		})
	}
}
