package moves

import (
	"errors"
	"fmt"
	"strings"
)

// GrammarError is a sentence of the recipe language that cannot be read, or that asks for what the
// song does not have.
type GrammarError struct {
	Text  string // the sentence, as written
	Index int    // its place in its list, from 0; 0 for a sentence that stands alone
	Col   int    // column of what was found, in characters from 1
	Found string // what was found there; "" where the sentence ends
	Want  string // what would be valid there
	Hint  string // a word or sentence that is valid and may be meant; several in brackets, bare where the sentence is one of a list; "" where nothing is close
}

// Error returns what was found, what is wanted and, if something is close, what may be meant.
func (e *GrammarError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "found %s, want %s", quoted(e.Found), e.Want)
	if e.Hint != "" {
		fmt.Fprintf(&b, "; did you mean %q?", e.Hint)
	}
	return b.String()
}

// quoted puts words in quotes and leaves numbers and places bare.
func quoted(found string) string {
	switch {
	case found == "":
		return "nothing"
	case strings.Trim(found, "0123456789./-") == "":
		return found
	}
	return fmt.Sprintf("%q", found)
}

// joinErrors makes one error of the mistakes of a list, in its order: nil for none, the
// *GrammarError itself for one, else what errors.Join makes of them.
func joinErrors(mistakes []*GrammarError) error {
	switch len(mistakes) {
	case 0:
		return nil
	case 1:
		return mistakes[0]
	}
	all := make([]error, len(mistakes))
	for i, m := range mistakes {
		all[i] = m
	}
	return errors.Join(all...)
}

// bracketed writes one text as it is, several as a list.
func bracketed(texts []string) string {
	if len(texts) == 1 {
		return texts[0]
	}
	return "[" + strings.Join(texts, ", ") + "]"
}
