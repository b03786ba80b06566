// Package moves changes songs: each move is an exported struct of options and one pure function from
// a song to what it makes of it, an [Outcome]. [All] lists them; [Run] carries one out, [RunAll] several.
//
// What a step came to is a value: the song, why there was nothing to do if there was not, what is remarked (see
// package remark, which holds no text), the trace, and what it leaves for later steps. Whoever carries steps
// out decides by that alone. A [Step] of another package is as good as one of this: it says its name itself, and
// a [Catalogue] of its own describes it to those who read recipes.
//
// A step says where it works and on whom in the languages of package where; what an option is and how it is
// read stands in package option; package lay lays a loop out before any move. [Silence] carries out a line-up.
//
// The package knows no file and no YAML: mistakes in options are [option.Mistake] values that name the
// option. It is deterministic: chance comes from [Rand], seeded by the caller.
package moves
