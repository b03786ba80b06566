// Package listen hears facts in a song: where the loop is and which tracks repeat on a cycle of
// their own, which parts there are, what each one is and does, and why it thinks so.
//
// The way in is [Join] (several loop files made one), [FindLoop] (its length and cycles; both work
// on files), song.From, and [Hear] (raw parts split, named and given roles). An empty recipe needs
// only Hear. All positions and lengths are in ticks unless they say bars or beats; bars and beats
// count from 1. Nothing here guesses with floating point or chance: the same file is always heard
// the same way. How strong a song sounds and where it changes is heard by package form.
//
// It listens to names in several languages, General MIDI percussion keys and programs (RP-003) and to
// behaviour: register, polyphony, note length, density and place in the bar. Each is [Evidence] with a
// weight, in that order of trust; together they give a role and the confidence in it. Where there is too
// little the role is unknown, and the job follows from register and length.
//
// Of the pitched parts outside the bass the hook is chosen first: the one that one would hum, by the pitches of
// its upper line, its register, its level, how little it repeats from bar to bar, and its name (tune.go says
// what weighs how much). What doubles it in unison or octaves is hook too. Then comes the bed, the one with the
// longest notes, then the extra parts in the order of their worth as tunes. It knows no audio.
package listen
