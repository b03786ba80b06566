package where

import (
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// sentence returns a rule of the language as a regular expression. The grammar refers to itself, which an
// expression cannot do: it takes every sentence, but also takes words of the language for names, numbers that
// fall, and what stands behind "from" in any order. A space in a rule stands for what parts words. It is written
// so that every engine takes what splitWords takes: whatever is no printing character of ASCII.
func sentence(pattern string) string {
	for _, rule := range [][2]string{
		{"PLACE", `(?:(?:EDGE )?SPAN|POS|end)`},
		{"SPAN", `(?:(?:OF|BESIDE|BESIDE EDGE) )*(?:CORE|BESIDE (?:POS|end)|FROM)`},
		{"FROM", `from INNER(?: to INNER)+`},
		{"INNER", `(?:(?:OF|BESIDE|EDGE|from) )*(?:CORE|POS|end)`},
		{"OF", `(?:(?:loop )?(?:bar NUM|bars RANGE)|beat (?:RANGE|NUM)|PORTION|(?:first|last|every|every other) LENGTH) of`},
		{"CORE", `(?:all|(?:loop )?(?:bar NUM|bars RANGE)|NAMEDBUT|every NAMEBUT|(?:first|last|every|every other) LENGTH|POSDASHPOS)`},
		{"BESIDE", `LENGTH (?:before|after)`},
		{"EDGE", `(?:start|end) of`},
		{"LENGTH", `(?:(?:NUM )?(?:bars?|beats?)|NUM/NUM)`},
		{"PORTION", `(?:(?:first|last) (?:half|third|quarter)|second half)`},
		{"POINT", `NUM(?:\.NUM)?`},
		{"LINED", `(?:allBUT|NAMED(?: of NAME)?)`},
		{"ITEM", `(?:allBUT|NAMED)`},
		{"BUT", `(?: but NAMED(?: and NAMED)*)?`},
		{"NAMED", `NAME(?: NUM)?`},
		{"NAME", sectionPattern},
		{"RANGE", `NUMDASHNUM`},
		{"POS", `NUM\.NUM`},
		{"DASH", `[^!-~]*-[^!-~]*`},
		{"NUM", `0*[1-9][0-9]{0,5}`},
		{" ", `[^!-~]+`},
	} {
		pattern = strings.ReplaceAll(pattern, rule[0], rule[1])
	}
	return "[^!-~]*(?:" + pattern + ")[^!-~]*"
}

// sectionPattern takes lower-case letters, digits and hyphens, a letter first. Engines differ in which
// letters there are outside ASCII, so all that stands there is taken for one.
const sectionPattern = `[^\x00-\x60{-\x7f][^\x00-,./:-\x60{-\x7f]*`

// SectionNameForm says what the name of a section looks like.
func SectionNameForm() option.Form {
	return option.Form{Pattern: sectionPattern, Except: reservedWords()}
}

// SectionForm says what one section of a song looks like: its name, and its number where several bear it.
func SectionForm() option.Form {
	return option.Form{Name: "section", Pattern: sectionPattern + "(?: 0*[1-9][0-9]*)?"}
}

// BarsForm says what a length in whole bars looks like, as in "8 bars".
func BarsForm() option.Form {
	return option.Form{Pattern: option.DigitsBetween(1, song.MaxBars) + " bars?"}
}
