package recipes_test

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func demoFile(t testing.TB, path string) recipes.Input {
	t.Helper()
	data, err := os.ReadFile("../testdata/loops/" + path)
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	return recipes.Input{Name: path[strings.LastIndex(path, "/")+1:], File: f}
}

// inOneTrack makes a file of format 0 of a file.
func inOneTrack(t testing.TB, in recipes.Input) recipes.Input {
	t.Helper()
	var events []smf.Event
	var store []byte
	end := smf.Tick(0)
	for i := range in.File.Tracks {
		tr := &in.File.Tracks[i]
		for _, ev := range tr.Events {
			if kind, meta := ev.MetaType(); meta {
				if kind == smf.MetaTrackName {
					continue
				}
				store, ev = smf.AppendLong(store, ev.Tick, 0xFF, kind, tr.Long(ev))
			}
			events = append(events, ev)
		}
		end = max(end, tr.End)
	}
	slices.SortStableFunc(events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	return recipes.Input{Name: in.Name, File: &smf.File{Format: 0, Division: in.File.Division, Tracks: []smf.Track{smf.TrackFromStore(events, end, store)}}}
}

// hitsIn lists the onsets of parts in a stretch: channel, key, place and velocity.
func hitsIn(s song.Song, r song.Range, parts func(p int) bool) string {
	var out []string
	for p, part := range s.Parts {
		if !parts(p) {
			continue
		}
		for _, n := range s.In(part, r) {
			out = append(out, fmt.Sprintf("%02d %03d %d %d", part.Channel+1, n.Key, (n.Start-r.Start)*480/s.Time().PPQ(), n.Vel))
		}
	}
	slices.Sort(out)
	return strings.Join(out, "\n")
}

// A section as long as its loop is that loop, note by note: what is brought onto one tape comes back.
func TestASectionAsLongAsItsLoopIsThatLoop(t *testing.T) {
	for _, row := range []struct {
		rule string
		in   []recipes.Input
	}{
		{"a groove and its break", []recipes.Input{demoFile(t, "harbour-lights.mid"), demoFile(t, "breaks/small-hours.mid")}},
		{"the other way round", []recipes.Input{demoFile(t, "breaks/small-hours.mid"), demoFile(t, "harbour-lights.mid")}},
		{"of one track each", []recipes.Input{inOneTrack(t, demoFile(t, "harbour-lights.mid")), inOneTrack(t, demoFile(t, "breaks/small-hours.mid"))}},
		{"of one track and of several", []recipes.Input{inOneTrack(t, demoFile(t, "harbour-lights.mid")), demoFile(t, "breaks/small-hours.mid")}},
	} {
		t.Run(row.rule, func(t *testing.T) {
			row.in[0].Loop, row.in[1].Loop = "a", "b"
			r := mustParse(t, "sections: [{name: one, bars: 8}, {name: two, bars: 8, loop: b}, {name: three, bars: 8}]")
			got, err := recipes.Draft(row.in, r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for i, sec := range got.Song.Sections {
				k := i % 2
				alone, err := song.From(row.in[k].File)
				if err != nil {
					t.Fatal(err)
				}
				want := hitsIn(alone, alone.BarRange(1, 8), func(int) bool { return true })
				now := hitsIn(got.Song, got.Song.SectionRange(sec), func(p int) bool { return slices.Contains(got.LoopsOf(p), k) })
				if now != want {
					t.Errorf("%s is not loop %d: %d hits, want %d", sec.Name, k+1, strings.Count(now, "\n"), strings.Count(want, "\n"))
				}
			}
			checkLaws(t, row.in, r, recipes.Options{})
			club, _ := recipes.Builtin("club")
			checkLaws(t, row.in, club, recipes.Options{})
		})
	}
}

// Three loops of 4, 8 and 16 bars, of which the hits of a bar tell which it is: the lead's in the first, the bass's in
// the second, the pad's, and a second bar of eight hits more, in the third.
func threeLoops(t testing.TB) []recipes.Input {
	row := func(bars int, steps func(bar int) string) string {
		var out []string
		for b := 1; b <= bars; b++ {
			out = append(out, (steps(b) + strings.Repeat(".", 16))[:16])
		}
		return strings.Join(out, "|")
	}
	hits := func(bar int) string { return strings.Repeat("x", bar) }
	four := func(int) string { return "x...x...x...x..." }
	low := func(int) string { return "x..x..x" }
	return []recipes.Input{
		named(gridLoop(t, "kick "+row(4, four)+"\nbass "+row(4, low)+"\nlead "+row(4, hits)), "four.mid", "four"),
		named(gridLoop(t, "kick "+row(8, four)+"\nbass "+row(8, hits)+"\nlead "+row(8, low)), "eight.mid", "eight"),
		named(gridLoop(t, "bass "+row(16, low)+"\nlead "+row(16, low)+"\npad "+row(16, func(b int) string { return hits((b-1)/2 + 1) })), "sixteen.mid", "sixteen"),
	}
}

func TestThreeLoopsOfThreeLengths(t *testing.T) {
	in := threeLoops(t)
	r := mustParse(t, "phrase: 4 bars\nsections: [{name: intro, bars: 8}, {name: groove, bars: 12, loop: eight}, {name: break, bars: 20, loop: sixteen}, {name: build, bars: 4, loop: sixteen over four}, {name: drop, bars: 8, play: [all, pad of sixteen]}]")
	got, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := "kick 44444444 444444444444 .................... 4444 44444444\n" +
		"bass 33333333 567812345678 33333333333333333333 3333 33333333\n" +
		"lead 12341234 333333333333 33333333333333333333 3333 12341234\n" +
		"pad ........ ............ 77881122334455667788 7788 55667788"
	if now := onsetsByBar(got.Song); now != want {
		t.Errorf("got\n%s\nwant\n%s", now, want)
	}
	checkLaws(t, in, r, recipes.Options{})
	for _, name := range []string{"club", "short"} {
		builtin, _ := recipes.Builtin(name)
		got, err := recipes.Draft(in, builtin, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if pad := got.Song.Index("pad"); len(got.Loops) != 3 || pad < 0 || len(got.Song.Parts[pad].Notes) == 0 {
			t.Errorf("%s: of %d loops the pad of the third is heard nowhere", name, len(got.Loops))
		}
		checkLaws(t, in, builtin, recipes.Options{})
	}
}

// A break of two pitched parts has neither a beat nor a bass: breaks and builds play it, the groove's drums and bass where
// the recipe asks for them.
func TestALoopWithoutBeatAndBassIsTheBreak(t *testing.T) {
	in := []recipes.Input{named(gridLoop(t, grooveLoop), "groove.mid", "a"),
		named(gridLoop(t, "pad x---------------|x---------------\nlead xxxxxxx.........|xxxxxxxx........"), "break.mid", "b")}
	for _, info := range recipes.Builtins() {
		r, _ := recipes.Builtin(info.Name)
		got, err := recipes.Draft(in, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		told := strings.Join(got.Told, "\n")
		breaks, heard := 0, 0
		for _, sec := range got.Song.Sections {
			if sec.Kind == song.KindBreak {
				breaks++
				if len(got.Song.In(got.Song.Parts[got.Song.Index("pad")], got.Song.SectionRange(sec))) > 0 {
					heard++
				}
			}
		}
		want := "b plays in breaks and builds: it has no beat"
		if breaks == 0 {
			want = "b is not used: it has no beat, and no break or build is left for it"
		}
		if !slices.Contains(got.Told, want) {
			t.Errorf("%s: told\n%s\nwant %s", info.Name, told, want)
		}
		if heard < breaks {
			t.Errorf("%s: the pad is heard in %d of %d breaks", info.Name, heard, breaks)
		}
		checkLaws(t, in, r, recipes.Options{})
	}
}

// Patterns that were exported one by one make one loop, whatever they are called.
func TestPatternsExportedOneByOneAreJoined(t *testing.T) {
	var in []recipes.Input
	for _, p := range []string{"kick x...x...x...x...", "bass1 x..x..x.........", "bass2 ......x...x..x..", "perc1 ..x...x...x...x.", "perc2 x.x.x.x.x.x.x.x."} {
		name, _, _ := strings.Cut(p, " ")
		in = append(in, named(gridLoop(t, p), name+".mid", ""))
	}
	r := mustParse(t, "phrase: 1 bar\nsections: [{name: drop, bars: 2}]")
	got, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	joined, err := recipes.Draft(in, r, recipes.Options{Join: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Loops) > 0 || !bytes.Equal(bytesOf(t, got.File), bytesOf(t, joined.File)) || strings.Count(onsetsByBar(got.Song), "\n") != 4 {
		t.Errorf("%d loops:\n%s", len(got.Loops), onsetsByBar(got.Song))
	}
}

// What a part does in each pass of the loop that its section plays prepares nothing: here the kick rests in the last beat
// of the break loop, whose three bars are no pass of the groove. So a lead-in has something to do, and so says the review.
func TestASectionIsPreparedByItsOwnLoop(t *testing.T) {
	in := []recipes.Input{named(gridLoop(t, grooveLoop), "groove.mid", "a"),
		named(gridLoop(t, "kick x...x...x...x...|x.x.x...x...x...|x...x.x.x...x...\nbass x.......x.......|x...x...x.......|x.......x...x..."), "break.mid", "b")}
	for _, row := range []struct {
		rule, mute string
		leads      bool
	}{
		{"in every pass of its loop", "last 1 beat of every 3 bars of build", true},
		{"in the last pass alone", "last 1 beat of build", false},
	} {
		t.Run(row.rule, func(t *testing.T) {
			text := "phrase: 2 bars\nsections: [{name: groove, bars: 8}, {name: build, bars: 6, loop: b, play: [kick]}, {name: drop, bars: 8}]\nmoves:\n- mute: {part: kick, over: " + row.mute + "}\n"
			bare, err := recipes.Draft(in, mustParse(t, text), recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			found, err := review.Review(bare.ToReview(), review.Options{Bare: true})
			if err != nil {
				t.Fatal(err)
			}
			warned := slices.ContainsFunc(found.Findings, func(f review.Finding) bool { return f.Rule == "unprepared" && f.First == 15 })
			if warned != row.leads {
				t.Errorf("the review finds the drop unprepared: %v, want %v", warned, row.leads)
			}
			r := mustParse(t, text+"- lead-in: {at: drop}")
			got, err := recipes.Draft(in, r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			leads := slices.ContainsFunc(got.Changes, func(c song.Change) bool { return c.Within == "lead-in" })
			if leads != row.leads {
				t.Errorf("lead-in does something: %v, want %v", leads, row.leads)
			}
		})
	}
}

// What freshen lets in plays the loop of its section: the break's lead has five and six hits a bar, the groove's one to
// four, and the hat is in the groove alone.
func TestASectionIsFreshenedByItsOwnLoop(t *testing.T) {
	in := grooveAndBreak(t)
	r := mustParse(t, "phrase: 2 bars\nsections: [{name: groove, bars: 8}, {name: break, bars: 16, loop: b, play: [kick, bass]}]\nmoves:\n- freshen: {with: guest, over: break, seed: 3}")
	got, err := recipes.Draft(in, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	full, guests := got.ToReview().Full, 0
	over := got.Song.SectionRange(got.Song.Sections[1])
	for _, p := range got.Song.Parts {
		own := full.In(full.Parts[full.Index(p.Name)], over)
		for _, n := range got.Song.In(p, over) {
			if !slices.ContainsFunc(own, func(m song.Note) bool { return m.Start == n.Start && m.Key == n.Key }) {
				t.Errorf("%s plays key %d at tick %d of the break, as its loop does not", p.Name, n.Key, n.Start-over.Start)
			}
		}
		if p.Name != "kick" && p.Name != "bass" {
			guests += len(got.Song.In(p, over))
		}
	}
	if guests == 0 {
		t.Error("no guest is let in")
	}
	checkLaws(t, in, r, recipes.Options{})
}

// barsOfLoops says in which bars each loop is heard, by a trace.
func barsOfLoops(s song.Song, changes []song.Change) string {
	var out []string
	for _, c := range changes {
		if !strings.HasPrefix(c.Move, "loop ") {
			continue
		}
		text := strings.TrimPrefix(c.Move, "loop ")
		for _, r := range c.Ranges {
			text += fmt.Sprintf(" %d-%d", s.Time().BarOf(r.Start), s.Time().BarOf(r.End-1))
		}
		out = append(out, text+" "+strings.Join(c.Parts, ","))
	}
	return strings.Join(out, "\n")
}

func TestTheTraceSaysWhichLoopIsHeardWhere(t *testing.T) {
	r := mustParse(t, "phrase: 1 bar\nsections: [{name: intro, bars: 4, play: [kick]}, {name: break, bars: 4, loop: b over a, play: [kick, hat to 2]}, {name: groove, bars: 4, loop: b, play: [kick]}, {name: drop, bars: 4, play: [kick, lead of b from 3]}]")
	got, err := recipes.Draft(grooveAndBreak(t), r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	const want = "a 1-4 13-16 kick\na 5-6 hat\nb 5-12 kick\nb 15-16 lead"
	if now := barsOfLoops(got.Song, got.Changes); now != want {
		t.Errorf("got\n%s\nwant\n%s", now, want)
	}
	// the written recipe says the same of the file
	written := mustParse(t, string(got.WriteRecipe()))
	if now := barsOfLoops(got.Song, recipes.MovesIn(written, got.Song)); now != want {
		t.Errorf("of the written recipe: got\n%s\nwant\n%s", now, want)
	}
	// one by hand does not say who plays on from the loop under another: there both are told; nor, without "loops", which
	// loop is the first
	if now, want := barsOfLoops(got.Song, recipes.MovesIn(r, got.Song)), "b 5-12 kick\nb 5-6 hat\nb 15-16 lead\na 5-8 kick\na 5-6 hat"; now != want {
		t.Errorf("of the recipe by hand: got\n%s\nwant\n%s", now, want)
	}
	r.Loops = written.Loops
	if now, want := barsOfLoops(got.Song, recipes.MovesIn(r, got.Song)), "a 1-8 13-16 kick\na 5-6 hat\nb 5-12 kick\nb 5-6 hat\nb 15-16 lead"; now != want {
		t.Errorf("of the recipe by hand: got\n%s\nwant\n%s", now, want)
	}
	if now := barsOfLoops(got.Song, recipes.MovesIn(mustParse(t, "sections: [{name: drop, bars: 16}]"), got.Song)); now != "" {
		t.Errorf("of one loop: got\n%s", now)
	}
	if texts := strings.Join(got.LoopTexts(), ", "); texts != "a is groove.mid, b is break.mid" {
		t.Errorf("the loops are told as %s", texts)
	}
}

// "lead of b" under add: who is found for an energy may play another loop than the section does.
func TestWhoIsFoundMayPlayAnotherLoop(t *testing.T) {
	for _, row := range []struct{ rule, sections, want string }{
		{"of the other loop", "{name: drop, bars: 4, play: [kick], energy: 95%..150%, add: [lead of b, bass]}", "kick 4444\nhat ....\nbass 3333\nlead 5656\npad ...."},
		{"without a word of the section's", "{name: drop, bars: 4, play: [kick], energy: 95%..150%, add: [lead, bass]}", "kick 4444\nhat ....\nbass 3333\nlead 1234\npad ...."},
		{"what the line-up has stays as it is", "{name: drop, bars: 4, play: [kick, lead to 2], energy: 95%..150%, add: [lead of b, bass]}", "kick 4444\nhat ....\nbass 3333\nlead 12..\npad ...."},
		{"like another section", "{name: drop, bars: 4, play: [kick], energy: 95%..150%, add: [lead of b, bass]}, {name: drop, like: drop 1}", "kick 4444 4444\nhat .... ....\nbass 3333 3333\nlead 5656 5656\npad .... ...."},
		{"if any", "{name: drop, bars: 4, play: [kick], energy: 95%..150%, add: [pad of b if any, crash of b if any, bass]}", "kick 4444\nhat ....\nbass 3333\nlead ....\npad 1111"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			r := mustParse(t, "phrase: 1 bar\nsections: ["+row.sections+", {name: break, bars: 2, loop: b}]")
			got, err := recipes.Draft(grooveAndBreak(t), r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			now := onsetsByBar(got.Song)
			for i, line := range strings.Split(row.want, "\n") {
				if found := strings.Split(now, "\n")[i]; !strings.HasPrefix(found, line+" ") {
					t.Errorf("got  %s\nwant %s", found, line)
				}
			}
			checkLaws(t, grooveAndBreak(t), r, recipes.Options{})
		})
	}
	for _, row := range []struct{ rule, add, want string }{
		{"a loop that is not there", "[lead of bb]", `x.yaml:1:59: sections[1].add: found "of bb", want one of the loops a, b; did you mean "b"?`},
		{"all", "[all of b]", `x.yaml:1:63: sections[1].add: found "of", want "but", "or", "if" or the end; did you mean "all"?`},
		{"bars behind the loop", "[hook, lead of b from 9]", `x.yaml:1:75: sections[1].add: found "from", want a number, "or", "if" or the end; did you mean "lead of b"?`},
		{"no loop", "[lead of]", `x.yaml:1:64: sections[1].add: found "of", want a number, "or", "if" or the end`},
	} {
		r, err := recipes.Parse("x.yaml", []byte("sections: [{name: drop, bars: 8, energy: 95%..150%, add: "+row.add+"}]"))
		if err == nil {
			_, err = recipes.Draft(grooveAndBreak(t), r, recipes.Options{})
		}
		if got := strings.Split(fmt.Sprint(err), "\n")[0]; got != row.want {
			t.Errorf("%s:\ngot  %s\nwant %s", row.rule, got, row.want)
		}
	}
	_, err := recipes.Draft(grooveAndBreak(t)[:1], mustParse(t, "sections: [{name: drop, bars: 8, energy: 95%..150%, add: [lead of b]}]"), recipes.Options{})
	if got, want := strings.Split(fmt.Sprint(err), "\n")[0], `x.yaml:1:59: sections[1].add: found "of b", want no "of": there is one loop only`; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// A recipe for any loop cannot know what a second one has: if none of those who may play in a section is in its loop alone,
// those that are may play too, and one of them does. A section that says its loop keeps to who it says.
func TestWhatOnlyTheSecondLoopHasIsHeard(t *testing.T) {
	quiet := `bass x.......x.......|x.......x.......
pad x---------------|x---------------
lead xxxxx...........|xxxxxx..........`
	for _, row := range []struct{ rule, section, want string }{
		{"the pad, which nobody named", "energy: 5%..10%, add: [lead, bass]", "pad .... 1111"},
		{"the pad, which is one of the bed", "energy: 5%..10%, add: [lead, bass, bed]", "pad .... 1111"},
		{"it is in the line-up", "play: [pad from 3], energy: 60%..70%, add: [lead, bass]", "pad .... ..11"},
		{"a section that says its loop", "loop: b, energy: 60%..70%, add: [lead, bass]", "pad .... ...."},
	} {
		in := []recipes.Input{named(gridLoop(t, grooveLoop), "groove.mid", "a"), named(gridLoop(t, quiet), "quiet.mid", "b")}
		r := mustParse(t, "phrase: 1 bar\nsubstitutes: {}\nsections: [{name: groove, bars: 4}, {name: break, bars: 4, "+row.section+"}]")
		got, err := recipes.Draft(in, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if now := onsetsByBar(got.Song); !strings.Contains(now, row.want) {
			t.Errorf("%s: got\n%s\nwant %s", row.rule, now, row.want)
		}
	}
}
