package picture

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

var update = flag.Bool("update", false, "rewrite the golden files")

const ppq = 96

// play adds a part that plays a bar's pattern of sixteenths in the bars for which plays says so.
// Grid letters: x hit (100), X accent (120), o soft (50), - held, . rest.
func play(s *song.Song, role song.Role, name, bar string, plays func(bar int) bool) {
	p := song.Part{Name: name, Role: role, Job: role.Job(), Kit: role.Drum()}
	for n := 1; n <= s.Bars(); n++ {
		if !plays(n) {
			continue
		}
		at := s.Time().BarStart(n)
		for i := 0; i < len(bar); i++ {
			vel, ok := map[byte]uint8{'x': 100, 'X': 120, 'o': 50}[bar[i]]
			if !ok {
				continue
			}
			hold := len(bar[i+1:]) - len(strings.TrimLeft(bar[i+1:], "-")) + 1
			start := at + song.Tick(i)*ppq/4
			p.Notes = append(p.Notes, song.Note{Start: start, End: start + song.Tick(hold)*ppq/4, Key: 60, Vel: vel})
		}
	}
	s.Parts = append(s.Parts, p)
}

// between tells whether a bar is in one of the spans given as first and last bars.
func between(spans ...int) func(int) bool {
	return func(bar int) bool {
		for i := 0; i+1 < len(spans); i += 2 {
			if bar >= spans[i] && bar <= spans[i+1] {
				return true
			}
		}
		return false
	}
}

func always(int) bool { return true }

func blank(bars int, bpm int64, m smf.Metre, sections ...song.Section) song.Song {
	end := song.Tick(bars) * 4 * ppq * song.Tick(m.Num) / song.Tick(m.Den)
	return song.Blank(ppq, []smf.TempoAt{{Micros: smf.MicrosPerQuarter(bpm * 1000)}}, []smf.MetreAt{{Metre: m}}, end, sections...)
}

func fourFour() smf.Metre { return smf.Metre{Num: 4, Den: 4} }

// club is a track of 192 bars, its parts not in the order they are drawn.
func club() song.Song {
	sections := []song.Section{}
	bar := 1
	for _, s := range []struct {
		name string
		bars int
	}{{"intro", 32}, {"groove", 16}, {"break", 8}, {"build", 8}, {"drop", 32}, {"break", 16}, {"build", 16}, {"drop", 32}, {"outro", 32}} {
		sections = append(sections, song.Section{Name: s.name, Bar: bar, Bars: s.bars})
		bar += s.bars
	}
	s := blank(192, 132, fourFour(), sections...)
	play(&s, song.RolePad, "pad", "x---------------", between(49, 64, 81, 128, 129, 152))
	play(&s, song.RoleStab, "stab", "...x..x.....x...", between(41, 88, 105, 160))
	play(&s, song.RoleBass, "bass", "..x-..x.x-..x.x-", between(33, 47, 65, 79, 81, 96, 129, 168))
	play(&s, song.RoleKick, "kick", "X...x...x...x...", between(1, 47, 65, 95, 129, 192))
	play(&s, song.RoleHat, "hat", "x.oox.oox.oox.oo", between(9, 48, 53, 96, 109, 184))
	play(&s, song.RoleClap, "clap", "....x.......x...", between(17, 48, 57, 96, 121, 176))
	play(&s, song.RoleOpenHat, "open-hat", "..x...x...x...x.", between(25, 48, 61, 96, 117, 184))
	play(&s, song.RoleCrash, "crash-added", "x...............", func(b int) bool { return b == 33 || b == 65 || b == 81 || b == 129 || b == 145 || b == 161 })
	return s
}

// changes is a trace for club.
func changes(s song.Song) []song.Change {
	return []song.Change{
		{Step: 0, Move: "mute", Ranges: []song.Range{s.BarRange(48, 48), s.BarRange(80, 80), s.BarRange(96, 96)}, Parts: []string{"kick"}},
		{Step: 1, Move: "roll", Ranges: []song.Range{s.BarRange(57, 64), s.BarRange(113, 128)}, Parts: []string{"clap"}},
		{Step: 2, Move: "mute", Ranges: []song.Range{s.BarRange(161, 192)}, Parts: []string{"stab"}},
		{Step: 3, Move: "tempo"}, // nowhere: no row
	}
}

// loop is eight bars in 7/8, without sections.
func loop() song.Song {
	s := blank(8, 138, smf.Metre{Num: 7, Den: 8})
	play(&s, song.RoleKick, "kick", "X...x...x.....", always)
	play(&s, song.RoleBass, "bass", "x-.xx-..x-.xx-", always)
	play(&s, song.RoleStrings, "strings", "x-------------", between(1, 4))
	play(&s, song.RoleTrigger, "trigger", "x...x...x.....", always)
	return s
}

// wild has names that are not fit to print, sections too many for their room, changing metre and
// tempo, and a short last bar.
func wild() song.Song {
	s := song.Blank(ppq, []smf.TempoAt{{Micros: 500_000}, {Tick: 4000, Micros: 431_655}},
		[]smf.MetreAt{{Metre: fourFour()}, {Tick: 4 * 4 * ppq, Metre: smf.Metre{Num: 3, Den: 4}}}, 4*4*ppq+36*3*ppq+50)
	names := []string{"\x1b[31mred\x1b[0m", "夜の港", "a\u0301e\u0301\u0323", "x\u202Ey\x00\x07", "the name that does not end at all",
		"tab\there", "\x1b]0;title\x07bell", "b", "c"}
	for i, n := range names {
		s.Sections = append(s.Sections, song.Section{Name: n, Bar: 1 + 4*i, Bars: 4 + i/8*5})
	}
	play(&s, song.RoleUnknown, "夜のフェリーがゆっくりと港をあとにする", "x...........", always)
	play(&s, song.RoleLead, "a synthesiser with a long name 12", "x...x...x...", always)
	play(&s, song.RoleLead, "a synthesiser with a long name 13", "o...o...o...", always)
	play(&s, song.RoleFX, "\x1b[2J\x07\r\n", "x-----------", between(9, 12))
	return s
}

// structure is what is heard in a song, without its sections.
func structure(t *testing.T, s song.Song) *form.Structure {
	t.Helper()
	st, err := form.StructureOf(s.WithSections(nil), 0)
	if err != nil {
		t.Fatal(err)
	}
	return &st
}

func TestGolden(t *testing.T) {
	c, l, w := club(), loop(), wild()
	for _, g := range []struct {
		file string
		s    song.Song
		o    Options
	}{
		{"club-80.txt", c, Options{Width: 80}},
		{"club-80-ascii.txt", c, Options{Width: 80, ASCII: true}},
		{"club-80-colour.txt", c, Options{Width: 80, Color: true}},
		{"club-40.txt", c, Options{Width: 40}},
		{"club-220-moves.txt", c, Options{Width: 220, Changes: changes(c)}},
		{"club-40-changes.txt", c, Options{Width: 40, Structure: structure(t, c)}},
		{"club-80-changes-ascii.txt", c, Options{Width: 80, ASCII: true, Structure: structure(t, c)}},
		{"loop-80.txt", l, Options{Width: 80, Structure: structure(t, l)}}, // nothing changes
		{"loop-140-ascii.txt", l, Options{Width: 140, ASCII: true}},
		{"wild-60.txt", w, Options{Width: 60, Phrase: 4}},
		{"wild-60-ascii.txt", w, Options{Width: 60, Phrase: 4, ASCII: true}},
	} {
		t.Run(g.file, func(t *testing.T) {
			var b bytes.Buffer
			if err := Text(&b, g.s, g.o); err != nil {
				t.Fatal(err)
			}
			name := filepath.Join("testdata", g.file)
			if *update {
				if err := os.MkdirAll("testdata", 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if b.String() != string(want) {
				t.Errorf("got\n%swant\n%sto rewrite: go test ./smf/picture -update", b.String(), want)
			}
		})
	}
}

// draw draws and checks what holds for every map: no line too wide, no space at a line's end,
// nothing unprintable besides the colours.
func draw(t *testing.T, s song.Song, o Options) []string {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, s, o); err != nil {
		t.Fatal(err)
	}
	text, ended := strings.CutSuffix(b.String(), "\n")
	if !ended {
		t.Errorf("width %d: no line end at the end", o.Width)
	}
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if width(line) > o.Width {
			t.Errorf("width %d: line %d is %d wide: %q", o.Width, i+1, width(line), line)
		}
		if strings.TrimRight(line, " ") != line {
			t.Errorf("width %d: line %d ends in a space: %q", o.Width, i+1, line)
		}
		for _, r := range line {
			if r < ' ' || r == 0x7F || r >= 0x80 && (o.ASCII || r < 0xA0) || r == 0x202E {
				t.Errorf("width %d: line %d has %q: %q", o.Width, i+1, r, line)
			}
		}
	}
	return lines
}

func TestEveryWidthHoldsEveryPart(t *testing.T) {
	for name, s := range map[string]song.Song{"club": club(), "loop": loop(), "wild": wild()} {
		for w := MinWidth; w <= MaxWidth; w++ {
			lines := draw(t, s, Options{Width: w, ASCII: w%2 == 0, Changes: changes(s)})
			l, err := arrange(s, 8, w)
			if err != nil {
				t.Fatal(err)
			}
			at := 0
			for _, r := range l.Rows {
				p := s.Parts[r.Part]
				label := cut(clean(p.Name, w%2 == 0), min(w/4, 24), map[bool]string{true: "~", false: "…"}[w%2 == 0])
				if label == "" {
					label = "?"
				}
				found := slices.IndexFunc(lines[at:], func(line string) bool { return strings.HasPrefix(line+" ", label+" ") })
				if found < 0 {
					t.Fatalf("%s, width %d: no row %q after line %d of\n%s", name, w, label, at, strings.Join(lines, "\n"))
				}
				at += found + 1
			}
		}
	}
}

func TestAFinerDivisionIsTakenWhereTheWidthAllows(t *testing.T) {
	for _, c := range []struct {
		rule               string
		bars, phrase, most int
		parts              []int // of a bar, finest first
		want               unit
	}{
		{"sixteenths if they fit", 4, 8, 64, []int{16, 8, 4, 2}, unit{1, 16}},
		{"else eighths", 8, 8, 64, []int{16, 8, 4, 2}, unit{1, 8}},
		{"else beats", 8, 8, 63, []int{16, 8, 4, 2}, unit{1, 4}},
		{"else half bars", 8, 8, 31, []int{16, 8, 4, 2}, unit{1, 2}},
		{"else bars", 8, 8, 15, []int{16, 8, 4, 2}, unit{1, 1}},
		{"a phrase is a whole number of columns", 192, 8, 150, []int{4}, unit{2, 1}},
		{"four bars a column", 192, 8, 60, []int{4}, unit{4, 1}},
		{"a phrase a column", 192, 8, 30, []int{4}, unit{8, 1}},
		{"a column is a whole number of phrases", 600, 8, 29, []int{4}, unit{24, 1}},
		{"a phrase of 12 bars divides by 3", 192, 12, 64, []int{4}, unit{3, 1}},
		{"a phrase of 7 bars is one column or seven", 70, 7, 69, []int{4}, unit{7, 1}},
		{"a short last phrase has a column", 9, 8, 2, nil, unit{8, 1}},
		{"one column holds anything", 1000, 8, 1, nil, unit{1000, 1}},
	} {
		t.Run(c.rule, func(t *testing.T) {
			if got := fit(c.bars, c.phrase, c.most, c.parts); got != c.want {
				t.Errorf("%d bars in phrases of %d on %d columns: found %+v, want %+v", c.bars, c.phrase, c.most, got, c.want)
			}
		})
	}
}

func TestLayoutsOfEverySize(t *testing.T) {
	for _, bars := range []int{1, 2, 7, 8, 63, 192, 600} {
		for _, phrase := range []int{1, 3, 8, 16, math.MaxInt} {
			s := blank(bars, 132, fourFour())
			for _, most := range []int{1, 2, 29, 70, 290} {
				l, err := arrange(s, phrase, most)
				if err != nil {
					t.Fatal(err)
				}
				u := l.Unit
				ok := len(l.Columns) <= most && u.Bars >= 1 && u.PerBar >= 1 && (u.Bars == 1 || u.PerBar == 1) &&
					(l.Phrase%u.Bars == 0 || u.Bars%l.Phrase == 0)
				at := song.Tick(0)
				for i, c := range l.Columns {
					ok = ok && c.Start == at && c.End > at && l.columnAt(c.Start) == i && l.columnAt(c.End-1) == i
					at = c.End
				}
				for bar := 1; bar <= bars; bar++ {
					ok = ok && l.columnOfBar(bar) == l.columnAt(s.Time().BarStart(bar))
				}
				if !ok || at < s.End {
					t.Errorf("%d bars, phrase %d, at most %d columns: %+v", bars, phrase, most, l)
				}
			}
		}
	}
}

func TestWaysToDivideABar(t *testing.T) {
	for _, c := range []struct {
		num, den int
		want     []int
	}{{4, 4, []int{16, 8, 4, 2}}, {3, 4, []int{12, 6, 3}}, {7, 8, []int{14, 7}}, {6, 8, []int{12, 6, 3}}, {2, 2, []int{16, 8, 4, 2}}, {1, 4, []int{4, 2}}} {
		got := barParts(blank(4, 120, smf.Metre{Num: c.num, Den: c.den}).Time())
		if !slices.Equal(got, c.want) {
			t.Errorf("%d/%d: found %v, want %v", c.num, c.den, got, c.want)
		}
	}
	if got := barParts(wild().Time()); got != nil {
		t.Errorf("metre changes: found %v, want whole bars only", got)
	}
}

func TestLevels(t *testing.T) {
	const each = 8 // every rule is tried on bars of 4/4, one column a bar
	for _, c := range []struct {
		rule, bar string
		kit       bool
		want      uint8
	}{
		{"silence is 0", "................", true, 0},
		{"one soft hit in a bar is seen", "o...............", true, 2},
		{"one hit in a bar", "x...............", true, 3},
		{"two hits: twice as many are one level more", "x.......x.......", true, 4},
		{"a hit on every beat is 5", "x...x...x...x...", true, 5},
		{"half the velocity is one level less", "o...o...o...o...", true, 4},
		{"eighths", "x.x.x.x.x.x.x.x.", true, 6},
		{"sixteenths", "xxxxxxxxxxxxxxxx", true, 7},
		{"a held note counts as sounding", "x---------------", false, 5},
		{"half a bar of sounding is one level less", "x-------........", false, 4},
		{"a drum's length is no sound", "x---------------", true, 3},
		{"short notes count as hits in pitched parts too", "x.x.x.x.x.x.x.x.", false, 6},
	} {
		t.Run(c.rule, func(t *testing.T) {
			s := blank(each, 120, fourFour())
			play(&s, song.RoleLead, "part", c.bar, always)
			s.Parts[0].Kit = c.kit
			l, err := arrange(s, 8, each)
			if err != nil {
				t.Fatal(err)
			}
			got := l.levels(s.Parts[0])
			if !slices.Equal(got, slices.Repeat([]uint8{c.want}, each)) {
				t.Errorf("%s: found %v, want %d in every bar", c.bar, got, c.want)
			}
		})
	}
}

func TestLevelsOfSingleNotes(t *testing.T) {
	bar := song.Tick(4 * ppq)
	at := func(start, end song.Tick, key, vel uint8) song.Note {
		return song.Note{Start: start, End: end, Key: key, Vel: vel}
	}
	for _, c := range []struct {
		rule  string
		kit   bool
		notes []song.Note
		want  []uint8 // four bars
	}{
		{"a chord is one hit", true, []song.Note{at(0, 9, 60, 100), at(0, 9, 64, 100), at(0, 9, 67, 100)}, []uint8{3, 0, 0, 0}},
		{"of a chord the loudest note counts", true, []song.Note{at(0, 9, 60, 20), at(0, 9, 64, 100)}, []uint8{3, 0, 0, 0}},
		{"a hit just before a line counts to the bar after it", true, []song.Note{at(bar-5, bar, 36, 100)}, []uint8{0, 3, 0, 0}},
		{"a 1/64 before the line is not early", true, []song.Note{at(bar-6, bar, 36, 100)}, []uint8{3, 0, 0, 0}},
		{"an early hit of the last bar stays there", true, []song.Note{at(4*bar-5, 4*bar, 36, 100)}, []uint8{0, 0, 0, 3}},
		{"a note held over bars sounds in each", false, []song.Note{at(bar/2, 3*bar, 60, 100)}, []uint8{4, 5, 5, 0}},
		{"overlapping notes do not sound twice", false, []song.Note{at(0, bar, 60, 100), at(0, bar, 64, 100), at(10, 2*bar, 67, 100)}, []uint8{5, 5, 0, 0}},
		{"a note past the end is left out", false, []song.Note{at(3*bar, 9*bar, 60, 100), at(6*bar, 7*bar, 62, 100)}, []uint8{0, 0, 0, 5}},
		{"the softest note is seen", true, []song.Note{at(0, 1, 60, 1)}, []uint8{1, 0, 0, 0}},
	} {
		t.Run(c.rule, func(t *testing.T) {
			s := blank(4, 120, fourFour())
			l, err := arrange(s, 8, 4)
			if err != nil {
				t.Fatal(err)
			}
			if got := l.levels(song.Part{Kit: c.kit, Notes: c.notes}); !slices.Equal(got, c.want) {
				t.Errorf("found %v, want %v", got, c.want)
			}
		})
	}
}

func TestDrumsStandAboveMusic(t *testing.T) {
	s := club()
	l, err := arrange(s, 8, 70)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range l.Rows {
		got = append(got, s.Parts[r.Part].Name)
	}
	want := []string{"kick", "clap", "hat", "open-hat", "crash-added", "bass", "pad", "stab"}
	if !slices.Equal(got, want) {
		t.Errorf("found %v, want %v", got, want)
	}
}

func TestOddSongs(t *testing.T) {
	noNotes := blank(8, 132, fourFour())
	silent := blank(8, 132, fourFour())
	silent.Parts = []song.Part{{Name: "kick", Role: song.RoleKick}}
	one := blank(1, 132, fourFour())
	play(&one, song.RoleKick, "kick", "x...x...x...x...", always)
	frames, err := song.From(&smf.File{Format: 1, Division: 0xE728, Tracks: []smf.Track{{End: 100}}})
	if err != nil {
		t.Fatal(err)
	}
	outside := blank(8, 132, fourFour(), song.Section{Name: "drop", Bar: 5, Bars: 4}, song.Section{Name: "outro", Bar: 900, Bars: 8})
	for _, c := range []struct {
		rule string
		s    song.Song
		want string // one of the lines
	}{
		{"no common bars is one clear line", frames, "no map: no common bars (format 2 or SMPTE time), so there is nothing to map"},
		{"no bars is one clear line", song.Blank(ppq, nil, nil, 0), "no map: no bars, so there is nothing to map"},
		{"no notes", noNotes, "(no notes)"},
		{"a silent part has its row", silent, "kick"},
		{"one bar", one, "kick ▇   ▇   ▇   ▇"},
		{"a section outside the song does not matter", outside, "┴───────┴───────┴───────┴───────┬───────┴───────┴───────┴───────"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			lines := draw(t, c.s, Options{Width: 80})
			if !slices.ContainsFunc(lines, func(l string) bool { return strings.TrimSpace(l) == strings.TrimSpace(c.want) }) {
				t.Errorf("no line %q in\n%s", c.want, strings.Join(lines, "\n"))
			}
		})
	}
}

func TestOptionsOutOfRangeAreErrors(t *testing.T) {
	for _, c := range []struct {
		o    Options
		want string
	}{
		{Options{Width: 39}, "width: found 39, want 40 to 300"},
		{Options{Width: 301}, "width: found 301, want 40 to 300"},
		{Options{}, "width: found 0, want 40 to 300"},
		{Options{Width: 80, Phrase: -1}, "phrase: found -1, want a number of bars from 1"},
	} {
		var b bytes.Buffer
		if err := Text(&b, loop(), c.o); err == nil || err.Error() != c.want || b.Len() > 0 {
			t.Errorf("%+v: found %v and %d bytes, want %q and nothing", c.o, err, b.Len(), c.want)
		}
	}
}

type broken struct{}

var errBroken = errors.New("no space left")

func (broken) Write([]byte) (int, error) { return 0, errBroken }

func TestAWriterThatFailsIsTold(t *testing.T) {
	if err := Text(broken{}, loop(), Options{Width: 80}); !errors.Is(err, errBroken) {
		t.Errorf("found %v, want %v", err, errBroken)
	}
}

func TestWithoutColourThereIsNoEscape(t *testing.T) {
	plain := strings.Join(draw(t, club(), Options{Width: 80}), "\n")
	if strings.Contains(plain, "\x1b") {
		t.Error("an escape in plain text")
	}
	var b bytes.Buffer
	if err := Text(&b, club(), Options{Width: 80, Color: true}); err != nil {
		t.Fatal(err)
	}
	coloured := b.String()
	for _, c := range []int{166, 178, 221, 175, 25, 74, 35} { // one of each kind plays in club
		on := fmt.Sprintf("\x1b[38;5;%dm", c)
		if !strings.Contains(coloured, on) {
			t.Errorf("no %q", on)
		}
		coloured = strings.ReplaceAll(coloured, on, "")
	}
	coloured = strings.ReplaceAll(coloured, "\x1b[39m", "")
	if coloured != plain+"\n" {
		t.Errorf("without its escapes the coloured map is not the plain one:\n%s", coloured)
	}
}

// The levels of the cube are xterm's, from memory.
func TestColoursAreTheNearestOfTheCube(t *testing.T) {
	level := [6]int{0, 95, 135, 175, 215, 255}
	for _, r := range song.Roles() {
		c, ok := roleColour(r)
		if !ok {
			continue
		}
		distance := func(i int) int {
			i -= 16
			d := [3]int{level[i/36] - int(c.R), level[i/6%6] - int(c.G), level[i%6] - int(c.B)}
			return d[0]*d[0] + d[1]*d[1] + d[2]*d[2]
		}
		got := c.index256()
		for i := 16; i < 232; i++ {
			if distance(i) < distance(got) {
				t.Errorf("%s: found %d, %d is nearer to %v", r, got, i, c)
			}
		}
	}
}

func TestNamesAreData(t *testing.T) {
	for _, c := range []struct{ rule, in, want, ascii string }{
		{"a plain name stays", "open-hat 2", "open-hat 2", "open-hat 2"},
		{"colours go as a whole", "\x1b[1;31mred\x1b[0m", "red", "red"},
		{"so does CSI as one character", "\u009b2Jred", "red", "red"},
		{"and a title up to BEL", "\x1b]0;owned\x07bell", "bell", "bell"},
		{"or up to ESC \\", "\x1b]0;owned\x1b\\bell", "bell", "bell"},
		{"an unfinished one takes the rest", "a\x1b]0;owned", "a", "a"},
		{"a character set", "\x1b(Bx", "x", "x"},
		{"a lone escape", "x\x1b", "x", "x"},
		{"line ends and tabs become a space", " a\r\n\tb ", "a b", "a b"},
		{"control characters go", "a\x00\x07\x7fb", "ab", "ab"},
		{"marks that turn the direction go", "a\u202e\u2066b", "ab", "ab"},
		{"bytes that are no UTF-8 are Latin-1", "F\xe4hre \xef", "Fähre ï", "F?hre ?"},
		{"its control characters go too", "a\x9b2Jb", "ab", "ab"},
		{"beside UTF-8 invalid bytes go", "é\xff\xc3b", "éb", "?b"},
		{"accents stay on their letters", "e\u0301te\u0301", "e\u0301te\u0301", "ete"},
		{"heaps of marks do not", "z" + strings.Repeat("\u0335", 40), "z\u0335\u0335", "z"},
		{"a mark needs a letter", "\u0301x", "x", "x"},
		{"other writing", "夜の港", "夜の港", "???"},
		{"umlauts", "Fähre", "Fähre", "F?hre"},
		{"nothing left", "\x1b[2J\x07", "", ""},
	} {
		t.Run(c.rule, func(t *testing.T) {
			if got := clean(c.in, false); got != c.want {
				t.Errorf("found %q, want %q", got, c.want)
			}
			if got := clean(c.in, true); got != c.ascii {
				t.Errorf("ascii: found %q, want %q", got, c.ascii)
			}
		})
	}
}

func TestLongNamesAreCut(t *testing.T) {
	for _, c := range []struct {
		rule, in string
		n        int
		want     string
	}{
		{"what fits stays", "open-hat", 8, "open-hat"},
		{"the end goes", "open-hat", 7, "open-h…"},
		{"no space before the mark", "one two", 5, "one…"},
		{"the number of a name stays", "long-name 12", 9, "long-… 12"},
		{"unless there is no room for it", "long-name 12", 4, "lon…"},
		{"a wide character is not halved", "夜の港", 4, "夜…"},
		{"one column", "夜", 1, "…"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			if got := cut(c.in, c.n, "…"); got != c.want || width(got) > c.n {
				t.Errorf("found %q, want %q", got, c.want)
			}
		})
	}
}

func FuzzNamesStayOnTheirLine(f *testing.F) {
	for _, s := range []string{"kick", "\x1b[31m", "夜の港", "a\u0301", "\xff", "\x1b]0;x", "a b 12"} {
		f.Add(s, 12)
	}
	f.Fuzz(func(t *testing.T, name string, n int) {
		n = 1 + (n&0xFF)%24
		for _, ascii := range []bool{false, true} {
			got := cut(clean(name, ascii), n, "~")
			if width(got) > n {
				t.Errorf("%q is %d wide, want at most %d", got, width(got), n)
			}
			for _, r := range got {
				if r < ' ' || r == 0x7F || r >= 0x80 && (ascii || r < 0xA0) {
					t.Errorf("found %q in %q", r, got)
				}
			}
			if again := clean(got, ascii); again != got {
				t.Errorf("cleaned again %q becomes %q", got, again)
			}
		}
	})
}

func ExampleText() {
	s := blank(16, 132, fourFour(), song.Section{Name: "intro", Bar: 1, Bars: 8}, song.Section{Name: "drop", Bar: 9, Bars: 8})
	play(&s, song.RoleKick, "kick", "x...x...x...x...", always)
	play(&s, song.RoleHat, "hat", "x.x.x.x.x.x.x.x.", between(5, 16))
	play(&s, song.RoleBass, "bass", "x-------x-------", between(9, 16))
	if err := Text(os.Stdout, s, Options{Width: 40}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// 16 bars, 0:29, 132 bpm, 4/4,
	// a column is a 1/2 note
	//
	//      1   3   5   7   9   11  13  15
	//      0:00    0:07    0:14    0:21
	//      intro           drop
	//      ┬─┴─┴─┴─┴─┴─┴─┴─┬─┴─┴─┴─┴─┴─┴─┴─
	// kick ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅
	// hat          ▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆▆
	//
	// bass                 ▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅
}

func BenchmarkText(b *testing.B) {
	s := blank(600, 132, fourFour())
	for i := range 60 {
		play(&s, song.Roles()[i%20], fmt.Sprintf("part %d", i), "x.xxx.x-x.xxx.x-", always)
	}
	b.ReportAllocs()
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := Text(&out, s, Options{Width: 120}); err != nil {
			b.Fatal(err)
		}
	}
}
