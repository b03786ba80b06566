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
	"maps"
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

//go:embed page/picture.js
var pictureJS string

//go:embed page/tell.js
var tellJS string

//go:embed page/grid.js
var gridJS string

//go:embed page/view.js
var viewJS string

// scripts are those of the page, in the order in which they run.
func scripts() []string { return []string{playerJS, pictureJS, tellJS, gridJS, viewJS} }

// HTML writes a page that shows a song's chart as [SVG] does and plays the song: one file that needs
// nothing else and, by its Content-Security-Policy, can reach nothing else. It plays with a plain sound
// for each role, follows velocity, length, tempo and the controllers of [heardControllers], and tells of
// each bar of a part what plays there, which moves of c.Changes worked there and what is heard to change.
//
// It is worked by pointer, by finger and by keys alone: parts and phrases are a grid, as the WAI-ARIA Authoring
// Practices Guide has it.
//
// What the file calls things is text in it, without control characters. The errors are those of SVG and of
// [form.StructureOf]. It takes time linear in notes, events and changes, and in parts times columns.
func HTML(w io.Writer, s song.Song, c Chart) error {
	p, err := NewPage(s, c)
	if err != nil {
		return err
	}
	return p.HTML(w)
}

// Page is a song's page as [HTML] writes it, and as it may be served by a program that puts another song into it while
// it is open.
type Page struct {
	title        string
	above, below []string
	picture      string // SVG
	song         pageSong
}

// NewPage draws the page of a song. Its errors are those of [HTML].
func NewPage(s song.Song, c Chart) (*Page, error) {
	title := cut(clean(c.Title, false), 2*mostName, "…")
	c.Title = "" // which stands above the picture
	drawn, err := layChart(s, c, true)
	if err != nil {
		return nil, err
	}
	if drawn.unheard != nil {
		return nil, drawn.unheard
	}
	if title == "" {
		title = drawn.figure.title
	}
	var svg bytes.Buffer
	writeSVG(&svg, drawn.figure)
	return &Page{title, drawn.above, drawn.below, svg.String(), newPageSong(drawn)}, nil
}

// Served is what a program adds to a page that it serves: a style, elements behind the picture and a script that runs
// behind those of the page. They are the program's own, never what a file calls things.
type Served struct{ Style, Markup, Script string }

// HTML writes the page as one file.
func (p *Page) HTML(w io.Writer) error { return p.write(w, Served{}, "") }

// Serve writes the page for a program that serves it; it may ask that program for more, and nobody else.
func (p *Page) Serve(w io.Writer, by Served) error { return p.write(w, by, "; connect-src 'self'") }

func (p *Page) write(w io.Writer, by Served, mayAsk string) error {
	data, err := json.Marshal(p.song) // which escapes <, > and &
	if err != nil {
		return err
	}
	css := pageCSS + by.Style
	policy := "default-src 'none'; base-uri 'none'; form-action 'none'" + mayAsk + "; style-src " + hash(styleSheet()) + " " + hash(css) + "; script-src"
	var code strings.Builder
	all := scripts()
	if by.Script != "" {
		all = append(all, by.Script)
	}
	for _, script := range all {
		policy += " " + hash(script)
		code.WriteString("<script>" + script + "</script>\n")
	}
	_, err = strings.NewReplacer(
		"{{.Policy}}", policy, "{{.Title}}", html.EscapeString(p.title), "{{.Style}}", css,
		"{{.Above}}", tagged("p", p.above), "{{.Below}}", tagged("li", p.below), "{{.Served}}", by.Markup,
		"{{.Picture}}", p.picture, "{{.Song}}", string(data), "{{.Scripts}}", code.String(),
	).WriteString(w, pageHTML)
	return err
}

// JSON returns what [Page.Serve] writes of the song, for a page that is open: title and texts, the picture as SVG, and
// the song as the page's scripts read it.
func (p *Page) JSON() ([]byte, error) {
	return json.Marshal(struct {
		Title   string   `json:"title"`
		Above   []string `json:"above"`
		Below   []string `json:"below"`
		Picture string   `json:"picture"`
		Song    pageSong `json:"song"`
	}{p.title, p.above, p.below, p.picture, p.song})
}

// tagged writes texts as elements of HTML, one a line.
func tagged(name string, texts []string) string {
	var b strings.Builder
	for _, text := range texts {
		b.WriteString("<" + name + ">" + html.EscapeString(text) + "</" + name + ">\n")
	}
	return b.String()
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
	Heard    []pageLine    `json:"heard"`
	View     pageView      `json:"view"`
}

type pageSection struct {
	Name   string `json:"name"` // numbered where several bear one name
	Bar    int    `json:"bar"`
	Bars   int    `json:"bars"`
	Energy string `json:"energy"` // how loud it is, in words
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
	Moves []int          `json:"moves"` // whose rows show it, from 0
	At    [][2]song.Tick `json:"at"`    // [start, end) of each range
}

// pageLine is what is heard to change with a bar.
type pageLine struct {
	Bar  int    `json:"bar"`
	Text string `json:"text"`
}

// pageView is where things stand in the picture, in its own units.
type pageView struct {
	Width    float64    `json:"width"`
	Height   float64    `json:"height"`
	Lines    []float64  `json:"lines"`   // of the bars; last, the end
	Phrases  []int      `json:"phrases"` // the bars with which phrases and sections begin
	Names    float64    `json:"names"`   // the widest name of a part
	Rows     []float64  `json:"rows"`    // where those of the parts begin
	Tall     float64    `json:"tall"`    // height of one
	Head     [2]float64 `json:"head"`    // from the names of the sections to the times
	Moves    []pageMark `json:"moves"`   // names, and where their rows begin
	MoveTall float64    `json:"moveTall"`
	Labels   []pageMark `json:"labels"` // of what else stands there, and their base lines
}

// pageMark is a text and where it stands.
type pageMark struct {
	Text string  `json:"text"`
	Y    float64 `json:"y"`
	Soft bool    `json:"soft"`
}

// heardControllers are those the page's sounds listen to besides bend: volume, pan, expression, resonance,
// cutoff, reverb.
func heardControllers() []song.Controller { return []song.Controller{7, 10, 11, 71, 74, 91} }

func newPageSong(c *chart) pageSong {
	s := c.song
	tl := s.Time()
	out := pageSong{
		PPQ: tl.PPQ(), End: s.End, View: c.view(), Sections: []pageSection{}, Parts: []pagePart{}, Heard: []pageLine{},
		Changes: append(c.movesMade(), c.changesHeard()...),
	}
	for bar := 1; bar <= c.layout.Bars+1; bar++ {
		out.Bars = append(out.Bars, tl.BarStart(bar))
	}
	for _, t := range tl.Tempi() {
		out.Tempi = append(out.Tempi, [2]int64{int64(t.Tick), int64(t.Micros)})
	}
	levels, _ := c.levels()
	for i, name := range song.SectionNames(c.inside) {
		sec := c.inside[i]
		out.Sections = append(out.Sections, pageSection{shown(name), sec.Bar, min(sec.Bars, c.layout.Bars+1-sec.Bar), levels[i].figures()})
	}
	for _, at := range c.changes() {
		out.Heard = append(out.Heard, pageLine{at.bar, c.changeText(at)})
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
	v := pageView{
		Width: pixels(c.width), Height: pixels(c.height), Phrases: c.phraseBars(), Names: pixels(c.nameRoom),
		Rows: make([]float64, len(c.song.Parts)), Tall: pixels(c.tall), Head: [2]float64{pixels(c.headTop), pixels(c.headEnd)},
		Moves: []pageMark{}, MoveTall: pixels(c.moveTall), Labels: []pageMark{},
	}
	for bar := 1; bar <= c.layout.Bars; bar++ {
		v.Lines = append(v.Lines, pixels(c.barX(bar)))
	}
	v.Lines = append(v.Lines, pixels(c.right))
	for i, r := range c.layout.Rows {
		v.Rows[r.Part] = pixels(c.tops[i])
	}
	for i, m := range c.moves {
		v.Moves = append(v.Moves, pageMark{m.label, pixels(c.moveTops[i]), true})
	}
	for _, l := range c.besides {
		v.Labels = append(v.Labels, pageMark{l.text, pixels(l.y), l.ink == soft})
	}
	return v
}

// mostCells is how many cells the grid of a page has at most, so that a browser is not kept waiting.
const mostCells = 20_000

// phraseBars returns the bars with which the columns of the page's grid begin: phrases, counted from bar 1, and
// sections; of a very large song, several phrases a column.
func (c *chart) phraseBars() []int {
	rows := 1 + len(c.layout.Rows) + len(c.moves)
	for step := c.layout.Phrase; ; step *= 2 {
		begins := map[int]bool{}
		for bar := 1; bar <= c.layout.Bars; bar += step {
			begins[bar] = true
		}
		for _, sec := range c.inside {
			begins[sec.Bar] = true
		}
		if len(begins)*rows <= mostCells || step >= c.layout.Bars {
			return slices.Sorted(maps.Keys(begins))
		}
	}
}

// movesMade are the changes that moves made. Of the line-up the rows of the parts tell.
func (c *chart) movesMade() []pageChange {
	out := []pageChange{}
	parts, rows := map[string]int{}, map[string]int{}
	for i, p := range c.song.Parts {
		parts[p.Name] = i
	}
	for i, m := range c.moves {
		rows[m.name] = i
	}
	for _, ch := range c.Changes {
		made := pageChange{Text: ch.Move, Parts: []int{}, Moves: []int{}}
		for _, name := range ch.Parts {
			if i, ok := parts[name]; ok {
				made.Parts = append(made.Parts, i)
			}
		}
		if ch.Move == "line-up" || len(ch.Ranges) == 0 {
			continue
		}
		for _, name := range []string{ch.Move, ch.Within} {
			if i, ok := rows[name]; ok {
				made.Moves = append(made.Moves, i)
			}
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
			out = append(out, pageChange{Text: text, Parts: []int{part}, Moves: []int{}})
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
				add("prepares what comes next", p, at.bar-1)
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
