package recipes_test

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// draft drafts a recipe on a grid.
func draft(t *testing.T, grid, recipe string, o recipes.Options) (*recipes.Result, error) {
	t.Helper()
	r, err := recipes.Parse("recipe.yaml", []byte(recipe))
	if err != nil {
		return nil, err
	}
	return recipes.Draft([]recipes.Input{gridLoop(t, grid)}, r, o)
}

// rows trims a grid to its words and steps.
func rows(grid string) string {
	var out []string
	for _, line := range strings.Split(grid, "\n") {
		if f := strings.Fields(line); len(f) > 0 {
			out = append(out, strings.Join(f, " "))
		}
	}
	return strings.Join(out, "\n")
}

func TestDrafts(t *testing.T) {
	const loop = `
		kick x...x...x...x...|x...x...x...x.x.
		hat  ..x...x...x...x.|..x...x...x...xx
		bass ..x-..x-..x-..x-|..x-..x-..x-..x-`
	for _, row := range []struct{ rule, grid, recipe, want string }{
		{"the loop runs on without sections", loop, "length: 3 bars", `
			kick x...x...x...x...|x...x...x...x.x.|x...x...x...x...
			hat  ..x...x...x...x.|..x...x...x...xx|..x...x...x...x.
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a section counts the loop back from its end", loop, "sections: [{name: drop, bars: 3}]", `
			kick x...x...x...x.x.|x...x...x...x...|x...x...x...x.x.
			hat  ..x...x...x...xx|..x...x...x...x.|..x...x...x...xx
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a section that runs on", loop, "sections: [{name: a, bars: 1, phase: run-on}, {name: b, bars: 2, phase: run-on}]", `
			kick x...x...x...x...|x...x...x...x.x.|x...x...x...x...
			hat  ..x...x...x...x.|..x...x...x...xx|..x...x...x...x.
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a line-up, its bars counted inside the section", loop, "sections: [{name: a, bars: 2, play: [kick, hat from 2]}, {name: b, bars: 2, play: [all but kick, kick to 1]}]", `
			kick x...x...x...x...|x...x...x...x.x.|x...x...x...x...|................
			hat  ................|..x...x...x...xx|..x...x...x...x.|..x...x...x...xx
			bass ................|................|..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a line-up of nothing is silence", loop, "sections: [{name: a, bars: 1, play: []}, {name: b, bars: 1}]", `
			kick ................|x...x...x...x.x.
			hat  ................|..x...x...x...xx
			bass ................|..x-..x-..x-..x-`},
		{"moves in their order, after the line-ups", loop, "sections: [{name: a, bars: 2, play: [kick, hat]}]\nmoves:\n- mute: {part: kick, over: last 2 beats of a}\n- thin: {part: kick, keep: 50%}", `
			kick x.......x.......|x...............
			hat  ..x...x...x...x.|..x...x...x...xx
			bass ................|................`},
		{"a length to extend to", loop, "moves:\n- mute: {part: kick, over: bar 2}\n- extend: {to: 4 bars}", `
			kick x...x...x...x...|................|x...x...x...x...|................
			hat  ..x...x...x...x.|..x...x...x...xx|..x...x...x...x.|..x...x...x...xx
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a shorter loop", loop, "loop: 1 bar\nlength: 2 bars", `
			kick x...x...x...x...|x...x...x...x...
			hat  ..x...x...x...x.|..x...x...x...x.
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a track on a cycle of its own", loop, "parts: {hat: {cycle: 1 bar}}\nlength: 3 bars", `
			kick x...x...x...x...|x...x...x...x.x.|x...x...x...x...
			hat  ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
			bass ..x-..x-..x-..x-|..x-..x-..x-..x-|..x-..x-..x-..x-`},
		{"a trigger plays wherever anything plays", "kick x...x...x...x...\ntrigger x...x...x...x...", "sections: [{name: a, bars: 2, play: [kick from 2]}, {name: b, bars: 1, play: [trigger]}]", `
			kick    ................|x...x...x...x...|................
			trigger ................|x...x...x...x...|x...x...x...x...`},
	} {
		got, err := draft(t, row.grid, row.recipe, recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		want, err := song.ParseGrid(row.want)
		if err != nil {
			t.Fatal(err)
		}
		if g, w := rows(song.Grid(got.Song)), rows(song.Grid(want)); g != w {
			t.Errorf("%s: got\n%s\nwant\n%s", row.rule, g, w)
		}
	}
}

func TestEmptyRecipeTouchesNothing(t *testing.T) {
	files := demoLoops(t)
	odd := recipes.Input{Name: "odd.mid", File: &smf.File{Format: 2, Division: 96}}
	track := smf.TrackFromStore([]smf.Event{smf.Channel(7, 0x90, 60, 100), smf.Channel(5000, 0x80, 61, 0)}, 5000, nil)
	odd.File.Tracks = []smf.Track{track, track}
	frames := recipes.Input{Name: "frames.mid", File: &smf.File{Format: 1, Division: 0xE728, Tracks: []smf.Track{track}}}
	for _, in := range append(files, odd, frames) {
		for _, text := range []string{"", "{}", "phrase: 4 bars\nseed: 3"} {
			r, err := recipes.Parse("empty.yaml", []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
			if err != nil {
				t.Errorf("%s: %v", in.Name, err)
				continue
			}
			if !bytes.Equal(bytesOf(t, got.File), bytesOf(t, in.File)) {
				t.Errorf("%s: the empty recipe changed the file", in.Name)
			}
			if len(got.Changes)+len(got.Warnings)+len(got.Todo) > 0 {
				t.Errorf("%s: found %v %v %v, want nothing", in.Name, got.Changes, got.Warnings, got.Todo)
			}
		}
	}
	for _, in := range []recipes.Input{odd, frames} {
		for _, text := range []string{"length: 8 bars", "moves: [{mute: {part: all}}]"} {
			r, err := recipes.Parse("x.yaml", []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			if _, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{}); err == nil || !strings.Contains(err.Error(), "no common bars") || strings.Contains(err.Error(), "\n") {
				t.Errorf("%s, %s: got %v, want one line about common bars", in.Name, text, err)
			}
		}
	}
}

func TestWhatIsToldAndWarnedOf(t *testing.T) {
	const loop = `
		kick x...x...x...x...|x...x...x...x...
		hat  ..x...x...x...x.|..x...x...x...x.
		stab x--.....x--.....|....x--.....x--.`
	for _, row := range []struct {
		rule, recipe   string
		of             func(*recipes.Result) []string
		want, unwanted string
	}{
		{"a part that never plays", "sections: [{name: a, bars: 2, play: [kick, stab]}]", warnings, "hat never plays", "stab never plays"},
		{"a step that finds no note, with its place", "length: 2 bars\nmoves:\n- mute: {part: stab, over: beat 2 of bar 1}", warnings, "recipe.yaml:3:3: moves[1].mute: nothing plays there", ""},
		{"a recipe for another loop", "input: other.mid", warnings, "the recipe was written for other.mid, this is grid.mid", ""},
		{"a recipe for this loop", "input: [grid.mid]", warnings, "", "written for"},
		{"a step without its part", "length: 2 bars\nmoves:\n- mute: {part: bass if any}", told, "moves[1].mute: skipped, no such part", ""},
		{"a step without its place", "sections: [{name: a, bars: 2}]\nmoves:\n- mute: {part: kick, over: 2 bars before a}", told, "moves[1].mute: skipped, no such place", ""},
		{"a duration", "length: 33s", told, "0m33s is nearest to 16 bars (phrases of 8)", ""},
		{"a controller to map", "length: 2 bars\nmoves:\n- ride: {part: stab, controller: cutoff, from: 10, to: 90}", todo, "map cutoff (controller 74) on stab", ""},
		{"a controller that is mapped", "length: 2 bars\nparts: {stab: {mapped: [cutoff]}}\nmoves:\n- ride: {part: stab, controller: cutoff, from: 10, to: 90}", todo, "", "map cutoff"},
		{"a sound for an added track", "length: 2 bars\nmoves:\n- hit: {at: bar 1}", todo, "put a sound on the new track crash-added (channel 10)", ""},
	} {
		r, err := draft(t, loop, row.recipe, recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		got := strings.Join(row.of(r), "\n")
		if !strings.Contains(got, row.want) || row.unwanted != "" && strings.Contains(got, row.unwanted) {
			t.Errorf("%s: got\n%s\nwant %q, not %q", row.rule, got, row.want, row.unwanted)
		}
	}
}

func warnings(r *recipes.Result) []string { return r.Warnings }
func told(r *recipes.Result) []string     { return r.Told }
func todo(r *recipes.Result) []string     { return r.Todo }

func TestTrace(t *testing.T) {
	got, err := draft(t, smallLoop, "sections: [{name: a, bars: 4, play: [kick, bass from 3]}]\nmoves:\n- mute: {part: kick, over: last 1 bar}\n- thin: {part: bass, keep: 50%}", recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, c := range got.Changes {
		lines = append(lines, fmt.Sprint(c.Step, c.Move, c.Parts, c.Ranges))
	}
	bar := song.Tick(4 * 96)
	want := []string{
		fmt.Sprint(-1, "line-up", []string{"kick"}, []song.Range{{End: 4 * bar}}),
		fmt.Sprint(-1, "line-up", []string{"bass"}, []song.Range{{Start: 2 * bar, End: 4 * bar}}),
		fmt.Sprint(0, "mute", []string{"kick"}, []song.Range{{Start: 3 * bar, End: 4 * bar}}),
		fmt.Sprint(1, "thin", []string{"bass"}, []song.Range{{End: 4 * bar}}),
	}
	if !slices.Equal(lines, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(lines, "\n"), strings.Join(want, "\n"))
	}
}

func TestMarkers(t *testing.T) {
	got, err := draft(t, "kick x...x...x...x...", "sections: [{name: intro, bars: 2}, {name: drop, bars: 1}]", recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, ev := range got.Song.Tracks[0].Events {
		if kind, ok := ev.MetaType(); ok && kind == 0x06 {
			found = append(found, fmt.Sprint(ev.Tick, string(got.Song.Tracks[0].Long(ev))))
		}
	}
	if want := []string{fmt.Sprint(0, "intro"), fmt.Sprint(2*4*96, "drop")}; !slices.Equal(found, want) {
		t.Errorf("got %q, want %q", found, want)
	}
}

func TestStandIns(t *testing.T) {
	const kick, bass = "kick x...x...x...x...|x...x...x...x...", "bass ..x-..x-..x-..x-|..x-..x-..x-..x-"
	const hat, pad, stab = "hat ..x...x...x...x.|..x...x...x...x.", "pad x---------------|x---------------", "stab x--.....x--.....|....x--.....x--."
	const lead = "lead ..x.....x...x...|..x.....x...x..."
	for _, row := range []struct {
		rule string
		rows []string
		play string
		want string // what stands in, by part; "" for nobody
	}{
		{"nobody where something plays", []string{kick, hat}, "[kick]", ""},
		{"the bed first", []string{kick, hat, pad, stab}, "[]", "pad"},
		{"the hook at half", []string{kick, hat, stab}, "[]", "stab half"},
		{"the extra", []string{kick, hat, stab, lead, pad}, "[hook from 3, bed from 3]", "pad"},
		{"the tops", []string{kick, hat, bass}, "[]", "hat"},
		{"the bass at half", []string{kick, bass}, "[]", "bass half"},
		{"the beat on 1", []string{kick}, "[]", "kick 1"},
		{"only where it is silent", []string{kick, hat}, "[kick to 2]", "hat from 3"},
		{"a single silent bar is left alone", []string{kick, hat}, "[kick to 3]", ""},
	} {
		var grid []string
		for _, r := range row.rows {
			name, steps, _ := strings.Cut(r, " ")
			grid = append(grid, name+" "+steps)
		}
		r, err := recipes.Parse("x.yaml", []byte("sections: [{name: a, bars: 4, play: "+row.play+"}]"))
		if err != nil {
			t.Fatal(err)
		}
		r.Builtin = true
		got, err := recipes.Draft([]recipes.Input{gridLoop(t, strings.Join(grid, "\n"))}, r, recipes.Options{})
		if err != nil {
			t.Fatalf("%s: %v", row.rule, err)
		}
		var stand []string
		for _, c := range got.Changes {
			if c.Move != "stand-in" {
				continue
			}
			for _, name := range c.Parts {
				text := name
				if first := got.Song.Time().BarOf(c.Ranges[0].Start); first > 1 {
					text += fmt.Sprintf(" from %d", first)
				}
				part, full := got.Song.Parts[got.Song.Index(name)], got.Loop.Parts[got.Loop.Index(name)]
				switch n, m := len(part.Notes), 2*len(full.Notes); {
				case n*4 == m:
					text += " 1"
				case n*2 == m && first(c) == 1 && row.play == "[]":
					text += " half"
				}
				stand = append(stand, text)
			}
		}
		if got := strings.Join(stand, ", "); got != row.want {
			t.Errorf("%s: got %q, want %q", row.rule, got, row.want)
		}
		r.Builtin = false
		if plain, err := recipes.Draft([]recipes.Input{gridLoop(t, strings.Join(grid, "\n"))}, r, recipes.Options{}); err != nil || slices.ContainsFunc(plain.Changes, func(c song.Change) bool { return c.Move == "stand-in" }) {
			t.Errorf("%s: somebody stands in in a recipe that is not built in (%v)", row.rule, err)
		}
	}
}

func first(c song.Change) int { return int(c.Ranges[0].Start/(4*96)) + 1 }

func TestDraftMistakesOfOptions(t *testing.T) {
	for _, row := range []struct {
		rule, recipe string
		o            recipes.Options
		want         string
	}{
		{"a negative length", "", recipes.Options{Bars: -1}, "found a length of -1 bars, want 1 to 9999"},
		{"beyond 9,999 bars", "", recipes.Options{Bars: 10000}, "found a length of 10000 bars, want 1 to 9999"},
		{"two lengths", "", recipes.Options{Bars: 8, Micros: 1}, "found a length in bars and another in minutes, want one"},
		{"a negative loop", "", recipes.Options{LoopBars: -1}, "found a loop of -1 bars, want 1 to 9999"},
		{"a take before the first", "", recipes.Options{Take: -1}, "found take -1, want 1 or more"},
	} {
		if _, err := draft(t, smallLoop, row.recipe, row.o); fmt.Sprint(err) != row.want {
			t.Errorf("%s: got %v, want %s", row.rule, err, row.want)
		}
	}
	if _, err := recipes.Draft(nil, &recipes.Recipe{}, recipes.Options{}); fmt.Sprint(err) != "found no loop, want one or more" {
		t.Errorf("no loop: got %v", err)
	}
}

func TestSeveralLoopsAreJoined(t *testing.T) {
	var ferry []recipes.Input
	for _, in := range demoLoops(t) {
		if strings.HasPrefix(in.Name, "ferry/") {
			ferry = append(ferry, in)
		}
	}
	if len(ferry) < 3 {
		t.Fatalf("found %d patterns, want several", len(ferry))
	}
	got, err := recipes.Draft(ferry, club(t), recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Loop.Parts) < len(ferry) || got.Song.Bars() != 192 || len(got.Song.Check()) > 0 {
		t.Errorf("found %d parts in %d bars with %v", len(got.Loop.Parts), got.Song.Bars(), got.Song.Check())
	}
	checkLaws(t, ferry, club(t), recipes.Options{})
}

func TestHearFindsTheLoop(t *testing.T) {
	got, err := recipes.Hear([]recipes.Input{gridLoop(t, smallLoop)}, &recipes.Recipe{}, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got.LoopBars != 2 || len(got.Heard) != 5 || got.File != nil || got.Song.End != got.Loop.End {
		t.Errorf("found %d bars and %d parts, want 2 and 5", got.LoopBars, len(got.Heard))
	}
	if _, err := recipes.Parse("heard.yaml", got.WriteRecipe()); err != nil {
		t.Errorf("what was heard cannot be read as a recipe: %v", err)
	}
}

func TestHearTellsEveryMistakeOfTheParts(t *testing.T) {
	r, err := recipes.Parse("x.yaml", []byte("parts:\n  a: {track: 9}\n  b: {track: 2, at: [x, 1.9]}\n  kick: {role: drum}\n  clap: {mapped: [cutoff]}\n"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = recipes.Hear([]recipes.Input{gridLoop(t, smallLoop)}, r, recipes.Options{})
	var mistakes *recipes.Errors
	if !errors.As(err, &mistakes) || len(mistakes.List) != 4 {
		t.Errorf("got %v, want four mistakes", err)
	}
}
