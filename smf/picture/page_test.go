//go:build oracles

package picture

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"

	"github.com/chromedp/chromedp/kb"
)

// TestPage tries the page in a browser, which starts once.
func TestPage(t *testing.T) {
	b := oracle.StartBrowser(t)
	for _, tt := range []struct {
		rule string
		test func(*testing.T, *oracle.Browser)
	}{
		{"the page says that it starts quiet", testThePageSaysThatItStartsQuiet},
		{"names in the page are text", testNamesInThePageAreText},
		{"the page lets nothing in and nothing out", testThePageLetsNothingInAndNothingOut},
		{"controllers are heard", testControllersAreHeard},
		{"a controller goes back with the song", testAControllerGoesBackWithTheSong},
		{"whoever plays last plays alone", testWhoeverPlaysLastPlaysAlone},
		{"pitch and length are heard", testPitchAndLengthAreHeard},
		{"every role has a voice", testEveryRoleHasAVoice},
		{"mute and solo", testMuteAndSolo},
		{"silence is silent", testSilenceIsSilent},
		{"a wall of sound stays under the ceiling", testAWallOfSoundStaysUnderTheCeiling},
		{"ten minutes have every note at its time", testTenMinutesHaveEveryNoteAtItsTime},
		{"a loop goes round without a gap", testALoopGoesRoundWithoutAGap},
		{"what rings into a stretch is heard in it", testWhatRingsIntoAStretchIsHeardInIt},
		{"a loop of next to no time does not go round", testALoopOfNextToNoTimeDoesNotGoRound},
		{"the picture answers the pointer", testThePictureAnswersThePointer},
		{"the page is worked by keys", testThePageIsWorkedByKeys},
		{"pages of every size", testPagesOfEverySize},
	} {
		t.Run(tt.rule, func(t *testing.T) { tt.test(t, b) })
	}
}

// opened opens the page of a song in a browser. At the end the page must have done nothing but be there.
func opened(t *testing.T, b *oracle.Browser, s song.Song, c Chart) *oracle.Page {
	t.Helper()
	var html bytes.Buffer
	if err := HTML(&html, s, c); err != nil {
		t.Fatal(err)
	}
	page := b.Open(t, html.Bytes())
	page.Eval(meters, nil)
	t.Cleanup(func() {
		for _, c := range page.Complaints() {
			t.Errorf("the browser complains: %s", c)
		}
	})
	return page
}

// meters measure sound in the page: levels are root mean squares of both sides, from one second to another.
const meters = `Object.assign(window, {
	rms(sound, side, from = 0, to = sound.duration) {
		const samples = sound.getChannelData(side).slice(from * sound.sampleRate, to * sound.sampleRate);
		return Math.sqrt(samples.reduce((sum, v) => sum + v * v, 0) / samples.length);
	},
	loud(sound, from, to) { return Math.hypot(rms(sound, 0, from, to), rms(sound, 1, from, to)) / Math.SQRT2; },
	peak(sound) { return [0, 1].reduce((most, side) => sound.getChannelData(side).reduce((m, v) => Math.max(m, Math.abs(v)), most), 0); },
	async filtered(sound, type, frequency) {
		const ctx = new OfflineAudioContext(2, sound.length, sound.sampleRate);
		const source = new AudioBufferSourceNode(ctx, {buffer: sound});
		const filter = () => new BiquadFilterNode(ctx, {type, frequency, Q: -3});
		source.connect(filter()).connect(filter()).connect(ctx.destination);
		source.start();
		return ctx.startRendering();
	},
	crossings(sound) {
		const samples = sound.getChannelData(0);
		let n = 0;
		for (let i = 1; i < samples.length; i++) if (samples[i - 1] < 0 && samples[i] >= 0) n++;
		return n / sound.duration;
	},
}), null`

func testThePageSaysThatItStartsQuiet(t *testing.T, b *oracle.Browser) {
	s, _ := short()
	page := opened(t, b, s, Chart{})
	var volume float64
	var says bool
	page.Eval("player.volume", &volume)
	page.Eval(`document.body.innerText.includes("It starts quiet, at a quarter of full volume, behind a limiter")`, &says)
	if volume != 0.25 || !says {
		t.Errorf("found volume %v (said: %v), want a quarter, and that it says so", volume, says)
	}
}

func testNamesInThePageAreText(t *testing.T, b *oracle.Browser) {
	names := []string{
		`<script>hacked = 1</script>`, `</script><script>hacked = 1</script>`, `<img src=x onerror="hacked = 1">`, `" onclick="hacked = 1`,
		`' onclick='hacked = 1`, `{{.Song}}{{.Player}}`, "\x1b]0;title\x07\x1b[31mred", "F\xe4hre", "夜\xe6", "a\u2028b\u202ec\x00", `]]>--><!--`, `__proto__`, `\u003c`,
	}
	var sections []song.Section
	for i, n := range names {
		sections = append(sections, song.Section{Name: n, Bar: i + 1, Bars: 1})
	}
	s := blank(len(names), 120, fourFour(), sections...)
	s.Tracks = []*song.Track{{}}
	var want []string
	var changes []song.Change
	for _, n := range names {
		play(&s, song.RoleLead, n, "x...............", always)
		changes = append(changes, song.Change{Move: n, Parts: []string{n}, Ranges: []song.Range{s.BarRange(1, 1)}, Text: n})
		want = append(want, shown(n))
	}
	page := opened(t, b, s, Chart{Title: strings.Join(names, " "), Changes: changes})
	var parts, labels, told []string
	var found int
	var hacked string
	page.Eval(`[...document.querySelectorAll("#grid .part [role=rowheader]")].map((e) => e.textContent)`, &parts)
	page.Eval(`[...document.querySelectorAll("#sections b")].map((e) => e.textContent)`, &labels)
	page.Eval(`song.parts.map((_, p) => { point(1, 1, rowOfPart(p)); return hint.textContent; })`, &told)
	page.Eval(`document.scripts.length`, &found)
	page.Eval(`typeof hacked`, &hacked)
	if !slices.Equal(parts, want) || !slices.Equal(labels, want) {
		t.Errorf("found parts %q\nand sections %q,\nwant %q", parts, labels, want)
	}
	for i, text := range told {
		if part, move := want[i], clean(names[i], false); !strings.HasPrefix(text, part+" · ") || !strings.Contains(text, move+" ("+move+")") {
			t.Errorf("%q tells %q", part, text)
		}
	}
	if want := 1 + len(scripts()); found != want || hacked != "undefined" {
		t.Errorf("found %d scripts and %q, want %d and nothing else that ran", found, hacked, want)
	}
}

func testThePageLetsNothingInAndNothingOut(t *testing.T, b *oracle.Browser) {
	s, _ := short()
	var html bytes.Buffer
	if err := HTML(&html, s, Chart{}); err != nil {
		t.Fatal(err)
	}
	var asked atomic.Int32
	outside := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { asked.Add(1) }))
	t.Cleanup(outside.Close)
	for rule, script := range map[string]string{
		"a script in the page":   `(() => { const e = document.createElement("script"); e.textContent = "hacked = 1"; document.body.append(e); })()`,
		"a script in an element": `document.body.insertAdjacentHTML("beforeend", '<img src="data:," onerror="hacked = 1">')`,
		"a picture from outside": `(() => { new Image().src = "` + outside.URL + `"; })()`,
		"a request":              `fetch("` + outside.URL + `").catch(() => {})`,
		"a style":                `document.body.insertAdjacentHTML("beforeend", "<style>p { color: red }</style>")`,
		"a frame":                `document.body.insertAdjacentHTML("beforeend", '<iframe src="data:text/html,x"></iframe>')`,
	} {
		page := b.Open(t, html.Bytes())
		page.Eval(script, nil)
		var hacked string
		page.Eval(`new Promise((r) => setTimeout(r, 100)).then(() => typeof hacked)`, &hacked)
		if c := strings.Join(page.Complaints(), "\n"); hacked != "undefined" || !strings.Contains(c, "Content Security Policy") {
			t.Errorf("%s: found %q, want it refused by the policy", rule, c)
		}
	}
	if n := asked.Load(); n > 0 {
		t.Errorf("%d requests went out", n)
	}
}

// lead is a song of one part that plays the same in every bar.
func lead(role song.Role, bars int, bar string) song.Song {
	s := blank(bars, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, role, "part", bar, always)
	return s
}

func testControllersAreHeard(t *testing.T, b *oracle.Browser) {
	const bar = 4 * ppq
	set := func(s song.Song, at int, id song.Controller, value byte) song.Song {
		return ridden(s, id, 0, [2]int{at * bar, int(value)})
	}
	s := lead(song.RoleLead, 12, "x---x...........")
	s.Parts[0].Notes[2].Vel, s.Parts[0].Notes[3].Vel = 50, 50
	s = set(set(s, 2, 7, 50), 3, 7, 100)
	s = set(set(s, 3, 11, 64), 4, 11, 127)
	s = set(set(s, 4, 10, 0), 5, 10, 127)
	s = set(s, 6, 10, 64)
	s = set(set(s, 6, 74, 20), 7, 71, 127)
	s = set(set(set(s, 8, 71, 64), 8, 74, 64), 8, 91, 0)
	s = set(set(s, 9, 91, 127), 10, 91, 0)
	page := opened(t, b, s, Chart{})
	var bars []struct{ Left, Right, High, Tail float64 }
	page.Eval(`Promise.all(song.bars.slice(1).map(async (_, i) => {
		const sound = await player.render(i + 1, 1), high = await filtered(sound, "highpass", 2500);
		return {left: rms(sound, 0, 0, 1), right: rms(sound, 1, 0, 1), high: rms(high, 0, 0, 1), tail: rms(sound, 0, 1.2, 2)};
	}))`, &bars)
	near := func(rule string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 0.02*max(want, 0.05) {
			t.Errorf("%s: found %.4f, want %.4f", rule, got, want)
		}
	}
	// Gains are the square of the value's share (DLS Level 1, RP-016).
	near("half the velocity", bars[1].Left/bars[0].Left, 0.25)
	near("half the volume", bars[2].Left/bars[0].Left, 0.25)
	near("half the expression", bars[3].Left/bars[0].Left, 64*64/(127.0*127))
	near("left has no right", bars[4].Right/bars[0].Right, 0)
	near("right has no left", bars[5].Left/bars[0].Left, 0)
	if bars[0].Left < 0.01 {
		t.Errorf("found level %v, want a note that is heard", bars[0].Left)
	}
	if bars[6].High > bars[0].High/10 {
		t.Errorf("closed cutoff: found %v of highs, want far less than %v", bars[6].High, bars[0].High)
	}
	if bars[7].Left < 1.2*bars[6].Left {
		t.Errorf("resonance: found level %v, want more than %v", bars[7].Left, bars[6].Left)
	}
	if bars[9].Tail < 30*max(bars[8].Tail, 1e-6) {
		t.Errorf("reverb: found a tail of %v, without send %v", bars[9].Tail, bars[8].Tail)
	}
}

func testAControllerGoesBackWithTheSong(t *testing.T, b *oracle.Browser) {
	s := ridden(lead(song.RoleSub, 2, "x---............"), 7, 0, [2]int{4 * ppq, 10})
	page := opened(t, b, s, Chart{})
	var brought [][]any
	page.Eval(`(() => { const out = []; for (const tick of [0, song.end]) player.reader.seek(tick, (...of) => out.push(of)); return out; })()`, &brought)
	if got, want := fmt.Sprint(brought), "[[0 7 <nil>] [0 7 10]]"; got != want {
		t.Errorf("found %s brought, want %s", got, want)
	}
	var levels []float64
	page.Eval(`(async () => {
		const ctx = new OfflineAudioContext(2, 44100, 22050), desk = new Desk(ctx, song, 1), bus = desk.buses[0];
		bus.control("7", 10, 0);
		bus.control("7", null, 1);
		for (const at of [0.1, 1.1]) bus.strike(at, 0.5, 57, 100, desk.noise);
		const sound = await ctx.startRendering();
		return [loud(sound, 0.2, 0.5), loud(sound, 1.2, 1.5)];
	})()`, &levels)
	if ratio := levels[0] / levels[1]; math.Abs(ratio-0.01) > 0.001 {
		t.Errorf("found volume 10 at %.4f of what is there before any is set, want 0.01: the square of 10 to 100", ratio)
	}
}

func testWhoeverPlaysLastPlaysAlone(t *testing.T, b *oracle.Browser) {
	s, _ := short()
	page := opened(t, b, s, Chart{})
	var got struct {
		Bar, Pumps int
		Playing    bool
	}
	page.Eval(`(async () => {
		await Promise.all([player.play(0), player.play(song.bars[4])]);
		const at = bar();
		player.stop();
		let pumps = 0;
		player.pump = () => pumps++;
		await new Promise((r) => setTimeout(r, 200));
		const late = player.play(0);
		player.stop();
		await late;
		return {bar: at, pumps, playing: player.playing};
	})()`, &got)
	if got.Bar != 5 || got.Pumps > 0 || got.Playing {
		t.Errorf("found %+v, want it at bar 5, nothing that goes on after a stop, and a stop that holds", got)
	}
}

func testPitchAndLengthAreHeard(t *testing.T, b *oracle.Browser) {
	s := lead(song.RoleSub, 5, "x---------------")
	tune(s.Parts[0], 57, 69, 57, 57, 57)
	s.Parts[0].Notes[4].End = s.Parts[0].Notes[4].Start + ppq
	e := s.Edit()
	e.Insert(0, smf.Channel(0, 0xB0, 91, 0))
	at := func(bar int) song.Tick { return s.Time().BarStart(bar) }
	e.Insert(0, smf.Channel(at(3), 0xE0, 127, 127))
	for i, c := range [][2]byte{{101, 0}, {100, 0}, {6, 12}} {
		e.Insert(0, smf.Channel(at(4)-3+song.Tick(i), 0xB0, c[0], c[1]))
	}
	e.Insert(0, smf.Channel(at(4), 0xE0, 127, 127))
	e.Insert(0, smf.Channel(at(5), 0xE0, 0, 64))
	page := opened(t, b, e.Song(), Chart{})
	var hertz, ends []float64
	page.Eval(`Promise.all([1, 2, 3, 4].map(async (b) => crossings(await player.render(b, 1))))`, &hertz)
	page.Eval(`player.render(5, 1).then((s) => [loud(s, 0.1, 0.4), loud(s, 0.9, 1.2)])`, &ends)
	// A at 220 Hz, an octave up; bent by two semitones, then by the twelve that are announced, less a step
	// (a bend reaches 8191 of 8192 steps up).
	for i, want := range []float64{220, 440, 220 * math.Exp2(2.0/12), 440} {
		if math.Abs(hertz[i]-want) > 2 {
			t.Errorf("bar %d: found %.1f Hz, want %.1f", i+1, hertz[i], want)
		}
	}
	if ends[0] < 0.01 || ends[1] > ends[0]/30 {
		t.Errorf("a note of half a second: found level %v in it and %v after", ends[0], ends[1])
	}
}

func testEveryRoleHasAVoice(t *testing.T, b *oracle.Browser) {
	s := blank(2*len(song.Roles()), 120, fourFour())
	s.Tracks = []*song.Track{{}}
	for i, r := range song.Roles() {
		play(&s, r, string(r), "x---............", between(2*i+1, 2*i+1))
	}
	page := opened(t, b, s, Chart{})
	var peaks []float64
	page.Eval(`Promise.all(song.parts.map(async (_, i) => peak(await player.render(2 * i + 1, 1))))`, &peaks)
	for i, r := range song.Roles() {
		if silent := r == song.RoleTrigger; peaks[i] < 0.01 != silent {
			t.Errorf("%s: found a peak of %.5f", r, peaks[i])
		}
	}
	var lacking []string
	page.Eval(`song.parts.map((p) => p.role).filter((r) => !voices[r] && r !== "trigger")`, &lacking)
	if len(lacking) > 0 {
		t.Errorf("found no voice of their own for %q", lacking)
	}
}

func testMuteAndSolo(t *testing.T, b *oracle.Browser) {
	s := blank(2, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleHat, "hat", "x.x.x.x.x.x.x.x.", always)
	play(&s, song.RoleSub, "sub", "x---x---x---x---", always)
	page := opened(t, b, s, Chart{})
	press := func(label string) {
		page.Eval(fmt.Sprintf(`[...document.querySelectorAll("#grid button")].find((b) => b.textContent === %q).click()`, label), nil)
	}
	hear := func(rule string, wantLow, wantHigh bool) {
		t.Helper()
		var got [2]float64
		page.Eval(`player.render(1, 1).then(async (s) => [loud(await filtered(s, "lowpass", 120)), loud(await filtered(s, "highpass", 6000))])`, &got)
		if low, high := got[0] > 0.001, got[1] > 0.0003; low != wantLow || high != wantHigh {
			t.Errorf("%s: found %.5f low and %.5f high, want sub %v and hat %v", rule, got[0], got[1], wantLow, wantHigh)
		}
	}
	hear("all play", true, true)
	press("mute sub")
	hear("a muted part is silent", false, true)
	press("solo sub")
	hear("solo goes before mute", true, false)
	press("solo hat")
	hear("several may be soloed", true, true)
	press("solo sub")
	press("solo hat")
	press("mute hat")
	hear("nothing is left", false, false)
	press("mute sub")
	hear("a second press undoes the first", true, false)
	var pressed []string
	page.Eval(`[...document.querySelectorAll('#grid button[aria-pressed="true"]')].map((b) => b.textContent)`, &pressed)
	if !slices.Equal(pressed, []string{"mute hat"}) {
		t.Errorf("found %q pressed, want what is muted", pressed)
	}
}

func testSilenceIsSilent(t *testing.T, b *oracle.Browser) {
	s := blank(6, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "X...X...X...X...", between(1, 2, 5, 6))
	play(&s, song.RolePad, "pad", "X---------------", between(1, 2, 5, 6))
	page := opened(t, b, s, Chart{})
	var got []float64
	page.Eval(`player.render(1, 6).then((s) => [loud(s, 0, 4), loud(s, 7, 8), loud(s, 8, 12), peak(s)])`, &got)
	if got[0] < 0.01 || got[1] > 1e-4 || got[2] < 0.01 || got[3] >= 1 {
		t.Errorf("found levels %v (the last one the peak), want sound, silence when the last note has died away, sound", got)
	}
}

func testAWallOfSoundStaysUnderTheCeiling(t *testing.T, b *oracle.Browser) {
	s := blank(2, 150, fourFour())
	s.Tracks = []*song.Track{{}}
	for i := range 60 {
		play(&s, song.Roles()[i%22], fmt.Sprint("part ", i), "X-X-XXXXX-------", always)
		for n := range s.Parts[i].Notes {
			s.Parts[i].Notes[n].Vel = 127
		}
	}
	page := opened(t, b, s, Chart{})
	var got float64
	page.Eval(`player.render(1, 2).then(peak)`, &got)
	if got >= 1 || got < 0.5 {
		t.Errorf("found a peak of %v, want it loud and less than 1", got)
	}
}

// simulated plays with a clock of its own and notes what is struck when; waking is the seconds between two
// looks at the clock.
const simulated = `async (waking, until = Infinity) => {
	const p = new Player(song), struck = [];
	let late = 0;
	p.ctx = {currentTime: 0};
	p.loop = player.loop;
	p.desk = {close() {}, buses: song.parts.map((_, part) => ({control() {}, strike(at) {
		struck.push([part, at]);
		if (at < p.ctx.currentTime) late++;
	}}))};
	p.stretches = [];
	p.begin(p.loop?.[0] ?? 0, 0);
	for (let n = 0; p.playing && p.ctx.currentTime < until; n++) {
		p.pump();
		p.ctx.currentTime += waking[n % waking.length];
	}
	return {late, times: song.parts.map((_, part) => struck.filter((s) => s[0] === part).map((s) => s[1]))};
}`

func testTenMinutesHaveEveryNoteAtItsTime(t *testing.T, b *oracle.Browser) {
	const bars = 375 // 10 minutes at 150 bpm
	for _, tt := range []struct {
		rule  string
		tempi []smf.TempoAt
	}{
		{"one tempo", []smf.TempoAt{{Micros: 400_000}}},
		{"a tempo for each bar", func() (out []smf.TempoAt) {
			for i := range bars {
				out = append(out, smf.TempoAt{Tick: song.Tick(i * 4 * ppq), Micros: uint32(399_000 + i*7%2001)})
			}
			return out
		}()},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			s := song.Blank(ppq, tt.tempi, []smf.MetreAt{{Metre: fourFour()}}, bars*4*ppq)
			s.Tracks = []*song.Track{{}}
			for i := range 12 {
				play(&s, song.Roles()[i], fmt.Sprint("part ", i), "xxxxxxxxxxxxxxxx", always)
			}
			page := opened(t, b, s, Chart{})
			var got struct {
				Late  int
				Times [][]float64
			}
			page.Eval("("+simulated+")([0.025, 0.021, 0.13, 0.004])", &got)
			if got.Late > 0 {
				t.Errorf("found %d notes struck late", got.Late)
			}
			for i, p := range s.Parts {
				if len(got.Times[i]) != len(p.Notes) {
					t.Fatalf("%s: found %d notes, want %d", p.Name, len(got.Times[i]), len(p.Notes))
				}
				for n, at := range got.Times[i] {
					if want := s.Time().Seconds(p.Notes[n].Start); math.Abs(at-want) > 1e-6 {
						t.Fatalf("%s: note %d at %.7f s, want %.7f", p.Name, n, at, want)
					}
				}
			}
		})
	}
}

func testALoopGoesRoundWithoutAGap(t *testing.T, b *oracle.Browser) {
	s := blank(8, 120, fourFour(), song.Section{Name: "build", Bar: 1, Bars: 4}, song.Section{Name: "drop", Bar: 5, Bars: 2}, song.Section{Name: "end", Bar: 7, Bars: 2})
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "x...x...x...x...", always)
	page := opened(t, b, s, Chart{})
	var got struct{ Times [][]float64 }
	page.Eval(`(goTo(5), byId("loop").click(), (`+simulated+`)([0.025], 60))`, &got)
	times := got.Times[0]
	if len(times) < 120 {
		t.Fatalf("found %d notes in a minute, want at least 120", len(times))
	}
	for n, at := range times {
		if want := float64(n) / 2; math.Abs(at-want) > 1e-6 {
			t.Fatalf("note %d at %v s, want %v", n, at, want)
		}
	}
	var loop []int
	page.Eval(`player.loop.map((t) => barAt(t))`, &loop)
	if !slices.Equal(loop, []int{5, 7}) {
		t.Errorf("found a loop of bars %v, want those of the drop, 5 up to 7", loop)
	}
	var off bool
	page.Eval(`(byId("loop").click(), player.loop === null)`, &off)
	if !off {
		t.Error("found a loop after it was turned off")
	}
}

func testWhatRingsIntoAStretchIsHeardInIt(t *testing.T, b *oracle.Browser) {
	s := blank(8, 120, fourFour())
	s.Tracks = []*song.Track{{}, {}}
	play(&s, song.RolePad, "pad", "x---------------", always)
	play(&s, song.RoleKick, "kick", "x...............", always)
	s.Parts[0].Notes, s.Parts[1].Notes = s.Parts[0].Notes[:1], s.Parts[1].Notes[:1]
	s.Parts[0].Notes[0].End = s.Time().BarStart(7)
	s.Parts[1].Notes[0].End = s.Time().BarStart(7)
	page := opened(t, b, s, Chart{})
	var levels []float64
	page.Eval(`Promise.all([1, 5, 7].map(async (b) => loud(await player.render(b, 1), 0.5, 1)))`, &levels)
	if levels[0] < 0.005 || levels[1] < levels[0]/2 || levels[2] > levels[0]/30 {
		t.Errorf("a pad held from bar 1 to 6: found levels %v in bars 1, 5 and 7", levels)
	}
	var kick float64
	page.Eval(`(turn(player.muted, 0), player.render(5, 1).then(peak))`, &kick)
	if kick > 0.001 {
		t.Errorf("a kick struck in bar 1: found a peak of %v in bar 5", kick)
	}
}

func testALoopOfNextToNoTimeDoesNotGoRound(t *testing.T, b *oracle.Browser) {
	s := blank(4, 120, fourFour(), song.Section{Name: "fast", Bar: 1, Bars: 2}, song.Section{Name: "end", Bar: 3, Bars: 2})
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "x...x...x...x...", always)
	page := opened(t, b, s, Chart{})
	var still string
	page.Eval(`(player.time = new Time(song.ppq, [[0, 1], [song.bars[2], 500000]]), byId("loop").click(), playFrom(0).then(() => button.textContent))`, &still)
	if still != "Stop" {
		t.Errorf("found the button at %q, want it to play on", still)
	}
	page.Press(" ")
}

// placeOf is where a bar of a row, by name, stands in the window: bar 0 is its name.
func placeOf(page *oracle.Page, row string, bar int) (x, y float64) {
	var at [2]float64
	page.Eval(fmt.Sprintf(`(() => {
		const n = rows.findIndex((r) => r.name === %q), {top, tall} = rows[n];
		document.getElementById("row-" + n).scrollIntoView({block: "center"});
		const box = svg.getBoundingClientRect(), title = document.querySelector("#row-" + n + " [role=rowheader]").getBoundingClientRect();
		return [%[2]d ? box.left + (barX(%[2]d) + barX(%[2]d + 1)) / 2 * zoom : title.left + title.width / 2, box.top + top + tall / 2];
	})()`, row, bar), &at)
	return at[0], at[1]
}

// told returns what JavaScript gives as text once it is what is wanted, or after three seconds: a busy
// machine takes a while to start the sound.
func told(page *oracle.Page, script, want string) (got string) {
	page.Eval(fmt.Sprintf(`(async () => {
		let got;
		for (let n = 0; n < 30 && (got = String(%s)) !== %q; n++) await new Promise((r) => setTimeout(r, 100));
		return got;
	})()`, script, want), &got)
	return got
}

func testThePictureAnswersThePointer(t *testing.T, b *oracle.Browser) {
	s, changes := short()
	changes = append(changes, song.Change{Move: "nowhere", Parts: []string{"kick"}}, song.Change{Move: "nobody", Ranges: []song.Range{s.BarRange(1, 8)}, Parts: []string{"gone"}})
	page := opened(t, b, s, Chart{Changes: changes})
	var idle, got string
	page.Eval(`idle`, &idle)
	for _, tt := range []struct {
		row  string
		bar  int
		want string
	}{
		{"kick", 2, "kick · build · bar 2 · 0:02 · 4 notes"},
		{"kick", 4, "kick · build · bar 4 · 0:06 · 0 notes · lead-in: mute · prepares what comes next"},
		{"bass", 5, "bass · drop · bar 5 · 0:08 · 4 notes · changes here: in or out"},
		{"sections", 6, "drop · bar 6 · 0:10 · energy N% of full"},
		{"sections", 5, "drop · bar 5 · 0:08 · energy N% of full · bar 5, places: kick; in or out: bass; prepared by kick"},
		{"mute", 4, "mute · build · bar 4 · 0:06 · lead-in: mute on kick"},
		{"lead-in", 4, "lead-in · build · bar 4 · 0:06 · lead-in: mute on kick"},
		{"mute", 5, "mute · drop · bar 5 · 0:08 · not at work"},
		{"nobody", 5, "nobody · drop · bar 5 · 0:08 · nobody"},
		{"kick", 0, idle},
	} {
		page.Hover(placeOf(page, tt.row, tt.bar))
		if got = told(page, `hint.textContent.replace(/\d+%/, "N%")`, tt.want); got != tt.want {
			t.Errorf("%q, bar %d: found %q, want %q", tt.row, tt.bar, got, tt.want)
		}
	}
	for _, tt := range []struct {
		rule, row string
		bar       int
		want      string
	}{
		{"a click on a part plays from that bar", "bass", 7, "7"},
		{"a click on a move plays from that bar", "mute", 3, "3"},
		{"a click above the parts plays the section", "sections", 7, "5"},
	} {
		page.Click(placeOf(page, tt.row, tt.bar))
		if got := told(page, `player.playing ? bar() : 0`, tt.want); got != tt.want {
			t.Errorf("%s: found it at bar %s, want %s", tt.rule, got, tt.want)
		}
		page.Eval(`player.stop(0)`, nil)
	}
	// A bar takes two seconds. The pointer stays where it clicked, and the line goes on with the song.
	x, y := placeOf(page, "bass", 6)
	page.Click(x, y)
	page.Hover(x+1, y+1) // a hand is not still
	if want := "bass · drop · bar 7 · 0:12 · 4 notes"; told(page, `hint.textContent`, want) != want {
		t.Errorf("after a click: found %q, want the line to follow to %q", told(page, `hint.textContent`, want), want)
	}
	page.Eval(`player.stop(0)`, nil)
}

func testThePageIsWorkedByKeys(t *testing.T, b *oracle.Browser) {
	s, changes := short()
	page := opened(t, b, s, Chart{Phrase: 2, Changes: changes})
	page.Eval(`document.activeElement.blur()`, nil)
	const focus = `((e) => e.getAttribute("aria-label")?.replace(/\d+%/, "N%") ?? e.id + e.textContent)(document.activeElement)`
	for _, tt := range []struct {
		rule string
		keys []string
		tell string // JavaScript
		want string
	}{
		{"tab comes to play", []string{kb.Tab}, focus, "playPlay"},
		{"to loop, volume, zoom and the sections", []string{kb.Tab, kb.Tab, kb.Tab, kb.Tab, kb.Tab}, focus, "drop bars 5 to 8"},
		{"and to the first part", []string{kb.Tab}, focus, "kick, build, bars 1 to 2, 0:00, 8 notes"},
		{"where the line tells the same", nil, `hint.textContent`, "kick · build · bars 1 to 2 · 0:00 · 8 notes"},
		{"right goes on by a phrase", []string{kb.ArrowRight, kb.ArrowRight}, focus, "kick, drop, bars 5 to 6, 0:08, 8 notes, changes here: in or out"},
		{"and takes the song there while it is still", nil, `byId("position").textContent`, "bar 5 of 8, 0:08"},
		{"left goes back", []string{kb.ArrowLeft}, focus, "kick, build, bars 3 to 4, 0:04, 4 notes, lead-in: mute, changes here: in or out"},
		{"down goes to the part below", []string{kb.ArrowDown}, focus, "bass, build, bars 3 to 4, 0:04, 0 notes"},
		{"and to the moves", []string{kb.ArrowDown}, focus, "mute, build, bars 3 to 4, 0:04, lead-in: mute on kick"},
		{"below the last there is nothing", []string{kb.ArrowDown, kb.ArrowDown, kb.ArrowDown}, focus, "lead-in, build, bars 3 to 4, 0:04, lead-in: mute on kick"},
		{"up goes back, to the sections", []string{kb.ArrowUp, kb.ArrowUp, kb.ArrowUp, kb.ArrowUp, kb.ArrowUp}, focus, "build, bars 3 to 4, 0:04, energy N% of full, bar 3, in or out: kick"},
		{"end goes to the last phrase", []string{kb.ArrowDown, kb.End}, focus, "kick, drop, bars 7 to 8, 0:12, 8 notes"},
		{"right of which there is nothing", []string{kb.ArrowRight}, focus, "kick, drop, bars 7 to 8, 0:12, 8 notes"},
		{"home goes to the row's first cell", []string{kb.Home}, focus, "mute kick"},
		{"left of which there is nothing", []string{kb.ArrowLeft}, focus, "mute kick"},
		{"space presses it", []string{" "}, `[...player.muted].map((p) => song.parts[p].name).join()`, "kick"},
		{"as does M", []string{"m"}, `player.muted.size`, "0"},
		{"solo is the next", []string{kb.ArrowRight}, focus, "solo kick"},
		{"S lets the part play alone", []string{kb.ArrowDown, "S"}, `[...player.soloed].map((p) => song.parts[p].name).join()`, "bass"},
		{"and lets the others in again", []string{"s"}, `player.soloed.size`, "0"},
		{"page down goes down rows", []string{kb.PageDown}, focus, "lead-in, build, bars 1 to 2, 0:00, not at work"},
		{"page up goes up", []string{kb.PageUp}, `document.activeElement.closest("[role=row]").id`, "row-0"},
		{"a point goes to the next section", []string{"."}, `phrases[document.activeElement.place.column - ahead]`, "5"},
		{"a comma to the one before", []string{","}, `phrases[document.activeElement.place.column - ahead]`, "1"},
		{"L loops the section", []string{"l"}, `player.loop.map(barAt).join()`, "1,5"},
		{"capitals do the same", []string{"L"}, `String(player.loop)`, "null"},
		{"plus draws bars wider", []string{"+"}, `(svg.getBoundingClientRect().width / song.view.width).toFixed(2)`, "1.10"},
		{"minus narrower", []string{"-"}, `(svg.getBoundingClientRect().width / song.view.width).toFixed(2)`, "1.00"},
		{"enter plays from there", []string{kb.ArrowDown, ".", kb.Enter}, `player.playing && bar()`, "5"},
		{"and moving on does not move the song", []string{kb.ArrowLeft, kb.ArrowLeft}, `bar() >= 5 && bar() < 8`, "true"},
		{"space stops", []string{" "}, `button.textContent`, "Play"},
		{"and plays while the volume has the focus", []string{" "}, `(byId("volume").focus(), button.textContent)`, "Stop"},
		{"and stops, and the volume keeps its keys", []string{" ", kb.ArrowDown}, `button.textContent + byId("volume").value`, "Play24"},
		{"where letters do nothing", []string{"m", "s", "l"}, `player.muted.size + player.soloed.size + String(player.loop)`, "0null"},
		{"tab comes back to the cell that was left", []string{kb.Tab, kb.Tab, kb.Tab, kb.Tab}, focus, "kick, build, bars 1 to 2, 0:00, 8 notes"},
	} {
		page.Press(tt.keys...)
		if got := told(page, tt.tell, tt.want); got != tt.want {
			t.Errorf("%s: found %q, want %q", tt.rule, got, tt.want)
		}
	}
	var reached []int
	page.Press(kb.ArrowRight)
	page.Eval(`[document.querySelectorAll('#grid [tabindex="0"]').length, document.querySelectorAll('#grid [tabindex="-1"]').length + 1 - document.querySelectorAll("#grid [role=gridcell][data-bar], #grid button").length]`, &reached)
	if !slices.Equal(reached, []int{1, 0}) {
		t.Errorf("found %v, want one cell in the order of Tab and all others out of it", reached)
	}
	// Shift and the arrows go by bars; what moved no focus is said.
	var far []string
	for _, key := range []string{"ArrowRight", "m", "m", "s", "s", "l", "l"} {
		page.Eval(`document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "`+key+`", shiftKey: true, bubbles: true}))`, nil)
		var said string
		page.Eval(`byId("said").textContent`, &said)
		far = append(far, said)
	}
	if want := []string{"kick · build · bar 4 · 0:06 · 0 notes · lead-in: mute", "kick is muted", "kick is not muted",
		"kick plays solo", "kick plays with the others", "loops the section", "loops nothing"}; !slices.Equal(far, want) {
		t.Errorf("found said %q, want %q", far, want)
	}
	far = nil
	for _, key := range []string{"Home", "End"} {
		page.Eval(`document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "`+key+`", ctrlKey: true, bubbles: true}))`, nil)
		var at string
		page.Eval(`((p) => p.row + " " + p.column)(document.activeElement.place)`, &at)
		far = append(far, at)
	}
	if !slices.Equal(far, []string{"0 2", "4 5"}) {
		t.Errorf("control with home and end: found %q, want the first and the last cell", far)
	}
	var at [2]float64
	page.Eval(`(document.querySelector("#grid button").click(), document.querySelector("#grid button").scrollIntoView({block: "center", behavior: "instant"}))`, nil)
	// Where the button is once the page has been drawn.
	page.Eval(`new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done((({x, y}) => [x + 5, y + 5])(document.querySelector("#grid button").getBoundingClientRect())))))`, &at)
	page.Click(at[0], at[1])
	if got := told(page, `String(player.muted.size)`, "0"); got != "0" {
		t.Errorf("a click on mute: found %s parts muted, want the kick unmuted", got)
	}
	page.Press(" ")
	if got := told(page, `button.textContent`, "Stop"); got != "Stop" {
		t.Errorf("space after a click on a button: found %q, want it to play", got)
	}
	page.Press(" ")
}

func testPagesOfEverySize(t *testing.T, b *oracle.Browser) {
	for _, c := range []struct{ bars, parts int }{{8, 4}, {8, 60}, {600, 40}, {3000, 4}} {
		t.Run(fmt.Sprintf("%d bars, %d parts", c.bars, c.parts), func(t *testing.T) {
			page := opened(t, b, large(c.bars, c.parts, c.bars/8), Chart{})
			var rows, sections int
			var drawn float64
			page.Eval(`drawings.size`, &rows)
			page.Eval(`document.querySelectorAll("#sections button").length`, &sections)
			page.Eval(`Math.max(performance.getEntriesByType("navigation")[0].domComplete, performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0)`, &drawn)
			if rows != c.parts || sections != c.bars/8 {
				t.Errorf("found %d rows and %d sections, want %d and %d", rows, sections, c.parts, c.bars/8)
			}
			t.Logf("drawn after %.0f ms", drawn)
		})
	}
}
