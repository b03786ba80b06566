// Package remark holds what is remarked on the way to a draft, as values: a kind and what it is about. No
// text stands here, and nothing is decided by one: whoever shows a remark makes a text of it.
package remark

import (
	"slices"

	"loopdraft/smf/song"
)

// Kind says what a remark means and which of its fields are filled in.
type Kind string

// Remark is something the producer should know. The zero value is none.
type Remark struct {
	Kind       Kind
	Move       string          // the name of the move, where several make the remark
	Parts      []string        // the parts it is about, by name
	Sentence   string          // the sentence of the recipe language it is about, as written
	Found      string          // what was found, as written
	Within     string          // the section, range or place it is about, as people call it
	Unit       string          // of the first number: bar or beat
	Bar, Beat  int             // from 1
	Numbers    []int           // as the kind says
	Controller song.Controller // the controller it is about
	Text       string          // of a remark of one's own
}

// Own is a remark of a move outside the module, in its own words; OwnWarning is one of what is likely not
// meant.
const (
	Own        Kind = "own"
	OwnWarning Kind = "own warning"
)

// Of spans, places and line-ups. Each has the sentence.
const (
	SpanClipped   Kind = "span clipped"     // Found ends past Within, which has only Numbers[0] of Unit
	SpanLeftOut   Kind = "span left out"    // the same, and nothing of it lies within
	BarClipped    Kind = "bar clipped"      // the place Found lies past the song, which has Numbers[0] bars
	BeatClipped   Kind = "beat clipped"     // the place Found lies past Bar, which has Numbers[0] beats
	TakesNothing  Kind = "takes nothing"    // Found, which is to be taken out, is not in it
	NoneAfter     Kind = "none after"       // there is no Found after the place Within
	EndsBefore    Kind = "ends before"      // it ends where Bar starts; Found has that bar in it
	LineUpClipped Kind = "line-up clipped"  // it ends past the section, which has Numbers[0] bars
	LineUpLeftOut Kind = "line-up left out" // it starts past the section, which has Numbers[0] bars
	LineUpBeat    Kind = "line-up beat"     // Found lies past Bar, which has Numbers[0] beats
	SpansCut      Kind = "spans cut"        // Found is left out, and what is left of a span is a span of its own
	NoLoop        Kind = "no loop"          // no loop plays where Within starts
	LoopClipped   Kind = "loop clipped"     // Found ends past the loop, which has Numbers[0] bars
	LoopLeftOut   Kind = "loop left out"    // the same, and nothing of it lies within
	UnderABar     Kind = "under a bar"      // Within is shorter than a bar, and a portion of it is all of it
)

// Of a loop that is laid out.
const (
	PacketsLeftOut  Kind = "packets left out"  // no pass holds the whole of a system exclusive message in packets
	MarkersLeftOut  Kind = "markers left out"  // the sections have markers of their own
	ParameterStays  Kind = "parameter stays"   // a parameter of the channel Numbers[0] is not set back
	NoteOffsMissing Kind = "note-offs missing" // notes of Within, a part or key, have no note-off
)

// Why a step has nothing to do, where no move says more.
const (
	NoPart       Kind = "no part"        // the loop has none of its parts
	NoPlace      Kind = "no place"       // the song has none of its places
	NotChosen    Kind = "not chosen"     // it names a section that another alternative of a choice has
	NothingLeft  Kind = "nothing left"   // a composite move found nothing to answer
	WouldSilence Kind = "would silence"  // it would leave two bars in a row silent
	CannotBeDone Kind = "cannot be done" // Text is the mistake that stands in the way
)

// Why a step has nothing to do, where its move says it: these warn.
const (
	NothingPlays   Kind = "nothing plays"   // no note of Parts is in the spans; without parts, nothing that the step needs is
	AllExcepted    Kind = "all excepted"    // Found, which is left out, is all of the spans
	NothingIn      Kind = "nothing in"      // no note at all is in Sentence
	NothingStruck  Kind = "nothing struck"  // no place lies within the song
	NothingCopied  Kind = "nothing copied"  // the same, of a copy
	NothingRises   Kind = "nothing rises"   // no key is heard, or Parts play no note
	NothingHeld    Kind = "nothing held"    // no key is heard
	NothingRolls   Kind = "nothing rolls"   // Parts play no note
	NothingSwells  Kind = "nothing swells"  // no note of Parts is in the spans
	NothingFills   Kind = "nothing fills"   // Parts have no drum that plays
	NothingLayered Kind = "nothing layered" // Parts have no note there to copy
	NoMarker       Kind = "no marker"       // a place lies outside every section
	NoneOnBeats    Kind = "none on beats"   // Parts strike nothing on the beats Found and are silent
)

// What moves assume, leave alone or leave to the producer.
const (
	ExtendedTo       Kind = "extended to"            // the length Found is Numbers[0] bars
	RepeatsOnly      Kind = "repeats only"           // of Parts, bars 1 to Bar are repeated, and changes after them are lost
	NewTrack         Kind = "new track"              // Parts stand on a new track, on channel Numbers[0]
	NewTrackProgram  Kind = "new track with program" // the same, with the program Numbers[1]
	ChannelCleared   Kind = "channel cleared"        // what is set on channel Numbers[0], on which nothing plays, is left out
	NewHits          Kind = "new hits"               // hits are on a new track Parts, with the key Numbers[0]
	NoHitAtEnd       Kind = "no hit at the end"
	NoCopyAtEnd      Kind = "no copy at the end"
	NotRaised        Kind = "not raised"         // Parts have no pitch
	NotTransposed    Kind = "not transposed"     // Parts have no pitch
	NotLayered       Kind = "not layered"        // Parts have no pitch, and the copy is at an interval
	NoHabit          Kind = "no habit"           // nothing is usual for Parts, which stay as they are
	NothingDeparts   Kind = "nothing departs"    // no bar of Parts in the spans departs and may change
	NotHumanised     Kind = "not humanised"      // Parts hold the beat and are left alone
	NotVaried        Kind = "not varied"         // Parts hold the beat and are left alone
	RollStands       Kind = "roll stands"        // Move leaves out where a roll stands for Parts
	RisesIn          Kind = "rises in"           // the loop is heard in the key Found
	HeldIn           Kind = "held in"            // the loop is heard in the key Found, of which Numbers[0] is held
	FillTooShort     Kind = "fill too short"     // a span at Bar is shorter than a 1/16 note
	FillsAgain       Kind = "fills again"        // every fill of Numbers[0] sixteenth notes has been played
	NoMoreVariations Kind = "no more variations" // of Parts at this rate
	NoGap            Kind = "no gap"             // the span before Bar is too short for one
	StutterSilent    Kind = "stutter silent"     // Parts play nothing in the first Found of Numbers[0] spans, the first at Bar, Beat
	HomeUnknown      Kind = "home unknown"       // of Controller for Parts: Numbers[0] is taken
	ValuePast        Kind = "value past"         // Found of Controller for Parts is Numbers[0]; Numbers[1] is taken
	RideReplaced     Kind = "ride replaced"      // a duck takes the place of an earlier ride of Controller of Parts
	DuckReplaced     Kind = "duck replaced"      // a ride of Controller, or another duck, takes the place of an earlier duck of Parts
	DuckInMixer      Kind = "duck in mixer"      // a compressor may duck Parts better
	NotQuieter       Kind = "not quieter"        // Sentence is not quieter than Within to begin with
	Emphasised       Kind = "emphasised"         // Sentence lies Numbers[0] tenths of a dB under Within, and lay Numbers[1] under it before
	NothingPrepares  Kind = "nothing prepares"   // the line at Bar, where the section Within starts if there is one
	NothingChanges   Kind = "nothing changes"    // the line at Bar
	LoopHas          Kind = "loop has"           // Text says what of Parts the loop itself has, so that it is left as it is
)

// Of the lengths and the parts that a recipe asks for.
const (
	DurationInBars Kind = "duration in bars" // the duration Found is nearest to Numbers[0] bars, in phrases of Numbers[1]
	StandsFor      Kind = "stands for"       // Parts take the place of the role Found, which the loop lacks
	PlaceOfItsOwn  Kind = "place of its own" // the role Found is lacking, and Parts, which are near it, have places of their own
	NothingNear    Kind = "nothing near"     // the role Found is lacking, and nothing is near it
)

// Warns tells whether remarks of a kind say what is likely not meant; the others are worth knowing.
func (k Kind) Warns() bool {
	switch k {
	case OwnWarning, NothingPlays, AllExcepted, NothingIn, NothingStruck, NothingCopied, NothingRises, NothingHeld, NothingRolls,
		NothingSwells, NothingFills, NothingLayered, NoMarker, NoneOnBeats:
		return true
	}
	return false
}

// Equal tells whether two remarks say the same of the same.
func (r Remark) Equal(o Remark) bool {
	return r.Kind == o.Kind && r.Move == o.Move && slices.Equal(r.Parts, o.Parts) && r.Sentence == o.Sentence &&
		r.Found == o.Found && r.Within == o.Within && r.Unit == o.Unit && r.Bar == o.Bar && r.Beat == o.Beat &&
		slices.Equal(r.Numbers, o.Numbers) && r.Controller == o.Controller && r.Text == o.Text
}

// fewRemarks are looked through one by one, which takes less than to put them in order.
const fewRemarks = 32

// Add returns a list with more remarks at its end, without those that are in it already.
func Add(list []Remark, more ...Remark) []Remark {
	if len(more) < 2 || len(list)+len(more) <= fewRemarks {
		for _, r := range more {
			if !slices.ContainsFunc(list, r.Equal) {
				list = append(list, r)
			}
		}
		return list
	}
	type about struct { // what differs in most of a long list
		kind                    Kind
		sentence, found, within string
		bar, beat               int
	}
	known := map[about][]Remark{}
	add := func(r Remark) bool {
		a := about{r.Kind, r.Sentence, r.Found, r.Within, r.Bar, r.Beat}
		if slices.ContainsFunc(known[a], r.Equal) {
			return false
		}
		known[a] = append(known[a], r)
		return true
	}
	for _, r := range list {
		add(r)
	}
	for _, r := range more {
		if add(r) {
			list = append(list, r)
		}
	}
	return list
}
