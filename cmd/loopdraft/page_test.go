package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// mostOfPage is how large the page of a draft of 192 bars may be, in bytes.
const mostOfPage = 400 << 10

// pageOf drafts a demo loop and returns its page and the draft.
func pageOf(t *testing.T, loop string) (html []byte, s song.Song) {
	t.Helper()
	inWorkFolder(t)
	var stderr strings.Builder
	args := []string{"draft", "testdata/loops/" + loop, "--choose", "form=2", "-o", "draft.mid", "--map", "draft.html"}
	if code := run(args, strings.NewReader(""), io.Discard, &stderr, func(string) string { return "" }); code != exitDone {
		t.Fatal(stderr.String())
	}
	html, err := os.ReadFile("draft.html")
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile("draft.mid")
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	s, err = song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	return html, s.WithSections(s.MarkedSections())
}

func TestPagesOfDraftsAreSmall(t *testing.T) {
	for _, loop := range []string{"harbour-lights.mid", "breakwater.mid", "seven-bells.mid", "one-channel.mid"}[:oracle.Size(1, 4, 4)] {
		t.Run(loop, func(t *testing.T) {
			html, s := pageOf(t, loop)
			t.Logf("%d bars, %d bytes", s.Bars(), len(html))
			if len(html) > mostOfPage {
				t.Errorf("found %d bytes, want at most %d", len(html), mostOfPage)
			}
		})
	}
}

// TestPageOfADraft tries the page of a draft in a browser.
func TestPageOfADraft(t *testing.T) {
	browser := oracle.StartBrowser(t)
	html, s := pageOf(t, "harbour-lights.mid")
	page := browser.Open(t, html)

	t.Run("every part and section is there", func(t *testing.T) {
		var parts, sections []string
		page.Eval(`[...document.querySelectorAll("#parts span")].map((e) => e.textContent)`, &parts)
		page.Eval(`[...document.querySelectorAll("#sections button")].map((e) => e.textContent)`, &sections)
		for _, p := range []string{"kick", "clap", "rim", "hat", "open-hat", "shaker", "ride", "conga", "bass", "pad", "stab"} {
			var n int
			page.Eval(fmt.Sprintf(`document.querySelectorAll('#stage g[data-part="%s"]').length`, p), &n)
			if n != 1 || !slices.Contains(parts, p) {
				t.Errorf("found %d rows of %s, and %q", n, p, parts)
			}
		}
		var want []string
		for _, sec := range s.Sections {
			want = append(want, fmt.Sprintf("%s %d", sec.Name, sec.Bar))
		}
		if !slices.Equal(sections, want) || len(want) == 0 {
			t.Errorf("found sections %q, want %q", sections, want)
		}
	})

	t.Run("it tells of the moves", func(t *testing.T) {
		var told string
		page.Eval(`(point(64, song.parts.findIndex((p) => p.name === "clap")), hint.textContent)`, &told)
		if want := "clap · build · bar 64 · 1:54 · "; !strings.HasPrefix(told, want) || !strings.Contains(told, "roll") {
			t.Errorf("found %q, want %q and the roll", told, want)
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
		if section != "drop 65" {
			t.Errorf("found section %q marked, want drop 65", section)
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
