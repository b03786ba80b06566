package recipes

import (
	"strconv"
	"strings"
)

// Error is one mistake in a recipe: where it stands, what was found and what is wanted.
type Error struct {
	File    string // as it was given to [Parse]
	Line    int    // from 1; 0: in no place of the file
	Col     int    // in characters, from 1; 0: somewhere in the line
	Path    string // such as moves[3].mute.over; items of lists count from 1
	Found   string
	Unknown bool   // Found says what it is a name of, such as `unknown move "mutte"`, and reads without "found"
	Want    string // "" where Found says it all
	Hint    string // the nearest valid word, or what was probably meant; "" for none
	Source  string // the line as it stands in the file; "" where Line is 0
	First   int    // line of the first of two equal keys; 0 elsewhere
}

// mostQuoted is how many characters of a line are quoted with a mistake: nobody sees a caret further on.
const mostQuoted = 400

// Error returns the mistake in one line, and, where the place is known, the line of the file below
// it with a caret under the column. Of a long line the beginning is quoted, if the column is in it.
func (e *Error) Error() string {
	text := e.message()
	if e.Line == 0 || e.Col > mostQuoted {
		return text
	}
	source := strings.TrimRight(beginning(e.Source), " \t\r")
	text += "\n    " + source
	if e.Col > 0 && source != "" {
		text += "\n    " + caret(source, e.Col)
	}
	return text
}

func (e *Error) message() string {
	var b strings.Builder
	b.WriteString(e.place())
	if e.Path != "" {
		b.WriteString(e.Path + ": ")
	}
	switch {
	case e.First > 0:
		b.WriteString(e.Found + "; first at line " + strconv.Itoa(e.First))
	case e.Want == "" || e.Unknown:
		b.WriteString(e.Found)
	default:
		b.WriteString("found " + e.Found)
	}
	if e.Want != "" {
		b.WriteString(", want " + e.Want)
	}
	if e.Hint != "" {
		b.WriteString("; did you mean " + strconv.Quote(e.Hint) + "?")
	}
	return b.String()
}

// place returns "club.yaml:7:5: ", as far as the place is known.
func (e *Error) place() string {
	at := e.File
	if e.Line > 0 {
		at += ":" + strconv.Itoa(e.Line)
		if e.Col > 0 {
			at += ":" + strconv.Itoa(e.Col)
		}
	}
	if at == "" {
		return ""
	}
	return at + ": "
}

// beginning returns the characters of a line that are quoted, and one more where there are more.
func beginning(line string) string {
	n := 0
	for i := range line {
		if n++; n > mostQuoted+1 {
			return line[:i]
		}
	}
	return line
}

// caret returns blanks and a caret that stands under a column; tabs of the line stay tabs, so that
// the caret stands right however wide they are drawn.
func caret(line string, col int) string {
	var b strings.Builder
	at := 1
	for _, r := range line {
		if at == col {
			break
		}
		if r == '\t' {
			b.WriteByte('\t')
		} else {
			b.WriteByte(' ')
		}
		at++
	}
	return b.String() + "^"
}

// Errors are all mistakes of a recipe, in file order.
type Errors struct{ List []*Error }

// Error returns the mistakes one below the other.
func (e *Errors) Error() string {
	var lines []string
	for _, m := range e.List {
		lines = append(lines, m.Error())
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives [errors.As] each mistake.
func (e *Errors) Unwrap() []error {
	var out []error
	for _, m := range e.List {
		out = append(out, m)
	}
	return out
}
