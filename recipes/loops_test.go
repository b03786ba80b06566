package recipes_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
)

// Four bars and two: the hits of a bar tell which bar of which loop it is.
const (
	grooveLoop = `kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
hat ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
bass x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........
lead x...............|xx..............|xxx.............|xxxx............`
	breakLoop = `kick x...............|x...............
bass x.......x.......|x.......x.......
pad x---------------|x---------------
lead xxxxx...........|xxxxxx..........`
)

func named(in recipes.Input, file, loop string) recipes.Input {
	in.Name, in.Loop = file, loop
	return in
}

func grooveAndBreak(t testing.TB) []recipes.Input {
	return []recipes.Input{named(gridLoop(t, grooveLoop), "groove.mid", ""), named(gridLoop(t, breakLoop), "break.mid", "")}
}

func TestSectionsPlayTheirLoop(t *testing.T) {
	for _, row := range []struct {
		rule, sections, want string
	}{
		{"without a word it is the first loop", "{name: intro, bars: 4}, {name: drop, bars: 2}",
			"kick 4444 44\nhat 4444 44\nbass 3333 33\nlead 1234 34\npad .... .."},
		{"parts that the loop does not have are silent", "{name: groove, bars: 4}, {name: break, bars: 4, loop: b}",
			"kick 4444 1111\nhat 4444 ....\nbass 3333 2222\nlead 1234 5656\npad .... 1111"},
		{"laid over another they play on from that", "{name: groove, bars: 4}, {name: break, bars: 4, loop: b over a}",
			"kick 4444 1111\nhat 4444 4444\nbass 3333 2222\nlead 1234 5656\npad .... 1111"},
		{"each is counted back from its section's end", "{name: groove, bars: 3}, {name: break, bars: 3, loop: b}",
			"kick 444 111\nhat 444 ...\nbass 333 222\nlead 234 656\npad ... 111"},
		{"run-on goes on where that loop last stopped", "{name: groove, bars: 3, phase: run-on}, {name: break, bars: 1, loop: b, phase: run-on}, {name: drop, bars: 2, phase: run-on}, {name: outro, bars: 1, loop: b, phase: run-on}",
			"kick 444 1 44 1\nhat 444 . 44 .\nbass 333 2 33 2\nlead 123 5 41 6\npad ... 1 .. 1"},
		{"one part of another loop", "{name: drop, bars: 4, play: [all, lead of b]}",
			"kick 4444\nhat 4444\nbass 3333\nlead 5656\npad ...."},
		{"one part of another loop from a bar on", "{name: drop, bars: 4, play: [kick, lead to 2, lead of b from 3]}",
			"kick 4444\nhat ....\nbass ....\nlead 1256\npad ...."},
		{"like another section in its loop too", "{name: break, bars: 2, loop: b, play: [lead]}, {name: drop, bars: 2}, {name: break, like: break 1}",
			"kick .. 44 ..\nhat .. 44 ..\nbass .. 33 ..\nlead 56 34 56\npad .. .. .."},
	} {
		t.Run(row.rule, func(t *testing.T) {
			r := mustParse(t, "phrase: 1 bar\nsections: ["+row.sections+"]")
			got, err := recipes.Draft(grooveAndBreak(t), r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if now := onsetsByBar(got.Song); now != row.want {
				t.Errorf("got\n%s\nwant\n%s", now, row.want)
			}
			checkLaws(t, grooveAndBreak(t), r, recipes.Options{})
		})
	}
}

// A recipe that names its loops has them opened, and is written out so that it gives the same bytes.
func TestARecipeNamesItsLoops(t *testing.T) {
	files := map[string]*smf.File{"groove.mid": gridLoop(t, grooveLoop).File, "set/break.mid": gridLoop(t, breakLoop).File}
	o := recipes.Options{Open: func(path string) (*smf.File, error) {
		if f := files[path]; f != nil {
			return f, nil
		}
		return nil, fmt.Errorf("%s: found no such file", path)
	}}
	text := "loops: {a: groove.mid, half: {file: groove.mid, bars: 3-4}, b: set/break.mid}\nphrase: 1 bar\nsections: [{name: intro, bars: 2, loop: half}, {name: break, bars: 2, loop: b}, {name: drop, bars: 4, play: [all, lead of half in second half]}]"
	got, err := recipes.Draft(nil, mustParse(t, text), o)
	if err != nil {
		t.Fatal(err)
	}
	want := "kick 44 11 4444\nhat 44 .. 4444\nbass 33 22 3333\nlead 34 56 ..34\npad .. 11 ...."
	if now := onsetsByBar(got.Song); now != want {
		t.Errorf("got\n%s\nwant\n%s", now, want)
	}
	written := got.WriteRecipe()
	if !strings.Contains(string(written), `loops: {a: groove.mid, half: {file: groove.mid, bars: 3-4}, b: set/break.mid}`) {
		t.Errorf("written:\n%s", written)
	}
	again, err := recipes.Draft(nil, mustParse(t, string(written)), o)
	if err != nil || !bytes.Equal(bytesOf(t, again.File), bytesOf(t, got.File)) {
		t.Errorf("the written recipe gives other bytes: %v\n%s", err, written)
	}
	// loops that are given take the place of those of their names
	other := named(gridLoop(t, strings.ReplaceAll(breakLoop, "xxxxx...........|", "xx..............|")), "other.mid", "b")
	if got, err = recipes.Draft([]recipes.Input{other}, mustParse(t, text), o); err != nil || !strings.Contains(onsetsByBar(got.Song), "lead 34 26 ..34") {
		t.Errorf("with another loop b: %v\n%s", err, onsetsByBar(got.Song))
	}
}

func TestPartsSayWhatTheyAreInALoop(t *testing.T) {
	const sections = "\nphrase: 1 bar\nsections: [{name: drop, bars: 4}, {name: break, bars: 4, loop: b}]"
	for _, row := range []struct{ rule, parts, want, written string }{
		{"a track is two parts", "{deep: {name: bass, loop: b, role: stab}}",
			"kick 4444 1111\nhat 4444 ....\nbass 3333 ....\ndeep .... 2222\nlead 1234 5656\npad .... 1111",
			`deep: {track: 3, name: bass, channel: 3, port: 0, loop: b, role: stab`},
		{"it has a cycle in each loop", "{lead: {cycle: {a: 2 bars, b: 1 bar}}}",
			"kick 4444 1111\nhat 4444 ....\nbass 3333 2222\nlead 1212 5555\npad .... 1111", `cycle: {a: 2 bars, b: 1 bar}`},
		{"it has a cycle where the loop is long enough", "{lead: {cycle: 3 bars}}",
			"kick 4444 1111\nhat 4444 ....\nbass 3333 2222\nlead 3123 5656\npad .... 1111", `cycle: {a: 3 bars}`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			r := mustParse(t, "parts: "+row.parts+sections)
			got, err := recipes.Draft(grooveAndBreak(t), r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if now := onsetsByBar(got.Song); now != row.want {
				t.Errorf("got\n%s\nwant\n%s", now, row.want)
			}
			if text := string(got.WriteRecipe()); !strings.Contains(text, row.written) {
				t.Errorf("written without %s:\n%s", row.written, text)
			}
			checkLaws(t, grooveAndBreak(t), r, recipes.Options{})
		})
	}
	// of the one loop that a recipe names, and of one that nobody names
	only := mustParse(t, "loops: {a: groove.mid}\nparts: {lead: {cycle: {a: 2 bars}}, deep: {name: bass, loop: a, role: bass}}\nphrase: 1 bar\nsections: [{name: drop, bars: 4}]")
	got, err := recipes.Draft(nil, only, opens(grooveAndBreak(t)...))
	if want := "kick 4444\nhat 4444\ndeep 3333\nlead 1212"; err != nil || onsetsByBar(got.Song) != want {
		t.Errorf("of one loop: %v", err)
	}
	for _, row := range []struct{ rule, loops, parts, want string }{
		{"of one loop nobody names", "", "{deep: {name: bass, loop: a}}", `x.yaml:1:34: parts.deep.loop: found "a", want no loop: there is one only`},
		{"another than the one loop", "loops: {a: groove.mid}\n", "{deep: {name: bass, loop: b}}", `x.yaml:2:34: parts.deep.loop: found "b", want no loop: there is one only`},
		{"no name", "", "{deep: {name: bass, loop: b over a}}", `x.yaml:1:34: parts.deep.loop: found "b over a", want the name of a loop such as b`},
		{"a cycle of no loop", "loops: {a: groove.mid, b: break.mid}\n", "{lead: {cycle: {c: 1 bar}}}", `x.yaml:2:23: parts.lead.cycle: found "c", want one of the loops a, b`},
		{"a cycle in no loop", "", "{lead: {cycle: {}}}", `x.yaml:1:23: parts.lead.cycle: found an empty map, want a length such as 2 bars, or a map of loops such as {a: 2 bars, b: 4 bars}`},
		{"a cycle that is none", "", "{lead: {cycle: {a: long}}}", `x.yaml:1:27: parts.lead.cycle.a: found "long", want a length of 1 to 9999 bars such as 8 bars`},
		{"a loop alone", "loops: {a: groove.mid, b: break.mid}\n", "{lead: {loop: b}}", `x.yaml:2:22: parts.lead.loop: found a loop alone, want a track, name, channel or key beside it`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			r, err := recipes.Parse("x.yaml", []byte(row.loops+"parts: "+row.parts+"\nphrase: 1 bar\nsections: [{name: drop, bars: 4}]"))
			if err == nil {
				in := grooveAndBreak(t)[:1]
				if r.Loops != nil {
					in = nil
				}
				_, err = recipes.Draft(in, r, opens(grooveAndBreak(t)...))
			}
			if got := strings.Split(fmt.Sprint(err), "\n")[0]; got != row.want {
				t.Errorf("got  %s\nwant %s", got, row.want)
			}
		})
	}
}

func TestMistakesOfLoops(t *testing.T) {
	const sections = "\nphrase: 1 bar\nsections: [{name: drop, bars: 4}]"
	for _, row := range []struct{ rule, text, want string }{
		{"a loop that is not there", "phrase: 1 bar\nsections: [{name: drop, bars: 4, loop: c}]", "x.yaml:2:40: sections[1].loop: found \"c\", want one of the loops a, b"},
		{"of a loop that is not there", "phrase: 1 bar\nsections: [{name: drop, bars: 4, play: [lead of c]}]", "x.yaml:2:46: sections[1].play: found \"of c\", want one of the loops a, b"},
		{"no sections", "seed: 1", "found 2 loops and a recipe without sections, want sections, which say what plays, or one loop"},
		{"no word for a loop", "phrase: 1 bar\nsections: [{name: drop, bars: 4, loop: b on a}]", "x.yaml:2:40: sections[1].loop: found \"b on a\", want a loop such as b, or b over a"},
		{"over a loop that is not there", "phrase: 1 bar\nsections: [{name: drop, bars: 4, loop: a over c}]", "x.yaml:2:47: sections[1].loop: found \"c\", want one of the loops a, b"},
		{"over itself", "phrase: 1 bar\nsections: [{name: drop, bars: 4, loop: a over a}]", "x.yaml:2:40: sections[1].loop: found \"a over a\", want another loop after over"},
		{"loop beside loops", "loops: {a: groove.mid}\nloop: 4 bars" + sections, "x.yaml:2:7: loop: found \"loop\" beside \"loops\", want one of them"},
		{"input beside loops", "loops: {a: groove.mid}\ninput: groove.mid" + sections, "x.yaml:2:8: input: found \"input\" beside \"loops\", want one of them"},
		{"a folder above", "loops: {a: ../groove.mid}" + sections, "x.yaml:1:12: loops.a: found \"../groove.mid\", want a file beside the recipe, such as groove.mid, with \"/\" between folders and without \"..\""},
		{"more files than a draft has", "loops: {a: groove.mid, b: [" + strings.Repeat("break.mid, ", recipes.MaxFiles) + "]}" + sections, "x.yaml:1:8: loops: found 1001 files, want at most 1000"},
		{"no file", "loops: {a: {bars: 1-2}}" + sections, "x.yaml:1:12: loops.a: found no \"file\", want the file of the loop"},
		{"bars backwards", "loops: {a: {file: groove.mid, bars: 4-3}}" + sections, "x.yaml:1:37: loops.a.bars: found \"4-3\", want bars such as 9-16"},
		{"bars past the end", "loops: {a: {file: groove.mid, bars: 5-8}, b: break.mid}" + sections, "x.yaml:1:37: loops.a: found bars 5-8, want bars within the 4 of groove.mid"},
		{"a file that is not there", "loops: {a: groove.mid, b: brake.mid}" + sections, "x.yaml:1:27: loops.b: brake.mid: found no such file"},
		{"one of several files is not there", "loops:\n  a:\n    - groove.mid\n    - brake.mid" + sections, "x.yaml:4:7: loops.a: brake.mid: found no such file"},
		{"a file of a loop twice", "loops: {a: [groove.mid, groove.mid], b: break.mid}" + sections, "x.yaml:1:25: loops.a: found \"groove.mid\" again, want each file once"},
		{"a loop twice", "loops: {a: groove.mid, b: groove.mid}" + sections, "x.yaml:1:24: loops.b: b (groove.mid): found the same notes as in a (groove.mid), want each loop once"},
		{"no loop is asked for where there is one", "loops: {a: groove.mid}\nphrase: 1 bar\nsections: [{name: drop, bars: 4, loop: b}]", "x.yaml:3:40: sections[1].loop: found \"b\", want one of the loops a"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			r, err := recipes.Parse("x.yaml", []byte(row.text))
			if err == nil {
				in := grooveAndBreak(t)
				if r.Loops != nil {
					in = nil
				}
				_, err = recipes.Draft(in, r, recipes.Options{Open: func(path string) (*smf.File, error) {
					f := map[string]*smf.File{"groove.mid": gridLoop(t, grooveLoop).File, "break.mid": gridLoop(t, breakLoop).File}[path]
					if f == nil {
						return nil, fmt.Errorf("%s: found no such file", path)
					}
					return f, nil
				}})
			}
			if got := strings.Split(fmt.Sprint(err), "\n")[0]; got != row.want {
				t.Errorf("got  %s\nwant %s", got, row.want)
			}
		})
	}
	alone := []recipes.Input{gridLoop(t, grooveLoop)}
	_, err := recipes.Draft(alone, mustParse(t, "phrase: 1 bar\nsections: [{name: drop, bars: 4, loop: b}]"), recipes.Options{})
	if got, want := strings.Split(fmt.Sprint(err), "\n")[0], "x.yaml:2:40: sections[1].loop: found \"b\", want no loop: there is one only"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// A part that is asked to play a loop without a note of it is silent, which is told.
func TestAPartOfALoopThatDoesNotHaveIt(t *testing.T) {
	for _, row := range []struct{ rule, play, told, onsets string }{
		{"all but one play", "[all, hat of b]", "drop: b has no notes of hat: silent there", "kick 4444\nhat ....\nbass 3333\nlead 1234\npad ...."},
		{"a group of which it has some", "[all, drums of b]", "drop: b has no notes of hat: silent there", "kick 1111\nhat ....\nbass 3333\nlead 1234\npad ...."},
		{"what it has", "[all, lead of b]", "", "kick 4444\nhat 4444\nbass 3333\nlead 5656\npad ...."},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got, err := recipes.Draft(grooveAndBreak(t), mustParse(t, "phrase: 1 bar\nsections: [{name: drop, bars: 4, play: "+row.play+"}]"), recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if told := slices.Contains(got.Told, row.told); told != (row.told != "") || !told && strings.Contains(strings.Join(got.Told, "\n"), "silent") {
				t.Errorf("told %q, want %q", got.Told, row.told)
			}
			if got := onsetsByBar(got.Song); got != row.onsets {
				t.Errorf("got\n%s\nwant\n%s", got, row.onsets)
			}
		})
	}
}

// A loop that nothing asks for is likely forgotten; a recipe for any loop shares them out by itself.
func TestALoopThatIsPlayedNowhere(t *testing.T) {
	const forgotten = "loop b is played nowhere: write loop: b in a section, or a part of b in what one plays"
	for _, row := range []struct {
		rule, text string
		warned     bool
	}{
		{"no section plays it", "sections: [{name: drop, bars: 4}]", true},
		{"a section plays it", "sections: [{name: drop, bars: 4}, {name: break, bars: 4, loop: b}]", false},
		{"a section plays it over another", "sections: [{name: drop, bars: 4, loop: a over b}]", false},
		{"a line-up asks for a part of it", "sections: [{name: drop, bars: 4, play: [all, lead of b]}]", false},
		{"the recipe is for any loop", "substitutes: nearest\nsections: [{name: drop, bars: 4}]", false},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got, err := recipes.Draft(grooveAndBreak(t), mustParse(t, "phrase: 1 bar\n"+row.text), recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if warned := slices.Contains(got.Warnings, forgotten); warned != row.warned {
				t.Errorf("warned: %v, want %v; %q", warned, row.warned, got.Warnings)
			}
		})
	}
	quiet := named(gridLoop(t, "pad x---------------|x---------------\nlead xxxxxxx.........|xxxxxxxx........"), "break.mid", "")
	studied := mustParse(t, "substitutes: nearest\nphrase: 1 bar\nsections: [{name: drop, bars: 4}, {name: break, bars: 4}]")
	in := []recipes.Input{grooveAndBreak(t)[0], quiet}
	in[0].Loop, in[1].Loop = "a", "b"
	got, err := recipes.Draft(in, studied, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if want := "kick 4444 ....\nhat 4444 ....\nbass 3333 ....\nlead 1234 7878\npad .... 1111"; onsetsByBar(got.Song) != want {
		t.Errorf("got\n%s\nwant\n%s", onsetsByBar(got.Song), want)
	}
	checkLaws(t, in, studied, recipes.Options{})
}

// Which loop is the main one is this project's rule: beat and bass come first, then, unless it is weak, the most parts.
func TestWhichLoopIsTheMainOne(t *testing.T) {
	const beatAndBass = "kick x...x...x...x...\nbass x..x..x........."
	club, _ := recipes.Builtin("club")
	for _, row := range []struct{ rule, a, b, told string }{
		{"the most parts", beatAndBass, beatAndBass + "\nhat ..x...x...x...x.", "b is the main loop: it has 3 parts"},
		{"but beat and bass come first", "kick x...x...x...x...\nhat ..x...x...x...x.\nlead xxxx............\npad x---------------", beatAndBass, "b is the main loop: it has beat and bass, and most of the energy"},
		{"and a weak one is none", "kick x...............\nbass x...............\nhat ....x...........", "kick x...x...x...x...\nbass xxxxxxxxxxxxxxxx", "b is the main loop: it has beat and bass, and most of the energy"},
		{"of equals the louder one", beatAndBass, "kick x...x...x...x...\nbass x.xx.xx.xx.x.xx.", "b is the main loop: it has 2 parts"},
		{"without beat and bass the one with most of them", "lead xxxx............\npad x---------------\nstab x...x...........", "kick x...x...x...x...\npad x---------------", "b is the main loop: it has most of the energy"},
		{"one of equals", beatAndBass, "kick x...x...x...x...\nbass ..x..x..x.......", "a is the main loop: it has 2 parts"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got, err := recipes.Draft([]recipes.Input{named(gridLoop(t, row.a), "a.mid", "a"), named(gridLoop(t, row.b), "b.mid", "b")}, club, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Contains(got.Told, row.told) {
				t.Errorf("told\n%s\nwant %s", strings.Join(got.Told, "\n"), row.told)
			}
		})
	}
}

// A loop for which there is no place is told to be left out.
func TestLoopsThatABuiltinRecipeHasNoPlaceFor(t *testing.T) {
	groove := gridLoop(t, grooveLoop)
	quiet := func(lead string) recipes.Input {
		return gridLoop(t, "pad x---------------|x---------------\nlead "+lead+"|xxxxxxxx........")
	}
	strong := gridLoop(t, "kick x...x...x...x...|x...x...x...x...\nbass x..x..x.........|x..x..x.........\nlead xxxxxxx.........|xxxxxxxx........")
	const row = "substitutes: nearest\nphrase: 1 bar\nsections: "
	for _, tt := range []struct {
		rule, text string
		in         []recipes.Input
		told       []string
	}{
		{"a break and its build are one place", row + "[{name: drop, bars: 4}, {name: break, bars: 4}, {name: build, bars: 4}]", []recipes.Input{groove, quiet("xxxxxxx........."), quiet("xxxxx...........")},
			[]string{"b plays in breaks and builds: it has no beat", "c is not used: it has no beat, and no break or build is left for it"}},
		{"two breaks are two", row + "[{name: break, bars: 4}, {name: drop, bars: 4}, {name: break, bars: 4}, {name: build, bars: 4}]", []recipes.Input{groove, quiet("xxxxxxx........."), quiet("xxxxx...........")},
			[]string{"b plays in breaks and builds: it has no beat", "c plays in breaks and builds: it has no beat"}},
		{"no drop", row + "[{name: groove, bars: 4}]", []recipes.Input{groove, strong}, []string{"b is not used: it has the energy of a, and there is no drop"}},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var in []recipes.Input
			for i := range tt.in {
				name := string(rune('a' + i))
				in = append(in, named(tt.in[i], name+".mid", name))
			}
			got, err := recipes.Draft(in, mustParse(t, tt.text), recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, want := range tt.told {
				if !slices.Contains(got.Told, want) {
					t.Errorf("told\n%s\nwant %s", strings.Join(got.Told, "\n"), want)
				}
			}
		})
	}
}

// What a built-in recipe does with more than one loop is told, and is the same when written out.
func TestBuiltinRecipesShareOutTheLoops(t *testing.T) {
	quiet := strings.Replace(breakLoop, "kick x...............|x...............\n", "", 1)
	strong := "kick x...x...x...x...|x...x...x...x...\nbass x..x..x.........|x..x..x.........\nlead xxxxxxx.........|xxxxxxxx........"
	club, _ := recipes.Builtin("club")
	for _, row := range []struct {
		rule, second, told string
		lead               map[string]bool // by section: whether the second loop's lead may be heard there
	}{
		{"without a beat it plays in breaks and builds", quiet, "b plays in breaks and builds: it has no beat", map[string]bool{"break": true, "build": true}},
		{"with its energy it plays the second half of drop 2", strong, "b plays the second half of drop 2; what it does not have plays on from a", map[string]bool{"drop": true}},
	} {
		t.Run(row.rule, func(t *testing.T) {
			in := []recipes.Input{gridLoop(t, grooveLoop), named(gridLoop(t, row.second), "second.mid", "")}
			got, err := recipes.Draft(in, club, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(strings.Join(got.Told, "\n"), row.told) {
				t.Errorf("told\n%s\nwant %s", strings.Join(got.Told, "\n"), row.told)
			}
			full := got.ToReview().Full
			lead := full.Parts[full.Index("lead")]
			heard := false
			for _, sec := range got.Song.Sections {
				for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar++ {
					second := len(got.Song.In(lead, got.Song.BarRange(bar, bar))) > 4
					heard = heard || second
					if second && !row.lead[string(sec.Kind)] {
						t.Errorf("bar %d of %s plays the second loop", bar-sec.Bar+1, sec.Name)
					}
				}
			}
			if !heard {
				t.Error("the second loop is heard nowhere")
			}
			checkLaws(t, in, club, recipes.Options{})
		})
	}
}
