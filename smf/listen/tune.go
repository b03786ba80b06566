package listen

import (
	"fmt"

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

// within tells whether nine of ten of some notes, in order, are struck together with one of the others of the
// same pitch class.
func within(notes, others []song.Note, tl *smf.Timeline) bool {
	same, from := 0, 0
	for _, n := range notes {
		for from < len(others) && others[from].Start < n.Start && !sameOnset(others[from].Start, n.Start, tl) {
			from++
		}
		for i := from; i < len(others) && (others[i].Start <= n.Start || sameOnset(n.Start, others[i].Start, tl)); i++ {
			if others[i].Key%12 == n.Key%12 {
				same++
				break
			}
		}
	}
	return 10*same >= 9*len(notes)
}
