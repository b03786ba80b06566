package where_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/recipes/wording"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

const testPPQ = 480 // a bar of 4/4 is 1920 ticks

// clubSong has 64 bars of 4/4.
func clubSong() song.Song {
	return songOf("intro 16, drop 16, break 8, build 4, drop 8, outro 12")
}

// songOf makes an empty song in 4/4 of sections such as "intro 16, drop 16"; "name=kind 8" gives
// one its kind, "-" stands for no section.
func songOf(sections string, metres ...smf.MetreAt) song.Song {
	var list []song.Section
	bar := 1
	for _, field := range strings.Split(sections, ", ") {
		var name string
		var bars int
		if _, err := fmt.Sscan(field, &name, &bars); err != nil {
			panic(err) // a mistake of the test
		}
		name, kind, _ := strings.Cut(name, "=")
		if name != "-" {
			list = append(list, song.Section{Name: name, Kind: song.Kind(kind), Bar: bar, Bars: bars})
		}
		bar += bars
	}
	end := smf.NewTimeline(testPPQ, nil, metres).BarStart(bar)
	return song.Blank(testPPQ, nil, metres, end, list...)
}

// tickText writes a tick as bar.beat, with the ticks after it.
func tickText(s song.Song, t song.Tick) string {
	p := s.Time().Locate(t)
	if p.Tick != 0 {
		return fmt.Sprintf("%d.%d+%d", p.Bar, p.Beat, p.Tick)
	}
	return fmt.Sprintf("%d.%d", p.Bar, p.Beat)
}

func rangesText(s song.Song, ranges []song.Range) string {
	var out []string
	for _, r := range ranges {
		out = append(out, tickText(s, r.Start)+"-"+tickText(s, r.End))
	}
	return strings.Join(out, " ")
}

func TestResolve(t *testing.T) {
	club := clubSong()
	odd := songOf("intro 20, drop 12")
	kinds := songOf("opening=intro 8, main=drop 8, drop-b=drop 8, main=drop 8, closing=outro 8")
	metres := songOf("- 8", smf.MetreAt{Metre: smf.Metre{Num: 4, Den: 4}},
		smf.MetreAt{Tick: 3 * 1920, Metre: smf.Metre{Num: 3, Den: 4}}, smf.MetreAt{Tick: 3*1920 + 2*1440, Metre: smf.Metre{Num: 6, Den: 8}})
	short := song.Blank(testPPQ, nil, nil, 3*1920+960) // three and a half bars
	for _, row := range []struct {
		rule string
		song song.Song
		text string
		want string
	}{
		{"all is one range", club, "all", "1.1-65.1"},
		{"bar N counts from the song's start", club, "bar 9", "9.1-10.1"},
		{"bars N-M includes both", club, "bars 9-16", "9.1-17.1"},
		{"bars of a section count from its start", club, "bars 9-16 of drop 1", "25.1-33.1"},
		{"of works on each range by itself", club, "bars 1-2 of drop", "17.1-19.1 45.1-47.1"},
		{"bar of a section", club, "bar 5 of every drop", "21.1-22.1 49.1-50.1"},
		{"the last bar may be named", club, "bar 64", "64.1-65.1"},
		{"a beat of each bar", club, "beat 2 of bars 3-4", "3.2-3.3"},
		{"a beat of every bar", club, "beat 2 of every bar of bars 3-4", "3.2-3.3 4.2-4.3"},
		{"beats include both and pass bar lines", club, "beat 4-5 of drop 1", "17.4-18.2"},
		{"a place is an instant", club, "17.3-18.1", "17.3-18.1"},
		{"a place may be the song's end", club, "64.3-65.1", "64.3-65.1"},
		{"a name is every section of it", club, "drop", "17.1-33.1 45.1-53.1"},
		{"a number is the N-th of the name", club, "drop 2", "45.1-53.1"},
		{"every name", club, "every drop", "17.1-33.1 45.1-53.1"},
		{"every section, touching ones stay apart", club, "every section", "1.1-17.1 17.1-33.1 33.1-41.1 41.1-45.1 45.1-53.1 53.1-65.1"},
		{"but takes sections out", club, "every section but drop and outro", "1.1-17.1 33.1-41.1 41.1-45.1"},
		{"but takes a numbered one out", club, "drop but drop 1", "45.1-53.1"},
		{"but may leave nothing", club, "drop but drop", ""},
		{"a name no section bears means the kind", kinds, "drop", "9.1-17.1 17.1-25.1 25.1-33.1"},
		{"a numbered kind", kinds, "drop 2", "17.1-25.1"},
		{"a name that is borne is not the kind", songOf("drop=drop 8, main=drop 8"), "drop", "1.1-9.1"},
		{"but by kind", kinds, "every section but drop", "1.1-9.1 33.1-41.1"},
		{"from the start of one to the start of the other", club, "from intro to break", "1.1-33.1"},
		{"each P goes to the nearest Q after it", club, "from drop to break", "17.1-33.1"},
		{"each P its own Q", club, "from build to drop", "41.1-45.1"},
		{"several Ps to one Q merge", club, "from drop to outro", "17.1-53.1"},
		{"Q at P itself is not after it", club, "from drop to drop", "17.1-45.1"},
		{"from to ends where bar 24 starts", club, "from bar 9 to bar 24", "9.1-24.1"},
		{"from an instant to the end", club, "from 63.3 to end", "63.3-65.1"},
		{"from an edge to an edge", club, "from end of intro to end of break", "17.1-41.1"},
		{"from several to several", club, "from every 8 bars of drop 1 to every 4 bars of drop 1", "17.1-21.1 25.1-29.1"},
		{"the nearest Q, in whatever order they come", club, "from bar 1 to every 2 bars of 4 bars before every bar of bars 1-16", "1.1-2.1"},
		{"first", club, "first 2 bars of drop", "17.1-19.1 45.1-47.1"},
		{"first of all", club, "first 2 bars", "1.1-3.1"},
		{"last", club, "last 2 beats of build", "44.3-45.1"},
		{"last of all", club, "last 1 bar", "64.1-65.1"},
		{"last of a note value", club, "last 3/16 of build", "44.4+120-45.1"},
		{"first may be the whole", club, "first 4 bars of build", "41.1-45.1"},
		{"before ends where X starts", club, "2 bars before drop", "15.1-17.1 43.1-45.1"},
		{"before several, across section lines", club, "6 bars before drop 2", "39.1-45.1"},
		{"before is clipped at the song's start", club, "20 bars before drop", "1.1-17.1 25.1-45.1"},
		{"before the song is nothing", club, "2 bars before intro", ""},
		{"before the end", club, "8 bars before end", "57.1-65.1"},
		{"before an instant", club, "1 beat before 17.3", "17.2-17.3"},
		{"before the end of a span", club, "1 bar before end of drop 1", "32.1-33.1"},
		{"before a place that is a span means its start", club, "1 bar before 2 bars before drop 2", "42.1-43.1"},
		{"after starts where X ends", club, "2 bars after drop", "33.1-35.1 53.1-55.1"},
		{"after an instant", club, "2 beats after 17.3", "17.3-18.1"},
		{"after the start of X", club, "2 bars after start of drop 1", "17.1-19.1"},
		{"after the end of X", club, "2 bars after end of drop 1", "33.1-35.1"},
		{"after is clipped at the song's end", club, "20 bars after drop 2", "53.1-65.1"},
		{"after the end is nothing", club, "2 bars after end", ""},
		{"after the last section is nothing", club, "2 bars after outro", ""},
		{"every counts from each section's first bar, never across a section line", odd, "every 16 bars", "1.1-17.1 17.1-21.1 21.1-33.1"},
		{"every with of counts from the range's start only", odd, "every 16 bars of all", "1.1-17.1 17.1-33.1"},
		{"every without sections", songOf("- 20"), "every 16 bars", "1.1-17.1 17.1-21.1"},
		{"a short remainder counts from its own end", odd, "last 2 beats of every 16 bars of intro", "16.3-17.1 20.3-21.1"},
		{"a number past a short remainder is clipped", odd, "first 8 bars of every 16 bars of intro", "1.1-9.1 17.1-21.1"},
		{"a bar past a short remainder is nothing", odd, "bar 8 of every 16 bars of intro", "8.1-9.1"},
		{"a stretch shorter than every is one short remainder", club, "last 1 bar of every 16 bars of break", "40.1-41.1"},
		{"every other takes the second, fourth and so on", club, "every other 4 bars of drop 1", "21.1-25.1 29.1-33.1"},
		{"every other in each section", odd, "every other 8 bars", "9.1-17.1 29.1-33.1"},
		{"every other of each range", club, "every other 4 bars of drop", "21.1-25.1 29.1-33.1 49.1-53.1"},
		{"every beat", club, "every 3 beats of bars 1-2", "1.1-1.4 1.4-2.3 2.3-3.1"},
		{"of nests", club, "last 1 beat of first 8 bars of every 16 bars of every drop", "24.4-25.1 52.4-53.1"},
		{"a range is not clipped to a section it is not of", club, "2 bars before end of intro", "15.1-17.1"},
		{"bars follow bar lines through metre changes", metres, "bars 3-5", "3.1-6.1"},
		{"a bar is as long as its metre says", metres, "last 2 bars", "7.1-9.1"},
		{"bars forward over metre changes", metres, "4 bars after 2.1", "2.1-6.1"},
		{"bars from inside a bar keep their beat", metres, "1 bar after 3.2", "3.2-4.2"},
		{"a bar too short for the beat ends it", metres, "1 bar after 3.4", "3.4-5.1"},
		{"beats are the metre's own", metres, "beat 6 of bar 6", "6.6-7.1"},
		{"beats forward over metre changes", metres, "5 beats after 3.4", "3.4-5.2"},
		{"beats backward over metre changes", metres, "5 beats before 6.2", "4.3-6.2"},
		{"a note value is the same in any metre", metres, "1/4 before 7.1", "6.5-7.1"},
		{"a bar cut short by the song's end is a bar", short, "bar 4", "4.1-4.3"},
		{"the last bars of a song that ends inside a bar", short, "last 2 bars", "3.1-4.3"},
		{"bars before such an end", short, "1 bar before end", "4.1-4.3"},
		{"note values count from the end itself", short, "last 1/4", "4.2-4.3"},
		{"the first half", club, "first half of drop 1", "17.1-25.1"},
		{"the second half of each range", club, "second half of drop", "25.1-33.1 49.1-53.1"},
		{"the last half is the second", club, "last half of drop 2", "49.1-53.1"},
		{"a third is cut at the nearest bar", club, "first third of drop 1", "17.1-22.1"},
		{"a quarter", club, "last quarter of drop 1", "29.1-33.1"},
		{"a share of a share", club, "last quarter of second half of drop 1", "31.1-33.1"},
		{"the halves of five bars are three and two", club, "first half of bars 1-5", "1.1-4.1"},
		{"the halves of five bars add up", club, "second half of bars 1-5", "4.1-6.1"},
		{"a share has a bar at least", club, "first quarter of bars 1-2", "1.1-2.1"},
		{"a share at the end has a bar at least", club, "last quarter of bars 1-2", "2.1-3.1"},
		{"of one bar a share is all", club, "last third of bar 9", "9.1-10.1"},
		{"half of the song", club, "second half of all", "33.1-65.1"},
		{"bars are halved, not ticks", metres, "first half of all", "1.1-5.1"},
		{"a song that ends inside a bar", short, "last half of all", "3.1-4.3"},
		{"mid-bar ranges are cut at whole bars from their start", club, "first half of 17.3-21.3", "17.3-19.3"},
		{"before a share", club, "1 bar before second half of drop 1", "24.1-25.1"},
		{"a share of a short remainder", odd, "last half of every 16 bars of intro", "9.1-17.1 19.1-21.1"},
		{"a remainder under a bar is taken whole", club, "last half of every 3 bars of 17.1-20.3", "19.1-20.1 20.1-20.3"},
		{"mid-bar ranges count whole bars from their start", club, "bar 1 of 17.3-19.3", "17.3-18.3"},
	} {
		spans, err := parseSpans(row.text)
		if err != nil {
			t.Errorf("%s: %q: %v", row.rule, row.text, err)
			continue
		}
		got, _, err := spans.Resolve(where.SpanContext{Song: row.song, Strict: true})
		if text := rangesText(row.song, got); err != nil || text != row.want {
			t.Errorf("%s: %q\n got %s (%v)\nwant %s", row.rule, row.text, text, err, row.want)
		}
	}
}

func TestResolveLists(t *testing.T) {
	club := clubSong()
	for _, row := range []struct {
		rule  string
		texts []string
		want  string
	}{
		{"overlapping ranges merge", []string{"bars 1-4", "bars 3-8"}, "1.1-9.1"},
		{"equal ranges merge", []string{"drop 1", "bars 17-32"}, "17.1-33.1"},
		{"a range inside another merges", []string{"drop 1", "bar 20"}, "17.1-33.1"},
		{"touching ranges stay apart", []string{"bars 1-4", "bars 5-8"}, "1.1-5.1 5.1-9.1"},
		{"ranges are sorted", []string{"outro", "intro"}, "1.1-17.1 53.1-65.1"},
		{"a merged range touches the next", []string{"bars 1-4", "bars 3-8", "bar 9"}, "1.1-9.1 9.1-10.1"},
	} {
		got, _, err := where.SpansOf(row.texts...).Resolve(where.SpanContext{Song: club, Strict: true})
		if text := rangesText(club, got); err != nil || text != row.want {
			t.Errorf("%s: %q\n got %s (%v)\nwant %s", row.rule, row.texts, text, err, row.want)
		}
	}
	if got, _, err := (where.Spans{}).Resolve(where.SpanContext{Song: club, Strict: true}); err != nil || rangesText(club, got) != "1.1-65.1" {
		t.Errorf("left out is all: got %v, %v", got, err)
	}
}

// Positions are rounded half up from the range's start and never summed: every 1/12 at 50 ticks a
// quarter is 16 2/3 ticks, so lines fall at 16.67, 33.33, 50.
func TestRounding(t *testing.T) {
	s := song.Blank(50, nil, nil, 200)
	for _, row := range []struct{ rule, text, want string }{
		{"each line is rounded by itself", "every 1/12 of first 2 beats", "0-17 17-33 33-50 50-67 67-83 83-100"},
		{"a half goes up", "first 1/16", "0-13"},                    // 12.5
		{"a half goes up from the end too", "last 1/16", "188-200"}, // 187.5
		{"before an instant", "1/16 before 1.2", "38-50"},           // 37.5
		{"after an instant", "1/16 after 1.2", "50-63"},             // 62.5
		{"p/q is 4p/q quarters", "first 3/16", "0-38"},              // 37.5
		{"a whole note", "first 1/1", "0-200"},
	} {
		got, _, err := where.SpansOf(row.text).Resolve(where.SpanContext{Song: s, Strict: true})
		var text []string
		for _, r := range got {
			text = append(text, fmt.Sprintf("%d-%d", r.Start, r.End))
		}
		if g := strings.Join(text, " "); err != nil || g != row.want {
			t.Errorf("%s: %q: got %s (%v), want %s", row.rule, row.text, g, err, row.want)
		}
	}
	if _, _, err := where.SpansOf("every 1/400").Resolve(where.SpanContext{Song: s, Strict: true}); err == nil {
		t.Error("a note value of half a tick was taken")
	}
	if _, _, err := where.SpansOf("every 1/200").Resolve(where.SpanContext{Song: s, Strict: true}); err != nil {
		t.Errorf("a note value of a tick: %v", err)
	}
}

func TestPlaces(t *testing.T) {
	club := clubSong()
	for _, row := range []struct {
		rule  string
		texts []string
		want  string
	}{
		{"a span stands for its start", []string{"every drop"}, "17.1 45.1"},
		{"several places", []string{"every drop", "outro"}, "17.1 45.1 53.1"},
		{"each place once, in order", []string{"outro", "drop", "bar 17"}, "17.1 45.1 53.1"},
		{"a bar", []string{"bar 33"}, "33.1"},
		{"an instant", []string{"33.3"}, "33.3"},
		{"every length", []string{"every 8 bars of drop"}, "17.1 25.1 45.1"},
		{"edges", []string{"start of drop 1", "end of drop 1"}, "17.1 33.1"},
		{"the end", []string{"end"}, "65.1"},
		{"a bar of a section", []string{"bar 9 of drop 1"}, "25.1"},
		{"a span between places starts at its first", []string{"17.3-18.1"}, "17.3"},
	} {
		got, _, err := where.PlacesOf(row.texts...).Resolve(where.SpanContext{Song: club, Strict: true})
		var texts []string
		for _, g := range got {
			texts = append(texts, tickText(club, g))
		}
		if text := strings.Join(texts, " "); err != nil || text != row.want {
			t.Errorf("%s: %q: got %s (%v), want %s", row.rule, row.texts, text, err, row.want)
		}
	}
	if _, _, err := where.PlacesOf("bar 65", "evry").Resolve(where.SpanContext{Song: club, Strict: true}); err == nil {
		t.Error("places outside the song were taken")
	}
	if got, _, err := (where.Places{}).Resolve(where.SpanContext{Song: club, Strict: true}); err != nil || got != nil {
		t.Errorf("left out is no place: got %v, %v", got, err)
	}
}

// What does not fit is an error where strict, else clipped and told.
func TestWrittenNumbersMustFit(t *testing.T) {
	club := clubSong()
	for _, row := range []struct {
		rule, text string
		col        int
		found      string
		wanted     string // of the strict error
		clipped    string
		told       string
	}{
		{"a bar past the song", "bar 65", 5, "65", "bars within 1-64 (the song)", "", "bar 65: found 65, but the song has only 64 bars; left out"},
		{"bars past the song", "bars 60-70", 6, "60-70", "bars within 1-64 (the song)", "60.1-65.1", "bars 60-70: found 60-70, but the song has only 64 bars; clipped"},
		{"bars past a section", "bars 3-8 of build", 6, "3-8", "bars within 1-4 (build)", "43.1-45.1", "bars 3-8 of build: found 3-8, but build has only 4 bars; clipped"},
		{"bars past one of several", "bars 9-12 of drop", 6, "9-12", "bars within 1-8 (drop 2)", "25.1-29.1", "bars 9-12 of drop: found 9-12, but drop 2 has only 8 bars; left out"},
		{"a beat past its bar", "beat 5 of bar 9", 6, "5", "beats within 1-4 (bar 9)", "", "beat 5 of bar 9: found 5, but bar 9 has only 4 beats; left out"},
		{"first past its range", "first 5 bars of build", 7, "5 bars", "at most the 4 bars of build", "41.1-45.1", "first 5 bars of build: found 5 bars, but build has only 4 bars; clipped"},
		{"last past its range", "last 5 bars of build", 6, "5 bars", "at most the 4 bars of build", "41.1-45.1", "last 5 bars of build: found 5 bars, but build has only 4 bars; clipped"},
		{"last past the song", "last 100 beats of intro", 6, "100 beats", "at most the 64 beats of intro", "1.1-17.1", "last 100 beats of intro: found 100 beats, but intro has only 64 beats; clipped"},
		{"beats past the song by a bar", "first 257 beats", 7, "257 beats", "at most the 256 beats of the song", "1.1-65.1", "first 257 beats: found 257 beats, but the song has only 256 beats; clipped"},
		{"a note value past its range", "first 5/4 of bar 9", 7, "5/4", "at most the 4 beats of bar 9", "9.1-10.1", "first 5/4 of bar 9: found 5/4, but bar 9 has only 4 beats; clipped"},
		{"a range is called by its bars", "bar 5 of 4 bars before drop 2", 5, "5", "bars within 1-4 (build)", "", "bar 5 of 4 bars before drop 2: found 5, but build has only 4 bars; left out"},
		{"a range of some bars", "bar 5 of last 3 bars of build", 5, "5", "bars within 1-3 (the range of bars 42-44)", "", "bar 5 of last 3 bars of build: found 5, but the range of bars 42-44 has only 3 bars; left out"},
		{"a range inside a bar", "beat 3 of 17.3-18.1", 6, "3", "beats within 1-2 (the range from 17.3)", "", "beat 3 of 17.3-18.1: found 3, but the range from 17.3 has only 2 beats; left out"},
		{"a bar of less than a bar", "bar 1 of last 2 beats of intro", 5, "1", "a span of at least a bar to count in (the range from 16.3 is shorter)", "16.3-17.1", "bar 1 of last 2 beats of intro: found 1, but the range from 16.3 has only 0 bars; clipped"},
		{"a beat of less than a beat", "beat 1 of first 1/8 of bar 9", 6, "1", "a span of at least a beat to count in (the range from bar 9 is shorter)", "9.1-9.1+240", "beat 1 of first 1/8 of bar 9: found 1, but the range from bar 9 has only 0 beats; clipped"},
		{"a length past less than a bar", "first 1 bar of last 2 beats of intro", 7, "1 bar", "a span of at least a bar to count in (the range from 16.3 is shorter)", "16.3-17.1", "first 1 bar of last 2 beats of intro: found 1 bar, but the range from 16.3 has only 0 bars; clipped"},
		{"a place past the song", "64.1-65.2", 6, "65.2", "bars within 1-64", "64.1-65.1", "64.1-65.2: found 65.2, want bars within 1-64; clipped"},
		{"a place past its bar", "17.3-17.5", 6, "17.5", "beats within 1-4 in bar 17", "17.3-18.1", "17.3-17.5: found 17.5, want beats within 1-4 in bar 17; clipped"},
		{"a number past every, not its remainder", "bar 17 of every 16 bars of drop 1", 5, "17", "bars within 1-16 (drop 1)", "", "bar 17 of every 16 bars of drop 1: found 17, but drop 1 has only 16 bars; left out"},
	} {
		spans := where.SpansOf(row.text)
		_, _, err := spans.Resolve(where.SpanContext{Song: club, Strict: true})
		var e *option.Mistake
		if !errors.As(err, &e) || e.Col != row.col || e.Found != row.found || e.Want != row.wanted || e.Text != row.text {
			t.Errorf("%s: %q: strict: got %+v (%v)", row.rule, row.text, e, err)
		}
		got, told, err := spans.Resolve(where.SpanContext{Song: club, Strict: false})
		if text := rangesText(club, got); err != nil || text != row.clipped {
			t.Errorf("%s: %q: clipped: got %s (%v), want %s", row.rule, row.text, text, err, row.clipped)
		}
		if strings.Join(wording.All(told, false), "\n") != row.told {
			t.Errorf("%s: %q: told %v, want %q", row.rule, row.text, told, row.told)
		}
	}
}

// A song that ends inside a beat has that beat, and no more.
func TestBrokenLastBeat(t *testing.T) {
	s := song.Blank(testPPQ, nil, nil, 3*1920+3*480+240)
	if got, _, err := where.SpansOf("first 16 beats").Resolve(where.SpanContext{Song: s, Strict: true}); err != nil || got[0].End != s.End {
		t.Errorf("all its beats: got %v, %v", got, err)
	}
	if _, _, err := where.SpansOf("first 17 beats").Resolve(where.SpanContext{Song: s, Strict: true}); err == nil {
		t.Error("a beat past its end was taken")
	}
}

func TestTold(t *testing.T) {
	club := clubSong()
	for _, row := range []struct {
		rule, text string
		told       string
	}{
		{"from bar to bar leaves the second out", "from bar 9 to bar 24", "from bar 9 to bar 24: ends where bar 24 starts; to have bar 24 in it, write bars 9-24"},
		{"the same inside a span", "from bar 1 of drop 1 to bar 4 of drop 1", "from bar 1 of drop 1 to bar 4 of drop 1: ends where bar 4 starts; to have bar 4 in it, write bars 1-4 of drop 1"},
		{"bars of different spans are no such slip", "from bar 9 of intro to bar 1 of drop", ""},
		{"instants are no such slip", "from 9.1 to 24.1", ""},
		{"a P without a Q after it", "from drop to break", "from drop to break: no break after bar 45; left out"},
		{"an exclusion that excludes nothing", "every drop but intro", `every drop but intro: "but intro" takes nothing out`},
		{"before is clipped silently", "20 bars before drop", ""},
		{"every is clipped silently", "every 3 bars of drop", ""},
		{"what is clipped silently may be counted in silently", "last 14 bars of 20 bars after drop 2", ""},
	} {
		_, told, err := where.SpansOf(row.text).Resolve(where.SpanContext{Song: club, Strict: true})
		if got := strings.Join(wording.All(told, false), "\n"); err != nil || got != row.told {
			t.Errorf("%s: %q: told %q (%v), want %q", row.rule, row.text, got, err, row.told)
		}
	}
}

func TestUnknownSections(t *testing.T) {
	club := clubSong()
	kinds := songOf("opening=intro 8, main=drop 8")
	for _, row := range []struct {
		rule, text  string
		song        song.Song
		col         int
		found, want string
		hint        string
	}{
		{"a misspelt section", "last 2 bars of drpo", club, 16, "drpo", "one of intro, drop, break, build, outro", "drop"},
		{"a plural", "drops", club, 1, "drops", "one of intro, drop, break, build, outro", "drop"},
		{"a number joined on", "drop2", club, 1, "drop2", "one of intro, drop, break, build, outro", "drop 2"},
		{"a number that is not there", "drop 3", club, 1, "drop 3", "drop 1 to drop 2", ""},
		{"the only one has no second", "break 2", club, 1, "break 2", "break, of which there is one", "break"},
		{"nothing close", "refrain", club, 1, "refrain", "one of intro, drop, break, build, outro", ""},
		{"the song", "end of song", club, 8, "song", "one of intro, drop, break, build, outro", "all"},
		{"everywhere", "everywhere", club, 1, "everywhere", "one of intro, drop, break, build, outro", "all"},
		{"an excluded one", "drop but dorp 1", club, 10, "dorp 1", "one of intro, drop, break, build, outro", "drop 1"},
		{"a kind is close", "dop", kinds, 1, "dop", "one of opening, main", "drop"},
		{"no sections", "drop", songOf("- 8"), 1, "drop", "a song that has sections", ""},
		{"every section of none", "every section", songOf("- 8"), 7, "section", "a song that has sections", ""},
	} {
		for _, strict := range []bool{true, false} {
			_, _, err := where.PlacesOf(row.text).Resolve(where.SpanContext{Song: row.song, Strict: strict})
			var e *option.Mistake
			if !errors.As(err, &e) || e.Col != row.col || e.Found != row.found || e.Want != row.want || e.Hint != row.hint {
				t.Errorf("%s: %q: got %+v (%v)", row.rule, row.text, e, err)
			}
		}
	}
}

func TestImpossibleSpans(t *testing.T) {
	club := clubSong()
	for _, row := range []struct {
		rule, text string
		col        int
		found      string
		want       string
	}{
		{"Q never after P", "from drop to intro", 14, "intro", "a place after drop (bar 17)"},
		{"Q at the song's start", "from intro to bar 1", 15, "bar 1", "a place after intro (bar 1)"},
		{"too many ranges", "every 1/1920 of 8 bars before every beat", 7, "1/1920", "a span of at most 262144 ranges"},
	} {
		for _, strict := range []bool{true, false} {
			_, _, err := where.SpansOf(row.text).Resolve(where.SpanContext{Song: club, Strict: strict})
			var e *option.Mistake
			if !errors.As(err, &e) || e.Col != row.col || e.Found != row.found || e.Want != row.want {
				t.Errorf("%s: %q: got %+v (%v)", row.rule, row.text, e, err)
			}
		}
	}
	if _, _, err := where.SpansOf("all").Resolve(where.SpanContext{}); err == nil {
		t.Error("a song without bars was taken")
	}
	_, _, err := where.SpansOf("drop 3", "all", "bar 65").Resolve(where.SpanContext{Song: club, Strict: true})
	if got := mistakes(err); len(got) != 2 || got[0].Item != 0 || got[1].Item != 2 {
		t.Errorf("all mistakes of a list, in order: got %v", err)
	}
}

// Sentences of a few words that stand for very much stay quick.
func TestHugeNumbers(t *testing.T) {
	s := song.Blank(1, nil, nil, smf.MaxTicks)
	for _, text := range []string{"999999 beats before end", "last 999999 beats", "first 999999 bars", "bar 999999",
		"every 999999/999999", "loop bar 8 of every 1/4 of 4 bars before every 4 beats", "loop bars 1-999999 of every bar", "first third of every 999999 bars", "every 999999 beats of last 999999 bars", "999999.1-999999.2"} {
		if _, _, err := where.SpansOf(text).Resolve(where.SpanContext{Song: s, Loop: func(bar int) (int, int) { return bar%9 + 1, 9 }}); err != nil && !strings.Contains(err.Error(), "ranges") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func ExampleSpans_Resolve() {
	s := song.Blank(96, nil, nil, 16*384,
		song.Section{Name: "intro", Bar: 1, Bars: 8}, song.Section{Name: "drop", Bar: 9, Bars: 8})
	ranges, told, err := where.SpansOf("2 bars before drop", "last 1 beat of every 4 bars of drop").Resolve(where.SpanContext{Song: s, Strict: true})
	fmt.Println(ranges, told, err)
	_, _, err = where.SpansOf("dorp").Resolve(where.SpanContext{Song: s, Strict: true})
	fmt.Println(err)
	// Output:
	// [{2304 3072} {4512 4608} {6048 6144}] [] <nil>
	// found "dorp", want one of intro, drop; did you mean "drop"?
}

// The loop of clubSong has 8 bars and is counted back from each section's end: build, of 4 bars, plays bars
// 5 to 8 of it, and outro, of 12, bars 5 to 8 and all of it.
func backFromEnds(s song.Song) func(int) (int, int) {
	return func(bar int) (int, int) {
		for _, sec := range s.Sections {
			if bar >= sec.Bar && bar < sec.Bar+sec.Bars {
				return 8 - (sec.Bar+sec.Bars-1-bar)%8, 8
			}
		}
		return 0, 0
	}
}

func TestLoopBars(t *testing.T) {
	club := clubSong()
	tail := songOf("drop 8, - 8")
	for _, row := range []struct {
		rule string
		song song.Song
		text string
		want string
	}{
		{"a bar of the loop, each time it comes", club, "loop bar 8 of drop", "24.1-25.1 32.1-33.1 52.1-53.1"},
		{"counted back from the section's end", club, "loop bar 1 of outro", "57.1-58.1"},
		{"a bar that the section does not reach", club, "loop bar 1 of build", ""},
		{"bars of the loop", club, "loop bars 5-8 of drop 1", "21.1-25.1 29.1-33.1"},
		{"as far as they come", club, "loop bars 3-6 of build", "41.1-43.1"},
		{"each pass is a range of its own", club, "loop bars 1-8 of drop 1", "17.1-25.1 25.1-33.1"},
		{"everywhere", club, "loop bar 4", "4.1-5.1 12.1-13.1 20.1-21.1 28.1-29.1 36.1-37.1 48.1-49.1 60.1-61.1"},
		{"of bars, wherever these start", club, "loop bars 1-4 of bars 19-26", "19.1-21.1 25.1-27.1"},
		{"of a range inside a bar", club, "loop bar 3 of 19.3-20.2", "19.3-20.1"},
		{"a beat of it", club, "last 1 beat of loop bar 8 of drop 2", "52.4-53.1"},
		{"counted in what is cut, silently", club, "first 4 bars of loop bars 3-6 of build", "41.1-43.1"},
		{"before it", club, "1 bar before loop bar 1 of drop 2", "44.1-45.1"},
		{"where no loop plays there is none", tail, "loop bar 8", "8.1-9.1"},
	} {
		got, told, err := where.SpansOf(row.text).Resolve(where.SpanContext{Song: row.song, Strict: true, Loop: backFromEnds(row.song)})
		if text := rangesText(row.song, got); err != nil || text != row.want || told != nil {
			t.Errorf("%s: %v\n got %s (%v, %v)\nwant %s", row.rule, row.text, text, err, told, row.want)
		}
	}
	at, _, err := where.PlacesOf("loop bar 5 of drop").Resolve(where.SpanContext{Song: club, Strict: true, Loop: backFromEnds(club)})
	if err != nil || len(at) != 3 || tickText(club, at[2]) != "49.1" {
		t.Errorf("as places: got %v, %v", at, err)
	}
	// A loop that runs on over a section's line gives a range on either side of it.
	runOn := func(bar int) (int, int) { return (bar+1)%8 + 1, 8 } // the song's first bar plays the loop's third
	if got, _, err := where.SpansOf("loop bars 1-4").Resolve(where.SpanContext{Song: songOf("a 8, b 8"), Strict: true, Loop: runOn}); err != nil || rangesText(club, got) != "1.1-3.1 7.1-9.1 9.1-11.1 15.1-17.1" {
		t.Errorf("running on: got %s, %v", rangesText(club, got), err)
	}
}

func TestLoopBarsMustFit(t *testing.T) {
	club, tail := clubSong(), songOf("drop 8, - 8")
	for _, row := range []struct {
		rule, text    string
		song          song.Song
		found, wanted string
		clipped, told string
	}{
		{"a bar past the loop", "loop bar 9 of drop 1", club, "9", "bars within 1-8 (the loop)", "", "loop bar 9 of drop 1: found 9, but the loop has only 8 bars; left out"},
		{"bars past the loop", "loop bars 7-10 of drop 2", club, "7-10", "bars within 1-8 (the loop)", "51.1-53.1", "loop bars 7-10 of drop 2: found 7-10, but the loop has only 8 bars; clipped"},
	} {
		spans := where.SpansOf(row.text)
		_, _, err := spans.Resolve(where.SpanContext{Song: row.song, Strict: true, Loop: backFromEnds(row.song)})
		var e *option.Mistake
		if !errors.As(err, &e) || e.Found != row.found || e.Want != row.wanted || e.Col != strings.Index(row.text, row.found)+1 {
			t.Errorf("%s: strict: got %+v (%v)", row.rule, e, err)
		}
		got, told, err := spans.Resolve(where.SpanContext{Song: row.song, Loop: backFromEnds(row.song)})
		if text := rangesText(row.song, got); err != nil || text != row.clipped || strings.Join(wording.All(told, false), "\n") != row.told {
			t.Errorf("%s: clipped: got %s, %v, %v", row.rule, text, told, err)
		}
	}
	_, told, err := where.SpansOf("loop bar 1 of bars 9-16").Resolve(where.SpanContext{Song: tail, Strict: true, Loop: backFromEnds(tail)})
	if err != nil || strings.Join(wording.All(told, false), "") != "loop bar 1 of bars 9-16: no loop plays where the range of bars 9-16 starts; nothing is taken" {
		t.Errorf("where no loop plays: told %v, %v", told, err)
	}
	var e *option.Mistake
	_, _, err = where.SpansOf("loop bar 1").Resolve(where.SpanContext{Song: club})
	if !errors.As(err, &e) || e.Col != 10 || !strings.HasPrefix(e.Want, "a song that was laid out from a loop") {
		t.Errorf("no loop: got %v", err)
	}
	shortFirst := func(bar int) (int, int) {
		if bar < 17 {
			return (bar-1)%8 + 1, 8
		}
		return (bar-17)%16 + 1, 16
	}
	// Two loops: bar 12 is there as long as one of them has it.
	two := func(bar int) (int, int) {
		if bar <= 16 {
			return bar, 16
		}
		return (bar-1)%8 + 1, 8
	}
	if got, _, err := where.SpansOf("loop bar 12 of all").Resolve(where.SpanContext{Song: club, Strict: true, Loop: two}); err != nil || rangesText(club, got) != "12.1-13.1" {
		t.Errorf("of two loops: got %s, %v", rangesText(club, got), err)
	}
	if got, told, err := where.SpansOf("loop bar 12 of bars 14-17").Resolve(where.SpanContext{Song: club, Strict: true, Loop: shortFirst}); err != nil || got != nil || told != nil {
		t.Errorf("of a range in whose last bar the longer starts: got %v, %v, %v", got, told, err)
	}
	if _, _, err := where.SpansOf("loop bar 12 of drop").Resolve(where.SpanContext{Song: club, Strict: true, Loop: two}); !errors.As(err, &e) || e.Want != "bars within 1-8 (the loop)" {
		t.Errorf("of the shorter loop: got %v", err)
	}
}

func TestPortionsNeedABar(t *testing.T) {
	club := clubSong()
	spans := where.SpansOf("first half of last 2 beats of intro")
	_, _, err := spans.Resolve(where.SpanContext{Song: club, Strict: true})
	var e *option.Mistake
	if !errors.As(err, &e) || e.Col != 1 || e.Found != "first half" || e.Want != "a span of at least a bar to count in (the range from 16.3 is shorter)" {
		t.Errorf("strict: got %+v", e)
	}
	got, told, err := spans.Resolve(where.SpanContext{Song: club})
	if rangesText(club, got) != "16.3-17.1" || err != nil || strings.Join(wording.All(told, false), "") != "first half of last 2 beats of intro: the range from 16.3 is shorter than a bar; all of it is taken" {
		t.Errorf("otherwise: got %s, %v, %v", rangesText(club, got), told, err)
	}
	if _, _, err := where.SpansOf("last half of dorp").Resolve(where.SpanContext{Song: club, Strict: true}); !errors.As(err, &e) || e.Col != 14 || e.Hint != "drop" {
		t.Errorf("of a section that is not there: got %v", err)
	}
}

func TestRangesAreWritten(t *testing.T) {
	s := songOf("all 8") // 480 ticks a quarter note, 4/4
	for _, row := range []struct {
		rule string
		r    song.Range
		want string
	}{
		{"bars", song.Range{Start: 1920, End: 3 * 1920}, "bars 2-3"},
		{"beats", song.Range{Start: 480, End: 1920}, "1.2-2.1"},
		{"from a beat on", song.Range{Start: 480, End: 480 + 360}, "3/16 after 1.2"},
		{"up to a beat", song.Range{Start: 479, End: 480}, "1/1920 before 1.2"},
		{"up to a bar line", song.Range{Start: 2*1920 - 120, End: 2 * 1920}, "1/16 before 3.1"},
		{"between places on no beat", song.Range{Start: 240, End: 600}, "from end of 1/8 after 1.1 to end of 1/16 after 1.2"},
	} {
		if got := where.RangeText(s, row.r); got != row.want {
			t.Errorf("%s: got %s, want %s", row.rule, got, row.want)
		}
	}
}

// What is written is read as the same ticks, in any metre and resolution, also where a metre change or the end of the
// song cuts a bar or a beat short, and where a beat is no whole number of ticks.
func TestRangesAndPlacesAreWrittenToTheTick(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	for _, ppq := range []song.Tick{1, 7, 24, 96, 480, 32767} {
		metres := []smf.MetreAt{{Metre: smf.Metre{Num: 7, Den: 8}}, {Tick: 9 * ppq, Metre: smf.Metre{Num: 4, Den: 4}}, {Tick: 30 * ppq, Metre: smf.Metre{Num: 6, Den: 16}}}
		if ppq%4 != 0 {
			metres = metres[1:2]
		}
		end := 40*ppq + ppq/3
		s := song.Blank(ppq, nil, metres, end)
		c := where.SpanContext{Song: s, Strict: true}
		for range 500 {
			from := song.Tick(rng.Int64N(int64(end)))
			r := song.Range{Start: from, End: from + 1 + song.Tick(rng.Int64N(int64(end-from)))}
			text := where.RangeText(s, r)
			got, told, err := where.SpansOf(text).Resolve(c)
			if err != nil || told != nil || len(got) != 1 || got[0] != r {
				t.Fatalf("%d ticks a quarter note: %v is written %q, which is %v (%v, %v)", ppq, r, text, got, told, err)
			}
			text = where.PlaceText(s, r.End)
			at, told, err := where.PlacesOf(text).Resolve(c)
			if err != nil || told != nil || len(at) != 1 || at[0] != r.End {
				t.Fatalf("%d ticks a quarter note: %d is written %q, which is %v (%v, %v)", ppq, r.End, text, at, told, err)
			}
		}
	}
}
