package review

import (
	"reflect"

	"loopdraft/moves/option"
)

// Rule is an entry of the catalogue: what a good arrangement is like, and how it is measured.
type Rule struct {
	Name     string
	Group    string
	Brief    string       // what holds where it finds nothing, without a full stop
	Doc      string       // what it looks at, and why
	Source   string       // of its numbers; "common practice, no source" where there is none
	Level    Level        // the highest its findings have
	Sections bool         // it looks at sections, and where a song has none, at nothing
	Energies bool         // it looks at what energies are asked for, and where none are, at nothing
	New      func() Check // with its numbers, which live here and nowhere else
}

// Check is a rule with its options filled in. Its exported fields are the options, described by tags as
// those of a move are.
type Check interface {
	find(s *subject) []Finding
}

// The groups of rules, in the order they are listed.
const (
	Movement = "movement"
	Form     = "form"
	Parts    = "parts"
	Mixing   = "mixing"
	Length   = "length"
	Broken   = "broken things"
)

// Groups returns the groups of rules in the order they are listed.
func Groups() []string { return []string{Movement, Form, Parts, Mixing, Length, Broken} }

// entries are the rules in the order they are listed: by group, then as a listener meets them.
func entries() []func() Rule {
	return []func() Rule{
		standsStillRule, unpreparedRule, wrongWayRule,
		dropRule, breakRule, buildRule, peakRule, energyRule,
		everythingRule, heardOnceRule, neverLeavesRule, identicalRule,
		mixInRule, mixOutRule, lowEndRule,
		lengthRule, sectionLengthRule,
		hungRule, overlapRule, tooShortRule, pastEndRule, controllerRule, cableRule, emptyTrackRule, markerRule,
	}
}

// Catalogue returns the rules in the order they are listed.
func Catalogue() []Rule {
	var out []Rule
	for _, entry := range entries() {
		out = append(out, entry())
	}
	return out
}

// Lookup returns the rule of this name, and false if there is none.
func Lookup(name string) (Rule, bool) {
	for _, entry := range entries() {
		if r := entry(); r.Name == name {
			return r, true
		}
	}
	return Rule{}, false
}

// ruleOf returns the rule that a check is of, and its place in the catalogue.
func ruleOf(c Check) (Rule, int) {
	for i, entry := range entries() {
		if r := entry(); reflect.TypeOf(r.New()) == reflect.TypeOf(c) {
			return r, i
		}
	}
	return Rule{}, -1
}

// Options returns the options of a rule in the order they are listed.
func (r Rule) Options() []option.Option { return option.Of(r.New()) }

// Set sets an option of a check from text. An unknown option and a value that is not valid are a
// [*option.Mistake].
func (r Rule) Set(c Check, name string, texts []string, isList bool) error {
	return option.Set(c, name, texts, isList)
}
