package recipes_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// chooser draws from a seeded stream, so that every failure can be run again.
type chooser struct {
	*rand.Rand
	seed    uint64 // of the stream
	choices bool   // recipes have choices, sections like others and steps with except
	any     bool   // recipes are written for any loop: their spans may say more than there is
}

func newChooser(seed uint64) chooser {
	return chooser{Rand: rand.New(rand.NewPCG(seed, 1)), seed: seed}
}

func (c chooser) one(of ...string) string { return of[c.IntN(len(of))] }

func (c chooser) often() bool { return c.IntN(4) > 0 }

// grid makes a loop of 1 to 8 bars of random parts as a grid.
func (c chooser) grid() string {
	names := []string{"kick", "snare", "clap", "hat", "open-hat", "shaker", "ride", "crash", "tom", "perc", "bass", "sub", "lead", "stab", "chords", "arp", "pad", "strings", "fx", "vocal", "trigger"}
	c.Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	bars, steps := []int{1, 2, 4, 8, 3}[c.IntN(5)], []int{16, 16, 16, 12, 14}[c.IntN(5)]
	var b strings.Builder
	for _, name := range names[:1+c.IntN(9)] {
		kind := c.IntN(3)
		var row []byte
		for i := range bars * steps {
			letter := byte('.')
			switch {
			case kind == 0 && i%4 == 0, kind == 1 && c.IntN(5) == 0, kind == 2 && c.IntN(24) == 0:
				letter = "xXo"[c.IntN(3)]
			case kind == 2 && i > 0 && row[len(row)-1] != '.' && c.IntN(20) > 0:
				letter = '-'
			}
			row = append(row, letter)
		}
		if !bytes.ContainsAny(row, "xXo") {
			row[0] = 'x'
		}
		for at := bars - 1; at > 0; at-- {
			row = slices.Insert(row, at*steps, '|')
		}
		fmt.Fprintf(&b, "%s %s\n", name, row)
	}
	return b.String()
}

// loop makes an input of a random grid, or takes one of the demo loops. It returns the grid, or the demo's name, too.
func (c chooser) loop(t testing.TB, demos []recipes.Input) ([]recipes.Input, string) {
	if c.seed%2 > 0 {
		in := demos[int(c.seed)%len(demos)]
		return []recipes.Input{in}, in.Name
	}
	grid := c.grid()
	return []recipes.Input{gridLoop(t, grid)}, grid
}

// recipe makes a random recipe that is right for any loop.
func (c chooser) recipe() string {
	var b strings.Builder
	sections := c.IntN(5)
	if c.any {
		b.WriteString("substitutes: nearest\n")
	}
	if c.often() {
		fmt.Fprintf(&b, "phrase: %s bars\n", c.one("1", "2", "4", "8"))
	}
	if c.IntN(3) == 0 {
		fmt.Fprintf(&b, "seed: %d\n", c.IntN(9))
	}
	extend := ""
	switch {
	case sections == 0 && c.often():
		fmt.Fprintf(&b, "length: %d bars\n", 1+c.IntN(40))
	case sections == 0:
		extend = fmt.Sprintf("  - extend: {to: %d bars}\n", 1+c.IntN(40))
	}
	if c.IntN(6) == 0 {
		fmt.Fprintf(&b, "loop: %d bars\n", 1+c.IntN(9))
	}
	if sections > 0 {
		b.WriteString("sections:\n")
		for i := range sections {
			section := c.section()
			switch {
			case !c.choices:
			case i > 0 && c.IntN(4) == 0:
				section = "{name: y, like: opening" + c.one("", ", bars: 12", ", play: [same, bass from 5]", ", bars: 24, play: [same from 3, hook]", ", play: [same in second half, tops], energy: 80%", ", energy: falling", ", bars: 17, play: [same]") + "}"
			case i == 0:
				section = c.sectionWithout("opening")
				section = "{name: opening, " + section[strings.Index(section, "bars:"):]
			case c.IntN(4) == 0:
				alone := func() string { return c.sectionWithout("one of") }
				section = "{one of: [" + alone() + ", " + c.one(alone(), "["+alone()+", "+alone()+"]") + "]" + c.one("", ", as: form") + "}"
			}
			b.WriteString("  - " + section + "\n")
		}
		if c.choices { // all names are looked for when a recipe with choices is read
			b.WriteString("  - {name: x, bars: 8}\n  - {name: drop, bars: 8}\n")
		}
	}
	if n := c.IntN(8); n > 0 || extend != "" {
		b.WriteString("moves:\n" + extend)
		for range n {
			b.WriteString("  - " + c.chosenStep(sections > 0) + "\n")
		}
	}
	if c.IntN(8) == 0 {
		b.WriteString("review: " + c.one("{drop: off}", "{peak: {from: 40, by: 0}, marker: {}}", "{stands-still: {phrase: 4}, hung: off}") + "\n")
	}
	return b.String()
}

// chosenStep is a step with a choice in its place or inside, or none; some leave out a span.
func (c chooser) chosenStep(sections bool) string {
	step := c.step(sections)
	if !c.choices {
		return step
	}
	if head, ok := strings.CutSuffix(step, "}"); ok && strings.Contains(step, "over: ") && c.IntN(3) == 0 {
		step = head + ", except: " + c.span(sections) + "}"
	}
	switch c.IntN(8) {
	case 0:
		return "{one of: [{" + step + "}, {" + c.step(sections) + "}]" + c.one("", ", as: way") + "}"
	case 1:
		return "{one of: [[{" + step + "}, {" + c.step(sections) + "}], [], {" + c.step(sections) + "}]}"
	case 2:
		return "mute: {part: {one of: [hook, bass, [tops, perc]]}, over: {one of: [" + c.span(sections) + ", " + c.span(sections) + "]}}"
	}
	return step
}

// sectionWithout is a section in which a word does not stand.
func (c chooser) sectionWithout(word string) string {
	for {
		if text := c.section(); !strings.Contains(text, word) {
			return text
		}
	}
}

func (c chooser) section() string {
	bars := 8 + c.IntN(20)
	var play []string
	for range c.IntN(5) {
		item := c.one("beat", "backbeat", "tops", "tops 1 if any", "perc", "bass", "hook", "bed", "extra", "all", "drums", "music", "all but kick if any", "hat if any", "trigger if any")
		if c.IntN(6) == 0 {
			item += c.one(" in turn", " out in turn")
		}
		switch {
		case c.IntN(6) == 0:
			item += " in " + c.one("first half", "second half", "last third", "first quarter")
		case c.IntN(3) == 0:
			item += fmt.Sprintf(" from %d", 1+c.IntN(7)) + c.one("", "", ".2")
			fallthrough
		default:
			if c.IntN(4) == 0 {
				item += fmt.Sprintf(" to %d", 8+c.IntN(bars-7)) + c.one("", "", ".1")
			}
		}
		play = append(play, item)
	}
	text := fmt.Sprintf("{name: %s, bars: %d", c.one("intro", "groove", "break", "build", "drop", "outro", "x"), bars)
	if c.often() {
		text += ", play: [" + strings.Join(play, ", ") + "]"
	}
	if c.IntN(5) == 0 {
		text += ", phase: run-on"
	}
	if c.choices && c.IntN(3) == 0 {
		text += ", energy: " + c.one("60%..70%", "-6 dB", "rising", "falling", "50%..60% to 90%", "[95%..100%, 86%..97%]", "0.5 dB..3 dB over opening", "9 dB under opening", "{one of: [55%, [70%, 90%], rising]}")
		if c.IntN(2) == 0 {
			text += ", add: " + c.one("[hook, bed, extra]", "[all]", "tops", "[drums, music]", "[tops 1 if any, perc, bass]", "[bass, {one of: [hook, perc]}]")
		}
	}
	return text + "}"
}

func (c chooser) span(sections bool) string {
	spans := []string{"all", "last 1 bar", "first 2 bars", "every 4 bars", "every other bar", "last 2 beats of every 2 bars", "1 beat before end", "last 3/16", "bar 1", "1.1-2.1"}
	if sections {
		spans = append(spans, "every section", "last 1 bar of every section", "first 4 bars of every section but x", "2 bars before every section", "bars 2-7 of every section",
			"second half of every section", "last third of every 8 bars of every section", "loop bar 1 of every section", "1 beat before loop bar 1")
	}
	span := c.one(spans...)
	for c.any && c.IntN(2) == 0 {
		span = c.within(span)
	}
	return span
}

// within is a span inside, or beside, another, which may have no room for it.
func (c chooser) within(span string) string {
	length := c.one("1 bar", "3 bars", "16 bars", "1 beat", "2 beats", "7 beats", "1/16", "3/16", "1/12", "5/4", "1/7")
	return c.one("first "+length+" of ", "last "+length+" of ", "every "+length+" of ", "every other "+length+" of ",
		"bar 2 of ", "bars 3-5 of ", "beat 2 of ", "beat 1-9 of ", "first half of ", "last third of ", "loop bar 2 of ",
		length+" before ", length+" after ", length+" before end of ", "from bar 1 to ") + span
}

func (c chooser) step(sections bool) string {
	part := c.one("beat", "tops", "hook", "bass", "bed", "kick if any", "snare or clap or hat if any", "all", "drums", "music", "all but bass if any", "[beat, tops]")
	over := c.span(sections)
	if c.IntN(5) == 0 {
		return c.compositeStep(over, sections)
	}
	if c.often() {
		return c.laterStep(part, over)
	}
	switch c.IntN(9) {
	case 0:
		return fmt.Sprintf("mute: {part: %s, over: %s}", part, over)
	case 1:
		return fmt.Sprintf("solo: {part: %s, over: %s}", part, over)
	case 2:
		return fmt.Sprintf("double: {part: %s, over: %s, velocity: %s}", part, over, c.one("40%", "85%", "120%"))
	case 3:
		return fmt.Sprintf("thin: {part: %s, over: %s, keep: %s, by: %s}", part, over, c.one("10%", "50%", "75%"), c.one("weight", "even", "bars", "chance"))
	case 4:
		return fmt.Sprintf("thin: {part: %s, keep: 50%%}", part)
	case 5:
		return fmt.Sprintf("roll: {part: %s, over: %s, from: 1/4, to: %s, gap: %s}", part, over, c.one("1/16", "1/32"), c.one("auto", "1 beat", "1/8"))
	case 6:
		return fmt.Sprintf("hit: {sound: %s, at: %s, velocity: 90%%}", c.one("crash", "ride", "open-hat", "impact", "kick or snare or lead or pad if any"), c.one("bar 1", "1.2", "[bar 1, 2.1]"))
	case 7:
		return fmt.Sprintf("ride: {part: %s, over: %s, controller: %s, from: %s, to: %s, curve: %s}", c.one("hook", "bed", "lead if any"), over,
			c.one("cutoff", "expression", "12"), c.one("35%", "10", "home+20"), c.one("home", "100", "home-10"), c.one("linear", "exp", "s"))
	}
	return "mark: {at: [bar 1, 1.2], text: here}"
}

// compositeStep is a step of a move that stands for others.
func (c chooser) compositeStep(over string, sections bool) string {
	at := "bar 2"
	if sections {
		at = c.one("every section", "bar 5", "[every drop, bar 9]")
	}
	switch c.IntN(4) {
	case 0:
		if !sections {
			break
		}
		spans := []string{"first 2 bars of every section", "last 2 bars of every section", "bars 4-5 of every section"}
		c.Shuffle(len(spans), func(i, j int) { spans[i], spans[j] = spans[j], spans[i] })
		return fmt.Sprintf("emphasise: {quiet: %s, loud: %s, by: %s}", spans[0], spans[1], c.one("1%", "20%", "55%", "100%"))
	case 2:
		return "lead-in: {at: " + strings.Replace(at, "every drop, ", "", 1) + "}"
	case 1:
		return fmt.Sprintf("lead-in: {at: bar 2, with: [%s, %s], length: %s}", c.one("fill", "roll", "gap"), c.one("kick-out", "swell", "double", "ride", "bass-out"), c.one("1 beat", "2 bars", "3/16"))
	}
	return fmt.Sprintf("freshen: {every: %s, over: %s%s}", c.one("1 bar", "2 bars", "8 bars"), over, c.one("", ", part: tops", ", part: [hook, bass]"))
}

// laterStep is a step of one of the moves that change the notes of a part where they stand, or write new ones.
func (c chooser) laterStep(part, over string) string {
	target := fmt.Sprintf("{part: %s, over: %s", part, over)
	switch c.IntN(22) {
	case 19:
		return "plain: " + target + "}"
	case 20:
		return fmt.Sprintf("duck: {part: %s, by: %s, over: %s, to: %s, length: %s}", c.one("bass", "hook", "bed", "lead if any"), c.one("beat", "backbeat", "drums"), over, c.one("0%", "40%", "99%"), c.one("1/8", "1/32"))
	case 21:
		return "thin: " + target + ", keep: " + c.one("beat 1", "beats 1 and 3") + "}"
	case 0:
		return "ghost: " + target + ", density: " + c.one("50%", "100%") + "}"
	case 1:
		return "stutter: " + target + ", slice: " + c.one("1/8", "1/16") + "}"
	case 2:
		return "stretch: " + target + ", by: " + c.one("half", "double") + "}"
	case 3:
		return "reverse: " + target + "}"
	case 4:
		return "shift: " + target + ", by: " + c.one("1/16", "-1/8", "5 ticks") + ", edges: " + c.one("wrap", "clip") + "}"
	case 5:
		return "swing: " + target + ", amount: " + c.one("50%", "58%", "66.7%") + ", grid: " + c.one("1/8", "1/16") + "}"
	case 6:
		return "humanise: " + target + ", timing: " + c.one("0", "8", "30") + "}"
	case 7:
		return fmt.Sprintf("fill: {over: %s}", over)
	case 8:
		return "transpose: " + target + ", semitones: " + c.one("-2", "1", "7") + "}"
	case 9:
		return "layer: " + target + ", interval: " + c.one("-12", "7") + "}"
	case 10:
		return fmt.Sprintf("rise: {part: %s, over: %s, by: %s}", c.one("hook", "bed"), over, c.one("steps", "bend"))
	case 11:
		return "gate: " + target + ", length: " + c.one("50%", "1/16", "150%") + "}"
	case 12:
		return "shape: " + target + ", from: " + c.one("0%", "40%") + ", to: " + c.one("90%", "120%") + "}"
	case 13:
		return "echo: " + target + ", spacing: " + c.one("1/8", "3/16") + ", tails: " + c.one("cut", "ring") + "}"
	case 14:
		return fmt.Sprintf("tempo: {over: %s, to: %s}", over, c.one("90%", "110%"))
	case 16:
		return fmt.Sprintf("copy: {part: %s, over: %s, to: %s}", part, c.one("bar 1", "last 1 bar", "first 2 beats"), c.one("bar 1", "[bar 1, 1.2]"))
	case 17:
		return fmt.Sprintf("drone: {over: %s, velocity: %s}", over, c.one("1%", "45%"))
	case 15:
		return "vary: " + target + ", rate: " + c.one("0.01%", "5%", "100%") + ", anchors: " + c.one("true", "false") + "}"
	}
	return "swell: " + target + ", gap: " + c.one("auto", "1/8") + "}"
}

// demoLoops returns every demo loop, each with its name below the folder.
func demoLoops(t testing.TB) []recipes.Input {
	t.Helper()
	root := filepath.Join("..", "testdata", "loops")
	var out []recipes.Input
	err := filepath.WalkDir(root, func(path string, entry os.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".mid" || filepath.Base(filepath.Dir(path)) == "breaks" { // that are given beside another loop
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		f, err := smf.Decode(data)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		name, _ := filepath.Rel(root, path)
		out = append(out, recipes.Input{Name: filepath.ToSlash(name), File: f})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) == 0 {
		t.Fatal("found no demo loop, want some")
	}
	return out
}

// gridLoop makes an input of a grid.
func gridLoop(t testing.TB, grid string) recipes.Input {
	t.Helper()
	s, err := song.ParseGrid(grid)
	if err != nil {
		t.Fatalf("%v\n%s", err, grid)
	}
	f := s.File()
	for i := range f.Tracks { // a grid has no name events
		store := f.Tracks[i].LongStore()
		var name smf.Event
		store, name = smf.AppendLong(store, 0, 0xFF, 0x03, []byte(s.Tracks[i].Name))
		f.Tracks[i] = smf.TrackFromStore(append([]smf.Event{name}, f.Tracks[i].Events...), f.Tracks[i].End, store)
	}
	return recipes.Input{Name: "grid.mid", File: f}
}

// bytesOf encodes a file.
func bytesOf(t testing.TB, f *smf.File) []byte {
	t.Helper()
	b, err := f.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// cut shortens long lines of a grid.
func cut(grid string) string {
	lines := strings.Split(grid, "\n")
	for i, line := range lines {
		if len(line) > 160 {
			lines[i] = line[:160] + " ..."
		}
	}
	return strings.Join(lines, "\n")
}

// hasLength tells whether a recipe itself says how long the track is.
func hasLength(r *recipes.Recipe) bool { return !r.Length.IsZero() || len(r.Sections) > 0 }

// checkLaws drafts and checks what every draft promises: the same bytes again, no new violation of a
// song's invariants, and a written recipe that gives the same bytes and the same text.
func checkLaws(t *testing.T, inputs []recipes.Input, r *recipes.Recipe, o recipes.Options) {
	t.Helper()
	first, err := recipes.Draft(inputs, r, o)
	if err != nil {
		return // a mistake of the recipe or the loop
	}
	want := bytesOf(t, first.File)
	again, err := recipes.Draft(inputs, r, o)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, bytesOf(t, again.File)) {
		t.Fatal("two drafts of one recipe differ")
	}
	if before, after := first.Loop.Check(), first.Song.Check(); len(before) == 0 && len(after) > 0 {
		t.Fatalf("found %d violations, the first: %s", len(after), after[0])
	}
	text := first.WriteRecipe()
	r2, err := recipes.Parse("written.yaml", text)
	if err != nil {
		t.Fatalf("the written recipe cannot be read:\n%v\n%s", err, text)
	}
	second, err := recipes.Draft(inputs, r2, recipes.Options{})
	if err != nil {
		t.Fatalf("the written recipe cannot be run:\n%v\n%s", err, text)
	}
	if !bytes.Equal(want, bytesOf(t, second.File)) {
		t.Fatalf("the written recipe gives other bytes:\n%s\nbefore:\n%s\nafter:\n%s", text, cut(song.Grid(first.Song)), cut(song.Grid(second.Song)))
	}
	if got := second.WriteRecipe(); !bytes.Equal(text, got) {
		t.Fatalf("the written recipe is written another way:\nfirst:\n%s\nsecond:\n%s", text, got)
	}
}

func TestLawsOnRandomRecipes(t *testing.T) {
	t.Parallel()
	demos := demoLoops(t)
	n := oracle.Size(12, 300, 10_000)
	drafted := 0
	for seed := range uint64(n) {
		c := newChooser(seed)
		c.choices = seed%3 > 0
		inputs, loop := c.loop(t, demos)
		text := c.recipe()
		r, err := recipes.Parse("random.yaml", []byte(text))
		if err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, text)
		}
		o := recipes.Options{Take: c.IntN(3)}
		if c.IntN(4) == 0 {
			o.Bars = 8 * (1 + c.IntN(12))
		}
		r.Builtin = c.IntN(3) == 0 && hasLength(r) // as every built-in recipe has
		if _, err := recipes.Draft(inputs, r, o); err == nil {
			drafted++
		}
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			defer func() {
				if t.Failed() {
					t.Logf("options %+v, built-in %v, loop:\n%s\nrecipe:\n%s", o, r.Builtin, loop, text)
				}
			}()
			checkLaws(t, inputs, r, o)
		})
	}
	if drafted < n/2 {
		t.Errorf("%d of %d random recipes could be drafted, want at least half", drafted, n)
	}
}

// A recipe for any loop may say more than the loop has; what it came to is written, whatever it said.
func TestWrittenRandomRecipesOfAnyLoop(t *testing.T) {
	t.Parallel()
	demos := demoLoops(t)
	n := oracle.Size(20, 400, 200_000)
	drafted := 0
	for seed := range uint64(n) {
		c := newChooser(seed)
		c.any = true
		inputs, loop := c.loop(t, demos)
		text := c.recipe()
		r, err := recipes.Parse("random.yaml", []byte(text))
		if err != nil {
			continue // it names a section that it does not have
		}
		first, err := recipes.Draft(inputs, r, recipes.Options{})
		if err != nil {
			continue
		}
		drafted++
		want, written := bytesOf(t, first.File), first.WriteRecipe()
		again, err := recipes.Parse("written.yaml", written)
		if err != nil {
			t.Fatalf("seed %d: the written recipe cannot be read: %v\n%s\nof\n%s\n%s", seed, err, written, text, loop)
		}
		second, err := recipes.Draft(inputs, again, recipes.Options{})
		if err != nil {
			t.Errorf("seed %d: the written recipe is refused: %v\n%s\nof\n%s\n%s", seed, err, written, text, loop)
			continue
		}
		if !bytes.Equal(want, bytesOf(t, second.File)) {
			t.Errorf("seed %d: the written recipe gives other bytes:\n%s\nof\n%s\n%s", seed, written, text, loop)
		}
	}
	if drafted < n/2 {
		t.Errorf("%d of %d random recipes could be drafted, want at least half", drafted, n)
	}
}
