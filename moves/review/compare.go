package review

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Comparison is two arrangements side by side, section by section.
type Comparison struct {
	Bars     [2]int            `json:"bars"`
	Seconds  [2]float64        `json:"seconds"`
	Added    []string          `json:"added"`    // parts that sound in the second alone
	Gone     []string          `json:"gone"`     // parts that sound in the first alone
	Sections []SectionCompared `json:"sections"` // in order; those of one alone stand where they would be
	Same     bool              `json:"same"`     // no section, part or note differs
}

// SectionCompared is a section of both arrangements, or of one.
type SectionCompared struct {
	Name    string        `json:"name"` // in the first, if it is there
	First   *SectionOfOne `json:"first"`
	Second  *SectionOfOne `json:"second"`  // nil: it is not there
	In      []string      `json:"in"`      // parts that sound in it in the second alone
	Out     []string      `json:"out"`     // parts that sound in it in the first alone
	Changed []PartChanged `json:"changed"` // parts that sound in it in both and differ
	Louder  float64       `json:"louder"`  // by how much the second is, in dB; 0 where one has none
}

// SectionOfOne is a section as one of the arrangements has it.
type SectionOfOne struct {
	Section
	OfFull float64  `json:"of_full"` // how loud its mean power is, as a share of the loudest phrase's
	DB     float64  `json:"db"`      // the same in dB
	Parts  []string `json:"parts"`   // that sound in it
}

// PartChanged is a part that plays other notes.
type PartChanged struct {
	Part string `json:"part"`
	Bars []int  `json:"bars"` // that differ, counted in the second arrangement
}

// Compare compares two arrangements by their sections. Sections are brought together in order by their
// names and kinds, as many as can be; bars of two by their place in them, from the start; parts by name. Bars
// differ where a note has another start, key, length or velocity; where the resolutions of the files differ,
// starts and lengths count in 1/64 notes. Songs without common bars or without any bar, and of more than 1000
// sections, are an error.
func Compare(a, b song.Song) (Comparison, error) {
	var s [2]*subject
	for i, x := range []song.Song{a, b} {
		var err error
		if s[i], err = newSubject(Input{Song: x}, Options{Checks: []Check{}}); err != nil {
			return Comparison{}, err
		}
		if n := len(s[i].song.Sections); n > mostSections {
			return Comparison{}, fmt.Errorf("found %d sections, want at most %d to compare", n, mostSections)
		}
	}
	grains := [2]song.Tick{1, 1}
	if s[0].time.PPQ() != s[1].time.PPQ() {
		grains = [2]song.Tick{max(s[0].time.PPQ()/16, 1), max(s[1].time.PPQ()/16, 1)}
	}
	c := Comparison{Added: []string{}, Gone: []string{}, Sections: []SectionCompared{}, Same: true}
	for i, x := range s {
		c.Bars[i], c.Seconds[i] = x.bars, tenth(float64(x.time.Micros(x.song.End))/1e6)
	}
	all := [2][]string{s[0].names(s[0].heard()), s[1].names(s[1].heard())}
	c.Added, c.Gone = without(all[1], all[0]), without(all[0], all[1])
	contents := [2]map[string][]uint64{s[0].contents(grains[0]), s[1].contents(grains[1])}
	for _, p := range together(s[0].song.Sections, s[1].song.Sections) {
		c.Sections = append(c.Sections, compareSection(s, contents, p))
	}
	c.Same = c.Bars[0] == c.Bars[1] && c.Seconds[0] == c.Seconds[1] && len(c.Added)+len(c.Gone) == 0 &&
		!slices.ContainsFunc(c.Sections, func(x SectionCompared) bool {
			return x.First == nil || x.Second == nil || x.First.Bars != x.Second.Bars || len(x.In)+len(x.Out)+len(x.Changed) > 0
		})
	return c, nil
}

// without returns the words of one list that are not in another.
func without(list, other []string) []string {
	out := []string{}
	for _, w := range list {
		if !slices.Contains(other, w) {
			out = append(out, w)
		}
	}
	return out
}

// contents returns for each part that is heard what its bars hold, by name: numbers that are equal where all
// notes are. Times are counted in grains.
func (s *subject) contents(grain song.Tick) map[string][]uint64 {
	out := map[string][]uint64{}
	steps := func(t song.Tick) uint64 { return uint64((t + grain/2) / grain) }
	for _, i := range s.heard() {
		bars := make([]uint64, s.bars)
		for _, n := range s.song.Parts[i].Notes {
			b := s.barAt(n.Start)
			bars[b-1] += mix(mix(steps(n.Start-s.time.BarStart(b))) ^ steps(n.End-n.Start)<<16 ^ uint64(n.Key)<<8 ^ uint64(n.Vel))
		}
		out[s.song.Parts[i].Name] = bars
	}
	return out
}

// mostSections is how many sections of a song are compared.
const mostSections = 1000

// pairing is a section of the first arrangement and one of the second, by index; -1 for none.
type pairing struct{ a, b int }

// alike tells how much two sections are meant to be the same: by name most, else by kind; 0 for not.
func alike(a, b song.Section) int {
	switch {
	case strings.EqualFold(a.Name, b.Name):
		return 3
	case a.Kind == b.Kind && a.Kind != song.NoKind:
		return 2
	}
	return 0
}

// together brings sections together that are alike, in order, so that as much as can be is: a longest common
// subsequence. Of what is in one alone the first's comes before the second's.
func together(a, b []song.Section) []pairing {
	best := make([][]int, len(a)+1) // from there on
	for i := range best {
		best[i] = make([]int, len(b)+1)
	}
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			best[i][j] = max(best[i+1][j], best[i][j+1])
			if score := alike(a[i], b[j]); score > 0 {
				best[i][j] = max(best[i][j], best[i+1][j+1]+score)
			}
		}
	}
	var out []pairing
	for i, j := 0, 0; i < len(a) || j < len(b); {
		switch {
		case i < len(a) && j < len(b) && alike(a[i], b[j]) > 0 && best[i][j] == best[i+1][j+1]+alike(a[i], b[j]):
			out = append(out, pairing{i, j})
			i, j = i+1, j+1
		case j == len(b) || i < len(a) && best[i+1][j] >= best[i][j+1]:
			out = append(out, pairing{i, -1})
			i++
		default:
			out = append(out, pairing{-1, j})
			j++
		}
	}
	return out
}

func compareSection(s [2]*subject, contents [2]map[string][]uint64, p pairing) SectionCompared {
	c := SectionCompared{In: []string{}, Out: []string{}, Changed: []PartChanged{}}
	if p.a >= 0 {
		c.First, c.Name = s[0].sectionOfOne(p.a), s[0].titles[p.a]
	}
	if p.b >= 0 {
		c.Second = s[1].sectionOfOne(p.b)
		if c.Name == "" {
			c.Name = s[1].titles[p.b]
		}
	}
	if c.First == nil || c.Second == nil {
		return c
	}
	c.In, c.Out = without(c.Second.Parts, c.First.Parts), without(c.First.Parts, c.Second.Parts)
	if s[0].measured && s[1].measured && c.First.Bars > 0 && c.Second.Bars > 0 {
		c.Louder = tenth(s[1].sectionLevel(p.b) - s[0].sectionLevel(p.a))
	}
	for _, name := range c.Second.Parts {
		if !slices.Contains(c.First.Parts, name) {
			continue
		}
		if bars := differing(contents[0][name], contents[1][name], c.First.Section, c.Second.Section); len(bars) > 0 {
			c.Changed = append(c.Changed, PartChanged{name, bars})
		}
	}
	return c
}

// differing returns the bars of a section of the second arrangement that are not as the bars in their place in
// the first; bars that the first has not are none of them.
func differing(first, second []uint64, a, b Section) []int {
	var out []int
	for i := range min(a.Bars, b.Bars) {
		if first[a.Bar-1+i] != second[b.Bar-1+i] {
			out = append(out, b.Bar+i)
		}
	}
	return out
}

func (s *subject) sectionOfOne(i int) *SectionOfOne {
	out := &SectionOfOne{Section: s.sections()[i], Parts: []string{}}
	first, end := out.Bar, out.Bar+out.Bars-1
	if !s.measured || out.Bars < 1 {
		return out
	}
	for _, p := range s.heard() {
		if s.playing(p, first, end) > 0 {
			out.Parts = append(out.Parts, s.song.Parts[p].Name)
		}
	}
	told := s.energy.Tell(s.song.Sections[i], s.energy.Full(form.FullPhrase))
	out.OfFull, out.DB = told.OfFull, told.DB
	return out
}
