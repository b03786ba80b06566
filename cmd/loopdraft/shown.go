package main

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf16"
)

// This file is the one way in which text of somebody else, a name or a line of a file, is made fit to
// be shown.

// unfit tells whether a character does something to a terminal or to the text around it instead of being
// seen: control characters, line and paragraph separators, and format characters, such as those that
// turn the direction of writing. The two that join or part letters are kept: names in Persian or Hindi
// are misspelt without them.
func unfit(r rune) bool {
	const joiner, nonJoiner = 0x200D, 0x200C
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp) && r != joiner && r != nonJoiner
}

// fit puts a question mark for each unfit character, save those kept.
func fit(text, kept string) string {
	return strings.Map(func(r rune) rune {
		if unfit(r) && !strings.ContainsRune(kept, r) {
			return '?'
		}
		return r
	}, text)
}

// visible makes a name fit to stand in a line. Every name that comes from outside goes through it
// before it becomes part of a message or of what is printed.
func visible(name string) string { return fit(name, "") }

// shown is how a file is called in what is printed.
func shown(name string) string {
	if name == stream {
		return "standard output"
	}
	return visible(name)
}

// longest is the length in characters at which a line of a diagnostic is cut: a line of somebody's
// file is quoted, and that may be anything.
const longest = 400

// printable makes text of several lines fit to be shown: each unfit character becomes one question mark,
// so that a caret below still points at its place; tabs and line ends stay.
func printable(text string) string {
	var b strings.Builder
	column := 0
	for _, r := range fit(text, "\t\n") {
		switch {
		case r == '\n':
			column = -1
		case column > longest:
			continue
		case column == longest:
			r = '~'
		}
		b.WriteRune(r)
		column++
	}
	return b.String()
}

// line makes text fit to be shown in one line.
func line(text string) string { return strings.ReplaceAll(printable(text), "\n", "?") }

// whole is line without an end to how long it is, for text of which the program says most.
func whole(text string) string {
	var b strings.Builder
	for _, word := range strings.Fields(text) {
		b.WriteString(line(word) + " ")
	}
	return b.String()
}

// escaped writes the unfit characters of a document in JSON as \uXXXX, which says the same in a text between double
// quotes (RFC 8259 section 7), and nowhere else do such characters stand. Line ends stand between values only.
func escaped(document string) string {
	var b strings.Builder
	for _, r := range document {
		switch {
		case r == '\n' || !unfit(r):
			b.WriteRune(r)
		case r > 0xFFFF:
			high, low := utf16.EncodeRune(r)
			fmt.Fprintf(&b, `\u%04x\u%04x`, high, low)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	return b.String()
}
