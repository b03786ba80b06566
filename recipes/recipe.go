package recipes

import (
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/review"
	"loopdraft/moves/where"
	"loopdraft/recipes/builtin"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Recipe is what is to become of a loop: its length, its sections and the moves. The zero value is
// the empty recipe, which changes nothing.
type Recipe struct {
	File    string // where it was read from; "" for none
	Builtin bool   // written for unknown loops: numbers that do not fit are clipped, nobody is left in silence

	Length where.Extent // zero: the sections' sum, else the loop
	Phrase int          // bars after which something is due to change, 1 to 9999; 0: 8
	Seed   uint64       // of every choice
	Loop   int          // length of the loop in bars, 1 to 9999; 0: as found
	BPM    int64        // tempo of a loop that has none, in thousandths of a beat a minute; 0: as found
	Metre  smf.Metre    // metre of a loop that has none; zero: as found
	Input  []string     // names of the loop files it was written for; nil: any
	Loops  []LoopSpec   // the loops, where it names them; nil: those that it is given

	Substitutes []Substitute // of roles that the loop lacks; nil: none

	Catalogue moves.Catalogue // the moves it may have; nil: those of [Catalogue]. Steps of others may stand in Moves all the same

	Parts    []PartSpec
	Sections []SectionSpec
	Moves    []StepSpec // of a recipe with choices these two are of the first alternatives; a draft reads them anew
	Review   []RuleSpec // of its drafts; rules that are left out are looked by as they are

	lines   []string // of the file; nil where it was not read from one
	at      topSpots
	skipped []skippedStep
	choices *choices // nil: none
}

// topSpots are the places of the keys' values; zero where a key is left out.
type topSpots struct{ length, loop, bpm, metre, input, loops, sections spot }

// LoopSpec is an entry of "loops:".
type LoopSpec struct {
	Name        string
	Files       []string // relative to the recipe, with slashes; several are joined
	First, Last int      // the bars of it that are the loop, both included, from 1; 0: as found
	Marker      string   // the marker from which to the next it is the loop; "": as found

	at    spot   // of Marker, or of the bars; without either of the name
	files []spot // of Files
}

// fileSpot returns the place of one of its files, that of the loop where none is known.
func (l LoopSpec) fileSpot(i int) spot {
	if i < len(l.files) {
		return l.files[i]
	}
	return l.at
}

// PartSpec is an entry of "parts:".
type PartSpec struct {
	listen.Override
	at []fieldSpot
}

// SectionSpec is an entry of "sections:".
type SectionSpec struct {
	Name   string
	Kind   song.Kind    // NoKind: as the name says, see [song.KindOf]
	Bars   int          // 1 to 9999
	Play   where.LineUp // the zero value: everything plays, beside an energy nobody
	Energy Energy       // how loud it is to be: players are found for it; the zero value: it is left open
	Add    where.Parts  // who may be found, the most wanted first; the zero value: as the kind has it, see defaultAdd
	AddOf  []AddOf      // which of those that may be found play another loop than the section does
	RunOn  bool         // the loop goes on from where it last stopped; otherwise it is counted back from the section's end
	Loop   string       // the loop it plays; "": the first
	Over   string       // the loop from which those play on that Loop does not have; "": none, but see [Draft]
	Least  int          // bars under which scaling does not go, from 1; 0: 8
	Like   string       // the earlier section, such as "drop 1", that says what is left out here; "": none

	base    int      // that section, counted from 1; 0: none
	written int      // bars that Play counts in, where it is that of another section; 0: Bars
	given   []string // the keys that stand in the file

	atLike   spot
	atName   spot
	atPlay   []spot
	atEnergy []spot
	atLoop   spot
	atAdd    []spot
	atAddKey spot // of "add" itself
}

// AddOf is an item of "add:" such as "lead of b": where its parts are found to play, they play that loop.
type AddOf struct {
	Parts where.Parts
	Loop  string

	at spot
}

// Catalogue returns the moves that recipes may have: those of every package that brings some.
func Catalogue() moves.Catalogue { return slices.Concat(moves.All(), review.Moves()) }

// catalogue returns the moves that the recipe may have.
func (r *Recipe) catalogue() moves.Catalogue {
	if r.Catalogue == nil {
		return Catalogue()
	}
	return r.Catalogue
}

// StepSpec is an entry of "moves:".
type StepSpec struct {
	Step moves.Step // with its options; a pointer to a struct

	written string // what the file has in its place, where it hangs on a choice; ""
	absent  bool   // it names a section that another alternative has
	path    string // such as moves[3].mute; "" for a step that was not read from a file
	at      spot   // of the move's name
	fields  []fieldSpot
}

// skippedStep is a step that a draft skipped, kept as the comment it was written out as.
type skippedStep struct {
	before int    // index of the step it stands before
	text   string // without the comment's mark
}

// anyLoop tells whether the recipe is written for loops it does not know: a built-in one, or one with
// substitutes. Numbers that do not fit are clipped, what a loop cannot do is left out and told, nobody is left
// in silence.
func (r *Recipe) anyLoop() bool { return r.Builtin || r.Substitutes != nil }

// phrase returns the phrase in bars.
func (r *Recipe) phrase() int {
	if r.Phrase > 0 {
		return r.Phrase
	}
	return 8
}

// bars returns the sum of the sections.
func (r *Recipe) bars() int {
	sum := 0
	for _, s := range r.Sections {
		sum += s.Bars
	}
	return sum
}

// hasLength tells whether the recipe itself says how long the track is.
func (r *Recipe) hasLength() bool { return !r.Length.IsZero() || len(r.Sections) > 0 }

// least returns the bars under which scaling does not take a section.
func (s SectionSpec) least() int {
	if s.Least > 0 {
		return s.Least
	}
	return 8
}

// playBars returns the bars that the section's line-up counts in.
func (s SectionSpec) playBars() int {
	if s.written > 0 {
		return s.written
	}
	return s.Bars
}

// gives tells whether a key stands in the file.
func (s SectionSpec) gives(key string) bool { return slices.Contains(s.given, key) }

// asks tells whether players are found for the section's energy. A section that plays the same as another, and has its
// energy from there, plays what was found there.
func (s SectionSpec) asks() bool {
	return !s.Energy.IsZero() && (!s.Play.Same() || s.gives("energy") || s.gives("add"))
}

// kind returns the section's kind: given, or guessed from its name.
func (s SectionSpec) kind() song.Kind {
	if s.Kind != song.NoKind {
		return s.Kind
	}
	return song.KindOf(s.Name)
}

// ParseLength reads the length of a song: "192 bars", 1 to 9999, or a duration such as "6m30s" in
// microseconds; the other of the two is 0. The error is a [*option.Mistake].
func ParseLength(text string) (bars int, micros int64, err error) {
	x, err := where.ParseExtent(text)
	return x.Bars, x.Micros, err
}

// Info is a built-in recipe in a list.
type Info struct{ Name, Brief string }

// Builtins returns the built-in recipes in the order they are listed.
func Builtins() []Info {
	var out []Info
	for _, t := range builtin.Texts() {
		out = append(out, Info{t.Name, t.Brief})
	}
	return out
}

// BuiltinText returns a built-in recipe as it is written, and false if there is none of the name.
func BuiltinText(name string) ([]byte, bool) {
	for _, t := range builtin.Texts() {
		if t.Name == name {
			return []byte(t.YAML), true
		}
	}
	return nil, false
}

// Builtin returns a built-in recipe, and false if there is none of the name.
func Builtin(name string) (*Recipe, bool) {
	text, ok := BuiltinText(name)
	if !ok {
		return nil, false
	}
	r, err := Parse(name, text)
	if err != nil {
		return nil, false // a test parses all built-in recipes, so that this does not happen
	}
	r.Builtin = true
	return r, true
}
