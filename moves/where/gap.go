package where

import (
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// Form says what a gap looks like.
func (g Gap) Form() option.Form {
	return option.Form{Words: []string{"auto"}, Pattern: Length{}.Form().Pattern}
}

// Gap is how long everything rests before a line: a length, or auto.
type Gap struct {
	Auto   bool
	Length Length
}

// UnmarshalTexts reads a gap.
func (g *Gap) UnmarshalTexts(texts []string) error {
	if texts[0] == "auto" {
		*g = Gap{Auto: true}
		return nil
	}
	if err := g.Length.UnmarshalTexts(texts); err != nil {
		return &option.Mistake{Found: strconv.Quote(texts[0]), Want: g.Want(), Hint: song.Nearest(texts[0], []string{"auto"})}
	}
	g.Auto = false
	return nil
}

func (g Gap) Texts() []string {
	if g.Auto {
		return []string{"auto"}
	}
	return g.Length.Texts()
}

func (g Gap) IsZero() bool { return !g.Auto && g.Length.IsZero() }

func (g Gap) Want() string { return "auto, or a length such as 1 beat or 1/8" }
