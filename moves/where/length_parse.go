package where

import (
	"strings"

	"loopdraft/moves/option"
)

// parseLength reads a length; texts is one text. The error is a [*option.Mistake].
func parseLength(texts ...string) (Length, error) {
	if len(texts) != 1 {
		e := &option.Mistake{Col: 1, Want: wantLength}
		if len(texts) > 1 {
			e.Text, e.Item, e.Found, e.Want = texts[1], 1, texts[1], "a single length"
		}
		return Length{bad: e}, e
	}
	l, e := readSentence(texts[0], 0, (*phraseParser).length, lengthRewrites())
	if e != nil {
		if strings.HasPrefix(e.Hint, "[") {
			e.Hint = "" // a list is no length
		}
		return Length{bad: e}, e
	}
	return l, nil
}

// LengthOf is [parseLength] for literals: the error is kept and returned by [Length.Err].
func LengthOf(text string) Length {
	l, _ := parseLength(text)
	return l
}

// UnmarshalTexts sets the length from one text; see [parseLength].
func (l *Length) UnmarshalTexts(texts []string) error {
	got, err := parseLength(texts...)
	*l = got
	return err
}
