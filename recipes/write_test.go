package recipes_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

func TestTempiAreWrittenAsTheyAreRead(t *testing.T) {
	for _, text := range []string{"126", "127.5", "174.05", "89.999", "4", "999"} {
		r, err := recipes.Parse("x.yaml", []byte("bpm: "+text))
		if err != nil {
			t.Fatal(err)
		}
		if got := smf.DecimalText(r.BPM, 3); got != text {
			t.Errorf("%s is written as %s", text, got)
		}
	}
}

// TestClubWrittenOut holds the laws of a written recipe on every demo loop at several lengths; in a first run on each at
// one.
func TestClubWrittenOut(t *testing.T) {
	t.Parallel()
	for i, in := range demoLoops(t) {
		for k, o := range []recipes.Options{{}, {Bars: 72}, {Bars: 256, Take: 2}, {Micros: 300_000_000}, {LoopBars: 4}} {
			if (i+k)%oracle.Size(9, 1, 1) != 0 {
				continue
			}
			t.Run(fmt.Sprintf("%s, %d bars, loop of %d", in.Name, o.Bars, o.LoopBars), func(t *testing.T) {
				checkLaws(t, []recipes.Input{in}, club(t), o)
			})
		}
	}
}

// TestBuiltinsWrittenOut holds the laws for every built-in recipe and demo loop, and two takes of each; a first run takes a
// fifth of the pairs, and of each one take.
func TestBuiltinsWrittenOut(t *testing.T) {
	t.Parallel()
	for k, info := range recipes.Builtins() {
		for i, in := range demoLoops(t) {
			if (i+k)%oracle.Size(9, 1, 1) != 0 {
				continue
			}
			t.Run(info.Name+" on "+in.Name, func(t *testing.T) {
				r, _ := recipes.Builtin(info.Name)
				takes := []int{2, 0}
				for _, take := range takes[:oracle.Size(1, 2, 2)] {
					checkLaws(t, []recipes.Input{in}, r, recipes.Options{Take: take})
				}
			})
		}
	}
}

func TestEverythingIsWrittenOut(t *testing.T) {
	const recipe = `length: 16 bars
seed: 7
parts:
  stab: {home: {cutoff: 90, 12: 3}, mapped: [cutoff, 12], tails: ring, entry: restrike}
  hat: {cycle: 1 bar}
sections:
  - {name: intro, bars: 8, play: [beat, tops from 5], least: 4}
  - {name: x, kind: drop, bars: 8, phase: run-on}
moves:
  - mute: {part: bass or kick, over: last 1 bar of drop}
  - thin: {part: tops, keep: 50%, by: chance}
  - mute: {part: ride if any}
  - thin: {part: stab, keep: 75%, seed: 3, by: chance}
review:
  stands-still: {warn: 24}
  length: {least: 16 bars}
  hung: off
  overlap: {}
`
	in := []recipes.Input{gridLoop(t, smallLoop)}
	r, err := recipes.Parse("x.yaml", []byte(recipe))
	if err != nil {
		t.Fatal(err)
	}
	got, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	const want = `input: [grid.mid]
loop: 2 bars
bpm: 120
metre: 4/4
length: 16 bars
phrase: 8 bars
seed: 7

parts:
  kick: {track: 1, name: kick, channel: 1, port: 0, role: kick, job: beat, tails: ring, entry: wait}
  clap: {track: 2, name: clap, channel: 2, port: 0, role: clap, job: backbeat, tails: ring, entry: wait}
  hat: {track: 3, name: hat, channel: 3, port: 0, role: hat, job: tops, cycle: 1 bar, tails: ring, entry: wait}
  bass: {track: 4, name: bass, channel: 4, port: 0, role: bass, job: bass, tails: cut, entry: wait}
  stab: {track: 5, name: stab, channel: 5, port: 0, role: stab, job: hook, home: {cutoff: 90, 12: 3}, mapped: [cutoff, 12], tails: ring, entry: restrike}

sections:
  - {name: intro, kind: intro, bars: 8, phase: to-end, least: 4, play: [kick, hat from 5]}
  - {name: x, kind: drop, bars: 8, phase: run-on, play: [kick, clap, hat, bass, stab]}

moves:
  - mute: {part: [bass], over: last 1 bar of drop}
  - thin: {part: [hat], over: all, seed: SEED, keep: 50%, by: chance}
  # skipped: mute: {part: ride if any} (no such part)
  - thin: {part: [stab], over: all, seed: 3, keep: 75%, by: chance}

review:
  stands-still: {phrase: 8, warn: 24}
  length: {least: 16 bars, most: 14m2s}
  hung: off
  overlap: {}
`
	text := string(got.WriteRecipe())
	_, after, _ := strings.Cut(text, "over: all, seed: ")
	seed, _, _ := strings.Cut(after, ",")
	if text != strings.Replace(want, "SEED", seed, 1) || len(seed) < 5 {
		t.Errorf("got\n%s\nwant\n%s", text, want)
	}
	checkLaws(t, in, r, recipes.Options{})
}

func TestTrackNamesThatAreNoTextAreLeftOut(t *testing.T) {
	in := gridLoop(t, "kick x...x...x...x...")
	store, name := smf.AppendLong(nil, 0, 0xFF, 0x03, []byte("Gro\xdfe Trommel"))
	in.File.Tracks[0] = smf.TrackFromStore(append([]smf.Event{name}, in.File.Tracks[0].Events[1:]...), in.File.Tracks[0].End, store)
	r, err := recipes.Parse("x.yaml", []byte("length: 4 bars"))
	if err != nil {
		t.Fatal(err)
	}
	checkLaws(t, []recipes.Input{in}, r, recipes.Options{})
	got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if text := string(got.WriteRecipe()); strings.Contains(text, "name:") {
		t.Errorf("found a name in\n%s", text)
	}
}

// A part that is called as one role and was given another is written so that it is read again.
func TestPartsOfAnotherRoleWrittenOut(t *testing.T) {
	const loop = `
		kick x...x...x...x...
		clap ....x.......x...
		hat  ..x...x...x...x.
		bass ..x-..x-..x-..x-
		stab x--.....x--.....`
	for _, parts := range []string{"{clap: {role: snare}}", "{hat: {role: perc}}", "{kick: {role: tom}, clap: {role: shaker}}", "{bass: {role: sub}}", "{stab: {role: lead}}"} {
		first, err := draft(t, loop, "parts: "+parts+"\nlength: 4 bars\nmoves: [mute: {part: all but hat if any, over: bar 2}]", recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v", parts, err)
			continue
		}
		text := first.WriteRecipe()
		second, err := draft(t, loop, string(text), recipes.Options{})
		if err != nil {
			t.Errorf("%s: %v\n%s", parts, err, text)
			continue
		}
		if again := second.WriteRecipe(); !bytes.Equal(again, text) {
			t.Errorf("%s: written\n%s\nthen\n%s", parts, text, again)
		}
	}
}

// In a recipe for any loop a span may say more than there is; it is written as what it came to, to the tick, and the
// written recipe gives the same bytes.
func TestWhatIsClippedIsWrittenAsItCameTo(t *testing.T) {
	const loop = `
		kick  x...x...x...x...|x...x...x...x...
		hat   xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx
		pump  x...x...x...x...|x...x...x...x...
		snare ....x.......x...|....x.......x...`
	for _, row := range []struct{ rule, recipe, want string }{
		{"beats of what is no beat long", "length: 4 bars\nmoves: [{mute: {part: hat, over: last 2 beats of last 1/16 of all}}]", "over: 1/16 before 5.1"},
		{"more bars than there are", "length: 4 bars\nmoves: [{mute: {part: hat, over: every 16 bars of first 16 bars of all}}]", "over: bars 1-4"},
		{"a fill over what is left", "length: 4 bars\nmoves: [{fill: {over: first 4 beats of last 3/16 of bar 2}}]", "over: 3/16 before 3.1"},
		{"ghosts over what is left", "length: 4 bars\nmoves: [{ghost: {part: snare, over: beat 1-9 of 1/12 after 2.2}}]", "over: 1/12 after 2.2"},
		{"only the span that says too much", "length: 4 bars\nmoves: [{mute: {part: hat, over: [last 1 beat, bars 4-9]}}]", "over: [last 1 beat, bar 4]"},
		{"a trigger that rests", "parts: {pump: {role: trigger}}\nsections: [{name: a, bars: 8, play: [kick, pump out in turn]}]", "play: [kick, pump out in turn]"},
	} {
		r, err := recipes.Parse("any.yaml", []byte("substitutes: nearest\n"+row.recipe))
		if err != nil {
			t.Fatalf("%s: %v", row.rule, err)
		}
		in := []recipes.Input{gridLoop(t, loop)}
		out, err := recipes.Draft(in, r, recipes.Options{})
		if err != nil {
			t.Fatalf("%s: %v", row.rule, err)
		}
		if got := string(out.WriteRecipe()); !strings.Contains(got, row.want) {
			t.Errorf("%s: got\n%s\nwant in it %s", row.rule, got, row.want)
		}
		checkLaws(t, in, r, recipes.Options{})
	}
}

// A comment that stands for a skipped step comes from a recipe that somebody wrote, and goes into those written after it.
func TestSkippedStepsAreWrittenVisibly(t *testing.T) {
	in := []recipes.Input{gridLoop(t, "kick x...x...x...x...")}
	r, err := recipes.Parse("x.yaml", []byte("length: 2 bars\nmoves:\n  # skipped: mute \u202e{part: hat} \u200b(gone)\n  - mute: {part: kick, over: bar 1}\n"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := string(out.WriteRecipe()); !strings.Contains(got, "# skipped: mute ?{part: hat} ?(gone)\n") {
		t.Errorf("got\n%s", got)
	}
}

// Parts are called as their tracks, in whatever script, and by that name a recipe speaks of them.
func TestPartsNamedInOtherScripts(t *testing.T) {
	in := []recipes.Input{gridLoop(t, "бас x...x...x...x...|x...x...x...x...\nхэт xxxxxxxxxxxxxxxx|xxxxxxxxxxxxxxxx\nキック x...x...x...x...|x...x...x...x...")}
	r, err := recipes.Parse("x.yaml", []byte("length: 4 bars\nparts: {хэт: {role: hat}}\nmoves: [{mute: {part: [хэт, キック], over: bar 1}}, {layer: {part: бас, as: верх, interval: 12}}]"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`  "хэт": {`, `part: ["хэт", "キック"]`, `as: "верх"`} {
		if got := string(out.WriteRecipe()); !strings.Contains(got, want) {
			t.Errorf("got\n%s\nwant in it %s", got, want)
		}
	}
	checkLaws(t, in, r, recipes.Options{})
}

// Parts that a step names beside those it works on are written by their names too: a written recipe knows no stand-ins.
func TestPartsBesideAreWrittenByName(t *testing.T) {
	loop := gridLoop(t, "tom  x...x...x.....x.\nbass x-x-x-x-x-x-x-x-")
	for _, step := range []struct{ recipe, written string }{
		{"hit: {sound: kick or snare if any, at: 1.2, velocity: 90%}", "hit: {sound: tom,"},
		{"duck: {part: bass, by: kick, over: all, to: 40%, length: 1/8}", "by: tom,"},
	} {
		r, err := recipes.Parse("recipe.yaml", []byte("substitutes: nearest\nlength: 8 bars\nmoves:\n  - "+step.recipe+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		first, err := recipes.Draft([]recipes.Input{loop}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		written := first.WriteRecipe()
		if !strings.Contains(string(written), step.written) {
			t.Errorf("found no %q in\n%s", step.written, written)
		}
		again, err := recipes.Parse("written.yaml", written)
		if err != nil {
			t.Fatal(err)
		}
		second, err := recipes.Draft([]recipes.Input{loop}, again, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(bytesOf(t, first.File), bytesOf(t, second.File)) {
			t.Errorf("%s: the written recipe gives other bytes:\n%s", step.recipe, written)
		}
	}
}
