package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"loopdraft/recipes"
)

// Exit codes.
const (
	exitDone    = 0
	exitFailure = 1 // bad input, or something could not be read or written
	exitUsage   = 2 // the command line makes no sense
	exitFound   = 3 // a strict review found something

	exitSignal = 128 // and the number of the signal that ended the program while it wrote
)

// program is the name in front of every diagnostic.
const program = "loopdraft"

// run carries out one command line, without the program's name, and returns the exit code. Results
// go to stdout, everything else to stderr.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer, getenv func(string) string) int {
	c := newConsole(stdin, stdout, stderr, getenv)
	defer c.progress.rest()
	app := newApp(c)
	words, err := arrange(args, app)
	if err == nil {
		err = cmp.Or(app.Run(words), c.help.err)
	}
	if err == nil {
		return exitDone
	}
	if errors.Is(err, errNotDone) {
		return exitFound
	}
	c.fail(err)
	var usage *usageError
	if errors.As(err, &usage) {
		return exitUsage
	}
	return exitFailure
}

// mostMistakes is how many mistakes of a recipe are told: nobody reads more at once.
const mostMistakes = 100

// fail prints an error; each mistake of a recipe is a diagnostic of its own.
func (c *console) fail(err error) {
	var mistakes *recipes.Errors
	if !errors.As(err, &mistakes) {
		c.complain(err.Error())
		return
	}
	for _, m := range mistakes.List[:min(len(mistakes.List), mostMistakes)] {
		c.complain(m.Error())
	}
	if more := len(mistakes.List) - mostMistakes; more > 0 {
		c.complain(fmt.Sprintf("%s: %d more mistakes", mistakes.List[0].File, more))
	}
}

// usageError is a command line that makes no sense.
type usageError struct {
	command string // "" before any command
	text    string
}

// Error returns the mistake in one line and, in a second, where the right usage is told.
func (e *usageError) Error() string {
	if e.command == "" {
		return e.text + "\nusage: " + program + " COMMAND ...; " + program + " help lists the commands"
	}
	return e.command + ": " + e.text + "\nusage: " + usageOf(e.command)
}

func misuse(command, format string, args ...any) error {
	return &usageError{command, fmt.Sprintf(format, args...)}
}

// meant adds the nearest valid word to a message, if there is one.
func meant(word string) string {
	if word == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", word)
}

// listed joins words for a message.
func listed(words []string) string { return strings.Join(words, ", ") }
