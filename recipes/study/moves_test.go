package study_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

const (
	rest  = "................|"
	floor = "x...x...x...x...|"
	off   = "..x...x...x...x.|"
	snare = "....x.......x...|"
	line  = "x..x..x...x..x..|"
)

func times(n int, bar string) string { return strings.Repeat(bar, n) }

// drawn is a song of rows with parts as they are heard.
func drawn(t *testing.T, sections []song.Section, rows ...string) song.Song {
	t.Helper()
	for i := range rows {
		rows[i] = strings.TrimSuffix(rows[i], "|")
	}
	s, err := song.ParseGrid(strings.Join(rows, "\n"))
	if err != nil {
		t.Fatal(err)
	}
	if s, _, err = listen.Hear(s, listen.Options{}); err != nil {
		t.Fatal(err)
	}
	return s.WithSections(sections)
}

// A test song says what prepares its second section, and the test what is written for it.
func TestWhatPreparesAChange(t *testing.T) {
	sections := []song.Section{{Name: "break", Bar: 1, Bars: 8}, {Name: "drop", Bar: 9, Bars: 8}}
	for _, row := range []struct {
		rule string
		rows []string
		want string // moves of the first section, a line each
	}{
		{"nothing", []string{"kick " + times(16, floor), "bass:36 " + times(16, line)}, ""},
		{"the kick is out for a bar", []string{"kick " + times(7, floor) + rest + times(8, floor), "bass:36 " + times(16, line)},
			"mute: {part: kick if any, over: last 1 bar of break}"},
		{"the kick is out for two beats", []string{"kick " + times(7, floor) + "x...x...........|" + times(8, floor), "bass:36 " + times(16, line)},
			"mute: {part: kick if any, over: last 2 beats of break}"},
		{"the bass is out for a bar", []string{"kick " + times(16, floor), "bass:36 " + times(7, line) + rest + times(8, line)},
			"mute: {part: bass if any, over: last 1 bar of break}"},
		{"all rest for a beat", []string{"kick " + times(7, floor) + "x...x...x.......|" + times(8, floor), "hat " + times(7, off) + "..x...x...x.....|" + times(8, off)},
			"mute: {part: all, over: last 1 beat of break}"},
		{"the bass growls, all rest, the kick out before", []string{"kick " + times(6, floor) + rest + rest + times(8, floor), "bass:36 " + times(7, line) + "x..x..x.........|" + times(8, line)},
			"mute: {part: all, over: last 2 beats of break}\nmute: {part: kick if any, over: last 2 bars of break}"},
		{"a roll that closes in", []string{"kick " + times(4, rest) + times(12, floor), "snare " + times(4, snare) + times(2, floor) + "x.x.x.x.x.x.x.x.|xxxxxxxxxxxxxxxx|" + times(8, snare)},
			"roll: {part: snare if any, over: last 4 bars of break, from: 1/4, to: 1/16, velocity: 100%..100%}"},
		{"a fill of the last half bar", []string{"kick " + times(16, floor), "snare " + times(7, snare) + "....x...x.xx.xx.|" + times(8, snare), "tom " + times(7, rest) + ".........x..x...|" + times(8, rest)},
			"fill: {part: [snare if any, tom if any], over: last 2 beats of break}"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got, err := study.Of(drawn(t, sections, row.rows...), 8)
			if err != nil {
				t.Fatal(err)
			}
			var lines []string
			for _, m := range got.Sections[0].Moves {
				lines = append(lines, m.String())
			}
			if g := strings.Join(lines, "\n"); g != row.want {
				t.Errorf("got\n%s\nwant\n%s", g, row.want)
			}
		})
	}
}

func TestLineUps(t *testing.T) {
	sections := []song.Section{{Name: "intro", Bar: 1, Bars: 8}, {Name: "drop", Bar: 9, Bars: 16}}
	for _, row := range []struct {
		rule, part, intro, drop, moves string
	}{
		{"all the time", times(24, off), "hat if any", "hat if any", ""},
		{"not at all", times(8, rest) + times(16, off), "", "hat if any", ""},
		{"from a bar on", times(4, rest) + times(20, off), "hat if any from 5", "hat if any", ""},
		{"up to a bar", times(12, off) + times(12, rest), "hat if any", "hat if any to 4", ""},
		{"twice", times(2, off) + times(4, rest) + times(10, off) + times(4, rest) + times(4, off), "hat if any to 2, hat if any from 7", "hat if any to 8, hat if any from 13", ""},
		{"a rest of its pattern is none of the line-up", times(6, off+off+off+rest), "hat if any", "hat if any", ""},
		{"every other bar for a while", times(8, off) + times(4, off) + times(4, rest+off) + times(4, off), "hat if any", "hat if any",
			"mute: {part: hat if any, over: every other bar of bars 4-11 of drop}"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got, err := study.Of(drawn(t, sections, "kick "+times(24, floor), "hat "+row.part), 8)
			if err != nil {
				t.Fatal(err)
			}
			hats := func(sec study.Section) string {
				var out []string
				for _, item := range sec.Plays {
					if strings.HasPrefix(item, "hat") {
						out = append(out, item)
					}
				}
				return strings.Join(out, ", ")
			}
			if a, b := hats(got.Sections[0]), hats(got.Sections[1]); a != row.intro || b != row.drop {
				t.Errorf("got %q, %q, want %q, %q", a, b, row.intro, row.drop)
			}
			var lines []string
			for _, m := range got.Sections[1].Moves {
				lines = append(lines, m.String())
			}
			if g := strings.Join(lines, "\n"); g != row.moves {
				t.Errorf("got moves\n%s\nwant\n%s", g, row.moves)
			}
		})
	}
}

func TestRidesAndCrashes(t *testing.T) {
	sections := []song.Section{{Name: "break", Bar: 1, Bars: 8}, {Name: "drop", Bar: 9, Bars: 16}}
	s := drawn(t, sections, "kick "+times(8, rest)+times(16, floor), "stab:60 "+times(24, line), "crash:49 "+times(8, rest)+"x...............|"+times(7, rest)+"x...............|"+times(7, rest))
	tl := s.Time()
	ramp := func(e *song.Edit, controller byte, first, last int, value func(at float64) float64) {
		from, to := tl.BarStart(first), tl.BarStart(last+1)
		for t := from; t <= to; t += tl.PPQ() / 2 {
			e.Insert(1, smf.Channel(min(t, to-1), 0xB0|s.Parts[1].Channel, controller, byte(value(float64(t-from)/float64(to-from)))))
		}
	}
	e := s.Edit()
	ramp(e, 74, 5, 8, func(at float64) float64 { return 20 + 80*at })
	ramp(e, 74, 9, 16, func(at float64) float64 { return 100 - 80*math.Sqrt(at) })
	ramp(e, 6, 17, 24, func(at float64) float64 { return 127 * at }) // data entry is no controller to ride
	e.Place(2, song.Note{Start: tl.BarStart(9), End: tl.BarStart(9) + 24, Key: 57, Vel: 90})
	got, err := study.Of(e.Song(), 8)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		"ride: {part: hook if any, controller: cutoff, over: bars 5-8 of break, from: 20, to: 100, curve: linear}",
		"ride: {part: hook if any, controller: cutoff, over: bars 1-8 of drop, from: 100, to: 20, curve: exp}\nhit: {sound: crash, at: [drop, bar 9 of drop]}",
	} {
		var lines []string
		for _, m := range got.Sections[i].Moves {
			lines = append(lines, m.String())
		}
		if g := strings.Join(lines, "\n"); g != want {
			t.Errorf("got\n%s\nwant\n%s", g, want)
		}
	}
	text := string(got.Recipe("a\nb"))
	if _, err := recipes.Parse("studied.yaml", []byte(text)); err != nil {
		t.Error(err)
	}
	for _, want := range []string{"# Studied from a?b: 24 bars, 0:48 at 120 bpm, 4/4.\n", "  # break, then drop: ride of cutoff on hook\n", "  # drop: ride of cutoff on hook, crash\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("found no %q in\n%s", want, text)
		}
	}
}

func TestWhatARecipeDoesNotTell(t *testing.T) {
	s := drawn(t, nil, "kick "+times(16, floor), "pad:60 "+times(16, "x---------------|"))
	e := s.Edit()
	at := s.Time().BarStart
	e.InsertMeta(0, at(5), 0x51, []byte{6, 26, 128})
	e.InsertMeta(0, at(9)+5, 0x06, []byte("drop"))
	e.InsertMeta(0, at(9), 0x58, []byte{3, 2, 24, 8})
	got, err := study.Of(heard(t, e.Song().File()), 8)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"the metre changes once: a recipe has bars only", "the tempo changes once: the bpm is that of most of it", "a marker stands off the bar line once: it is not taken for a section",
		"of a loop, what is not heard here plays backbeat where beat does, tops where beat does, perc where beat does, bed where hook does, extra where hook does"}
	if !slices.Equal(got.Told, want) {
		t.Errorf("got %q, want %q", got.Told, want)
	}
}

func TestNothingToStudy(t *testing.T) {
	s := drawn(t, nil, "kick "+times(8, rest))
	if _, err := study.Of(s, 8); err == nil || !strings.Contains(err.Error(), "no note that sounds") {
		t.Errorf("got %v, want that nothing sounds", err)
	}
}

// Of two sounds of a kit, none can be ridden alone.
func TestRidesOfASharedChannel(t *testing.T) {
	s := drawn(t, []song.Section{{Name: "Main Break!", Kind: song.KindBreak, Bar: 1, Bars: 16}}, "kick "+times(16, floor), "hat "+times(16, off))
	s.Parts = slices.Clone(s.Parts)
	s.Parts[1].Track, s.Parts[1].Channel = s.Parts[0].Track, s.Parts[0].Channel
	e := s.Edit()
	for i := range 64 {
		e.Insert(s.Parts[0].Track, smf.Channel(song.Tick(i)*s.Time().PPQ(), 0xB0|s.Parts[0].Channel, 74, byte(2*i)))
	}
	got, err := study.Of(e.Song(), 8)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Sections[0].Moves) > 0 || !slices.Contains(got.Told, "rides of cutoff on kick, hat are left out: they share a track and channel") {
		t.Errorf("got moves %v, told %q", got.Sections[0].Moves, got.Told)
	}
	if text := string(got.Recipe("")); !strings.Contains(text, `its marker says "Main Break!"`) || !strings.Contains(text, "{name: break, bars: 16, ") {
		t.Errorf("the marker is lost in\n%s", text)
	}
}
