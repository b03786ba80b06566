package listen

import "loopdraft/smf/song"

// Evidence is one thing that was noticed about a part.
type Evidence struct {
	Says   song.Role // the role it speaks for; Unknown: it speaks of something else
	Weight int       // how often it is right, 0..100 percent; 0: it has no vote
	Text   string    // in words: `track name "BD 909" says kick`
}

// String returns the evidence in words.
func (e Evidence) String() string { return e.Text }

// Weights of what is written in a file. How often a word, key or program is right is common practice,
// no source; behaviour weighs less than any of them.
const (
	nameWeight       = 95 // a name that says what a part does: "Bass", "BD 909"
	instrumentWeight = 75 // a name that says what it is played on: "Piano"
	keyWeight        = 90 // a key of the percussion map on channel 10
	elsewhereWeight  = 80 // the same on another channel
	guessedWeight    = 65 // the same where only the playing says that it is a kit
	outsideWeight    = 30 // a key outside the map
	programWeight    = 80 // a program of a family that plays one role
	familyWeight     = 75 // a program of one that may play several
)

// surest is the most that evidence may add up to, in percent.
const surest = 99

// weigh returns the role that the evidence speaks for and the confidence in it, in percent. Pieces for
// one role are taken as independent: what one leaves in doubt the next halves or quarters. The role
// left in least doubt wins, of equals the first; a quarter of what speaks for its strongest rival is
// taken off. No evidence with a weight: Unknown, 0.
func weigh(evidence []Evidence) (song.Role, int) {
	doubt := map[song.Role]int{} // in hundredths of a percent
	role, rival := song.RoleUnknown, 10000
	for _, e := range evidence {
		if _, ok := doubt[e.Says]; !ok {
			doubt[e.Says] = 10000
		}
		doubt[e.Says] = doubt[e.Says] * (100 - e.Weight) / 100
	}
	least := 10000
	for _, e := range evidence { // not over the map: its order is not fixed
		if d := doubt[e.Says]; e.Says != song.RoleUnknown && e.Weight > 0 && d < least {
			role, least = e.Says, d
		}
	}
	for _, e := range evidence {
		if e.Says != role && e.Says != song.RoleUnknown {
			rival = min(rival, doubt[e.Says])
		}
	}
	sure := (10000 - least) * (40000 - (10000 - rival)) / 40000
	return role, min(sure/100, surest)
}

// note adds a piece of evidence, and decide weighs all there is.
func (v *voice) note(says song.Role, weight int, text string) {
	v.evidence = append(v.evidence, Evidence{says, weight, text})
}

func (v *voice) decide() { v.Role, v.confidence = weigh(v.evidence) }
