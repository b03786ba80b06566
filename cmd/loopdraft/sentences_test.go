package main

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

const sentencesStart = "<!-- sentences: a test hears each of them on three loops -->\n"

// sentence is a row of the README's table: what a producer says, and the lines that say it in a recipe or to the command.
type sentence struct {
	said  string
	lines []string
}

// sentences reads the table.
func sentences(t *testing.T) []sentence {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, table, ok := strings.Cut(string(text), sentencesStart)
	table, _, ok2 := strings.Cut(table, tableEnd)
	if !ok || !ok2 {
		t.Fatal("found no table of sentences in the README")
	}
	var out []sentence
	for _, row := range strings.Split(strings.TrimSpace(table), "\n")[2:] {
		cells := strings.Split(strings.Trim(row, "| "), " | ")
		if len(cells) != 2 {
			t.Fatalf("found the row %s, want two cells", row)
		}
		lines, _, _ := strings.Cut(cells[1], "`, where ") // what the sentence is said of
		out = append(out, sentence{cells[0], strings.Split(strings.Trim(lines, "`"), "` and `")})
	}
	return out
}

// sectionsSaid are the sections that the sentences are said of. A sentence that is a section takes the place of the last
// of its name.
var sectionsSaid = [...]struct{ name, rest string }{
	{"intro", "bars: 8"}, {"build", "bars: 8"},
	{"drop", "bars: 32, play: [beat, bass, hook]"}, // a second one can be bigger
	{"break", "bars: 16, play: {one of: [[all], [bed, bass]], as: break}"}, {"drop", "bars: 32"},
	{"outro", "bars: 16, play: [beat, bass, hat]"}, // at its second phrase nothing changes
}

// recipe returns the recipe that says a sentence; without one, what it is said of.
func (s sentence) recipe() string {
	sections := sectionsSaid
	var moves []string
	for _, line := range s.lines {
		name, isSection := strings.CutPrefix(line, "{name: ")
		name, rest, _ := strings.Cut(name, ", ")
		switch {
		case isSection:
			for i, sec := range slices.Backward(sections[:]) {
				if sec.name == name {
					sections[i].rest = strings.TrimSuffix(rest, "}")
					break
				}
			}
		case strings.HasPrefix(line, "--"):
			if strings.HasPrefix(line, "--length") {
				sections[len(sections)-1].rest = "bars: 80, play: [beat, bass, hat]" // far from the length that is said
			}
			moves = append(moves, "vary: {part: hat, over: every drop}") // something for the take to decide
		default:
			moves = append(moves, line)
		}
	}
	var b strings.Builder
	b.WriteString("substitutes: nearest\nseed: 3\nsections:\n")
	for _, sec := range sections {
		fmt.Fprintf(&b, "  - {name: %s, %s}\n", sec.name, sec.rest)
	}
	for i, line := range moves {
		if i == 0 {
			b.WriteString("moves:\n")
		}
		fmt.Fprintf(&b, "  - %s\n", line)
	}
	return b.String()
}

// options returns what the sentence says on the command line.
func (s sentence) options(t *testing.T) recipes.Options {
	t.Helper()
	var o recipes.Options
	for _, line := range s.lines {
		switch flag, value, _ := strings.Cut(line, " "); flag {
		case "--length":
			_, micros, err := recipes.ParseLength(value)
			if err != nil {
				t.Fatal(err)
			}
			o.Micros = micros
		case "--choose":
			name, number, _ := strings.Cut(value, "=")
			n, err := strconv.Atoi(number)
			if err != nil {
				t.Fatal(err)
			}
			o.Choose = append(o.Choose, recipes.Choice{Name: name, N: n})
		}
	}
	return o
}

// ear hears a draft in which a sentence was said, beside the one in which it was not.
type ear struct {
	*testing.T
	before, after song.Song
	second        *smf.File // loop b, where the sentence names one
	got           *recipes.Result
	redraft       func(recipes.Options) song.Song
}

// level returns how strong bars of a section are, in tenths of a dB over another section. What it hears is the whole, not
// what the sentence did. Bars count inside the section, both included.
func (h ear) level(of song.Section, first, last int, over song.Section) int {
	h.Helper()
	e, err := form.EnergyOf(h.after)
	if err != nil {
		h.Fatal(err)
	}
	return e.Mean(of.Bar+first-1, of.Bar+last-1).Sum().Level(e.Mean(over.Bar, over.Bar+over.Bars-1).Sum())
}

// powers returns how strong the bands of the 8 bars of a section are that begin with a bar.
func (h ear) powers(of song.Section, bar int) form.Powers {
	h.Helper()
	e, err := form.EnergyOf(h.after)
	if err != nil {
		h.Fatal(err)
	}
	return e.Mean(of.Bar+bar-1, of.Bar+bar+6)
}

// between wants a level between two, in dB; half a dB is left to notes that ring over.
func (h ear) between(level, low, high int) {
	h.Helper()
	if level < 10*low-5 || level > 10*high+5 {
		h.Errorf("it is %.1f dB over the other, want %d to %d", float64(level)/10, low, high)
	}
}

// part returns the part that a word means, the first of several.
func (h ear) part(word string) int {
	h.Helper()
	got, err := where.PartsOf(word).Resolve(h.after)
	if err != nil || len(got) == 0 {
		h.Fatalf("no part is %s (%v): this loop does not have the parts", word, err)
	}
	return got[0]
}

func (h ear) parts(word string) []int {
	h.Helper()
	h.part(word)
	got, _ := where.PartsOf(word).Resolve(h.after)
	return got
}

// itself skips a loop in which another part stands in for a role.
func (h ear) itself(role song.Role) {
	h.Helper()
	if h.after.Parts[h.part(string(role))].Role != role {
		h.Skipf("this loop has no %s", role)
	}
}

// section returns a section by its name, the nth of it.
func (h ear) section(name string, nth int) song.Section {
	h.Helper()
	for _, s := range h.after.Sections {
		if s.Name == name {
			if nth--; nth == 0 {
				return s
			}
		}
	}
	h.Fatalf("no section %s", name)
	return song.Section{}
}

// beats returns the range from a beat of a bar on, some beats long.
func beats(s song.Song, bar, beat, count int) song.Range {
	at := s.Time().TickOf(smf.Position{Bar: bar, Beat: beat})
	return song.Range{Start: at, End: at + song.Tick(count)*s.Time().BeatTicks(bar)}
}

func onsets(s song.Song, part int, r song.Range) []song.Note { return s.In(s.Parts[part], r) }

// keysOf returns the keys of notes, rising.
func keysOf(notes []song.Note) []int {
	var out []int
	for _, n := range notes {
		out = append(out, int(n.Key))
	}
	slices.Sort(out)
	return out
}

// same tells whether a part plays the same in a range before and after.
func (h ear) same(part int, r song.Range) bool {
	return slices.EqualFunc(onsets(h.before, part, r), onsets(h.after, part, r), func(a, b song.Note) bool {
		return a.Start == b.Start && a.End == b.End && a.Key == b.Key && a.Vel == b.Vel
	})
}

// changes wants parts, and no others, to differ in bars for which in says so, and in no others.
func (h ear) changes(parts []int, in func(bar int) bool) {
	h.Helper()
	changed := map[int]bool{}
	for i := range h.before.Parts {
		for bar := 1; bar <= h.after.Bars(); bar++ {
			if h.same(i, h.after.BarRange(bar, bar)) {
				continue
			}
			changed[i] = true
			if !slices.Contains(parts, i) || !in(bar) {
				h.Errorf("%s changes in bar %d", h.after.Parts[i].Name, bar)
			}
		}
	}
	if len(changed) == 0 {
		h.Error("nothing changes")
	}
}

// silent wants no note of a part in a range in which it played before, or might have.
func (h ear) silent(part int, r song.Range) {
	h.Helper()
	if n := len(onsets(h.after, part, r)); n > 0 {
		at := h.after.Time().Locate(r.Start)
		h.Errorf("%s strikes %d notes from bar %d, beat %d on", h.after.Parts[part].Name, n, at.Bar, at.Beat)
	}
}

func within(s song.Section) func(int) bool {
	return func(bar int) bool { return bar >= s.Bar && bar < s.Bar+s.Bars }
}

// valueAt returns what a controller is set to at a tick; -1 before it is set.
func valueAt(p song.Points, at song.Tick) int {
	if v, ok := p.At(at); ok {
		return v
	}
	return -1
}

func anywhere(int) bool { return true }

// firstBar returns the first bar of a section in which a part has an onset, counted inside it; 0 for none.
func firstBar(s song.Song, part int, sec song.Section) int {
	for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar++ {
		if len(onsets(s, part, s.BarRange(bar, bar))) > 0 {
			return bar - sec.Bar + 1
		}
	}
	return 0
}

// heard holds what must be heard of each sentence.
func heard() map[string]func(h ear) {
	drops := func(h ear) []song.Section { return []song.Section{h.section("drop", 1), h.section("drop", 2)} }
	return map[string]func(h ear){
		"Clap in for the second half of the break": func(h ear) {
			if got := firstBar(h.after, h.part("clap"), h.section("break", 1)); got != 9 {
				h.Errorf("the first clap is in bar %d of 16, want 9", got)
			}
			half := h.redraft(recipes.Options{Bars: 64})
			for _, s := range half.Sections {
				if got := firstBar(half, h.part("clap"), s); s.Name == "break" && got != s.Bars/2+1 {
					h.Errorf("scaled, the first clap is in bar %d of %d, want the middle", got, s.Bars)
				}
			}
		},
		"Bass out for the last 4 beats of every 16 bars": func(h ear) {
			bass := h.part("bass")
			for _, sec := range h.after.Sections {
				for bar := sec.Bar + 15; bar < sec.Bar+sec.Bars; bar += 16 {
					h.silent(bass, h.after.BarRange(bar, bar))
				}
			}
			h.changes([]int{bass}, func(bar int) bool {
				return slices.ContainsFunc(h.after.Sections, func(s song.Section) bool { return within(s)(bar) && ((bar-s.Bar)%16 >= 14 || bar == s.Bar+s.Bars-1) }) // a section that is shorter has its last 4 beats
			})
		},
		"Drop 2 is drop 1 with the lead an octave up on top": func(h ear) {
			h.itself("lead") // what stands in for it may not play in drop 1
			one, two := h.section("drop", 1), h.section("drop", 2)
			lead := h.part("lead")
			for i, p := range h.after.Parts {
				for bar := range one.Bars {
					a, b := h.after.BarRange(one.Bar+bar, one.Bar+bar), h.after.BarRange(two.Bar+bar, two.Bar+bar)
					there, here := onsets(h.after, i, a), onsets(h.after, i, b)
					if i == lead { // it layers itself
						up := slices.Clone(there)
						for k := range up {
							up[k].Key += 12
						}
						there = append(up, there...)
					}
					if !slices.Equal(keysOf(there), keysOf(here)) {
						h.Errorf("%s plays %d notes in bar %d of drop 2, want %d as in drop 1", p.Name, len(here), bar+1, len(there))
					}
				}
			}
			if firstBar(h.after, lead, two) == 0 {
				h.Error("the lead does not play")
			}
		},
		"The fill of bar 8 only at section ends": func(h ear) {
			gone := 0
			inBar := func(of song.Song, part, bar int) string { // when the part strikes in a bar, counted from its line
				var at []song.Tick
				for _, n := range onsets(of, part, of.BarRange(bar, bar)) {
					at = append(at, n.Start-of.Time().BarStart(bar))
				}
				return fmt.Sprint(at)
			}
			for _, part := range h.parts("drums") {
				for _, sec := range h.after.Sections {
					last := sec.Bar + sec.Bars - 1
					for bar := sec.Bar; bar <= last; bar++ {
						if h.same(part, h.after.BarRange(bar, bar)) {
							continue
						}
						gone++
						usual := false // it plays what it plays in other bars there
						for other := sec.Bar; other < last; other++ {
							usual = usual || h.same(part, h.after.BarRange(other, other)) && inBar(h.after, part, other) == inBar(h.after, part, bar)
						}
						if bar == last || !usual {
							h.Errorf("%s plays %s in bar %d of %s", h.after.Parts[part].Name, inBar(h.after, part, bar), bar-sec.Bar+1, sec.Name)
						}
					}
				}
			}
			if gone == 0 {
				h.Skip("no drum of this loop has a fill")
			}
		},
		"Use loop B in the break": func(h ear) {
			if slices.ContainsFunc(h.got.Told, func(line string) bool { return strings.HasSuffix(line, "it is laid over it") }) {
				h.Skip("loop b has under half of this loop's parts")
			}
			b, bars := h.loopB()
			all := func(song.Part) bool { return true }
			sec := h.section("break", 1)
			if got, want := struckIn(h.after, sec.Bar+sec.Bars-1, bars, all), struckIn(b, bars, bars, all); !maps.Equal(got, want) {
				h.Errorf("the break plays %v, loop b %v", got, want)
			}
		},
		"In the drop, the lead of loop B over loop A": func(h ear) {
			b, bars := h.loopB()
			lead := func(p song.Part) bool { return strings.EqualFold(b.Tracks[p.Track].Name, "flute") }
			last := h.section("drop", 2).Bar + h.section("drop", 2).Bars - 1
			all := func(song.Part) bool { return true }
			got, was := struckIn(h.after, last, bars, all), struckIn(h.before, last, bars, all)
			flute := struckIn(b, bars, bars, lead)
			if len(flute) == 0 {
				h.Fatal("loop b has no lead")
			}
			for at, n := range flute {
				if got[at] < n {
					h.Errorf("the lead of loop b strikes %s, the drop does not", at)
				}
			}
			for i, p := range h.after.Parts {
				if p.Job != song.JobHook && p.Role != song.RoleLead && !h.same(i, h.after.BarRange(last-bars+1, last)) {
					h.Errorf("%s plays something else", p.Name)
				}
			}
			if maps.Equal(got, was) {
				h.Error("nothing changes")
			}
		},
		"The second drop bigger than the first": func(h ear) {
			two := h.section("drop", 2)
			h.between(h.level(two, 1, two.Bars, h.section("drop", 1)), 1, 3)
			if !slices.ContainsFunc(h.parts("all"), func(part int) bool { return !h.same(part, h.after.SectionRange(two)) }) {
				h.Skip("with everybody playing it is so much bigger already")
			}
			// What rings into the drop is cut where its part rests there, and struck again after it.
			h.changes(h.parts("all"), func(bar int) bool { return bar >= two.Bar-1 && bar <= two.Bar+two.Bars })
		},
		"Every 8 bars, but not in drop 2": func(h ear) {
			kick, two := h.part("kick"), h.section("drop", 2)
			if intro := h.section("intro", 1); len(onsets(h.before, kick, beats(h.before, intro.Bar+7, 4, 1))) == 0 {
				h.Skip("the kick of this loop rests on that beat")
			}
			h.changes([]int{kick}, func(bar int) bool {
				return !within(two)(bar) && slices.ContainsFunc(h.after.Sections, func(s song.Section) bool { return within(s)(bar) && (bar-s.Bar)%8 == 7 })
			})
			for _, s := range h.after.Sections {
				for bar := s.Bar + 7; s.Bar != two.Bar && bar < s.Bar+s.Bars; bar += 8 {
					h.silent(kick, beats(h.after, bar, 4, 1))
				}
			}
		},
		"The break about half as loud as the drop": func(h ear) {
			sec := h.section("break", 1)
			h.between(h.level(sec, 1, sec.Bars, h.section("drop", 1)), -11, -9)
		},
		"Start the intro with the kick and build it up": func(h ear) {
			intro := h.section("intro", 1)
			if firstBar(h.after, h.part("kick"), intro) != 1 {
				h.Error("the kick does not start it")
			}
			for bar := 9; bar <= intro.Bars; bar += 8 {
				was, is := h.powers(intro, bar-8), h.powers(intro, bar)
				louder := slices.ContainsFunc([]int{0, 1, 2}, func(band int) bool { return is[band].Level(was[band]) >= 10 })
				if !louder || is.Sum() < was.Sum() {
					h.Errorf("bars %d-%d: no band is a dB over that of the phrase before: %v and %v", bar, bar+7, is, was)
				}
			}
		},
		"Either a roll or a rise before the drop, as the take has it": func(h ear) {
			build := h.section("build", 1)
			snare := h.part("snare or clap")
			var takes []bool // rolls
			for take := 1; take <= 4; take++ {
				s := h.redraft(recipes.Options{Take: take})
				rolls := len(onsets(s, snare, s.SectionRange(build))) > len(onsets(h.before, snare, h.before.SectionRange(build)))
				rises := false
				for _, p := range h.parts("music") {
					rises = rises || !slices.EqualFunc(onsets(s, p, s.SectionRange(build)), onsets(h.before, p, h.before.SectionRange(build)), func(n, m song.Note) bool { return n.Key == m.Key })
				}
				if rolls == rises {
					h.Errorf("take %d: rolls %v, rises %v", take, rolls, rises)
				}
				takes = append(takes, rolls)
			}
			if takes[0] == takes[1] || takes[0] != takes[2] || takes[1] != takes[3] {
				h.Errorf("takes do not alternate: %v", takes)
			}
		},
		"The same take, only with the other break": func(h ear) {
			sec, first := h.section("break", 1), h.redraft(recipes.Options{})
			other := 0
			for i, p := range h.after.Parts {
				for bar := 1; bar <= h.after.Bars(); bar++ {
					r := h.after.BarRange(bar, bar)
					same := slices.Equal(onsets(first, i, r), onsets(h.after, i, r))
					switch { // what is held over the line is struck again in the bar after
					case within(sec)(bar) && !same:
						other++
					case !same && bar != sec.Bar+sec.Bars && bar != sec.Bar-1:
						h.Errorf("%s differs in bar %d", p.Name, bar)
					}
				}
			}
			if other == 0 {
				h.Error("the break is no other")
			}
		},
		"Open the filter across the break": func(h ear) {
			p, sec := h.after.Parts[h.part("stab")], h.section("break", 1)
			over := h.after.SectionRange(sec)
			last, count, end := -1, 0, -1
			for _, pt := range h.after.Points(p.Track, p.Channel, 74) {
				switch {
				case pt.Tick == over.Start && pt.Value != 0:
					h.Errorf("it starts at %d, want 0", pt.Value)
				case over.Has(pt.Tick):
					if count++; pt.Value < last {
						h.Errorf("it falls from %d to %d", last, pt.Value)
					}
					last = pt.Value
				case pt.Tick == over.End:
					end = pt.Value
				}
			}
			if count < 10 || last != end || end <= 0 {
				h.Errorf("%d events rise to %d, and home is %d", count, last, end)
			}
		},
		"A crash on each section": func(h ear) {
			struck := 0
			for _, s := range h.after.Sections {
				at := h.after.SectionRange(s).Start
				for i := range h.after.Parts {
					if i < len(h.before.Parts) && h.same(i, h.after.BarRange(s.Bar, s.Bar)) {
						continue
					}
					if slices.ContainsFunc(onsets(h.after, i, h.after.BarRange(s.Bar, s.Bar)), func(n song.Note) bool { return h.after.Counted(n.Start) == at }) {
						struck++
					}
				}
			}
			if struck != len(h.after.Sections) {
				h.Errorf("%d hits on %d sections", struck, len(h.after.Sections))
			}
		},
		"An impact on the drops": func(h ear) {
			var want, got []song.Tick
			for _, s := range drops(h) {
				want = append(want, h.after.SectionRange(s).Start)
			}
			for _, n := range h.after.Parts[h.part("impact-added")].Notes {
				if got = append(got, n.Start); n.Key != 36 || n.End-n.Start != h.after.Time().BeatTicks(1) {
					h.Errorf("it is key %d for %d ticks", n.Key, n.End-n.Start)
				}
			}
			if !slices.Equal(got, want) {
				h.Errorf("it is struck at %v, want %v", got, want)
			}
		},
		"Only the hats vary":         func(h ear) { h.changes(h.parts("hat"), anywhere) },
		"Freshen, but only the hats": func(h ear) { h.changes(h.parts("hat"), anywhere) },
		"Leave the lead's pickup before the drop": func(h ear) {
			h.itself("lead")
			b := h.section("build", 1)
			r := beats(h.after, b.Bar+b.Bars-1, 4, 1)
			for i := range h.after.Parts {
				if i == h.part("lead") {
					if !h.same(i, r) {
						h.Error("the lead changes")
					}
					continue
				}
				h.silent(i, r)
			}
		},
		"Two beats before every drop, nothing": func(h ear) {
			for _, s := range drops(h) {
				for i := range h.after.Parts {
					h.silent(i, beats(h.after, s.Bar-1, 3, 2))
					if !h.same(i, h.after.BarRange(s.Bar+1, s.Bar+1)) { // in the first bar what is held over the line is struck again
						h.Errorf("%s changes in the drop", h.after.Parts[i].Name)
					}
				}
			}
		},
		"The lead comes in on beat 3 of bar 8": func(h ear) {
			lead, intro := h.part("lead"), h.section("intro", 1)
			h.silent(lead, song.Range{Start: h.after.BarRange(1, 1).Start, End: beats(h.after, 8, 3, 1).Start})
			if n := len(onsets(h.after, lead, song.Range{Start: beats(h.after, 8, 3, 1).Start, End: h.after.SectionRange(intro).End})); n == 0 {
				h.Error("it never comes in")
			}
		},
		"An intro of 64 beats": func(h ear) {
			r := h.after.SectionRange(h.section("intro", 1))
			if was, is := h.before.Sections[0].Bars, h.section("intro", 1).Bars; was == 16 || is != 16 {
				h.Errorf("it had %d bars and has %d, want another number and 16", was, is)
			}
			if got := int(r.Len() / h.after.Time().BeatTicks(1)); got != 64 {
				h.Errorf("it has %d beats", got)
			}
			_, err := recipes.Parse("recipe.yaml", []byte("sections: [{name: intro, beats: 64}]"))
			if err == nil || !strings.Contains(err.Error(), `did you mean "bars: 16"?`) {
				h.Errorf("beats: 64 in a recipe: got %v, want the hint bars: 16", err)
			}
		},
		"Every fourth bar of the drop, no hats": func(h ear) {
			fourth := func(bar int) bool {
				return slices.ContainsFunc(drops(h), func(s song.Section) bool { return within(s)(bar) && (bar-s.Bar)%4 == 3 })
			}
			for bar := 1; bar <= h.after.Bars(); bar++ {
				if fourth(bar) {
					h.silent(h.part("hat"), h.after.BarRange(bar, bar))
				}
			}
			h.changes(h.parts("hat"), fourth)
		},
		"Thin the second half of drop 2": func(h ear) {
			drop := h.section("drop", 2)
			h.changes(h.parts("tops"), func(bar int) bool { return within(drop)(bar) && bar >= drop.Bar+16 })
			for _, p := range h.parts("tops") {
				r := h.after.BarRange(drop.Bar+16, drop.Bar+31)
				if was, is := len(onsets(h.before, p, r)), len(onsets(h.after, p, r)); is < was*4/10 || is > was*6/10 {
					h.Errorf("%s plays %d of %d notes", h.after.Parts[p].Name, is, was)
				}
			}
		},
		"Fade the pad in from nothing": func(h ear) {
			pad, sec := h.part("pad"), h.section("break", 1)
			h.changes([]int{pad}, within(sec))
			first, last := onsets(h.before, pad, h.after.SectionRange(sec)), onsets(h.after, pad, h.after.SectionRange(sec))
			if len(last) == 0 || last[0].Start == first[0].Start && last[0].Vel > 1 {
				h.Errorf("its first note is not gone")
			}
			mean := func(notes []song.Note) int {
				sum := 0
				for _, n := range notes {
					sum += int(n.Vel)
				}
				return sum / max(len(notes), 1)
			}
			if n := len(last); n < 4 || mean(last[:n/2]) >= mean(last[n/2:])*2/3 {
				h.Error("it does not rise")
			}
		},
		"Duck the bass under the kick": func(h ear) {
			p := h.after.Parts[h.part("bass")]
			points := h.after.Points(p.Track, p.Channel, 11)
			hits := 0
			for _, s := range drops(h) {
				kicks := onsets(h.after, h.part("kick"), h.after.SectionRange(s))
				for i, n := range kicks {
					at := max(n.Start, h.after.SectionRange(s).Start)
					eighth := at + h.after.Time().PPQ()/2
					if hits++; valueAt(points, at) != 51 {
						h.Errorf("at the kick on tick %d expression is %d, want 51 (40%% of 127)", at, valueAt(points, at))
					}
					if last := i == len(kicks)-1; (last || kicks[i+1].Start >= eighth) && valueAt(points, eighth-1) != 127 {
						h.Errorf("an eighth after tick %d it is %d, want 127", at, valueAt(points, eighth-1))
					}
				}
			}
			if quiet := valueAt(points, h.after.SectionRange(h.section("break", 1)).Start); hits == 0 || quiet != 127 {
				h.Errorf("%d dips; in the break it is %d, want 127", hits, quiet)
			}
		},
		"In the break the kick only on one": func(h ear) {
			sec := h.section("break", 1)
			h.changes([]int{h.part("kick")}, within(sec))
			for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar++ {
				h.silent(h.part("kick"), song.Range{Start: h.after.Time().BarStart(bar) + h.after.Time().PPQ()/8, End: h.after.Time().BarStart(bar + 1)})
				if len(onsets(h.after, h.part("kick"), h.after.BarRange(bar, bar))) == 0 {
					h.Errorf("no kick in bar %d", bar)
				}
			}
		},
		"Only bars 1 to 4 of the loop in the intro's chords": func(h ear) {
			chords := h.part("chords")
			for bar := 5; bar <= 8; bar++ {
				h.silent(chords, h.after.BarRange(bar, bar))
			}
			h.changes([]int{chords}, func(bar int) bool { return bar >= 4 && bar <= 9 }) // a note held into bar 5 is cut, one held into bar 9 struck again
		},
		"A roll over the build, a beat of rest before the drop": func(h ear) {
			b := h.section("build", 1)
			part := h.part("snare or clap")
			if was, is := len(onsets(h.before, part, h.after.SectionRange(b))), len(onsets(h.after, part, h.after.SectionRange(b))); is <= was {
				h.Errorf("%d hits, %d without the roll", is, was)
			}
			for i := range h.after.Parts {
				h.silent(i, beats(h.after, b.Bar+b.Bars-1, 4, 1))
			}
		},
		"Bring the tops in one after another": func(h ear) {
			intro := h.section("intro", 1)
			var tops []int
			for n := 1; n <= len(h.parts("tops")); n++ {
				tops = append(tops, h.part(fmt.Sprintf("tops %d", n)))
			}
			lines := (intro.Bars - 8) / 8
			for i, p := range tops {
				want := 9 + 8*(i*lines/len(tops))
				for loop := h.got.Loop; len(onsets(loop, loop.Index(h.after.Parts[p].Name), loop.BarRange((want-1)%8+1, (want-1)%8+1))) == 0; {
					want++ // it rests in that bar of the loop
				}
				if got := firstBar(h.after, p, intro); got != want {
					h.Errorf("%s comes in at bar %d, want %d", h.after.Parts[p].Name, got, want)
				}
			}
		},
		"The whole arrangement again, but 3 and a half minutes": func(h ear) {
			s, whole := h.after, h.redraft(recipes.Options{})
			off := s.Time().Micros(s.End) - 210_000_000
			phrase := s.Time().Micros(s.Time().BarStart(9))
			if off = max(off, -off); 2*off > phrase || s.Bars()%8 != 0 {
				h.Errorf("it has %d bars and is %d s off", s.Bars(), off/1_000_000)
			}
			if was := whole.Time().Micros(whole.End) - 210_000_000; max(was, -was) <= phrase {
				h.Errorf("it was %d s off already", was/1_000_000)
			}
			for i, sec := range s.Sections {
				if was, want := whole.Sections[i], whole.Sections[i].Bars*s.Bars()/whole.Bars(); was.Name != sec.Name || max(sec.Bars-want, want-sec.Bars) > 8 {
					h.Errorf("section %d is %s of %d bars, want %s of about %d", i+1, sec.Name, sec.Bars, was.Name, want)
				}
			}
		},
	}
}

// saidOn returns the demo loops on which the sentences are said.
func saidOn(t *testing.T) map[string][]recipes.Input {
	t.Helper()
	out := map[string][]recipes.Input{}
	for _, path := range []string{"harbour-lights.mid", "fog-signal.mid", "one-channel.mid", "ferry/*.mid"}[:oracle.Size(2, 4, 4)] {
		files, err := filepath.Glob("../../testdata/loops/" + path)
		if err != nil || len(files) == 0 {
			t.Fatalf("found no %s (%v)", path, err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			f, err := smf.Decode(data)
			if err != nil {
				t.Fatal(err)
			}
			out[path] = append(out[path], recipes.Input{Name: filepath.Base(file), File: f})
		}
	}
	return out
}

// namesLoop tells whether a sentence is said of two loops.
func (s sentence) namesLoop() bool {
	return slices.ContainsFunc(s.lines, func(line string) bool { return strings.Contains(line, "loop: b") || strings.Contains(line, " of b") })
}

// withSecond puts another loop beside one, as a and b.
func withSecond(t *testing.T, inputs []recipes.Input) ([]recipes.Input, *smf.File) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/loops/breaks/small-hours.mid")
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	both := slices.Clone(inputs)
	for i := range both {
		both[i].Loop = "a"
	}
	return append(both, recipes.Input{Name: "small-hours.mid", File: f, Loop: "b"}), f
}

// struckIn counts what the parts for which of says so strike in the last bars of a stretch of whole bars: where in them,
// in sixteenths, and on which key.
func struckIn(s song.Song, last, bars int, of func(song.Part) bool) map[string]int {
	over := s.BarRange(last-bars+1, last)
	out := map[string]int{}
	for _, p := range s.Parts {
		if of(p) {
			for _, n := range s.In(p, over) {
				out[fmt.Sprint((4*(n.Start-over.Start)+s.Time().PPQ()/2)/s.Time().PPQ(), " ", n.Key)]++
			}
		}
	}
	return out
}

// loopB returns loop b as a song, and its length.
func (h ear) loopB() (song.Song, int) {
	h.Helper()
	s, err := song.From(h.second)
	if err != nil {
		h.Fatal(err)
	}
	return s, s.Bars()
}

// TestSentences says each sentence of the README on three demo loops or more, those that have the parts or what stands in for them, and hears what must be heard: notes and controllers.
func TestSentences(t *testing.T) {
	rows, checks := sentences(t), heard()
	loops := 0
	times := map[string]int{} // on how many loops each is heard
	for name, inputs := range saidOn(t) {
		loops++
		draft := func(t *testing.T, text string, o recipes.Options) *recipes.Result {
			r, err := recipes.Parse("recipe.yaml", []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			got, err := recipes.Draft(inputs, r, o)
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
		alone := inputs
		for _, row := range rows {
			inputs = alone
			var second *smf.File
			if row.namesLoop() {
				inputs, second = withSecond(t, alone)
			}
			before := draft(t, sentence{}.recipe(), recipes.Options{})
			t.Run(name+"/"+row.said, func(t *testing.T) {
				got := draft(t, row.recipe(), row.options(t))
				if len(got.Warnings) > 0 {
					t.Errorf("warnings: %q", got.Warnings)
				}
				check, ok := checks[row.said]
				if !ok {
					t.Fatal("nothing says what must be heard")
				}
				times[row.said]++
				defer func() {
					if t.Skipped() {
						times[row.said]--
					}
				}()
				check(ear{t, before.Song, got.Song, second, got, func(o recipes.Options) song.Song { return draft(t, row.recipe(), o).Song }})
			})
		}
	}
	for _, row := range rows {
		if times[row.said] < 3 && loops > 3 {
			t.Errorf("%q is heard on %d loops, want 3", row.said, times[row.said])
		}
	}
	for said := range checks {
		if !slices.ContainsFunc(rows, func(r sentence) bool { return r.said == said }) {
			t.Errorf("%q is heard and does not stand in the README", said)
		}
	}
}
