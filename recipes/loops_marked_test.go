package recipes_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
)

// Sixteen bars that four markers cut: the hits of a bar tell which bar it is.
const markedSong = `kick x...............|x...............|x...............|x...............|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|................|................|................|................|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
hat ................|................|................|................|..x.............|..x...x.........|..x...x...x.....|..x...x...x...x.|..x.............|..x...x.........|................|................|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.|..x...x...x...x.
bass x.......x.......|x.......x.......|x.......x.......|x.......x.......|x..x..x.........|x..x..x.........|x..x..x.........|x..x..x.........|................|................|................|................|x..x..x..x......|x..x..x..x......|x..x..x..x......|x..x..x..x......
lead ................|................|................|................|................|................|................|................|x...............|xx..............|xxx.............|xxxx............|xxxxx...........|xxxxxx..........|xxxxxxx.........|xxxxxxxx........`

// marked puts markers on bar lines, "5 verse" in bar 5.
func marked(t testing.TB, in recipes.Input, markers ...string) recipes.Input {
	t.Helper()
	tr := &in.File.Tracks[0]
	events, store := slices.Clone(tr.Events), tr.LongStore()
	for _, m := range markers {
		var bar int
		var ev smf.Event
		if _, err := fmt.Sscan(m, &bar); err != nil {
			t.Fatal(err)
		}
		_, text, _ := strings.Cut(m, " ")
		ppq, _ := in.File.Division.PPQ()
		store, ev = smf.AppendLong(store, smf.Tick(bar-1)*4*ppq, 0xFF, smf.MetaMarker, []byte(text))
		events = append(events, ev)
	}
	slices.SortStableFunc(events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	in.File.Tracks[0] = smf.TrackFromStore(events, tr.End, store)
	return in
}

func fourMarked(t testing.TB) recipes.Input {
	return named(marked(t, gridLoop(t, markedSong), "1 Intro", "5 Verse", "9 The Break!", "13 Chorus"), "set.mid", "")
}

func opens(files ...recipes.Input) recipes.Options {
	return recipes.Options{Open: func(path string) (*smf.File, error) {
		for _, in := range files {
			if in.Name == path {
				return in.File, nil
			}
		}
		return nil, fmt.Errorf("%s: found no such file", path)
	}}
}

func TestMarkersCutAFileIntoLoops(t *testing.T) {
	const sections = "phrase: 1 bar\nsections: [{name: intro, bars: 2}, {name: groove, bars: 4, loop: verse}, {name: break, bars: 4, loop: the-break}, {name: drop, bars: 4, loop: chorus}]"
	const want = "kick 11 4444 .... 4444\nhat .. 1234 12.. 4444\nbass 22 3333 .... 4444\nlead .. .... 1234 5678"
	in := []recipes.Input{fourMarked(t)}
	got, err := recipes.Draft(in, mustParse(t, sections), recipes.Options{Marked: true})
	if err != nil {
		t.Fatal(err)
	}
	if now := onsetsByBar(got.Song); now != want {
		t.Errorf("got\n%s\nwant\n%s", now, want)
	}
	var names []string
	for _, l := range got.Loops {
		names = append(names, l.Name)
	}
	if text := strings.Join(names, " "); text != "intro verse the-break chorus" {
		t.Errorf("the loops are called %s", text)
	}
	if told := strings.Join(got.Told, "\n"); !strings.Contains(told, "loop verse is bars 5-8 of set.mid") {
		t.Errorf("told\n%s", told)
	}
	written := got.WriteRecipe()
	if line := `loops: {intro: {file: set.mid, marker: Intro}, verse: {file: set.mid, marker: Verse}, the-break: {file: set.mid, marker: "The Break!"}, chorus: {file: set.mid, marker: Chorus}}`; !strings.Contains(string(written), line) {
		t.Errorf("written:\n%s", written)
	}
	for _, again := range []struct {
		how string
		in  []recipes.Input
	}{{"opened", nil}, {"given, the one file takes the place of all that are called so", in}} {
		o := opens(in...)
		if again.in != nil {
			o = recipes.Options{}
		}
		second, err := recipes.Draft(again.in, mustParse(t, string(written)), o)
		if err != nil || !bytes.Equal(bytesOf(t, second.File), bytesOf(t, got.File)) {
			t.Errorf("%s, the written recipe gives other bytes: %v", again.how, err)
		}
	}
	// a recipe may name the markers, in any case of their letters
	text := "loops: {a: {file: set.mid, marker: verse}, b: {file: set.mid, marker: The Break!}, c: {file: set.mid, bars: 13-16}, d: {file: set.mid, marker: Intro}}\n" +
		strings.NewReplacer("loop: verse", "loop: a", "loop: the-break", "loop: b", "loop: chorus", "loop: c", "bars: 2}", "bars: 2, loop: d}").Replace(sections)
	if got, err = recipes.Draft(nil, mustParse(t, text), opens(in...)); err != nil {
		t.Fatal(err)
	}
	byName := func(text string) string {
		rows := strings.Split(text, "\n")
		slices.Sort(rows)
		return strings.Join(rows, "\n")
	}
	if now := byName(onsetsByBar(got.Song)); now != byName(want) {
		t.Errorf("got\n%s\nwant\n%s", now, byName(want))
	}
	// all of it by a built-in recipe
	club, _ := recipes.Builtin("club")
	checkLaws(t, in, club, recipes.Options{Marked: true})
}

func TestWhichMarkedStretchesAreLoops(t *testing.T) {
	for _, row := range []struct {
		rule    string
		markers []string
		want    string // the loops and their bars
		told    string
	}{
		{"in front of the first marker", []string{"5 Verse", "9 Break", "13 Chorus"}, "verse 4, break 4, chorus 4", "bars 1-4 in front of the first marker: no loop"},
		{"under two bars", []string{"1 Intro", "5 Verse", "8 Fill", "9 Break"}, "intro 4, verse 3, break 8", `bar 8 from the marker "Fill" on: too short for a loop`},
		{"of one name", []string{"1 Verse", "5 Verse", "9 verse"}, "verse 4, verse-2 4, verse-3 8", ""},
		{"with notes that are there already", []string{"1 Intro", "3 Again", "5 Verse"}, "intro 2, verse 12", "again is left out: it has the notes of intro"},
		{"of text that no name can have", []string{"1 Интро", "5 -2-", "9 ?"}, "a 4, 2 4, b 8", ""},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got, err := recipes.Hear([]recipes.Input{marked(t, gridLoop(t, markedSong), row.markers...)}, &recipes.Recipe{}, recipes.Options{Marked: true})
			if err != nil {
				t.Fatal(err)
			}
			var loops []string
			for _, l := range got.Loops {
				loops = append(loops, fmt.Sprint(l.Name, " ", l.Bars))
			}
			if now := strings.Join(loops, ", "); now != row.want || !strings.Contains(strings.Join(got.Told, "\n"), row.told) {
				t.Errorf("got %s, want %s; told\n%s", now, row.want, strings.Join(got.Told, "\n"))
			}
		})
	}
}

func TestMistakesOfMarkers(t *testing.T) {
	const sections = "\nphrase: 1 bar\nsections: [{name: drop, bars: 4}]"
	bare := named(gridLoop(t, markedSong), "bare.mid", "")
	for _, row := range []struct{ rule, loops, want string }{
		{"not there", "{a: {file: set.mid, marker: Chrous}}", `x.yaml:1:36: loops.a.marker: found "Chrous", want one of the markers of set.mid: "Intro", "Verse", "The Break!", "Chorus"; did you mean "Chorus"?`},
		{"not there, of two loops", "{a: set.mid, b: {file: set.mid, marker: x}}", `x.yaml:1:48: loops.b.marker: found "x", want one of the markers of set.mid: "Intro", "Verse", "The Break!", "Chorus"`},
		{"no markers", "{a: {file: bare.mid, marker: Chorus}}", `x.yaml:1:37: loops.a.marker: found "Chorus", want a file with markers on bar lines, bare.mid has none`},
		{"beside bars", "{a: {file: set.mid, marker: Chorus, bars: 1-2}}", `x.yaml:1:28: loops.a: found "marker" beside "bars", want one of them`},
		{"empty", `{a: {file: set.mid, marker: " "}}`, `x.yaml:1:36: loops.a.marker: found an empty text, want the text of a marker of the file, such as chorus`},
		{"misspelt", "{a: {file: set.mid, marcer: Chorus}}", `x.yaml:1:28: loops.a: unknown key "marcer", want one of file, bars, marker; did you mean "marker"?`},
		{"bars past the end", "{a: {file: set.mid, bars: 13-20}, b: {file: set.mid, bars: 1-4}}", `x.yaml:1:34: loops.a: found bars 13-20, want bars within the 16 of set.mid`},
		{"bars without notes", "{a: {file: gap.mid, bars: 3-4}, b: {file: set.mid, bars: 1-4}}", `x.yaml:1:34: loops.a: found no note in bars 3-4 of gap.mid, want a loop`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			gap := named(gridLoop(t, "kick x...............|x...............|................|................|x...............|x..............."), "gap.mid", "")
			r, err := recipes.Parse("x.yaml", []byte("loops: "+row.loops+sections))
			if err == nil {
				_, err = recipes.Draft(nil, r, opens(fourMarked(t), bare, gap))
			}
			if got := strings.Split(fmt.Sprint(err), "\n")[0]; got != row.want {
				t.Errorf("got  %s\nwant %s", got, row.want)
			}
		})
	}
	var each []string
	long := named(gridLoop(t, "kick "+strings.Repeat("x...............|", 401)+"x..............."), "long.mid", "")
	for bar := 1; bar <= 402; bar += 2 {
		each = append(each, fmt.Sprint(bar, " part"))
	}
	for _, row := range []struct {
		rule string
		in   []recipes.Input
		text string
		want string
	}{
		{"too many", []recipes.Input{marked(t, long, each...)}, "", "long.mid: found 201 loops between markers, want 200 at most"},
		{"none", []recipes.Input{bare}, "", "bare.mid: found no marker on a bar line, want markers that say where loops begin"},
		{"too short, all", []recipes.Input{named(marked(t, gridLoop(t, markedSong), "16 End"), "end.mid", "")}, "", "end.mid: found no marker with 2 bars or more to the next, want one"},
		{"two files", []recipes.Input{bare, fourMarked(t)}, "", "found loops by markers and 2 files, want one file"},
		{"a name", []recipes.Input{named(fourMarked(t), "set.mid", "a")}, "", "found loops by markers and a loop named a, want one of them"},
		{"a recipe that names loops", []recipes.Input{fourMarked(t)}, "loops: {a: bare.mid}", "found loops by markers and a recipe that names its loops, want one of them"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			_, err := recipes.Draft(row.in, mustParse(t, row.text+sections), recipes.Options{Marked: true})
			if got := fmt.Sprint(err); got != row.want {
				t.Errorf("got  %s\nwant %s", got, row.want)
			}
		})
	}
}
