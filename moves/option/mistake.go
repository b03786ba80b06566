package option

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Mistake is an option's value, or a sentence of the recipe language, that cannot be read or that asks
// for what the song does not have.
type Mistake struct {
	Option  string // its name; "" where only the caller knows it
	Item    int    // place of the value or sentence in its list, from 0; 0 where it stands alone
	Col     int    // column of what was found in a sentence, in characters from 1; 0: Found is all of the value
	Text    string // the sentence, as written; "" for what is no sentence
	Found   string // with a column the word that stands there, "" at the end; without one, the value as it is shown
	Unknown bool   // Found says what it is a name of, such as `unknown move "mutte"`, and reads without "found"
	Want    string // what would be valid there; "" where Found says it all
	Hint    string // a word or sentence that is valid and may be meant; several in brackets, bare where the sentence is one of a list; "" where nothing is close
}

// Error returns the option's name, if it is known, what was found, what is wanted and, if something is
// close, what may be meant.
func (e *Mistake) Error() string {
	s := e.Shown()
	if !e.Unknown {
		s = "found " + s
	}
	if e.Want != "" {
		s += ", want " + e.Want
	}
	if e.Hint != "" {
		s += "; did you mean " + strconv.Quote(e.Hint) + "?"
	}
	if e.Option != "" {
		s = e.Option + ": " + s
	}
	return s
}

// Shown returns what was found as it is shown: a word of a sentence in quotes, numbers and places bare.
func (e *Mistake) Shown() string {
	switch {
	case e.Col == 0:
		return e.Found
	case e.Found == "":
		return "nothing"
	case strings.Trim(e.Found, "0123456789./-") == "":
		return e.Found
	}
	return strconv.Quote(e.Found)
}

// Named names the option in an error, or in each of several joined.
func Named(option string, err error) error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range many.Unwrap() {
			out = append(out, Named(option, e))
		}
		return errors.Join(out...)
	}
	var m *Mistake
	if errors.As(err, &m) {
		named := *m
		named.Option = option
		return &named
	}
	return fmt.Errorf("%s: %w", option, err)
}
