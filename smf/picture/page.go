package picture

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"slices"
	"strings"

	"loopdraft/smf/song"
)

//go:embed page/page.html
var pageHTML string

//go:embed page/page.css
var pageCSS string

//go:embed page/player.js
var playerJS string

//go:embed page/view.js
var viewJS string

// HTML writes a page that shows a song's chart as [SVG] does and plays the song: one file that needs
// nothing else and, by its Content-Security-Policy, can reach nothing else. It plays with a plain sound
// for each role, follows velocity, length, tempo and the controllers of [heardControllers], and tells of
// each bar of a part what plays there, which moves of c.Changes worked there and what is heard to change.
//
// What the file calls things is text in it, without control characters. The errors are those of SVG and of
// [form.StructureOf]. It takes time linear in notes, events and changes, and in parts times columns.
func HTML(w io.Writer, s song.Song, c Chart) error {
	title := cut(clean(c.Title, false), 2*mostName, "…")
	c.Title = "" // which stands above the picture
	drawn, err := newChart(s, c)
	if err != nil {
		return err
	}
	if drawn.unheard != nil {
		return drawn.unheard
	}
	data, err := json.Marshal(newPageSong(drawn)) // which escapes <, > and &
	if err != nil {
		return err
	}
	if title == "" {
		title = drawn.figure.title
	}
	var svg bytes.Buffer
	writeSVG(&svg, drawn.figure)
	policy := "default-src 'none'; base-uri 'none'; form-action 'none'; style-src " + hash(styleSheet()) + " " + hash(pageCSS) +
		"; script-src " + hash(playerJS) + " " + hash(viewJS)
	_, err = strings.NewReplacer(
		"{{.Policy}}", policy, "{{.Title}}", html.EscapeString(title), "{{.Style}}", pageCSS,
		"{{.Picture}}", svg.String(), "{{.Song}}", string(data), "{{.Player}}", playerJS, "{{.View}}", viewJS,
	).WriteString(w, pageHTML)
	return err
}

// hash names a script or style in a Content-Security-Policy (W3C, CSP Level 3, 2.3.1).
func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// pageSong is a song as the page reads it. Times are ticks.
type pageSong struct {
	PPQ      song.Tick     `json:"ppq"`
	End      song.Tick     `json:"end"`
	Bars     []song.Tick   `json:"bars"`  // where each bar starts; last, the end of the last one
	Tempi    [][2]int64    `json:"tempi"` // tick, microseconds a quarter note
	Sections []pageSection `json:"sections"`
	Parts    []pagePart    `json:"parts"`
	Changes  []pageChange  `json:"changes"`
	View     pageView      `json:"view"`
}

type pageSection struct {
	Name string `json:"name"`
	Bar  int    `json:"bar"`
	Bars int    `json:"bars"`
}

type pagePart struct {
	Name    string             `json:"name"`
	Role    song.Role          `json:"role"`
	Notes   []int64            `json:"notes"`   // ticks since the note before, length, key, velocity
	Control map[string][]int64 `json:"control"` // by controller: ticks since the value before, value
}

// pageChange is what happened to parts, and where.
type pageChange struct {
	Text  string         `json:"text"`
	Parts []int          `json:"parts"`
	At    [][2]song.Tick `json:"at"` // [start, end) of each range
}

// pageView is where things stand in the picture, in its own units.
type pageView struct {
	Width  float64      `json:"width"`
	Height float64      `json:"height"`
	Lines  []float64    `json:"lines"` // of the bars; last, the end
	Rows   [][2]float64 `json:"rows"`  // of the parts: top, height
}

// heardControllers are those the page's sounds listen to besides bend: volume, pan, expression, resonance,
// cutoff, reverb.
func heardControllers() []song.Controller { return []song.Controller{7, 10, 11, 71, 74, 91} }

func newPageSong(c *chart) pageSong {
	s := c.song
	tl := s.Time()
	out := pageSong{
		PPQ: tl.PPQ(), End: s.End, View: c.view(), Sections: []pageSection{}, Parts: []pagePart{},
		Changes: append(c.movesMade(), c.changesHeard()...),
	}
	for bar := 1; bar <= c.layout.Bars+1; bar++ {
		out.Bars = append(out.Bars, tl.BarStart(bar))
	}
	for _, t := range tl.Tempi() {
		out.Tempi = append(out.Tempi, [2]int64{int64(t.Tick), int64(t.Micros)})
	}
	for _, sec := range c.inside {
		out.Sections = append(out.Sections, pageSection{shown(sec.Name), sec.Bar, min(sec.Bars, c.layout.Bars+1-sec.Bar)})
	}
	control := make([]map[uint8]map[string][]int64, len(s.Tracks))
	for i := range s.Tracks {
		control[i] = controlOf(s, i)
	}
	for i, p := range s.Parts {
		notes := make([]int64, 0, 4*len(p.Notes))
		last := song.Tick(0)
		for _, n := range p.Notes {
			notes = append(notes, int64(n.Start-last), int64(n.End-n.Start), int64(n.Key), int64(n.Vel))
			last = n.Start
		}
		out.Parts = append(out.Parts, pagePart{c.names[i], p.Role, notes, control[p.Track][p.Channel]})
	}
	return out
}

// view says where bars and rows stand.
func (c *chart) view() pageView {
	pixels := func(p px) float64 { return float64(p) / float64(pixel) }
	v := pageView{Width: pixels(c.width), Height: pixels(c.height), Rows: make([][2]float64, len(c.song.Parts))}
	for bar := 1; bar <= c.layout.Bars; bar++ {
		v.Lines = append(v.Lines, pixels(c.barX(bar)))
	}
	v.Lines = append(v.Lines, pixels(c.right))
	for i, r := range c.layout.Rows {
		v.Rows[r.Part] = [2]float64{pixels(c.tops[i]), pixels(c.tall)}
	}
	return v
}

// movesMade are the changes that moves made to parts. Of the line-up the rows themselves tell.
func (c *chart) movesMade() []pageChange {
	out := []pageChange{}
	index := map[string]int{}
	for i, p := range c.song.Parts {
		index[p.Name] = i
	}
	for _, ch := range c.Changes {
		made := pageChange{Text: ch.Move}
		for _, name := range ch.Parts {
			if i, ok := index[name]; ok {
				made.Parts = append(made.Parts, i)
			}
		}
		if ch.Move == "line-up" || len(made.Parts) == 0 || len(ch.Ranges) == 0 {
			continue
		}
		if ch.Within != "" {
			made.Text = ch.Within + ": " + made.Text
		}
		if ch.Text != "" {
			made.Text += " (" + ch.Text + ")"
		}
		made.Text = clean(made.Text, false)
		for _, r := range ch.Ranges {
			made.At = append(made.At, [2]song.Tick{r.Start, r.End})
		}
		out = append(out, made)
	}
	return out
}

// changesHeard are the changes of parts that anybody hears, with the bar in which they begin, and the
// preparing of the next one, with the bar before it.
func (c *chart) changesHeard() []pageChange {
	var out []pageChange
	type place struct {
		text string
		part int
	}
	index := map[place]int{}
	add := func(text string, part, bar int) {
		i, known := index[place{text, part}]
		if !known {
			i = len(out)
			index[place{text, part}] = i
			out = append(out, pageChange{Text: text, Parts: []int{part}})
		}
		r := c.song.BarRange(bar, bar)
		out[i].At = append(out[i].At, [2]song.Tick{r.Start, r.End})
	}
	for _, at := range c.changes() {
		for _, ch := range at.heard.Changes {
			add("changes here: "+ch.What, ch.Part, at.bar)
		}
		for _, p := range at.heard.Preparing {
			if at.bar > 1 {
				add("prepares the next bar", p, at.bar-1)
			}
		}
	}
	return out
}

// controlOf returns what the controllers of a track's channels do, by channel and name: a number, or "bend"
// in cents. It takes time linear in the track's events.
func controlOf(s song.Song, track int) map[uint8]map[string][]int64 {
	out := map[uint8]map[string][]int64{}
	last := map[uint8]map[string]song.Tick{}
	ranges := map[uint8]song.BendRanges{}
	for _, ev := range s.Tracks[track].Events {
		id, v, ok := ev.Of()
		if !ok || id != song.Bend && !slices.Contains(heardControllers(), id) {
			continue
		}
		ch := ev.Chan()
		if out[ch] == nil {
			out[ch], last[ch], ranges[ch] = map[string][]int64{}, map[string]song.Tick{}, s.BendRanges(track, ch)
		}
		name := fmt.Sprint(int(id))
		if id == song.Bend {
			name = "bend"
			v = (v - 8192) * 100 * ranges[ch].At(ev.Tick) / 8192
		}
		out[ch][name] = append(out[ch][name], int64(ev.Tick-last[ch][name]), int64(v))
		last[ch][name] = ev.Tick
	}
	return out
}
