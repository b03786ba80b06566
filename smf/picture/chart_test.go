package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// tune sets the keys of a part's notes, again from the first where they run out.
func tune(p song.Part, keys ...uint8) {
	for i := range p.Notes {
		p.Notes[i].Key = keys[i%len(keys)]
	}
}

// short is a song of eight bars with a bit of everything: hits, a contour, a ride, sections, moves.
func short() (song.Song, []song.Change) {
	s := blank(8, 120, fourFour(), song.Section{Name: "build", Bar: 1, Bars: 4}, song.Section{Name: "drop", Bar: 5, Bars: 4})
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "X...x...x...x...", between(1, 3, 5, 8))
	play(&s, song.RoleBass, "bass", "x-..x-..x-..x-..", between(5, 8))
	tune(s.Parts[1], 36, 36, 43, 48)
	s = ridden(s, song.Controller(74), 0, [2]int{0, 20}, [2]int{96, 40}, [2]int{192, 80}, [2]int{384, 100})
	return s, []song.Change{
		{Move: "line-up", Ranges: []song.Range{s.BarRange(1, 8)}},
		{Move: "mute", Within: "lead-in", Ranges: []song.Range{s.BarRange(4, 4)}, Parts: []string{"kick"}},
	}
}

// ridden adds controller events, given as tick and value, to the first track.
func ridden(s song.Song, id song.Controller, channel uint8, points ...[2]int) song.Song {
	e := s.Edit()
	for _, p := range points {
		e.Insert(0, smf.Channel(song.Tick(p[0]), 0xB0|channel, byte(id), byte(p[1])))
	}
	return e.Song()
}

// large is a song in which all parts play all the time, no bar like the one before.
func large(bars, parts, sections int) song.Song {
	var named []song.Section
	for i := range sections {
		from, to := 1+bars*i/sections, 1+bars*(i+1)/sections
		named = append(named, song.Section{Name: strings.Repeat("section ", 1+i%4) + strconv.Itoa(i), Bar: from, Bars: to - from})
	}
	s := blank(bars, 128, fourFour(), named...)
	s.Tracks = []*song.Track{{}}
	roles := song.Roles()
	for i := range parts {
		play(&s, roles[i%len(roles)], fmt.Sprintf("part-%d", i), "xxoxXxoxxxoxXxox", always)
		for n := range s.Parts[i].Notes {
			s.Parts[i].Notes[n].Key = uint8(36 + n*7%50)
			s.Parts[i].Notes[n].Vel = uint8(1 + n*31/16%127)
		}
	}
	return s
}

func svgOf(t *testing.T, s song.Song, c Chart) string {
	t.Helper()
	var b bytes.Buffer
	if err := SVG(&b, s, c); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestChartGolden(t *testing.T) {
	s, changes := short()
	asked := []form.Asked{{Bar: 1, Text: "rising", Units: []form.AskedUnit{{First: 1, Last: 2}, {First: 3, Last: 4}}}, askedOf(t, s, "90%..96%", 5, 8, 90, 96)}
	got := svgOf(t, s, Chart{Title: "short", Changes: changes, Asked: asked, Choices: []string{"form=2"}})
	name := filepath.Join("testdata", "short.svg")
	if *update {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("got\n%swant\n%sto rewrite: go test ./smf/picture -update", got, want)
	}
}

// box is the room a text takes, its width as reckoned.
func box(t *testing.T, letters *typeface, m mark) image.Rectangle {
	t.Helper()
	w, h := int(letters.width(m.text, m.font)), int(m.font.size())
	x, y := int(m.at.x), int(m.at.y)
	if m.end {
		x -= w
	}
	return image.Rect(x, y-h*3/4, x+w, y+h/4)
}

func TestNothingLeavesThePictureAndNoTextsMeet(t *testing.T) {
	songs := []struct{ bars, parts, sections int }{
		{1, 1, 1}, {8, 4, 0}, {8, 60, 8}, {16, 17, 5}, {33, 4, 9}, {96, 11, 12}, {192, 11, 9}, {192, 60, 96}, {600, 40, 60}, {3000, 4, 40},
	}
	for _, c := range songs[:oracle.Size(7, len(songs), len(songs))] { // the largest are not for a first run
		t.Run(fmt.Sprintf("%d bars, %d parts, %d sections", c.bars, c.parts, c.sections), func(t *testing.T) {
			s := large(c.bars, c.parts, c.sections)
			s = ridden(ridden(ridden(s, 74, 0, [2]int{0, 10}, [2]int{90, 90}), 71, 0, [2]int{0, 10}, [2]int{90, 90}), 1, 0, [2]int{0, 10}, [2]int{90, 90})
			changes := []song.Change{{Move: "fill", Ranges: []song.Range{s.BarRange(c.bars, c.bars)}}, {Move: "a move with quite a long name", Ranges: []song.Range{s.BarRange(1, c.bars)}}}
			asks := Chart{Title: "a song", Changes: changes, Choices: []string{"form=2", "a choice with quite a long name=1"}}
			for i, sec := range s.Sections {
				units := []form.AskedUnit{{First: sec.Bar, Last: sec.Bar + sec.Bars - 1, Low: form.Power(1 << 40), High: form.Power(1 << (41 + i%20))}}
				if i%3 == 0 && sec.Bars > 1 {
					units = []form.AskedUnit{{First: sec.Bar, Last: sec.Bar}, {First: sec.Bar + 1, Last: sec.Bar + sec.Bars - 1}}
				}
				asks.Asked = append(asks.Asked, form.Asked{Bar: sec.Bar, Text: "rising", Units: units})
			}
			f, err := newChart(s, asks)
			if err != nil {
				t.Fatal(err)
			}
			whole := image.Rect(0, 0, int(f.width), int(f.height))
			var texts []image.Rectangle
			var words []string
			for _, g := range f.groups {
				for _, m := range g.marks {
					for _, p := range m.path {
						if !image.Pt(int(p.x), int(p.y)).In(whole) {
							t.Fatalf("%q: %v lies outside %v", g.title, p.point, whole)
						}
					}
					if m.text != "" {
						texts, words = append(texts, box(t, f.letters, m)), append(words, m.text)
					}
				}
			}
			for i, a := range texts {
				if !a.In(whole) {
					t.Errorf("%q at %v lies outside %v", words[i], a, whole)
				}
				for j, b := range texts[:i] {
					if a.Overlaps(b) {
						t.Errorf("%q at %v meets %q at %v", words[i], a, words[j], b)
					}
				}
			}
			for i := range c.parts {
				if n := strings.Count(strings.Join(words, "\n")+"\n", fmt.Sprintf("part-%d\n", i)); n != 1 {
					t.Errorf("part-%d is named %d times", i, n)
				}
			}
		})
	}
}

func TestLongSongsGrowWiderAndFilesStaySmall(t *testing.T) {
	bars, most := oracle.Size(100, 600, 600), oracle.Size(2<<20/6, 2<<20, 2<<20)
	if got := svgOf(t, large(bars, 40, bars/20), Chart{}); len(got) > most {
		t.Errorf("%d bars and 40 parts take %d bytes, want at most %d", bars, len(got), most)
	}
	for _, c := range []struct{ bars, least, most int }{{8, 1152, 1500}, {192, 1152, 1500}, {600, 1800, 2100}, {100_000, 1152, 7600}} {
		f, err := newChart(large(c.bars, 0, 0), Chart{})
		if err != nil {
			t.Fatal(err)
		}
		if w := int(f.width / pixel); w < c.least || w > c.most {
			t.Errorf("%d bars are %d pixels wide, want %d to %d", c.bars, w, c.least, c.most)
		}
	}
}

// element is one element of an SVG.
type element struct {
	name, text string
	attrs      map[string]string
}

// elements reads a whole SVG; it must be well-formed.
func elements(t *testing.T, svg string) []element {
	t.Helper()
	var out []element
	var open []int
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, svg)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, attrs: map[string]string{}}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			open = append(open, len(out))
			out = append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				out[open[len(open)-1]].text += string(token)
			}
		}
	}
}

func TestNamesInPicturesAreData(t *testing.T) {
	all := blank(8, 120, fourFour())
	all.Tracks = []*song.Track{{}}
	for _, c := range []struct{ rule, in, want string }{
		{"markup is text", `</text><script>alert("1")</script>`, `</text><script>alert("1")</…`},
		{"quotes end no attribute", `" onload="x' &amp; <`, `" onload="x' &amp; <`},
		{"nor does a comment or CDATA", `--><![CDATA[ ]]>`, `--><![CDATA[ ]]>`},
		{"escape sequences go", "\x1b[31mred\x1b[0m", "red"},
		{"control characters go", "a\x00\x08b\ufffe", "ab"},
		{"marks that turn the direction go", "a\u202eb", "ab"},
		{"invalid UTF-8 is Latin-1", "F\xe4hre", "Fähre"},
		{"broken UTF-8 loses its ends", "夜\xe6", "夜"},
		{"other writing stays", "夜の港", "夜の港"},
		{"nothing left is a question mark", "\x1b[2J", "?"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			s := blank(8, 120, fourFour(), song.Section{Name: c.in, Bar: 1, Bars: 8})
			s.Tracks = []*song.Track{{}}
			play(&s, song.RoleKick, c.in, "x...............", always)
			chart := Chart{Title: c.in, Changes: []song.Change{{Move: c.in, Ranges: []song.Range{s.BarRange(1, 1)}}}}
			var texts, parts []string
			for _, e := range elements(t, svgOf(t, s, chart)) {
				if e.name == "script" || e.attrs["onload"] != "" {
					t.Errorf("found %v", e)
				}
				if e.name == "text" {
					texts = append(texts, e.text)
				}
				if p, ok := e.attrs["data-part"]; ok {
					parts = append(parts, p)
				}
			}
			if !slices.Equal(parts, []string{c.want}) {
				t.Errorf("found parts %q, want %q", parts, c.want)
			}
			n := 0
			for _, text := range texts {
				if text == c.want {
					n++
				}
			}
			if least := 2; n < least { // the part and the move; title and section, where something is left
				t.Errorf("found %q %d times in %q, want at least %d", c.want, n, texts, least)
			}
			play(&all, song.RoleKick, c.in, "x...............", always)
		})
	}
	if err := PNG(io.Discard, all, Chart{}); err != nil {
		t.Error(err)
	}
}

func FuzzNamesInPictures(f *testing.F) {
	for _, s := range []string{"kick", "</text>", "\x1b[31m", "\xff\xfe", "夜\xe6", "]]>", "a\u0301\u0301\u0301", "&#0;", "\ufffe"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		s := blank(2, 120, fourFour(), song.Section{Name: name, Bar: 1, Bars: 1}, song.Section{Name: name, Bar: 2, Bars: 1})
		play(&s, song.RoleLead, name, "x...............", always)
		s.Tracks = []*song.Track{{}}
		texts := 0
		for _, e := range elements(t, svgOf(t, s, Chart{Title: name})) {
			if e.name == "text" {
				texts++
			}
			if !slices.Contains([]string{"svg", "title", "style", "rect", "g", "text", "path"}, e.name) {
				t.Errorf("found element %q", e.name)
			}
		}
		if texts == 0 {
			t.Error("found no text")
		}
		var page bytes.Buffer
		change := song.Change{Move: name, Parts: []string{name}, Ranges: []song.Range{s.BarRange(1, 2)}, Text: name}
		if err := HTML(&page, s, Chart{Title: name, Changes: []song.Change{change}}); err != nil {
			t.Fatal(err)
		}
		html := strings.ToLower(page.String())
		if open, closed := strings.Count(html, "<script"), strings.Count(html, "</script"); open != 1+len(scripts()) || closed != open {
			t.Errorf("found %d scripts that begin and %d that end, want %d", open, closed, 1+len(scripts()))
		}
	})
}

func TestPathsInSVGLeadWhereTheyShould(t *testing.T) {
	for _, c := range []struct{ rule, want string }{
		{"a line across", "M1 2h3"},
		{"a line up", "M1 2v-1.5"},
		{"a slope", "M1 2l0.5-2"},
		{"a command goes on without its letter", "M0 0l1 1-2 0.3 1-1"},
		{"a move keeps its letter, for what follows one without is a line", "M0 0h1m1 1h1m1-1m2 0h3"},
		{"tenths", "M0.1-0.1h0.1"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			var b bytes.Buffer
			writePath(&b, readPath(t, c.want))
			if got := b.String(); got != c.want {
				t.Errorf("found %q, want %q", got, c.want)
			}
		})
	}
}

// readPath reads path data as SVG 1.1 section 8.3 has it, commands M m h v l.
func readPath(t *testing.T, data string) []step {
	t.Helper()
	var out []step
	var at point
	for data != "" {
		command := data[0]
		data = data[1:]
		n := strings.IndexAny(data, "Mmhvl")
		if n < 0 {
			n = len(data)
		}
		var numbers []px
		for _, word := range strings.Fields(strings.ReplaceAll(data[:n], "-", " -")) {
			f, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatal(err)
			}
			numbers = append(numbers, px(math.Round(f*float64(pixel))))
		}
		for len(numbers) > 0 {
			take := 2
			switch command {
			case 'h':
				at.x, take = at.x+numbers[0], 1
			case 'v':
				at.y, take = at.y+numbers[0], 1
			default:
				at.x, at.y = at.x+numbers[0], at.y+numbers[1]
			}
			out = append(out, step{at, command != 'M' && command != 'm'})
			numbers = numbers[take:]
		}
		data = data[n:]
	}
	return out
}

// contrast is the contrast ratio of two colours: WCAG 2.2, definitions of contrast ratio and relative
// luminance (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance, from memory).
func contrast(a, b colour) float64 {
	luminance := func(c colour) float64 {
		sum := 0.0
		for i, v := range [3]uint8{c.R, c.G, c.B} {
			x := float64(v) / 255
			if x <= 0.04045 {
				x /= 12.92
			} else {
				x = math.Pow((x+0.055)/1.055, 2.4)
			}
			sum += x * [3]float64{0.2126, 0.7152, 0.0722}[i]
		}
		return sum
	}
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestTextIsLegibleOnLightAndDark(t *testing.T) {
	for _, dark := range []bool{false, true} {
		for _, i := range []ink{strong, soft} {
			// WCAG 2.1 success criterion 1.4.3 (from memory).
			if got := contrast(i.colour(dark), paper.colour(dark)); got < 4.5 {
				t.Errorf("dark %v: %s has contrast %.1f, want 4.5", dark, i.class(), got)
			}
		}
		for i := grey; i < inks; i++ {
			// WCAG 2.2 success criterion 1.4.11, Non-text Contrast: 3 of what is needed to read a picture. The bands of
			// energy lie upon each other, so that all three cannot have it; that of the high tones is there beside a figure.
			least := 3.0
			if i == high {
				least = 1.5
			}
			if got := contrast(i.colour(dark), paper.colour(dark)); got < least {
				t.Errorf("dark %v: %s has contrast %.2f, want %.2f", dark, i.class(), got, least)
			}
		}
	}
	svg := svgOf(t, club(), Chart{})
	light, dark, found := strings.Cut(svg, "@media(prefers-color-scheme:dark){")
	for i := paper; i < inks; i++ {
		rule := func(dark bool) string { return "." + i.class() + "{fill:" + i.colour(dark).hex() + "}" }
		if !found || !strings.Contains(light, rule(false)) || !strings.Contains(dark, rule(true)) {
			t.Errorf("found no light and dark %s in\n%.2000s", i.class(), svg)
		}
	}
}

// TestContrastIsThatOfTheStandard holds the formula against figures that are known: black on white has 21, the most there
// is, a colour on itself 1, and #767676 is the lightest grey with 4.54 on white (common practice, no source).
func TestContrastIsThatOfTheStandard(t *testing.T) {
	white := colour{0xFF, 0xFF, 0xFF}
	for _, c := range []struct {
		on   colour
		want float64
	}{{colour{}, 21}, {white, 1}, {colour{0x76, 0x76, 0x76}, 4.54}} {
		if got := contrast(c.on, white); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s on white: found %.3f, want %.2f", c.on.hex(), got, c.want)
		}
	}
}

// TestColoursOnWhiteKeepTheirHue holds that the darker ones are those of the palette with less light: linear red, green
// and blue stand to each other as before, as far as eight bits can say.
func TestColoursOnWhiteKeepTheirHue(t *testing.T) {
	linear := func(v uint8) float64 { return math.Pow((float64(v)/255+0.055)/1.055, 2.4) }
	for _, c := range []colour{vermilion(), orange(), yellow(), purple(), blue(), skyBlue(), green()} {
		d := c.onWhite()
		share := linear(d.G) / linear(c.G)
		if c != d && share >= 1 {
			t.Errorf("%s is made %s, want it darker", c.hex(), d.hex())
		}
		for i, v := range [3]uint8{c.R, c.G, c.B} {
			got := [3]uint8{d.R, d.G, d.B}[i]
			if v > 0 && math.Abs(linear(got)-share*linear(v)) > 0.006 {
				t.Errorf("%s is made %s, want its red, green and blue smaller by one share", c.hex(), d.hex())
			}
		}
	}
}

func TestEveryRoleHasTheColourOfThePalette(t *testing.T) {
	for _, r := range song.Roles() {
		want, ok := roleColour(r)
		if got := roleInk(r); ok && got.colour(true) != want || !ok && got != grey {
			t.Errorf("%s is drawn in %s", r, got.class())
		}
	}
}

// pictured draws a PNG and reads it back.
func pictured(t *testing.T, s song.Song, c Chart) image.Image {
	t.Helper()
	var b bytes.Buffer
	if err := PNG(&b, s, c); err != nil {
		t.Fatal(err)
	}
	again := bytes.Buffer{}
	if err := PNG(&again, s, c); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("drawn again it differs (%v)", err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func TestPNGShowsWhatTheSVGShows(t *testing.T) {
	s, changes := short()
	chart := Chart{Title: "short", Changes: changes}
	img := pictured(t, s, chart)
	f, err := newChart(s, chart)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := img.Bounds().Size(), image.Pt(int(f.width/pixel)*2, int(f.height/pixel)*2); got != want {
		t.Fatalf("found %v pixels, want %v", got, want)
	}
	// In the middle of every stretch of a line and every area lies its ink, unless a later mark covers it.
	same := func(at point, i ink) bool {
		x, y := int(at.x)*2/int(pixel), int(at.y)*2/int(pixel)
		c := i.colour(false)
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				if img.At(x+dx, y+dy) == (color.RGBA{c.R, c.G, c.B, 0xFF}) {
					return true
				}
			}
		}
		return false
	}
	for _, g := range f.groups {
		for _, m := range g.marks {
			if m.width < 2*pixel || m.dash > 0 {
				continue
			}
			for i, p := range m.path {
				if !p.draw {
					continue
				}
				q := m.path[i-1]
				if middle := (point{(p.x + q.x) / 2, (p.y + q.y) / 2}); !same(middle, m.ink) {
					t.Errorf("%q: found no %s at %v", g.title, m.ink.class(), middle)
				}
			}
		}
	}
	// And texts are there: in the box of each is something dark.
	for _, g := range f.groups {
		for _, m := range g.marks {
			if m.text == "" {
				continue
			}
			b, dark := box(t, f.letters, m), 0
			for y := b.Min.Y * 2 / 10; y < b.Max.Y*2/10; y++ {
				for x := b.Min.X * 2 / 10; x < b.Max.X*2/10; x++ {
					if r, _, _, _ := img.At(x, y).RGBA(); r < 0x9000 {
						dark++
					}
				}
			}
			if dark < 8 {
				t.Errorf("found %d dark pixels in %q", dark, m.text)
			}
		}
	}
}

func TestDashesLeaveGaps(t *testing.T) {
	r := raster{scale: 1}
	line := stroke(nil, point{0, 0}, point{100, 0})
	if got := len(r.outline(mark{width: 10, path: line})); got != 1 {
		t.Errorf("found %d pieces, want one line", got)
	}
	long := append(line, step{point{100, 50}, true})
	var at []spot
	for _, p := range r.outline(mark{width: 10, dash: 40, path: long}) {
		at = append(at, spot{(p[0].x + p[2].x) / 2, (p[0].y + p[2].y) / 2})
	}
	// On for 40, off for 40, on again, over the corner: 80 to 100 across, 0 to 20 down.
	if want := []spot{{20, 0}, {90, 0}, {100, 10}}; !slices.Equal(at, want) {
		t.Errorf("found middles %v, want %v", at, want)
	}
}

func TestPNGsOfManyPartsAreSmallerOrRefused(t *testing.T) {
	silent := func(parts int) song.Song {
		s := blank(8, 120, fourFour())
		for i := range parts {
			s.Parts = append(s.Parts, song.Part{Name: fmt.Sprint(i), Role: song.RoleKick})
		}
		s.Tracks = []*song.Track{{}}
		return s
	}
	if oracle.Size(0, 1, 1) > 0 { // it takes as long as everything else here
		f, err := newChart(silent(300), Chart{})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := PNG(&b, silent(300), Chart{}); err != nil {
			t.Fatal(err)
		}
		c, err := png.DecodeConfig(&b)
		if err != nil || c.Width != int(f.width/pixel) {
			t.Errorf("found %d pixels across (%v), want %d", c.Width, err, f.width/pixel)
		}
	}
	err := PNG(io.Discard, silent(2000), Chart{})
	if err == nil || !strings.Contains(err.Error(), "want at most 33554432 in all") {
		t.Errorf("found %v, want a picture too large", err)
	}
}

func TestOddSongsHaveNoChart(t *testing.T) {
	frames, err := song.From(&smf.File{Format: 1, Division: 0xE728, Tracks: []smf.Track{{End: 100}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		rule string
		s    song.Song
		want error
	}{{"no common bars", frames, errNoBars}, {"no bars", song.Blank(ppq, nil, nil, 0), errEmpty}} {
		t.Run(c.rule, func(t *testing.T) {
			if err := SVG(io.Discard, c.s, Chart{}); !errors.Is(err, c.want) {
				t.Errorf("SVG: found %v", err)
			}
			if err := PNG(io.Discard, c.s, Chart{}); !errors.Is(err, c.want) {
				t.Errorf("PNG: found %v", err)
			}
		})
	}
	if err := SVG(io.Discard, club(), Chart{Phrase: -1}); err == nil {
		t.Error("found no error for a phrase of -1 bars")
	}
	for _, write := range []func(io.Writer, song.Song, Chart) error{SVG, PNG} {
		if err := write(broken{}, club(), Chart{}); !errors.Is(err, errBroken) {
			t.Errorf("found %v, want the writer's error", err)
		}
	}
	if svg := svgOf(t, blank(8, 120, fourFour()), Chart{}); !strings.Contains(svg, ">(no notes)<") {
		t.Error("found nothing that says there are no notes")
	}
}

func TestContours(t *testing.T) {
	for _, c := range []struct {
		rule, bar string
		keys      []uint8
		want      []int // of the first columns, in semitones
	}{
		{"a note has its height where it starts", "x...x...x...x...", []uint8{60, 64, 67, 72}, []int{60, 60, 60, 60, 64, 64, 64, 64, 67}},
		{"and keeps it", "x-------x-------", []uint8{60, 48}, []int{60, 60, 60, 60, 60, 60, 60, 60, 48}},
	} {
		t.Run(c.rule, func(t *testing.T) {
			s := blank(8, 120, fourFour())
			play(&s, song.RoleLead, "lead", c.bar, always)
			tune(s.Parts[0], c.keys...)
			l, err := arrange(s, 8, 128)
			if err != nil {
				t.Fatal(err)
			}
			for i, got := range l.contour(s.Parts[0])[:len(c.want)] {
				if got != c.want[i]*keyStep {
					t.Errorf("column %d: found %d/%d, want %d", i, got, keyStep, c.want[i])
				}
			}
		})
	}
	s := blank(8, 120, fourFour())
	s.Parts = []song.Part{{Name: "chords", Role: song.RoleChords, Notes: []song.Note{
		{Start: 0, End: 90, Key: 60, Vel: 100}, {Start: 0, End: 90, Key: 64, Vel: 100}, {Start: 0, End: 90, Key: 67, Vel: 100},
		{Start: 23, End: 90, Key: 40, Vel: 100}, // nearly in the next column
	}}}
	l, err := arrange(s, 8, 128)
	if err != nil {
		t.Fatal(err)
	}
	if got := l.contour(s.Parts[0])[:2]; !slices.Equal(got, []int{(191*keyStep + 1) / 3, 40 * keyStep}) {
		t.Errorf("found %v, want the mean of the chord, then the early note", got)
	}
}

// marksOf returns the marks of the row of a part.
func marksOf(t *testing.T, s song.Song, c Chart, part string) []mark {
	t.Helper()
	f, err := newChart(s, c)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range f.groups {
		if slices.Contains(g.attrs, attr{"part", part}) {
			return g.marks
		}
	}
	t.Fatalf("found no part %q", part)
	return nil
}

func TestBands(t *testing.T) {
	s := blank(8, 120, fourFour())
	play(&s, song.RoleLead, "lead", "x-x-....X-o-....", func(bar int) bool { return bar == 1 })
	tune(s.Parts[0], 48, 60, 60, 60)
	path := marksOf(t, s, Chart{}, "lead")[2].path
	var runs [][]step
	for _, p := range path {
		if !p.draw {
			runs = append(runs, nil)
		}
		runs[len(runs)-1] = append(runs[len(runs)-1], p)
	}
	if len(runs) != 2 {
		t.Fatalf("found %d bands, want one on each side of the rest", len(runs))
	}
	column := runs[0][1].x - runs[0][0].x // half of one
	for _, r := range runs {
		if w := slices.MaxFunc(r, func(a, b step) int { return int(a.x - b.x) }).x - r[0].x; w != 8*column {
			t.Errorf("a band of four columns is %d wide, want %d", w, 8*column)
		}
	}
	first, last := runs[0][0], runs[0][len(runs[0])-1]
	if high := runs[1][0]; high.y >= first.y {
		t.Errorf("an octave above %d found %d, want it higher up", first.y, high.y)
	}
	run := runs[1]
	half := len(run) / 2
	if loud, soft := run[len(run)-1].y-run[0].y, run[half].y-run[half-1].y; loud <= soft {
		t.Errorf("a louder note is %d wide and a softer one %d", loud, soft)
	}
	if last.x != first.x {
		t.Errorf("the band ends at %d, want where it began, %d", last.x, first.x)
	}
}

func TestStrokes(t *testing.T) {
	s := blank(8, 120, fourFour())
	play(&s, song.RoleKick, "kick", "X...x...o.......", func(bar int) bool { return bar == 2 })
	stems := marksOf(t, s, Chart{}, "kick")[2].path
	if len(stems) != 6 {
		t.Fatalf("found %d points, want three strokes", len(stems))
	}
	beat := stems[2].x - stems[0].x
	if stems[4].x-stems[2].x != beat || beat != 4*9*pixel {
		t.Errorf("found strokes at %d, %d, %d, want them a beat of four columns apart", stems[0].x, stems[2].x, stems[4].x)
	}
	if !(stems[1].y < stems[3].y && stems[3].y < stems[5].y && stems[5].y < stems[4].y) {
		t.Errorf("found tops %d, %d, %d over %d, want the louder one higher", stems[1].y, stems[3].y, stems[5].y, stems[4].y)
	}
}

func TestRides(t *testing.T) {
	const bar = 4 * ppq
	duck := [][2]int{}
	for beat := range 32 {
		duck = append(duck, [2]int{beat * ppq, 60}, [2]int{beat*ppq + ppq/2, 127})
	}
	for _, c := range []struct {
		rule   string
		id     song.Controller
		points [][2]int
		want   string // values of the eight bars
	}{
		{"a ride is where it leaves its rest", 74, [][2]int{{0, 64}, {4 * bar, 10}, {5 * bar, 30}, {6 * bar, 64}}, "64 64 64 64 10 30 64 64"},
		{"a column has its mean", 74, [][2]int{{0, 64}, {4*bar + bar/2, 0}, {5 * bar, 64}}, "64 64 64 64 32 64 64 64"},
		{"before it is set nobody knows", 74, [][2]int{{2 * bar, 0}, {3 * bar, 64}}, "64 64 0 64 64 64 64 64"},
		{"a value that stays is no ride", 74, [][2]int{{0, 64}, {bar, 64}}, ""},
		{"nor is ducking at every beat", 11, duck, ""},
		{"nor is a pedal", 64, [][2]int{{0, 0}, {bar, 127}}, ""},
		{"nor is a bank", 0, [][2]int{{0, 0}, {bar, 1}}, ""},
	} {
		t.Run(c.rule, func(t *testing.T) {
			s := blank(8, 120, fourFour())
			s.Tracks = []*song.Track{{}}
			play(&s, song.RoleLead, "lead", "x...............", always)
			s = ridden(s, c.id, 0, c.points...)
			l, err := arrange(s, 8, 8)
			if err != nil {
				t.Fatal(err)
			}
			got := ""
			for _, r := range l.rides(s)[0] {
				got += strings.Trim(fmt.Sprint(r.values), "[]")
			}
			if got != c.want {
				t.Errorf("found %q, want %q", got, c.want)
			}
		})
	}
}

func TestARideIsDrawnFromRestToRest(t *testing.T) {
	s := blank(8, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleLead, "lead", "x...............", always)
	s = ridden(s, 74, 0, [2]int{0, 0}, [2]int{4 * ppq, 127}, [2]int{4*ppq + 48, 0}) // two columns of 1/16
	marks := marksOf(t, s, Chart{}, "lead")
	path, base := marks[3].path, marks[1].path[0].y-pixel/2
	left := marks[1].path[0].x
	var got []point
	for _, p := range path {
		got = append(got, point{(p.x - left) / pixel, (base - p.y) / pixel})
	}
	// A column is 9 pixels, the row 32 high; middles of columns 16 to 19.
	if want := []point{{139, 0}, {148, 32}, {157, 32}, {166, 0}}; !slices.Equal(got, want) {
		t.Errorf("found %v, want %v", got, want)
	}
}

func TestRidesStandOverOneRowAndAreFew(t *testing.T) {
	s := blank(8, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleHat, "hat", "x...............", always)
	play(&s, song.RoleKick, "kick", "x...............", always)
	for i, id := range []song.Controller{1, 7, 10, 74} {
		var points [][2]int
		for n := range i + 2 {
			points = append(points, [2]int{n * ppq, n * 10})
		}
		s = ridden(s, id, 0, points...)
	}
	l, err := arrange(s, 8, 32)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, r := range l.rides(s)[0] {
		names = append(names, r.name)
	}
	if want := []string{"cutoff", "pan", "volume"}; !slices.Equal(names, want) {
		t.Errorf("found %v, want those set most often, %v", names, want)
	}
	if more := l.rides(s)[1]; len(more) > 0 {
		t.Errorf("found %v over the second part of the channel", more)
	}
}

func TestMovesInPictures(t *testing.T) {
	s := blank(8, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	f, err := newChart(s, Chart{Changes: []song.Change{
		{Move: "line-up", Ranges: []song.Range{s.BarRange(1, 8)}},
		{Move: "mute", Ranges: []song.Range{s.BarRange(5, 5), s.BarRange(1, 1), s.BarRange(2, 2), s.BarRange(1, 2)}},
		{Move: "roll", Within: "lead-in", Ranges: []song.Range{{Start: 384, End: 385}, {Start: -9, End: 0}, {Start: 99999, End: 100000}}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	left := int(f.groups[0].marks[0].path[0].x)
	for _, g := range f.groups {
		if len(g.attrs) == 1 && g.attrs[0].name == "move" {
			row := g.attrs[0].value
			for _, p := range g.marks[1].path {
				row += fmt.Sprintf(" %d", (int(p.x)-left)/int(pixel))
			}
			got = append(got, row)
		}
	}
	// A bar is 144 pixels; what touches is one, and a tick is still three pixels.
	if want := []string{"mute 0 288 576 720", "roll 144 147", "lead-in 144 147"}; !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
}

func TestChangesInPictures(t *testing.T) {
	s := blank(32, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "x...x...x...x...", always)
	play(&s, song.RoleClap, "clap", "....x.......x...", always)
	st := structure(t, s)
	st.Phrase, st.Boundaries = 8, []int{17}
	for i := range st.Bars {
		st.Bars[i].Changes, st.Bars[i].Preparing = nil, nil
	}
	st.Bars[8].Changes = []form.LineChange{{Part: 1, What: "onsets"}}
	st.Bars[16].Changes = []form.LineChange{{Part: 0, What: "in or out"}, {Part: 1, What: "in or out"}}
	st.Bars[16].Preparing = []int{1}
	st.Bars[24].Preparing = []int{0, 1}
	f, err := newChart(s, Chart{Structure: st})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, g := range f.groups {
		if len(g.attrs) != 1 || g.attrs[0].name != "changes" {
			continue
		}
		row := g.title + ":"
		for _, m := range g.marks {
			end := m.path[len(m.path)-1]
			row += fmt.Sprintf(" %d points to bar line %d, %d up", len(m.path), 1+(end.x-f.left)*32/(f.right-f.left), (m.path[0].y-m.path[1].y)/pixel)
		}
		got = append(got, row)
	}
	want := []string{
		"bar 9, onsets: clap: 2 points to bar line 9, 9 up",
		"bar 17, a stretch of its own begins; in or out: kick, clap; prepared by clap: 3 points to bar line 17, 12 up 2 points to bar line 17, 18 up",
		"bar 25, prepared by kick, clap: 3 points to bar line 25, 12 up",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	st.Sections = []song.Section{{Name: "heard", Bar: 1, Bars: 32}}
	if svg := svgOf(t, s, Chart{Structure: st}); !strings.Contains(svg, `data-section="heard"`) {
		t.Error("found no section of the structure")
	}
}

func TestSectionsTooNarrowForTheirNamesAreListed(t *testing.T) {
	s := blank(192, 120, fourFour(), song.Section{Name: "intro", Bar: 1, Bars: 4}, song.Section{Name: "the very first", Bar: 5, Bars: 8},
		song.Section{Name: "the second", Bar: 13, Bars: 8}, song.Section{Name: "drop", Bar: 21, Bars: 172})
	s.Tracks = []*song.Track{{}}
	var texts []string
	for _, e := range elements(t, svgOf(t, s, Chart{})) {
		if e.name == "text" && (e.attrs["class"] == "strong f2" || strings.HasPrefix(e.text, "sections:")) {
			texts = append(texts, e.text)
		}
	}
	want := []string{"intro", "the…", "the second", "drop", "sections: intro 1-4, the very first 5-12, the second 13-20, drop 21-192"}
	if !slices.Equal(texts, want) {
		t.Errorf("found %q, want %q", texts, want)
	}
}

func TestHeadingsOfSections(t *testing.T) {
	s := blank(192, 120, fourFour(), song.Section{Name: "drop", Bar: 1, Bars: 32}, song.Section{Name: "build", Bar: 33, Bars: 8},
		song.Section{Name: "drop", Bar: 41, Bars: 1}, song.Section{Name: "build", Bar: 42, Bars: 151})
	s.Tracks = []*song.Track{{}}
	var got []string
	section := ""
	for _, e := range elements(t, svgOf(t, s, Chart{})) {
		if e.name == "g" {
			section = e.attrs["data-section"]
		}
		if section != "" && (e.name == "text" || e.name == "title") {
			got = append(got, strings.TrimSpace(e.attrs["class"]+" "+e.text))
		}
	}
	want := []string{
		"drop 1: bars 1-32", "strong f2 drop 1", "soft f1 1-32",
		"build 1: bars 33-40", "strong f1 build 1", // set smaller, where it has room
		"drop 2: bar 41", "strong f2 drop 2", // stands higher up
		"build 2: bars 42-192", "strong f2 build 2", "soft f1 42-192",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found %q,\nwant %q", got, want)
	}
}

func TestMovesTellTheirParts(t *testing.T) {
	s := blank(8, 120, fourFour())
	s.Tracks = []*song.Track{{}}
	roll := func(bar int, parts ...string) song.Change {
		return song.Change{Move: "roll", Parts: parts, Ranges: []song.Range{s.BarRange(bar, bar)}}
	}
	f, err := newChart(s, Chart{Changes: []song.Change{roll(1, "clap"), roll(3, "clap", "\x1b[31msnare"), roll(5, "clap")}})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, g := range f.groups {
		if slices.Contains(g.attrs, attr{"move", "roll"}) {
			got = append(got, fmt.Sprintf("%s in %d places", g.title, len(g.marks[len(g.marks)-1].path)/2))
		}
	}
	if want := []string{"roll: clap in 2 places", "roll: clap, snare in 1 places"}; !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
}

func TestFineLevelsRise(t *testing.T) {
	last := uint8(0)
	for w := int64(0); w < 20_000; w++ {
		got := fineLevel(w, 1)
		if got < last || got > last+1 && w > 88 {
			t.Fatalf("weight %d is at %d, the one before at %d", w, got, last)
		}
		last = got
	}
	if last != maxLevel*perLevel {
		t.Errorf("found %d at the top, want %d", last, maxLevel*perLevel)
	}
}

func ExampleSVG() {
	s := blank(16, 132, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "x...x...x...x...", always)
	var b bytes.Buffer
	if err := SVG(&b, s, Chart{Title: "sixteen bars"}); err != nil {
		fmt.Println(err)
	}
	first, _, _ := strings.Cut(b.String(), "\n")
	fmt.Println(first)
	// Output:
	// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1214 318" width="1214" height="318" role="img" data-bars="16" data-left="99" data-right="1123">
}

func ExamplePNG() {
	s := blank(16, 132, fourFour())
	s.Tracks = []*song.Track{{}}
	play(&s, song.RoleKick, "kick", "x...x...x...x...", always)
	var b bytes.Buffer
	if err := PNG(&b, s, Chart{Title: "sixteen bars"}); err != nil {
		fmt.Println(err)
	}
	c, format, err := image.DecodeConfig(&b)
	fmt.Println(format, c.Width, c.Height, err)
	// Output:
	// png 2428 636 <nil>
}

// benched is a long song of many parts; with -short, which asks whether benchmarks run, a short one of few.
func benched() song.Song {
	if testing.Short() {
		return large(32, 4, 3)
	}
	return large(600, 40, 30)
}

func BenchmarkSVG(b *testing.B) {
	s := benched()
	b.ReportAllocs()
	for b.Loop() {
		if err := SVG(io.Discard, s, Chart{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPNG(b *testing.B) {
	s := benched()
	b.ReportAllocs()
	for b.Loop() {
		if err := PNG(io.Discard, s, Chart{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A part's name is ASCII; what the file calls its track stands in the title, in whatever letters.
func TestTitlesSayTheNamesOfTracks(t *testing.T) {
	s, _ := short()
	kick := s.Parts[s.Index("kick")]
	s.Tracks = slices.Clone(s.Tracks)
	for name, want := range map[string]string{"キック": "<title>kick: kick of track キック, ", "KICK": "<title>kick: kick, ", "": "<title>kick: kick, "} {
		track := *s.Tracks[kick.Track]
		track.Name = name
		s.Tracks[kick.Track] = &track
		var b bytes.Buffer
		if err := SVG(&b, s, Chart{}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), want) {
			t.Errorf("found no %q", want)
		}
	}
}
