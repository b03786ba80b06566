//go:build unix

package main

import (
	"testing"
	"time"

	"loopdraft/recipes"
	"loopdraft/smf/oracle"
)

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

func TestServedPageHearsASave(t *testing.T) {
	browser := oracle.StartBrowser(t)
	text, _ := recipes.BuiltinText("club")
	dir := inFolder(t, "harbour-lights.mid", string(text))
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	page := browser.Visit(t, s.address)
	page.Eval(`new Promise((r) => setTimeout(r, 500)).then(() => playFrom(song.bars[70]))`, nil)
	page.Eval(watching, nil)
	for n, line := range []string{"# one\n", "seed: 2\n", "seed: 3\n", "seed: 4\n"} {
		page.Eval(`new Promise((r) => setTimeout(r, 700)).then(() => { heard = 0; })`, nil)
		saved := time.Now().UnixMilli()
		put(t, dir, "mine.yaml", line+string(text))
		var heard float64
		page.Eval(`(async () => { for (let n = 0; n < 200 && !heard; n++) await new Promise((r) => setTimeout(r, 20)); return heard; })()`, &heard)
		t.Logf("save %d: heard after %.0f ms", n, heard-float64(saved))
	}
	for _, c := range page.Complaints() {
		t.Errorf("the browser complains: %s", c)
	}
}
