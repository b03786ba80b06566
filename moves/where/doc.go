// Package where reads the sentences in which a recipe says where and who: spans of a song and places in it
// ([Spans], [Places], [Length], [Extent]), parts ([Parts]) and line-ups ([LineUp]). A sentence is read without
// a song and resolved on one; either way what is wrong is an [option.Mistake] that says in which word, and what
// may be meant. The grammar stands at [Spans], [Parts] and [LineUp].
package where
