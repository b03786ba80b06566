package where

import (
	"errors"

	"loopdraft/moves/option"
)

// sentences is a list of sentences of one rule of the language: what spans, places, parts and line-ups
// have in common.
type sentences[T phrase] struct {
	items []T
	bad   error // the mistakes in the texts that it was made of
}

// read reads a list of texts; want says what one looks like, "" if the list may be empty. Its error is
// a [*option.Mistake]; of several mistakes, what [errors.Join] makes of them.
func read[T phrase](texts []string, rule func(*phraseParser) (T, *option.Mistake), rewrites []rewrite, want string) sentences[T] {
	items, mistakes := readSentences(texts, rule, rewrites)
	if len(texts) == 0 && want != "" {
		mistakes = []*option.Mistake{{Col: 1, Want: want}}
	}
	if err := joinErrors(mistakes); err != nil {
		return sentences[T]{bad: err}
	}
	return sentences[T]{items: items}
}

// Texts returns each sentence in the words of the language; read again they are the same sentences.
func (s sentences[T]) Texts() []string { return phraseTexts(s.items) }

// String returns the one sentence there is, or a list in brackets; "" for the zero value.
func (s sentences[T]) String() string {
	if len(s.items) == 0 {
		return ""
	}
	return bracketed(s.Texts())
}

// IsZero tells whether nothing was given.
func (s sentences[T]) IsZero() bool { return s.items == nil && s.bad == nil }

// TakesList says that several may be given.
func (s sentences[T]) TakesList() {}

// each returns a list of each sentence alone.
func (s sentences[T]) each() []sentences[T] {
	var out []sentences[T]
	for _, item := range s.items {
		out = append(out, sentences[T]{items: []T{item}})
	}
	return out
}

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
