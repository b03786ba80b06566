package picture

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// doubling is a song of which each section has twice the power of the one before it: one part, two and four that play the
// same.
func doubling() song.Song {
	s := blank(24, 120, fourFour(), song.Section{Name: "intro", Bar: 1, Bars: 8}, song.Section{Name: "build", Bar: 9, Bars: 8}, song.Section{Name: "drop", Bar: 17, Bars: 8})
	s.Tracks = []*song.Track{{}}
	for i, from := range []int{1, 9, 17, 17} {
		play(&s, song.RoleStab, []string{"one", "two", "three", "four"}[i], "x...x...x...x...", between(from, 24))
	}
	return s
}

// askedOf asks for an energy of the bars of a song, in percent of its loudest phrase.
func askedOf(t *testing.T, s song.Song, text string, first, last, low, high int) form.Asked {
	t.Helper()
	e, err := form.EnergyOf(s)
	if err != nil {
		t.Fatal(err)
	}
	full := e.Full(form.FullPhrase)
	return form.Asked{Bar: first, Text: text, Units: []form.AskedUnit{{First: first, Last: last, Low: full.At(10 * low), High: full.At(10 * high)}}}
}

// Half the power is 3.01 dB less, and 10 dB less is half as loud, so that each doubling goes from 2^-0.301, 81 %, to all.
func TestWhatIsAskedStandsBesideWhatIsReached(t *testing.T) {
	s := doubling()
	rising := form.Asked{Bar: 1, Text: "rising", Units: []form.AskedUnit{{First: 1, Last: 4}, {First: 5, Last: 8}}}
	for _, c := range []struct {
		rule  string
		chart Chart
		said  []string // of each section
		texts string   // of the lines of figures
	}{
		{"a song has shares of its loudest phrase", Chart{},
			[]string{"intro 66% of full", "build 81% of full", "drop 100% of full"}, "% of full|66|81|100"},
		{"what is asked for stands above", Chart{Asked: []form.Asked{rising, askedOf(t, s, "75%..85%", 9, 16, 75, 85)}},
			[]string{"intro asked rising, reached 66, 66 %", "build asked 75-85, reached 81 %", "drop 100% of full"},
			"asked %|reached %|66|66|rising|81|75-85|100"},
		{"against the loop, where a draft says what is full", Chart{Full: 2 * askedOf(t, s, "", 1, 1, 0, 100).Units[0].High},
			[]string{"intro 53% of full", "build 66% of full", "drop 81% of full"}, "% of full|53|66|81"},
		{"of units that ask for the same it stands once", Chart{Asked: []form.Asked{{Bar: 17, Text: "same", Units: slices.Concat(
			askedOf(t, s, "", 17, 20, 90, 96).Units, askedOf(t, s, "", 21, 24, 90, 96).Units)}}},
			[]string{"intro 66% of full", "build 81% of full", "drop asked 90-96, reached 100, 100 %"},
			"asked %|reached %|66|81|100|100|90-96"},
		{"what is asked of bars that the section has not is left out", Chart{Asked: []form.Asked{askedOf(t, s, "75%..85%", 1, 0, 75, 85)}},
			[]string{"intro asked 75%..85%, reached 66 %", "build 81% of full", "drop 100% of full"}, "asked %|reached %|66|75%..85%|81|100"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			f, err := newChart(s, c.chart)
			if err != nil {
				t.Fatal(err)
			}
			var said, texts []string
			for _, g := range f.groups {
				if slices.ContainsFunc(g.attrs, func(a attr) bool { return a.name == "of-full" }) {
					said = append(said, g.title)
				} else if len(g.marks) == 0 || !strings.Contains(g.marks[0].text, "%") || g.marks[0].at.x > f.left {
					continue
				}
				for _, m := range g.marks {
					if m.text != "" {
						texts = append(texts, m.text)
					}
				}
			}
			texts = slices.DeleteFunc(texts, func(text string) bool { return strings.HasPrefix(text, "strokes") })
			if !slices.Equal(said, c.said) || strings.Join(texts, "|") != c.texts {
				t.Errorf("found %q, %q, want %q, %q", said, strings.Join(texts, "|"), c.said, c.texts)
			}
		})
	}
}

func TestALineLiesInItsBandWhereTheEnergyIsReached(t *testing.T) {
	s := doubling()
	for _, c := range []struct {
		low, high int
		want      string
	}{{75, 85, "in"}, {81, 82, "in"}, {90, 100, "under"}, {60, 70, "over"}} {
		f, err := newChart(s, Chart{Asked: []form.Asked{askedOf(t, s, "asked", 9, 16, c.low, c.high)}})
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range f.groups {
			if !slices.ContainsFunc(g.attrs, func(a attr) bool { return a.name == "asked" }) {
				continue
			}
			band, line := g.marks[0].path, g.marks[1].path
			if band[0].x != f.barX(9) || line[0].x != f.barX(9) || band[2].x != line[1].x {
				t.Errorf("%d-%d: the band goes from %v to %v, the line from %v to %v", c.low, c.high, band[0].x, band[2].x, line[0].x, line[1].x)
			}
			got := "in"
			switch y := line[0].y; {
			case y > band[0].y:
				got = "under"
			case y < band[1].y:
				got = "over"
			}
			if got != c.want {
				t.Errorf("%d-%d: the line lies %s the band, want %s", c.low, c.high, got, c.want)
			}
		}
	}
}

func TestFiguresWithoutRoomAreListed(t *testing.T) {
	s := large(384, 4, 96) // sections of 12 pixels
	f, err := newChart(s, Chart{Asked: []form.Asked{askedOf(t, s, "75%..85%", 5, 8, 75, 85)}})
	if err != nil {
		t.Fatal(err)
	}
	footer := f.groups[len(f.groups)-1]
	var lines []string
	for _, m := range footer.marks {
		lines = append(lines, m.text)
	}
	if text := strings.Join(lines, " "); !strings.Contains(text, "section section 1 asked 75-85, reached 9") || !strings.Contains(text, "section 0 9") {
		t.Errorf("found %q", text)
	}
}

func TestLoopsAndChoicesStandUnderTheFacts(t *testing.T) {
	s := doubling()
	var texts []string
	for _, e := range elements(t, svgOf(t, s, Chart{Loops: []string{"a is groove.mid", "b is \x1b[2Jbreak.mid"}, Choices: []string{"form=2", "way\x1b[2J=1"}})) {
		if e.name == "text" && len(texts) < 3 {
			texts = append(texts, e.text)
		}
	}
	if want := []string{"24 bars, 0:48, 120 bpm, 4/4", "loops: a is groove.mid, b is break.mid", "choices: form=2, way=1"}; !slices.Equal(texts, want) {
		t.Errorf("found %q, want %q", texts, want)
	}
}
