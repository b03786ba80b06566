// Package form hears a song over time: how strong each bar sounds ([EnergyOf]), which phrase lines bring a change
// ([LineRule]) and what leads into them ([PrepareRule]), what a part usually plays, where sections begin
// ([StructureOf]) and what kinds they are of ([KindsOf]). It wants a song whose parts have been heard by package
// listen.
//
// It knows no audio: the instruments that energy is made of are figures. Energy and structure reckon in floating
// point; nothing that is written hangs on them. Bars count from 1.
package form
