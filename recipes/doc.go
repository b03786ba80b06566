// Package recipes is the recipe language and its runner: [Parse] reads a recipe, [Draft] carries it
// out on loops, [Result.WriteRecipe] writes the whole draft out as a recipe again.
//
// A recipe is YAML: length, phrase, seed, loop, bpm, metre, input, parts, sections and moves. Scalars
// are read by their text, never by a type that YAML guesses; null, tags, anchors, aliases, merge keys
// and second documents are mistakes. The moves and their options are those of a catalogue: [Catalogue], or the one
// that [ParseWith] is given. A recipe may be made in Go too, with steps of any package. Bars and beats count from
// 1, lengths are in bars, tempi in thousandths of a beat a minute, durations in microseconds.
//
// Reading makes a [Recipe] and nothing else; running goes through phases, each of which gives the next a value:
// the loop is found and heard, laid out, lined up, the steps are carried out, and what was done is written. What
// they remark is made text of by package wording, or by [Options].Text, and nothing is decided by a text.
//
// The same loops, recipe and options give the same bytes everywhere.
package recipes
