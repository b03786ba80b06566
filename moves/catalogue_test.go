package moves_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/option"
)

// TestExamplesAreTrue runs the example of every move: its grid, and what holds for every move. What an
// example may change outside its parts and spans is what the move's doc says.
func TestExamplesAreTrue(t *testing.T) {
	for _, m := range moves.All() {
		row := movetest.Row{
			Name: m.Name(), Step: m.Example().Step, Before: m.Example().Before, Sections: m.Example().Sections, After: m.Example().After, Steps: m.Example().Steps,
		}
		switch m.Name() {
		case "extend", "mark", "solo", "copy", "hit", "ride", "tempo", "roll", "swell", "drone", "duck", "lead-in", "freshen", "emphasise":
			row.May = movetest.Anything
		}
		movetest.Run(t, row)
	}
}

func TestCatalogue(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range moves.All() {
		t.Run(m.Name(), func(t *testing.T) {
			if seen[m.Name()] {
				t.Error("listed twice")
			}
			seen[m.Name()] = true
			if !slices.Contains(moves.Groups(), m.Group) {
				t.Errorf("got group %q, want one of %q", m.Group, moves.Groups())
			}
			if m.Brief == "" || strings.HasSuffix(m.Brief, ".") || strings.Contains(m.Brief, "\n") {
				t.Errorf("got brief %q, want one line without a full stop", m.Brief)
			}
			if !strings.HasSuffix(m.Doc, ".") {
				t.Errorf("got doc %q, want sentences", m.Doc)
			}
			if got, found := moves.All().Lookup(m.Name()); !found || got.Name() != m.Name() {
				t.Errorf("looking it up gives %q", got.Name())
			}
			if a, b := m.New(), m.New(); a == b {
				t.Error("two new steps are one")
			}
			if reflect.TypeOf(m.New()) != reflect.TypeOf(m.Example().Step) {
				t.Errorf("the example is a %T, want a %T", m.Example().Step, m.New())
			}
			if missing := m.Missing(m.Example().Step); len(missing) > 0 {
				t.Errorf("the example leaves out %q", missing)
			}
			names := map[string]bool{}
			for _, o := range m.Options() {
				if o.Doc == "" || o.Want == "" {
					t.Errorf("option %q has doc %q and want %q, want both", o.Name, o.Doc, o.Want)
				}
				if names[o.Name] {
					t.Errorf("option %q is there twice", o.Name)
				}
				names[o.Name] = true
			}
			exported(t, m, names)
		})
	}
	if _, found := moves.All().Lookup("no-such-move"); found {
		t.Error("found a move that is not there")
	}
}

// exported holds that every exported field of a step is an option.
func exported(t *testing.T, m moves.Move, names map[string]bool) {
	fields := reflect.VisibleFields(reflect.TypeOf(m.New()).Elem())
	for _, f := range fields {
		if name := f.Tag.Get("yaml"); f.IsExported() && !f.Anonymous && !names[name] {
			t.Errorf("field %s is no option", f.Name)
		}
	}
}

// TestStepsComeBackFromTheirText holds that a step set from its options' texts is the same step.
func TestStepsComeBackFromTheirText(t *testing.T) {
	for _, m := range moves.All() {
		step := m.New()
		for _, g := range m.Given(m.Example().Step) {
			if err := m.Set(step, g.Name, g.Texts, g.List); err != nil {
				t.Errorf("%s.%s: %v", m.Name(), g.Name, err)
			}
		}
		if got, want := m.Text(step), m.Text(m.Example().Step); got != want {
			t.Errorf("\ngot  %s\nwant %s", got, want)
		}
		if got, want := fmt.Sprint(m.Missing(step)), "[]"; got != want {
			t.Errorf("%s: %s is missing", m.Name(), got)
		}
	}
}

// TestEveryOptionReadsWhatItWrites sets each option to a value of its kind and reads it back.
func TestEveryOptionReadsWhatItWrites(t *testing.T) {
	values := map[string][]string{
		"except": {"last 1 bar"}, "part": {"snare or clap if any"}, "over": {"last 2 bars of drop"}, "at": {"every drop"}, "text": {"turn"},
		"tails": {"ring"}, "spacing": {"1/16"}, "keep": {"12.5%"}, "by": {"even"}, "seed": {"18446744073709551615"},
		"gap": {"auto"}, "controller": {"cutoff"}, "curve": {"s"}, "hold": {"true"}, "sound": {"ride"},
	}
	special := map[string][]string{
		"extend.to": {"192 bars"}, "roll.from": {"1/2"}, "roll.to": {"1/32"}, "roll.velocity": {"35%..110%"},
		"double.velocity": {"70%"}, "hit.velocity": {"110%"}, "ride.from": {"home+40"}, "ride.to": {"35%"},
		"layer.interval": {"-12"}, "layer.as": {"high"}, "layer.channel": {"16"}, "layer.program": {"128"}, "layer.velocity": {"70%"},
		"swell.velocity": {"10%..90%"}, "fill.velocity": {"10%..90%"},
		"rise.by": {"bend"}, "rise.own": {"stay"}, "rise.semitones": {"24"}, "rise.velocity": {"50%..90%"},
		"drone.key": {"45"}, "drone.channel": {"16"}, "drone.program": {"128"}, "drone.velocity": {"70%"},
		"transpose.semitones": {"-7"}, "transpose.octaves": {"2"}, "swing.amount": {"66.7%"}, "swing.grid": {"1/8"},
		"gate.length": {"3/16"}, "shape.from": {"55%"}, "shape.to": {"80%"},
		"copy.to": {"drop 2"}, "copy.length": {"3 bars"}, "ghost.velocity": {"30%"}, "ghost.density": {"50%"},
		"stutter.slice": {"3/32"}, "stretch.by": {"double"}, "shift.by": {"-10 ticks"}, "shift.edges": {"clip"},
		"humanise.timing": {"0"}, "humanise.velocity": {"30"}, "humanise.anchors": {"true"},
		"vary.rate": {"12.5%"}, "vary.anchors": {"true"},
		"echo.repeats": {"16"}, "echo.velocity": {"70%"}, "echo.tails": {"cut"},
		"lead-in.with": {"fill"}, "lead-in.length": {"1 bar"}, "freshen.every": {"16 bars"}, "freshen.with": {"half"},
		"duck.by": {"kick"}, "duck.to": {"0%"}, "duck.length": {"3/16"},
		"tempo.from": {"126.5"}, "tempo.to": {"96%"},
		"emphasise.quiet": {"break 1"}, "emphasise.loud": {"drop 2"}, "emphasise.by": {"37.5%"},
	}
	for _, m := range moves.All() {
		for _, o := range m.Options() {
			text, ok := special[m.Name()+"."+o.Name]
			if !ok {
				text, ok = values[o.Name]
			}
			if !ok {
				t.Errorf("no value to try for %s.%s", m.Name(), o.Name)
				continue
			}
			step := m.New()
			if err := m.Set(step, o.Name, text, false); err != nil {
				t.Errorf("%s.%s: %v", m.Name(), o.Name, err)
			}
			given := m.Given(step)
			if len(given) != 1 || given[0].Name != o.Name || !slices.Equal(given[0].Texts, text) {
				t.Errorf("%s.%s: set to %q, reads %v", m.Name(), o.Name, text, given)
			}
			var bad *option.Mistake
			if err := m.Set(m.New(), o.Name, []string{"?!"}, false); o.Want != "a text" && !asOption(err, &bad) {
				t.Errorf("%s.%s: got %v for ?!, want an error that names the option", m.Name(), o.Name, err)
			}
		}
	}
}

func asOption(err error, to **option.Mistake) bool {
	e, ok := err.(*option.Mistake)
	*to = e
	return ok && e.Option != "" && e.Want != ""
}
