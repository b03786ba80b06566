// Package builtin holds the recipes that come with the program, as YAML; package recipes reads them.
package builtin

import _ "embed"

var (
	//go:embed club.yaml
	club string
	//go:embed short.yaml
	short string
	//go:embed slow-burn.yaml
	slowBurn string
	//go:embed two-breaks.yaml
	twoBreaks string
	//go:embed mix-tool.yaml
	mixTool string
)

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
		{"short", "For radio and streaming: 96 bars without long ends, about 3 minutes", short},
		{"slow-burn", "One change at a time over 304 bars, 8 minutes or more", slowBurn},
		{"two-breaks", "Two long breaks with big build-ups: 208 bars", twoBreaks},
		{"mix-tool", "Blocks of beats to loop and mix with: 160 bars", mixTool},
	}
}
