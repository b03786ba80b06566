package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"loopdraft/smf/picture"
)

// console is where a command reads and prints.
type console struct {
	in          io.Reader
	out         io.Writer
	diagnostics io.Writer
	getenv      func(string) string
	plain       bool // nothing but ASCII, whatever the locale says
	follows     bool // files are read again and again: a pipe or a device is refused, which may give nothing for ever
	progress    progress
	help        *helpWriter
}

// helpWriter prints help, which the flag library writes without looking whether that works.
type helpWriter struct {
	c   *console
	err error // the first
}

func (h *helpWriter) Write(p []byte) (int, error) {
	if h.err == nil {
		h.err = h.c.write(h.c.out, string(p))
	}
	return len(p), nil
}

// newConsole makes a console; what a command is at is told on diagnostics if that is a terminal.
func newConsole(in io.Reader, out, diagnostics io.Writer, getenv func(string) string) *console {
	c := &console{in: in, out: out, diagnostics: diagnostics, getenv: getenv}
	c.help = &helpWriter{c: c}
	if width, terminal := terminalWidth(diagnostics); terminal && getenv("TERM") != "dumb" {
		c.progress.w, c.progress.width = diagnostics, width
	}
	return c
}

// complain writes a diagnostic of one or several lines with the program's name in front.
func (c *console) complain(text string) {
	c.progress.mu.Lock()
	defer c.progress.mu.Unlock()
	c.progress.clear()
	fmt.Fprintf(c.diagnostics, "%s: %s\n", program, printable(strings.TrimRight(text, "\n")))
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

// write sends finished text to w, a stream of the console. Nothing of it works on a terminal but line ends,
// tabs and, where w may be given them, colours.
func (c *console) write(w io.Writer, text string) error {
	kept := "\n\t"
	if c.colour(w) {
		kept += "\x1b"
	}
	return c.send(w, fit(text, kept))
}

// send sends bytes as they are to w, a stream of the console.
func (c *console) send(w io.Writer, data string) error {
	c.progress.rest()
	if _, err := io.WriteString(w, data); err != nil {
		return fmt.Errorf("standard output: %w", bare(err))
	}
	return nil
}

// writeJSON sends a value to w as one JSON document.
func (c *console) writeJSON(w io.Writer, v any) error {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	return c.send(w, escaped(b.String()))
}
