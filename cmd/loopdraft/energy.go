package main

import (
	"fmt"
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
