package where

import (
	"errors"
	"strings"

	"loopdraft/moves/option"
)

// joinErrors makes one error of the mistakes of a list, in its order: nil for none, the
// *Mistake itself for one, else what errors.Join makes of them.
func joinErrors(mistakes []*option.Mistake) error {
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
