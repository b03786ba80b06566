package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// intoDrop is how many bars before a drop count as the way into it.
const intoDrop = 8

// takeLines tells of each of several takes, in a line, what sets it apart from the others: its form, which drums enter
// the intro in which order, who carries the first break, what leads into the first drop, and its choices as --choose
// takes them. What is the same in all takes is left out.
func takeLines(takes []take) []string {
	if len(takes) < 2 {
		return nil
	}
	facts := make([][]string, len(takes))
	for i, t := range takes {
		s := t.result.Song
		facts[i] = []string{formOf(s), entriesOf(s), carriersOf(s), wayOf(t.result)}
	}
	var out []string
	for i, t := range takes {
		var parts []string
		for k, fact := range facts[i] {
			if fact != "" && slices.ContainsFunc(facts, func(other []string) bool { return other[k] != fact }) {
				parts = append(parts, fact)
			}
		}
		if len(parts) == 0 {
			parts = []string{"of the same form as the others"}
		}
		line := shown(t.midi) + ": " + strings.Join(parts, "; ")
		if len(t.result.Choices) > 0 {
			line += ";"
		}
		for _, choice := range t.result.Choices {
			line += " --choose " + choice.String()
		}
		out = append(out, line)
	}
	return out
}

// formOf lists the sections of a draft with their bars.
func formOf(s song.Song) string {
	var out []string
	for _, sec := range s.Sections {
		out = append(out, fmt.Sprintf("%s %d", sec.Name, sec.Bars))
	}
	return strings.Join(out, ", ")
}

// entriesOf lists the parts that enter the intro after its first bar, in their order.
func entriesOf(s song.Song) string {
	sec, ok := first(s, song.KindIntro)
	if !ok {
		return ""
	}
	type entry struct {
		bar  int
		name string
	}
	var in []entry
	for _, p := range s.Parts {
		notes := s.In(p, s.BarRange(sec.Bar, sec.Bar+sec.Bars-1))
		if len(notes) == 0 || p.Role == song.RoleTrigger {
			continue
		}
		if bar := s.Time().BarOf(s.Counted(notes[0].Start)); bar > sec.Bar+1 {
			in = append(in, entry{bar, p.Name})
		}
	}
	if len(in) == 0 {
		return ""
	}
	slices.SortStableFunc(in, func(a, b entry) int { return cmp.Compare(a.bar, b.bar) })
	var names []string
	for _, e := range in {
		names = append(names, e.name)
	}
	return sec.Name + ": " + fewNames(names, ", then ")
}

// carriersOf lists the music of the first break, the parts with most notes first.
func carriersOf(s song.Song) string {
	sec, ok := first(s, song.KindBreak)
	if !ok {
		return ""
	}
	var music, others []song.Part
	count := func(p song.Part) int { return len(s.In(p, s.BarRange(sec.Bar, sec.Bar+sec.Bars-1))) }
	for _, p := range s.Parts {
		switch {
		case p.Role == song.RoleTrigger || count(p) == 0:
		case p.Pitched():
			music = append(music, p)
		default:
			others = append(others, p)
		}
	}
	if len(music) == 0 {
		music = others
	}
	slices.SortStableFunc(music, func(a, b song.Part) int { return cmp.Compare(count(b), count(a)) })
	var names []string
	for _, p := range music {
		names = append(names, p.Name)
	}
	return "first break: " + fewNames(names, ", ")
}

// wayOf lists the moves in the last bars before the first drop, in the order in which they were made.
func wayOf(r *recipes.Result) string {
	sec, ok := first(r.Song, song.KindDrop)
	if !ok || sec.Bar == 1 {
		return ""
	}
	before := r.Song.BarRange(max(sec.Bar-intoDrop, 1), sec.Bar-1)
	var names []string
	for _, c := range r.Changes {
		ends := slices.ContainsFunc(c.Ranges, func(x song.Range) bool { return x.End == before.End && x.Start >= before.Start })
		if ends && c.Move != "line-up" && c.Move != "shape" && !strings.HasPrefix(c.Move, loopMove) && !slices.Contains(names, c.Move) {
			names = append(names, c.Move)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "into the first drop: " + strings.Join(names, ", ")
}

// first returns the first section of a kind.
func first(s song.Song, kind song.Kind) (song.Section, bool) {
	i := slices.IndexFunc(s.Sections, func(sec song.Section) bool { return sec.Kind == kind })
	if i < 0 {
		return song.Section{}, false
	}
	return s.Sections[i], true
}

// fewNames lists names, at most four of them.
func fewNames(names []string, between string) string {
	const most = 4
	if len(names) > most {
		return strings.Join(names[:most], between) + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, between)
}
