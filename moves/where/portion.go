package where

import "slices"

// portion is a share of some bars: first half, last third.
type portion struct {
	outer string // first, last or second
	size  string // half, third or quarter
	col   int
}

func (p portion) text() string { return p.outer + " " + p.size }

// cut returns the bars from (included) to (not included), counted from 0, that the portion has of a
// number of bars. The line is the nearest to the share, halves up; of a single bar, or none, it has
// all.
func (p portion) cut(bars int) (from, to int) {
	den := 2 + slices.Index(portionSizes(), p.size)
	num := 1
	if p.outer != "first" {
		num = den - 1
	}
	line := (2*bars*num + den) / (2 * den)
	if p.outer == "first" {
		return 0, min(max(line, 1), bars)
	}
	return max(min(line, bars-1), 0), bars
}

// portionSizes are the words for a share, a half first: the n-th is one of n + 2 parts.
func portionSizes() []string { return []string{"half", "third", "quarter"} }

func isPortionSize(text string) bool { return slices.Contains(portionSizes(), text) }

const wantPortion = `"first" or "last" and "half", "third" or "quarter", or "second half"`
