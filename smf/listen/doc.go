// Package listen hears facts in a song: where the loop is and which tracks repeat on a cycle of
// their own, which parts there are, what each one is and does, and why it thinks so.
//
// The way in is [Join] (several loop files made one), [FindLoop] (its length and cycles; both work
// on files), song.From, and [Hear] (raw parts split, named and given roles). An empty recipe needs
// only Hear. All positions and lengths are in ticks unless they say bars or beats; bars and beats
// count from 1. Nothing here guesses with floating point or chance: the same file is always heard
// the same way. [EnergyOf], which measures how strong a song sounds, does reckon in floating point;
// nothing that is written hangs on it.
//
// It listens to names, General MIDI percussion keys and programs (RP-003) and to behaviour, in
// that order of trust. It knows no audio: the instruments that energy is made of are figures.
package listen
