// Package edit changes the text of a recipe as a hand would: [Apply] replaces the bytes of the smallest nodes that
// hold a change and leaves every other byte as it is: line ends, indent, flow and block style, quotes, comments.
// [History] takes changes back.
//
// Places are those that yaml.v3 gives to nodes, lines and columns in characters. Each edit is made twice: on the tree
// of nodes and on the bytes. The new bytes are read again and have to give that tree; where they do not, nothing is
// changed and the edit is refused. What is written into a recipe is read by the parser of recipes, so that its mistakes
// are told as those of a recipe are. An anchor, an alias or a tag in what an edit touches is refused.
//
// Sections and steps are counted from 0 among those in use: where a recipe leaves a choice (one of), the alternative
// that is in use is edited and the others stay as they are.
package edit
