//go:build unix && oracles

package main

import (
	"bytes"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"

	"github.com/chromedp/chromedp/kb"
)

// visit opens the page of a running program and waits until it has heard from it. At the end the browser must have had
// nothing to complain of.
func visit(t *testing.T, b *oracle.Browser, s *served) *oracle.Page {
	t.Helper()
	page := b.Visit(t, s.address)
	await(t, page, "the program", `state !== null && wanted === state.draft && player.song === held.get(wanted)?.song`)
	t.Cleanup(func() {
		for _, c := range page.Complaints() {
			if !strings.Contains(c, "ERR_INCOMPLETE_CHUNKED_ENCODING") && !strings.Contains(c, "ERR_CONNECTION_REFUSED") { // the program has ended
				t.Errorf("the browser complains: %s", c)
			}
		}
	})
	return page
}

// await waits until JavaScript is true in the page.
func await(t *testing.T, page *oracle.Page, what, script string) {
	t.Helper()
	var holds bool
	page.Eval(`(async () => {
		for (let n = 0; n < 500; n++) {
			if (`+script+`) return true;
			await new Promise((r) => setTimeout(r, 20));
		}
		return false;
	})()`, &holds)
	if !holds {
		var news string
		page.Eval(`byId("news").textContent + byId("mistakes").textContent`, &news)
		t.Fatalf("waited in vain for %s: %s (%s)", what, script, news)
	}
}

// watching makes the page note when a song that takes over is first heard, by the clock of the machine in milliseconds.
const watching = `(() => {
	const take = player.take;
	player.take = function () {
		const playing = this.playing;
		take.call(this);
		window.heard = Date.now() + (playing ? 1000 * (this.stretches[0].at - this.ctx.currentTime) : 0);
	};
	window.heard = 0;
})()`

// TestServedPage tries the page in a browser, which starts once.
func TestServedPage(t *testing.T) {
	b := oracle.StartBrowser(t)
	for _, tt := range []struct {
		rule string
		test func(*testing.T, *oracle.Browser)
	}{
		{"a save is heard at once", testASaveIsHeardAtOnce},
		{"a change is made without a click or a gap", testAChangeIsMadeWithoutAClickOrAGap},
		{"what is written is heard", testWhatIsWrittenIsHeard},
		{"it is written in by keys", testItIsWrittenInByKeys},
		{"steps are written by forms", testStepsAreWrittenByForms},
		{"keys are written by forms", testKeysAreWrittenByForms},
		{"choices without a name are stepped", testChoicesWithoutANameAreStepped},
		{"pages that rest follow again", testPagesThatRestFollowAgain},
		{"a built-in recipe asks for a name", testABuiltInRecipeAsksForAName},
		{"two tabs and a reload show the same", testTwoTabsAndAReloadShowTheSame},
		{"takes are switched at the bar", testTakesAreSwitchedAtTheBar},
		{"a mistake is shown and the draft plays on", testAMistakeIsShownAndTheDraftPlaysOn},
		{"names are text", testNamesInTheServedPageAreText},
		{"the program ends and starts again", testTheProgramEndsAndStartsAgain},
		{"everybody can write in it", testEverybodyCanWriteInIt},
		{"the picture of it in the README", testThePictureOfItInTheReadme},
	} {
		t.Run(tt.rule, func(t *testing.T) { tt.test(t, b) })
	}
}

// mostUntilHeard is how long it may take from a save until it is heard, on a machine that does nothing else: 300 ms is
// the aim. What this test takes is told; it fails where somebody would no longer call it at once.
const mostUntilHeard = 1500 * time.Millisecond

func testASaveIsHeardAtOnce(t *testing.T, b *oracle.Browser) {
	text, _ := recipes.BuiltinText("club")
	dir := inFolder(t, "harbour-lights.mid", string(text))
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	page := visit(t, b, s)
	page.Eval(`playFrom(song.bars[70])`, nil)
	page.Eval(watching, nil)
	page.Eval(`(() => { const draws = redraw; window.drew = []; window.redraw = (draft) => { const from = performance.now(); draws(draft); drew.push(performance.now() - from); }; })()`, nil)
	var took []time.Duration
	for n := range 7 {
		page.Eval(`new Promise((r) => setTimeout(r, 300)).then(() => { heard = 0; })`, nil)
		saved := time.Now().UnixMilli()
		put(t, dir, "mine.yaml", string(text)+fmt.Sprintf("  - mute: {part: hat, over: bars %d-%d}\n", 80+n, 90+n))
		await(t, page, "the draft", "heard > 0")
		var heard float64
		page.Eval(`heard`, &heard)
		took = append(took, time.Duration(heard-float64(saved))*time.Millisecond)
	}
	slices.Sort(took)
	t.Logf("from save to sound, 192 bars by 11 parts: median %v, of %v", took[len(took)/2], took)
	if took[len(took)/2] > mostUntilHeard {
		t.Errorf("found a median of %v, want %v at most", took[len(took)/2], mostUntilHeard)
	}
	var drew []float64
	page.Eval(`drew`, &drew)
	slices.Sort(drew)
	t.Logf("and drawn in: median %.1f ms, most %.1f ms", drew[len(drew)/2], drew[len(drew)-1])
	// The script of a frame while it plays, by the browser's trace.
	frames := page.Frames(`playFrom(song.bars[64]).then(() => new Promise((r) => setTimeout(r, 4000)))`)
	if len(frames) < 60 {
		t.Fatalf("found %d frames in 4 seconds", len(frames))
	}
	slices.Sort(frames)
	t.Logf("script in %d frames while 11 parts play: median %v, 95 of 100 %v, most %v", len(frames), frames[len(frames)/2], frames[len(frames)*95/100], frames[len(frames)-1])
	if frames[len(frames)-1] > 8*time.Millisecond {
		t.Errorf("found %v of script in the slowest frame, want 8 ms at most", frames[len(frames)-1])
	}
	// However often the draft was changed while it played, it is drawn once a frame.
	var draws int
	page.Eval(`(async () => {
		let n = 0;
		const draws = draw;
		window.draw = () => { n++; draws(); };
		for (let k = 0; k < 40; k++) await new Promise((r) => requestAnimationFrame(r));
		window.draw = draws;
		return n;
	})()`, &draws)
	if draws < 20 || draws > 41 {
		t.Errorf("found it drawn %d times in 40 frames", draws)
	}
	// A script that is slow shows in it.
	slow := page.Frames(`((draws) => {
		window.draw = () => { draws(); for (const from = performance.now(); performance.now() - from < 20;); };
		return new Promise((r) => setTimeout(r, 1000)).then(() => { window.draw = draws; });
	})(draw)`)
	slices.Sort(slow)
	if len(slow) == 0 || slow[len(slow)-1] < 8*time.Millisecond { // of which it may have waited for a processor
		t.Errorf("found frames of %v of a script that takes 20 ms", slow)
	}
	page.Eval(`player.stop()`, nil)
}

// takingOver plays a song by itself into a buffer, lets another one take over at a second, and returns both sounds: what
// is heard, and the first song undisturbed.
const takingOver = `async (next, second, from) => {
	const rate = 22050, seconds = 4;
	const sound = async (next) => {
		const p = new Player(song);
		const ctx = p.ctx = new OfflineAudioContext(2, seconds * rate, rate);
		p.desk = new Desk(ctx, song, 1);
		p.stretches = [];
		p.begin(song.bars[from], 0);
		p.ahead = second;
		p.pump();
		if (next) p.goOn(next, false, () => {});
		p.ahead = seconds + 1;
		p.pump();
		return ctx.startRendering();
	};
	const [a, b] = [await sound(next), await sound(null)].map((s) => s.getChannelData(0));
	let apart = 0, early = 0, jump = 0, plainJump = 0;
	for (let i = 1; i < a.length; i++) {
		if (Math.abs(a[i] - b[i]) > 1e-4) apart++;
		if (i < (second - 0.05) * rate) early = Math.max(early, Math.abs(a[i] - b[i]));
		jump = Math.max(jump, Math.abs(a[i] - a[i - 1]));
		plainJump = Math.max(plainJump, Math.abs(b[i] - b[i - 1]));
	}
	return {apart: apart / a.length, early, jump, plainJump};
}`

type overTaken struct{ Apart, Early, Jump, PlainJump float64 }

func testAChangeIsMadeWithoutAClickOrAGap(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	page := visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
	for _, second := range []float64{0.7, 1.01, 2.33} {
		var same overTaken
		page.Eval(fmt.Sprintf(`(%s)(JSON.parse(JSON.stringify(song)), %v, 10)`, takingOver, second), &same)
		if same.Apart > 0.001 { // single samples at -70 dB are the rounding of a sound begun anew
			t.Errorf("the same song takes over at %v s: found %+v, want the same sound", second, same)
		}
		var other overTaken
		page.Eval(fmt.Sprintf(`(%s)((() => { const s = JSON.parse(JSON.stringify(song)); s.parts.find((p) => p.name === "pad").notes = []; return s; })(), %v, 10)`, takingOver, second), &other)
		if other.Early > 0.01 || other.Apart < (4-second)/4*0.8 || other.Jump > 1.5*other.PlainJump {
			t.Errorf("a part goes at %v s: found %+v, want it to go there and no step in the sound larger than there are", second, other)
		}
	}
}

// hears tells whether parts are heard in bars, by name: the page plays each alone.
func hears(page *oracle.Page, part string, bar, bars int) bool {
	var peak float64
	page.Eval(fmt.Sprintf(`(async () => {
		const p = new Player(song);
		p.soloed.add(song.parts.findIndex((q) => q.name === %q));
		const sound = await p.render(%d, %d, 11025);
		return sound.getChannelData(0).reduce((m, v) => Math.max(m, Math.abs(v)), 0);
	})()`, part, bar, bars), &peak)
	return peak > 1e-3
}

// clickAt clicks on a cell of a part at a bar.
func clickAt(page *oracle.Page, part string, bar int) {
	var at [2]float64
	page.Eval(fmt.Sprintf(`(() => {
		const n = rows.findIndex((r) => r.name === %q), {top, tall} = rows[n];
		byId("row-" + n).scrollIntoView({block: "center"});
		const box = svg.getBoundingClientRect();
		return [box.left + (barX(%[2]d) + barX(%[2]d + 1)) / 2 * zoom, box.top + top + tall / 2];
	})()`, part, bar), &at)
	page.Click(at[0], at[1])
}

func testWhatIsWrittenIsHeard(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	page := visit(t, b, s)
	track := map[string]string{"pad": "Pad", "stab": "Stab"}
	// asDrafted compares what is heard with the notes of the file that the page saves.
	asDrafted := func() {
		t.Helper()
		_, data := s.get("save/midi")
		f, err := smf.Decode([]byte(data))
		if err != nil {
			t.Fatal(err)
		}
		d, err := song.From(f)
		if err != nil {
			t.Fatal(err)
		}
		for part, name := range track {
			for bar := 9; bar <= 21; bar += 4 {
				plays := false
				for _, p := range d.Parts {
					plays = plays || d.Tracks[p.Track].Name == name && len(d.In(p, d.BarRange(bar, bar+3))) > 0
				}
				if got := hears(page, part, bar, 4); got != plays {
					t.Errorf("%s in bars %d to %d: heard %v, drafted %v", part, bar, bar+3, got, plays)
				}
			}
		}
	}
	asDrafted()
	for part := range track {
		if !hears(page, part, 13, 4) {
			t.Fatalf("found no %s in the drop", part)
		}
		await(t, page, "no marks", `!document.querySelector(".new")`)
		page.Eval(fmt.Sprintf(`(window.was = wanted, window.rowsDrawn = ["kick", "bass", %q].map((p) => document.querySelector('g[data-part="' + p + '"]')))`, part), nil)
		clickAt(page, part, 13)
		await(t, page, "the draft without it", "wanted > was && song === held.get(wanted)?.song")
		var stayed []bool
		page.Eval(`rowsDrawn.map((g) => g.isConnected)`, &stayed)
		if !slices.Equal(stayed, []bool{true, true, false}) {
			t.Errorf("found rows that stay as they were drawn %v, want those of kick and bass alone", stayed)
		}
		var marked int
		page.Eval(`document.querySelectorAll(".new").length`, &marked)
		if marked != 1 {
			t.Errorf("found %d phrases marked, want the one that changed", marked)
		}
		if hears(page, part, 13, 4) || !hears(page, part, 17, 4) || !strings.Contains(file(t, "mine.yaml"), part+" to 4") {
			t.Errorf("%s was taken out of bars 13 to 16: found it there, or nowhere, and\n%s", part, file(t, "mine.yaml"))
		}
	}
	asDrafted()
	for range track {
		page.Eval(`window.was = wanted`, nil)
		page.Eval(`byId("undo").click()`, nil)
		await(t, page, "the draft before", "wanted > was && song === held.get(wanted)?.song")
	}
	if file(t, "mine.yaml") != small || !hears(page, "pad", 13, 4) {
		t.Errorf("after all was taken back: found\n%s", file(t, "mine.yaml"))
	}
}

func testItIsWrittenInByKeys(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	page := visit(t, b, s)
	page.Eval(`reach(rows.findIndex((r) => r.name === "pad"), ahead + columnAt(13))`, nil)
	for _, tt := range []struct {
		rule      string
		keys      []string
		want, not string // in the file
	}{
		{"i takes a part out", []string{"i"}, "pad to 4, pad from 9", ""},
		{"and z lets it in again", []string{"z"}, small, ""},
		{"Z takes it out again", []string{"Z"}, "pad to 4, pad from 9", ""},
		{"z", []string{"z"}, small, ""},
		{"b makes the section longer", []string{"b"}, "bars: 20", ""},
		{"B shorter", []string{"B"}, small, ""},
		{"O moves it before the other", []string{"O"}, "sections:\n  - name: drop", ""},
		{"o behind it", []string{"o"}, "play: [beat]}  # sparse\n  - name: drop", ""},
		{"keys one right after the other count each", []string{"bbb"}, "bars: 28", ""},
		{"and are taken back", []string{"zzz"}, "bars: 16\nmoves", ""},
		{"d writes it twice", []string{"d"}, "bars: 16\n  - name: drop\n    bars: 16\n", ""},
		{"z", []string{"z"}, "bars: 16\nmoves", ""},
		{"r gives it another name", []string{"r", "p", "e", "a", "k", kb.Enter}, "name: peak", "name: drop"},
		{"which can be left", []string{"r", "x", kb.Escape}, "name: peak", ""},
		{"delete removes it, in the row of the sections", []string{kb.PageUp, kb.PageUp, kb.PageUp, kb.Delete}, "# sparse\nmoves", "peak\n    bars"},
	} {
		for _, k := range tt.keys {
			if k == "r" { // pressed by chromedp it would be typed into the line that it opens
				page.Eval(`document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "r", bubbles: true}))`, nil)
			} else if k == "bbb" || k == "zzz" {
				page.Eval(`[1, 2, 3].forEach(() => document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "`+k[:1]+`", bubbles: true})))`, nil)
			} else {
				page.Press(k)
			}
			await(t, page, "the draft", "!state || wanted === state.draft")
		}
		var news string
		page.Eval(`new Promise((r) => setTimeout(r, 300)).then(() => byId("news").textContent + " " + byId("ask").hidden)`, &news)
		eventually(t, tt.rule+": "+tt.want+", "+news, func() bool { return strings.Contains(file(t, "mine.yaml"), tt.want) })
		if tt.not != "" && strings.Contains(file(t, "mine.yaml"), tt.not) {
			t.Errorf("%s: found\n%s", tt.rule, file(t, "mine.yaml"))
		}
		if tt.keys[0] == "i" {
			await(t, page, "the line that tells of it", `hint.textContent.startsWith("pad · drop · bars 13 to 16 · ") && hint.textContent.includes(" · 0 notes")`)
		}
		var focus string
		page.Eval(`document.activeElement.getAttribute("role") ?? document.activeElement.outerHTML`, &focus)
		if focus != "gridcell" {
			t.Errorf("%s: found the focus at %s, want it to stay in the picture", tt.rule, focus)
		}
	}
}

// testStepsAreWrittenByForms adds a step, changes and removes it by keys alone.
func testStepsAreWrittenByForms(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	page := visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
	page.Eval(`document.querySelector("#steps summary").focus()`, nil)
	page.Press(kb.Enter)
	await(t, page, "the steps", `byId("list").textContent.includes("mute: part hat; over last 1 bar of drop") && byId("move").value`)
	page.Eval(`(byId("move").value = "transpose", byId("add").focus())`, nil)
	page.Press(kb.Enter)
	await(t, page, "the form", `document.activeElement.dataset.name === "part"`)
	fill := func(name, text string) {
		page.Eval(fmt.Sprintf(`((e) => { e.focus(); e.select(); })(document.querySelector('#fields [data-name="%s"]'))`, name), nil)
		for _, r := range text {
			page.Press(string(r))
		}
	}
	submit := func() {
		page.Eval(`(tellNews(""), document.querySelector("#form button").focus())`, nil)
		page.Press(kb.Enter)
		await(t, page, "what came of it", `byId("news").textContent !== "" && (!state || wanted === state.draft)`)
	}
	fill("part", "stab or padd")
	fill("over", "dropp")
	fill("octaves", "+1")
	submit()
	await(t, page, "the mistake, and the form", `/^mine\.yaml:9:.*transpose\.over: found .*did you mean "drop"\?\n.*\n *\^$/m.test(byId("news").textContent) && !byId("form").hidden`)
	if got := file(t, "mine.yaml"); got != small {
		t.Errorf("found\n%s\nwant nothing written", got)
	}
	fill("over", "drop")
	submit()
	const step = "  - transpose: {part: stab or padd, over: drop, octaves: +1}\n"
	if got := file(t, "mine.yaml"); got != small+step {
		t.Errorf("found\n%s\nwant the step", got)
	}
	await(t, page, "the step in the list, and the focus there", `byId("list").children.length === 2 && byId("list").children[1].textContent.startsWith("transpose: part stab or padd; over drop; octaves +1")`)
	page.Eval(`byId("list").children[1].querySelector("button").focus()`, nil)
	page.Press(kb.Enter)
	await(t, page, "the form", `!byId("form").hidden && document.querySelector('#fields [data-name="part"]').value === "stab or padd"`)
	fill("part", "pad")
	submit()
	if got := file(t, "mine.yaml"); got != small+strings.Replace(step, "stab or padd", "pad", 1) {
		t.Errorf("found\n%s\nwant another part", got)
	}
	await(t, page, "the other part", `byId("list").children[1]?.textContent.includes("part pad;")`)
	page.Eval(`[...byId("list").children[1].querySelectorAll("button")].at(-1).focus()`, nil)
	page.Press(kb.Enter)
	eventually(t, "the recipe without the step", func() bool { return file(t, "mine.yaml") == small })
}

// testKeysAreWrittenByForms writes the energy of a section and keys of the recipe by keys alone.
func testKeysAreWrittenByForms(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	page := visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
	open := func() {
		t.Helper()
		page.Eval(`reach(rows.findIndex((r) => r.name === "pad"), ahead + columnAt(13))`, nil)
		page.Press("e")
		await(t, page, "the form", `!byId("form").hidden && document.activeElement.dataset.name === "energy"`)
	}
	submit := func(want string) {
		t.Helper()
		page.Eval(`(tellNews(""), document.querySelector("#form button").focus())`, nil)
		page.Press(kb.Enter)
		await(t, page, "what came of it", want)
	}
	fill := func(name, text string) {
		page.Eval(fmt.Sprintf(`(document.querySelector('#fields [data-name="%s"]').value = %q)`, name, text), nil)
	}
	open()
	page.Eval(`document.activeElement.select()`, nil)
	page.Press("r", "i", "s", "n", "g")
	submit(`/^mine\.yaml:\d+:.*energy: found .*\n.*\n *\^$/m.test(byId("news").textContent) && !byId("form").hidden`)
	if got := file(t, "mine.yaml"); got != small {
		t.Errorf("found\n%s\nwant nothing written", got)
	}
	fill("energy", "rising")
	fill("kind", "drop")
	fill("play", "[kick, hat from 9]")
	submit(`byId("form").hidden && byId("news").textContent === "drop is changed" && document.activeElement.place && wanted === state.draft`)
	want := strings.Replace(small, "bars: 16\n", "bars: 16\n    energy: rising\n    kind: drop\n    play: [kick, hat from 9]\n", 1)
	if got := file(t, "mine.yaml"); got != want {
		t.Errorf("found\n%s\nwant\n%s", got, want)
	}
	open()
	var shown string
	page.Eval(`[..."energy,kind,play,bars".split(",")].map((name) => document.querySelector('#fields [data-name="' + name + '"]').value).join(";")`, &shown)
	if shown != "rising;drop;kick\nhat from 9;16" {
		t.Errorf("found %q in the form", shown)
	}
	fill("play", "[]")
	fill("energy", "")
	submit(`byId("form").hidden && byId("news").textContent === "drop is changed" && wanted === state.draft`)
	want = strings.Replace(strings.Replace(want, "    energy: rising\n", "", 1), "play: [kick, hat from 9]", "play: []", 1)
	if got := file(t, "mine.yaml"); got != want {
		t.Errorf("found\n%s\nwant\n%s", got, want)
	}
	open()
	page.Eval(`document.querySelector("#form button").focus()`, nil)
	page.Press(kb.Enter) // nothing was changed
	await(t, page, "the form gone", `byId("form").hidden && document.activeElement.place`)
	page.Eval(`byId("recipe-keys").focus()`, nil)
	page.Press(kb.Enter)
	await(t, page, "the form of the recipe", `!byId("form").hidden && document.activeElement.dataset.name === "length" && document.querySelector('#fields [data-name="phrase"]').value === "4 bars"`)
	fill("length", "25 bars")
	submit(`byId("news").textContent.includes("25 bars") && !byId("form").hidden`)
	fill("length", "24 bars")
	submit(`byId("form").hidden && byId("news").textContent === "the recipe is changed" && document.activeElement === byId("recipe-keys")`)
	if got := file(t, "mine.yaml"); got != want+"length: 24 bars\n" {
		t.Errorf("found\n%s", got)
	}
}

func testChoicesWithoutANameAreStepped(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", nameless)
	page := visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
	var first []string
	page.Eval(`state.choices`, &first)
	page.Press("3")
	await(t, page, "the other step", fmt.Sprintf(`state.choices[2] !== %q && state.choices[0] === %q && wanted === state.draft`, first[2], first[0]))
	page.Eval(`byId("choices").children[0].click()`, nil)
	await(t, page, "another length", fmt.Sprintf(`state.choices[0] !== %q && /^line 3, [123] of 3: (8|12|16)$/.test(byId("choices").children[0].textContent) && byId("news").textContent === byId("choices").children[0].textContent`, first[0]))
}

// testPagesThatRestFollowAgain: with more pages open than a browser keeps connections, each can still write.
func testPagesThatRestFollowAgain(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	var pages []*oracle.Page
	for range 7 {
		pages = append(pages, visit(t, b, s))
	}
	await(t, pages[0], "that it rests", `events === null && byId("news").textContent === resting`)
	pages[0].Eval(`act({do: "bars", section: 0, by: 1})`, nil)
	await(t, pages[6], "the longer section", `song.sections[0].bars === 12`)
	pages[0].Eval(`dispatchEvent(new Event("focus"))`, nil)
	await(t, pages[0], "the longer section", `song.sections[0].bars === 12 && events !== null`)
}

func testABuiltInRecipeAsksForAName(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", "")
	s := serve(t, "loop.mid")
	page := visit(t, b, s)
	page.Eval(`reach(0, ahead)`, nil)
	page.Press("b")
	await(t, page, "the question", `!byId("ask").hidden && byId("answer").value === "mine.yaml" && document.activeElement.id === "answer"`)
	page.Press("o", "w", "n", kb.Enter)
	await(t, page, "the recipe in its file", `byId("recipe").textContent.includes("own.yaml") && byId("news").textContent.startsWith("intro is ")`)
	text, _ := recipes.BuiltinText("club")
	// Its forms are of one length, which goes with the first section that gets another.
	want := strings.Replace(strings.Replace(string(text), "length: 192 bars\n", "", 1), "[32, 32, 16, 32, 16]", "[32, 32, 24, 32, 16]", 1)
	if got := file(t, "own.yaml"); got != want {
		t.Errorf("found\n%s\nwant\n%s", got, want)
	}
}

func testTwoTabsAndAReloadShowTheSame(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	one, two := visit(t, b, s), visit(t, b, s)
	one.Eval(`act({do: "bars", section: 0, by: 1})`, nil)
	for _, page := range []*oracle.Page{one, two} {
		await(t, page, "the longer intro", "song.sections[0].bars === 12 && bars === 28")
	}
	two.Eval(`act({do: "undo"})`, nil)
	for _, page := range []*oracle.Page{one, two} {
		await(t, page, "the intro as it was", "song.sections[0].bars === 8 && bars === 24")
	}
	two.Eval(`act({do: "redo"})`, nil)
	await(t, two, "the longer intro", "song.sections[0].bars === 12")
	const shown = `JSON.stringify([song, groupsOf(svg).map((g) => g.outerHTML), byId("grid").innerHTML.replace(/ class="(new)?"/g, ""), byId("sections").textContent, [...byId("below").children, ...byId("above").children].map((e) => e.textContent), document.title])`
	await(t, two, "the marks to go", `!document.querySelector(".new")`)
	var before, after string
	two.Eval(shown, &before)
	two.Reload()
	await(t, two, "the program", "state !== null && wanted === state.draft && player.song === held.get(wanted)?.song")
	two.Eval(shown, &after)
	if before != after {
		for i := range min(len(before), len(after)) {
			if before[i] != after[i] {
				t.Errorf("the page that was drawn on differs from one that is opened anew: %.300s\n%.300s", before[max(i-100, 0):], after[max(i-100, 0):])
				break
			}
		}
	}
}

func testTakesAreSwitchedAtTheBar(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", "")
	page := visit(t, b, serve(t, "loop.mid"))
	var forms [2]string
	for i := range forms {
		page.Eval(`state.choices[0]`, &forms[i])
		page.Press("1")
		await(t, page, "another form", fmt.Sprintf(`state.choices[0] !== %q && wanted === state.draft`, forms[i]))
	}
	page.Eval(`byId("choices").children[0].textContent`, &forms[0])
	if !regexp.MustCompile(`^form, [1-5] of 5$`).MatchString(forms[0]) || forms[0] == forms[1] {
		t.Errorf("found %q shown after %q", forms[0], forms[1])
	}
	page.Press("k")
	await(t, page, "the take that is kept", "state.kept > 0")
	page.Press("t")
	await(t, page, "take 2", "state.take === 2 && wanted === state.draft && held.size === 2 && song === held.get(wanted)?.song")
	page.Eval(`playFrom(song.bars[20])`, nil)
	page.Eval(`new Promise((r) => setTimeout(r, 700))`, nil)
	page.Eval(`(() => {
		const take = player.take;
		player.take = function () { window.at = this.next.at; window.place = this.song.bars.indexOf(this.next.at); take.call(this); window.went = this.told; };
	})()`, nil)
	page.Press("x")
	await(t, page, "take 1", "window.at !== undefined && state.take === 1 && song === held.get(state.draft)?.song && wanted === state.draft")
	var got struct {
		Place      int
		Went, Want float64
		Playing    bool
	}
	page.Eval(`({place, went, want: song.bars[place], playing: player.playing})`, &got)
	if got.Place < 21 || got.Place > 23 || got.Went < got.Want || !got.Playing {
		t.Errorf("found %+v, want it to switch where a bar begins and to play on", got)
	}
	page.Eval(`player.stop()`, nil)
}

func testAMistakeIsShownAndTheDraftPlaysOn(t *testing.T, b *oracle.Browser) {
	dir := inFolder(t, "harbour-lights.mid", small)
	page := visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
	page.Eval(`playFrom(0)`, nil)
	put(t, dir, "mine.yaml", strings.Replace(small, "mute", "mutte", 1))
	await(t, page, "the mistake", `byId("mistakes").textContent.includes("mine.yaml:8:5: ") && byId("mistakes").textContent.split("\n")[2].trim() === "^" && player.playing`)
	put(t, dir, "mine.yaml", strings.Replace(small, "bars: 16", "bars: 24", 1))
	await(t, page, "the draft that was put right", `byId("mistakes").textContent === "" && bars === 32 && player.playing && player.position > 0`)
	page.Eval(`player.stop()`, nil)
}

func testNamesInTheServedPageAreText(t *testing.T, b *oracle.Browser) {
	hostile := `<img src=x onerror="hacked = 1">`
	inFolder(t, "kick-bass.mid", "")
	f, err := smf.Decode([]byte(file(t, "loop.mid")))
	if err != nil {
		t.Fatal(err)
	}
	d, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	e := d.Edit()
	for i := range d.Tracks {
		e.InsertMeta(i, 0, 0x03, fmt.Appendf(nil, "%s %d </script>\x1b[31m", hostile, i))
	}
	data, err := e.Song().File().Encode()
	if err != nil {
		t.Fatal(err)
	}
	name := "<b onclick=x>.mid"
	if err := os.WriteFile(name, data, 0o666); err != nil {
		t.Fatal(err)
	}
	recipe := "sections:\n  - {name: 'drop', bars: 8}\n  - {name: '" + hostile + "', bars: 8}\n"
	if err := os.WriteFile("<i>.yaml", []byte(recipe), 0o666); err != nil {
		t.Fatal(err)
	}
	s := serve(t, name, "--recipe", "<i>.yaml")
	page := visit(t, b, s)
	check := func(when string) {
		t.Helper()
		var got struct {
			Hacked  string
			Foreign int
		}
		page.Eval(`({hacked: typeof hacked, foreign: document.querySelectorAll("img, b[onclick], [onerror], main i").length})`, &got)
		if got.Hacked != "undefined" || got.Foreign > 0 {
			t.Errorf("%s: found %+v, want names to be text", when, got)
		}
	}
	check("as it opens")
	page.Eval(`act({do: "bars", section: 0, by: 1})`, nil)
	await(t, page, "the longer section", "song.sections[0]?.bars === 16 || byId('mistakes').textContent || byId('news').textContent")
	check("after an edit")
	if err := os.WriteFile("<i>.yaml", []byte("moves:\n  - \"<img src=x onerror='hacked = 1'>\": {}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	await(t, page, "the mistake", `byId("mistakes").textContent.includes("<img")`)
	check("with a mistake")
}

func testTheProgramEndsAndStartsAgain(t *testing.T, b *oracle.Browser) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	page := visit(t, b, s)
	page.Eval(`playFrom(0)`, nil)
	s.end()
	await(t, page, "word of it", `byId("news").textContent === gone && player.playing`)
	page.Press("b", "t")
	await(t, page, "word of it", `byId("news").textContent === gone`)
	if file(t, "mine.yaml") != small {
		t.Error("found the recipe written in")
	}
	page.Eval(`(player.stop(), events.close())`, nil)
	visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
}

func testEverybodyCanWriteInIt(t *testing.T, b *oracle.Browser) {
	dir := inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	for _, size := range [][2]int64{{390, 844}, {1280, 900}} {
		for _, dark := range []bool{false, true} {
			t.Run(fmt.Sprintf("%d pixels, dark %v", size[0], dark), func(t *testing.T) {
				page := visit(t, b, s)
				page.Look(size[0], size[1], dark)
				for _, state := range []string{
					"null",
					`(document.querySelectorAll("details").forEach((d) => { d.open = true; }), act({do: "keep"}).then(() => ask("Another name:", "drop", () => {})))`,
					`(leave(), turnPart(3, 13))`,
					`openStep(0, "mute")`,
					`(leaveForm(), openKeys(0))`,
					`(leaveForm(), openKeys(-1))`,
				} {
					page.Eval(state, nil)
					page.Eval(`new Promise((r) => setTimeout(r, 400))`, nil)
					if state == "null" {
						put(t, dir, "mine.yaml", strings.Replace(small, "mute", "mutte", 1))
						await(t, page, "the mistake", `byId("mistakes").textContent !== ""`)
					} else {
						put(t, dir, "mine.yaml", small)
						await(t, page, "no mistake", `byId("mistakes").textContent === ""`)
					}
					for _, v := range page.Violations() {
						t.Errorf("%s: %s (%s) in\n%s", state, v.Rule, v.Help, strings.Join(v.Elements, "\n"))
					}
				}
				var got struct {
					Wide  float64
					Small []string
				}
				page.Eval(`({wide: document.documentElement.scrollWidth, small: innerWidth > 600 ? [] :
					[...document.querySelectorAll("button, summary, a, select, textarea, input[type=text]")].filter((e) => e.offsetParent && (e.offsetHeight < 44 || e.offsetWidth < 44)).map((e) => e.outerHTML)})`, &got)
				// By Tab alone one comes to all that can be done, and goes on behind it.
				page.Eval(`(leaveForm(), document.activeElement.blur(), window.came = new Set(), document.addEventListener("focusin", (e) => came.add(e.target)))`, nil)
				var controls int
				page.Eval(`document.querySelectorAll("#writing :is(button, a, summary, select, input)").length`, &controls)
				for range controls + 60 {
					page.Press(kb.Tab)
				}
				var missed []string
				page.Eval(`[...document.querySelectorAll("#writing :is(button, a, summary, select, input), #grid")].filter((e) => e.id === "grid" ? ![...came].some((c) => e.contains(c)) : e.checkVisibility() && !came.has(e)).map((e) => e.outerHTML.slice(0, 100))`, &missed)
				if len(missed) > 0 {
					t.Errorf("found out of the reach of Tab: %q", missed)
				}
				if got.Wide > float64(size[0]) || len(got.Small) > 0 {
					t.Errorf("found it %v pixels wide, and too small for a finger %q", got.Wide, got.Small)
				}
			})
		}
	}
}

// testThePictureOfItInTheReadme writes that picture anew with the flag -update. Fonts differ from machine to machine, so
// that it is not compared.
func testThePictureOfItInTheReadme(t *testing.T, b *oracle.Browser) {
	name, err := filepath.Abs("../../testdata/open.png")
	if err != nil {
		t.Fatal(err)
	}
	if !*update {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := png.DecodeConfig(bytes.NewReader(data)); err != nil {
			t.Error(err)
		}
		return
	}
	text, _ := recipes.BuiltinText("club")
	inFolder(t, "harbour-lights.mid", string(text))
	page := visit(t, b, serve(t, "loop.mid", "--recipe", "mine.yaml"))
	page.Look(1280, 1240, false)
	page.Eval(`(reach(rows.findIndex((r) => r.name === "conga"), ahead + columnAt(177)), scrollTo(0, 0))`, nil)
	page.Press("i")
	await(t, page, "the draft without it", `state.news.startsWith("conga ")`)
	page.Eval(`scrollTo(0, 0)`, nil)
	if err := os.WriteFile(name, page.Picture(), 0o666); err != nil {
		t.Fatal(err)
	}
}
