// Package builtin holds the recipes that come with the program, as YAML; package recipes reads them.
package builtin

import _ "embed"

//go:embed club.yaml
var club string

// Text is a recipe as it is written.
type Text struct {
	Name  string // as it is asked for, such as "club"
	Brief string // one line that says what it makes, without a full stop
	YAML  string
}

// Texts returns the recipes in the order they are listed.
func Texts() []Text {
	return []Text{
		{"club", "Intro, groove, break, two builds and drops, outro: 192 bars for a loop of any size", club},
	}
}
