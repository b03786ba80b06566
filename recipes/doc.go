// Package recipes is the recipe language and its runner: [Parse] reads a recipe, [Draft] carries it
// out on loops, [Result.WriteRecipe] writes the whole draft out as a recipe again.
//
// A recipe is YAML: length, phrase, seed, loop, bpm, metre, input, parts, sections and moves. Scalars
// are read by their text, never by a type that YAML guesses; null, tags, anchors, aliases, merge keys
// and second documents are mistakes. The moves and their options are those of package moves and
// are read through its catalogue. Bars and beats count from 1, lengths are in bars, tempi in
// thousandths of a beat a minute, durations in microseconds.
//
// The same loops, recipe and options give the same bytes everywhere.
package recipes
