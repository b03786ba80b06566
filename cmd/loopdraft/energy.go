package main

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// What full is.
const (
	loopEnergy = "100% is all of the loop in its loudest phrase, played by General MIDI sounds"
	songEnergy = "100% is the song's loudest phrase, played by General MIDI sounds"
)

// energyLines tells in a line how loud each section is, and in another against what; nothing of a song without
// sections.
func energyLines(s song.Song, e form.Energy, full form.Power, what string) []string {
	if len(s.Sections) == 0 {
		return nil
	}
	var out []string
	for i, name := range song.SectionNames(s.Sections) {
		told := e.Tell(s.Sections[i], full)
		out = append(out, name+" "+energyText(told.OfFull, told.DB))
	}
	return []string{strings.Join(out, "; "), what}
}

// askedLines tells of each section how loud it is and, where its recipe asks for an energy, what that is and what each
// unit reached; in another line against what.
func askedLines(s song.Song, e form.Energy, full form.Power, asked []form.Asked) []string {
	if len(asked) == 0 {
		return energyLines(s, e, full, loopEnergy)
	}
	var out []string
	for i, name := range song.SectionNames(s.Sections) {
		told := e.Tell(s.Sections[i], full)
		text := name + " " + energyText(told.OfFull, told.DB)
		if a, ok := form.AskedOf(asked, s.Sections[i]); ok {
			var reached []string
			for _, u := range a.Units {
				reached = append(reached, percentText(u.Reached(e, full)))
			}
			words := a.Words(full)
			if same := slices.Compact(slices.Clone(words)); len(same) == 1 {
				words = same
			}
			text += ": asked " + strings.Join(words, ", ") + ", reached " + strings.Join(reached, ", ")
		}
		out = append(out, text)
	}
	return append(out, loopEnergy)
}

// tellAsked writes into sections what is asked of their energy, and what each unit reached.
func (out *songJSON) tellAsked(s song.Song, e form.Energy, full form.Power, asked []form.Asked) {
	for i, sec := range s.Sections {
		a, ok := form.AskedOf(asked, sec)
		if !ok {
			continue
		}
		told := askedJSON{Energy: a.Text, Units: []unitJSON{}}
		for _, u := range a.Units {
			unit := unitJSON{Bar: u.First, Bars: u.Last - u.First + 1, OfFull: u.Reached(e, full)}
			if least, most, ok := u.Range(full); ok {
				unit.Least, unit.Most = &least, &most
			}
			told.Units = append(told.Units, unit)
		}
		out.Sections[i].Asked = &told
	}
}

// tellEnergy writes into sections how loud they are.
func (out *songJSON) tellEnergy(s song.Song, e form.Energy, full form.Power) {
	for i, sec := range s.Sections {
		told := e.Tell(sec, full)
		out.Sections[i].OfFull, out.Sections[i].DB = &told.OfFull, &told.DB
	}
}

// energyText tells how loud a section is.
func energyText(ofFull, db float64) string {
	if db <= form.SilenceLevel/10 {
		return "silent"
	}
	return fmt.Sprintf("%s, %.1f dB", percentText(ofFull), db)
}
