package players_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes/players"
	"loopdraft/smf/song"
)

// scale tells power by its formula: ten decibels less are half.
type scale struct{ full int64 }

func (s scale) Full() int64 { return s.full }

func (s scale) Percent(power int64) int {
	return int(math.Round(1000 * math.Pow(2, math.Log10(max(float64(power), 1)/float64(s.full)))))
}

func (s scale) Power(percent int) int64 {
	return int64(math.Round(float64(s.full) * math.Pow(10, math.Log2(float64(percent)/1000))))
}

func (s scale) Times(power int64, decibels int) int64 {
	return int64(math.Round(float64(power) * math.Pow(10, float64(decibels)/100)))
}

// band is a loop of nine parts: name, job, and the percentage of all power that each has in the low, middle and
// high band.
const band = `
kick    beat      20  3  1
clap    backbeat   0  8  2
hat     tops       0  0  6
ride    tops       0  0  4
perc    perc       0  3  1
bass    bass      22  3  0
lead    hook       0 13  1
pad     bed        1  7  0
stab    extra      0  5  0
`

// loop is a track without sections, whose parts are read from lines as in band.
type loop struct {
	players.Track
	names  []string
	powers []players.Power
}

func newLoop(t testing.TB, lines string) *loop {
	t.Helper()
	l := &loop{Track: players.Track{Scale: scale{1e9}}}
	for line := range strings.Lines(strings.TrimSpace(lines)) {
		var name, job string
		var p players.Power
		if _, err := fmt.Sscan(line, &name, &job, &p[0], &p[1], &p[2]); err != nil {
			t.Fatal(err)
		}
		for b := range p {
			p[b] *= 1e7
		}
		l.names = append(l.names, name)
		l.Parts = append(l.Parts, players.Part{Job: song.Job(job)})
		l.powers = append(l.powers, p)
	}
	return l
}

// parts returns the indices of parts named or of a job, in the order of the words.
func (l *loop) parts(words string) []int {
	var out []int
	for _, w := range strings.Fields(words) {
		for i, name := range l.names {
			if (name == w || string(l.Parts[i].Job) == w) && !slices.Contains(out, i) {
				out = append(out, i)
			}
		}
	}
	return out
}

// section adds a section of units of eight bars; must and may are names of parts or jobs.
func (l *loop) section(s players.Section, must, may string, ranges ...[2]int) {
	s.May = l.parts(may)
	for _, r := range ranges {
		u := players.Unit{Due: true, Powers: l.powers, Must: make([]bool, len(l.Parts)), Low: r[0], High: r[1]}
		for _, p := range l.parts(must) {
			u.Must[p] = true
		}
		heard := slices.Repeat([]bool{true}, len(l.Parts))
		u.Sounds = slices.Repeat([][]bool{heard}, 8)
		s.Units = append(s.Units, u)
	}
	l.Sections = append(l.Sections, s)
}

// grid shows a section: a row a part that plays, a letter a unit, and the percent of full under them.
func (l *loop) grid(line players.Line) string {
	var b strings.Builder
	for p, name := range l.names {
		row := ""
		for _, u := range line.Units {
			if u.Plays[p] {
				row += "x"
			} else {
				row += "."
			}
		}
		if strings.Contains(row, "x") {
			fmt.Fprintf(&b, "%-5s%s\n", name, row)
		}
	}
	for i, u := range line.Units {
		if i > 0 {
			b.WriteString(" ")
		}
		fmt.Fprintf(&b, "%d", (l.Scale.Percent(u.Power.Sum())+5)/10)
	}
	if line.Music < 100 || line.All < 100 {
		fmt.Fprintf(&b, " music %d all %d", line.Music, line.All)
	}
	return b.String()
}

func TestFind(t *testing.T) {
	between := func(low, high int, n int) [][2]int { return slices.Repeat([][2]int{{low * 10, high * 10}}, n) }
	for _, tt := range []struct {
		rule      string
		lines     string
		section   players.Section
		must, may string
		ranges    [][2]int
		want      string
	}{
		{"nobody is asked: who must play, plays", band, players.Section{Kind: song.KindGroove}, "kick bass", "", between(90, 100, 1), `
kick x
bass x
81`},
		{"a break has two pitched parts before anything else", band, players.Section{Kind: song.KindBreak}, "", "hook bed extra perc tops backbeat", between(52, 60, 1), `
perc x
pad  x
stab x
59`},
		{"the second half of a break is more than the first", band, players.Section{Kind: song.KindBreak}, "", "hook bed extra perc tops", between(50, 60, 2), `
hat  .x
perc x.
pad  xx
stab xx
59 61 music 98 all 100`},
		{"in a drop parts go out, in, out", band, players.Section{Kind: song.KindDrop}, "kick bass lead", "hook bed extra perc tops backbeat bass beat", [][2]int{{950, 1000}, {860, 970}, {950, 1010}, {880, 1010}}, `
kick xxxx
clap x.x.
hat  x.x.
ride xxxx
perc xxxx
bass xxxx
lead xxxx
pad  xxxx
stab xxxx
100 95 100 95`},
		{"an intro rises by the smallest additions, without the bass", band, players.Section{Kind: song.KindIntro, Course: players.Rising}, "kick", "hook bed extra tops backbeat perc bass", between(0, 0, 4), `
kick xxxx
clap ...x
hat  .xxx
ride ..xx
65 70 72 78`},
		{"drums enter in the order written", band, players.Section{Kind: song.KindIntro, Course: players.Rising}, "kick", "perc tops backbeat", between(0, 0, 4), `
kick xxxx
hat  ..xx
ride ...x
perc .xxx
65 68 72 75`},
		{"the beat joins what opens without it", band, players.Section{Kind: song.KindIntro, Course: players.Rising}, "", "tops beat backbeat", between(0, 0, 3), `
kick .xx
hat  xxx
ride ..x
43 70 72`},
		{"music keeps out of the first half of an intro", band, players.Section{Kind: song.KindIntro, Course: players.Rising}, "kick", "stab pad", between(0, 0, 4), `
kick xxxx
pad  ...x
stab ..xx
65 65 69 74`},
		{"an outro falls the same way", band, players.Section{Kind: song.KindOutro, Course: players.Falling}, "kick", "tops backbeat perc bass", between(0, 0, 4), `
kick xxxx
clap x...
hat  xxx.
ride xx..
78 72 70 65`},
		{"a pad that is too strong alone steps back", "pad bed 0 60 0\nkick beat 40 0 0", players.Section{Kind: song.KindBreak}, "", "bed", between(60, 70, 1), `
pad  x
86 music 84 all 100`},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			l := newLoop(t, tt.lines)
			l.section(tt.section, tt.must, tt.may, tt.ranges...)
			if got := "\n" + l.grid(players.Find(l.Track)[0]); got != tt.want {
				t.Errorf("got%s\nwant%s", got, tt.want)
			}
		})
	}
}

func TestASectionIsMeasuredAgainstALaterOne(t *testing.T) {
	l := newLoop(t, band)
	may := "hook bed extra perc tops backbeat bass beat"
	l.section(players.Section{Kind: song.KindGroove, Against: 2}, "kick bass", may, [2]int{-60, -30}, [2]int{-60, -30})
	l.section(players.Section{Kind: song.KindDrop}, "kick bass lead", may, [2]int{820, 900})
	found := players.Find(l.Track)
	for _, u := range found[0].Units {
		if u.Played*2 > found[1].Units[0].Played+1e7 {
			t.Errorf("the groove is\n%s\nunder a drop of\n%s\nwant it 3 dB under it", l.grid(found[0]), l.grid(found[1]))
		}
	}
}

// The sounds of a kit enter one by one: a part of three toms is three of seven, too many for the second phrase of a groove.
func TestTheSoundsOfAKitEnterOneByOne(t *testing.T) {
	for _, tt := range []struct {
		sounds int
		want   string
	}{{1, "kick xx\nbass xx\ntom  .x\n"}, {3, "kick xx\nbass xx\npad  .x\n"}} {
		l := newLoop(t, "kick beat 30 0 0\nbass bass 20 0 0\ntom perc 0 10 0\npad bed 0 10 0\nlead hook 0 30 0")
		l.Parts[2].Sounds = tt.sounds
		l.section(players.Section{Kind: song.KindGroove}, "kick bass", "tom pad", [2]int{810, 815}, [2]int{860, 880})
		if got := l.grid(players.Find(l.Track)[0]); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%d sounds: got\n%s\nwant\n%s", tt.sounds, got, tt.want)
		}
	}
}

// Another track is laid over the ends: in units of four bars music joins in the third.
func TestTheEndsAreDrumsAlone(t *testing.T) {
	for _, tt := range []struct {
		section players.Section
		want    string
	}{
		{players.Section{Kind: song.KindIntro, Course: players.Rising}, "kick xxxx\npad  ..xx"},
		{players.Section{Kind: song.KindOutro, Course: players.Falling}, "kick xxxx\npad  xx.."},
		{players.Section{Kind: song.KindGroove, Course: players.Rising}, "kick xxxx\npad  .xxx"},
	} {
		l := newLoop(t, "kick beat 50 5 0\npad bed 0 40 5")
		l.section(tt.section, "kick", "bed", slices.Repeat([][2]int{{0, 0}}, 4)...)
		for k := range l.Sections[0].Units {
			u := &l.Sections[0].Units[k]
			u.Sounds = u.Sounds[:4]
		}
		if got := l.grid(players.Find(l.Track)[0]); !strings.HasPrefix(got, tt.want+"\n") {
			t.Errorf("%s: got\n%s\nwant\n%s", tt.section.Kind, got, tt.want)
		}
	}
}

// A part that is strong at the start of the loop alone does not make a build fall.
func TestABuildDoesNotFall(t *testing.T) {
	l := newLoop(t, "kick beat 40 0 0\nlead hook 0 30 0\npad bed 0 5 0\nhat tops 0 0 4")
	l.section(players.Section{Kind: song.KindBuild}, "", "hook bed tops", [2]int{600, 700}, [2]int{600, 700})
	last := &l.Sections[0].Units[1]
	last.Powers = slices.Clone(last.Powers)
	last.Powers[1] = players.Power{0, 1e6, 0}
	units := players.Find(l.Track)[0].Units
	if units[0].Power.Sum() >= units[1].Power.Sum() {
		t.Errorf("got\n%s", l.grid(players.Find(l.Track)[0]))
	}
}

// Whatever is asked, somebody plays who may, nobody else does, and it is the same again.
func TestSomebodyPlays(t *testing.T) {
	for low := 1; low < 150; low += 7 {
		for _, kind := range []song.Kind{song.KindIntro, song.KindGroove, song.KindBreak, song.KindBuild, song.KindDrop, song.KindOutro} {
			l := newLoop(t, band)
			l.section(players.Section{Kind: kind}, "", "hook tops perc", [2]int{10 * low, 10*low + 30}, [2]int{10 * low, 10*low + 30})
			found := players.Find(l.Track)[0]
			for _, u := range found.Units {
				n := 0
				for p, plays := range u.Plays {
					if plays {
						n++
						if !slices.Contains(l.Sections[0].May, p) {
							t.Errorf("%s at %d %%: %s plays, who may not", kind, low, l.names[p])
						}
					}
				}
				if n == 0 {
					t.Errorf("%s at %d %%: nobody plays", kind, low)
				}
			}
			if again := players.Find(l.Track)[0]; l.grid(again) != l.grid(found) {
				t.Errorf("%s at %d %%: got\n%s\nthen\n%s", kind, low, l.grid(found), l.grid(again))
			}
		}
	}
}

// At the end of a break some of what the drop brings comes in already, also where it was heard in the drop before: what
// enters at a line is counted from eight bars before it. In the break units are of two bars, and the lead, which need not enter before, enters in the last.
func TestABreakTakesOverSomeOfWhatTheDropBrings(t *testing.T) {
	l := newLoop(t, band)
	l.section(players.Section{Kind: song.KindDrop}, "kick bass lead", "backbeat tops bed extra perc", [2]int{950, 1000})
	l.section(players.Section{Kind: song.KindBreak}, "pad stab", "hook backbeat", slices.Repeat([][2]int{{500, 620}}, 4)...)
	l.section(players.Section{Kind: song.KindDrop}, "kick bass lead", "backbeat tops bed extra perc", [2]int{950, 1000})
	for k := range l.Sections[1].Units {
		u := &l.Sections[1].Units[k]
		u.Sounds, u.Due = u.Sounds[:2], k == 0
	}
	want := `
clap ...x
lead ...x
pad  xxxx
stab xxxx
`
	if got := "\n" + l.grid(players.Find(l.Track)[1]); !strings.HasPrefix(got, want) {
		t.Errorf("got%s\nwant%s", got, want)
	}
}

// A beat that rests by itself is not held back in an intro as well: another track is laid over it.
func TestABeatThatRestsIsNotHeldBack(t *testing.T) {
	for _, tt := range []struct{ kick, want string }{
		{"xxxxxxxx", "kick .xxx\nhat  xxxx\n"},
		{"....xxxx", "kick xxxx\nhat  xxxx\n"},
	} {
		l := newLoop(t, "kick beat 50 5 0\nhat tops 0 0 20\nclap backbeat 0 20 5")
		l.section(players.Section{Kind: song.KindIntro, Course: players.Rising}, "", "tops beat backbeat", slices.Repeat([][2]int{{0, 0}}, 4)...)
		for _, u := range l.Sections[0].Units {
			for b := range u.Sounds {
				u.Sounds[b] = []bool{tt.kick[b] == 'x', true, true}
			}
		}
		if got := l.grid(players.Find(l.Track)[0]); !strings.HasPrefix(got, tt.want) {
			t.Errorf("a kick %s: got\n%s\nwant\n%s", tt.kick, got, tt.want)
		}
	}
}

// A part that only the loop of a section has is heard in it, though it is wanted least; where one plays anyway nothing
// changes, and one that would play no note does not help.
func TestWhatOnlyTheSectionsLoopHasIsHeard(t *testing.T) {
	for _, tt := range []struct {
		rule, must, own string
		notes           []int
		want            string
	}{
		{"nobody has it alone", "", "", nil, "perc x\npad  x\nstab x\n"},
		{"the ride", "", "ride", nil, "ride x\npad  x\nstab x\n"},
		{"the ride or the pad, which plays", "", "ride pad", nil, "perc x\npad  x\nstab x\n"},
		{"the kick, which must play", "kick", "ride kick", nil, "kick x\npad  x\nstab x\n"},
		{"the ride, which has no note here", "", "ride", []int{4, 4, 4, 0, 4, 4, 4, 4, 4}, "perc x\npad  x\nstab x\n"},
	} {
		l := newLoop(t, band)
		l.section(players.Section{Kind: song.KindBreak, Own: l.parts(tt.own)}, tt.must, "hook bed extra perc tops backbeat", [2]int{520, 600})
		l.Sections[0].Units[0].Notes = tt.notes
		if got := l.grid(players.Find(l.Track)[0]); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s: got\n%s\nwant\n%s", tt.rule, got, tt.want)
		}
	}
}

// What enters at once with a drop counts by parts or by sounds, whichever is the greater share of all, and so does the crash
// that is struck there. If it is much, the lead comes in before, though it makes the break louder than it is to be.
func TestWhatEntersWithADropCountsByPartsAndBySounds(t *testing.T) {
	for _, tt := range []struct {
		rule     string
		toms     int
		others   string // who plays in the break already
		expected string
	}{
		{"3 of 9 parts, 3 of 9 sounds", 1, "pad stab key hat tom crash", "...x"},
		{"3 of 9 parts, 3 of 18 sounds", 10, "pad stab key hat tom crash", "...x"},
		{"3 of 12 parts", 1, "pad stab key hat tom crash ride shaker bells", "...."},
		{"3 of 12 parts, and a crash", 1, "pad stab key hat tom ride shaker bells cow", "...x"},
	} {
		lines := "kick beat 20 0 0\nbass bass 22 3 0\nlead hook 0 25 1"
		for _, name := range strings.Fields(tt.others) {
			lines += "\n" + name + " bed 1 2 1"
		}
		l := newLoop(t, lines)
		for p, name := range l.names {
			switch name {
			case "crash":
				l.Parts[p].Role = song.RoleCrash
			case "tom":
				l.Parts[p].Sounds = tt.toms
			}
		}
		l.section(players.Section{Kind: song.KindBreak}, tt.others, "hook", slices.Repeat([][2]int{{400, 480}}, 4)...)
		l.section(players.Section{Kind: song.KindDrop}, "kick bass lead "+tt.others, "", [2]int{950, 1000})
		for k := range l.Sections[0].Units {
			u := &l.Sections[0].Units[k]
			u.Sounds, u.Due = u.Sounds[:2], k == 0
		}
		got := ""
		for _, u := range players.Find(l.Track)[0].Units {
			got += map[bool]string{true: "x", false: "."}[u.Plays[2]]
		}
		if got != tt.expected {
			t.Errorf("%s: the lead plays %s, want %s", tt.rule, got, tt.expected)
		}
	}
}
