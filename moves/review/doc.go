// Package review looks at an arrangement as somebody who has heard many would: where it stands still,
// which changes come unprepared, whether the drop is one, whether it can be mixed, whether anything is
// broken, and whether it is time to stop. Start with [Review].
//
// What it says comes from rules of thumb, one file each, listed by [Catalogue]: each has its reason, its
// source or the words "common practice, no source", and its numbers as options. A finding says where,
// what was measured against which limit, one sentence a producer understands, and, where there is one,
// the moves that answer it. A move is offered only after it was tried: the finding is gone then, and no
// rule finds anything new.
//
// Sections are the song's own, else those of its markers; where there are none they are heard, with how sure
// that is. [Compare] holds two arrangements side by side.
//
// Bars count from 1. Levels and energies are those of [form.EnergyOf]. Nothing is judged that notes do
// not tell: sounds, mixing, taste.
package review
