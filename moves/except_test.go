package moves_test

import (
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// exceptSong has four bars of sixteenths, so that each move has something to work on anywhere.
func exceptSong(t *testing.T) song.Song {
	t.Helper()
	s, err := song.ParseGrid("hat  " + strings.TrimSuffix(strings.Repeat("x.x.x.x.x.x.x.x.|", 4), "|") + "\nbass " + strings.TrimSuffix(strings.Repeat("x-..x-..x-..x-..|", 4), "|"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestExceptIsCutOutOfOver(t *testing.T) {
	s := exceptSong(t)
	for _, row := range []struct{ over, except, hat string }{
		{"all", "bar 2", "................|x.x.x.x.x.x.x.x.|................|................"},
		{"every other bar", "first 2 bars", "x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.|................"},
		{"bars 2-3", "last 2 beats of every 1 bar", "x.x.x.x.x.x.x.x.|........x.x.x.x.|........x.x.x.x.|x.x.x.x.x.x.x.x."},
	} {
		m := &moves.Mute{Target: moves.Target{Part: where.PartsOf("hat"), Over: where.SpansOf(row.over), Except: where.SpansOf(row.except)}}
		o, err := moves.Run(&moves.Env{Strict: true}, m, s)
		if err != nil {
			t.Fatal(err)
		}
		if got := song.Grid(o.Song); !strings.Contains(got, row.hat) {
			t.Errorf("%s without %s: got\n%s\nwant hat %s", row.over, row.except, got, row.hat)
		}
	}
}

// What chance does in a span hangs on the span as it is uncut: a cut changes nothing elsewhere.
func TestExceptLeavesTheChanceOfOtherSpansAlone(t *testing.T) {
	s := exceptSong(t)
	target := moves.Target{Part: where.PartsOf("hat"), Over: where.SpansOf("every 1 bar")}
	cut := target
	cut.Except = where.SpansOf("bar 2")
	chance := moves.Chance{option.SeedOf(7)}
	for name, steps := range map[string][2]moves.Step{
		"ghost":    {&moves.Ghost{Target: target, Velocity: 40 * option.Whole / 100, Density: option.Whole / 2, Chance: chance}, &moves.Ghost{Target: cut, Velocity: 40 * option.Whole / 100, Density: option.Whole / 2, Chance: chance}},
		"vary":     {&moves.Vary{Target: target, Rate: option.Whole / 4, Chance: chance}, &moves.Vary{Target: cut, Rate: option.Whole / 4, Chance: chance}},
		"humanise": {&moves.Humanise{Target: target, Timing: moves.Deviation{Most: 8}, Velocity: moves.Deviation{Most: 9}, Chance: chance}, &moves.Humanise{Target: cut, Timing: moves.Deviation{Most: 8}, Velocity: moves.Deviation{Most: 9}, Chance: chance}},
		"fill":     {&moves.Fill{Target: target, Velocity: option.SharesOf(option.Whole, option.Whole), Chance: chance}, &moves.Fill{Target: cut, Velocity: option.SharesOf(option.Whole, option.Whole), Chance: chance}},
	} {
		var notes [2][]song.Note
		for i, step := range steps {
			o, err := moves.Run(&moves.Env{Strict: true}, step, s)
			if err != nil {
				t.Fatal(err)
			}
			notes[i] = o.Song.Parts[o.Song.Index("hat")].Notes
		}
		second := s.BarRange(2, 2)
		last := func(list []song.Note) (out []song.Note) { // a bar away from the cut
			for _, n := range list {
				if n.Start > second.End+s.Time().PPQ() {
					out = append(out, n)
				}
			}
			return out
		}
		whole, part := last(notes[0]), last(notes[1])
		if len(whole) == 0 || len(whole) != len(part) {
			t.Fatalf("%s: got %d notes and %d", name, len(whole), len(part))
		}
		for i := range whole {
			if whole[i].Start != part[i].Start || whole[i].Vel != part[i].Vel {
				t.Errorf("%s: note %d: got %v, want %v", name, i, part[i], whole[i])
				break
			}
		}
	}
}

func TestExceptOfAllWarns(t *testing.T) {
	s := exceptSong(t)
	all := where.SpansOf("bars 1-4")
	for _, step := range []moves.Step{
		&moves.Mute{Target: moves.Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2"), Except: all}},
		&moves.Copy{Target: moves.Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2"), Except: all}, To: where.PlacesOf("bar 3")},
		&moves.Tempo{Over: where.SpansOf("bar 2"), Except: all, From: moves.TempoValue{Share: option.Whole}, To: moves.TempoValue{Share: option.Whole / 2}, Curve: moves.Linear},
		&moves.Drone{Over: where.SpansOf("bar 2"), Except: all, Velocity: option.Whole},
		&moves.Freshen{Every: 2, Except: all},
	} {
		o, err := moves.Run(&moves.Env{Strict: true}, step, s)
		if err != nil {
			t.Fatalf("%s: %v", step.Name(), err)
		}
		warned := false
		for _, r := range o.Remarks {
			warned = warned || r.Kind == remark.AllExcepted && r.Kind.Warns()
		}
		if !warned || song.Grid(o.Song) != song.Grid(s) {
			t.Errorf("%s: got %v and\n%s", step.Name(), o.Remarks, song.Grid(o.Song))
		}
	}
}

// No change of freshen begins in what is excepted, or lasts into it.
func TestFreshenKeepsOutOfExcept(t *testing.T) {
	s, err := song.ParseGrid("kick " + strings.TrimSuffix(strings.Repeat("x...x...x...x...|", 12), "|") + "\nhat  " + strings.TrimSuffix(strings.Repeat("x.x.x.x.x.x.x.x.|", 12), "|"))
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(12) {
		f := &moves.Freshen{Every: 4, Except: where.SpansOf("bars 8-10"), Chance: moves.Chance{option.SeedOf(seed)}}
		o, err := moves.Run(&moves.Env{Strict: true}, f, s)
		if err != nil {
			t.Fatal(err)
		}
		if song.Grid(o.Song) == song.Grid(s) {
			t.Errorf("seed %d: nothing changed outside", seed)
		}
		kept := s.BarRange(8, 10)
		for i, p := range s.Parts {
			if got, want := len(o.Song.In(o.Song.Parts[i], kept)), len(s.In(p, kept)); got != want {
				t.Errorf("seed %d: %s has %d notes in bars 8 to 10, want %d", seed, p.Name, got, want)
			}
		}
	}
}
