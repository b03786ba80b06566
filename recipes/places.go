package recipes

import (
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// MovesIn tells where the moves of a recipe stand in a song that was made by it: the parts and ranges that
// each step names, as far as they are there. Nothing is carried out, so that what a step left alone is told too.
// Composite moves decide by the song they stood before and are left out: a recipe that was written out has
// their steps. A place, such as that of a hit, is a sixteenth note long.
func MovesIn(r *Recipe, s song.Song) []song.Change {
	if s.Time() == nil {
		return nil
	}
	var out []song.Change
	context := where.SpanContext{Song: s}
	for i, spec := range r.Moves {
		if _, composite := spec.Step.(moves.Composer); composite {
			continue
		}
		m, ok := moves.Lookup(spec.Move)
		if !ok {
			continue
		}
		c := song.Change{Step: i, Move: spec.Move}
		for _, g := range m.Values(spec.Step) {
			switch {
			case g.Name == "part":
				c.Parts = append(c.Parts, partsIn(s, g.Texts)...)
			case g.Where == option.InSpans:
				c.Ranges = append(c.Ranges, spansIn(context, g.Texts)...)
			case g.Where == option.AtPlaces:
				c.Ranges = append(c.Ranges, placesIn(context, g.Texts)...)
			}
		}
		if len(c.Ranges) > 0 && (len(c.Parts) > 0 || !namesParts(m)) {
			out = append(out, c)
		}
	}
	return out
}

// namesParts tells whether a move works on parts that it names.
func namesParts(m moves.Move) bool {
	return slices.ContainsFunc(m.Options(), func(o option.Option) bool { return o.Name == "part" })
}

func partsIn(s song.Song, texts []string) []string {
	var out []string
	for _, text := range texts { // one by one: what is there counts
		parts, err := where.ParseParts(text)
		if err != nil {
			continue
		}
		found, err := parts.Resolve(s)
		if err != nil {
			continue
		}
		for _, p := range found {
			out = append(out, s.Parts[p].Name)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func spansIn(c where.SpanContext, texts []string) []song.Range {
	if len(texts) == 0 {
		return []song.Range{{End: c.Song.End}}
	}
	var out []song.Range
	for _, text := range texts {
		if spans, err := where.ParseSpans(text); err == nil {
			ranges, _, _ := spans.Resolve(c)
			out = append(out, ranges...)
		}
	}
	return out
}

func placesIn(c where.SpanContext, texts []string) []song.Range {
	var out []song.Range
	for _, text := range texts {
		places, err := where.ParsePlaces(text)
		if err != nil {
			continue
		}
		at, _, _ := places.Resolve(c)
		for _, t := range at {
			if end := min(t+max(c.Song.Time().PPQ()/4, 1), c.Song.End); end > t {
				out = append(out, song.Range{Start: t, End: end})
			}
		}
	}
	return out
}
