//go:build oracles

package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// TestPageOfADraft tries the page of a draft in a browser.
func TestPageOfADraft(t *testing.T) {
	browser := oracle.StartBrowser(t)
	html, s := pageOf(t, "harbour-lights.mid")
	page := browser.Open(t, html)

	t.Run("every part and section is there", func(t *testing.T) {
		var parts, sections []string
		page.Eval(`[...document.querySelectorAll("#grid .part [role=rowheader]")].map((e) => e.textContent)`, &parts)
		page.Eval(`[...document.querySelectorAll("#sections button")].map((e) => e.textContent)`, &sections)
		for _, p := range []string{"kick", "clap", "rim", "hat", "open-hat", "shaker", "ride", "conga", "bass", "pad", "stab"} {
			var n int
			page.Eval(fmt.Sprintf(`document.querySelectorAll('#stage g[data-part="%s"]').length`, p), &n)
			if n != 1 || !slices.Contains(parts, p) {
				t.Errorf("found %d rows of %s, and %q", n, p, parts)
			}
		}
		var want []string
		for i, sec := range s.Sections {
			sec.Name = song.SectionNames(s.Sections)[i]
			want = append(want, fmt.Sprintf("%s bars %d to %d", sec.Name, sec.Bar, sec.Bar+sec.Bars-1))
		}
		if !slices.Equal(sections, want) || len(want) == 0 {
			t.Errorf("found sections %q, want %q", sections, want)
		}
	})

	t.Run("it tells of the moves", func(t *testing.T) {
		var told string
		page.Eval(`(point(64, 64, rows.findIndex((r) => r.name === "clap")), hint.textContent)`, &told)
		if want := "clap · build 1 · bar 64 · 1:54 · "; !strings.HasPrefix(told, want) || !strings.Contains(told, "roll") {
			t.Errorf("found %q, want %q and the roll", told, want)
		}
	})

	t.Run("a move's row tells its parts", func(t *testing.T) {
		var told, title string
		page.Eval(`(point(64, 64, rows.findIndex((r) => r.kind === "move" && r.name === "roll")), hint.textContent)`, &told)
		page.Eval(`document.querySelector('#picture g[data-move="roll"] title').textContent`, &title)
		if title != "roll: clap" || !strings.HasPrefix(told, "roll · build 1 · bar 64 · 1:54 · roll (") || !strings.HasSuffix(told, " on clap") {
			t.Errorf("found %q and %q, want the clap", title, told)
		}
	})

	t.Run("the playhead goes at the song's tempo", func(t *testing.T) {
		var got [2]struct{ Clock, Tick, X, Want float64 }
		look := `(draw(), {clock: player.ctx.currentTime, tick: player.position, x: new DOMMatrix(getComputedStyle(head).transform).m41, want: Number(svg.dataset.left) + player.position / song.end * (svg.dataset.right - svg.dataset.left)})`
		page.Eval(`document.querySelectorAll("#sections button")[4].click()`, nil)
		page.Eval(`new Promise((r) => setTimeout(r, 500)).then(() => `+look+`)`, &got[0])
		page.Eval(`new Promise((r) => setTimeout(r, 2000)).then(() => `+look+`)`, &got[1])
		var section string
		page.Eval(`document.querySelector('#sections [aria-current="true"]').textContent`, &section)
		if section != "drop 1 bars 65 to 96" {
			t.Errorf("found section %q marked, want the first drop", section)
		}
		var struck int
		page.Eval(`(player.stop(), player.struck)`, &struck)
		seconds := got[1].Clock - got[0].Clock
		ticks := seconds * 132 / 60 * float64(s.Time().PPQ())
		if seconds < 1 || math.Abs(got[1].Tick-got[0].Tick-ticks) > 1e-3*ticks {
			t.Errorf("found %v ticks in %v s, want %v at 132 bpm", got[1].Tick-got[0].Tick, seconds, ticks)
		}
		if start := float64(s.Time().BarStart(65)); got[0].Tick < start || got[0].Tick > start+float64(4*s.Time().PPQ()) {
			t.Errorf("found tick %v, want it soon after bar 65, %v", got[0].Tick, start)
		}
		for _, g := range got {
			if math.Abs(g.X-g.Want) > 1 { // a pixel
				t.Errorf("found the playhead at %v, want %v", g.X, g.Want)
			}
		}
		if struck < 20 {
			t.Errorf("found %d notes struck, want a drop", struck)
		}
	})

	t.Run("the drop is loud, does not clip, and the break has no low end", func(t *testing.T) {
		var levels map[string][]float64
		page.Eval(`(async () => {
			const out = {};
			for (const [name, bar] of [["drop", 65], ["break", 49], ["last drop", 145]]) {
				const sound = await player.render(bar, 8, 44100), ctx = new OfflineAudioContext(2, sound.length, sound.sampleRate);
				const filter = () => new BiquadFilterNode(ctx, {type: "lowpass", frequency: 120, Q: -3});
				const source = new AudioBufferSourceNode(ctx, {buffer: sound});
				source.connect(filter()).connect(filter()).connect(ctx.destination);
				source.start();
				const low = await ctx.startRendering();
				const rms = (s) => Math.sqrt(s.getChannelData(0).reduce((sum, v) => sum + v * v, 0) / s.length);
				out[name] = [rms(sound), rms(low), sound.getChannelData(0).reduce((m, v) => Math.max(m, Math.abs(v)), 0)];
			}
			return out;
		})()`, &levels)
		for name, l := range levels {
			t.Logf("%s: level %.1f dB, below 120 Hz %.1f dB, peak %.3f", name, 20*math.Log10(l[0]), 20*math.Log10(l[1]), l[2])
			if l[0] < 0.01 || l[2] >= 1 {
				t.Errorf("%s: found level %.4f and peak %.4f, want sound that does not clip", name, l[0], l[2])
			}
		}
		if below := 20 * math.Log10(levels["drop"][1]/levels["break"][1]); below < 10 {
			t.Errorf("found the break %.1f dB below the drop under 120 Hz, want at least 10", below)
		}
	})

	var drawn float64
	page.Eval(`Math.max(performance.getEntriesByType("navigation")[0].domComplete, performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0)`, &drawn)
	t.Logf("drawn after %.0f ms", drawn)
	for _, c := range page.Complaints() {
		t.Errorf("the browser complains: %s", c)
	}
}

// TestEverybodyCanUseThePage looks at the page of a draft as a phone and as a desk show it, light and dark.
func TestEverybodyCanUseThePage(t *testing.T) {
	browser := oracle.StartBrowser(t)
	html, s := pageOf(t, "harbour-lights.mid")
	var headings []string
	for i, name := range song.SectionNames(s.Sections) {
		sec := s.Sections[i]
		headings = append(headings, fmt.Sprintf("%s %d-%d", name, sec.Bar, sec.Bar+sec.Bars-1))
	}
	for _, size := range [][2]int64{{390, 844}, {1280, 900}} {
		for _, dark := range []bool{false, true} {
			t.Run(fmt.Sprintf("%d pixels, dark %v", size[0], dark), func(t *testing.T) {
				page := browser.Open(t, html)
				page.Look(size[0], size[1], dark)
				var paper string
				page.Eval(`getComputedStyle(document.body).backgroundColor`, &paper)
				if got := paper != "rgb(255, 255, 255)"; got != dark {
					t.Errorf("found the paper %s", paper)
				}
				for zoom, shown := range map[int]string{100: "[data-section] > text:first-of-type", 400: "[data-section] > text"} {
					var got string
					page.Eval(fmt.Sprintf(`(zoomBy(%d - byId("zoom").value), [...document.querySelectorAll("%s")].filter((e) => !e.matches(".unroomed")).map((e) => e.textContent).join(" "))`, zoom, shown), &got)
					want := strings.Join(headings, " ")
					if zoom == 100 {
						want = strings.Join(song.SectionNames(s.Sections), " ")
					}
					if got != want {
						t.Errorf("headings at %d%%: found %q, want %q", zoom, got, want)
					}
				}
				for _, state := range []string{
					"null", // as it opens
					`(turn(player.muted, 0), turn(player.soloed, 1), document.querySelector("#grid [data-bar]").focus(), zoomBy(50))`,
					`playFrom(song.bars[64])`,
				} {
					page.Eval(state, nil)
					for _, v := range page.Violations() {
						t.Errorf("%s: %s (%s) in\n%s", state, v.Rule, v.Help, strings.Join(v.Elements, "\n"))
					}
				}
				page.Eval(`player.stop()`, nil)
			})
		}
	}
	t.Run("on a phone", func(t *testing.T) {
		page := browser.Open(t, html)
		page.Look(390, 844, false)
		var got struct {
			Controls, Wide float64
			Small          []string
			Names          []string
		}
		page.Eval(`(() => {
			stage.scrollLeft = 800;
			document.querySelector("#row-6").scrollIntoView({block: "center"});
			const seen = ({left, right, width}) => width > 0 && left >= 0 && right <= innerWidth;
			return {
				controls: document.querySelector(".controls").getBoundingClientRect().height / innerHeight,
				wide: document.documentElement.scrollWidth,
				small: [...document.querySelectorAll("button, input[type=range], .switch")].filter((e) => e.offsetHeight < 44 || e.offsetWidth < 44).map((e) => e.outerHTML),
				names: [...document.querySelectorAll("#grid .part")].filter((r) => [...r.querySelectorAll("[role=rowheader], button")].every((e) =>
					seen(e.getBoundingClientRect()) && (r.getBoundingClientRect().top < 150 || r.getBoundingClientRect().bottom > 700 ||
						e.contains(document.elementFromPoint(e.getBoundingClientRect().left + 5, r.getBoundingClientRect().top + 22)))))
					.map((r) => r.querySelector("[role=rowheader]").textContent),
			};
		})()`, &got)
		if got.Controls > 0.2 {
			t.Errorf("controls take %.2f of the height, want a fifth at most", got.Controls)
		}
		if got.Wide > 390 {
			t.Errorf("the page is %v pixels wide, want it to scroll in the picture alone", got.Wide)
		}
		if len(got.Small) > 0 { // WCAG 2.2, 2.5.5: 44 pixels
			t.Errorf("too small for a finger: %q", got.Small)
		}
		if len(got.Names) != 11 {
			t.Errorf("names with mute and solo in sight while the picture is scrolled: found %q, want all 11", got.Names)
		}
		// What has the focus is not behind names, controls or the line below (WCAG 2.2, 2.4.11), while the song plays too.
		page.Eval(`playFrom(0)`, nil)
		for _, place := range []string{"1, 2", "11, Infinity", "1, 6", "8, 20", "8, 3", "0, 4", "11, 0", "24, 9", "2, 2"} {
			var hidden string
			// Where it would else be behind the names:
			page.Eval(`stage.scrollLeft = gutter() + barX(phrases.at(Math.max(([`+place+`])[1] - ahead, 0)) ?? bars) * zoom - 20`, nil)
			page.Eval(`(reach(`+place+`), new Promise((r) => requestAnimationFrame(() => r((({left, right, top, bottom}) => {
				const e = document.elementFromPoint((Math.max(left, 0) + Math.min(right, innerWidth)) / 2, (top + bottom) / 2);
				return e === document.activeElement ? "" : e?.outerHTML ?? "out of sight";
			})(document.activeElement.getBoundingClientRect())))))`, &hidden)
			if hidden != "" {
				t.Errorf("the cell at %s has the focus behind %s", place, hidden)
			}
		}
		page.Eval(`(player.stop(), document.activeElement.blur(), document.querySelector("#row-6").scrollIntoView({block: "center"}))`, nil)
		var at [2]float64
		page.Eval(`(({left, width}, {top, height}) => [left + width - 40, top + height / 2])(stage.getBoundingClientRect(), document.querySelector("#row-6").getBoundingClientRect())`, &at)
		page.Tap(at[0], at[1])
		var first, later string
		page.Eval(`new Promise((r) => setTimeout(() => r(hint.textContent), 600))`, &first)
		page.Eval(`new Promise((r) => setTimeout(() => r(hint.textContent), 4200))`, &later) // a bar takes 1.8 s
		page.Eval(`player.stop()`, nil)
		if !strings.HasPrefix(first, "shaker · ") || !strings.HasPrefix(later, "shaker · ") || first == later {
			t.Errorf("a tap on the shaker tells %q and then %q, want it to go on with the song", first, later)
		}
	})
}
