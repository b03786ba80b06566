package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"loopdraft/smf/picture"
)

// console is where a command reads and prints.
type console struct {
	in          io.Reader
	out         io.Writer
	diagnostics io.Writer
	getenv      func(string) string
	plain       bool // nothing but ASCII, whatever the locale says
}

// complain writes a diagnostic of one or several lines with the program's name in front.
func (c *console) complain(text string) {
	fmt.Fprintf(c.diagnostics, "%s: %s\n", program, printable(strings.TrimRight(text, "\n")))
}

// longest is the length in characters at which a line of a diagnostic is cut: a line of somebody's
// file is quoted, and that may be anything.
const longest = 400

// printable makes text fit to be shown: names and quoted lines come from files and may hold control
// characters. Each becomes one question mark, so that a caret below still points at its place; tabs
// and line ends stay.
func printable(text string) string {
	var b strings.Builder
	column := 0
	for _, r := range text {
		switch {
		case r == '\n':
			column = -1
		case column > longest:
			continue
		case column == longest:
			r = '~'
		case r != '\t' && unicode.IsControl(r):
			r = '?'
		}
		b.WriteRune(r)
		column++
	}
	return b.String()
}

// warn is complain for what is likely not meant but does not stop the work.
func (c *console) warn(text string) { c.complain("warning: " + text) }

// colour tells whether w may be given colours: it is a terminal, and nobody asked for none
// (NO_COLOR, no-color.org: set to anything but nothing).
func (c *console) colour(w io.Writer) bool {
	_, terminal := terminalWidth(w)
	return terminal && c.getenv("NO_COLOR") == "" && c.getenv("TERM") != "dumb"
}

// width returns the columns to draw for: the terminal's, else those of COLUMNS, else 80.
func (c *console) width(w io.Writer) int {
	columns, _ := terminalWidth(w)
	if columns == 0 {
		columns, _ = strconv.Atoi(c.getenv("COLUMNS"))
	}
	if columns <= 0 {
		columns = 80
	}
	return min(max(columns, picture.MinWidth), picture.MaxWidth)
}

// ascii tells whether only ASCII may be printed: --ascii says so, or the locale (its variables in POSIX
// order) names another character set than UTF-8. No locale at all says nothing.
func (c *console) ascii() bool {
	if c.plain {
		return true
	}
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if locale := strings.ToLower(c.getenv(name)); locale != "" {
			return !strings.Contains(locale, "utf-8") && !strings.Contains(locale, "utf8")
		}
	}
	return false
}

// write sends finished text to w.
func write(w io.Writer, text string) error {
	if _, err := io.WriteString(w, text); err != nil {
		return fmt.Errorf("standard output: %w", bare(err))
	}
	return nil
}

// writeJSON sends a value to w as one JSON document.
func writeJSON(w io.Writer, v any) error {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	return write(w, b.String())
}
