package option

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Seed is the seed of a step's choices.
type Seed struct {
	Value uint64
	Set   bool
}

// UnmarshalTexts reads a seed.
func (s *Seed) UnmarshalTexts(texts []string) error {
	n, err := ParseSeed(texts[0])
	if err != nil {
		return err
	}
	*s = Seed{n, true}
	return nil
}

// SeedOf returns a seed that is given.
func SeedOf(value uint64) Seed { return Seed{value, true} }

// ParseSeed reads a seed: decimal digits, at most 18446744073709551615.
func ParseSeed(text string) (uint64, error) {
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil || text[0] == '+' {
		return 0, &Mistake{Found: strconv.Quote(text), Want: Seed{}.Want()}
	}
	return n, nil
}

func (s Seed) Texts() []string { return []string{strconv.FormatUint(s.Value, 10)} }
func (s Seed) IsZero() bool    { return !s.Set }
func (s Seed) Want() string    { return "a whole number from 0" }

// Share is a part of something in hundredths of a percent: 10000 is all of it.
type Share int

// Whole is all of something.
const Whole Share = 10000

// ParseShare reads a percentage such as 40% or 66.7%, with at most two decimals, up to 1000%.
func ParseShare(text string) (Share, error) {
	bad := &Mistake{Found: strconv.Quote(text), Want: Share(0).Want()}
	digits, ok := strings.CutSuffix(text, "%")
	if _, isNumber := ParseInt(text); !ok {
		if hint := text + "%"; isNumber {
			if _, err := ParseShare(hint); err == nil {
				bad.Hint = hint
			}
		}
		return 0, bad
	}
	n, ok := smf.ParseDecimal(digits, 2)
	if !ok || n > 10*int64(Whole) {
		return 0, bad
	}
	return Share(n), nil
}

func (s Share) String() string { return smf.DecimalText(int64(s), 2) + "%" }

// UnmarshalTexts reads a percentage.
func (s *Share) UnmarshalTexts(texts []string) (err error) {
	*s, err = ParseShare(texts[0])
	return err
}

func (s Share) Texts() []string { return []string{s.String()} }
func (s Share) IsZero() bool    { return s == 0 }
func (s Share) Want() string    { return "a percentage from 0% to 1000%" }

// Of returns the share of a whole number, rounded half up.
func (s Share) Of(n int) int {
	return int((2*int64(n)*int64(s) + int64(Whole)) / (2 * int64(Whole)))
}

// Shares is one share, or two with a way between them, such as 40%..105%.
type Shares struct{ From, To Share }

// SharesOf returns a course from one share to another.
func SharesOf(from, to Share) Shares { return Shares{from, to} }

// UnmarshalTexts reads one share or two.
func (s *Shares) UnmarshalTexts(texts []string) error {
	a, b, two := strings.Cut(texts[0], "..")
	from, err := ParseShare(a)
	if err == nil && two {
		var to Share
		to, err = ParseShare(b)
		*s = Shares{from, to}
	} else {
		*s = Shares{from, from}
	}
	if err != nil {
		return &Mistake{Found: strconv.Quote(texts[0]), Want: s.Want()}
	}
	return nil
}

func (s Shares) Texts() []string {
	if s.From == s.To {
		return s.From.Texts()
	}
	return []string{s.From.String() + ".." + s.To.String()}
}
func (s Shares) IsZero() bool { return s == Shares{} }
func (s Shares) Want() string { return "a percentage, or two such as 40%..105%" }

// Words is a choice of words, each one of those its option lists.
type Words []string

// UnmarshalTexts reads the words as they are.
func (w *Words) UnmarshalTexts(texts []string) error {
	*w = slices.Clone(texts)
	return nil
}

func (w Words) Texts() []string { return w }
func (w Words) IsZero() bool    { return len(w) == 0 }
func (w Words) Want() string    { return "one or more words" }

// TakesList says that several may be given.
func (w Words) TakesList() {}

// Allows tells whether a word is chosen; where none is, all are.
func (w Words) Allows(word string) bool { return len(w) == 0 || slices.Contains(w, word) }

// NoteValue is a fraction of a whole note, such as 1/16; 1/4 is a quarter note in any metre.
type NoteValue struct{ Num, Den int }

// NoteValueOf returns num/den of a whole note.
func NoteValueOf(num, den int) NoteValue { return NoteValue{num, den} }

// UnmarshalTexts reads a note value.
func (v *NoteValue) UnmarshalTexts(texts []string) error {
	a, b, ok := strings.Cut(texts[0], "/")
	num, ok1 := smf.ParseDigits(a)
	den, ok2 := smf.ParseDigits(b)
	if !ok || !ok1 || !ok2 || num < 1 || num > 64 || den < 1 || den > 64 {
		return &Mistake{Found: strconv.Quote(texts[0]), Want: v.Want()}
	}
	*v = NoteValue{int(num), int(den)}
	return nil
}

func (v NoteValue) Texts() []string { return []string{fmt.Sprintf("%d/%d", v.Num, v.Den)} }
func (v NoteValue) IsZero() bool    { return v.Den == 0 }
func (v NoteValue) Want() string    { return "a note value such as 1/16, both numbers 1 to 64" }

// Ticks returns the length of the value at a resolution in ticks a quarter note, rounded half up.
func (v NoteValue) Ticks(ppq song.Tick) song.Tick { return v.Times(1, ppq) }

// Times returns the length of n of them, rounded once.
func (v NoteValue) Times(n int, ppq song.Tick) song.Tick {
	return (ppq*4*song.Tick(v.Num)*song.Tick(n)*2 + song.Tick(v.Den)) / (2 * song.Tick(v.Den))
}

// ControllerName is a controller by its number or by one of its names. The zero value is left out: 0 is
// bank select, which carries no value of its own.
type ControllerName struct{ ID song.Controller }

// ControllerOf returns the name of a controller.
func ControllerOf(id song.Controller) ControllerName { return ControllerName{id} }

// ParseController reads a controller: a name, or a number 0 to 119 that is not reserved.
func ParseController(text string) (song.Controller, error) {
	var words []string
	for _, c := range song.NamedControllers() {
		if c.Word() == text {
			return c, nil
		}
		words = append(words, c.Word())
	}
	n, ok := ParseInt(text)
	if ok && n >= 0 && n <= 119 && !ReservedController(n) && text[0] != '+' {
		return song.Controller(n), nil
	}
	hint := song.Nearest(text, words)
	if id, ok := saidController(text); ok {
		hint = id.Word()
	}
	return 0, &Mistake{Found: strconv.Quote(text), Want: ControllerName{}.Want(), Hint: hint}
}

// saidController returns the controller that people mean by another word.
func saidController(text string) (song.Controller, bool) {
	switch strings.ToLower(text) {
	case "filter", "lowpass", "low-pass", "brightness", "frequency":
		return 74, true
	case "q", "peak":
		return 71, true
	case "level", "gain", "loudness", "fader":
		return 7, true
	case "balance", "panorama":
		return 10, true
	case "wheel", "mod-wheel", "vibrato":
		return 1, true
	case "pitch", "pitch-bend", "pitchbend":
		return song.Bend, true
	case "aftertouch":
		return song.Pressure, true
	}
	return 0, false
}

// ReservedController tells whether a controller number carries no value of its own: bank select, data entry,
// parameter numbers.
func ReservedController(n int) bool {
	return n == 0 || n == 32 || n == 6 || n == 38 || n >= 96 && n <= 101
}

// UnmarshalTexts reads a controller.
func (c *ControllerName) UnmarshalTexts(texts []string) error {
	id, err := ParseController(texts[0])
	*c = ControllerName{id}
	return err
}

// ControllerText returns the name of a controller, or its number.
func ControllerText(id song.Controller) string { return id.Word() }

func (c ControllerName) Texts() []string { return []string{ControllerText(c.ID)} }
func (c ControllerName) IsZero() bool    { return c.ID == 0 }
func (c ControllerName) Want() string {
	var words []string
	for _, c := range song.NamedControllers() {
		words = append(words, c.Word())
	}
	return "one of " + strings.Join(words, ", ") + ", or a controller number 0 to 119 but 0, 6, 32, 38 and 96 to 101"
}

// ControlValue is a value of a controller: a number, home, a share of home, or steps from home.
type ControlValue struct {
	kind  controlKind
	steps int
	share Share
}

type controlKind uint8

const (
	noValue controlKind = iota
	fixedValue
	homeShare
	homeSteps
)

// Control returns the value v itself; HomeShare a share of home; HomePlus home and steps from it.
func Control(v int) ControlValue     { return ControlValue{kind: fixedValue, steps: v} }
func HomeShare(s Share) ControlValue { return ControlValue{kind: homeShare, share: s} }
func HomePlus(n int) ControlValue    { return ControlValue{kind: homeSteps, steps: n} }

// UnmarshalTexts reads a value.
func (c *ControlValue) UnmarshalTexts(texts []string) error {
	text := texts[0]
	bad := &Mistake{Found: strconv.Quote(text), Want: c.Want()}
	rest, home := strings.CutPrefix(text, "home")
	switch {
	case home && rest == "":
		*c = HomePlus(0)
		return nil
	case home:
		n, ok := ParseInt(rest)
		if !ok || rest[0] != '+' && rest[0] != '-' || n < -16383 || n > 16383 {
			bad.Hint = song.Nearest(text, []string{"home"})
			return bad
		}
		*c = HomePlus(n)
		return nil
	case strings.HasSuffix(text, "%"):
		s, err := ParseShare(text)
		if err != nil {
			return bad
		}
		*c = HomeShare(s)
		return nil
	}
	n, ok := ParseInt(text)
	if !ok || n < 0 || n > 16383 || text[0] == '+' {
		bad.Hint = song.Nearest(text, []string{"home"})
		return bad
	}
	*c = Control(n)
	return nil
}

func (c ControlValue) Texts() []string {
	switch c.kind {
	case fixedValue:
		return []string{strconv.Itoa(c.steps)}
	case homeShare:
		return []string{c.share.String()}
	}
	if c.steps == 0 {
		return []string{"home"}
	}
	return []string{fmt.Sprintf("home%+d", c.steps)}
}
func (c ControlValue) IsZero() bool { return c.kind == noValue }
func (c ControlValue) Want() string {
	return "a value (0 to 127, bend 0 to 16383), home, a share of it such as 35%, or steps from it such as home+40"
}

// Resolve returns the value for a controller whose home is known, kept within its range.
func (c ControlValue) Resolve(id song.Controller, home int) int {
	return min(max(c.Exact(home), 0), id.Max())
}

// Exact returns the value where home is known, which may lie past what a controller has.
func (c ControlValue) Exact(home int) int {
	switch c.kind {
	case homeShare:
		return c.share.Of(home)
	case homeSteps:
		return home + c.steps
	}
	return c.steps
}

// Fixed returns the value, and true, where it does not hang on home.
func (c ControlValue) Fixed() (int, bool) { return c.steps, c.kind == fixedValue }

// Reaches tells whether there is a home from which the value is one that the controller has.
func (c ControlValue) Reaches(id song.Controller) bool {
	return c.kind != homeSteps || max(c.steps, -c.steps) <= id.Max()
}

// Floor returns the share of a whole number, rounded down.
func (s Share) Floor(n int) int { return int(int64(n) * int64(s) / int64(Whole)) }

func SharePattern(low, high Share) string { return decimals(uint64(low), uint64(high), 2) + "%" }

// Form says what a seed looks like.
func (s Seed) Form() Form { return Form{Numbers: []Numbers{{High: 1<<64 - 1}}} }

// Form says what one share or two look like.
func (s Shares) Form() Form {
	share := SharePattern(0, 10*Whole)
	return Form{Name: "shares", Pattern: share + `(?:\.\.` + share + ")?"}
}

// Form says what a note value looks like.
func (v NoteValue) Form() Form {
	return Form{Pattern: DigitsBetween(1, 64) + "/" + DigitsBetween(1, 64)}
}

// Form says what a controller looks like.
func (c ControllerName) Form() Form {
	f := Form{Name: "controller"}
	for _, id := range song.NamedControllers() {
		f.Words = append(f.Words, id.Word())
	}
	for n := range 120 {
		switch last := len(f.Numbers) - 1; {
		case ReservedController(n):
		case last >= 0 && f.Numbers[last].High == uint64(n-1):
			f.Numbers[last].High++
		default:
			f.Numbers = append(f.Numbers, Numbers{Low: n, High: uint64(n)})
		}
	}
	return f
}

// Form says what a value of a controller looks like.
func (c ControlValue) Form() Form {
	steps := "home[+-]" + DigitsBetween(0, 16383)
	return Form{Name: "value", Words: []string{"home"}, Pattern: steps + "|" + SharePattern(0, 10*Whole), Numbers: []Numbers{{High: 16383}}}
}

// ParseInt reads decimal digits with an optional sign, nothing else.
func ParseInt(text string) (int, bool) {
	digits, negative := strings.CutPrefix(text, "-")
	if !negative {
		digits = strings.TrimPrefix(text, "+")
	}
	n, ok := smf.ParseDigits(digits)
	if !ok || n > 999_999_999 {
		return 0, false
	}
	if negative {
		return -int(n), true
	}
	return int(n), true
}
