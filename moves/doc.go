// Package moves changes songs: each move is an exported struct of options and one pure function from
// a song to a song. [Catalogue] lists them; [Run] carries one out.
//
// A step says where it works and on whom in the languages of package where; what an option is and how it is
// read stands in package option; package lay lays a loop out before any move. [Silence] carries out a line-up.
//
// The package knows no file and no YAML: mistakes in options are [option.Mistake] values that name the
// option. It is deterministic: chance comes from [Rand], seeded by the caller.
package moves
