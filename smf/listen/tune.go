package listen

import (
	"fmt"
	"math/bits"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// tune is what speaks for and against a part as the one that one would hum.
type tune struct {
	tops   int  // distinct pitches of its upper line
	below  int  // pitched parts that lie lower, of mean keys
	others int  // pitched parts beside it
	level  int  // of the loudest pitched part's, in thousandths
	again  int  // keys and places that come again in the next bar, in thousandths
	held   bool // a pad, strings, a drone, or notes of two beats or longer
	sparse bool // it hardly plays
	named  bool // its name says that it is the tune
}

// score weighs a tune in thousandths. For a tune speak ten pitches or more by 1 (fewer by their share), that all
// other pitched parts lie lower by 1/2 (some by their share), its level by 1 where it is the loudest, and its name
// by 1. Against one speak by 1 that it plays the same in every bar (less by the share that comes again), by 1/2
// that it holds notes beneath others, and by 1/2 that it hardly plays. The weights are common practice, no source;
// they were tried on loops whose tracks are named after what they play, and others near them do about as well.
func (t tune) score() int {
	score := 100*min(t.tops, 10) + t.level - t.again
	if t.others > 0 {
		score += 500 * t.below / t.others
	}
	if t.held {
		score -= 500
	}
	if t.sparse {
		score -= 500
	}
	if t.named {
		score += 1000
	}
	return score
}

// String returns the score and what it is made of.
func (t tune) String() string {
	if t.others == 0 {
		return "the only pitched part beside the bass"
	}
	score, sign := t.score(), ""
	if score < 0 {
		score, sign = -score, "-"
	}
	pitches := "pitches"
	if t.tops == 1 {
		pitches = "pitch"
	}
	text := fmt.Sprintf("as a tune %s%d.%02d: %d %s, over %d of %d, level %d%%, %d%% the same in the next bar", sign, score/1000, score%1000/10, t.tops, pitches, t.below, t.others, t.level/10, t.again/10)
	for _, more := range []struct {
		is   bool
		text string
	}{{t.held, "held notes"}, {t.sparse, "hardly plays"}, {t.named, "named as one"}} {
		if more.is {
			text += ", " + more.text
		}
	}
	return text
}

// chord is an onset and the pitch classes that are struck there, a bit each.
type chord struct {
	at      song.Tick
	pitches uint16
}

// onsetsOf returns the onsets of notes, which are in order.
func onsetsOf(notes []song.Note, tl *smf.Timeline) []chord {
	count, last := 0, song.Tick(0)
	for i, n := range notes {
		if i == 0 || !sameOnset(last, n.Start, tl) {
			count, last = count+1, n.Start
		}
	}
	out := make([]chord, 0, count)
	for _, n := range notes {
		if len(out) == 0 || !sameOnset(out[len(out)-1].at, n.Start, tl) {
			out = append(out, chord{at: n.Start})
		}
		out[len(out)-1].pitches |= 1 << (n.Key % 12)
	}
	return out
}

// within tells whether nine of ten pitch classes of some onsets are struck at one of the others.
func within(onsets, others []chord, tl *smf.Timeline) bool {
	same, all, from := 0, 0, 0
	for _, o := range onsets {
		for from < len(others) && others[from].at < o.at && !sameOnset(others[from].at, o.at, tl) {
			from++
		}
		var there uint16
		for i := from; i < len(others) && (others[i].at <= o.at || sameOnset(o.at, others[i].at, tl)); i++ {
			there |= others[i].pitches
		}
		all += bits.OnesCount16(o.pitches)
		same += bits.OnesCount16(o.pitches & there)
	}
	return 10*same >= 9*all
}
