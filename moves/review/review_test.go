package review_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/review"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// row is an arrangement and what one rule finds in it.
type row struct {
	name     string // the rule of the row, in words
	music    string // a line a part and key: its steps, repeated, and the bars in which it plays them; see arrangement
	sections string // such as "intro 1, drop 2", with their bars; "" for one, all of the song
	setup    func(song.Song) song.Song
	check    review.Check // nil: the rule as it is
	want     string       // findings, a line each: level, bars, parts, what was found and the limit
	answer   string       // the move that answers the first finding; "" for none
}

// arrangement makes a song of rows such as "kick x...x...x...x... 1-8,17-32". Steps are sixteenths as in a
// grid, of a bar or several; bars left out are all of the song.
func arrangement(t testing.TB, bars int, rows string) song.Song {
	t.Helper()
	var grid strings.Builder
	for _, line := range strings.Split(strings.TrimSpace(rows), "\n") {
		words := strings.Fields(line)
		if len(words) < 2 {
			t.Fatalf("row %q: want a label, steps and bars", line)
		}
		pattern := strings.Split(words[1], "|")
		grid.WriteString(words[0] + " ")
		for bar := range bars {
			steps := pattern[bar%len(pattern)]
			if len(words) > 2 && !inBars(t, words[2], bar+1) {
				steps = strings.Repeat(".", len(steps))
			}
			grid.WriteString("|" + steps)
		}
		grid.WriteString("\n")
	}
	s, err := song.ParseGrid(strings.ReplaceAll(grid.String(), " |", " "))
	if err != nil {
		t.Fatalf("%v\n%s", err, rows)
	}
	return s
}

func inBars(t testing.TB, text string, bar int) bool {
	t.Helper()
	for _, span := range strings.Split(text, ",") {
		var first, last int
		if n, _ := fmt.Sscanf(span, "%d-%d", &first, &last); n != 2 {
			if _, err := fmt.Sscanf(span, "%d", &first); err != nil {
				t.Fatalf("found bars %q", text)
			}
			last = first
		}
		if bar >= first && bar <= last {
			return true
		}
	}
	return false
}

func (r row) song(t testing.TB, bars int) song.Song {
	t.Helper()
	sections, err := moves.ParseSections(r.sections)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(sections); n > 0 {
		bars = sections[n-1].Bar + sections[n-1].Bars - 1
	}
	if len(sections) == 0 {
		sections = []song.Section{{Name: "all", Kind: song.KindGroove, Bar: 1, Bars: bars}}
	}
	s := arrangement(t, bars, r.music).WithSections(sections)
	if r.setup != nil {
		s = r.setup(s)
	}
	return s
}

// tell writes a finding on a line.
func tell(f review.Finding) string {
	bars := fmt.Sprint(f.First)
	if f.Last > f.First {
		bars = fmt.Sprintf("%d-%d", f.First, f.Last)
	}
	about := strings.Join(append(slices.Clone(f.Parts), f.About), ",")
	return strings.Join(strings.Fields(fmt.Sprintf("%s %s %s %v/%v %s", f.Level, bars, strings.Trim(about, ","), f.Found, f.Limit, f.Unit)), " ")
}

func ofRule(r review.Result, rule string) []review.Finding {
	return slices.DeleteFunc(slices.Clone(r.Findings), func(f review.Finding) bool { return f.Rule != rule })
}

// checkRows reviews each row by all rules and looks at what one finds. Answers are carried out: the finding is
// gone then, and there is none that was not there before.
func checkRows(t *testing.T, rule string, bars int, rows ...row) {
	t.Helper()
	for _, r := range rows {
		t.Run(r.name, func(t *testing.T) {
			in := review.Input{Song: r.song(t, bars)}
			var o review.Options
			for _, entry := range review.Catalogue() {
				c := entry.New()
				if r.check != nil && entry.Name == rule {
					c = r.check
				}
				o.Checks = append(o.Checks, c)
			}
			got, err := review.Review(in, o)
			if err != nil {
				t.Fatal(err)
			}
			var lines []string
			found := ofRule(got, rule)
			for _, f := range found {
				lines = append(lines, tell(f))
			}
			if want := strings.TrimSpace(r.want); strings.Join(lines, "\n") != want {
				t.Fatalf("got\n%s\nwant\n%s\n%s", strings.Join(lines, "\n"), want, allOf(got))
			}
			if len(found) == 0 {
				return
			}
			if answer := strings.Join(found[0].Answer.Texts(), "; "); answer != r.answer {
				t.Errorf("got the answer %q, want %q", answer, r.answer)
			}
			for _, f := range found {
				checkAnswer(t, in, o, got, f)
			}
		})
	}
}

func allOf(r review.Result) string {
	var out []string
	for _, f := range r.Findings {
		out = append(out, fmt.Sprintf("%s: %s: %s", f.Rule, tell(f), f.Text))
	}
	return strings.Join(out, "\n")
}

// checkAnswer carries the answer to a finding out as a recipe of nothing else would, and reviews again.
func checkAnswer(t *testing.T, in review.Input, o review.Options, before review.Result, f review.Finding) {
	t.Helper()
	if len(f.Answer) == 0 {
		return
	}
	sections := in.Song.Sections
	s := in.Song.WithSections(nil)
	came, err := moves.RunAll(&moves.Env{Strict: true, Seed: 9}, s, f.Answer...)
	if err != nil {
		t.Fatalf("%v: %v", f.Answer.Texts(), err)
	}
	in.Song = came.Song.WithSections(sections)
	after, err := review.Review(in, o)
	if err != nil {
		t.Fatal(err)
	}
	key := func(f review.Finding) string { return fmt.Sprint(f.Rule, f.First, f.Parts, f.About) }
	had := map[string]bool{}
	for _, b := range before.Findings {
		had[key(b)] = true
	}
	for _, a := range after.Findings {
		if key(a) == key(f) {
			t.Errorf("%v: still there: %s", f.Answer.Texts(), tell(a))
		}
		if !had[key(a)] && !overlaps(before.Findings, a) {
			t.Errorf("%v: new: %s: %s", f.Answer.Texts(), a.Rule, tell(a))
		}
	}
}

func overlaps(list []review.Finding, f review.Finding) bool {
	return slices.ContainsFunc(list, func(g review.Finding) bool {
		return g.Rule == f.Rule && g.First <= f.Last && f.First <= g.Last && slices.Equal(g.Parts, f.Parts)
	})
}

// A track that no rule minds, of 64 bars at 120 bpm; tests change something in it.
const (
	goodForm  = "intro 16, groove 8, break 8, build 8, drop 8, outro 16"
	goodMusic = `
		kick      x...x...x...x...|x...x...x...x...  1-15,17-23,41-64
		clap      ....x.......x...|....x.......x...  9-23,41-56
		clap:38   o...o...o...o...  33-36
		clap:40   o.o.o.o.o.x.x.x.  37-38
		clap:41   xxxxxxxxxxxx....  39-40
		hat       ..x...x...x...x.|..x...x...x...x.  17-24,41-48
		bass      ..x-..x-..x-..x-|..x-..x-..x-.x--  17-23,41-47
		stab      o--..o--..o-....|o--..o--....o--.  25-31,33-40
		stab:72   x--..x--..x-....|x--..x--....x--.  41-48`
)

func TestEveryRuleIsListedWhole(t *testing.T) {
	seen := map[string]bool{}
	last := 0
	for _, r := range review.Catalogue() {
		if seen[r.Name] || r.Name == "" {
			t.Errorf("the name %q stands twice, or there is none", r.Name)
		}
		seen[r.Name] = true
		group := slices.Index(review.Groups(), r.Group)
		if group < last {
			t.Errorf("%s: group %q does not stand in order", r.Name, r.Group)
		}
		last = group
		if r.Brief == "" || strings.HasSuffix(r.Brief, ".") || !strings.HasSuffix(r.Doc, ".") || r.Source == "" {
			t.Errorf("%s: want a brief without a full stop, a doc with one, and a source: %+v", r.Name, r)
		}
		for _, o := range r.Options() {
			if o.Doc == "" || o.Want == "" || o.Default == "" {
				t.Errorf("%s.%s: want a doc, what is valid and a default, got %+v", r.Name, o.Name, o)
			}
			c := r.New()
			if err := r.Set(c, o.Name, []string{o.Default}, false); err != nil {
				t.Errorf("%s: its own default is not valid: %v", r.Name, err)
			}
			if err := r.Set(c, o.Name, []string{"-1"}, false); err == nil {
				t.Errorf("%s.%s: -1 is valid", r.Name, o.Name)
			}
		}
		if got, ok := review.Lookup(r.Name); !ok || got.Brief != r.Brief {
			t.Errorf("%s is not found by its name", r.Name)
		}
	}
	if _, ok := review.Lookup("stands"); ok {
		t.Error("a rule is found by half its name")
	}
}

func TestOptionsAreSetByName(t *testing.T) {
	r, _ := review.Lookup("mix-in")
	c := r.New()
	for _, set := range [][2]string{{"bars", "32"}, {"least", "4"}, {"radio", "3m30s"}} {
		if err := r.Set(c, set[0], []string{set[1]}, false); err != nil {
			t.Fatal(err)
		}
	}
	want := review.MixIn{End: review.End{Bars: 32, Least: 4, Radio: where.Extent{Micros: 210_000_000}}}
	if got := *c.(*review.MixIn); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	err := r.Set(c, "bar", []string{"32"}, false)
	if err == nil || !strings.Contains(err.Error(), `did you mean "bars"?`) {
		t.Errorf("got %v, want a hint", err)
	}
	if *r.New().(*review.MixIn) == want {
		t.Error("the defaults have changed with it")
	}
}

func TestAGoodTrackIsDone(t *testing.T) {
	in := review.Input{Song: row{music: goodMusic, sections: goodForm}.song(t, 0)}
	got, err := review.Review(in, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Findings) > 0 || !got.Verdict.Done || len(got.Verdict.Fails) > 0 || len(got.Told) > 0 {
		t.Errorf("got\n%s\n%+v", allOf(got), got.Verdict)
	}
	if n := rulesOfAnySong(); len(got.Verdict.Holds) != n {
		t.Errorf("%d of %d rules hold", len(got.Verdict.Holds), n)
	}
	if want := "It is done: no finding is left. More work would make it different, not better: export it and release it."; got.Verdict.Text != want {
		t.Errorf("got %q, want %q", got.Verdict.Text, want)
	}
}

// rulesOfAnySong returns how many rules look at songs that no recipe asks for energies of.
func rulesOfAnySong() int {
	return len(slices.DeleteFunc(review.Catalogue(), func(r review.Rule) bool { return r.Energies }))
}

func TestVerdict(t *testing.T) {
	hung := func(s song.Song) song.Song {
		s.Parts[0].Notes = slices.Clone(s.Parts[0].Notes)
		s.Parts[0].Notes[3].Flags |= song.Open
		return s
	}
	hatOnce := strings.Replace(goodMusic, "17-24,41-48", "41-48", 1)
	for _, tt := range []struct {
		name  string
		row   row
		least review.Level
		done  bool
		text  string
		fails string
	}{
		{"notes do not stand in the way", row{music: hatOnce, sections: goodForm}, review.Warn, true, "It is done: no warning is left.", ""},
		{"a fault does", row{music: goodMusic, sections: goodForm, setup: hung}, review.Warn, false, "Something is broken: 1 finding is left. Answer the faults first.", "every note ends"},
		{"warnings do not where faults alone are asked for", row{music: strings.Replace(goodMusic, "o--..o--..o-....|o--..o--....o--.  25-31,", "o--..o--..o-....|o--..o--....o--.  5-31,", 1), sections: goodForm}, review.Fault, true, "It is done: no fault is left.", ""},
		{"notes do where they are asked for", row{music: hatOnce, sections: goodForm}, review.Note, false, "Not yet: 1 finding is left. Answer it, then stop.", "what is heard comes back"},
		{"a warning does too", row{music: strings.Replace(goodMusic, "o--..o--..o-....|o--..o--....o--.  25-31,", "o--..o--..o-....|o--..o--....o--.  5-31,", 1), sections: goodForm}, review.Warn, false, "Not yet: 1 warning is left. Answer it, then stop.", "the beginning can be mixed into"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := tt.row.song(t, 0)
			if strings.Contains(tt.name, "warning") {
				s = slow(s)
			}
			got, err := review.Review(review.Input{Song: s}, review.Options{Level: tt.least})
			if err != nil {
				t.Fatal(err)
			}
			v := got.Verdict
			if v.Done != tt.done || !strings.HasPrefix(v.Text, tt.text) || strings.Join(v.Fails, "; ") != tt.fails {
				t.Errorf("got %+v\n%s", v, allOf(got))
			}
			if n := len(v.Holds) + len(v.Fails); n != rulesOfAnySong() {
				t.Errorf("the verdict speaks of %d rules", n)
			}
		})
	}
}

// slow sets a tempo of 60 bpm.
func slow(s song.Song) song.Song { return at(s, 1_000_000) }

// at sets a tempo in microseconds a quarter note.
func at(s song.Song, micros int) song.Song {
	e := s.Edit()
	e.InsertMeta(0, 0, 0x51, []byte{byte(micros >> 16), byte(micros >> 8), byte(micros)})
	return e.Song()
}

func TestFindingsAreData(t *testing.T) {
	in := review.Input{Song: arrangement(t, 24, "kick x...x...x...x...")}
	got, err := review.Review(in, review.Options{Checks: []review.Check{&review.StandsStill{Phrase: 8, Warn: 16}}})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(got.Findings)
	if err != nil {
		t.Fatal(err)
	}
	want := `[{"rule":"stands-still","level":"warn","first":1,"last":24,"section":"groove","parts":[],"about":"","found":24,"limit":8,"unit":"bars",` +
		`"text":"Nothing changes for 24 bars: let a part in or out, or play one of them differently, at bars 9 and 17.",` +
		`"answer":["freshen: {every: 8 bars, over: bars 9-24, seed: 1}"]}]`
	if string(text) != want {
		t.Errorf("got  %s\nwant %s", text, want)
	}
}

func TestReviewRefuses(t *testing.T) {
	smpte := &smf.File{Format: 1, Division: 0xE250, Tracks: make([]smf.Track, 1)}
	for _, tt := range []struct {
		name, want string
		file       *smf.File
	}{
		{"a file without common bars", "found a file without common bars", smpte},
		{"a file that ends where it begins", "found a file that ends where it begins, want at least a bar", &smf.File{Format: 1, Division: 96, Tracks: make([]smf.Track, 1)}},
	} {
		s, err := song.From(tt.file)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := review.Review(review.Input{Song: s}, review.Options{}); err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("%s: got %v", tt.name, err)
		}
		if _, _, err := review.Answers(review.Input{Song: s}, review.Options{}); err == nil {
			t.Errorf("%s: is answered", tt.name)
		}
	}
}

func TestASongOfFarMoreBarsThanNotesIsLookedAtForBrokenThingsOnly(t *testing.T) {
	s := arrangement(t, 1, "kick x...x...x...x...")
	s.Parts[0].Notes[0].Flags |= song.Open
	s.End = smf.MaxTicks
	got, err := review.Review(review.Input{Song: s}, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Findings) != 1 || got.Findings[0].Rule != "hung" || len(got.Told) != 1 || !strings.HasSuffix(got.Told[0], "only broken things were looked for") {
		t.Errorf("got %s, %q", allOf(got), got.Told)
	}
}

func TestSections(t *testing.T) {
	marked := func(s song.Song) song.Song {
		e := s.WithSections(nil).Edit()
		for _, sec := range s.Sections {
			name := map[string]string{"drop": "DROP 1", "break": "The Break", "build": "Build Up"}[sec.Name]
			if name == "" {
				name = sec.Name
			}
			e.InsertMeta(0, s.SectionRange(sec).Start, 0x06, []byte(name))
		}
		return e.Song()
	}
	music := strings.Replace(goodMusic, "17-23,41-47", "17-47", 1)
	got, err := review.Review(review.Input{Song: row{music: music, sections: goodForm, setup: marked}.song(t, 0)}, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f := ofRule(got, "break"); len(f) != 2 || f[0].Section != "The Break" {
		t.Errorf("markers: got %s", allOf(got))
	}
	if !slices.Contains(got.Sections, review.Section{Name: "The Break", Kind: song.KindBreak, Bar: 25, Bars: 8, Sure: 100}) {
		t.Errorf("markers: got %+v", got.Sections)
	}
}

func TestAnswersLeaveNothingTheyCanAnswer(t *testing.T) {
	r := row{sections: "intro 16, break 16, drop 16, outro 16", music: `
		kick x...x...x...x...
		hat  ..x...x...x...x.
		bass ..x-..x-..x-..x-
		pad  x---------------`}
	in := review.Input{Song: slow(r.song(t, 0))}
	before, err := review.Review(in, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	answered, after, err := review.Answers(in, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var steps review.Steps
	for _, f := range answered {
		steps = append(steps, f.Answer...)
	}
	t.Logf("before\n%s\nsteps\n%s\nafter\n%s", allOf(before), strings.Join(steps.Texts(), "\n"), allOf(after))
	if len(steps) == 0 || len(after.Findings) >= len(before.Findings) {
		t.Fatalf("%d findings, after %d steps %d", len(before.Findings), len(steps), len(after.Findings))
	}
	came, err := moves.RunAll(&moves.Env{Strict: true}, in.Song.WithSections(nil), steps...)
	if err != nil {
		t.Fatal(err)
	}
	again, err := review.Review(review.Input{Song: came.Song.WithSections(in.Song.Sections)}, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if allOf(again) != allOf(after) {
		t.Errorf("carried out in a row they leave\n%s\nwant\n%s", allOf(again), allOf(after))
	}
}

// TestSectionsAreHeard takes the markers away.
func TestSectionsAreHeard(t *testing.T) {
	for _, tt := range []struct{ name, form, music, want string }{
		{"break, build and drop between ends of few layers", "x 80", `
			kick  x...x...x...x...  1-32,57-80
			hat   ..x...x...x...x.  9-32,57-72
			clap  ....x.......x...  17-32,57-72
			bass  ..x-..x-..x-..x-  17-31,57-72
			stab  x--..x--..x-....  57-72
			pad   x---------------  33-56
			snare:37 o...o...o...o...  49-52
			snare:38 x.x.x.x.x.x.x.x.  53-54
			snare:39 XXXXXXXXXXXXXXXX  55-56`, "intro 1-16 100, groove 17-32 100, break 33-56 100, drop 57-72 100, outro 73-80 100"},
		{"a build of its own", "x 80", `
			kick  x...x...x...x...  1-32,57-80
			hat   ..x...x...x...x.  9-32,57-72
			bass  ..x-..x-..x-..x-  17-31,57-72
			stab  x--..x--..x-....  57-72
			pad   x---------------  33-48
			lead  o..o..o..o..o...  49-52
			lead:74 x..x..x..x..x...  53-56
			snare:38 x.x.x.x.x.x.x.x.  53-54
			snare:39 XXXXXXXXXXXXXXXX  55-56`, "intro 1-16 100, groove 17-32 100, break 33-48 100, build 49-56 100, drop 57-72 100, outro 73-80 100"},
		{"a break that keeps its kick is none", "x 48", `
			kick  x...x...x...x...
			bass  x---x---x---x---
			stab  x--..x--..x-....  17-32`, "groove 1-16 100, groove 17-32 100, groove 33-48 100"},
		{"all the same is one stretch", "x 32", "kick x...x...x...x...", "groove 1-32 67"},
		{"silence before the first note is in none", "x 24", "kick x...x...x...x...  9-24", "groove 9-24 67"},
		{"nothing sounds", "x 8", "kick ................", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := row{music: tt.music, sections: tt.form}.song(t, 0).WithSections(nil)
			got, err := review.Review(review.Input{Song: s}, review.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var words []string
			for _, sec := range got.Sections {
				words = append(words, fmt.Sprintf("%s %d-%d %d", sec.Kind, sec.Bar, sec.Bar+sec.Bars-1, sec.Sure))
			}
			if text := strings.Join(words, ", "); text != tt.want || len(got.Told) != 1 {
				t.Errorf("got  %s, told %q\nwant %s", text, got.Told, tt.want)
			}
		})
	}
}

func TestWhatRestsOnAnUnsureSectionIsANote(t *testing.T) {
	music := `
		kick  X...X...X...X...  1-16,33-64
		hat   x.x.x.x.x.x.x.x.  9-64
		bass  o-o-o-o-o-o-o-o-  9-64
		lead  o...............  17-32`
	for _, marked := range []bool{true, false} {
		s := row{music: music, sections: "intro 16, break 16, groove 32"}.song(t, 0)
		if !marked {
			s = s.WithSections(nil)
		}
		got, err := review.Review(review.Input{Song: s}, review.Options{})
		if err != nil {
			t.Fatal(err)
		}
		found := ofRule(got, "break")
		if len(found) == 0 || found[0].First != 17 || (found[0].Level == review.Warn) != marked {
			t.Errorf("marked %v: got %+v\n%s", marked, got.Sections, allOf(got))
		}
	}
}
