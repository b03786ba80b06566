package moves

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Songs returns the song of the example before its step and after it.
func (e Example) Songs() (before, after song.Song, err error) {
	if before, err = song.ParseGrid(e.Before); err != nil {
		return song.Song{}, song.Song{}, err
	}
	sections, err := ParseSections(e.Sections)
	if err != nil {
		return song.Song{}, song.Song{}, err
	}
	before = before.WithSections(sections)
	out, err := Run(&Env{Strict: true, Seed: 1}, e.Step, before)
	return before, out.Song, err
}

// ParseSections reads sections such as "intro 1, drop 2": each a name and its length in bars, from bar 1
// on. A name that is a kind of section is of that kind. The empty text is no section.
func ParseSections(text string) ([]song.Section, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	var out []song.Section
	bar := 1
	for _, item := range strings.Split(text, ",") {
		words := strings.Fields(item)
		if len(words) != 2 {
			return nil, fmt.Errorf("found %q, want a section's name and its number of bars", strings.TrimSpace(item))
		}
		if err := where.CheckSectionName(words[0]); err != nil {
			return nil, err
		}
		bars, ok := option.ParseInt(words[1])
		if !ok || bars < 1 || bars > song.MaxBars {
			return nil, fmt.Errorf("found %q, want 1 to %d bars", words[1], song.MaxBars)
		}
		s := song.Section{Name: words[0], Bar: bar, Bars: bars}
		if kind := song.Kind(words[0]); slices.Contains(song.Kinds(), kind) {
			s.Kind = kind
		}
		out = append(out, s)
		bar += bars
	}
	return out, nil
}
