package review_test

import (
	"strings"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

func TestStandsStill(t *testing.T) {
	checkRows(t, "stands-still", 32,
		row{name: "a part comes in at each line", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  9-32
			clap ....x.......x...  17-32
			bass ..x-..x-..x-..x-  25-32`},
		row{name: "two phrases without a change are a note", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  17-32
			bass ..x-..x-..x-..x-  25-32`,
			want:   "note 1-16 16/8 bars",
			answer: "freshen: {every: 8 bars, over: bars 9-16, seed: 1}"},
		row{name: "three are a warning", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  25-32`,
			want:   "warn 1-24 24/8 bars",
			answer: "freshen: {every: 8 bars, over: bars 9-24, seed: 1}"},
		row{name: "fills, gaps and single hits change nothing", music: `
			kick  x...x...x...x...  1-15,17-32
			crash x...............  17
			tom   ........x.x.xxxx  8,16,24`,
			want:   "warn 1-32 32/8 bars",
			answer: "freshen: {every: 8 bars, over: bars 9-32, seed: 1}"},
		row{name: "other places are a change", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  1-8,17-24
			ride x.......x.......  9-16,25-32`},
		row{name: "chords in every other bar are a part that came in", music: `
			kick x...x...x...x...
			pad  x----------.....  9,11,14,16
			hat  ..x...x...x...x.  17-24
			bass ..x-..x-..x-..x-  25-32`},
		row{name: "a loop of the bars' own length is no change", music: `
			kick x...x...x...x...|x...x...x...x.x.|x...x...x...x...|x...x..x..x.x...`,
			want:   "warn 1-32 32/8 bars",
			answer: "freshen: {every: 8 bars, over: bars 9-32, seed: 1}"},
		row{name: "the phrase is an option", check: &review.StandsStill{Phrase: 16, Warn: 32}, music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  17-32`},
		row{name: "lines are counted in each section", sections: "intro 4, groove 16, outro 4", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  5-20
			bass ..x-..x-..x-..x-  13-20`},
		row{name: "where lines are not those of bar 1 too", sections: "intro 4, groove 24", music: `
			kick x...x...x...x...
			hat  x.x.x.x.x.x.x.x.  5-28`,
			want:   "warn 5-28 24/8 bars",
			answer: "thin: {part: kick, over: bars 13-20, seed: 1, keep: 50%}"},
		row{name: "music that was not heard before is a change", sections: "groove 32", music: `
			pad:60 x---------------
			lead:72 x.x.x...........|x.x...x.........|x.x.x...........|x.x...x.........|x.x.x...........|x.x...x.........|x.x.x...........|x.x...x.........  1-8
			lead:75 ..x.x.x.........|x...x.x.........|..x.x.x.........|x...x.x.........|..x.x.x.........|x...x.x.........|..x.x.x.........|x...x.x.........  9-16
			lead:79 x..x..x.........|x..x....x.......|x..x..x.........|x..x....x.......|x..x..x.........|x..x....x.......|x..x..x.........|x..x....x.......  17-32`,
			want:   "note 17-32 16/8 bars",
			answer: "freshen: {every: 8 bars, over: bars 25-32, seed: 1}"},
		row{name: "a song of less than two phrases has no line to change at", sections: "groove 8", music: `
			kick x...x...x...x...`},
	)
}

func TestADraftIsHeldAgainstItsLoop(t *testing.T) {
	loop := "bass x---x---x---x---|x---x---x---x---|x---x---x---x---|x---x---x---x---|" + strings.Repeat("..x-..x-..x-..x-|", 4)
	full := arrangement(t, 32, strings.TrimSuffix(loop, "|")) // 8 bars; every other phrase of 4 is another stretch of it
	for _, tt := range []struct {
		name string
		in   review.Input
		want int
	}{
		{"known, the loop going on is no change", review.Input{Song: full, Full: full, Lined: full, LoopBars: 8}, 1},
		{"unknown, it is one", review.Input{Song: full}, 0},
	} {
		got, err := review.Review(tt.in, review.Options{Checks: []review.Check{&review.StandsStill{Phrase: 4, Warn: 16}}})
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Findings) != tt.want {
			t.Errorf("%s: got %s", tt.name, allOf(got))
		}
	}
}

func TestUnprepared(t *testing.T) {
	const four = `
		kick  x...x...x...x...  9-24
		hat   ..x...x...x...x.
		bass  ..x-..x-..x-..x-  9-24
		snare ....x.......x...  9-24`
	checkRows(t, "unprepared", 0,
		row{name: "three parts come in out of nowhere", sections: "intro 8, groove 16", music: four,
			want:   "warn 9 3/2 parts",
			answer: "fill: {over: 1/2 before bar 9, seed: 1}"},
		row{name: "one part more is a small change", sections: "intro 8, groove 16", music: `
			kick x...x...x...x...
			hat  ..x...x...x...x.  9-24`,
			want:   "note 9 1/2 parts",
			answer: "mute: {part: beat, over: 1/2 before bar 9}"},
		row{name: "one that moves the level by 3 dB is not", sections: "intro 8, groove 16", music: `
			hat  ..x...x...x...x.
			kick x...x...x...x...  9-24`,
			want:   "warn 9 15.1/3 dB",
			answer: "fill: {over: 1/2 before bar 9, seed: 1}"},
		row{name: "a fill up to the line prepares it", sections: "intro 8, groove 16", music: four + `
			tom  ........x.x.xxxx  8`},
		row{name: "so does a gap", sections: "intro 8, groove 16", music: strings.Replace(four, "..x...x...x...x.", "..x...x...x...x.  1-7,9-24", 1)},
		row{name: "and a part that plays twice as often up to the line", sections: "intro 8, groove 16", music: four + `
			rim:37 x...x...x...x...  1-7
			rim:38 x.x.x.x.x.x.x.x.  8`},
		row{name: "nor does what began long before it", sections: "intro 8, groove 16", music: four + `
			rim  ....x.......x...  2-8`,
			want:   "warn 9 4/2 parts",
			answer: "fill: {over: 1/2 before bar 9, seed: 1}"},
		row{name: "nor another pattern that the section began with", sections: "groove 8, break 4, groove 12", music: `
			hat:42 ..x...x...x...x.  1-8
			hat:44 x.x.x.x.x.x.x.x.  9-12,17-24
			clap   ....x.......x...  7-8
			kick   x...x...x...x...  13-24
			bass   ..x-..x-..x-..x-  13-24`,
			want:   "warn 13 3/2 parts",
			answer: "fill: {over: 1/2 before bar 13, seed: 1}"},
		row{name: "a part that leaves a bar early does", sections: "groove 16, break 8", music: `
			kick x...x...x...x...  1-15
			pad  x---------------`},
		row{name: "a drop is prepared over eight bars, all of a build; into a build something swells", sections: "break 8, build 8, drop 8", music: `
			stab    x--..x--..x-....
			snare   x...x...x...x...  9-14
			snare:40 x.x.x.x.x.x.x.x.  15-16
			kick    x...x...x...x...  17-24
			bass    ..x-..x-..x-..x-  17-24`,
			want:   "note 9 1/2 parts",
			answer: "swell: {part: tops 1 or hook or backbeat or beat or bass if any, over: 1 bar before bar 9}"},
		row{name: "into a drop a drum rolls, and all rests", sections: "groove 16, drop 8", music: `
			clap ....x.......x...
			kick x...x...x...x...  17-24
			bass ..x-..x-..x-..x-  17-24`,
			want:   "warn 17 2/2 parts",
			answer: "roll: {part: snare or clap or tom or tops 1 or beat if any, over: 8 bars before bar 17, to: 1/32, gap: auto}"},
		row{name: "into a break the kick is out", sections: "groove 16, break 8", music: `
			kick x...x...x...x...  1-16
			clap ....x.......x...  1-16
			pad  x---------------`,
			want:   "warn 17 2/2 parts",
			answer: "mute: {part: beat, over: 1 bar before bar 17}"},
		row{name: "a line at which nothing changes needs no preparation", sections: "groove 8, groove 8", music: `
			kick x...x...x...x...`},
	)
}

func TestWrongWay(t *testing.T) {
	groove := func(roll string) string { return goodMusic + "\nsnare:37 x.......x.......  41-49" + roll }
	checkRows(t, "wrong-way", 0,
		row{name: "a snare runs up to a break", sections: goodForm, music: groove(`
			snare:38 x.x.x.x.x.x.x.x.  23
			snare:40 xxxxxxxxxxxxxxxx  24`),
			want:   "warn 23-24 snare 8/4 beats",
			answer: "mute: {part: snare, over: 3 beats before bar 25}"},
		row{name: "one that plays a pattern goes back to it", sections: goodForm, music: groove(`
			snare:39 ....x.......x...  17-22
			snare:38 x.x.x.x.x.x.x.x.  23
			snare:40 xxxxxxxxxxxxxxxx  24`),
			want:   "warn 23-24 snare 8/4 beats",
			answer: "copy: {part: snare, over: bar 22, to: bar 23, length: 2 bars}"},
		row{name: "with a gap of a beat it is still one", sections: goodForm, music: groove(`
			snare:38 x.x.x.x.x.x.x.x.  23
			snare:40 xxxxxxxxxxxx....  24`),
			want:   "warn 23-24 snare 7/4 beats",
			answer: "mute: {part: snare, over: 3 beats before bar 25}"},
		row{name: "getting louder is a roll too", sections: goodForm, music: groove(`
			snare:38 o.o.o.o.o.o.o.o.  23
			snare:40 X.X.X.X.X.X.X.X.  24`),
			want:   "warn 23-24 snare 8/4 beats",
			answer: "mute: {part: snare, over: 3 beats before bar 25}"},
		row{name: "getting neither is none", sections: goodForm, music: groove(`
			snare:38 x.x.x.x.x.x.x.x.  23-24`)},
		row{name: "into a drop it is right", sections: goodForm, music: groove(`
			snare:38 x.x.x.x.x.x.x.x.  39
			snare:40 xxxxxxxxxxxxxxxx  40`)},
		row{name: "a short fill is none", sections: goodForm, music: groove(`
			snare:40 ........xxxxxxxx  24`)},
		row{name: "nor is a hat that always plays so", sections: goodForm, music: groove(`
			ride     oooooooooooooooo|xxxxxxxxxxxxxxxx  17-24,41-48`)},
	)
}

// A roll has twice as many strokes as the part usually has there, counted together from the line back.
func TestARollIsMoreThanUsual(t *testing.T) {
	const form, music = "groove 32, break 8, drop 16", `
		kick x...x...x...x...  1-32,41-56
		bass ..x-..x-..x-..x-  1-32,41-56
		pad  x---------------  33-56`
	const quarters = "x...x...x...x...|x...x...x...x...|x...x...x...x...|"
	checkRows(t, "wrong-way", 0,
		row{name: "a hat that gets as dense in every phrase", sections: form, music: music + `
			hat x...x...x...x...|x...x...x...x...|x.x.x.x.x.x.x.x.|xxxxxxxxxxxxxxxx  1-32,41-56`},
		row{name: "a hat whose eighths are only doubled for two beats", sections: form, music: music + `
			hat:42 ` + quarters + `x.x.x.x.x.x.x.x.  1-31,41-56
			hat:44 x.x.x.x.xxxxxxxx  32`},
		row{name: "a snare whose usual pick-up is one beat of the roll", sections: form, music: music + `
			snare:38 ....x.......x.x.  1-30,41-56
			snare:40 x.x.x.x.x.x.x.x.|xxxxxxxxxxxxxxxx  31-32`,
			want:   "warn 30-32 snare 9/4 beats",
			answer: "copy: {part: snare, over: bar 29, to: bar 30, length: 3 bars}; mute: {part: beat, over: 1 bar before bar 33}"},
	)
}

func TestWhatAPartUsuallyPlaysIsNoPreparation(t *testing.T) {
	// The loop's own turnaround stands before every line.
	s := arrangement(t, 32, `
		kick x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x.x.x.xx
		bass ..x-..x-..x-..x-  17-32
		hat  ..x...x...x...x.  17-32`).WithSections([]song.Section{{Name: "intro", Kind: song.KindIntro, Bar: 1, Bars: 16}, {Name: "groove", Kind: song.KindGroove, Bar: 17, Bars: 16}})
	got, err := review.Review(review.Input{Song: s}, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if f := ofRule(got, "unprepared"); len(f) != 1 || f[0].First != 17 {
		t.Errorf("got %s", allOf(got))
	}
}

// A song opens with a bar of 1/8 at 60 bpm in which nothing plays: no finding is about it, and lines are counted from
// the bar after it.
func TestSetUpIsNoBarOfTheMusic(t *testing.T) {
	const bars = 33
	s := song.Blank(96, []smf.TempoAt{{Micros: 1_000_000}, {Tick: 48, Micros: 468_750}},
		[]smf.MetreAt{{Metre: smf.Metre{Num: 1, Den: 8}}, {Tick: 48, Metre: smf.Metre{Num: 4, Den: 4}}}, 48+384*(bars-1))
	e := s.Edit()
	e.Insert(0, smf.Channel(0, 0xB0, 7, 100))
	kick := e.NewPart(song.Part{Name: "kick", Role: song.RoleKick, Job: song.JobBeat, Kit: true})
	bass := e.NewPart(song.Part{Name: "bass", Role: song.RoleBass, Job: song.JobBass})
	for bar := 2; bar <= bars; bar++ {
		for beat := range song.Tick(4) {
			at := s.Time().BarStart(bar) + 96*beat
			e.Place(kick, song.Note{Start: at, End: at + 24, Key: 36, Vel: 110})
			if bar >= 10 {
				e.Place(bass, song.Note{Start: at + 48, End: at + 90, Key: 36, Vel: 100})
			}
		}
	}
	got, err := review.Review(review.Input{Song: e.Song()}, review.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range got.Findings {
		if f.First == 1 && f.Last < bars {
			t.Errorf("found %q in bars %d-%d", f.Text, f.First, f.Last)
		}
	}
	if len(got.Sections) == 0 || got.Sections[0].Bar != 2 {
		t.Errorf("got sections %v, want the first from bar 2", got.Sections)
	}
}

// A file tells less than a draft: what its drums do in many phrases leads in all the same, and what is marked as a chorus
// or heard as a drop need not be one.
func TestWhatAFileTells(t *testing.T) {
	const plain, fill = "....x.......x...|", "....x...x.xxx.xx|"
	phrases := func(fills int) string { // eight of them, of which so many end in one and the same fill
		return strings.Repeat(strings.Repeat(plain, 7)+fill, fills) + strings.Repeat(plain, 8*(8-fills)-1) + strings.TrimSuffix(plain, "|")
	}
	music := func(fills int) string {
		return `
		kick  x...x...x...x...
		snare ` + phrases(fills) + `
		bass  ..x-..x-..x-..x-  9-64
		stab  x-......x-......  9-64`
	}
	for _, tt := range []struct{ name, music, sections, rule, want string }{
		{"a turn that five phrases of eight have", music(5), "intro 8, groove 56", "unprepared", ""},
		{"one that seven have is the loop's own", music(7), "intro 8, groove 56", "unprepared", "warn 9 2/2 parts"},
		{"without it", music(0), "intro 8, groove 56", "unprepared", "warn 9 2/2 parts"},
	} {
		s := row{music: tt.music, sections: tt.sections}.song(t, 0)
		got, err := review.Review(review.Input{Song: s}, review.Options{Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		var lines []string
		for _, f := range ofRule(got, tt.rule) {
			lines = append(lines, tell(f))
		}
		if text := strings.Join(lines, "\n"); text != tt.want {
			t.Errorf("%s: got %q, want %q\n%s", tt.name, text, tt.want, allOf(got))
		}
	}
}

// An ending of less than a phrase is not led into, and two parts of many that come in softly are no big change: notes.
func TestSmallChangesAreNotes(t *testing.T) {
	const many = `
		kick  x...x...x...x...
		clap  ....x.......x...
		hat   ..x...x...x...x.
		bass  ..x-..x-..x-..x-
		pad   x---------------
		stab  x-......x-......`
	for _, tt := range []struct{ name, music, sections, want string }{
		{"an ending", "kick x...x...x...x... 1-16\nhat ..x...x...x...x. 1-16\nbass ..x-..x-..x-..x- 1-16\npad x---------------", "groove 16, outro 4", "note 17 3/2 parts"},
		{"two of eight, softly", many + "\n ride x...x...x...x... 17-32\n shaker x.x.x.x.x.x.x.x.  17-32", "intro 16, groove 16", "note 17 2/2 parts"},
	} {
		got, err := review.Review(review.Input{Song: row{music: tt.music, sections: tt.sections}.song(t, 0)}, review.Options{Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		var lines []string
		for _, f := range ofRule(got, "unprepared") {
			lines = append(lines, tell(f))
		}
		if text := strings.Join(lines, "\n"); text != tt.want {
			t.Errorf("%s: got %q, want %q\n%s", tt.name, text, tt.want, allOf(got))
		}
	}
}

// A marker that says drop promises a contrast, one that says chorus does not, and a song with choruses is not mixed.
func TestWhatMarkersPromise(t *testing.T) {
	for name, want := range map[string]review.Level{"Drop": review.Warn, "Chorus": review.Note} {
		s := at(row{music: "kick x...x...x...x...\npad x---------------", sections: "groove 80, drop 48"}.song(t, 0), 1_000_000)
		e := s.WithSections(nil).Edit()
		for i, sec := range s.Sections {
			e.InsertMeta(0, s.SectionRange(sec).Start, smf.MetaMarker, []byte([]string{"Groove", name}[i]))
		}
		got, err := review.Review(review.Input{Song: e.Song()}, review.Options{Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, rule := range []string{"drop", "mix-in"} {
			for _, f := range ofRule(got, rule) {
				if f.About != "end" && f.Level != want {
					t.Errorf("%s: %s is a %s, want a %s: %s", name, rule, f.Level, want, f.Text)
				}
			}
			if len(ofRule(got, rule)) == 0 {
				t.Errorf("%s: found nothing by %s\n%s", name, rule, allOf(got))
			}
		}
	}
}
